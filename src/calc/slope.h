/* Ramps, thresholds and corners of the house.
 *
 * Ramp: pull = m g (sin b + c cos b), held or pulled along the slope.
 * Step: the least horizontal push at the axle that lifts a wheel over an edge, textbook lever about
 * the edge: F = W sqrt(2 r h - h^2) / (r - h). A dog that pulls from the front feet loads the
 * wheels more while it pulls; given the axle's place, the figure with that load transfer is there
 * too. It is always the higher one: V = W / (1 - (r / x) tan a), push = V tan a. Corner: the
 * longest rigid rectangle of a width round a right-angled corner. Sources: step, Halliday (worked
 * problem W1 in the tests); rolling c W, engineeringtoolbox.com.
 */
#ifndef AMBLE_CALC_SLOPE_H
#define AMBLE_CALC_SLOPE_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>

struct ramp_in {
    double mass_kg;
    double slope_deg;       /* NaN: from rise and run */
    double rise_mm, run_mm; /* NaN: from the slope */
    double rolling;         /* rolling resistance as a share of the load */
};
struct ramp_out {
    double slope_deg, slope_percent, pull_n;
};
bool ramp_solve(const struct ramp_in *in, struct ramp_out *out, struct fault *f);

struct obstacle_in {
    double wheel_diameter_mm, step_mm;
    double wheel_load_n; /* both wheels together, level */
    double axle_mm;      /* behind the fore feet; NaN: not known, no push_transfer_n */
};
struct obstacle_out {
    double push_n;
    double
        push_transfer_n; /* with what the pull itself moves onto the wheels; NaN without an axle */
};
/* Refuses a step as high as the axle, and one at which the transfer grows without bound: no push
 * gets the wheel over it. */
bool obstacle_solve(const struct obstacle_in *in, struct obstacle_out *out, struct fault *f);

struct corridor_in {
    double width_in_mm, width_out_mm, frame_width_mm;
};
struct corridor_out {
    double longest_mm; /* 0: it does not fit at all */
};
bool corridor_solve(const struct corridor_in *in, struct corridor_out *out, struct fault *f);

extern const struct calc_key ramp_keys_in[], ramp_keys_out[];
extern const size_t ramp_keys_in_count, ramp_keys_out_count;
extern const struct calc_key obstacle_keys_in[], obstacle_keys_out[];
extern const size_t obstacle_keys_in_count, obstacle_keys_out_count;
extern const struct calc_key corridor_keys_in[], corridor_keys_out[];
extern const size_t corridor_keys_in_count, corridor_keys_out_count;

#endif
