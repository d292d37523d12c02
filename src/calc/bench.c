#include "calc/bench.h"
#include "calc/four.h"
#include "calc/slope.h"
#include <math.h>

bool bench_front(const struct balance_in *in, struct balance_out *out, struct fault *f)
{
    struct front_in front = {.dog_mass_kg = in->dog_mass_kg,
                             .stance_length_mm = in->stance_length_mm,
                             .fore_share = in->fore_share,
                             .fore_support = in->hind_support,
                             .dog_cg_height_mm = in->dog_cg_height_mm,
                             .axle_mm = in->axle_mm,
                             .chest_mm = in->bar_mm,
                             .hip_mm = in->rest_mm,
                             .frame_mass_kg = in->frame_mass_kg,
                             .frame_cg_mm = in->frame_cg_mm,
                             .frame_cg_height_mm = in->frame_cg_height_mm,
                             .wheels_mass_kg = in->wheels_mass_kg,
                             .wheel_diameter_mm = in->wheel_diameter_mm,
                             .slope_deg = in->slope_deg,
                             .friction = in->friction};
    struct front_out r;
    if (!front_solve(&front, &r, f))
        return false;
    double weight = in->dog_mass_kg * STANDARD_GRAVITY;
    *out = (struct balance_out){
        .axle_mm = in->axle_mm,
        .fore_load_n = in->hind_support * in->fore_share * weight,
        .fore_share_now = in->hind_support * in->fore_share,
        .relief = 1 - in->hind_support,
        .rest_load_n = r.hip_load_n,
        .bar_load_n = r.chest_load_n,
        .wheel_load_n = r.wheel_load_n,
        .neutral_axle_mm = r.neutral_axle_mm,
        .cg_mm = r.cg_mm,
        .cg_height_mm = r.cg_height_mm,
        .uphill_limit_deg = fmin(r.uphill_limit_deg, r.downhill_limit_deg),
        .downhill_limit_deg = r.downhill_limit_deg,
        .traction_limit_deg = fmin(r.grip_uphill_deg, r.grip_downhill_deg),
    };
    return true;
}

/* The pull over the threshold, and what the fore feet hold while the pull loads the wheels:
 * friction times what is left on them. */
static void threshold(const struct bench_in *in, struct bench_out *out)
{
    const struct balance_out *b = &out->balance;
    struct obstacle_in step = {.wheel_diameter_mm = in->balance.wheel_diameter_mm,
                               .step_mm = in->step_mm,
                               .wheel_load_n = b->wheel_load_n,
                               .axle_mm = in->front ? NAN : b->axle_mm};
    struct obstacle_out pull;
    out->step_push_n = out->step_grip_n = NAN;
    if (isnan(in->step_mm))
        return;
    out->step_push_n = INFINITY;
    out->step_grip_n = 0;
    if (!obstacle_solve(&step, &pull, NULL))
        return;
    out->step_push_n = in->front ? pull.push_n : pull.push_transfer_n;
    if (in->front) { /* pushed from behind: the hind feet hold it */
        double hind =
            (in->balance.dog_mass_kg + in->balance.frame_mass_kg + in->balance.wheels_mass_kg) *
                STANDARD_GRAVITY -
            b->wheel_load_n - b->fore_load_n;
        out->step_grip_n = in->balance.friction * fmax(hind, 0);
        return;
    }
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
    double stance = in->balance.stance_length_mm;
    if (in->front ? !bench_front(&in->balance, &out->balance, f)
                  : !balance_solve(&in->balance, &out->balance, f))
        return false;
    struct stability_in side = {.cg_mm = out->balance.cg_mm,
                                .cg_height_mm = out->balance.cg_height_mm,
                                .axle_mm = out->balance.axle_mm,
                                .wheel_track_mm = in->wheel_track_mm,
                                .fore_spacing_mm = in->fore_spacing_mm,
                                .turn_radius_m = in->turn_radius_m};
    if (in->front) { /* seen from the hind feet */
        side.cg_mm = stance - side.cg_mm;
        side.axle_mm = stance - side.axle_mm;
    }
    if (!stability_solve(&side, &out->side, f))
        return false;
    threshold(in, out);
    ramp(in, out);
    return true;
}

/* The results beside those of balance_spread. */
static const size_t results[] = {
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
    double slope = u / (high - low);
    for (size_t i = 0; i < sizeof results / sizeof *results; i++) {
        double part = (*at(&above, results[i]) - *at(&below, results[i])) * slope;
        if (isfinite(part))
            *at(squares, results[i]) += part * part;
    }
    for (size_t i = 0; in->front && i < balance_keys_out_count; i++) {
        const struct calc_key *o = &balance_keys_out[i];
        double part = (calc_get(o, &above.balance) - calc_get(o, &below.balance)) * slope;
        calc_put(o, &squares->balance, calc_get(o, &squares->balance) + part * part);
    }
}

bool bench_spread(const struct bench_in *in, const struct balance_in *u, struct bench_out *out,
                  struct bench_out *spread, struct fault *f)
{
    *spread = (struct bench_out){0};
    if (!bench_solve(in, out, f) ||
        (!in->front && !balance_spread(&in->balance, u, &out->balance, &spread->balance, f)))
        return false;
    for (size_t i = 0; i < balance_keys_in_count; i++) {
        double ui = calc_get(&balance_keys_in[i], u);
        if (ui > 0)
            add_part(in, &balance_keys_in[i], ui, spread);
    }
    for (size_t i = 0; i < sizeof results / sizeof *results; i++)
        *at(spread, results[i]) = sqrt(*at(spread, results[i]));
    for (size_t i = 0; in->front && i < balance_keys_out_count; i++) {
        const struct calc_key *o = &balance_keys_out[i];
        calc_put(o, &spread->balance, sqrt(calc_get(o, &spread->balance)));
    }
    return true;
}
