/* Observers: how well each person repeats each measurement, from the doubles taken anyway. */
#include "casebook/experience.h"
#include "casebook/measuring.h"
#include "screens/kit/list.h"
#include "screens/screens.h"
#include <string.h>

struct observers_state {
    struct arena *data;
    struct experience known;
    const char **initials; /* of each row */
    struct list list;
};

static void initials(struct screen *s)
{
    struct observers_state *o = s->state;
    o->list.count = o->known.observer_count;
    o->initials = arena_array(o->data, o->list.count, sizeof *o->initials);
    for (size_t i = 0; i < o->list.count; i++) {
        bool as_before =
            i > 0 && strcmp(o->known.observers[i].author, o->known.observers[i - 1].author) == 0;
        o->initials[i] = as_before
                             ? o->initials[i - 1]
                             : author_initials(s->app->cb, o->data, o->known.observers[i].author);
    }
}

static bool open_observers(struct screen *s, struct fault *f)
{
    struct observers_state *o = s->state;
    o->data = arena_new();
    if (!experience_fresh(s->app->cb, o->data, &o->known, f))
        return false;
    initials(s);
    s->subject = s->app->cb->set->practice.name;
    return true;
}

static void draw_one(void *of, size_t i, int row, bool focus)
{
    struct screen *s = of;
    const struct observers_state *o = s->state;
    const struct template_set *set = s->app->cb->set;
    const struct observed *p = &o->known.observers[i];
    const struct measure *m = template_measure(set, p->measure);
    enum look look = focus ? LOOK_FOCUS : LOOK_PLAIN;
    draw_fill(row, 1, 77, look);
    draw_text(row, 2, 1, look, focus ? ">" : " ");
    draw_text(row, 4, 5, look, o->initials[i]);
    draw_text(row, 10, 25, look, m != NULL ? m->label : p->measure);
    draw_textf(row, 36, 5, look, "%4zu", p->n);
    if (m == NULL)
        return;
    draw_textf(row, 42, 8, look, "%6s", reading_show(set, m, p->tem, o->data));
    if (p->mean > 0)
        draw_textf(row, 51, 7, look, "%4.1f %%", 100 * p->tem / p->mean);
    draw_textf(row, 59, 12, look, "%6s %s", reading_show(set, m, p->credible, o->data),
               measure_unit(set, m)->name);
    if (p->n < OBSERVED_LEAST)
        draw_text(row, 71, 7, look, "too few");
}

static void draw(struct screen *s)
{
    struct observers_state *o = s->state;
    int last = term_rows() - 3;
    draw_textf(1, 2, term_columns() - 4, LOOK_PLAIN,
               "Two readings by one person, in the latest %zu visits: what they part by.",
               o->known.visits);
    draw_text(3, 4, 5, LOOK_DIM, "who");
    draw_text(3, 10, 20, LOOK_DIM, "measurement");
    draw_text(3, 36, 6, LOOK_DIM, "pairs");
    draw_text(3, 43, 6, LOOK_DIM, "TEM");
    draw_text(3, 51, 7, LOOK_DIM, "of mean");
    draw_text(3, 59, 14, LOOK_DIM, "real beyond");
    if (o->list.count == 0) {
        draw_text(
            4, 4, term_columns() - 6, LOOK_PLAIN,
            "Nobody has read two dogs twice yet: the readings of the Measures screen will do.");
        draw_cursor(4, 4);
    }
    list_draw(&o->list, 4, last - 7, 2, draw_one, s);
    draw_wrapped(last - 1, 2, term_columns() - 4, 2, LOOK_DIM,
                 "TEM: technical error; real beyond: 1.96 x root 2 x TEM, 95 % (Ulijaszek and Kerr "
                 "1999). From 10 pairs on it decides in re-measuring, reviews and trends.");
}

static bool press(struct screen *s, const struct press *p)
{
    struct observers_state *o = s->state;
    struct fault f = {0};
    if (list_press(&o->list, p, term_rows() - 10))
        return true;
    if (p->kind != PRESS_CHAR || p->text[0] != 'r')
        return false;
    arena_reset(o->data);
    o->list = (struct list){0};
    o->known = (struct experience){.day = ""};
    if (!experience_renew(s->app->cb, o->data, &o->known, &f))
        app_fault(s->app, &f);
    else
        app_say(s->app, LOOK_PLAIN, "Counted anew from %zu visits", o->known.visits);
    initials(s);
    return true;
}

static void close_observers(struct screen *s)
{
    struct observers_state *o = s->state;
    arena_free(o->data);
}

static const struct key_help keys[] = {
    {"Up Down", "move", "Through the list.", false},
    {"r", "count anew", "Read the latest visits again; else that happens once a day.", true},
    {0},
};

static const struct screen_class observers_class = {
    .name = "Observers",
    .help = "Technical error of measurement and the smallest change that is real, for each person "
            "and measurement. Both readings are of one standing of one dog: from visit to visit a "
            "dog stands differently, so take the change that is real as a lower limit.",
    .keys = keys,
    .open = open_observers,
    .draw = draw,
    .press = press,
    .close = close_observers,
};

void observers_open(struct app *app)
{
    struct arena *a = arena_new();
    screen_open(app, &observers_class, a, arena_alloc(a, sizeof(struct observers_state)));
}
