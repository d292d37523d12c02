/* The next step of the axle against statics done by hand, with the shipped templates.
 *
 * A dog of 20 kg standing 400 mm, frame 2 kg at 260 mm (0.65 of the stance), wheels at the axle,
 * which stands at 276, 300, 324, 348, 372, 396 or 420 mm. About the line of the fore feet, with p
 * the share they carry normally, hind feet carrying nothing:
 *
 *   wheels * axle = 20 (1 - p) 400 + 2 * 260 + own weight * axle
 *   fore = 22 - (8000 (1 - p) + 520) / axle          relief = 1 - fore / (20 p)
 */
#include "casebook/axle_plan.h"
#include "casebook_practice.h"
#include <math.h>

static double fore_by_hand(double share, double axle)
{
    return 22 - (8000 * (1 - share) + 520) / axle;
}

static double relief_by_hand(double share, double axle)
{
    return 1 - fore_by_hand(share, axle) / (20 * share);
}

/* The fitting, and what was weighed there: 12 kg of 20 in front. */
static const char fitted[] = "practitioner MK Mara Kell\n"
                             "caregiver Ann Petrie\ndog Biscuit\ndog.body_type = other\n"
                             "visit 2026-08-01\n"
                             "body_mass = 20 kg, 20 kg\nfore_scale = 12 kg, 12 kg\n"
                             "hind_scale = 8 kg, 8 kg\nstance_length = 40 cm, 40 cm\n"
                             "withers_height = 50 cm, 50 cm\nhip_width = 18 cm, 18 cm\n"
                             "affected = hind\nten_steps = no\nhind_movement = none\n"
                             "hind_support_share = 0\nlife_stage = grown\nprogressive = no\n"
                             "fore_strength = sound\nfore_joints = no\nneck_lesion = no\n";

static const char rising[] = "visit 2026-09-01\nbody_mass = 20 kg, 20 kg\n"
                             "fore_scale = 12.6 kg, 12.6 kg\nhind_scale = 7.4 kg, 7.4 kg\n"
                             "visit 2026-10-01\nbody_mass = 20 kg, 20 kg\n"
                             "fore_scale = 13.3 kg, 13.3 kg\nhind_scale = 6.7 kg, 6.7 kg\n"
                             "visit 2026-11-01\nbody_mass = 20 kg, 20 kg\n"
                             "fore_scale = 14 kg, 14 kg\nhind_scale = 6 kg, 6 kg\n";

/* `more` belongs to the fitting, `later` to the visits after it. */
static bool planned(struct world *w, const char *more, const char *axle, const char *later,
                    struct axle_plan *plan)
{
    struct chart *c = arena_alloc(w->arena, sizeof *c);
    struct past past;
    fed(w, c,
        arena_printf(w->arena, "%s%ssupport stepped because a test\naxle %s\nfit.tried = yes\n%s",
                     fitted, more, axle, later));
    OK(past_load(c, &past, f));
    return axle_plan_look(&past, plan);
}

static void the_step_is_right(const struct axle_plan *plan, double share, size_t now, size_t next)
{
    static const double places[] = {276, 300, 324, 348, 372, 396, 420};
    const struct fit_row *rows = plan->fit.rows;
    assert_int_equal(plan->fit.count, sizeof places / sizeof *places);
    assert_int_equal(plan->now, now);
    assert_int_equal(plan->next, next);
    for (size_t i = 0; i < plan->fit.count; i++) {
        assert_true(fabs(rows[i].axle_mm - places[i]) < 1e-9);
        assert_true(fabs(rows[i].out.fore_load_n / STANDARD_GRAVITY -
                         fore_by_hand(share, places[i])) < 1e-6);
        assert_true(fabs(rows[i].out.relief - relief_by_hand(share, places[i])) < 1e-9);
    }
}

/* From 60 to 70 %: the neutral place hardly moves (357 to 351 mm), yet the front carries more. */
static void a_rising_share_moves_the_axle_one_step(void **state)
{
    struct world *w = *state;
    struct axle_plan plan;
    assert_true(planned(w, "", "348 mm", rising, &plan));
    assert_true(plan.opened);
    the_step_is_right(&plan, 0.7, 3, 2);
    assert_string_equal(plan.step, "from step 4 of 7 (348 mm) to step 3 (324 mm), 24 mm "
                                   "forward; a veterinarian decides");
    assert_non_null(strstr(plan.leads_to, "relief 3 -> 7 %"));
    assert_non_null(strstr(plan.leads_to, "front feet 13.6 -> 13.0 kg"));
    assert_non_null(strstr(plan.leads_to, "grips up 12 -> 11 deg"));
    assert_string_equal(plan.because, "the range has opened");
}

static void what_stays_as_it_is_moves_nothing(void **state)
{
    struct world *w = *state;
    struct axle_plan plan;
    assert_false(planned(w, "", "348 mm", "visit 2026-09-01\nbody_mass = 20 kg\n", &plan));
}

/* It is not taken back at every review. */
static void a_place_beside_the_proposal_stays(void **state)
{
    struct world *w = *state;
    struct axle_plan plan;
    assert_false(planned(w, "", "396 mm", "visit 2026-09-01\nbody_mass = 20 kg\n", &plan));
}

/* It turns out to be progressive: 30 % are wanted, and the foremost step gives 29. */
static void a_rule_that_wants_relief_says_how_much(void **state)
{
    struct world *w = *state;
    struct axle_plan plan;
    assert_true(planned(w, "", "348 mm", "visit 2026-09-01\nprogressive = yes\n", &plan));
    assert_false(plan.opened);
    the_step_is_right(&plan, 0.6, 3, 0);
    assert_non_null(strstr(plan.leads_to, "relief 6 -> 29 %"));
    assert_non_null(strstr(plan.because, "30 % wanted"));
}

static void at_the_end_of_the_steps_something_else_is_next(void **state)
{
    struct world *w = *state;
    struct axle_plan plan;
    assert_true(planned(w, "", "276 mm", rising, &plan));
    assert_int_equal(plan.next, plan.fit.count);
    assert_non_null(strstr(plan.leads_to, "foremost step: front wheels, or four wheels"));
}

/* On the ramp of the home (11.2 deg) the front feet would slip one step further forward: by hand
 * tan b = 0.5 (324 - 143.7) / (324 + 0.5 * 286.3), b = 10.9 deg. */
static void no_step_past_the_grip_on_the_ramp(void **state)
{
    struct world *w = *state;
    struct axle_plan plan;
    assert_true(planned(w, "ramp_rise = 19.8 cm\nramp_run = 100 cm\n", "348 mm", rising, &plan));
    assert_int_equal(plan.next, plan.fit.count);
    assert_non_null(strstr(plan.leads_to, "the front feet grip up to 11 deg and the ramp"));
}

static void without_a_fitting_nothing_is_proposed(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct past past;
    struct axle_plan plan;
    fed(w, &c,
        arena_printf(w->arena, "%ssupport stepped because a test\naxle 348 mm\n%s", fitted,
                     rising));
    OK(past_load(&c, &past, f));
    assert_false(axle_plan_look(&past, &plan));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHIPPED(a_rising_share_moves_the_axle_one_step),
        SHIPPED(what_stays_as_it_is_moves_nothing),
        SHIPPED(a_place_beside_the_proposal_stays),
        SHIPPED(a_rule_that_wants_relief_says_how_much),
        SHIPPED(at_the_end_of_the_steps_something_else_is_next),
        SHIPPED(no_step_past_the_grip_on_the_ramp),
        SHIPPED(without_a_fitting_nothing_is_proposed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
