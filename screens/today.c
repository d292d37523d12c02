/* Today: what is due, in order, and the doors to everything else. */
#include "casebook/today.h"
#include "base/clock.h"
#include "casebook/sheltering.h"
#include "output/papers.h"
#include "screens/kit/list.h"
#include "screens/kit/printing.h"
#include "screens/screens.h"
#include <string.h>

enum { LEFT = 24 }; /* columns of what the last line says first */

struct today_state {
    struct arena *data;
    struct today today;
    struct sheltering shelter;
    struct list list;
};

static void refresh(struct screen *s)
{
    struct today_state *t = s->state;
    struct fault f = {0};
    char buf[CLOCK_ROOM];
    arena_reset(t->data);
    if (!today_look(s->app->cb, t->data, &t->today, &f) ||
        !sheltering_look(s->app->cb, t->data, s->app->sysfs, &t->shelter, &f)) {
        t->today = (struct today){.unsent = ""};
        t->shelter = (struct sheltering){.line = ""};
        app_fault(s->app, &f);
    }
    t->list.count = t->today.count;
    if (t->list.at >= t->list.count)
        t->list.at = t->list.count == 0 ? 0 : t->list.count - 1;
    const char *who = *s->app->cb->author == '\0'
                          ? "nobody is at the keys"
                          : author_initials(s->app->cb, t->data, s->app->cb->author);
    s->subject = arena_printf(t->data, "%s", clock_long(clock_today(), buf));
    s->middle = arena_printf(t->data, "%s  %s", s->app->cb->set->practice.name, who);
}

static bool open_today(struct screen *s, struct fault *f)
{
    (void)f;
    struct today_state *t = s->state;
    t->data = arena_new();
    refresh(s);
    return true;
}

/* Rows needed above row i for headings, from row `top`: a heading where the kind changes. */
static bool heads_group(const struct today *t, size_t i, size_t top)
{
    return i == top || t->rows[i].kind != t->rows[i - 1].kind;
}

static void draw_due(const struct due *d, int row, bool focus)
{
    enum look look = focus ? LOOK_FOCUS : d->late ? LOOK_WARN : LOOK_PLAIN;
    int width = term_columns() - 2;
    draw_fill(row, 1, width, focus ? LOOK_FOCUS : LOOK_PLAIN);
    draw_text(row, 2, 1, look, focus ? ">" : " ");
    draw_text(row, 4, 12, look, d->when);
    int who = width >= 110 ? 44 : 29;
    draw_text(row, 17, who, look, d->who);
    draw_text(row, 18 + who, width - 18 - who, look, d->what);
    if (focus)
        draw_cursor(row, 2);
}

/* The rows as far as they fit; returns how many are below. */
static size_t draw_list(struct today_state *t, int row, int last)
{
    size_t top = t->list.top;
    for (;;) { /* move the window until the selected row is in it */
        int at = row;
        size_t i = top;
        for (; i < t->today.count && at < last; i++) {
            at += heads_group(&t->today, i, top) ? (i == top ? 1 : 2) : 0;
            if (i == t->list.at)
                break;
            at++;
        }
        if (at < last || top >= t->list.at)
            break;
        top++;
    }
    t->list.top = top > t->list.at ? t->list.at : top;
    int at = row;
    size_t i = t->list.top;
    for (; i < t->today.count; i++) {
        bool heads = heads_group(&t->today, i, t->list.top);
        int gap = heads && i > t->list.top;
        if (at + gap + heads >= last) /* a heading without its first row says nothing */
            break;
        at += gap;
        if (heads)
            draw_text(at++, 2, 40, LOOK_STRONG, due_heading(t->today.rows[i].kind));
        draw_due(&t->today.rows[i], at++, i == t->list.at);
    }
    return t->today.count - i;
}

static void draw(struct screen *s)
{
    struct today_state *t = s->state;
    int last = term_rows() - 3;
    const struct journal_counts *c = &t->today.counts;
    size_t below = 0;
    s->about = t->today.count > 0 ? t->today.rows[t->list.at].entity : NULL;
    if (t->today.count == 0) {
        draw_text(3, 4, 70, LOOK_STRONG, "Nothing is due.");
        draw_text(5, 4, 70, LOOK_PLAIN, "c  a call comes in");
        draw_text(6, 4, 70, LOOK_PLAIN, "f  find a dog or a caregiver");
        draw_cursor(3, 4);
    } else {
        below = draw_list(t, 2, last);
    }
    if (below > 0 && c->conflicts > 0) /* they stand last, and are to be settled first */
        draw_textf(last, 2, LEFT, LOOK_STRONG, "%zu below, %llu in conflict", below,
                   (unsigned long long)c->conflicts);
    else if (below > 0)
        draw_textf(last, 2, LEFT, LOOK_STRONG, "%zu more below", below);
    else
        draw_textf(last, 2, LEFT, LOOK_DIM, "%llu %s", (unsigned long long)c->dogs,
                   c->dogs == 1 ? "dog" : "dogs");
    draw_right(last, term_columns() - 1, term_columns() - LEFT - 4, LOOK_DIM, t->today.unsent);
    draw_text(1, 2, term_columns() - 4, LOOK_WARN, t->shelter.line);
}

static void open_row(struct screen *s)
{
    struct today_state *t = s->state;
    if (t->today.count == 0)
        return;
    const struct due *d = &t->today.rows[t->list.at];
    const char *kind = journal_kind(s->app->cb->journal, t->data, d->entity);
    if (d->kind == DUE_CONFLICT)
        conflicts_open(s->app, d->entity);
    else if (kind == NULL)
        app_say(s->app, LOOK_WARN, "This record has not been received yet");
    else if (strcmp(kind, "visit") == 0)
        visit_open(s->app, d->entity);
    else if (strcmp(kind, "call") == 0)
        call_open(s->app, d->entity);
    else if (strcmp(kind, "equipment") == 0)
        equipment_open(s->app, NULL);
    else
        dog_open(s->app, d->entity);
}

static void print_day(struct screen *s)
{
    struct today_state *t = s->state;
    struct sheet *sheet;
    struct fault f = {0};
    if (day_sheet(s->app->cb, t->data, clock_today(), &sheet, &f))
        print_ask(s->app, t->data, sheet, "day");
    else
        app_fault(s->app, &f);
}

static bool press(struct screen *s, const struct press *p)
{
    struct today_state *t = s->state;
    if (list_press(&t->list, p, term_rows() - 6))
        return true;
    if (p->kind == PRESS_KEY && p->code == PK_ENTER) {
        open_row(s);
        return true;
    }
    if (p->kind != PRESS_CHAR)
        return false;
    switch (p->text[0]) {
    case 'c':
        call_open(s->app, NULL);
        return true;
    case 'f':
    case '/':
        find_open(s->app);
        return true;
    case 'd':
        print_day(s);
        return true;
    case 'p':
        practice_open(s->app);
        return true;
    case 's':
        sync_open(s->app);
        return true;
    case 'x':
        conflicts_open(s->app, NULL);
        return true;
    case 'q':
        s->app->quit = true;
        return true;
    default:
        return false;
    }
}

static void close_today(struct screen *s)
{
    struct today_state *t = s->state;
    arena_free(t->data);
}

static const struct key_help keys[] = {
    {"Enter", "open", "Open the visit, the call or the dog under the cursor.", true},
    {"c", "call", "A call comes in: red flags first.", true},
    {"f", "find", "Find a dog or a caregiver by name, street or phone; / does the same.", true},
    {"d", "day sheet", "The day on paper: addresses, and what to bring.", false},
    {"p", "practice", "The practice, who is at the keys, the templates.", true},
    {"s", "sync", "Exchange entries with the practice's other devices.", true},
    {"x", "conflicts", "What two people answered differently.", false},
    {"q", "quit", "Leave the program; everything is on disk already.", true},
    {0},
};

static const struct screen_class today_class = {
    .name = "Today",
    .help =
        "What is due: visits in order, calls to ring back, reviews, cultures, loans, conflicts, "
        "and what waits to be sent. When little is due, the dogs seen last.",
    .keys = keys,
    .open = open_today,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_today,
};

void today_open(struct app *app)
{
    struct arena *a = arena_new();
    screen_open(app, &today_class, a, arena_alloc(a, sizeof(struct today_state)));
}
