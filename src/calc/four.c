#include "calc/four.h"
#include "calc/balance.h"
#include <math.h>

const char *four_limit_words(enum four_limit l)
{
    static const char *const words[] = {
        [FOUR_FORE_FEET] = "the fore feet carry nothing",
        [FOUR_REST] = "the dog lifts off the pelvic rest",
        [FOUR_SLING] = "the sling hangs loose",
        [FOUR_FRONT_WHEELS] = "the front wheels lift",
        [FOUR_REAR_WHEELS] = "the rear wheels lift",
    };
    return words[l];
}

static bool check_four(const struct four_in *in, struct fault *f)
{
    const struct {
        const char *name;
        double value, low, high;
    } rows[] = {
        {"dog_mass_kg", in->dog_mass_kg, 0.1, 500},
        {"stance_length_mm", in->stance_length_mm, 10, 5000},
        {"fore_share", in->fore_share, 0.01, 0.99},
        {"hind_support", in->hind_support, 0, 1},
        {"rest_mm", in->rest_mm, 1, 5000},
        {"sling_mm", in->sling_mm, -2000, 5000},
        {"frame_mass_kg", in->frame_mass_kg, 0, 500},
        {"frame_cg_mm", in->frame_cg_mm, -2000, 10000},
        {"front_axle_mm", in->front_axle_mm, -2000, 10000},
        {"front_wheels_mass_kg", in->front_wheels_mass_kg, 0, 500},
        {"rear_axle_mm", in->rear_axle_mm, -2000, 10000},
        {"rear_wheels_mass_kg", in->rear_wheels_mass_kg, 0, 500},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (!(rows[i].value >= rows[i].low && rows[i].value <= rows[i].high))
            return fail(f, FAULT_INPUT, "%s must be from %g to %g, not %g", rows[i].name,
                        rows[i].low, rows[i].high, rows[i].value);
    double apart = in->stance_length_mm / 20;
    if (in->rest_mm - in->sling_mm < apart)
        return fail(f, FAULT_INPUT, "rest_mm must lie at least %g mm behind sling_mm", apart);
    if (in->rear_axle_mm - in->front_axle_mm < apart)
        return fail(f, FAULT_INPUT, "rear_axle_mm must lie at least %g mm behind front_axle_mm",
                    apart);
    return true;
}

/* All forces follow from the load on the fore feet; every one is a straight line in it. */
static struct four_out forces(const struct four_in *in, double fore)
{
    double g = STANDARD_GRAVITY, dog = in->dog_mass_kg * g, frame = in->frame_mass_kg * g;
    double front = in->front_wheels_mass_kg * g, rear = in->rear_wheels_mass_kg * g;
    double hind = in->hind_support * (1 - in->fore_share) * dog;
    double held = dog - hind - fore;
    double moment = (dog * (1 - in->fore_share) - hind) * in->stance_length_mm;
    struct four_out out = {.fore_load_n = fore};
    out.rest_load_n = (moment - held * in->sling_mm) / (in->rest_mm - in->sling_mm);
    out.sling_load_n = held - out.rest_load_n;
    double ground = held + frame + front + rear;
    double turning =
        moment + frame * in->frame_cg_mm + front * in->front_axle_mm + rear * in->rear_axle_mm;
    out.rear_wheels_n =
        (turning - ground * in->front_axle_mm) / (in->rear_axle_mm - in->front_axle_mm);
    out.front_wheels_n = ground - out.rear_wheels_n;
    return out;
}

bool four_range(const struct four_in *in, struct four_range *out, struct fault *f)
{
    if (!check_four(in, f))
        return false;
    struct four_out a = forces(in, 0), b = forces(in, 1);
    const struct {
        double at0, at1;
        enum four_limit limit;
        bool free;
    } rows[] = {
        {0, 1, FOUR_FORE_FEET, false},
        {a.rest_load_n, b.rest_load_n, FOUR_REST, false},
        {a.sling_load_n, b.sling_load_n, FOUR_SLING, in->may_press},
        {a.front_wheels_n, b.front_wheels_n, FOUR_FRONT_WHEELS, false},
        {a.rear_wheels_n, b.rear_wheels_n, FOUR_REAR_WHEELS, false},
    };
    double weight = in->dog_mass_kg * STANDARD_GRAVITY;
    *out = (struct four_range){-INFINITY, INFINITY, FOUR_FORE_FEET, FOUR_FORE_FEET};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double step = rows[i].at1 - rows[i].at0, zero = -rows[i].at0 / step;
        if (rows[i].free)
            continue;
        if (fabs(step) < 1e-12) { /* it does not depend on the choice */
            if (rows[i].at0 < -1e-9 * weight)
                return fail(f, FAULT_REFUSED, "no setting works: %s whatever the fore feet carry",
                            four_limit_words(rows[i].limit));
        } else if (step > 0 && zero > out->fore_low_n) {
            out->fore_low_n = zero;
            out->low = rows[i].limit;
        } else if (step < 0 && zero < out->fore_high_n) {
            out->fore_high_n = zero;
            out->high = rows[i].limit;
        }
    }
    if (!(out->fore_low_n <= out->fore_high_n) || isinf(out->fore_high_n))
        return fail(f, FAULT_REFUSED, "no setting works: %s before %s ends",
                    four_limit_words(out->high), four_limit_words(out->low));
    return true;
}

bool four_solve(const struct four_in *in, double fore_load_n, struct four_out *out, struct fault *f)
{
    struct four_range range;
    if (!four_range(in, &range, f))
        return false;
    double near = 1e-9 * in->dog_mass_kg * STANDARD_GRAVITY;
    if (!(fore_load_n >= range.fore_low_n - near && fore_load_n <= range.fore_high_n + near))
        return fail(f, FAULT_REFUSED,
                    "the fore feet can carry %.1f to %.1f N in this frame, not %.1f: %s",
                    range.fore_low_n, range.fore_high_n, fore_load_n,
                    four_limit_words(fore_load_n > range.fore_high_n ? range.high : range.low));
    *out = forces(in, fore_load_n);
    return true;
}

bool front_solve(const struct front_in *in, struct front_out *out, struct fault *f)
{
    double length = in->stance_length_mm;
    struct balance_in mirror = {
        .dog_mass_kg = in->dog_mass_kg,
        .stance_length_mm = length,
        .fore_share = 1 - in->fore_share,
        .hind_support = in->fore_support,
        .dog_cg_height_mm = in->dog_cg_height_mm,
        .axle_mm = length - in->axle_mm,
        .relief = NAN,
        .rest_mm = length - in->chest_mm,
        .bar_mm = length - in->hip_mm,
        .frame_mass_kg = in->frame_mass_kg,
        .frame_cg_mm = length - in->frame_cg_mm,
        .frame_cg_height_mm = in->frame_cg_height_mm,
        .wheels_mass_kg = in->wheels_mass_kg,
        .wheel_diameter_mm = in->wheel_diameter_mm,
        .slope_deg = -in->slope_deg,
        .friction = in->friction,
    };
    struct balance_out seen;
    if (!balance_solve(&mirror, &seen, f))
        return fail_within(f, "seen from the hind feet: ");
    /* Uphill the hind feet gain load, so they slip later than downhill, or never. */
    double reach = seen.axle_mm - in->friction * seen.cg_height_mm;
    double ahead = fmax(seen.axle_mm - seen.cg_mm, 0);
    *out = (struct front_out){
        .hind_load_n = seen.fore_load_n,
        .hind_share_now = seen.fore_share_now,
        .hind_relief = seen.relief,
        .chest_load_n = seen.rest_load_n,
        .hip_load_n = seen.bar_load_n,
        .wheel_load_n = seen.wheel_load_n,
        .neutral_axle_mm = length - seen.neutral_axle_mm,
        .cg_mm = length - seen.cg_mm,
        .cg_height_mm = seen.cg_height_mm,
        .uphill_limit_deg = seen.downhill_limit_deg,
        .downhill_limit_deg = seen.uphill_limit_deg,
        .grip_uphill_deg = reach > 0 ? atan(in->friction * ahead / reach) * (180 / M_PI) : 90,
        .grip_downhill_deg = seen.traction_limit_deg,
    };
    return true;
}
