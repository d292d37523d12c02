#include "calc/axle.h"
#include <math.h>
#include <stdio.h>

bool axle_table(const struct balance_in *in, double from_mm, double to_mm, size_t steps,
                struct axle_row *rows, struct fault *f)
{
    if (steps < 1 || steps > AXLE_STEPS_MOST)
        return fail(f, FAULT_INPUT, "an axle has 1 to %d positions, not %zu", AXLE_STEPS_MOST,
                    steps);
    if (!(from_mm >= 1 && to_mm >= from_mm && to_mm <= 10000))
        return fail(f, FAULT_INPUT, "an axle cannot move from %g to %g mm", from_mm, to_mm);
    struct balance_in at = *in;
    at.from_relief = false;
    for (size_t i = 0; i < steps; i++) {
        struct fault why;
        at.axle_mm = from_mm;
        if (i > 0)
            at.axle_mm += (to_mm - from_mm) * (double)i / (double)(steps - 1);
        rows[i] = (struct axle_row){.axle_mm = at.axle_mm};
        rows[i].stands = balance_solve(&at, &rows[i].out, &why);
        if (!rows[i].stands && why.kind != FAULT_REFUSED) {
            fail(f, why.kind, "%s", why.text);
            return false;
        }
    }
    return true;
}

/* One demand on a row: how much there is to spare (0 and more: met), and how to say that nobody
 * meets it. */
struct demand {
    double (*spare)(const struct axle_row *row, const struct axle_want *want);
    const char *format; /* with the figure of the best row and where it is */
    double (*figure)(const struct axle_row *row);
};

static double spare_stand(const struct axle_row *r, const struct axle_want *w)
{
    (void)w;
    return r->stands ? 1 : -1;
}

static double spare_tip(const struct axle_row *r, const struct axle_want *w)
{
    return r->out.uphill_limit_deg - w->uphill_deg - w->tip_margin_deg;
}

static double spare_grip(const struct axle_row *r, const struct axle_want *w)
{
    return r->out.traction_limit_deg - w->uphill_deg - w->grip_margin_deg;
}

/* Half a newton either way is neither pressing nor lifting. */
static double spare_press(const struct axle_row *r, const struct axle_want *w)
{
    return w->may_press ? INFINITY : 0.5 - r->out.bar_load_n;
}

static double spare_lift(const struct axle_row *r, const struct axle_want *w)
{
    return w->may_lift ? INFINITY : 0.5 + r->out.bar_load_n;
}

/* Last, because the row that spares most here is the nearest. Any relief lies within 10. */
static double spare_relief(const struct axle_row *r, const struct axle_want *w)
{
    return fmin(w->relief_within, 10) + 1e-9 - fabs(r->out.relief - w->relief);
}

static double figure_axle(const struct axle_row *r)
{
    return r->axle_mm;
}
static double figure_tip(const struct axle_row *r)
{
    return r->out.uphill_limit_deg;
}
static double figure_grip(const struct axle_row *r)
{
    return r->out.traction_limit_deg;
}
static double figure_bar(const struct axle_row *r)
{
    return fabs(r->out.bar_load_n);
}
static double figure_relief(const struct axle_row *r)
{
    return 100 * r->out.relief;
}

static const struct demand demands[] = {
    {spare_stand, "all of them tip backwards as they stand, even %.0f mm (%.0f mm)", figure_axle},
    {spare_tip, "the steadiest of them tips at %.1f deg uphill (%.0f mm)", figure_tip},
    {spare_grip, "the best of them grips to %.1f deg uphill (%.0f mm)", figure_grip},
    {spare_press, "the lightest of them presses on the shoulders with %.1f N (%.0f mm)",
     figure_bar},
    {spare_lift, "the lowest of them lifts the chest with %.1f N (%.0f mm)", figure_bar},
    {spare_relief, "the nearest of them gives a relief of %.0f %% (%.0f mm)", figure_relief},
};

bool axle_target(const struct axle_row *rows, size_t count, const struct axle_want *want,
                 size_t *chosen, struct fault *f)
{
    bool out[AXLE_STEPS_MOST] = {false};
    if (count < 1 || count > AXLE_STEPS_MOST)
        return fail(f, FAULT_INPUT, "an axle has 1 to %d positions, not %zu", AXLE_STEPS_MOST,
                    count);
    for (size_t d = 0; d < sizeof demands / sizeof demands[0]; d++) {
        size_t best = count;
        double most = -INFINITY;
        for (size_t i = 0; i < count; i++) {
            if (out[i])
                continue;
            double spare = demands[d].spare(&rows[i], want);
            if (best == count || spare > most) {
                most = spare;
                best = i;
            }
            out[i] = !(spare >= 0);
        }
        if (!(most >= 0)) {
            char because[256];
            snprintf(because, sizeof because, demands[d].format, demands[d].figure(&rows[best]),
                     rows[best].axle_mm);
            return fail(f, FAULT_REFUSED, "no position does this, because %s", because);
        }
        *chosen = best; /* after the last demand: the nearest to the wanted relief */
    }
    return true;
}
