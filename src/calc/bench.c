#include "calc/bench.h"
#include "calc/slope.h"
#include <math.h>

/* The pull over the threshold, and what the fore feet hold while the pull loads the wheels:
 * friction times what is left on them. */
static void threshold(const struct bench_in *in, struct bench_out *out)
{
    const struct balance_out *b = &out->balance;
    struct obstacle_in step = {.wheel_diameter_mm = in->balance.wheel_diameter_mm,
                               .step_mm = in->step_mm,
                               .wheel_load_n = b->wheel_load_n,
                               .axle_mm = b->axle_mm};
    struct obstacle_out pull;
    out->step_push_n = out->step_grip_n = NAN;
    if (isnan(in->step_mm))
        return;
    out->step_push_n = INFINITY;
    out->step_grip_n = 0;
    if (!obstacle_solve(&step, &pull, NULL))
        return;
    out->step_push_n = pull.push_transfer_n;
    double moved = pull.push_n > 0 ? b->wheel_load_n * (pull.push_transfer_n / pull.push_n - 1) : 0;
    out->step_grip_n = in->balance.friction * fmax(b->fore_load_n - moved, 0);
}

static void ramp(const struct bench_in *in, struct bench_out *out)
{
    const struct balance_in *b = &in->balance;
    struct ramp_in up = {.mass_kg = b->dog_mass_kg + b->frame_mass_kg + b->wheels_mass_kg,
                         .slope_deg = in->ramp_deg,
                         .rise_mm = NAN,
                         .run_mm = NAN,
                         .rolling = in->rolling};
    struct ramp_out pull;
    bool known = !isnan(in->ramp_deg) && ramp_solve(&up, &pull, NULL);
    out->ramp_pull_n = known ? pull.pull_n : NAN;
}

bool bench_solve(const struct bench_in *in, struct bench_out *out, struct fault *f)
{
    if (!balance_solve(&in->balance, &out->balance, f))
        return false;
    struct stability_in side = {.cg_mm = out->balance.cg_mm,
                                .cg_height_mm = out->balance.cg_height_mm,
                                .axle_mm = out->balance.axle_mm,
                                .wheel_track_mm = in->wheel_track_mm,
                                .fore_spacing_mm = in->fore_spacing_mm,
                                .turn_radius_m = in->turn_radius_m};
    if (!stability_solve(&side, &out->side, f))
        return false;
    threshold(in, out);
    ramp(in, out);
    return true;
}

/* The results beside those of balance_spread. */
static const size_t beyond[] = {
    offsetof(struct bench_out, side.half_width_mm),
    offsetof(struct bench_out, side.side_slope_limit_deg),
    offsetof(struct bench_out, side.tip_distance_mm),
    offsetof(struct bench_out, side.worst_tilt_deg),
    offsetof(struct bench_out, side.turn_speed_limit_mps),
    offsetof(struct bench_out, step_push_n),
    offsetof(struct bench_out, step_grip_n),
    offsetof(struct bench_out, ramp_pull_n),
};

static double *at(struct bench_out *out, size_t offset)
{
    return (double *)(void *)((char *)out + offset);
}

/* What one input, moved by its uncertainty, does to each of them: added as a square. */
static void add_part(const struct bench_in *in, const struct calc_key *key, double u,
                     struct bench_out *squares)
{
    double value = calc_get(key, &in->balance), step = u / 1000;
    double low = fmax(value - step, key->low), high = fmin(value + step, key->high);
    struct bench_in near = *in;
    struct bench_out below, above;
    calc_put(key, &near.balance, low);
    if (!(high > low) || !bench_solve(&near, &below, NULL))
        return;
    calc_put(key, &near.balance, high);
    if (!bench_solve(&near, &above, NULL))
        return;
    for (size_t i = 0; i < sizeof beyond / sizeof *beyond; i++) {
        double part = (*at(&above, beyond[i]) - *at(&below, beyond[i])) * (u / (high - low));
        if (isfinite(part))
            *at(squares, beyond[i]) += part * part;
    }
}

bool bench_spread(const struct bench_in *in, const struct balance_in *u, struct bench_out *out,
                  struct bench_out *spread, struct fault *f)
{
    *spread = (struct bench_out){0};
    if (!bench_solve(in, out, f) ||
        !balance_spread(&in->balance, u, &out->balance, &spread->balance, f))
        return false;
    for (size_t i = 0; i < balance_keys_in_count; i++) {
        double ui = calc_get(&balance_keys_in[i], u);
        if (ui > 0)
            add_part(in, &balance_keys_in[i], ui, spread);
    }
    for (size_t i = 0; i < sizeof beyond / sizeof *beyond; i++)
        *at(spread, beyond[i]) = sqrt(*at(spread, beyond[i]));
    return true;
}
