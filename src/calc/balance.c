#include "calc/balance.h"
#include "calc/spread.h"
#include <math.h>

#define IN(field, ...)  KEY(balance_in, field, __VA_ARGS__)
#define OUT(field, ...) KEY(balance_out, field, __VA_ARGS__)

const struct calc_key balance_keys_in[] = {
    IN(dog_mass_kg, .unit = "kg", .low = 0.1, .high = 500, .help = "weight of the dog"),
    IN(stance_length_mm, .unit = "mm", .low = 10, .high = 5000,
       .help = "fore-foot line to hind-foot line, standing square"),
    IN(fore_share, .unit = "-", .need = KEY_DEFAULT, .fallback = 0.604, .low = 0.01, .high = 0.99,
       .help = "share of the weight on the fore feet, standing normally"),
    IN(hind_support, .unit = "-", .need = KEY_DEFAULT, .fallback = 0, .low = 0, .high = 1,
       .help = "share of the normal hind load the hind feet still carry"),
    IN(dog_cg_height_mm, .unit = "mm", .low = 1, .high = 5000,
       .help = "height of the dog's centre of mass"),
    IN(axle_mm, .unit = "mm", .need = KEY_OPTIONAL, .low = 1, .high = 10000,
       .help = "axle behind the fore-foot line; this or relief"),
    IN(relief, .unit = "-", .need = KEY_OPTIONAL, .low = -2, .high = 1,
       .help = "wanted relief of the fore feet, 0.2 takes a fifth off; this or axle_mm"),
    IN(rest_mm, .unit = "mm", .low = 1, .high = 5000,
       .help = "pelvic rest behind the fore-foot line"),
    IN(bar_mm, .unit = "mm", .low = -2000, .high = 5000,
       .help = "shoulder bar behind the fore-foot line"),
    IN(frame_mass_kg, .unit = "kg", .low = 0, .high = 500, .help = "frame without its wheels"),
    IN(frame_cg_mm, .unit = "mm", .low = -2000, .high = 10000,
       .help = "the frame's centre of mass behind the fore-foot line"),
    IN(frame_cg_height_mm, .unit = "mm", .low = 0, .high = 5000,
       .help = "height of the frame's centre of mass"),
    IN(wheels_mass_kg, .unit = "kg", .low = 0, .high = 500, .help = "wheels and axle together"),
    IN(wheel_diameter_mm, .unit = "mm", .low = 1, .high = 5000, .help = "diameter of a wheel"),
    IN(slope_deg, .unit = "deg", .need = KEY_DEFAULT, .fallback = 0, .low = -89, .high = 89,
       .help = "slope of the ground, nose uphill +"),
    IN(friction, .unit = "-", .need = KEY_DEFAULT, .fallback = 0.5, .low = 0, .high = 1000,
       .help = "friction between fore feet and ground"),
};
const size_t balance_keys_in_count = KEY_COUNT(balance_keys_in);

const struct calc_key balance_keys_out[] = {
    OUT(axle_mm, .unit = "mm", .help = "axle behind the fore-foot line"),
    OUT(fore_load_n, .unit = "N", .help = "load on the fore feet, at the slope"),
    OUT(fore_share_now, .unit = "-", .help = "the same as a share of the dog's weight"),
    OUT(relief, .unit = "-", .help = "1 - (fore load now / standing normally on the level)"),
    OUT(rest_load_n, .unit = "N", .help = "load on the pelvic rest, level"),
    OUT(bar_load_n, .unit = "N",
        .help = "shoulder bar, level: + presses on the shoulders, - lifts"),
    OUT(wheel_load_n, .unit = "N", .help = "both wheels together, at the slope"),
    OUT(neutral_axle_mm, .unit = "mm", .help = "axle where the bar neither presses nor lifts"),
    OUT(cg_mm, .unit = "mm", .help = "centre of mass of dog and frame, behind the fore feet"),
    OUT(cg_height_mm, .unit = "mm", .help = "its height"),
    OUT(uphill_limit_deg, .unit = "deg", .help = "nose uphill, the fore feet lift"),
    OUT(downhill_limit_deg, .unit = "deg", .help = "nose downhill, the wheels lift"),
    OUT(traction_limit_deg, .unit = "deg", .help = "nose uphill, the fore feet slip"),
};
const size_t balance_keys_out_count = KEY_COUNT(balance_keys_out);

struct balance_in balance_defaults(void)
{
    struct balance_in in = {.from_relief = false};
    calc_defaults(balance_keys_in, balance_keys_in_count, &in);
    return in;
}

/* The three weights in N, and what the ground moments need of them. */
struct weights {
    double dog, frame, wheels, sum;
    double dog_x;    /* mm */
    double hind;     /* N on the hind feet, level */
    double moment;   /* N mm about the fore feet, level, without the wheels */
    double upright;  /* N mm: sum of weight times height */
    double cos, sin; /* of the slope */
};

static double degrees(double radians)
{
    return radians * (180 / M_PI);
}

static struct weights weigh(const struct balance_in *in)
{
    double slope = in->slope_deg * (M_PI / 180);
    struct weights w = {
        .dog = in->dog_mass_kg * STANDARD_GRAVITY,
        .frame = in->frame_mass_kg * STANDARD_GRAVITY,
        .wheels = in->wheels_mass_kg * STANDARD_GRAVITY,
        .dog_x = in->stance_length_mm * (1 - in->fore_share),
        .cos = cos(slope),
        .sin = sin(slope),
    };
    w.sum = w.dog + w.frame + w.wheels;
    w.hind = in->hind_support * (1 - in->fore_share) * w.dog;
    w.moment = w.dog * w.dog_x + w.frame * in->frame_cg_mm;
    w.upright = w.dog * in->dog_cg_height_mm + w.frame * in->frame_cg_height_mm +
                w.wheels * in->wheel_diameter_mm / 2;
    return w;
}

/* The axle at which the fore feet carry what the relief leaves them; the wheels' own weight drops
 * out but for its height on a slope. Infinite or negative when there is none. */
static double axle_for(const struct balance_in *in, const struct weights *w)
{
    double fore = (1 - in->relief) * in->fore_share * w->dog;
    double carried = w->cos * (w->dog + w->frame - w->hind) - fore;
    double turning = w->cos * (w->moment - w->hind * in->stance_length_mm) + w->sin * w->upright;
    return turning / carried;
}

/* Dog alone on the level: what lies on the wheels beside frame and wheels came through rest and
 * bar. */
static void share_out(const struct balance_in *in, const struct weights *w, double axle,
                      struct balance_out *out)
{
    double dog_moment = w->dog * w->dog_x - w->hind * in->stance_length_mm;
    double through = (dog_moment + w->frame * in->frame_cg_mm) / axle - w->frame;
    out->rest_load_n = (dog_moment - through * in->bar_mm) / (in->rest_mm - in->bar_mm);
    out->bar_load_n = out->rest_load_n - through;

    double turning = dog_moment + w->frame * in->frame_cg_mm;
    double lever = dog_moment + w->frame * in->rest_mm;
    /* Hind feet that carry everything in a frame of no weight leave nothing to balance. */
    out->neutral_axle_mm = lever > 1e-9 * w->dog ? in->rest_mm * turning / lever : axle;
}

static void solve_at(const struct balance_in *in, const struct weights *w, double axle,
                     struct balance_out *out)
{
    double hind = w->cos * w->hind;
    out->axle_mm = axle;
    out->cg_mm = (w->moment + w->wheels * axle) / w->sum;
    out->cg_height_mm = w->upright / w->sum;
    out->wheel_load_n =
        (w->cos * w->sum * out->cg_mm + w->sin * w->upright - hind * in->stance_length_mm) / axle;
    out->fore_load_n = w->cos * w->sum - hind - out->wheel_load_n;
    out->fore_share_now = out->fore_load_n / w->dog;
    out->relief = 1 - out->fore_load_n / (in->fore_share * w->dog);
    share_out(in, w, axle, out);

    double behind = axle - out->cg_mm;
    double held = w->hind * (in->stance_length_mm - axle) / w->sum;
    out->uphill_limit_deg = degrees(atan2(behind + held, out->cg_height_mm));
    out->downhill_limit_deg = degrees(atan2(out->cg_mm, out->cg_height_mm));
    /* The hind feet are not counted on for grip: where they alone keep the dog level it is 0. */
    out->traction_limit_deg =
        degrees(atan(in->friction * fmax(behind, 0) / (axle + in->friction * out->cg_height_mm)));
}

static bool stands(const struct balance_in *in, const struct weights *w, struct balance_out *out,
                   struct fault *f)
{
    double rounding = 1e-9 * w->sum;
    if (out->fore_load_n < -rounding && in->slope_deg > 0 && out->uphill_limit_deg > 0)
        return fail(f, FAULT_REFUSED,
                    "slope_deg %g tips the frame backwards: with the axle at %.0f mm it stands up "
                    "to %.1f deg",
                    in->slope_deg, out->axle_mm, out->uphill_limit_deg);
    if (out->fore_load_n < -rounding)
        return fail(f, FAULT_REFUSED,
                    "axle_mm %.0f tips the frame backwards: the centre of mass lies %.0f mm behind "
                    "the fore feet, the axle must lie further back",
                    out->axle_mm, out->cg_mm);
    if (out->wheel_load_n < -rounding)
        return fail(f, FAULT_REFUSED,
                    "slope_deg %g lifts the wheels off the ground: dog and frame pitch forwards",
                    in->slope_deg);
    out->fore_load_n = fmax(out->fore_load_n, 0);
    out->wheel_load_n = fmax(out->wheel_load_n, 0);
    return true;
}

static bool refuse_relief(const struct balance_in *in, struct fault *f)
{
    return fail(f, FAULT_REFUSED,
                "relief %g is out of reach: no axle position gives it with this dog and frame",
                in->relief);
}

static bool balance_check(const struct balance_in *in, struct fault *f)
{
    if (!calc_check(balance_keys_in, balance_keys_in_count, in, f))
        return false;
    if (in->from_relief ? isnan(in->relief) : isnan(in->axle_mm))
        return fail(f, FAULT_MISSING, "axle_mm or relief is missing");
    if (fabs(in->rest_mm - in->bar_mm) < in->stance_length_mm / 20)
        return fail(f, FAULT_INPUT,
                    "rest_mm %g and bar_mm %g lie too close to share a load: at least %g mm apart",
                    in->rest_mm, in->bar_mm, in->stance_length_mm / 20);
    return true;
}

bool balance_solve(const struct balance_in *in, struct balance_out *out, struct fault *f)
{
    if (!balance_check(in, f))
        return false;
    struct weights w = weigh(in);
    double axle = in->from_relief ? axle_for(in, &w) : in->axle_mm;
    if (in->from_relief && !(axle >= 1 && axle <= 10000))
        return refuse_relief(in, f);
    solve_at(in, &w, axle, out);
    return stands(in, &w, out, f);
}

/* Without checks: neighbours of a sound problem, for derivatives. */
static void solve_near(const struct balance_in *in, struct balance_out *out)
{
    struct weights w = weigh(in);
    solve_at(in, &w, in->from_relief ? axle_for(in, &w) : in->axle_mm, out);
}

_Static_assert(KEY_COUNT(balance_keys_in) <= SPREAD_MOST, "room for every input");

/* What calc/spread.h asks: the keys' values in, the results' values out. */
static void model(const void *of, const double *x, double *y)
{
    struct balance_in near = *(const struct balance_in *)of;
    struct balance_out out;
    for (size_t i = 0; i < balance_keys_in_count; i++)
        calc_put(&balance_keys_in[i], &near, x[i]);
    solve_near(&near, &out);
    for (size_t k = 0; k < balance_keys_out_count; k++)
        y[k] = calc_get(&balance_keys_out[k], &out);
}

bool balance_spread(const struct balance_in *in, const struct balance_in *u,
                    struct balance_out *out, struct balance_out *spread, struct fault *f)
{
    if (!balance_solve(in, out, f))
        return false;
    struct spread_input inputs[KEY_COUNT(balance_keys_in)];
    double of_results[KEY_COUNT(balance_keys_out)];
    if (!spread_inputs(balance_keys_in, balance_keys_in_count, in, u, inputs, f))
        return false;
    spread_solve(model, in, inputs, balance_keys_in_count, NULL, of_results,
                 balance_keys_out_count);
    for (size_t k = 0; k < balance_keys_out_count; k++) {
        const struct calc_key *o = &balance_keys_out[k];
        bool rounding = of_results[k] < 1e-8 * fabs(calc_get(o, out)); /* a relief asked for */
        calc_put(o, spread, rounding ? 0 : of_results[k]);
    }
    return true;
}
