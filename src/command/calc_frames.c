/* Frames and dimensions as the shell reaches them, where there is more to it than solve and show.
 */
#include "base/arena.h"
#include "calc/axle.h"
#include "command/calc.h"
#include <math.h>

#define IN(type, field, of, ...) KEY(type, field, .unit = (of), __VA_ARGS__)
#define SPRING(part, words)                                                                        \
    {                                                                                              \
        .name = #part "_stiffness", .at = offsetof(struct four_call, stiffness.part),              \
        .unit = "N/mm", .need = KEY_OPTIONAL, .low = 1e-6, .high = 1e9, .help = (words)            \
    }

static bool read_yes(const char *key, const char *text, bool *yes, struct fault *f)
{
    static const char *const words[] = {"no", "yes"};
    size_t chosen;
    if (!calc_read_choice(key, text, words, KEY_COUNT(words), &chosen, f))
        return false;
    *yes = chosen == 1;
    return true;
}

/* ---- the stepped axle ------------------------------------------------------------------------ */

const struct calc_key axle_keys_in[] = {
    IN(axle_in, last_mm, "mm", .low = 1, .high = 10000, .help = "rearmost position"),
    IN(axle_in, steps, "-", .low = 1, .high = AXLE_STEPS_MOST,
       .help = "positions, both ends counted"),
    IN(axle_in, within, "-", .need = KEY_OPTIONAL, .low = 0, .high = 3,
       .help = "how far the relief may be from the one wanted; without it the nearest is taken"),
    IN(axle_in, uphill_deg, "deg", .need = KEY_DEFAULT, .fallback = 0, .low = 0, .high = 89,
       .help = "steepest slope of the home"),
    IN(axle_in, tip_margin_deg, "deg", .need = KEY_DEFAULT, .fallback = 0, .low = 0, .high = 89,
       .help = "to spare before it tips there"),
    IN(axle_in, grip_margin_deg, "deg", .need = KEY_DEFAULT, .fallback = 0, .low = 0, .high = 89,
       .help = "to spare before the fore feet slip there"),
};
const size_t axle_keys_in_count = KEY_COUNT(axle_keys_in);

static void answer_row(struct calc_call *c, size_t number, const struct axle_row *row)
{
    const struct {
        const char *name, *unit;
        double value;
    } figures[] = {
        {"fore_load_n", "N", row->out.fore_load_n},
        {"relief", "-", row->out.relief},
        {"bar_load_n", "N", row->out.bar_load_n},
        {"uphill_limit_deg", "deg", row->out.uphill_limit_deg},
        {"traction_limit_deg", "deg", row->out.traction_limit_deg},
    };
    const char *position = arena_printf(c->arena, "position_%zu", number);
    answer_number(c, arena_printf(c->arena, "%s.axle_mm", position), row->axle_mm, "mm");
    answer_word(c, arena_printf(c->arena, "%s.stands", position), row->stands ? "yes" : "no");
    for (size_t i = 0; row->stands && i < KEY_COUNT(figures); i++)
        answer_number(c, arena_printf(c->arena, "%s.%s", position, figures[i].name),
                      figures[i].value, figures[i].unit);
}

bool run_axle(struct calc_call *c, struct fault *f)
{
    const struct axle_in *in = &c->in.axle;
    struct axle_row rows[AXLE_STEPS_MOST];
    struct axle_want want = {
        .relief = in->balance.relief,
        .relief_within = isnan(in->within) ? INFINITY : in->within,
        .uphill_deg = in->uphill_deg,
        .tip_margin_deg = in->tip_margin_deg,
        .grip_margin_deg = in->grip_margin_deg,
    };
    size_t chosen = 0;
    if (!read_yes("press", c->words[0], &want.may_press, f) ||
        !read_yes("lift", c->words[1], &want.may_lift, f) ||
        !calc_check(axle_keys_in, axle_keys_in_count, in, f))
        return false;
    if (in->steps != floor(in->steps))
        return fail(f, FAULT_INPUT, "steps must be a whole number, not %g", in->steps);
    if (isnan(in->balance.axle_mm))
        return fail(f, FAULT_MISSING, "axle_mm is missing (the foremost position)");
    size_t count = (size_t)in->steps;
    if (!axle_table(&in->balance, in->balance.axle_mm, in->last_mm, count, rows, f) ||
        (!isnan(want.relief) && !axle_target(rows, count, &want, &chosen, f)))
        return false;
    for (size_t i = 0; i < count; i++)
        answer_row(c, i + 1, &rows[i]);
    if (!isnan(want.relief))
        answer_number(c, "position", (double)chosen + 1, "-");
    return true;
}

/* ---- four wheels ----------------------------------------------------------------------------- */

const struct calc_key four_call_keys_in[] = {
    IN(four_call, fore_load_n, "N", .need = KEY_OPTIONAL, .low = 0, .high = 5000,
       .help = "load on the fore feet, chosen or read from a scale under them"),
    IN(four_call, sling_share, "-", .need = KEY_OPTIONAL, .low = -1, .high = 1,
       .help = "chosen instead: share of the dog's weight that the sling carries"),
    SPRING(fore_feet, "chosen instead: how stiff each part is, the fore feet"),
    SPRING(rest, "the pelvic rest"),
    SPRING(sling, "the chest sling"),
    SPRING(front_wheels, "the front wheels"),
    SPRING(rear_wheels, "the rear wheels"),
};
const size_t four_call_keys_in_count = KEY_COUNT(four_call_keys_in);

/* The load on the fore feet at which the sling carries a share; every force is a straight line in
 * that load. */
static bool fore_for_sling(const struct four_in *in, const struct four_range *range, double share,
                           double *fore, struct fault *f)
{
    struct four_out low, high;
    if (!four_solve(in, range->fore_low_n, &low, f) ||
        !four_solve(in, range->fore_high_n, &high, f))
        return false;
    double wanted = share * in->dog_mass_kg * STANDARD_GRAVITY;
    double per_newton =
        (range->fore_high_n - range->fore_low_n) / (high.sling_load_n - low.sling_load_n);
    if (!isfinite(per_newton))
        return fail(f, FAULT_REFUSED, "sling_share %g cannot be chosen: nothing is left open",
                    share);
    *fore = range->fore_low_n + (wanted - low.sling_load_n) * per_newton;
    return true;
}

bool run_four(struct calc_call *c, struct fault *f)
{
    struct four_call *in = &c->in.four;
    const struct four_stiffness *k = &in->stiffness;
    struct four_range range;
    struct four_out out;
    double stiff = k->fore_feet + k->rest + k->sling + k->front_wheels + k->rear_wheels;
    int springs = 0;
    for (size_t i = 2; i < four_call_keys_in_count; i++)
        springs += !isnan(calc_get(&four_call_keys_in[i], in));
    bool load = !isnan(in->fore_load_n), share = !isnan(in->sling_share);
    if (!read_yes("press", c->words[0], &in->frame.may_press, f) ||
        !calc_check(four_call_keys_in, four_call_keys_in_count, in, f))
        return false;
    if (load + share + (springs > 0) > 1)
        return fail(f, FAULT_INPUT,
                    "fore_load_n, sling_share and stiffnesses are three ways to choose: give one");
    if (springs > 0 && isnan(stiff))
        return fail(f, FAULT_MISSING, "a stiffness is missing: all five are needed");
    if (!four_range(&in->frame, &range, f))
        return false;
    if (share && !fore_for_sling(&in->frame, &range, in->sling_share, &in->fore_load_n, f))
        return false;
    if ((load || share) && !four_solve(&in->frame, in->fore_load_n, &out, f))
        return false;
    if (springs > 0 && !four_stiff(&in->frame, k, &out, f))
        return false;
    answer_number(c, "fore_low_n", range.fore_low_n, "N");
    answer_number(c, "fore_high_n", range.fore_high_n, "N");
    answer_word(c, "fore_low_because", four_limit_words(range.low));
    answer_word(c, "fore_high_because", four_limit_words(range.high));
    if (load || share || springs > 0)
        answer_keys(c, four_keys_out, four_keys_out_count, &out, NULL);
    return true;
}

/* ---- dimensions, weeks ----------------------------------------------------------------------- */

const struct calc_key dimension_keys_in[] = {
    IN(dimension_in, ease_mm, "mm", .need = KEY_DEFAULT, .fallback = 0, .low = -1000, .high = 1000,
       .help = "room added on purpose"),
    IN(dimension_in, step_mm, "mm", .need = KEY_DEFAULT, .fallback = 1, .low = 0, .high = 1000,
       .help = "built in whole steps of this; 0: as it comes"),
};
const size_t dimension_keys_in_count = KEY_COUNT(dimension_keys_in);

const struct calc_key dimension_keys_out[] = {
    IN(dimension_out, build_mm, "mm", .help = "cut to this"),
    IN(dimension_out, snug_mm, "mm", .help = "without ease and without erring to a side"),
    IN(dimension_out, tolerance_mm, "mm", .help = "from those of the measures"),
    IN(dimension_out, low_mm, "mm", .help = "least the dog may turn out to need, with ease"),
    IN(dimension_out, high_mm, "mm", .help = "most the dog may turn out to need, with ease"),
};
const size_t dimension_keys_out_count = KEY_COUNT(dimension_keys_out);

bool run_dimension(struct calc_call *c, struct fault *f)
{
    static const char *const sides[] = {[DIMENSION_EITHER] = "either",
                                        [DIMENSION_ERR_LONG] = "long",
                                        [DIMENSION_ERR_SHORT] = "short"};
    const struct dimension_in *in = &c->in.dimension;
    struct repeat_subject *triples;
    struct dimension_out out;
    size_t count, side;
    if (!calc_read_subjects(c->arena, "measures", c->words[0], &triples, &count, f) ||
        !calc_read_choice("errs", c->words[1], sides, KEY_COUNT(sides), &side, f) ||
        !calc_check(dimension_keys_in, dimension_keys_in_count, in, f))
        return false;
    struct dimension_term *terms = arena_array(c->arena, count, sizeof *terms);
    for (size_t i = 0; i < count; i++) {
        const double *t = triples[i].readings;
        if (triples[i].count != 3)
            return fail(f, FAULT_INPUT,
                        "measures: number %zu is not a factor, millimetres and a tolerance", i + 1);
        terms[i] = (struct dimension_term){arena_printf(c->arena, "measures: number %zu", i + 1),
                                           t[0], t[1], t[2]};
    }
    if (!dimension_solve(terms, count, in->ease_mm, in->step_mm, (enum dimension_side)side, &out,
                         f))
        return false;
    answer_keys(c, dimension_keys_out, dimension_keys_out_count, &out, NULL);
    return true;
}

const struct calc_key weeks_keys_in[] = {
    IN(weeks_in, mass_kg, "kg", .low = 0.1, .high = 500, .help = "weight of the dog"),
    IN(weeks_in, target_kg, "kg", .low = 0.1, .high = 500, .help = "weight to reach"),
    IN(weeks_in, share_a_week, "-", .need = KEY_DEFAULT, .fallback = 0.01, .low = 0, .high = 1,
       .help = "loss a week, as a share of the weight at its start"),
};
const size_t weeks_keys_in_count = KEY_COUNT(weeks_keys_in);

struct weeks_out {
    double weeks;
};
const struct calc_key weeks_keys_out[] = {
    IN(weeks_out, weeks, "weeks", .help = "0 when already there"),
};
const size_t weeks_keys_out_count = KEY_COUNT(weeks_keys_out);

bool run_weeks(struct calc_call *c, struct fault *f)
{
    const struct weeks_in *in = &c->in.weeks;
    struct weeks_out out;
    if (!calc_check(weeks_keys_in, weeks_keys_in_count, in, f) ||
        !energy_weeks(in->mass_kg, in->target_kg, in->share_a_week, &out.weeks, f))
        return false;
    answer_keys(c, weeks_keys_out, weeks_keys_out_count, &out, NULL);
    return true;
}
