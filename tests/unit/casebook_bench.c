/* The bench against the calculations it is made of, its plan, its build sheet, its own record. */
#include "calc/slope.h"
#include "casebook/bench.h"
#include "casebook/build.h"
#include "casebook_world.h"

/* 12 kg, stance 400 mm, withers 420 mm: the reference's example in the test set's frame. */
static void reference_dog(struct world *w, struct chart *c)
{
    a_visit(w, c);
    put(w, &c->visit, ID_SUPPORT, "level");
    put(w, &c->visit, "body_mass.1", "12 kg");
    put(w, &c->visit, "body_mass.2", "12.2 kg");
    put(w, &c->visit, "stance_length.1", "400 mm");
    put(w, &c->visit, "withers_height.1", "420 mm");
    put(w, &c->visit, "hip_width.1", "200 mm");
    put(w, &c->visit, "hip_width.2", "202 mm");
    put(w, &c->visit, "thigh_depth.1", "90 mm");
    put(w, &c->visit, "fore_scale.1", "7.2 kg");
    put(w, &c->visit, "hind_scale.1", "4.8 kg");
    put(w, &c->visit, "ramp_rise", "100 mm");
    put(w, &c->visit, "ramp_run", "1000 mm");
}

struct stood {
    struct fitting fit;
    struct bench bench;
    struct bench_view view;
};

static void stand(const struct chart *c, struct stood *s)
{
    fitting_look(c, &s->fit);
    assert_string_equal(s->fit.why, "");
    bench_open(c, &s->fit, &s->bench);
    s->bench.house.step_mm = 15;
    s->bench.house.door_mm = 700;
    s->bench.house.corridor_in_mm = 820;
    s->bench.house.corridor_out_mm = 780;
    bench_try(&s->bench, &s->fit.setting, &s->view);
    assert_false(s->view.refused);
}

static const struct bench_answer *answer_to(const struct bench_view *v, const char *what)
{
    for (size_t i = 0; i < v->answer_count; i++)
        if (strcmp(v->answers[i].what, what) == 0)
            return &v->answers[i];
    fail_msg("the bench does not answer \"%s\"", what);
    return NULL;
}

static void every_number_is_that_of_its_calculation(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct stood s;
    reference_dog(w, &c);
    stand(&c, &s);
    struct balance_out out, spread;
    OK(balance_spread(&s.view.in.balance, &s.view.within, &out, &spread, f));
    for (size_t i = 0; i < balance_keys_out_count; i++) {
        const struct calc_key *k = &balance_keys_out[i];
        NEAR(calc_get(k, &s.view.out.balance), calc_get(k, &out), 0);
        NEAR(calc_get(k, &s.view.spread.balance), calc_get(k, &spread), 0);
    }
    struct stability_in side = {.cg_mm = out.cg_mm,
                                .cg_height_mm = out.cg_height_mm,
                                .axle_mm = out.axle_mm,
                                .wheel_track_mm = s.view.in.wheel_track_mm,
                                .turn_radius_m = 2};
    struct stability_out lean;
    OK(stability_solve(&side, &lean, f));
    NEAR(s.view.out.side.side_slope_limit_deg, lean.side_slope_limit_deg, 0);
    struct obstacle_in step = {s.view.in.balance.wheel_diameter_mm, 15, out.wheel_load_n,
                               out.axle_mm};
    struct obstacle_out pull;
    OK(obstacle_solve(&step, &pull, f));
    NEAR(s.view.out.step_push_n, pull.push_transfer_n, 0);
    NEAR(s.view.out.step_plain_n, pull.push_n, 0);
    assert_true(pull.push_transfer_n > pull.push_n); /* the larger decides, both are said */
    char plain[40];
    (void)snprintf(plain, sizeof plain, "textbook %.1f", pull.push_n / STANDARD_GRAVITY);
    assert_non_null(strstr(answer_to(&s.view, "threshold")->more, plain));
    struct corridor_in corner = {820, 780, s.view.width_mm};
    struct corridor_out turn;
    OK(corridor_solve(&corner, &turn, f));
    NEAR(s.view.corner_mm, turn.longest_mm, 0);
}

static double any_normal(uint64_t *seed) /* twelve rectangles make a normal */
{
    double normal = -6;
    for (int d = 0; d < 12; d++) {
        *seed = *seed * 6364136223846793005ULL + 1442695040888963407ULL;
        normal += (double)(*seed >> 11) / 9007199254740992.0;
    }
    return normal;
}

/* A thousand dogs at random with the bench's uncertainties: the first-order figures hold. */
static void uncertainty_agrees_with_random_trials(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct stood s;
    enum { TRIALS = 20000 };
    reference_dog(w, &c);
    stand(&c, &s);
    uint64_t seed = 20260101;
    double sum[3] = {0}, squares[3] = {0};
    for (int i = 0; i < TRIALS; i++) {
        struct bench_in in = s.view.in;
        struct bench_out out;
        for (size_t k = 0; k < balance_keys_in_count; k++) {
            double u = calc_get(&balance_keys_in[k], &s.view.within);
            double normal = any_normal(&seed);
            if (u > 0)
                calc_put(&balance_keys_in[k], &in.balance,
                         calc_get(&balance_keys_in[k], &in.balance) + u * normal);
        }
        OK(bench_solve(&in, &out, f));
        double got[3] = {out.side.side_slope_limit_deg, out.balance.fore_load_n, out.step_spare_n};
        for (int k = 0; k < 3; k++) {
            sum[k] += got[k];
            squares[k] += got[k] * got[k];
        }
    }
    double first[3] = {s.view.spread.side.side_slope_limit_deg, s.view.spread.balance.fore_load_n,
                       s.view.spread.step_spare_n};
    for (int k = 0; k < 3; k++) {
        double mean = sum[k] / TRIALS, sd = sqrt(squares[k] / TRIALS - mean * mean);
        NEAR(first[k] / sd, 1, 0.05);
    }
}

/* The same for the ways through the house, which a tape gave. */
static void ways_are_as_uncertain_as_the_tape(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct stood s;
    enum { TRIALS = 5000 };
    reference_dog(w, &c);
    stand(&c, &s);
    const double tape = s.bench.set->bench.tape_within_mm;
    uint64_t seed = 20260102;
    double sum[2] = {0}, squares[2] = {0};
    assert_true(tape > 0);
    for (int i = 0; i < TRIALS; i++) {
        double width = s.view.width_mm + tape * any_normal(&seed);
        struct corridor_in in = {820 + tape * any_normal(&seed), 780 + tape * any_normal(&seed),
                                 width};
        struct corridor_out turn;
        OK(corridor_solve(&in, &turn, f));
        double got[2] = {700 + tape * any_normal(&seed) - width - s.view.door_spare_mm,
                         turn.longest_mm - s.view.length_mm - tape * any_normal(&seed) -
                             s.view.corner_spare_mm};
        for (int k = 0; k < 2; k++) {
            sum[k] += got[k];
            squares[k] += got[k] * got[k];
        }
    }
    double first[2] = {s.view.door_within_mm, s.view.corner_within_mm};
    for (int k = 0; k < 2; k++) {
        double mean = sum[k] / TRIALS;
        NEAR(first[k] / sqrt(squares[k] / TRIALS - mean * mean), 1, 0.05);
    }
}

static void the_home_is_answered(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct stood s;
    reference_dog(w, &c);
    stand(&c, &s);
    assert_int_equal(answer_to(&s.view, "ramp, grip")->verdict, BENCH_YES);
    assert_int_equal(answer_to(&s.view, "door")->verdict, BENCH_YES);
    s.bench.house.ramp_deg = s.view.out.balance.traction_limit_deg - 0.01;
    s.bench.house.door_mm = s.view.width_mm - 5;
    s.bench.house.step_mm = s.fit.setting.wheel_mm / 2;
    s.bench.house.corridor_in_mm = 100;
    bench_try(&s.bench, &s.fit.setting, &s.view);
    assert_int_equal(answer_to(&s.view, "ramp, grip")->verdict, BENCH_CLOSE);
    assert_int_equal(answer_to(&s.view, "door")->verdict, BENCH_NO);
    assert_non_null(strstr(answer_to(&s.view, "door")->says, "lacks 0.5 +- 0.7 cm"));
    assert_int_equal(answer_to(&s.view, "threshold")->verdict, BENCH_NO);
    assert_int_equal(answer_to(&s.view, "corner")->verdict, BENCH_NO);
    s.bench.house = (struct bench_house){
        .ramp_deg = NAN, .step_mm = NAN, .door_mm = NAN, .corridor_in_mm = NAN};
    bench_try(&s.bench, &s.fit.setting, &s.view);
    for (size_t i = 0; i < s.view.answer_count; i++)
        assert_int_equal(s.view.answers[i].verdict, BENCH_UNKNOWN);
}

static void nothing_past_a_limit_is_without_a_word(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct stood s;
    reference_dog(w, &c);
    put(w, &c.visit, "neck_lesion", "yes");
    stand(&c, &s);
    struct bench_number n[BENCH_NUMBERS_MOST];
    for (double axle = 200; axle < 460; axle += 5) {
        s.fit.setting.axle_mm = axle;
        bench_try(&s.bench, &s.fit.setting, &s.view);
        if (s.view.refused) {
            assert_true(s.view.why[0] != '\0');
            continue;
        }
        size_t count = bench_numbers(&s.bench, &s.fit.setting, &s.view, n), past = 0;
        for (size_t i = 0; i < count; i++)
            past += n[i].past;
        bool presses = s.view.out.balance.bar_load_n > 0.5;
        bool over = s.view.out.balance.relief > 0.30;
        bool more = s.view.out.balance.fore_share_now > s.bench.dog.fore_share;
        assert_int_equal(past, presses + over + more);
        assert_true(s.view.warning_count >= past);
    }
}

static void the_axle_moves_fine_and_coarse(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct stood s;
    reference_dog(w, &c);
    stand(&c, &s);
    struct fit_setting at = s.fit.setting;
    at.axle_mm = 347;
    NEAR(bench_move(&s.bench, &at, 1, false), 350, 1e-9);
    NEAR(bench_move(&s.bench, &at, -1, false), 345, 1e-9);
    NEAR(bench_move(&s.bench, &at, 1, true), 360, 1e-9);
    NEAR(bench_move(&s.bench, &at, -1, true), 340, 1e-9);
    at.axle_mm = 440; /* the last: 1.1 of 400 mm */
    NEAR(bench_move(&s.bench, &at, 1, false), 440, 1e-9);
    NEAR(bench_move(&s.bench, &at, 1, true), 440, 1e-9);
}

static void four_wheels_have_a_range(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct stood s;
    reference_dog(w, &c);
    put(w, &c.visit, ID_SUPPORT, "four");
    stand(&c, &s);
    assert_true(s.view.four);
    assert_true(s.view.range.fore_low_n < s.view.range.fore_high_n);
    struct bench_number n[BENCH_NUMBERS_MOST];
    size_t count = bench_numbers(&s.bench, &s.fit.setting, &s.view, n), told = 0;
    for (size_t i = 0; i < count; i++)
        told += strcmp(n[i].label, "front clear") == 0 || strstr(n[i].value, " to ") != NULL;
    assert_int_equal(told, 2);
}

/* ---- planning ahead -------------------------------------------------------------------------- */

static void the_plan_says_when_front_wheels_come(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct stood s;
    struct bench_stage plan[BENCH_STAGES];
    reference_dog(w, &c);
    put(w, &c.visit, "hind_support_share", "30 %");
    stand(&c, &s);
    bench_plan(&s.bench, &s.fit.setting, plan);
    NEAR(plan[0].hind_support, 0.30, 1e-9);
    NEAR(plan[1].hind_support, 0.15, 1e-9); /* half of it is kept */
    NEAR(plan[2].hind_support, 0, 1e-9);
    NEAR(plan[1].wanted, 0.20, 1e-9);
    NEAR(plan[2].wanted, 0.30, 1e-9);
    assert_true(plan[2].found && plan[2].step < plan[1].step + 1); /* further forward */
    assert_false(plan[2].front_wheels);
    s.bench.house.ramp_deg = 9; /* the grip of the forward steps is used up */
    bench_plan(&s.bench, &s.fit.setting, plan);
    assert_true(plan[2].front_wheels);
    assert_non_null(strstr(plan[2].why, "grips"));
    s.bench.hind_later = 0.20; /* said by the practitioner: stands before the template's */
    bench_plan(&s.bench, &s.fit.setting, plan);
    NEAR(plan[1].hind_support, 0.25, 1e-9);
    NEAR(plan[2].hind_support, 0.20, 1e-9);
}

/* ---- the build sheet ------------------------------------------------------------------------- */

static void a_sheet_needs_a_setting_and_measures(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct build b;
    reference_dog(w, &c);
    REFUSED(build_make(&c, &b, f), FAULT_MISSING, "no axle position is kept yet");
    put(w, &c.visit, ID_FIT_AXLE, "340 mm");
    put(w, &c.visit, ID_FIT_FRAME, "level_small");
    OK(record_strike(&w->cb, &c.visit, "thigh_depth.1", "the tape slipped", f));
    REFUSED(build_make(&c, &b, f), FAULT_MISSING, "pelvic rest: thigh depth is not measured");
}

static void dimensions_follow_from_measures(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct build b;
    reference_dog(w, &c);
    put(w, &c.visit, ID_FIT_AXLE, "340 mm");
    put(w, &c.visit, ID_FIT_FRAME, "level_small");
    OK(build_make(&c, &b, f));
    assert_int_equal(b.dimension_count, 2);
    const struct build_dimension *width = &b.dimensions[0], *rest = &b.dimensions[1];
    NEAR(width->snug_mm, 201, 1e-9);
    NEAR(width->ease_mm, 10, 1e-9);
    /* moved to the long side by what the measure may be off, then up to whole millimetres */
    NEAR(width->build_mm, ceil(211 + width->measures_within_mm), 1e-9);
    assert_true(width->measures_within_mm > 1 && width->fixed);
    assert_non_null(strstr(width->from, "hip width 201 mm"));
    assert_non_null(strstr(width->from, "2 readings 2 mm apart"));
    NEAR(rest->ease_mm, 12, 1e-9); /* movement not known: the most room */
    put(w, &c.visit, "hind_movement", "none");
    OK(build_make(&c, &b, f));
    NEAR(b.dimensions[1].ease_mm, 4, 1e-9);
    NEAR(b.ahead_mm, 40, 1e-9);
    bool once = false;
    for (size_t i = 0; i < b.overridden.count; i++)
        once = once || strstr(b.overridden.lines[i], "measured once only") != NULL;
    assert_true(once);
    beside(w, c.visit.entity, "hip_width.2", "212 mm");
    look_again(w, &c);
    OK(build_make(&c, &b, f));
    bool told = false;
    for (size_t i = 0; i < b.overridden.count; i++)
        told = told || (strstr(b.overridden.lines[i], "2nd CONFLICT:") != NULL &&
                        strstr(b.overridden.lines[i], "or 21.2 cm by ?. Settle it") != NULL);
    assert_true(told);
}

static void a_frozen_sheet_stays_and_versions_say_what_changed(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct build b;
    int version = 0;
    somebody(w, "MK", "Mara Kell");
    reference_dog(w, &c);
    REFUSED(build_frozen(&c, &b, f), FAULT_MISSING, "nothing is frozen");
    put(w, &c.visit, ID_FIT_AXLE, "340 mm");
    put(w, &c.visit, ID_FIT_FRAME, "level_small");
    OK(build_freeze(&c, &version, f));
    assert_int_equal(version, 1);
    REFUSED(build_freeze(&c, &version, f), FAULT_REFUSED, "nothing changed since version 1");
    put(w, &c.visit, "thigh_depth.1", "95 mm");
    OK(build_frozen(&c, &b, f)); /* what was frozen does not move with the record */
    NEAR(b.dimensions[1].snug_mm, 90, 1e-9);
    assert_string_equal(b.by, "MK");
    put(w, &c.visit, ID_FIT_AXLE, "320 mm");
    OK(build_freeze(&c, &version, f));
    assert_int_equal(version, 2);
    look_again(w, &c);
    OK(build_frozen(&c, &b, f));
    assert_int_equal(b.version, 2);
    bool axle = false, rest = false;
    for (size_t i = 0; i < b.changes.count; i++) {
        axle = axle || strcmp(b.changes.lines[i], "axle 320 mm, was 340") == 0;
        rest = rest || strstr(b.changes.lines[i], "pelvic rest") != NULL;
    }
    assert_true(axle && rest);
}

static void json_comes_back_as_it_went(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct build b, back;
    struct text one, two;
    reference_dog(w, &c);
    put(w, &c.dog, ID_DOG_NAME, "Zo\xC3\xAB \"the: {dog}\" # no\nline");
    put(w, &c.visit, ID_FIT_AXLE, "340 mm");
    put(w, &c.visit, ID_FIT_FRAME, "level_small");
    put(w, &c.visit, ID_FIT_PARTS, "weight_behind");
    OK(build_make(&c, &b, f));
    text_init(&one, 100000);
    text_init(&two, 100000);
    build_json(&b, &one);
    OK(build_read(one.s, w->arena, &back, f));
    build_json(&back, &two);
    assert_string_equal(one.s, two.s);
    assert_string_equal(back.dog, b.dog);
    NEAR(back.out.fore_load_n, b.out.fore_load_n, 0);
    assert_int_equal(back.accessories.count, 1);
    REFUSED(build_read("{\"kind\": \"other\"}", w->arena, &back, f), FAULT_DAMAGE,
            "cannot be read");
    REFUSED(build_read("not", w->arena, &back, f), FAULT_DAMAGE, "cannot be read");
    text_free(&one);
    text_free(&two);
}

/* At the fitting nobody measures legs and doors again: what an earlier visit knows is used, and
 * said; what this one has measured anew goes before it. */
static void a_later_visit_goes_on_from_the_one_that_measured(void **state)
{
    struct world *w = *state;
    struct chart c, later;
    struct fitting fit;
    struct bench bench;
    reference_dog(w, &c);
    put(w, &c.visit, "threshold_height", "15 mm");
    put(w, &c.visit, ID_FIT_AXLE, "320 mm");
    put(w, &c.visit, ID_FIT_FRAME, "level_small");
    put(w, &c.visit, ID_FIT_WHEEL, "180 mm");
    look_again(w, &c);
    fitting_look(&c, &fit);
    assert_string_equal(fit.kept_on, "");
    assert_string_equal(fit.dog.measured_on, "");
    OK(visit_new(&w->cb, w->arena, c.dog.entity, "2026-12-15", &later, f));
    put(w, &later.visit, ID_SUPPORT, "level");
    put(w, &later.visit, "body_mass.1", "13 kg");
    fitting_look(&later, &fit);
    assert_string_equal(fit.why, "");
    NEAR(fit.dog.stance_mm, 400, 1e-9);
    NEAR(fit.dog.kg, 13, 1e-9);
    assert_true(fit.dog.stance_within > 0);
    NEAR(fit.setting.axle_mm, 320, 1e-9);
    NEAR(fit.setting.wheel_mm, 180, 1e-9);
    assert_true(fit.chosen_mm == 0); /* where it stands is not yet chosen at this visit */
    assert_string_equal(fit.kept_on, record_text(&c.visit, ID_VISIT_DAY));
    assert_string_equal(fit.dog.measured_on, record_text(&c.visit, ID_VISIT_DAY));
    bench_open(&later, &fit, &bench);
    NEAR(bench.house.step_mm, 15, 1e-9);
    assert_true(bench.house.ramp_deg > 5);
}

/* ---- how near the model came ----------------------------------------------------------------- */

static void a_fitting(struct world *w, const char *predicted, const char *measured)
{
    struct chart c, later;
    a_visit(w, &c);
    put(w, &c.visit, ID_BUILD_LOAD, predicted);
    OK(visit_new(&w->cb, w->arena, c.dog.entity, "2026-12-15", &later, f));
    put(w, &later.visit, ID_FIT_MEASURED, measured);
}

/* Where statics gives a range only there is nothing to be right or wrong about. */
static void four_wheels_foretell_no_load(void **state)
{
    struct world *w = *state;
    struct chart c;
    int version = 0;
    somebody(w, "MK", "Mara Kell");
    reference_dog(w, &c);
    put(w, &c.visit, ID_FIT_AXLE, "340 mm");
    put(w, &c.visit, ID_FIT_FRAME, "level_small");
    OK(build_freeze(&c, &version, f));
    look_again(w, &c);
    assert_string_not_equal(record_text(&c.visit, ID_BUILD_LOAD), "");
    struct stood s;
    put(w, &c.visit, ID_SUPPORT, "four");
    stand(&c, &s);
    OK(fitting_keep(&c, &s.fit.setting, f));
    OK(build_freeze(&c, &version, f));
    assert_int_equal(version, 2);
    look_again(w, &c);
    assert_string_equal(record_text(&c.visit, ID_BUILD_LOAD), "");
}

static void the_models_own_record_is_kept(void **state)
{
    struct world *w = *state;
    struct track_out t;
    REFUSED(bench_track(&w->cb, w->arena, &t, f), FAULT_MISSING, "nothing to compare");
    a_fitting(w, "5.4 kg", "5.6 kg");
    OK(bench_track(&w->cb, w->arena, &t, f));
    assert_int_equal(t.n, 1);
    NEAR(t.mean, 0.2, 1e-9);
    assert_true(isnan(t.sd));
    a_fitting(w, "8 kg", "7.8 kg");
    a_fitting(w, "20 kg", "20.6 kg");
    struct chart alone;
    a_visit(w, &alone); /* measured, and nothing was predicted: no pair */
    put(w, &alone.visit, ID_FIT_MEASURED, "4 kg");
    OK(bench_track(&w->cb, w->arena, &t, f));
    assert_int_equal(t.n, 3);
    NEAR(t.mean, 0.2, 1e-9);
    NEAR(t.sd, 0.4, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(every_number_is_that_of_its_calculation),
        TEST(uncertainty_agrees_with_random_trials),
        TEST(ways_are_as_uncertain_as_the_tape),
        TEST(the_home_is_answered),
        TEST(nothing_past_a_limit_is_without_a_word),
        TEST(the_axle_moves_fine_and_coarse),
        TEST(four_wheels_have_a_range),
        TEST(the_plan_says_when_front_wheels_come),
        TEST(a_sheet_needs_a_setting_and_measures),
        TEST(dimensions_follow_from_measures),
        TEST(a_frozen_sheet_stays_and_versions_say_what_changed),
        TEST(json_comes_back_as_it_went),
        TEST(a_later_visit_goes_on_from_the_one_that_measured),
        TEST(four_wheels_foretell_no_load),
        TEST(the_models_own_record_is_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
