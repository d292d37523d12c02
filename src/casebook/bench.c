#include "casebook/bench.h"
#include "calc/axle.h"
#include "calc/spread.h"
#include "casebook/fit_inside.h"
#include "casebook/ids.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

const char *bench_word(enum bench_verdict v)
{
    static const char *const words[] = {
        [BENCH_UNKNOWN] = "?", [BENCH_YES] = "ok", [BENCH_CLOSE] = "close", [BENCH_NO] = "no"};
    return words[v];
}

static double asked(const struct past *p, const char *item)
{
    double value;
    return fit_number(p, item, &value) ? value : NAN;
}

void bench_open(const struct chart *c, const struct fitting *fit, struct bench *b)
{
    struct past p = fit_past(c);
    const char *why = "", *progressive = past_value(&p, "progressive");
    double percent = asked(&p, ID_FIT_LATER);
    *b = (struct bench){
        .set = c->cb->set,
        .dog = fit->dog,
        .want = fit->want,
        .house = {.ramp_deg = fit->has_ramp ? fit->ramp_deg : NAN,
                  .step_mm = asked(&p, "threshold_height"),
                  .door_mm = asked(&p, "door_width"),
                  .corridor_in_mm = asked(&p, "corridor_in"),
                  .corridor_out_mm = asked(&p, "corridor_out")},
        .decided = fit_support(c, &why),
        .hind_later = percent / 100,
        .progressive = progressive != NULL && strcmp(progressive, "yes") == 0,
    };
}

enum { CLEAR_MM = 20 }; /* of room on both sides together: nothing to spare below that */

/* ---- one setting ----------------------------------------------------------------------------- */

static void answer(struct bench_view *v, const char *what, enum bench_verdict verdict,
                   const char *format, ...) __attribute__((format(printf, 4, 5)));

static void answer(struct bench_view *v, const char *what, enum bench_verdict verdict,
                   const char *format, ...)
{
    if (v->answer_count == BENCH_ANSWERS_MOST)
        return;
    struct bench_answer *a = &v->answers[v->answer_count++];
    va_list args;
    a->what = what;
    a->verdict = verdict;
    va_start(args, format);
    (void)vsnprintf(a->says, sizeof a->says, format, args);
    va_end(args);
}

static void warn(struct bench_view *v, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void warn(struct bench_view *v, const char *format, ...)
{
    va_list args;
    if (v->warning_count == BENCH_WARNINGS_MOST)
        return;
    va_start(args, format);
    (void)vsnprintf(v->warnings[v->warning_count++], BENCH_WORDS, format, args);
    va_end(args);
}

/* Past the limit is no; within the margin wanted, or within one standard uncertainty, is close. */
static enum bench_verdict judge(double spare, double margin, double spread)
{
    return spare <= 0 ? BENCH_NO : spare < fmax(margin, spread) ? BENCH_CLOSE : BENCH_YES;
}

static void answer_ramp(const struct bench *b, struct bench_view *v)
{
    const struct balance_out *o = &v->out.balance, *u = &v->spread.balance;
    double ramp = b->house.ramp_deg;
    if (isnan(ramp)) {
        answer(v, "ramp", BENCH_UNKNOWN, "not in the home survey");
        return;
    }
    answer(
        v, "ramp, grip",
        judge(o->traction_limit_deg - ramp, b->set->bench.grip_margin_deg, u->traction_limit_deg),
        "%.1f deg; grips %.1f +- %.1f", ramp, o->traction_limit_deg, u->traction_limit_deg);
    answer(v, "ramp, tip up",
           judge(o->uphill_limit_deg - ramp, b->set->bench.tip_margin_deg, u->uphill_limit_deg),
           "tips %.0f +- %.0f; pull %.1f kg", o->uphill_limit_deg, u->uphill_limit_deg,
           v->out.ramp_pull_n / STANDARD_GRAVITY);
    answer(v, "ramp, down",
           judge(o->downhill_limit_deg - ramp, b->set->bench.tip_margin_deg, u->downhill_limit_deg),
           "pitches at %.0f +- %.0f", o->downhill_limit_deg, u->downhill_limit_deg);
}

/* The pull is that with load transfer, the larger; the textbook's stands beside it. */
static void answer_step(const struct bench *b, struct bench_view *v)
{
    const struct bench_out *o = &v->out;
    const double kg = STANDARD_GRAVITY;
    if (isnan(b->house.step_mm))
        answer(v, "threshold", BENCH_UNKNOWN, "not in the home survey");
    else if (isinf(o->step_push_n))
        answer(v, "threshold", BENCH_NO, "%.0f mm; no pull gets these wheels over it",
               b->house.step_mm);
    else {
        answer(v, "threshold", judge(o->step_spare_n, 0, v->spread.step_spare_n),
               "%.0f mm %.1f +- %.1f of %.1f kg", b->house.step_mm, o->step_push_n / kg,
               v->spread.step_push_n / kg, o->step_grip_n / kg);
        struct bench_answer *a = &v->answers[v->answer_count - 1];
        if (!v->in.front)
            (void)snprintf(a->more, sizeof a->more, "textbook %.1f; pull adds load",
                           o->step_plain_n / kg);
    }
}

/* What is left of a corner for a frame: widths before and after it, the frame's width and length.
 */
static void corner_spare(const void *of, const double *x, double *y)
{
    const struct corridor_in in = {x[0], x[1], x[2]};
    struct corridor_out turn = {0};
    (void)of;
    y[0] = (corridor_solve(&in, &turn, NULL) ? turn.longest_mm : 0) - x[3];
}

static void answer_door(const struct bench *b, struct bench_view *v)
{
    v->door_spare_mm = b->house.door_mm - v->width_mm;
    v->door_within_mm = hypot(b->set->bench.tape_within_mm, b->set->bench.tape_within_mm);
    if (isnan(v->door_spare_mm))
        answer(v, "door", BENCH_UNKNOWN, "not in the home survey");
    else
        answer(v, "door", judge(v->door_spare_mm, CLEAR_MM, v->door_within_mm),
               "%.0f cm; %s %.1f +- %.1f cm", b->house.door_mm / 10,
               v->door_spare_mm < 0 ? "lacks" : "spare", fabs(v->door_spare_mm) / 10,
               v->door_within_mm / 10);
}

static void answer_corner(const struct bench *b, struct bench_view *v)
{
    const struct bench_house *h = &b->house;
    const double tape = b->set->bench.tape_within_mm;
    const struct spread_input in[] = {{h->corridor_in_mm, tape, 1},
                                      {h->corridor_out_mm, tape, 1},
                                      {v->width_mm, tape, 1},
                                      {v->length_mm, tape, 1}};
    const double x[] = {h->corridor_in_mm, h->corridor_out_mm, v->width_mm, v->length_mm};
    v->corner_mm = v->corner_spare_mm = v->corner_within_mm = NAN;
    if (isnan(h->corridor_in_mm) || isnan(h->corridor_out_mm)) {
        answer(v, "corner", BENCH_UNKNOWN, "not in the home survey");
        return;
    }
    corner_spare(NULL, x, &v->corner_spare_mm);
    v->corner_mm = v->corner_spare_mm + v->length_mm;
    spread_solve(corner_spare, NULL, in, sizeof in / sizeof *in, NULL, &v->corner_within_mm, 1);
    answer(v, "corner", judge(v->corner_spare_mm, CLEAR_MM, v->corner_within_mm),
           "%.0f/%.0f cm; %s %.0f +- %.0f cm", h->corridor_in_mm / 10, h->corridor_out_mm / 10,
           v->corner_spare_mm < 0 ? "lacks" : "spare", fabs(v->corner_spare_mm) / 10,
           v->corner_within_mm / 10);
}

static void look_at_limits(const struct bench *b, const struct fit_setting *s, struct bench_view *v)
{
    const struct frame *f = s->frame;
    const struct balance_out *o = &v->out.balance;
    if (b->decided != NULL && f->support != b->decided)
        warn(v, "this is a %s; decided on is a %s", f->support->label, b->decided->label);
    if (b->dog.kg < f->mass_low_kg || b->dog.kg > f->mass_high_kg)
        warn(v, "meant for dogs of %g to %g kg, not %.1f", f->mass_low_kg, f->mass_high_kg,
             b->dog.kg);
    if (f->model != FRAME_FRONT && o->relief > f->relief_most + 1e-9)
        warn(v, "relief of %.0f %% is over this frame's ceiling of %.0f %%", 100 * o->relief,
             100 * f->relief_most);
    if (f->model != FRAME_FRONT && b->want.no_press && o->bar_load_n > 0.5)
        warn(v, "the bar presses, and it must not: %s", b->want.spares->reason);
    if (f->model != FRAME_FRONT && o->fore_share_now > b->dog.fore_share + 1e-9)
        warn(v, "more on the fore feet than without a frame");
    if (o->rest_load_n < 0 && f->model != FRAME_FRONT)
        warn(v, "the dog lifts off the pelvic rest");
    if (s->wheel_mm / 2 > f->rest_at * b->dog.stance_mm && f->model != FRAME_FRONT)
        warn(v, "wheels this large reach in front of the fore feet");
    if (b->dog.hip_mm <= 0)
        warn(v, "hip width is not measured: the track is a guess");
}

static void four_wheels(const struct bench *b, const struct fit_setting *s, struct bench_view *v)
{
    const struct frame *f = s->frame;
    const struct balance_in *in = &v->in.balance;
    struct four_in four = {.dog_mass_kg = in->dog_mass_kg,
                           .stance_length_mm = in->stance_length_mm,
                           .fore_share = in->fore_share,
                           .hind_support = in->hind_support,
                           .rest_mm = in->rest_mm,
                           .sling_mm = in->bar_mm,
                           .frame_mass_kg = in->frame_mass_kg,
                           .frame_cg_mm = in->frame_cg_mm,
                           .front_axle_mm = f->front_axle_at * b->dog.stance_mm,
                           .front_wheels_mass_kg = f->front_wheels_mass_share * b->dog.kg,
                           .rear_axle_mm = in->axle_mm,
                           .rear_wheels_mass_kg = in->wheels_mass_kg,
                           .may_press = false};
    struct fault why = {0};
    v->four = four_range(&four, &v->range, &why);
    if (!v->four)
        warn(v, "%s", why.text);
}

static void measure_up(const struct bench *b, const struct fit_setting *s, struct bench_view *v)
{
    const struct balance_in *in = &v->in.balance;
    double reach = s->frame->model == FRAME_FRONT ? in->rest_mm : in->axle_mm + s->wheel_mm / 2;
    double nose = s->frame->model == FRAME_REAR ? in->bar_mm : in->axle_mm - s->wheel_mm / 2;
    if (s->frame->model == FRAME_FOUR)
        nose = s->frame->front_axle_at * b->dog.stance_mm - s->wheel_mm / 2;
    v->width_mm = fit_track(b->set, &b->dog, s) + s->frame->outside;
    v->length_mm = reach - nose;
    v->normal_n = in->fore_share * in->dog_mass_kg * STANDARD_GRAVITY;
}

void bench_try(const struct bench *b, const struct fit_setting *s, struct bench_view *out)
{
    struct fault f = {0};
    memset(out, 0, sizeof *out);
    out->in = (struct bench_in){.balance = fit_balance(b->set, &b->dog, s),
                                .front = s->frame->model == FRAME_FRONT,
                                .wheel_track_mm = fit_track(b->set, &b->dog, s),
                                .fore_spacing_mm = 0,
                                .turn_radius_m = b->set->bench.turn_radius_m,
                                .step_mm = b->house.step_mm,
                                .ramp_deg = b->house.ramp_deg,
                                .rolling = b->set->bench.rolling};
    out->within = fit_within(b->set, &b->dog, s);
    measure_up(b, s, out);
    if (!bench_spread(&out->in, &out->within, &out->out, &out->spread, &f)) {
        out->refused = true;
        (void)snprintf(out->why, sizeof out->why, "%s", f.text);
        return;
    }
    if (s->frame->model == FRAME_FOUR)
        four_wheels(b, s, out);
    answer_ramp(b, out);
    answer_step(b, out);
    answer_door(b, out);
    answer_corner(b, out);
    look_at_limits(b, s, out);
}

double bench_move(const struct bench *b, const struct fit_setting *s, int way, bool coarse)
{
    size_t steps = fit_steps(s->frame, &b->dog);
    double first = fit_step(s->frame, &b->dog, 0), last = fit_step(s->frame, &b->dog, steps - 1);
    double fine = last - first < 60 ? 1 : 5, hair = 1e-6, to = s->axle_mm;
    if (!coarse) {
        to = way > 0 ? fine * floor(to / fine + 1 + hair) : fine * ceil(to / fine - 1 - hair);
        return fmin(fmax(to, first), last);
    }
    for (size_t i = 0; i < steps; i++) {
        double at = fit_step(s->frame, &b->dog, way > 0 ? i : steps - 1 - i);
        if (way > 0 ? at > to + hair : at < to - hair)
            return at;
    }
    return to;
}

/* ---- planning ahead -------------------------------------------------------------------------- */

static const double NEARLY = 0.05; /* of the relief wanted: near enough for a plan */

/* The rows at a hind support, those over the frame's ceiling taken out. */
static size_t stage_rows(const struct bench *b, const struct fit_setting *s, double hind,
                         struct axle_row *rows)
{
    struct fit_setting at = *s;
    size_t steps = fit_steps(s->frame, &b->dog);
    if (steps > AXLE_STEPS_MOST)
        steps = AXLE_STEPS_MOST;
    at.hind_support = hind;
    for (size_t i = 0; i < steps; i++) {
        at.axle_mm = fit_step(s->frame, &b->dog, i);
        struct balance_in in = fit_balance(b->set, &b->dog, &at);
        rows[i] = (struct axle_row){.axle_mm = at.axle_mm};
        rows[i].stands = fit_solve(s->frame, &in, &rows[i].out, NULL) &&
                         rows[i].out.relief <= s->frame->relief_most + 1e-9;
    }
    return steps;
}

/* Why the step that comes nearest to the relief wanted is not the one to take. */
static void say_why_not(const struct bench *b, const struct fit_setting *s,
                        const struct axle_row *rows, double slope, size_t taken,
                        struct bench_stage *st)
{
    size_t best = taken;
    for (size_t i = 0; i < st->steps; i++)
        if (rows[i].stands &&
            fabs(rows[i].out.relief - st->wanted) < fabs(rows[best].out.relief - st->wanted))
            best = i;
    const struct balance_out *o = &rows[best].out;
    const struct bench_rules *r = &b->set->bench;
    if (best == taken)
        (void)snprintf(st->why, sizeof st->why,
                       "no step of this frame gives more within its %.0f %%",
                       100 * s->frame->relief_most);
    else if (o->traction_limit_deg < slope + r->grip_margin_deg)
        (void)snprintf(st->why, sizeof st->why,
                       "step %zu gives %.0f %%, but grips to %.1f deg only; the ramp has %.1f",
                       best + 1, 100 * o->relief, o->traction_limit_deg, slope);
    else if (o->uphill_limit_deg < slope + r->tip_margin_deg)
        (void)snprintf(st->why, sizeof st->why,
                       "step %zu gives %.0f %%, but tips at %.1f deg; the ramp has %.1f", best + 1,
                       100 * o->relief, o->uphill_limit_deg, slope);
    else
        (void)snprintf(st->why, sizeof st->why, "step %zu gives %.0f %%, but the bar presses",
                       best + 1, 100 * o->relief);
}

static void plan_stage(const struct bench *b, const struct fit_setting *s, struct bench_stage *st)
{
    struct axle_row rows[AXLE_STEPS_MOST] = {0};
    struct fault f = {0};
    size_t at = 0;
    double slope = isnan(b->house.ramp_deg) ? 0 : b->house.ramp_deg;
    struct axle_want want = {.relief = fmin(st->wanted, s->frame->relief_most),
                             .relief_within = INFINITY,
                             .uphill_deg = slope,
                             .tip_margin_deg = b->set->bench.tip_margin_deg,
                             .grip_margin_deg = b->set->bench.grip_margin_deg,
                             .may_press = !b->want.no_press || s->frame->model == FRAME_FRONT,
                             .may_lift = true};
    st->steps = stage_rows(b, s, st->hind_support, rows);
    st->found = axle_target(rows, st->steps, &want, &at, &f);
    (void)snprintf(st->why, sizeof st->why, "%s", f.text);
    if (st->found) {
        st->step = at + 1;
        st->out = rows[at].out;
        st->short_of_it = s->frame->model != FRAME_FRONT && st->out.relief < st->wanted - NEARLY;
        if (st->short_of_it)
            say_why_not(b, s, rows, slope, at, st);
    }
    st->front_wheels = s->frame->model == FRAME_REAR && (!st->found || st->short_of_it);
}

void bench_plan(const struct bench *b, const struct fit_setting *s, struct bench_stage *out)
{
    for (size_t i = 0; i < BENCH_STAGES; i++) {
        struct bench_stage *st = &out[i];
        *st = (struct bench_stage){
            .label = "now", .hind_support = s->hind_support, .wanted = b->want.relief};
        if (i > 0 && i <= b->set->stage_count) {
            const struct stage *said = &b->set->stages[i - 1];
            double later = isnan(b->hind_later) ? s->hind_support * said->hind_kept
                           : i == 1             ? (s->hind_support + b->hind_later) / 2
                                                : b->hind_later;
            st->label = said->label;
            st->hind_support = fmin(later, s->hind_support);
            st->wanted = fmax(said->relief, b->want.relief);
        }
        plan_stage(b, s, st);
    }
}
