/* Handout: the care sheet as it will be printed. */
#include "base/text.h"
#include "output/care.h"
#include "output/given.h"
#include "screens/kit/list.h"
#include "screens/printing.h"
#include "screens/visit.h"
#include <string.h>

enum { SHEET_MOST = 1 << 20 };

struct handout_page {
    struct section_page at;
    struct sheet *sheet;
    struct text rendered;
    const char **lines;
    size_t line_count, top, pages;
};

static bool render(struct handout_page *h, struct fault *f)
{
    if (!care_sheet(&h->at.page.chart, "care", &h->sheet, f))
        return false;
    struct sheet_style style = {.columns = 80,
                                .lines = h->at.page.chart.cb->set->practice.sheet_lines};
    text_clear(&h->rendered);
    sheet_render(h->sheet, &style, &h->rendered, &h->pages, NULL);
    h->line_count = 0;
    for (const char *p = h->rendered.s; *p != '\0'; p++)
        h->line_count += *p == '\n';
    h->lines = arena_array(h->at.page.data, h->line_count + 1, sizeof *h->lines);
    char *p = arena_str(h->at.page.data, h->rendered.s);
    for (size_t i = 0; i < h->line_count; i++) {
        size_t n = strcspn(p, "\n");
        h->lines[i] = p;
        p[n] = '\0';
        p += n + 1;
    }
    return true;
}

static bool open_handout(struct screen *s, struct fault *f)
{
    struct handout_page *h = s->state;
    text_init(&h->rendered, SHEET_MOST);
    return page_load(&h->at.page, s, h->at.page.entity, f) && render(h, f);
}

static int rows_shown(void)
{
    return term_rows() - 4;
}

static void draw(struct screen *s)
{
    struct handout_page *h = s->state;
    (void)s;
    int rows = rows_shown(), col = term_columns() > 84 ? (term_columns() - 80) / 2 : 0;
    for (int i = 0; i < rows && h->top + (size_t)i < h->line_count; i++)
        draw_text(1 + i, col, 80, LOOK_PLAIN, h->lines[h->top + (size_t)i]);
    size_t shown = h->top + (size_t)rows < h->line_count ? h->top + (size_t)rows : h->line_count;
    size_t length = h->line_count / (h->pages > 0 ? h->pages : 1);
    draw_textf(term_rows() - 3, 2, 70, LOOK_DIM, "page %zu of %zu, lines %zu to %zu of %zu%s",
               length > 0 ? h->top / length + 1 : 1, h->pages, h->top + 1, shown, h->line_count,
               shown < h->line_count ? "; Down for more" : "");
    draw_cursor(1, col);
}

/* Which sheet was handed over is part of the record. */
static void given(struct screen *s)
{
    struct handout_page *h = s->state;
    struct fault f = {0};
    if (!given_put(&h->at.page.chart, "care", h->sheet, &f))
        app_fault(s->app, &f);
}

static bool press(struct screen *s, const struct press *p)
{
    struct handout_page *h = s->state;
    if (section_press(s, p))
        return true;
    if (p->kind == PRESS_KEY)
        return list_read_on(&h->top, h->line_count, p, rows_shown());
    if (p->kind != PRESS_CHAR)
        return false;
    if (p->text[0] == 'p') {
        print_to_printer(s->app, h->sheet, "care sheet");
        given(s);
        return true;
    }
    if (p->text[0] == 's') {
        print_to_file(s->app, s->arena, h->sheet, "care-sheet");
        given(s);
        return true;
    }
    return false;
}

static void refresh(struct screen *s)
{
    struct handout_page *h = s->state;
    struct fault f = {0};
    if (page_reload(&h->at.page, s) && !render(h, &f))
        app_fault(s->app, &f);
}

static void close_handout(struct screen *s)
{
    struct handout_page *h = s->state;
    text_free(&h->rendered);
    page_close(&h->at.page);
}

static const struct key_help keys[] = {
    {"Up Down", "read", "Move through the sheet; PageUp, PageDown, Home and End too.", true},
    {"p", "print", "Send the sheet to the practice's printer.", true},
    {"s", "save", "Save the sheet as a text file.", true},
    SECTION_KEYS,
    {0},
};

static const struct screen_class handout_class = {
    .name = "Handout",
    .help = "The care sheet as it will be printed, made from what was found, decided and taught. "
            "Read it through once with the caregiver.",
    .keys = keys,
    .open = open_handout,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_handout,
};

void handout_open(struct app *app, const char *visit, size_t index)
{
    section_screen(app, &handout_class, visit, index, sizeof(struct handout_page));
}
