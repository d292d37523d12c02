/* Handout: the care sheet as it will be printed. */
#include "output/care.h"
#include "output/given.h"
#include "screens/kit/preview.h"
#include "screens/kit/printing.h"
#include "screens/visit.h"

struct handout_page {
    struct section_page at;
    struct sheet *sheet;
    struct preview preview;
};

static bool render(struct handout_page *h, struct fault *f)
{
    const struct chart *c = &h->at.page.chart;
    if (!care_sheet(c, "care", &h->sheet, f))
        return false;
    preview_render(&h->preview, h->at.page.data, c->cb, h->sheet);
    return true;
}

static bool open_handout(struct screen *s, struct fault *f)
{
    struct handout_page *h = s->state;
    return page_load(&h->at.page, s, h->at.page.entity, f) && render(h, f);
}

static void draw(struct screen *s)
{
    struct handout_page *h = s->state;
    preview_draw(&h->preview);
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
    if (section_press(s, p) || preview_press(&h->preview, p))
        return true;
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
