#include "calc/four.h"
#include "calc/balance.h"
#include <math.h>

#define DOG(type)                                                                                  \
    KEY(type, dog_mass_kg, .unit = "kg", .low = 0.1, .high = 500, .help = "weight of the dog"),    \
        KEY(type, stance_length_mm, .unit = "mm", .low = 10, .high = 5000,                         \
            .help = "fore-foot line to hind-foot line, standing square"),                          \
        KEY(type, fore_share, .unit = "-", .need = KEY_DEFAULT, .fallback = 0.604, .low = 0.01,    \
            .high = 0.99, .help = "share of the weight on the fore feet, standing normally")
#define PLACE(type, field, lowest, highest, words)                                                 \
    KEY(type, field, .unit = "mm", .low = (lowest), .high = (highest), .help = (words))
#define MASS(type, field, words)                                                                   \
    KEY(type, field, .unit = "kg", .low = 0, .high = 500, .help = (words))
#define OUT(type, field, of, words) KEY(type, field, .unit = (of), .help = (words))

const struct calc_key four_keys_in[] = {
    DOG(four_in),
    KEY(four_in, hind_support, .unit = "-", .need = KEY_DEFAULT, .fallback = 0, .low = 0, .high = 1,
        .help = "share of the normal hind load the hind feet still carry"),
    PLACE(four_in, rest_mm, 1, 5000, "pelvic rest behind the fore-foot line"),
    PLACE(four_in, sling_mm, -2000, 5000, "chest sling behind the fore-foot line"),
    MASS(four_in, frame_mass_kg, "frame without its wheels"),
    PLACE(four_in, frame_cg_mm, -2000, 10000,
          "the frame's centre of mass behind the fore-foot line"),
    PLACE(four_in, front_axle_mm, -2000, 10000, "front axle behind the fore-foot line"),
    MASS(four_in, front_wheels_mass_kg, "front wheels and axle"),
    PLACE(four_in, rear_axle_mm, -2000, 10000, "rear axle behind the fore-foot line"),
    MASS(four_in, rear_wheels_mass_kg, "rear wheels and axle"),
};
const size_t four_keys_in_count = KEY_COUNT(four_keys_in);

const struct calc_key four_keys_out[] = {
    OUT(four_out, fore_load_n, "N", "load on the fore feet"),
    OUT(four_out, rest_load_n, "N", "load on the pelvic rest"),
    OUT(four_out, sling_load_n, "N", "chest sling: + carries the chest, - presses"),
    OUT(four_out, front_wheels_n, "N", "both front wheels together"),
    OUT(four_out, rear_wheels_n, "N", "both rear wheels together"),
};
const size_t four_keys_out_count = KEY_COUNT(four_keys_out);

const struct calc_key front_keys_in[] = {
    DOG(front_in),
    KEY(front_in, fore_support, .unit = "-", .need = KEY_DEFAULT, .fallback = 0, .low = 0,
        .high = 1, .help = "share of the normal fore load the fore feet still carry"),
    KEY(front_in, dog_cg_height_mm, .unit = "mm", .low = 1, .high = 5000,
        .help = "height of the dog's centre of mass"),
    PLACE(front_in, axle_mm, -5000, 5000, "axle behind the fore-foot line"),
    PLACE(front_in, chest_mm, -5000, 5000, "the chest in the frame, behind the fore-foot line"),
    PLACE(front_in, hip_mm, -5000, 5000, "the hold at the hips, behind the fore-foot line"),
    MASS(front_in, frame_mass_kg, "frame without its wheels"),
    PLACE(front_in, frame_cg_mm, -5000, 5000,
          "the frame's centre of mass behind the fore-foot line"),
    KEY(front_in, frame_cg_height_mm, .unit = "mm", .low = 0, .high = 5000,
        .help = "height of the frame's centre of mass"),
    MASS(front_in, wheels_mass_kg, "wheels and axle together"),
    KEY(front_in, wheel_diameter_mm, .unit = "mm", .low = 1, .high = 5000,
        .help = "diameter of a wheel"),
    KEY(front_in, slope_deg, .unit = "deg", .need = KEY_DEFAULT, .fallback = 0, .low = -89,
        .high = 89, .help = "slope of the ground, nose uphill +"),
    KEY(front_in, friction, .unit = "-", .need = KEY_DEFAULT, .fallback = 0.5, .low = 0,
        .high = 1000, .help = "friction between hind feet and ground"),
};
const size_t front_keys_in_count = KEY_COUNT(front_keys_in);

const struct calc_key front_keys_out[] = {
    OUT(front_out, hind_load_n, "N", "load on the hind feet, at the slope"),
    OUT(front_out, hind_share_now, "-", "the same as a share of the dog's weight"),
    OUT(front_out, hind_relief, "-", "1 - (hind load now / standing normally on the level)"),
    OUT(front_out, chest_load_n, "N", "load on the chest, level"),
    OUT(front_out, hip_load_n, "N", "at the back, level: + presses on the rump, - lifts it"),
    OUT(front_out, wheel_load_n, "N", "both wheels together, at the slope"),
    OUT(front_out, neutral_axle_mm, "mm", "axle where nothing presses or lifts at the back"),
    OUT(front_out, cg_mm, "mm", "centre of mass of dog and frame, behind the fore feet"),
    OUT(front_out, cg_height_mm, "mm", "its height"),
    OUT(front_out, uphill_limit_deg, "deg", "nose uphill, the wheels lift"),
    OUT(front_out, downhill_limit_deg, "deg", "nose downhill, the hind feet lift"),
    OUT(front_out, grip_uphill_deg, "deg", "nose uphill, the hind feet slip; 90: never"),
    OUT(front_out, grip_downhill_deg, "deg", "nose downhill, the hind feet slip"),
};
const size_t front_keys_out_count = KEY_COUNT(front_keys_out);

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
    if (!calc_check(four_keys_in, four_keys_in_count, in, f))
        return false;
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
        double step = rows[i].at1 - rows[i].at0, zero = (0 - rows[i].at0) / step;
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

/* Every force is a + b t in the load t on the fore feet, so that the energy sum of force^2 / 2k is
 * a parabola: its least is at t = -sum(a b / k) / sum(b^2 / k), or at the nearer end of the range.
 */
bool four_stiff(const struct four_in *in, const struct four_stiffness *k, struct four_out *out,
                struct fault *f)
{
    struct four_range range;
    if (!four_range(in, &range, f))
        return false;
    struct four_out a = forces(in, 0), b = forces(in, 1);
    const double rows[][3] = {
        {a.fore_load_n, b.fore_load_n, k->fore_feet},
        {a.rest_load_n, b.rest_load_n, k->rest},
        {a.sling_load_n, b.sling_load_n, k->sling},
        {a.front_wheels_n, b.front_wheels_n, k->front_wheels},
        {a.rear_wheels_n, b.rear_wheels_n, k->rear_wheels},
    };
    double leaning = 0, bending = 0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double step = rows[i][1] - rows[i][0], stiffness = rows[i][2];
        if (!(stiffness >= 1e-6 && stiffness <= 1e9))
            return fail(f, FAULT_INPUT, "a stiffness must be from 1e-6 to 1e9, not %g", stiffness);
        leaning -= rows[i][0] * step / stiffness;
        bending += step * step / stiffness;
    }
    *out = forces(in, fmin(fmax(leaning / bending, range.fore_low_n), range.fore_high_n));
    return true;
}

bool front_solve(const struct front_in *in, struct front_out *out, struct fault *f)
{
    if (!calc_check(front_keys_in, front_keys_in_count, in, f))
        return false;
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
