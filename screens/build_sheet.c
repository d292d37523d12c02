/* The build sheet as it will be printed; while nothing is frozen, the draft of it. */
#include "output/build_sheet.h"
#include "base/text.h"
#include "screens/bench.h"
#include "screens/kit/list.h"
#include "screens/kit/printing.h"
#include <string.h>

enum { SHEET_MOST = 1 << 20 };

struct sheet_page {
    struct page page;
    struct sheet *sheet;
    const char **lines;
    size_t line_count, top;
    bool frozen;
};

static bool render(struct sheet_page *b, struct fault *f)
{
    struct build build;
    struct fault none = {0};
    struct text out;
    b->frozen = build_frozen(&b->page.chart, &build, &none);
    if (!b->frozen && none.kind != FAULT_MISSING)
        return fail(f, none.kind, "%s", none.text);
    if ((!b->frozen && !build_make(&b->page.chart, &build, f)) ||
        !build_sheet(&b->page.chart, &build, b->frozen, &b->sheet, f))
        return false;
    text_init(&out, SHEET_MOST);
    sheet_render(b->sheet, &(struct sheet_style){.columns = 80}, &out, NULL, NULL);
    char *p = arena_str(b->page.data, out.s);
    text_free(&out);
    size_t room = 0;
    b->lines = NULL;
    for (b->line_count = 0; *p != '\0';) {
        size_t n = strcspn(p, "\n");
        b->lines =
            arena_grow(b->page.data, (void *)b->lines, b->line_count, &room, sizeof *b->lines);
        b->lines[b->line_count++] = p;
        bool more = p[n] == '\n';
        p[n] = '\0';
        p += n + more;
    }
    return true;
}

static bool open_sheet(struct screen *s, struct fault *f)
{
    struct sheet_page *b = s->state;
    return page_load(&b->page, s, b->page.entity, f) && render(b, f);
}

static size_t rows_shown(void)
{
    return (size_t)(term_rows() - 4);
}

static void draw(struct screen *s)
{
    struct sheet_page *b = s->state;
    (void)s;
    size_t rows = rows_shown(),
           last = b->top + rows < b->line_count ? b->top + rows : b->line_count;
    int col = term_columns() > 84 ? (term_columns() - 80) / 2 : 0;
    for (size_t i = b->top; i < last; i++)
        draw_text(1 + (int)(i - b->top), col, 80, LOOK_PLAIN, b->lines[i]);
    draw_textf(term_rows() - 3, 2, term_columns() - 4, b->frozen ? LOOK_DIM : LOOK_WARN,
               "lines %zu to %zu of %zu%s", b->top + 1, last, b->line_count,
               b->frozen ? "" : "; a DRAFT: f on the bench freezes it");
    draw_cursor(1, col);
}

static bool press(struct screen *s, const struct press *p)
{
    struct sheet_page *b = s->state;
    if (p->kind == PRESS_KEY)
        return list_read_on(&b->top, b->line_count, p, (int)rows_shown());
    if (p->kind != PRESS_CHAR)
        return false;
    if (p->text[0] == 'p')
        print_to_printer(s->app, b->sheet, "build sheet");
    else if (p->text[0] == 's')
        print_to_file(s->app, s->arena, b->sheet, "build-sheet");
    else
        return false;
    return true;
}

static void refresh(struct screen *s)
{
    struct sheet_page *b = s->state;
    struct fault f = {0};
    if (page_reload(&b->page, s) && !render(b, &f))
        app_fault(s->app, &f);
}

static void close_sheet(struct screen *s)
{
    struct sheet_page *b = s->state;
    page_close(&b->page);
}

static const struct key_help keys[] = {
    {"Up Down", "read", "Move through the sheet; PageUp, PageDown, Home and End too.", true},
    {"p", "print", "Send the sheet to the practice's printer.", true},
    {"s", "save", "Save the sheet as a text file.", true},
    {0},
};

static const struct screen_class sheet_class = {
    .name = "Build sheet",
    .help =
        "What the builder cuts from: the newest frozen version, or a draft while there is none. "
        "Freezing again makes a new version that says what changed. amble draw writes the "
        "drawing.",
    .keys = keys,
    .open = open_sheet,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_sheet,
};

void build_sheet_open(struct app *app, const char *visit)
{
    struct arena *a = arena_new();
    struct sheet_page *b = arena_alloc(a, sizeof *b);
    b->page.entity = arena_str(a, visit);
    screen_open(app, &sheet_class, a, b);
}
