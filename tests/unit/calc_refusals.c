/* What is refused, with which words; and that the rest answers in plain numbers. */
#include "base/fault.h"
#include "calc/balance.h"
#include "calc/care.h"
#include "calc/dimension.h"
#include "calc/energy.h"
#include "calc/four.h"
#include "calc/interval.h"
#include "calc/proportion.h"
#include "calc/repeat.h"
#include "calc/robust.h"
#include "calc/slope.h"
#include "calc/stability.h"
#include "calc/trend.h"
#include "tests/reference/oracle_dog.h"
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#undef fail /* cmocka's; ours is meant here */

/* The call says no, and its words hold `words`. */
#define refuses(call, words)                                                                       \
    do {                                                                                           \
        struct fault f = {FAULT_NONE, ""};                                                         \
        assert_false(call);                                                                        \
        if (f.kind == FAULT_NONE || !strstr(f.text, words)) {                                      \
            print_error("\"%s\" does not hold \"%s\"\n", f.text, words);                           \
            _fail(__FILE__, __LINE__);                                                             \
        }                                                                                          \
    } while (0)

static void every_key_of_the_balance(void **state)
{
    (void)state;
    struct balance_out out;
    for (size_t i = 0; i < balance_keys_in_count; i++) {
        const struct calc_key *key = &balance_keys_in[i];
        const double wrong[] = {key->low - 1, key->high * 2 + 1, INFINITY, -INFINITY};
        struct balance_in in = oracle_dog(340);
        if (strcmp(key->name, "relief") == 0)
            in.from_relief = true;
        if (key->need == KEY_REQUIRED) {
            calc_put(key, &in, NAN);
            refuses(balance_solve(&in, &out, &f), key->name);
        }
        for (size_t k = 0; k < sizeof wrong / sizeof wrong[0]; k++) {
            calc_put(key, &in, wrong[k]);
            refuses(balance_solve(&in, &out, &f), key->name);
        }
    }
}

static void frames_that_do_not_stand(void **state)
{
    (void)state;
    struct balance_out out;
    struct balance_in in = oracle_dog(340);
    in.axle_mm = 120;
    refuses(balance_solve(&in, &out, &f), "axle_mm 120 tips the frame backwards");
    in = oracle_dog(340);
    in.slope_deg = 60;
    refuses(balance_solve(&in, &out, &f), "slope_deg 60 tips the frame backwards");
    in.slope_deg = -60;
    refuses(balance_solve(&in, &out, &f), "slope_deg -60 lifts the wheels");
    in = oracle_dog(340);
    in.rest_mm = in.bar_mm + 19;
    refuses(balance_solve(&in, &out, &f), "rest_mm 39 and bar_mm 20 lie too close");
    in = oracle_dog(340);
    in.axle_mm = NAN;
    refuses(balance_solve(&in, &out, &f), "axle_mm or relief");
    in.from_relief = true;
    refuses(balance_solve(&in, &out, &f), "axle_mm or relief");
    in.relief = -0.99; /* all the weight and more in front: no axle does that */
    refuses(balance_solve(&in, &out, &f), "relief -0.99 is out of reach");
    struct balance_in u = {.axle_mm = -1};
    in = oracle_dog(340);
    refuses(balance_spread(&in, &u, &out, &out, &f), "uncertainty of axle_mm");
    u.axle_mm = 1e300;
    refuses(balance_spread(&in, &u, &out, &out, &f), "uncertainty of axle_mm");
}

/* Hind feet that carry most of their load let the axle stand ahead of the centre of mass: it does
 * not tip, but nothing is counted on for grip. */
static void hind_feet_hold_where_nothing_grips(void **state)
{
    (void)state;
    struct balance_in in = oracle_dog(340);
    struct balance_out out;
    in.hind_support = 0.9;
    in.axle_mm = 150;
    assert_true(balance_solve(&in, &out, NULL));
    assert_true(out.cg_mm > out.axle_mm && out.fore_load_n > 0);
    assert_true(out.uphill_limit_deg > 0 && out.traction_limit_deg == 0);
}

static void a_front_frame_that_grips_uphill_whatever_the_slope(void **state)
{
    (void)state;
    struct front_in in = {.dog_mass_kg = 12,
                          .stance_length_mm = 400,
                          .fore_share = 0.6,
                          .dog_cg_height_mm = 250,
                          .axle_mm = 40,
                          .chest_mm = 30,
                          .hip_mm = 380,
                          .frame_mass_kg = 1,
                          .frame_cg_mm = 150,
                          .frame_cg_height_mm = 200,
                          .wheels_mass_kg = 0.8,
                          .wheel_diameter_mm = 200,
                          .friction = 0.5};
    struct front_out out;
    assert_true(front_solve(&in, &out, NULL));
    assert_true(out.grip_uphill_deg > out.grip_downhill_deg && out.grip_uphill_deg < 90);
    in.friction = 360 / out.cg_height_mm + 0.01; /* load grows faster than what it must hold */
    assert_true(front_solve(&in, &out, NULL));
    assert_true(out.grip_uphill_deg == 90);
}

static void the_house(void **state)
{
    (void)state;
    struct stability_out s;
    struct ramp_out r;
    struct obstacle_out o;
    struct corridor_out c;
    refuses(stability_solve(&(struct stability_in){300, 200, 290, 300, 0, 2}, &s, &f), "cg_mm 300");
    refuses(stability_solve(&(struct stability_in){100, 0, 290, 300, 0, 2}, &s, &f),
            "cg_height_mm");
    refuses(ramp_solve(&(struct ramp_in){10, NAN, NAN, NAN, 0}, &r, &f), "slope_deg");
    refuses(ramp_solve(&(struct ramp_in){10, NAN, 100, NAN, 0}, &r, &f), "run_mm is missing");
    refuses(ramp_solve(&(struct ramp_in){10, NAN, NAN, 100, 0}, &r, &f), "rise_mm is missing");
    refuses(ramp_solve(&(struct ramp_in){10, 5, 100, 100, 0}, &r, &f), "cannot both");
    refuses(ramp_solve(&(struct ramp_in){10, NAN, 100, 0, 0}, &r, &f), "run_mm");
    refuses(obstacle_solve(&(struct obstacle_in){200, 100, 70, NAN}, &o, &f), "step_mm 100");
    refuses(obstacle_solve(&(struct obstacle_in){200, 75, 70, 100}, &o, &f),
            "too high for an axle");
    refuses(corridor_solve(&(struct corridor_in){800, 700, 700}, &c, &f), "frame_width_mm 700");
}

static void counts_and_readings(void **state)
{
    (void)state;
    struct interval_out i;
    struct repeat_out r;
    struct fore_share_out s;
    double used;
    const double two[] = {1, 2}, odd[] = {1, INFINITY}, zero[] = {1, -1};
    refuses(interval_solve(&(struct interval_in){5, 4}, &i, &f), "hits 5");
    refuses(interval_solve(&(struct interval_in){0, 0}, &i, &f), "n must");
    refuses(interval_solve(&(struct interval_in){1.5, 4}, &i, &f), "hits must be a whole");
    refuses(interval_solve(&(struct interval_in){1, 4.5}, &i, &f), "n must be a whole");
    refuses(repeat_solve(NULL, 0, &r, &f), "readings is missing");
    refuses(repeat_solve(&(struct repeat_subject){two, 1}, 1, &r, &f), "two or more");
    refuses(repeat_solve(&(struct repeat_subject){odd, 2}, 1, &r, &f), "readings holds");
    refuses(repeat_solve(&(struct repeat_subject){zero, 2}, 1, &r, &f), "average 0");
    struct agreement_out a;
    const struct repeat_subject uneven[] = {{two, 2}, {two, 1}}, same[] = {{two, 2}, {two, 2}};
    refuses(agreement_solve(uneven, 1, &a, &f), "two or more subjects");
    refuses(agreement_solve(uneven, 2, &a, &f), "readings of subject 2");
    refuses(agreement_solve(same, 2, &a, &f), "do not tell the subjects apart");
    struct robust_out ro;
    refuses(robust_solve(two, 0, 1, &ro, &f), "values are missing");
    refuses(robust_solve(two, 2, 0, &ro, &f), "least spread");
    refuses(robust_solve(odd, 2, 1, &ro, &f), "values holds");
    refuses(repeat_used(two, 0, &used, NULL, &f), "one to three");
    refuses(fore_share_solve((double[]){0}, (double[]){3}, 1, &s, &f), "fore_scale");
    refuses(fore_share_solve((double[]){3}, (double[]){NAN}, 1, &s, &f), "hind_scale");
    assert_true(interval_solve(&(struct interval_in){0, 7}, &i, NULL));
    assert_true(i.low == 0 && i.high > 0.3 && i.high < 0.4);
    assert_true(interval_solve(&(struct interval_in){7, 7}, &i, NULL) && i.high == 1);
}

static void points_in_time(void **state)
{
    (void)state;
    struct trend_out t;
    const struct trend_point p[] = {{0, 1, 0}, {1, 2, 0}, {2, 2.9, 0}, {3, 4, 0}};
    const struct trend_point one_day[] = {{5, 1, 0}, {5, 2, 0}, {5, 3, 0}};
    const struct trend_point flat[] = {{0, 2, 0}, {1, 2, 0}, {2, 2, 0}};
    const struct trend_point odd[] = {{0, 2, 0}, {1, NAN, 0}, {2, 2, 0}};
    refuses(trend_solve(p, 2, NAN, &t, &f), "three or more");
    refuses(trend_solve(p, 2000, NAN, &t, &f), "at most");
    refuses(trend_solve(one_day, 3, NAN, &t, &f), "one day");
    refuses(trend_solve(odd, 3, NAN, &t, &f), "no usable point");
    refuses(trend_solve(p, 4, INFINITY, &t, &f), "threshold");
    const struct trend_point part[] = {{0, 1, 0.1}, {1, 2, 0}, {2, 3, 0.1}};
    const struct trend_point unlike[] = {{0, 1, 1e-5}, {1, 2, 1}, {2, 3, 1}};
    const struct trend_point below[] = {{0, 1, 1}, {1, 2, -1}, {2, 3, 1}};
    refuses(trend_solve(part, 3, NAN, &t, &f), "each needs an uncertainty");
    refuses(trend_solve(unlike, 3, NAN, &t, &f), "thousandfold");
    refuses(trend_solve(below, 3, NAN, &t, &f), "-1 is no usable uncertainty");
    assert_true(trend_solve(p, 4, NAN, &t, NULL) && isnan(t.cross_day));
    assert_true(trend_solve(flat, 3, 5, &t, NULL));
    assert_true(isnan(t.cross_day) && isnan(t.cross_low) && t.kendall_s == 0);
    assert_int_equal(trend_judge(&t, 0), TREND_NO_REAL_CHANGE);
    assert_true(trend_solve(p, 4, 10, &t, NULL));
    assert_true(t.cross_low < t.cross_day && t.cross_day < t.cross_high);
    assert_int_equal(trend_judge(&t, 0), TREND_RISES);
}

static void care(void **state)
{
    (void)state;
    struct energy_out e;
    struct bladder_out b;
    struct contact_out c;
    double weeks;
    refuses(energy_solve(&(struct energy_in){0, 5, ENERGY_BOTH}, &e, &f), "mass_kg");
    refuses(energy_solve(&(struct energy_in){20, 10, ENERGY_BOTH}, &e, &f), "condition");
    refuses(energy_solve(&(struct energy_in){50, 5, ENERGY_LINEAR}, &e, &f), "mass_kg 50");
    refuses(energy_weeks(40, 0, 0.01, &weeks, &f), "weights");
    refuses(energy_weeks(40, 30, 0.1, &weeks, &f), "a veterinarian decides");
    refuses(bladder_solve(&(struct bladder_in){10, 8, 0}, &b, &f), "emptied_share");
    refuses(bladder_solve(&(struct bladder_in){10, 0, 0.5}, &b, &f), "hours");
    refuses(contact_solve(&(struct contact_in){10, 0}, &c, &f), "area_cm2");
}

static void proportions(void **state)
{
    (void)state;
    const struct proportion_measure twice[] = {{"hip_width", 1}, {"hip_width", 2}};
    const struct proportion_measure bad[] = {{"hip_width", -1}};
    const struct proportion_measure good[] = {{"hip_width", 100}, {"withers_height", 200}};
    const struct proportion_relation band = {
        .of = "hip_width", .to = "withers_height", .low = 0.6, .high = 0.6};
    const struct proportion_relation self = {
        .of = "hip_width", .to = "hip_width", .low = 0.5, .high = 0.6};
    struct proportion_check check;
    struct proportion_out out;
    refuses(proportion_solve(twice, 2, NULL, 0, NULL, &out, &f), "hip_width is given twice");
    refuses(proportion_solve(bad, 1, NULL, 0, NULL, &out, &f), "hip_width must be");
    refuses(proportion_solve(good, 2, &band, 1, &check, &out, &f), "no usable band");
    refuses(proportion_solve(good, 2, &self, 1, &check, &out, &f), "no usable band");
    refuses(proportion_solve(good, 99, NULL, 0, NULL, &out, &f), "at most");
    assert_true(proportion_solve(good, 2, NULL, 0, NULL, &out, NULL));
    assert_true(!out.misfits && out.misfit == 0);
}

static void frames_with_four_wheels(void **state)
{
    (void)state;
    struct four_in in = {.dog_mass_kg = 12,
                         .stance_length_mm = 400,
                         .fore_share = 0.6,
                         .rest_mm = 380,
                         .sling_mm = 20,
                         .frame_mass_kg = 1,
                         .frame_cg_mm = 200,
                         .front_axle_mm = 50,
                         .rear_axle_mm = 420};
    struct four_range range;
    in.front_axle_mm = 410;
    refuses(four_range(&in, &range, &f), "rear_axle_mm must lie");
    in.front_axle_mm = 200; /* behind the dog's centre of mass: the rest cannot hold it down */
    in.rear_axle_mm = 230;
    in.sling_mm = 150;
    in.rest_mm = 180;
    in.hind_support = 0.9;
    refuses(four_range(&in, &range, &f), "no setting works");
    in.fore_share = 2;
    refuses(four_range(&in, &range, &f), "fore_share");
    in = (struct four_in){.dog_mass_kg = 12,
                          .stance_length_mm = 400,
                          .fore_share = 0.6,
                          .rest_mm = 380,
                          .sling_mm = 20,
                          .frame_mass_kg = 1,
                          .frame_cg_mm = 200,
                          .front_axle_mm = 50,
                          .rear_axle_mm = 420};
    struct four_out out;
    refuses(four_stiff(&in, &(struct four_stiffness){1, 1, 0, 1, 1}, &out, &f), "a stiffness");
    /* Paws like stone would carry more than a sling that cannot push leaves them: it hangs loose.
     */
    assert_true(four_range(&in, &range, NULL));
    assert_true(four_stiff(&in, &(struct four_stiffness){1e6, 1, 1e-3, 1, 1}, &out, NULL));
    assert_true(out.fore_load_n == range.fore_high_n && fabs(out.sling_load_n) < 1e-9);
}

static void dimensions_of_a_frame(void **state)
{
    (void)state;
    const struct dimension_term width[] = {{"hip_width", 1, 132, 3}};
    const struct dimension_term length[] = {{"trunk_span", 1, 300, 4}, {"thigh_depth", 0.5, 70, 6}};
    struct dimension_out out;
    /* Widths: about 1 cm of room each side (common practice, no source), whole millimetres. */
    assert_true(dimension_solve(width, 1, 20, 1, DIMENSION_EITHER, &out, NULL));
    assert_true(out.build_mm == 152 && out.tolerance_mm == 3 && out.snug_mm == 132);
    assert_true(out.low_mm == 149 && out.high_mm == 155);
    /* 4 and half of 6 together are 5 mm; erring long the 335 mm become 340, in steps of 5. */
    assert_true(dimension_solve(length, 2, 0, 5, DIMENSION_ERR_LONG, &out, NULL));
    assert_true(fabs(out.tolerance_mm - 5) < 1e-12 && out.build_mm == 340);
    assert_true(dimension_solve(length, 2, 1, 5, DIMENSION_ERR_SHORT, &out, NULL));
    assert_true(out.build_mm == 330);
    /* 0.1 + 0.1 + 0.1 is a hair above three tenths: still three steps. */
    const struct dimension_term tenths[] = {{"a", 0.1, 1, 0}, {"b", 0.1, 1, 0}, {"c", 0.1, 1, 0}};
    assert_true(dimension_solve(tenths, 3, 0, 0.1, DIMENSION_ERR_LONG, &out, NULL));
    assert_true(fabs(out.build_mm - 0.3) < 1e-9);
    refuses(dimension_solve(width, 1, -200, 1, DIMENSION_EITHER, &out, &f), "comes out as");
    refuses(dimension_solve(&(struct dimension_term){"hip_width", 1, NAN, 3}, 1, 0, 1,
                            DIMENSION_EITHER, &out, &f),
            "hip_width");
    refuses(dimension_solve(&(struct dimension_term){"hip_width", 1, 100, -3}, 1, 0, 1,
                            DIMENSION_EITHER, &out, &f),
            "tolerance of hip_width");
}

static void the_reading_that_is_used(void **state)
{
    (void)state;
    double used, spread;
    assert_true(repeat_used((double[]){13.1}, 1, &used, &spread, NULL));
    assert_true(used == 13.1 && spread == 0);
    assert_true(repeat_used((double[]){13, 14}, 2, &used, &spread, NULL));
    assert_true(used == 13.5 && spread == 1);
    static const double three[][3] = {{1, 2, 9}, {2, 1, 9}, {9, 2, 1},
                                      {1, 9, 2}, {2, 9, 1}, {9, 1, 2}};
    for (size_t i = 0; i < 6; i++) {
        assert_true(repeat_used(three[i], 3, &used, &spread, NULL));
        assert_true(used == 2 && spread == 8);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_key_of_the_balance),
        cmocka_unit_test(frames_that_do_not_stand),
        cmocka_unit_test(hind_feet_hold_where_nothing_grips),
        cmocka_unit_test(a_front_frame_that_grips_uphill_whatever_the_slope),
        cmocka_unit_test(the_house),
        cmocka_unit_test(counts_and_readings),
        cmocka_unit_test(points_in_time),
        cmocka_unit_test(care),
        cmocka_unit_test(proportions),
        cmocka_unit_test(frames_with_four_wheels),
        cmocka_unit_test(dimensions_of_a_frame),
        cmocka_unit_test(the_reading_that_is_used),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
