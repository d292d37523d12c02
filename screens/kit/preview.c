#include "screens/kit/preview.h"
#include "base/text.h"
#include "screens/kit/list.h"
#include "screens/kit/printing.h"
#include <string.h>

enum { SHEET_MOST = 1 << 20, SHEET_COLUMNS = 80 };

void preview_render(struct preview *p, struct arena *a, const struct casebook *cb,
                    const struct sheet *sheet)
{
    struct sheet_style style = {.columns = SHEET_COLUMNS, .lines = cb->set->practice.sheet_lines};
    struct text out;
    text_init(&out, SHEET_MOST);
    sheet_render(sheet, &style, &out, &p->pages, NULL);
    p->count = 0;
    for (const char *s = out.s; *s != '\0'; s++)
        p->count += *s == '\n';
    const char **lines = arena_array(a, p->count + 1, sizeof *lines);
    char *rest = arena_str(a, out.s);
    for (size_t i = 0; i < p->count; i++)
        lines[i] = strsep(&rest, "\n");
    p->lines = lines;
    text_free(&out);
}

static int rows_shown(void)
{
    return term_rows() - 4;
}

void preview_draw(const struct preview *p)
{
    size_t rows = (size_t)rows_shown(), end = p->top + rows < p->count ? p->top + rows : p->count;
    int col = term_columns() > SHEET_COLUMNS + 4 ? (term_columns() - SHEET_COLUMNS) / 2 : 0;
    for (size_t i = p->top; i < end; i++)
        draw_text(1 + (int)(i - p->top), col, SHEET_COLUMNS, LOOK_PLAIN, p->lines[i]);
    size_t length = p->count / (p->pages > 0 ? p->pages : 1);
    draw_textf(term_rows() - 3, 2, 70, LOOK_DIM, "page %zu of %zu, lines %zu to %zu of %zu%s",
               length > 0 ? p->top / length + 1 : 1, p->pages, p->top + 1, end, p->count,
               end < p->count ? "; Down for more" : "");
    draw_cursor(1, col);
}

bool preview_press(struct preview *p, const struct press *k)
{
    return k->kind == PRESS_KEY && list_read_on(&p->top, p->count, k, rows_shown());
}

/* ---- as a screen of its own ------------------------------------------------------------------ */

struct previewing {
    struct preview preview;
    const struct sheet *sheet;
    const char *name;
};

static bool open_preview(struct screen *s, struct fault *f)
{
    struct previewing *v = s->state;
    (void)f;
    preview_render(&v->preview, s->arena, s->app->cb, v->sheet);
    return true;
}

static void draw(struct screen *s)
{
    const struct previewing *v = s->state;
    preview_draw(&v->preview);
}

static bool press(struct screen *s, const struct press *p)
{
    struct previewing *v = s->state;
    if (preview_press(&v->preview, p))
        return true;
    if (p->kind != PRESS_CHAR || (p->text[0] != 'p' && p->text[0] != 's'))
        return false;
    if (p->text[0] == 'p')
        print_to_printer(s->app, v->sheet, v->name);
    else
        print_to_file(s->app, s->arena, v->sheet, v->name);
    return true;
}

static const struct key_help keys[] = {
    {"Up Down", "read", "Move through the sheet; PageUp, PageDown, Home and End too.", true},
    {"p", "print", "Send the sheet to the practice's printer.", true},
    {"s", "save", "Save the sheet as a text file.", true},
    {"q", "back", "Go back; ^Q does the same.", true},
    {0},
};

static const struct screen_class preview_class = {
    .name = "Preview",
    .help = "The sheet as it will be printed.",
    .keys = keys,
    .open = open_preview,
    .draw = draw,
    .press = press,
};

void preview_open(struct app *app, const struct sheet *sheet, const char *name)
{
    struct arena *a = arena_new();
    struct previewing *v = arena_alloc(a, sizeof *v);
    v->sheet = sheet;
    v->name = arena_str(a, name);
    screen_open(app, &preview_class, a, v);
}
