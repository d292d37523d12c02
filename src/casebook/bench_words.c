/* The numbers of the bench as they are shown. */
#include "base/units.h"
#include "casebook/bench.h"
#include <math.h>
#include <stdarg.h>
#include <stdio.h>

struct writer {
    struct bench_number *rows;
    size_t count;
};

static struct bench_number *number(struct writer *w, const char *label, double value, double within,
                                   int decimals, const char *unit)
{
    char digits[24];
    struct bench_number *n = &w->rows[w->count++];
    *n = (struct bench_number){.label = label};
    (void)snprintf(n->value, sizeof n->value, "%s %s",
                   number_format(value, decimals, true, digits, sizeof digits), unit);
    if (within > 0)
        (void)snprintf(n->within, sizeof n->within, "%s",
                       number_format(within, decimals, true, digits, sizeof digits));
    return n;
}

static void beside(struct bench_number *n, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void beside(struct bench_number *n, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    (void)vsnprintf(n->more, sizeof n->more, format, args);
    va_end(args);
}

static double kilograms(double newtons)
{
    return newtons / STANDARD_GRAVITY;
}

/* The word carries the sign: "lifts 0.3 kg". */
static void bar(struct writer *w, const struct bench *b, const struct bench_view *v)
{
    double kg = kilograms(v->out.balance.bar_load_n), u = kilograms(v->spread.balance.bar_load_n);
    struct bench_number *n = number(w, kg > 0 ? "bar presses" : "bar lifts", fabs(kg), u, 1, "kg");
    beside(n, "%.0f N", fabs(v->out.balance.bar_load_n));
    if (fabs(kg) < 0.05)
        n->label = "bar neutral";
    n->past = b->want.no_press && v->out.balance.bar_load_n > 0.5;
}

/* With four wheels on the ground statics gives a range only; the rest is worked out with the front
 * pair hanging just clear. */
static void fore(struct writer *w, const struct bench *b, const struct fit_setting *s,
                 const struct bench_view *v)
{
    const struct balance_out *o = &v->out.balance, *u = &v->spread.balance;
    if (v->four) {
        struct bench_number *range = number(w, "fore feet", 0, 0, 1, "kg");
        beside(range, "by the sling");
        (void)snprintf(range->value, sizeof range->value, "%.1f to %.1f kg",
                       kilograms(v->range.fore_low_n), kilograms(v->range.fore_high_n));
    }
    struct bench_number *n = number(w, v->four ? "front clear" : "fore feet",
                                    kilograms(o->fore_load_n), kilograms(u->fore_load_n), 1, "kg");
    beside(n, "%.0f %% of the dog", 100 * o->fore_share_now);
    n->past = o->fore_share_now > b->dog.fore_share + 1e-9;
    n = number(w, "relief", 100 * o->relief, 100 * u->relief, 0, "%");
    beside(n, "%.0f wanted", 100 * b->want.relief);
    n->past = o->relief > s->frame->relief_most + 1e-9;
    bar(w, b, v);
}

static void front(struct writer *w, const struct bench_view *v)
{
    const struct balance_out *o = &v->out.balance, *u = &v->spread.balance;
    (void)number(w, "chest", kilograms(o->bar_load_n), kilograms(u->bar_load_n), 1, "kg");
    (void)number(w, o->rest_load_n < 0 ? "hips lifted" : "hips pressed",
                 fabs(kilograms(o->rest_load_n)), kilograms(u->rest_load_n), 1, "kg");
    (void)number(w, "wheels", kilograms(o->wheel_load_n), kilograms(u->wheel_load_n), 1, "kg");
}

size_t bench_numbers(const struct bench *b, const struct fit_setting *s, const struct bench_view *v,
                     struct bench_number *out)
{
    struct writer w = {.rows = out};
    const struct balance_out *o = &v->out.balance, *u = &v->spread.balance;
    bool is_front = s->frame->model == FRAME_FRONT;
    if (v->refused)
        return 0;
    if (is_front)
        front(&w, v);
    else
        fore(&w, b, s, v);
    beside(number(&w, is_front ? "tips" : "tips up", o->uphill_limit_deg, u->uphill_limit_deg, 0,
                  "deg"),
           "down %.0f", o->downhill_limit_deg);
    beside(number(&w, "grips up", o->traction_limit_deg, u->traction_limit_deg, 1, "deg"),
           "at friction %.1f", v->in.balance.friction);
    beside(number(&w, "leans", v->out.side.side_slope_limit_deg,
                  v->spread.side.side_slope_limit_deg, 0, "deg"),
           "worst way %.0f", v->out.side.worst_tilt_deg);
    beside(number(&w, "turns", v->out.side.turn_speed_limit_mps,
                  v->spread.side.turn_speed_limit_mps, 1, "m/s"),
           "at %.0f m", v->in.turn_radius_m);
    return w.count;
}
