#include "calc/slope.h"
#include "calc/balance.h"
#include <math.h>

#define KEYS(table) const size_t table##_count = KEY_COUNT(table)

/* ---- ramp ------------------------------------------------------------------------------------ */

const struct calc_key ramp_keys_in[] = {
    KEY(ramp_in, mass_kg, .unit = "kg", .low = 0, .high = 1000, .help = "dog and frame together"),
    KEY(ramp_in, slope_deg, .unit = "deg", .need = KEY_OPTIONAL, .low = -89, .high = 89,
        .help = "slope; this or rise_mm and run_mm"),
    KEY(ramp_in, rise_mm, .unit = "mm", .need = KEY_OPTIONAL, .low = -1e5, .high = 1e5,
        .help = "height gained"),
    KEY(ramp_in, run_mm, .unit = "mm", .need = KEY_OPTIONAL, .low = 1, .high = 1e6,
        .help = "length on the level, not along the ramp"),
    KEY(ramp_in, rolling, .unit = "-", .need = KEY_DEFAULT, .fallback = 0.02, .low = 0, .high = 1,
        .help = "rolling resistance as a share of the load"),
};
KEYS(ramp_keys_in);

const struct calc_key ramp_keys_out[] = {
    KEY(ramp_out, slope_deg, .unit = "deg", .help = "slope"),
    KEY(ramp_out, slope_percent, .unit = "%", .help = "rise in a hundred of run"),
    KEY(ramp_out, pull_n, .unit = "N", .help = "steady pull along the slope"),
};
KEYS(ramp_keys_out);

bool ramp_solve(const struct ramp_in *in, struct ramp_out *out, struct fault *f)
{
    if (!calc_check(ramp_keys_in, ramp_keys_in_count, in, f))
        return false;
    bool angle = !isnan(in->slope_deg), rise = !isnan(in->rise_mm), run = !isnan(in->run_mm);
    if (angle && (rise || run))
        return fail(f, FAULT_INPUT, "slope_deg and %s cannot both be given",
                    rise ? "rise_mm" : "run_mm");
    if (!angle && !(rise && run))
        return fail(f, FAULT_MISSING, "%s is missing",
                    rise  ? "run_mm"
                    : run ? "rise_mm"
                          : "slope_deg (or rise_mm and run_mm)");
    double slope = angle ? in->slope_deg * (M_PI / 180) : atan2(in->rise_mm, in->run_mm);
    out->slope_deg = angle ? in->slope_deg : slope * (180 / M_PI);
    out->slope_percent = 100 * (angle ? tan(slope) : in->rise_mm / in->run_mm);
    out->pull_n = in->mass_kg * STANDARD_GRAVITY * (sin(slope) + in->rolling * cos(slope));
    return true;
}

/* ---- obstacle -------------------------------------------------------------------------------- */

const struct calc_key obstacle_keys_in[] = {
    KEY(obstacle_in, wheel_diameter_mm, .unit = "mm", .low = 1, .high = 5000,
        .help = "diameter of a wheel"),
    KEY(obstacle_in, step_mm, .unit = "mm", .low = 0, .high = 2500, .help = "height of the edge"),
    KEY(obstacle_in, wheel_load_n, .unit = "N", .low = 0, .high = 1e5,
        .help = "load on both wheels together, as balance gives it"),
    KEY(obstacle_in, axle_mm, .unit = "mm", .need = KEY_OPTIONAL, .low = 1, .high = 10000,
        .help = "axle behind the fore feet, for the figure with load transfer"),
};
KEYS(obstacle_keys_in);

const struct calc_key obstacle_keys_out[] = {
    KEY(obstacle_out, push_n, .unit = "N", .help = "horizontal push at the axle"),
    KEY(obstacle_out, push_transfer_n, .unit = "N", .need = KEY_OPTIONAL,
        .help = "the same with the load the pull moves onto the wheels; only with axle_mm"),
};
KEYS(obstacle_keys_out);

bool obstacle_solve(const struct obstacle_in *in, struct obstacle_out *out, struct fault *f)
{
    if (!calc_check(obstacle_keys_in, obstacle_keys_in_count, in, f))
        return false;
    double r = in->wheel_diameter_mm / 2, h = in->step_mm;
    if (h >= r)
        return fail(f, FAULT_REFUSED,
                    "step_mm %g is not below the axle (%g mm): no push gets this wheel over it", h,
                    r);
    double climb =
        sqrt(h * (2 * r - h)) / (r - h); /* of the line from edge to axle, from upright */
    double kept = 1 - climb * r / in->axle_mm;
    if (kept < 1e-3)
        return fail(f, FAULT_REFUSED,
                    "step_mm %g is too high for an axle at %g mm: the harder the dog pulls, the "
                    "heavier the wheels stand",
                    h, in->axle_mm);
    out->push_n = in->wheel_load_n * climb;
    out->push_transfer_n = out->push_n / kept;
    return true;
}

/* ---- corridor -------------------------------------------------------------------------------- */

const struct calc_key corridor_keys_in[] = {
    KEY(corridor_in, width_in_mm, .unit = "mm", .low = 1, .high = 1e5,
        .help = "width before the corner"),
    KEY(corridor_in, width_out_mm, .unit = "mm", .low = 1, .high = 1e5,
        .help = "width after the corner"),
    KEY(corridor_in, frame_width_mm, .unit = "mm", .low = 0, .high = 1e5,
        .help = "widest part of the frame"),
};
KEYS(corridor_keys_in);

const struct calc_key corridor_keys_out[] = {
    KEY(corridor_out, longest_mm, .unit = "mm",
        .help = "longest frame and dog that turn the corner, as a rigid rectangle"),
};
KEYS(corridor_keys_out);

/* With the inner corner on its long side and the rectangle turned by t, this length just touches
 * both outer walls. The tightest moment of the turn decides. */
static double length_at(const struct corridor_in *in, double t)
{
    return (in->width_in_mm * sin(t) + in->width_out_mm * cos(t) - in->frame_width_mm) /
           (sin(t) * cos(t));
}

bool corridor_solve(const struct corridor_in *in, struct corridor_out *out, struct fault *f)
{
    if (!calc_check(corridor_keys_in, corridor_keys_in_count, in, f))
        return false;
    double narrow = fmin(in->width_in_mm, in->width_out_mm);
    if (in->frame_width_mm >= narrow)
        return fail(f, FAULT_REFUSED, "frame_width_mm %g does not fit between walls %g mm apart",
                    in->frame_width_mm, narrow);
    enum { COARSE = 64, THIRDS = 60 };
    double best = M_PI / 4, shortest = length_at(in, best);
    for (int i = 1; i < COARSE; i++) {
        double t = i * (M_PI / 2 / COARSE), length = length_at(in, t);
        if (length < shortest) {
            shortest = length;
            best = t;
        }
    }
    double low = best - M_PI / 2 / COARSE, high = best + M_PI / 2 / COARSE;
    low = fmax(low, 1e-9);
    high = fmin(high, M_PI / 2 - 1e-9);
    for (int i = 0; i < THIRDS;
         i++) { /* thirds of the bracket: the length has one low point in it */
        double a = low + (high - low) / 3, b = high - (high - low) / 3;
        if (length_at(in, a) < length_at(in, b))
            high = b;
        else
            low = a;
    }
    out->longest_mm = length_at(in, (low + high) / 2);
    return true;
}
