#include "casebook_world.h"

/* The mechanics reference's worked example (12 kg, stance 400 mm, frame 1.2 kg at 260 mm, wheels
 * 0.8 kg): 0.1 and 0.0667 of the dog's mass, 0.65, 0.95 and 0.05 of its stance in the test set. */
static void the_reference_dog(struct world *w, struct chart *c)
{
    a_visit(w, c);
    put(w, &c->visit, ID_SUPPORT, "level");
    put(w, &c->visit, "body_mass.1", "12 kg");
    put(w, &c->visit, "stance_length.1", "400 mm");
    put(w, &c->visit, "withers_height.1", "420 mm");
    put(w, &c->visit, "fore_scale.1", "7.2 kg"); /* 60 % */
    put(w, &c->visit, "hind_scale.1", "4.8 kg");
}

static struct fitting look(const struct chart *c)
{
    struct fitting fit;
    fitting_look(c, &fit);
    return fit;
}

static void what_is_missing_is_said(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    assert_string_equal(look(&c).why, "decide on a support first");
    put(w, &c.visit, ID_SUPPORT, "nothing");
    assert_string_equal(look(&c).why, "no support: nothing to fit");
    put(w, &c.visit, ID_SUPPORT, "level");
    assert_string_equal(look(&c).why, "still to measure: weight, stance length, withers height");
    put(w, &c.visit, "body_mass.1", "80 kg");
    put(w, &c.visit, "stance_length.1", "400 mm");
    put(w, &c.visit, "withers_height.1", "420 mm");
    struct fitting fit = look(&c);
    assert_null(fit.frame);
    assert_int_equal(fit.count, 0);
    assert_non_null(strstr(fit.why, "80 kg"));
    assert_int_equal(fitting_state(&c).progress, PROGRESS_NOT_ASKED);
    assert_string_equal(fitting_state(&c).summary, fit.why);
}

static void the_balance_gets_this_dogs_numbers(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    put(w, &c.visit, "hind_support_share", "15 %");
    struct fitting fit = look(&c);
    assert_string_equal(fit.why, "");
    assert_string_equal(fit.frame->id, "level_small");
    NEAR(fit.in.dog_mass_kg, 12, 1e-9);
    NEAR(fit.in.stance_length_mm, 400, 1e-9);
    NEAR(fit.in.fore_share, 0.6, 1e-9);
    NEAR(fit.in.hind_support, 0.15, 1e-9);
    NEAR(fit.in.dog_cg_height_mm, 252, 1e-9); /* 0.6 of 420 */
    NEAR(fit.in.rest_mm, 380, 1e-9);
    NEAR(fit.in.bar_mm, 20, 1e-9);
    NEAR(fit.in.frame_mass_kg, 1.2, 1e-9);
    NEAR(fit.in.frame_cg_mm, 260, 1e-9);
    NEAR(fit.in.wheels_mass_kg, 0.8, 1e-6);
    NEAR(fit.in.wheel_diameter_mm, 202, 1e-9);
    assert_string_equal(fit.fore_share_from, "two scales");
}

static void the_share_on_the_fore_feet_falls_back_and_says_so(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    OK(record_strike(&w->cb, &c.visit, "hind_scale.1", "it stood on the rug", f));
    struct fitting fit = look(&c);
    NEAR(fit.in.fore_share, 0.604, 1e-9);
    assert_string_equal(fit.fore_share_from, "usual for dogs");
    put(w, &c.dog, ID_DOG_BREED, "Dachshund");
    fit = look(&c);
    NEAR(fit.in.fore_share, 0.63, 1e-9);
    assert_string_equal(fit.fore_share_from, "usual for a long and low dog");
}

static void each_position_is_tried(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    struct fitting fit = look(&c);
    assert_int_equal(fit.count, 10); /* 260, 280, ... 440 mm */
    /* reference: axle 340 mm leaves 65.070 N on the fore feet, 0.9216 of normal, bar -3.230 N */
    const struct fit_row *r = &fit.rows[4];
    NEAR(r->axle_mm, 340, 1e-6);
    NEAR(r->out.fore_load_n, 65.070, 1e-3);
    NEAR(r->out.relief, 1 - 0.9216, 1e-4);
    NEAR(r->out.bar_load_n, -3.230, 1e-3);
    assert_true(fit.rows[0].over_relief);  /* 260 mm: 36 % off, ceiling 30 % */
    assert_false(fit.rows[1].over_relief); /* 280 mm: 27 % off */
    assert_false(fit.has_ramp);
    assert_int_equal(fit.proposed, 5); /* 360 mm, nearest to the neutral axle at 356.970 mm */
    assert_non_null(strstr(fit.why_proposed, "nearest to neutral"));
    assert_int_equal(fit.chosen, fit.count);
}

static void the_homes_ramp_limits_what_is_proposed(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    put(w, &c.visit, "ramp_rise", "158.384 mm");
    put(w, &c.visit, "ramp_run", "1000 mm"); /* 9.00 deg */
    struct fitting fit = look(&c);
    assert_true(fit.has_ramp);
    NEAR(fit.ramp_deg, 9.0, 0.01);
    for (size_t i = 0; i < fit.count; i++) {
        assert_int_equal(fit.rows[i].grip_short,
                         fit.rows[i].out.traction_limit_deg <= fit.ramp_deg);
        assert_int_equal(fit.rows[i].tip_short, fit.rows[i].out.uphill_limit_deg <= fit.ramp_deg);
    }
    /* reference: grips up to 9.196 deg at 320 mm and 8.370 deg at 300 mm */
    assert_true(fit.rows[2].grip_short);
    assert_false(fit.rows[3].grip_short);
    put(w, &c.visit, "front_legs", "knuckles"); /* relief is wanted, as much as there is */
    fit = look(&c);
    assert_int_equal(fit.proposed, 3);
    assert_non_null(strstr(fit.why_proposed, "Weak in front"));

    put(w, &c.visit, "ramp_rise", "1000 mm"); /* 45 deg: nothing climbs that */
    fit = look(&c);
    assert_int_equal(fit.proposed, fit.count);
    assert_string_equal(fitting_state(&c).summary, "no position of this frame keeps all limits");
}

static void relief_goes_as_far_as_the_ceiling(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    put(w, &c.visit, "front_legs", "knuckles");
    struct fitting fit = look(&c);
    assert_true(fit.want.by_rule && fit.want.no_press);
    NEAR(fit.want.relief, 0.30, 1e-12);
    /* 280 mm takes 27 % off; 260 mm would take 36 %, over the ceiling */
    assert_int_equal(fit.proposed, 1);
    assert_true(fit.rows[0].over_relief);
}

static void nothing_presses_where_nothing_may(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    put(w, &c.visit, "neck_lesion", "yes");
    struct fitting fit = look(&c);
    assert_true(fit.want.no_press && !fit.want.by_rule);
    /* 360 mm presses with 0.545 N, more than half a newton; 340 mm lifts */
    assert_int_equal(fit.proposed, 4);
    assert_non_null(strstr(fit.why_proposed, "neck"));
}

static void uncertainty_comes_from_the_readings(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    struct fitting fit = look(&c);
    /* one reading: twice the rectangle of what two may part by */
    NEAR(fit.dog.kg_within, 2 * 0.12 / sqrt(12), 1e-9); /* 1 % of 12 kg */
    put(w, &c.visit, "body_mass.2", "12.6 kg");
    fit = look(&c);
    NEAR(fit.dog.kg_within, 0.3, 1e-9); /* half of what they parted by */
    put(w, &c.visit, "body_mass.2", "12 kg");
    fit = look(&c);
    NEAR(fit.dog.kg_within, 0.12 / sqrt(12), 1e-9);
    struct balance_in u = fit_within(w->set, &fit.dog, &fit.setting);
    NEAR(u.friction, 0.1, 1e-12);
    NEAR(u.dog_cg_height_mm, 0.05 * 420, 1e-9);
    NEAR(u.frame_mass_kg, 0.12, 1e-9);
    assert_true(fit.dog.fore_share_within > 0 && fit.dog.fore_share_within < 0.03);
}

static void accessories_have_mass_and_place(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    put(w, &c.visit, ID_FIT_PARTS, "weight_behind");
    struct fitting fit = look(&c);
    assert_true(fit.setting.has[0]);
    NEAR(fit.in.frame_mass_kg, 1.2 + 1.2, 1e-9); /* a tenth of the dog, at 500 mm */
    NEAR(fit.in.frame_cg_mm, (1.2 * 260 + 1.2 * 500) / 2.4, 1e-9);
    NEAR(fit.in.frame_cg_height_mm, (0.5 * 420 + 0.25 * 420) / 2, 1e-9);
}

static void a_whole_setting_is_kept(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    put(w, &c.visit, "hip_width.1", "200 mm");
    struct fitting fit = look(&c);
    struct fit_setting s = fit.setting;
    s.axle_mm = 333;
    s.wheel_mm = 250;
    s.track_mm = 400;
    s.has[0] = true;
    OK(fitting_keep(&c, &s, f));
    look_again(w, &c);
    fit = look(&c);
    NEAR(fit.setting.axle_mm, 333, 1e-9);
    NEAR(fit.setting.wheel_mm, 250, 1e-9);
    NEAR(fit.in.wheel_diameter_mm, 250, 1e-9);
    NEAR(fit_track(w->set, &fit.dog, &fit.setting), 400 + 0.5 * 200, 1e-9);
    assert_true(fit.setting.has[0]);
    assert_int_equal(fit.chosen, 4); /* 340 mm is the nearest of the rows */
    s.axle_mm = 100;
    REFUSED(fitting_keep(&c, &s, f), FAULT_REFUSED, "cannot be used");
    put(w, &c.visit, ID_SUPPORT, "four");
    REFUSED(fitting_keep(&c, &s, f), FAULT_REFUSED, "decided on is a four-wheel frame");
}

static void a_choice_is_kept(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    struct fitting fit = look(&c);
    assert_string_equal(fitting_state(&c).summary, "proposed: axle 360 mm, relief 3 %");
    REFUSED(fitting_choose(&c, &fit, fit.count, f), FAULT_MISSING, "no such axle");
    OK(fitting_choose(&c, &fit, 4, f));
    look_again(w, &c);
    assert_string_equal(record_text(&c.visit, ID_FIT_AXLE), "340 mm");
    assert_string_equal(record_text(&c.visit, ID_FIT_FRAME), "level_small");
    fit = look(&c);
    assert_int_equal(fit.chosen, 4);
    assert_int_equal(fitting_state(&c).progress, PROGRESS_DONE);
    assert_string_equal(fitting_state(&c).summary, "axle 340 mm, relief 8 %");
}

static void a_frame_that_cannot_be_moved_has_one_position(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    put(w, &c.visit, "body_mass.1", "30 kg");
    struct fitting fit = look(&c);
    assert_string_equal(fit.frame->id, "level_large");
    assert_int_equal(fit.count, 1);
    NEAR(fit.rows[0].axle_mm, 360, 1e-9);
}

static void what_the_model_refuses_is_shown_as_refused(void **state)
{
    struct world *w = *state;
    struct chart c;
    the_reference_dog(w, &c);
    put(w, &c.visit, "fore_scale.1", "1.2 kg"); /* a tenth in front: the frame tips as it stands */
    put(w, &c.visit, "hind_scale.1", "10.8 kg");
    struct fitting fit = look(&c);
    assert_int_equal(fit.count, 10);
    assert_true(fit.rows[0].refused);
    assert_true(fit.rows[0].why[0] != '\0');
    REFUSED(fitting_choose(&c, &fit, 0, f), FAULT_REFUSED, "cannot be used");
    for (size_t i = 0; i < fit.count; i++)
        if (fit.rows[i].refused)
            assert_int_not_equal(fit.proposed, i);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(what_is_missing_is_said),
        TEST(the_balance_gets_this_dogs_numbers),
        TEST(the_share_on_the_fore_feet_falls_back_and_says_so),
        TEST(each_position_is_tried),
        TEST(the_homes_ramp_limits_what_is_proposed),
        TEST(relief_goes_as_far_as_the_ceiling),
        TEST(nothing_presses_where_nothing_may),
        TEST(uncertainty_comes_from_the_readings),
        TEST(accessories_have_mass_and_place),
        TEST(a_whole_setting_is_kept),
        TEST(a_choice_is_kept),
        TEST(a_frame_that_cannot_be_moved_has_one_position),
        TEST(what_the_model_refuses_is_shown_as_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
