/* The practice's own frames: where they are, what is due, which fits the dog at hand. */
#include "casebook/equipment.h"
#include "base/clock.h"
#include "casebook/lending.h"
#include "screens/kit/ask.h"
#include "screens/kit/list.h"
#include "screens/page.h"
#include "screens/screens.h"
#include <string.h>

struct register_state {
    struct arena *data;
    const char *dog; /* a visit, whose dog is to be fitted; or NULL */
    const struct equipment *rows;
    struct list list;
};

static void refresh(struct screen *s)
{
    struct register_state *st = s->state;
    struct fault f = {0};
    struct chart chart = {0};
    bool dog = st->dog != NULL;
    arena_reset(st->data);
    st->rows = NULL;
    st->list.count = 0;
    if ((dog && !chart_load(s->app->cb, st->data, st->dog, &chart, &f)) ||
        !equipment_look(s->app->cb, st->data, dog ? &chart : NULL, &st->rows, &st->list.count,
                        &f)) {
        st->list.count = 0;
        app_fault(s->app, &f);
    }
    if (st->list.at >= st->list.count)
        st->list.at = st->list.count > 0 ? st->list.count - 1 : 0;
    s->subject = dog ? record_said(&chart.dog, "dog.name") : s->app->cb->set->practice.name;
}

static bool open_register(struct screen *s, struct fault *f)
{
    struct register_state *st = s->state;
    (void)f;
    st->data = arena_new();
    refresh(s);
    return true;
}

static const char *fits_words(const struct equipment *e, struct arena *a)
{
    if (e->fits == FITS_NO || e->fits == FITS_NOT_ASKED)
        return e->why;
    return arena_printf(a, "%s at step %zu of %zu (%.0f mm)%s%s",
                        e->fits == FITS_YES ? "fits" : "fits with pads", e->step, e->steps,
                        e->axle_mm, *e->why != '\0' ? ": " : "", e->why);
}

static void draw_row(void *of, size_t i, int row, bool focus)
{
    const struct register_state *st = of;
    const struct equipment *e = &st->rows[i];
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    int width = term_columns() - 2, where = width >= 110 ? 36 : 26;
    draw_fill(row, 1, width, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_text(row, 4, 16, plain, e->name);
    draw_textf(row, 21, where,
               focus     ? LOOK_FOCUS
               : e->late ? LOOK_WARN
                         : LOOK_PLAIN,
               "%s%s%s%s", e->where, *e->due != '\0' ? ", due " : "", e->due,
               e->late ? " LATE" : "");
    int at = 22 + where;
    if (st->dog != NULL)
        draw_text(row, at, width - at,
                  focus               ? LOOK_FOCUS
                  : e->fits < FITS_NO ? LOOK_GOOD
                                      : LOOK_DIM,
                  fits_words(e, st->data));
    else
        draw_textf(row, at, width - at, plain, "cleaned %s, checked %s",
                   *e->cleaned != '\0' ? e->cleaned : "never",
                   *e->checked != '\0' ? e->checked : "never");
}

static void draw(struct screen *s)
{
    struct register_state *st = s->state;
    int last = term_rows() - 3;
    s->about = st->list.count > 0 ? st->rows[st->list.at].entity : NULL;
    if (st->list.count == 0) {
        draw_text(2, 4, term_columns() - 8, LOOK_PLAIN,
                  "No frame of the practice is on record: n enters the first.");
        draw_cursor(2, 4);
        return;
    }
    list_draw(&st->list, 2, last - 4, 2, draw_row, st);
    const struct equipment *e = &st->rows[st->list.at];
    draw_textf(last - 1, 2, term_columns() - 4, LOOK_DIM, "%s%s%s",
               e->frame != NULL ? e->frame->label : "its kind of frame is not among the templates",
               *e->setting != '\0' ? "; set to " : "", e->setting);
    if (st->dog != NULL)
        draw_wrapped(last, 2, term_columns() - 4, 1, LOOK_DIM, fits_words(e, st->data));
}

static void new_one(struct screen *s)
{
    struct register_state *st = s->state;
    struct record r;
    struct fault f = {0};
    const char *name = ask_line(s->app, st->data, "Name, as it is written on the frame?", "");
    if (name == NULL || *name == '\0')
        return;
    if (!equipment_new(s->app->cb, st->data, name, &r, &f))
        app_fault(s->app, &f);
    else
        details_open(s->app, r.entity, PLACE_EQUIPMENT);
}

/* To the dog at hand, whose chart the register was opened from. */
static void lend(struct screen *s, const struct equipment *e)
{
    struct register_state *st = s->state;
    struct chart chart;
    struct fault f = {0};
    char iso[CLOCK_ROOM];
    day_number due;
    if (st->dog == NULL) {
        app_say(s->app, LOOK_WARN, "To which dog? Open the register from its bench: Fit, then e");
        return;
    }
    const char *typed = ask_line(s->app, st->data, "Due back on which day?", "+14");
    if (typed == NULL)
        return;
    if (!clock_parse_day(typed, clock_today(), &due, &f) ||
        !chart_load(s->app->cb, st->data, st->dog, &chart, &f) ||
        !frame_lend(&chart, e->entity, clock_iso_day(due, iso), &f))
        app_fault(s->app, &f);
    else
        app_say(s->app, LOOK_GOOD, "Lent until %s", clock_dated(due, iso));
    refresh(s);
}

static void take_back(struct screen *s, const struct equipment *e)
{
    struct register_state *st = s->state;
    struct fault f = {0};
    if (!frame_take_back(s->app->cb, st->data, e->entity, &f))
        app_fault(s->app, &f);
    refresh(s);
}

static bool press(struct screen *s, const struct press *p)
{
    struct register_state *st = s->state;
    if (p->kind == PRESS_CHAR && st->list.count > 0 && (p->text[0] == 'l' || p->text[0] == 'b')) {
        (p->text[0] == 'l' ? lend : take_back)(s, &st->rows[st->list.at]);
        return true;
    }
    if (list_press(&st->list, p, term_rows() - 8))
        return true;
    if (p->kind == PRESS_KEY && p->code == PK_ENTER && st->list.count > 0) {
        details_open(s->app, st->rows[st->list.at].entity, PLACE_EQUIPMENT);
        return true;
    }
    if (p->kind == PRESS_CHAR && p->text[0] == 'n') {
        new_one(s);
        return true;
    }
    return false;
}

static void close_register(struct screen *s)
{
    struct register_state *st = s->state;
    arena_free(st->data);
}

static const struct key_help keys[] = {
    {"Enter", "open", "Sizes, where it is, cleaned and checked.", true},
    {"l", "lend", "Lend it to the dog at hand, and say when it is due back.", true},
    {"b", "back", "It is back, to be cleaned and checked.", true},
    {"n", "new", "Enter another frame of the practice.", true},
    {0},
};

static const struct screen_class register_class = {
    .name = "Equipment",
    .help = "The practice's own frames for trial and loan: which is out and due back, which fits "
            "the dog at hand and at what setting. Clean and check before the next dog.",
    .keys = keys,
    .open = open_register,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_register,
};

void equipment_open(struct app *app, const char *visit)
{
    struct arena *a = arena_new();
    struct register_state *st = arena_alloc(a, sizeof *st);
    st->dog = visit != NULL ? arena_str(a, visit) : NULL;
    screen_open(app, &register_class, a, st);
}
