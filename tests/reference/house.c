/* Steps, ramps, corners, tipping and turning against worked problems.
 *
 * Source: each is named beside its check. The books take g = 9.80 or 9.81, we 9.80665.
 */
#include "base/fault.h"
#include "calc/balance.h"
#include "calc/parallax.h"
#include "calc/slope.h"
#include "calc/stability.h"
#include "calc/trend.h"
#include "near.h"

static double push(double load_n, double radius_mm, double step_mm)
{
    struct obstacle_in in = {2 * radius_mm, step_mm, load_n, NAN};
    struct obstacle_out out;
    struct fault f;
    works(obstacle_solve(&in, &out, &f), f);
    assert_true(isnan(out.push_transfer_n));
    return out.push_n;
}

static void wheel_over_a_step(void **state)
{
    (void)state;
    /* Halliday, ch. 12 (coursehero ch12-p021): 0.800 kg, r 6.00 cm, h 3.00 cm, g 9.80: 13.6 N. */
    near(push(0.8 * 9.80, 60, 30), 13.579, 0.05);
    /* hk.answers.yahoo.com: 300 N, r 25 cm, h 10 cm: 400 N at the axle. */
    near(push(300, 250, 100), 400, 1e-9);
    /* Scilab textbook companion 3862 ex. 2.23: 2000 N, r 300 mm, h 150 mm: 3464.10 N. */
    near(push(2000, 300, 150), 3464.10, 1e-2);
    /* answerboard.cramster.com 5-131748: 25 N, r 0.34 m, h 0.12 m (value run): 29.458 N. */
    near(push(25, 340, 120), 29.458, 1e-3);
    near(push(50, 100, 0), 0, 0);
}

/* The lens at (0, 1500), the point at (2500, 1000), the rule at 2000: the line between the two has
 * fallen by four fifths of 500 there (similar triangles). */
static void a_rule_in_a_photograph(void **state)
{
    (void)state;
    struct parallax_out out;
    struct fault f;
    works(parallax_solve(&(struct parallax_in){2000, 1500, 1000, 500}, &out, &f), f);
    near(out.reads_mm, 1100, 1e-9);
    near(out.error_mm, 100, 1e-9);
    near(out.share, 0.1, 1e-12);
    works(parallax_solve(&(struct parallax_in){2000, 0, 1000, 500}, &out, &f), f);
    near(out.reads_mm, 800, 1e-9); /* from the floor it reads low */
    works(parallax_solve(&(struct parallax_in){2000, 1000, 1000, 500}, &out, &f), f);
    near(out.error_mm, 0, 0); /* from its own height true, at any distance */
}

static struct ramp_out ramp(struct ramp_in in)
{
    struct ramp_out out;
    struct fault f;
    works(ramp_solve(&in, &out, &f), f);
    return out;
}

static void ramps(void **state)
{
    (void)state;
    /* physicsforums 1007784: 227 kg, 15 deg, c 0.05, g 9.81: 683.91 N. */
    struct ramp_out r = ramp((struct ramp_in){227, 15, NAN, NAN, 0.05});
    near(r.pull_n * 9.81 / STANDARD_GRAVITY, 683.91, 0.01);
    /* 1:12 is 8.33 % and 4.76 deg (ADA 405.2; degrees derived), 1:8 7.13, 1:6 9.46, 1:16 3.58, 1:20
     * 2.86. */
    static const double rise[][2] = {{12, 4.76}, {8, 7.13}, {6, 9.46}, {16, 3.58}, {20, 2.86}};
    for (size_t i = 0; i < 5; i++)
        near(ramp((struct ramp_in){10, NAN, 100, 100 * rise[i][0], 0.02}).slope_deg, rise[i][1],
             0.005);
    near(ramp((struct ramp_in){10, NAN, 1, 12, 0}).slope_percent, 100 / 12.0, 1e-12);
    near(ramp((struct ramp_in){10, 0, NAN, NAN, 0.02}).pull_n, 0.2 * STANDARD_GRAVITY, 1e-12);
    /* Dog-sport walkway (Univ. Nebraska 4-H dog manual): 36 in high on 12 ft or 8 ft planks, 14.5
     * or 22.0 deg along the plank (derived). */
    double run = sqrt(144.0 * 144 - 36 * 36);
    near(ramp((struct ramp_in){10, NAN, 36 * 25.4, run * 25.4, 0}).slope_deg, 14.5, 0.05);
    run = sqrt(96.0 * 96 - 36 * 36);
    near(ramp((struct ramp_in){10, NAN, 36 * 25.4, run * 25.4, 0}).slope_deg, 22.0, 0.05);
}

static void work_on_ramps_is_a_line(void **state)
{
    (void)state;
    /* US Access Board, Accessible Exterior Surfaces: 35.5, 44.5, 53.5, 71.6 N m on 3, 4, 5, 7 %:
     * slope 902.571, intercept 8.4029 (derived); chipped brush, 41.7 N m, is about a 3.7 % ramp. */
    const struct trend_point p[] = {
        {0.03, 35.5, 0}, {0.04, 44.5, 0}, {0.05, 53.5, 0}, {0.07, 71.6, 0}};
    struct trend_out t;
    struct fault f;
    works(trend_solve(p, 4, 41.7, &t, &f), f);
    near(t.slope_per_day, 902.571, 1e-3);
    near(t.intercept, 8.4029, 1e-4);
    near(t.cross_day, 0.0369, 5e-5);
}

/* A car: both pairs of wheels t apart, so that half the track lies to each side. */
static struct stability_out car(double track_m, double height_m, double radius_m)
{
    struct stability_in in = {500, 1000 * height_m, 1000, 1000 * track_m, 1000 * track_m, radius_m};
    struct stability_out out;
    struct fault f;
    works(stability_solve(&in, &out, &f), f);
    return out;
}

static void turning_over(void **state)
{
    (void)state;
    double g981 = sqrt(9.81 / STANDARD_GRAVITY);
    /* physicsforums 174374: t 1.3 m, h 0.6 m, R 20 m, g 9.81: 14.58 m/s. */
    near(car(1.3, 0.6, 20).turn_speed_limit_mps * g981, 14.58, 5e-3);
    /* jiskha.com 458604: t 1.8 m, h 1 m, R 20 m, g 9.8: 13.28 m/s (value run). */
    near(car(1.8, 1, 20).turn_speed_limit_mps * sqrt(9.8 / STANDARD_GRAVITY), 13.28, 5e-3);
    /* jiskha.com 1383582: turns over at 29 m/s, R 50 m, t 1.5 m, g 9.81: h 0.4374 m (value run). */
    near(car(1.5, 0.4374, 50).turn_speed_limit_mps * g981, 29, 5e-3);
    /* NHTSA static stability factor t / 2h 1.41 (HS 809 868): side slope atan(1.41). */
    near(car(2 * 1.41, 1, 1).side_slope_limit_deg, 54.655, 5e-4);
    /* Half track 15 cm, centre 30 cm up: 26.6 deg (derived). */
    near(car(0.30, 0.30, 1).side_slope_limit_deg, 26.6, 0.05);
}

static void three_contacts(void **state)
{
    (void)state;
    /* No worked example with numbers was found in print; these two were computed apart from this
     * program (one fore foot, track 360 mm, axle 300 mm). */
    struct stability_in in = {176.571, 238.857, 300, 360, 0, 1};
    struct stability_out out;
    struct fault f;
    works(stability_solve(&in, &out, &f), f);
    near(out.tip_distance_mm, 90.845, 1e-3);
    near(out.side_slope_limit_deg, 23.919, 1e-3);
    near(out.turn_speed_limit_mps, 2.0856, 1e-4);
    near(tan(out.worst_tilt_deg * (M_PI / 180)), 90.845 / 238.857, 1e-5);
    /* Two fore feet 120 mm apart: the distance to the line from (0, 60) to (300, 180) by the area
     * of the triangle on it. */
    in.fore_spacing_mm = 120;
    works(stability_solve(&in, &out, &f), f);
    near(out.tip_distance_mm, (300 * 60 + 120 * in.cg_mm) / hypot(300, 120), 1e-9);
    in.fore_spacing_mm = 0;
    in.cg_mm = 100;
    works(stability_solve(&in, &out, &f), f);
    near(out.half_width_mm / in.cg_height_mm, 0.251196, 1e-5);
}

/* Rear tip of a chair (bartelby.com, problem of a chair's caster): centre 13 cm ahead of and 24 cm
 * above the rear axle: 28.44 deg held at the axle; with wheels of 30.5 cm, 13.42 deg about the
 * ground (angles run). The frame tips about the ground. */
static void rear_tip_is_about_the_ground(void **state)
{
    (void)state;
    struct balance_in in = balance_defaults();
    struct balance_out out;
    struct fault f;
    in.dog_mass_kg = 80;
    in.stance_length_mm = 700;
    in.fore_share = 0.5;
    in.axle_mm = 350 + 130;
    in.dog_cg_height_mm = 240 + 305;
    in.rest_mm = 480;
    in.bar_mm = 100;
    in.frame_mass_kg = in.wheels_mass_kg = 0;
    in.frame_cg_mm = in.frame_cg_height_mm = 0;
    in.wheel_diameter_mm = 610;
    works(balance_solve(&in, &out, &f), f);
    near(out.uphill_limit_deg, 13.42, 5e-3);
}

static double corner(double in, double out, double width)
{
    struct corridor_in c = {in, out, width};
    struct corridor_out o;
    struct fault f;
    works(corridor_solve(&c, &o, &f), f);
    return o.longest_mm;
}

static void corners(void **state)
{
    (void)state;
    /* A pole of no width: (a^(2/3) + b^(2/3))^(3/2), a classic of calculus books (from memory). */
    near(corner(800, 800, 0), 800 * 2 * M_SQRT2, 1e-6);
    near(corner(820, 1100, 0), pow(pow(820, 2.0 / 3) + pow(1100, 2.0 / 3), 1.5), 1e-6);
    near(corner(8000, 27000, 0), pow(400 + 900, 1.5), 1e-3);
    /* Equal widths: the tightest moment is at 45 degrees (derived): 2 (sqrt2 a - w). */
    near(corner(900, 900, 400), 2 * (M_SQRT2 * 900 - 400), 1e-6);
    near(corner(700, 1300, 350), corner(1300, 700, 350), 1e-6);
}

/* The same figure without the formula: a rectangle turned degree by degree with its outer corners
 * on the outer walls must keep its inner side clear of the inner corner. */
static void corners_by_turning(void **state)
{
    (void)state;
    double a = 820, b = 1000, w = 380, longest = corner(a, b, w);
    for (int shorter = 0; shorter <= 1; shorter++) {
        double length = longest * (shorter ? 0.9999 : 1.0001), clear = INFINITY;
        for (int i = 1; i < 9000; i++) {
            double t = i * (M_PI / 2 / 9000);
            /* outer side from (length cos t, 0) to (0, length sin t); inner corner at (b, a) */
            clear = fmin(clear, b * sin(t) + a * cos(t) - length * sin(t) * cos(t) - w);
        }
        assert_true(shorter ? clear > 0 : clear < 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wheel_over_a_step),
        cmocka_unit_test(ramps),
        cmocka_unit_test(work_on_ramps_is_a_line),
        cmocka_unit_test(turning_over),
        cmocka_unit_test(three_contacts),
        cmocka_unit_test(a_rule_in_a_photograph),
        cmocka_unit_test(rear_tip_is_about_the_ground),
        cmocka_unit_test(corners),
        cmocka_unit_test(corners_by_turning),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
