/* Which axle position to propose, and why. */
#include "calc/axle.h"
#include "casebook/because.h"
#include "casebook/fit_inside.h"
#include <math.h>

struct fit_want fit_wanted(const struct chart *c, const struct frame *frame)
{
    const struct template_set *set = c->cb->set;
    struct fit_want want = {0};
    const char *because;
    for (size_t i = 0; i < set->relief_rule_count; i++) {
        const struct relief_rule *rule = &set->relief_rules[i];
        if (!rule_stands(c, rule->when, true, &because))
            continue;
        if (rule->no_press && want.spares == NULL)
            want.spares = rule;
        if (rule->relief > 0 && (want.rule == NULL || rule->relief > want.rule->relief))
            want.rule = rule;
    }
    want.no_press = want.spares != NULL;
    want.by_rule = want.rule != NULL;
    want.relief = want.by_rule ? fmin(want.rule->relief, frame->relief_most) : 0;
    return want;
}

/* Rows that the frame's ceiling rules out are no places to stand. */
static size_t places(const struct fitting *fit, struct axle_row *rows)
{
    size_t count = fit->count < AXLE_STEPS_MOST ? fit->count : AXLE_STEPS_MOST;
    for (size_t i = 0; i < count; i++)
        rows[i] = (struct axle_row){.axle_mm = fit->rows[i].axle_mm,
                                    .stands = !fit->rows[i].refused && !fit->rows[i].over_relief,
                                    .out = fit->rows[i].out};
    return count;
}

/* The relief at which the bar is neutral: of the row nearest to the neutral axle. */
double fit_neutral_relief(const struct fitting *fit)
{
    struct balance_in at = fit->in;
    struct balance_out out;
    at.axle_mm = fit->in.axle_mm;
    for (size_t i = 0; i < fit->count; i++)
        if (!fit->rows[i].refused) {
            at.axle_mm = fit->rows[i].out.neutral_axle_mm;
            return fit_solve(fit->frame, &at, &out, NULL) ? out.relief : fit->rows[i].out.relief;
        }
    return 0;
}

static const char *why_relief(const struct fitting *fit, struct arena *a)
{
    const struct fit_want *w = &fit->want;
    if (fit->frame->model == FRAME_FRONT)
        return "the first place that keeps every limit";
    if (!w->by_rule)
        return w->no_press
                   ? arena_printf(a, "neutral or lifting: %s", w->spares->reason)
                   : "nearest to neutral: nothing on record asks for relief of the fore feet";
    return arena_printf(a, "%s: %.0f %% wanted", w->rule->reason, 100 * w->relief);
}

size_t fit_propose(const struct template_set *set, const struct fitting *fit, struct arena *a,
                   const char **why)
{
    struct axle_row rows[AXLE_STEPS_MOST] = {0};
    size_t count = places(fit, rows), chosen = 0;
    struct fault f = {0};
    double hair = 1e-6; /* on the limit is not within it */
    struct axle_want want = {.relief = fit->want.relief,
                             .relief_within = INFINITY,
                             .uphill_deg = fit->ramp_deg + hair,
                             .tip_margin_deg = set->bench.tip_margin_deg,
                             .grip_margin_deg = set->bench.grip_margin_deg,
                             .may_press = !fit->want.no_press,
                             .may_lift = true};
    *why = why_relief(fit, a);
    if (fit->frame->model == FRAME_FRONT)
        want.may_press = true; /* the chest lies in it: that is what it is for */
    if (axle_target(rows, count, &want, &chosen, &f))
        return chosen;
    want.tip_margin_deg = want.grip_margin_deg = 0;
    if (axle_target(rows, count, &want, &chosen, &f)) {
        *why = arena_printf(a, "%s; close to the limit of the home's slope", *why);
        return chosen;
    }
    *why = arena_str(a, f.text);
    return fit->count;
}
