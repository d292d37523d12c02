/* Sideways: how far a frame leans, tilts and turns before the inner wheel lifts.
 *
 * Contacts in plan: one fore foot (or two, `fore_spacing` apart) and two wheels. At the station of
 * the centre of mass the support is half_width wide each way. The tip line runs from a fore foot to
 * a wheel; tip_distance is at right angles to it.
 *   half width = b/2 + (t/2 - b/2) x_cg / x_axle;  side slope: tan = half width / z_cg
 *   turn: v = sqrt(g R half width / z_cg)
 * Source: elementary geometry; directions as in ISO 7176-1:2014 (tilt table), static margin as
 * McGhee and Frank 1968 (quoted). A tyre that slips first and a dog that leans are not in it.
 */
#ifndef AMBLE_CALC_STABILITY_H
#define AMBLE_CALC_STABILITY_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>

struct stability_in {
    double cg_mm, cg_height_mm, axle_mm, wheel_track_mm;
    double fore_spacing_mm; /* 0: one fore foot down, the cautious case */
    double turn_radius_m;
};
struct stability_out {
    double half_width_mm;        /* across, at the centre of mass */
    double side_slope_limit_deg; /* slope straight across the way */
    double tip_distance_mm;      /* from the centre of mass to the tip line, at right angles */
    double worst_tilt_deg;       /* tilt in the worst direction: about the nearest tip line */
    double turn_speed_limit_mps;
};
/* Refuses a centre of mass that is not between fore feet and axle. */
bool stability_solve(const struct stability_in *in, struct stability_out *out, struct fault *f);

extern const struct calc_key stability_keys_in[], stability_keys_out[];
extern const size_t stability_keys_in_count, stability_keys_out_count;

#endif
