/* Conflicts: findings that two people answered without having seen each other, and the decision. */
#include "base/clock.h"
#include "casebook/settling.h"
#include "screens/kit/ask.h"
#include "screens/kit/history.h"
#include "screens/kit/list.h"
#include "screens/screens.h"
#include <string.h>

enum { SHOWN_MOST = 500, LIST_ROWS = 6, STANDS_MOST = 9 };

struct conflicts_state {
    struct arena *data;
    const struct dispute *all;
    struct list list;
    const char *first; /* the record that is looked for when it opens, or NULL */
};

static const struct dispute *chosen(const struct conflicts_state *c)
{
    return c->list.count > 0 ? &c->all[c->list.at] : NULL;
}

static void refresh(struct screen *s)
{
    struct conflicts_state *c = s->state;
    struct fault f = {0};
    arena_reset(c->data);
    c->all = NULL;
    c->list.count = 0;
    if (!disputes(s->app->cb, c->data, SHOWN_MOST, &c->all, &c->list.count, &f)) {
        c->list.count = 0;
        app_fault(s->app, &f);
    }
    if (c->list.at >= c->list.count)
        c->list.at = c->list.count > 0 ? c->list.count - 1 : 0;
    s->middle = arena_printf(c->data, "%zu to settle", c->list.count);
}

static bool open_conflicts(struct screen *s, struct fault *f)
{
    struct conflicts_state *c = s->state;
    (void)f;
    c->data = arena_new();
    refresh(s);
    for (size_t i = 0; c->first != NULL && i < c->list.count; i++)
        if (strcmp(c->all[i].entity, c->first) == 0) {
            c->list.at = i;
            break;
        }
    return true;
}

/* ---- drawing --------------------------------------------------------------------------------- */

static void draw_row(void *of, size_t i, int row, bool focus)
{
    const struct conflicts_state *c = of;
    enum look look = focus ? LOOK_FOCUS : LOOK_PLAIN;
    int width = term_columns() - 2, whose = width >= 110 ? 50 : 34;
    draw_fill(row, 1, width, look);
    draw_text(row, 2, 1, look, focus ? ">" : " ");
    draw_text(row, 4, whose - 2, look, c->all[i].whose);
    draw_text(row, 4 + whose, width - 4 - whose, look, c->all[i].label);
}

static int draw_stand(const struct conflicts_state *c, const struct stand *x, size_t number,
                      int row, int last)
{
    char day[CLOCK_ROOM], hour[CLOCK_ROOM];
    int width = term_columns() - 9;
    if (row >= last)
        return row;
    draw_textf(row, 4, 3, LOOK_STRONG, "%zu", number);
    row += draw_wrapped(row, 7, width, 3, LOOK_STRONG, x->shown);
    if (row >= last)
        return row;
    const char *device = x->device[0] != '\0' ? x->device : "a device without a name";
    draw_textf(row++, 7, width, LOOK_PLAIN, "%s, %s %s by the clock of %s", x->who,
               clock_short(clock_day(x->claimed_at), day), clock_hour(x->claimed_at, hour), device);
    if (x->reason[0] != '\0' && row < last)
        row += draw_wrapped(row, 7, width, 2, LOOK_DIM,
                            arena_printf(c->data, "because: %s", x->reason));
    return row + 1;
}

static void draw(struct screen *s)
{
    struct conflicts_state *c = s->state;
    const struct dispute *d = chosen(c);
    int last = term_rows() - 3, rows = term_rows() > 30 ? 2 * LIST_ROWS : LIST_ROWS;
    if (d == NULL) {
        draw_text(3, 4, 70, LOOK_STRONG, "Nothing is in conflict.");
        draw_cursor(3, 4);
        return;
    }
    if ((size_t)rows > c->list.count)
        rows = (int)c->list.count;
    int row = 2 + rows;
    draw_rule(row++, 2, term_columns() - 4);
    draw_wrapped(row, 2, term_columns() - 4, 2, LOOK_PLAIN,
                 arena_printf(c->data,
                              "%s. Neither had seen the other's answer; both stand "
                              "wherever it is shown or printed.",
                              d->label));
    row += 3;
    for (size_t i = 0; i < d->count; i++)
        row = draw_stand(c, &d->stands[i], i + 1, row, last);
    list_draw(&c->list, 1, rows, 2, draw_row, c);
}

/* ---- deciding -------------------------------------------------------------------------------- */

static const char *ask_reason(struct screen *s, struct conflicts_state *c, const char *what)
{
    const char *reason = ask_line(s->app, c->data, what, "");
    if (reason != NULL && reason[strspn(reason, " ")] == '\0') {
        app_say(s->app, LOOK_WARN, "Nothing was decided: a reason is needed");
        return NULL;
    }
    return reason;
}

static void decide(struct screen *s, const struct dispute *d, size_t keep, const char *canonical,
                   const char *shown)
{
    struct conflicts_state *c = s->state;
    struct fault f = {0};
    const char *label = d->label;
    const char *reason = ask_reason(s, c,
                                    arena_printf(c->data, "%s \"%.40s\", because:",
                                                 canonical == NULL ? "Keep" : "Write", shown));
    if (reason == NULL)
        return;
    if (!conflict_settle(s->app->cb, d, keep, canonical, reason, &f)) {
        app_fault(s->app, &f);
        return;
    }
    app_say(s->app, LOOK_GOOD, "%s: settled; the others learn of it with the next exchange", label);
    refresh(s);
}

static void write_third(struct screen *s, const struct dispute *d)
{
    struct conflicts_state *c = s->state;
    struct fault f = {0};
    const char *canonical;
    const char *typed =
        ask_line(s->app, c->data, arena_printf(c->data, "%s: what is right?", d->label), "");
    if (typed == NULL || typed[strspn(typed, " ")] == '\0')
        return;
    if (dispute_read(s->app->cb, c->data, d, typed, &canonical, &f))
        decide(s, d, d->count, canonical,
               finding_show(s->app->cb->set, d->item, canonical, c->data));
    else
        app_fault(s->app, &f);
}

static bool press(struct screen *s, const struct press *p)
{
    struct conflicts_state *c = s->state;
    const struct dispute *d = chosen(c);
    if (list_press(&c->list, p, LIST_ROWS))
        return true;
    if (p->kind != PRESS_CHAR || d == NULL)
        return false;
    char key = p->text[0];
    if (key >= '1' && key <= '0' + STANDS_MOST && (size_t)(key - '1') < d->count)
        decide(s, d, (size_t)(key - '1'), NULL, d->stands[key - '1'].shown);
    else if (key == 'w')
        write_third(s, d);
    else if (key == 'h')
        history_show(s->app, d->entity, d->item);
    else
        return false;
    return true;
}

static void close_conflicts(struct screen *s)
{
    struct conflicts_state *c = s->state;
    arena_free(c->data);
}

static const struct key_help keys[] = {
    {"1 2", "keep", "Keep that answer; a reason is asked for.", true},
    {"w", "write", "Write a third answer instead; a reason is asked for.", true},
    {"h", "history", "The whole story of this finding.", true},
    {"Up Down", "choose", "Move through what is in conflict.", true},
    {0},
};

static const struct screen_class conflicts_class = {
    .name = "Conflicts",
    .help = "Findings that two people answered without having seen each other. Both answers stand "
            "until somebody decides; what is not kept stays in the history.",
    .keys = keys,
    .open = open_conflicts,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_conflicts,
};

void conflicts_open(struct app *app, const char *entity)
{
    struct arena *a = arena_new();
    struct conflicts_state *c = arena_alloc(a, sizeof *c);
    c->first = entity != NULL ? arena_str(a, entity) : NULL;
    screen_open(app, &conflicts_class, a, c);
}
