/* Teach: checklists with teach-back; what was done here decides what the handout says. */
#include "casebook/teaching.h"
#include "screens/kit/list.h"
#include "screens/kit/past.h"
#include "screens/visit.h"

struct teach_page {
    struct section_page at;
    struct teaching teaching;
    struct list list;
};

static bool open_teaching(struct screen *s, struct fault *f)
{
    struct teach_page *t = s->state;
    if (!page_load(&t->at.page, s, t->at.page.entity, f))
        return false;
    teaching_look(&t->at.page.chart, &t->teaching);
    t->list.count = t->teaching.count;
    return true;
}

static bool heads_list(const struct teaching *t, size_t i, size_t top)
{
    return i == top || t->rows[i].list != t->rows[i - 1].list;
}

static void draw_item(const struct teach_row *r, int row, bool focus)
{
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    int width = term_columns() - 2;
    draw_fill(row, 1, width, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    bool before = r->state == TAUGHT_NOT && r->before != TAUGHT_NOT;
    bool needed = r->item->danger && r->state == TAUGHT_NOT && !before;
    draw_text(row, 4, 10,
              focus                          ? LOOK_FOCUS
              : needed                       ? LOOK_WARN
              : r->state == TAUGHT_DONE_BACK ? LOOK_GOOD
                                             : LOOK_PLAIN,
              needed                   ? "needed"
              : before                 ? taught_word(r->before)
              : r->state == TAUGHT_NOT ? "."
                                       : taught_word(r->state));
    bool marked = *r->mark != '\0'; /* who and why stand below the list */
    draw_text(row, 15, width - (marked ? 40 : 23), plain, r->item->label);
    if (marked)
        draw_right(row, width, 24, focus ? LOOK_FOCUS : LOOK_WARN, r->mark);
    else
        draw_right(row, width, 9, focus ? LOOK_FOCUS : LOOK_DIM, before ? "before" : r->by);
    if (focus)
        draw_cursor(row, 4);
}

static void draw(struct screen *s)
{
    struct teach_page *t = s->state;
    int last = term_rows() - 3, room = last - 3;
    const struct teaching *all = &t->teaching;
    if (all->count == 0) {
        draw_text(2, 4, 60, LOOK_DIM, "No checklist applies to this dog.");
        draw_cursor(2, 4);
        return;
    }
    if (t->list.at < t->list.top)
        t->list.top = t->list.at;
    for (;;) { /* headings take rows too: move the window until the cursor is in it */
        int used = 0;
        for (size_t i = t->list.top; i <= t->list.at; i++)
            used += heads_list(all, i, t->list.top) ? 2 : 1;
        if (used <= room)
            break;
        t->list.top++;
    }
    int row = 1;
    for (size_t i = t->list.top; i < all->count && row < last - 2; i++) {
        if (heads_list(all, i, t->list.top))
            draw_text(row++, 2, term_columns() - 4, LOOK_STRONG, all->rows[i].list->title);
        if (row < last - 2)
            draw_item(&all->rows[i], row++, i == t->list.at);
    }
    const struct teach_row *r = &all->rows[t->list.at];
    if (*r->mark != '\0')
        draw_wrapped(last - 1, 2, term_columns() - 4, 1, LOOK_WARN, r->mark);
    else if (*r->item->why != '\0')
        draw_wrapped(last - 1, 2, term_columns() - 4, 1, LOOK_DIM, r->item->why);
    draw_textf(last, 2, term_columns() - 4, LOOK_DIM, "%zu of %zu taught%s", all->done, all->count,
               *r->item->sheet != '\0' ? "; this one goes on the sheet" : "");
}

/* What stands already is no entry, and needs no reason. */
static bool keep(struct screen *s, const struct teach_row *row, enum taught state)
{
    struct teach_page *t = s->state;
    struct chart *c = &t->at.page.chart;
    struct fault f = {0};
    if (row->state == state && *row->mark == '\0')
        return true;
    c->reason = past_reason(s->app, t->at.page.data, &c->visit, row->item->label);
    if (c->reason == NULL)
        return false;
    bool kept = teaching_put(c, row, state, &f);
    if (!kept)
        app_fault(s->app, &f);
    return kept;
}

static void put(struct screen *s, enum taught state)
{
    struct teach_page *t = s->state;
    if (t->teaching.count == 0 || !keep(s, &t->teaching.rows[t->list.at], state))
        return;
    if (page_reload(&t->at.page, s))
        teaching_look(&t->at.page.chart, &t->teaching);
    if (t->list.at + 1 < t->list.count && state != TAUGHT_NOT)
        t->list.at++;
}

static bool press(struct screen *s, const struct press *p)
{
    struct teach_page *t = s->state;
    if (section_press(s, p) || list_press(&t->list, p, term_rows() - 8))
        return true;
    if (p->kind == PRESS_KEY && p->code == PK_ENTER) {
        if (t->list.at + 1 < t->list.count)
            t->list.at++;
        return true;
    }
    if (t->teaching.count > 0 &&
        past_press(s, p, &t->at.page.chart.visit, t->teaching.rows[t->list.at].key))
        return true;
    if (p->kind != PRESS_CHAR)
        return false;
    switch (p->text[0]) {
    case 't':
        put(s, TAUGHT_TOLD);
        return true;
    case 's':
        put(s, TAUGHT_SHOWN);
        return true;
    case 'd':
        put(s, TAUGHT_DONE_BACK);
        return true;
    case 'n':
        put(s, TAUGHT_NOT);
        return true;
    default:
        return false;
    }
}

static void refresh(struct screen *s)
{
    struct teach_page *t = s->state;
    if (page_reload(&t->at.page, s)) {
        teaching_look(&t->at.page.chart, &t->teaching);
        t->list.count = t->teaching.count;
        t->list.at = t->list.at < t->list.count ? t->list.at : 0;
    }
}

static void close_teaching(struct screen *s)
{
    struct teach_page *t = s->state;
    page_close(&t->at.page);
}

static const struct key_help keys[] = {
    {"t", "told", "The caregiver was told.", true},
    {"s", "shown", "The caregiver was shown.", true},
    {"d", "done back", "The caregiver did it back, and it was right.", true},
    {"n", "not", "Not taught after all.", false},
    PAST_KEYS,
    SECTION_KEYS,
    {"Up Down", "move", "Move without ticking; Enter too.", true},
    {0},
};

static const struct screen_class teaching_class = {
    .name = "Teaching",
    .help =
        "What to teach this caregiver about this dog. What was told, shown or done back goes on "
        "the care sheet; danger signs always do.",
    .keys = keys,
    .open = open_teaching,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_teaching,
};

void teaching_open(struct app *app, const char *visit, size_t index)
{
    section_screen(app, &teaching_class, visit, index, sizeof(struct teach_page));
}
