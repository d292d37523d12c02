/* A frame on a dog in its home: balance, sideways, threshold and ramp from one set of inputs, each
 * with its uncertainty. It joins balance.h, stability.h and slope.h and adds no model of its own.
 */
#ifndef AMBLE_CALC_BENCH_H
#define AMBLE_CALC_BENCH_H

#include "calc/balance.h"
#include "calc/stability.h"

struct bench_in {
    struct balance_in balance; /* level ground */
    bool front;                /* a front frame, put as bench_front says */
    double wheel_track_mm, fore_spacing_mm, turn_radius_m;
    double step_mm;  /* highest threshold; NaN: not known */
    double ramp_deg; /* steepest ramp; NaN: not known */
    double rolling;  /* rolling resistance, share of the load */
};
struct bench_out {
    struct balance_out balance;
    struct stability_out side;
    double step_push_n;  /* with load transfer; NaN: not known; INFINITY: no pull gets it over */
    double step_plain_n; /* by the textbook, without it: never more */
    double step_grip_n;  /* what the fore feet can pull at that moment before they slip */
    double step_spare_n; /* grip less push; -INFINITY: no pull gets it over */
    double ramp_pull_n;  /* to hold and roll dog and frame up the ramp; NaN: not known */
};
/* A front frame in the terms of the rear one: `bar_mm` is where the chest lies, `rest_mm` where the
 * hips are held, `hind_support` the share of the normal load that the fore feet still carry. In the
 * results `fore_load_n` is what they carry, `bar_load_n` the load on the chest, `rest_load_n` that
 * on the rump (- lifts it), and uphill and traction limit the nearer of uphill and downhill. */
bool bench_front(const struct balance_in *in, struct balance_out *out, struct fault *f);

/* Refuses what balance_solve and stability_solve refuse. */
bool bench_solve(const struct bench_in *in, struct bench_out *out, struct fault *f);

/* As balance_spread: standard uncertainties `u` in, standard uncertainties `spread` out, first
 * order. What is not known or infinite has a spread of 0. */
bool bench_spread(const struct bench_in *in, const struct balance_in *u, struct bench_out *out,
                  struct bench_out *spread, struct fault *f);

#endif
