#include "calc/bench.h"
#include "calc/four.h"
#include "calc/slope.h"
#include "calc/spread.h"
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
    out->step_push_n = out->step_plain_n = out->step_grip_n = NAN;
    if (isnan(in->step_mm))
        return;
    out->step_push_n = out->step_plain_n = INFINITY;
    out->step_grip_n = 0;
    if (!obstacle_solve(&step, &pull, NULL))
        return;
    out->step_plain_n = pull.push_n;
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
    out->step_spare_n = out->step_grip_n - out->step_push_n;
    ramp(in, out);
    return true;
}

/* ---- uncertainty ----------------------------------------------------------------------------- */

/* The results beside those of balance. */
static const size_t results[] = {
    offsetof(struct bench_out, side.half_width_mm),
    offsetof(struct bench_out, side.side_slope_limit_deg),
    offsetof(struct bench_out, side.tip_distance_mm),
    offsetof(struct bench_out, side.worst_tilt_deg),
    offsetof(struct bench_out, side.turn_speed_limit_mps),
    offsetof(struct bench_out, step_push_n),
    offsetof(struct bench_out, step_plain_n),
    offsetof(struct bench_out, step_grip_n),
    offsetof(struct bench_out, step_spare_n),
    offsetof(struct bench_out, ramp_pull_n),
};
enum { RESULTS = sizeof results / sizeof *results };

static double *at(struct bench_out *out, size_t offset)
{
    return (double *)(void *)((char *)out + offset);
}

/* All results in one row, and back. What is not known or infinite counts as 0: it does not move. */
static void line_up(struct bench_out *out, double *y)
{
    for (size_t i = 0; i < RESULTS; i++)
        *y++ = isfinite(*at(out, results[i])) ? *at(out, results[i]) : 0;
    for (size_t i = 0; i < balance_keys_out_count; i++)
        *y++ = calc_get(&balance_keys_out[i], &out->balance);
}

static void take_apart(const double *y, struct bench_out *out)
{
    for (size_t i = 0; i < RESULTS; i++)
        *at(out, results[i]) = *y++;
    for (size_t i = 0; i < balance_keys_out_count; i++)
        calc_put(&balance_keys_out[i], &out->balance, *y++);
}

struct centre {
    const struct bench_in *in;
    struct bench_out *out;
};

/* What calc/spread.h asks. A neighbour that falls over moves nothing: only within a hair of tipping
 * is there one. */
static void model(const void *of, const double *x, double *y)
{
    const struct centre *c = of;
    struct bench_in near = *c->in;
    struct bench_out out;
    for (size_t i = 0; i < balance_keys_in_count; i++)
        calc_put(&balance_keys_in[i], &near.balance, x[i]);
    if (!bench_solve(&near, &out, NULL))
        out = *c->out;
    line_up(&out, y);
}

bool bench_spread(const struct bench_in *in, const struct balance_in *u, struct bench_out *out,
                  struct bench_out *spread, struct fault *f)
{
    struct spread_input inputs[SPREAD_MOST];
    double of_results[SPREAD_MOST], values[SPREAD_MOST];
    size_t count = RESULTS + balance_keys_out_count;
    struct centre centre = {in, out};
    *spread = (struct bench_out){0};
    if (!bench_solve(in, out, f) ||
        !spread_inputs(balance_keys_in, balance_keys_in_count, &in->balance, u, inputs, f))
        return false;
    spread_solve(model, &centre, inputs, balance_keys_in_count, NULL, of_results, count);
    line_up(out, values);
    for (size_t i = 0; i < count; i++)
        if (of_results[i] < 1e-8 * fabs(values[i])) /* rounding */
            of_results[i] = 0;
    take_apart(of_results, spread);
    return true;
}
