/* Accessories: what the findings speak for, with the reason; what was picked. */
#include "casebook/accessories.h"
#include "casebook/ids.h"
#include "screens/kit/list.h"
#include "screens/kit/past.h"
#include "screens/visit.h"

struct accessories_page {
    struct section_page at;
    const struct accessory_view *views;
    const char *mark; /* finding_mark of what is picked */
    struct list list;
};

static void look(struct accessories_page *p)
{
    const struct chart *c = &p->at.page.chart;
    p->list.count = accessories_look(c, &p->views);
    p->mark = finding_mark(c->cb, c->arena, record_find(&c->visit, ID_ACCESSORIES));
    if (p->list.at >= p->list.count)
        p->list.at = 0;
}

static bool open_page(struct screen *s, struct fault *f)
{
    struct accessories_page *p = s->state;
    if (!page_load(&p->at.page, s, p->at.page.entity, f))
        return false;
    look(p);
    return true;
}

static void draw_one(void *of, size_t i, int row, bool focus)
{
    const struct accessories_page *p = of;
    const struct accessory_view *v = &p->views[i];
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    int width = term_columns() - 2;
    draw_fill(row, 1, width, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_text(row, 4, 3, focus ? LOOK_FOCUS : LOOK_STRONG, v->picked ? "[x]" : "[ ]");
    draw_text(row, 8, 24, plain, v->choice->label);
    draw_text(row, 33, 9, focus ? LOOK_FOCUS : LOOK_GOOD, v->rule != NULL ? "proposed" : "");
    draw_text(row, 43, width - 44, focus ? LOOK_FOCUS : LOOK_DIM,
              v->rule != NULL ? v->because : v->choice->help);
}

static void draw(struct screen *s)
{
    struct accessories_page *p = s->state;
    int last = term_rows() - 3, width = term_columns() - 4, rows = (int)p->list.count;
    if (p->list.count == 0) {
        draw_text(2, 4, width, LOOK_DIM, "No form of this practice asks for accessories.");
        draw_cursor(2, 4);
        return;
    }
    rows = rows < last - 8 ? rows : last - 8;
    const struct accessory_view *v = &p->views[p->list.at];
    int row = 2 + rows;
    draw_rule(row++, 1, term_columns() - 2);
    if (v->rule != NULL) {
        row += draw_wrapped(row, 2, width, 2, LOOK_STRONG, v->rule->reason);
        row += draw_wrapped(row, 2, width, 2, LOOK_PLAIN, v->because);
        draw_wrapped(row, 2, width, 1, LOOK_DIM, v->rule->source);
    } else {
        draw_wrapped(row, 2, width, 2, LOOK_DIM,
                     "No rule speaks for it. Pick it all the same where you see why.");
    }
    if (*p->mark != '\0')
        draw_textf(last - 1, 2, width, LOOK_WARN, "What is picked: %s", p->mark);
    draw_text(last, 2, width, LOOK_DIM,
              "What is picked goes on the build sheet and, once taught, on the care sheet.");
    list_draw(&p->list, 1, rows, 2, draw_one, p);
}

static void turn(struct screen *s)
{
    struct accessories_page *p = s->state;
    struct fault f = {0};
    struct chart *c = &p->at.page.chart;
    if (p->list.count == 0)
        return;
    c->reason = past_reason(s->app, s->arena, &c->visit, "Accessories");
    if (c->reason == NULL)
        return;
    if (!accessory_turn(c, &p->views[p->list.at], &f))
        app_fault(s->app, &f);
    if (page_reload(&p->at.page, s))
        look(p);
}

static bool press(struct screen *s, const struct press *p)
{
    struct accessories_page *page = s->state;
    if (section_press(s, p) || list_press(&page->list, p, 8))
        return true;
    if ((p->kind == PRESS_KEY && p->code == PK_ENTER) ||
        (p->kind == PRESS_CHAR && p->text[0] == ' ')) {
        turn(s);
        return true;
    }
    return past_press(s, p, &page->at.page.chart.visit, ID_ACCESSORIES);
}

static void refresh(struct screen *s)
{
    struct accessories_page *p = s->state;
    if (page_reload(&p->at.page, s))
        look(p);
}

static void close_page(struct screen *s)
{
    struct accessories_page *p = s->state;
    page_close(&p->at.page);
}

static const struct key_help keys[] = {
    {"Enter", "pick", "Pick the accessory under the cursor, or put it back; Space does the same.",
     true},
    {"Up Down", "move", "The reason of each stands below.", true},
    PAST_KEYS,
    SECTION_KEYS,
    {0},
};

static const struct screen_class accessories_class = {
    .name = "Accessories",
    .help = "Rules of the practice say what this dog's findings speak for. A veterinarian picks.",
    .keys = keys,
    .open = open_page,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_page,
};

void accessories_open(struct app *app, const char *visit, size_t index)
{
    section_screen(app, &accessories_class, visit, index, sizeof(struct accessories_page));
}
