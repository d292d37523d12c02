#include "calc/stability.h"
#include "calc/balance.h"
#include <math.h>

#define IN(field, ...)  KEY(stability_in, field, __VA_ARGS__)
#define OUT(field, ...) KEY(stability_out, field, __VA_ARGS__)

const struct calc_key stability_keys_in[] = {
    IN(cg_mm, .unit = "mm", .low = 0, .high = 10000,
       .help = "centre of mass behind the fore feet, as balance gives it"),
    IN(cg_height_mm, .unit = "mm", .low = 1, .high = 5000, .help = "its height"),
    IN(axle_mm, .unit = "mm", .low = 1, .high = 10000, .help = "axle behind the fore feet"),
    IN(wheel_track_mm, .unit = "mm", .low = 1, .high = 5000,
       .help = "between the middles of the wheels"),
    IN(fore_spacing_mm, .unit = "mm", .need = KEY_DEFAULT, .fallback = 0, .low = 0, .high = 5000,
       .help = "between the fore feet; 0: one foot down, the cautious case"),
    IN(turn_radius_m, .unit = "m", .need = KEY_DEFAULT, .fallback = 2, .low = 0, .high = 1000,
       .help = "radius of the turn"),
};
const size_t stability_keys_in_count = KEY_COUNT(stability_keys_in);

const struct calc_key stability_keys_out[] = {
    OUT(half_width_mm, .unit = "mm", .help = "support to each side of the centre of mass"),
    OUT(side_slope_limit_deg, .unit = "deg",
        .help = "slope straight across, the upper wheel lifts"),
    OUT(tip_distance_mm, .unit = "mm", .help = "centre of mass to the tip line, at right angles"),
    OUT(worst_tilt_deg, .unit = "deg", .help = "tilt at right angles to the tip line"),
    OUT(turn_speed_limit_mps, .unit = "m/s", .help = "speed at which the inner wheel lifts"),
};
const size_t stability_keys_out_count = KEY_COUNT(stability_keys_out);

bool stability_solve(const struct stability_in *in, struct stability_out *out, struct fault *f)
{
    if (!calc_check(stability_keys_in, stability_keys_in_count, in, f))
        return false;
    if (in->cg_mm > in->axle_mm)
        return fail(f, FAULT_REFUSED,
                    "cg_mm %g lies behind axle_mm %g: the frame tips backwards before it can lean",
                    in->cg_mm, in->axle_mm);
    double fore = in->fore_spacing_mm / 2, rear = in->wheel_track_mm / 2;
    double half = fore + (rear - fore) * in->cg_mm / in->axle_mm;
    double distance = half * in->axle_mm / hypot(in->axle_mm, rear - fore);
    double degree = M_PI / 180;
    *out = (struct stability_out){
        .half_width_mm = half,
        .side_slope_limit_deg = atan2(half, in->cg_height_mm) / degree,
        .tip_distance_mm = distance,
        .worst_tilt_deg = atan2(distance, in->cg_height_mm) / degree,
        .turn_speed_limit_mps =
            sqrt(STANDARD_GRAVITY * in->turn_radius_m * half / in->cg_height_mm),
    };
    return true;
}
