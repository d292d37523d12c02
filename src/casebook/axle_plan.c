#include "casebook/axle_plan.h"
#include "base/arena.h"
#include "casebook/ids.h"
#include "casebook/review.h"
#include "casebook/trends.h"
#include <math.h>
#include <string.h>

static bool said_yes(const struct past *p, const char *item)
{
    const char *value = past_value(p, item);
    return value != NULL && strcmp(value, "yes") == 0;
}

/* The frame in use, when its axle has steps and was put somewhere. */
static const struct frame *frame_in_use(const struct past *p)
{
    const struct template_set *set = p->chart->cb->set;
    const char *kept = past_value(p, ID_FIT_FRAME);
    if (kept == NULL || past_value(p, ID_FIT_AXLE) == NULL ||
        (!said_yes(p, ID_FIT_TRIED) && !said_yes(p, ID_HANDED_OVER)))
        return NULL;
    for (size_t i = 0; i < set->frame_count; i++)
        if (strcmp(set->frames[i].id, kept) == 0)
            return set->frames[i].axle_steps > 1 ? &set->frames[i] : NULL;
    return NULL;
}

static bool has_opened(const struct past *p)
{
    const struct trend_view *trends;
    const struct course_view *courses;
    bool opened = false;
    size_t n = trends_look(p, &trends);
    for (size_t i = 0; i < n; i++)
        opened = opened || (trends[i].of->axle && *trends[i].plan != '\0');
    n = courses_look(p, &courses);
    for (size_t i = 0; i < n; i++)
        opened = opened || (courses[i].course->axle && courses[i].open);
    return opened;
}

/* What was proposed with the dog as it was when the place was kept; `count` when that is not known.
 */
static size_t proposed_then(const struct past *p, const struct frame *frame)
{
    struct chart then;
    struct fitting fit;
    const struct chart *kept = past_visit(p, ID_FIT_AXLE);
    if (kept == NULL || !chart_load(p->chart->cb, p->chart->arena, kept->visit.entity, &then, NULL))
        return (size_t)-1;
    fitting_look_with(&then, frame, &fit);
    return fit.count > 0 ? fit.proposed : (size_t)-1;
}

static const char *limit_passed(const struct fitting *fit, const struct fit_row *row,
                                struct arena *a)
{
    return row->refused       ? row->why
           : row->over_relief ? arena_printf(a,
                                             "it takes more off the front feet than the %.0f %% "
                                             "that the frame may",
                                             100 * fit->frame->relief_most)
           : row->grip_short  ? arena_printf(a,
                                             "the front feet grip up to %.0f deg and the ramp of "
                                              "the home has %.0f",
                                             row->out.traction_limit_deg, fit->ramp_deg)
           : row->tip_short
               ? arena_printf(a, "it tips at %.0f deg and the ramp of the home has %.0f",
                              row->out.uphill_limit_deg, fit->ramp_deg)
           : fit->want.no_press && row->out.bar_load_n > 0 ? "the bar would press on the shoulders"
                                                           : "";
}

/* ---- words ----------------------------------------------------------------------------------- */

static void say_step(struct axle_plan *out, struct arena *a)
{
    const struct fitting *fit = &out->fit;
    double from = fit->rows[out->now].axle_mm, to = fit->rows[out->next].axle_mm;
    out->step = arena_printf(a,
                             "from step %zu of %zu (%.0f mm) to step %zu (%.0f mm), %.0f mm "
                             "%s; a veterinarian decides",
                             out->now + 1, fit->count, from, out->next + 1, to, fabs(to - from),
                             to < from ? "forward" : "back");
}

static void say_effect(struct axle_plan *out, const struct template_set *set, struct arena *a)
{
    const struct balance_out *from = &out->fit.rows[out->now].out,
                             *to = &out->fit.rows[out->next].out;
    struct balance_in in = out->fit.in, within = fit_within(set, &out->fit.dog, &out->fit.setting);
    struct balance_out at, spread;
    in.axle_mm = out->fit.rows[out->next].axle_mm;
    out->relief_within = balance_spread(&in, &within, &at, &spread, NULL) ? spread.relief : NAN;
    const char *sure =
        isfinite(out->relief_within) ? arena_printf(a, " +- %.0f", 100 * out->relief_within) : "";
    out->leads_to = arena_printf(
        a,
        "relief %.0f -> %.0f %%%s; front feet %.1f -> %.1f kg; grips up %.0f -> %.0f deg; tips up "
        "%.0f -> %.0f deg%s",
        100 * from->relief, 100 * to->relief, sure, from->fore_load_n / STANDARD_GRAVITY,
        to->fore_load_n / STANDARD_GRAVITY, from->traction_limit_deg, to->traction_limit_deg,
        from->uphill_limit_deg, to->uphill_limit_deg,
        out->fit.has_ramp ? arena_printf(a, "; ramp of the home %.0f deg", out->fit.ramp_deg) : "");
}

/* ---- which step ------------------------------------------------------------------------------ */

/* One step further forward, or why not. */
static void step_forward(struct axle_plan *out, struct arena *a)
{
    const struct fitting *fit = &out->fit;
    out->next = fit->count;
    if (out->now == 0) {
        out->leads_to =
            "the axle stands on its foremost step: front wheels, or four wheels, are next";
        return;
    }
    const char *limit = limit_passed(fit, &fit->rows[out->now - 1], a);
    if (*limit == '\0')
        out->next = out->now - 1;
    else
        out->leads_to = arena_printf(a, "no step further forward, because %s", limit);
}

bool axle_plan_look(const struct past *p, struct axle_plan *out)
{
    struct arena *a = p->chart->arena;
    *out = (struct axle_plan){.step = "", .leads_to = "", .because = ""};
    const struct frame *frame = frame_in_use(p);
    if (frame == NULL || frame->model != FRAME_REAR || case_closed(p->chart))
        return false;
    fitting_look_with(p->chart, frame, &out->fit);
    const struct fitting *fit = &out->fit;
    out->now = fitting_stands(fit);
    if (fit->count < 2 || out->now == fit->count)
        return false;
    out->opened = has_opened(p);
    out->next = fit->proposed;
    bool moves = fit->proposed < fit->count && fit->proposed != out->now &&
                 fit->proposed != proposed_then(p, frame);
    if (out->opened && !(fit->proposed < out->now))
        step_forward(out, a);
    else if (!out->opened && !moves)
        return false;
    if (out->next < fit->count && fit->rows[out->now].refused)
        return false; /* nothing to compare with */
    out->because =
        out->opened && out->next != fit->proposed ? "the range has opened" : fit->why_proposed;
    if (out->next == fit->count) {
        out->step = arena_printf(a, "on step %zu of %zu (%.0f mm); a veterinarian decides",
                                 out->now + 1, fit->count, fit->rows[out->now].axle_mm);
        return true;
    }
    say_step(out, a);
    say_effect(out, p->chart->cb->set, a);
    return true;
}
