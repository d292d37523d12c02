/* Textbook equilibria put through the solver of the frame: a body on two supports is a dog on its
 * fore feet and wheels; a lever is a pelvic rest and a shoulder bar.
 *
 * Source: OpenStax University Physics 1 (UP1), ch. 12, and College Physics (CP), ch. 9; numbers are
 * quoted as facts. Others are named beside their check. The books take g = 9.80 (or 9.81), we
 * 9.80665: forces are scaled before they are compared. Heavy or long examples are scaled down,
 * which statics does not mind.
 */
#include "base/fault.h"
#include "calc/balance.h"
#include "calc/repeat.h"
#include "near.h"

#define G98 (9.80 / STANDARD_GRAVITY)

/* Weight `kg` at `at_m` and another at `other_m`; supports at 0 and `axle_m`. With axle_m 0 the far
 * support carries everything: it stands under the common centre. */
static struct balance_out two_supports(double kg, double at_m, double other_kg, double other_m,
                                       double axle_m)
{
    struct balance_in in = balance_defaults();
    struct balance_out out;
    struct fault f;
    double span = fmax(axle_m, at_m * 1.25) * 1000;
    in.dog_mass_kg = kg;
    in.stance_length_mm = span;
    in.fore_share = 1 - at_m * 1000 / span;
    in.dog_cg_height_mm = 1;
    in.rest_mm = span;
    in.bar_mm = 0;
    in.frame_mass_kg = other_kg;
    in.frame_cg_mm = other_m * 1000;
    in.frame_cg_height_mm = 1;
    in.wheels_mass_kg = 0;
    in.wheel_diameter_mm = 1;
    in.from_relief = axle_m == 0;
    if (in.from_relief)
        in.relief = 1;
    else
        in.axle_mm = axle_m * 1000;
    works(balance_solve(&in, &out, &f), f);
    return out;
}

/* A weight held beyond a lever: the muscle is the pelvic rest, the joint the shoulder bar. */
static struct balance_out lever(double kg, double at_m, double muscle_m)
{
    struct balance_in in = balance_defaults();
    struct balance_out out;
    struct fault f;
    in.dog_mass_kg = kg;
    in.stance_length_mm = at_m * 1000 / 0.7;
    in.fore_share = 0.3;
    in.dog_cg_height_mm = 1;
    in.rest_mm = muscle_m * 1000;
    in.bar_mm = 0;
    in.frame_mass_kg = in.wheels_mass_kg = 0;
    in.frame_cg_mm = in.frame_cg_height_mm = 0;
    in.wheel_diameter_mm = 1;
    in.relief = 1;
    in.from_relief = true;
    works(balance_solve(&in, &out, &f), f);
    return out;
}

static void centre_of_mass_from_axle_loads(void **state)
{
    (void)state;
    /* UP1 example 12.1: wheelbase 2.5 m, 52 % on the front: 1.3 m ahead of the rear axle. */
    struct balance_out car = two_supports(100, 2.5 * 0.48, 0, 0, 2.5);
    near(2500 - car.cg_mm, 1300, 50);
    near(car.fore_share_now, 0.52, 1e-12);
    /* UP1 12.1 problem: 1000 kg, 3.0 m, 60 % on the front: 1.2 m behind the front wheels. */
    struct balance_out suv = two_supports(100, 3.0 * 0.4, 0, 0, 3.0);
    near(suv.cg_mm, 1200, 1e-9);
    near(suv.fore_share_now, 0.6, 1e-12);
    /* Two weighings (qammunity.org/11379316): 5800 N, 6500 N, 3.20 m: 1.69 m behind the front. */
    struct fore_share_out share;
    struct fault f;
    works(fore_share_solve((double[]){58.0}, (double[]){65.0}, 1, &share, &f), f);
    near(3.20 * (1 - share.share), 1.69, 0.005);
}

static void torques_about_a_fulcrum(void **state)
{
    (void)state;
    /* UP1 example 12.3, a hundredfold: stick 150 g with its centre 20 cm left of the fulcrum, 50 g
     * at 70 and 75 g at 40 cm left, 316.7 g at 30 cm right balances; the fulcrum carries 5.8 N. */
    double left = (150 * 20 + 50 * 70 + 75 * 40) / 275.0;
    struct balance_out stick = two_supports(27.5, 1.0 - left / 100, 31.67, 1.3, 0);
    near(stick.axle_mm, 1000, 0.1);
    near(stick.wheel_load_n * G98 / 100, 5.8, 0.05);
    /* CP, seesaw: 26.0 kg at 1.60 m against 32.0 kg at 1.30 m: pivot 568 N. */
    struct balance_out seesaw = two_supports(26, 0.1, 32, 3.0, 0);
    near(seesaw.axle_mm, 1700, 0.5);
    near(seesaw.wheel_load_n * G98, 568, 0.5);
    /* CP, the same with a board of 12.0 kg, its centre 0.160 m on the first child's side: 1.36 m,
     * 686 N. */
    double centre = (26 * 0.1 + 12 * 1.54) / 38;
    struct balance_out board = two_supports(38, centre, 32, 1.7 + 1.36, 0);
    near(board.axle_mm, 1700, 5);
    near(board.wheel_load_n * G98, 686, 0.5);
}

static void loads_on_two_ropes(void **state)
{
    (void)state;
    /* UP1 check: 50 kg at 1.5 m from one end of a plank of 70.0 kg, 6.0 m: 711.0 N and 466.0 N
     * (exact with g 9.8: 710.5 and 465.5). Lengths halved. */
    struct balance_out plank = two_supports(70, 1.5, 50, 0.75, 3.0);
    near(plank.fore_load_n * G98, 711, 1);
    near(plank.wheel_load_n * G98, 466, 1);
    /* UP1 problem: scaffold 40.0 kg, painter 80.0 kg 1.0 m from the left, equipment 16.0 kg 1.5 m
     * from the right of 6.0 m: 888.5 N left, 444.3 N right. Lengths halved. */
    double other = (40 * 1.5 + 16 * 2.25) / 56;
    struct balance_out paint = two_supports(80, 0.5, 56, other, 3.0);
    near(paint.fore_load_n * G98, 888.5, 0.1);
    near(paint.wheel_load_n * G98, 444.3, 0.1);
    /* CP: pole 5.00 kg, hands 0.900 m apart, centre 0.600 m from the left: 32.7 N right, 16.3 N
     * left. */
    struct balance_out pole = two_supports(5, 0.6, 0, 0, 0.9);
    near(pole.wheel_load_n * G98, 32.7, 0.05);
    near(pole.fore_load_n * G98, 16.3, 0.05);
}

static void wheelbarrows(void **state)
{
    (void)state;
    /* CP: 45.0 kg, 0.075 m behind the wheel, hands at 1.02 m: 32.4 N and 409 N. */
    struct balance_out a = two_supports(45, 1.02 - 0.075, 0, 0, 1.02);
    near(a.fore_load_n * G98, 32.4, 0.05);
    near(a.wheel_load_n * G98, 409, 0.5);
    /* CP problem: 55.0 kg at 0.055 m: 29.1 N, 510 N. */
    struct balance_out b = two_supports(55, 1.02 - 0.055, 0, 0, 1.02);
    near(b.fore_load_n * G98, 29.1, 0.05);
    near(b.wheel_load_n * G98, 510, 0.5);
    /* Young and Freedman (questioncove.com/updates/546baec3e4b0db932293fad6): lifting 650 N at 1.4
     * m carries 1740 N beside the barrow's 80 N, both 0.50 m from the wheel. */
    struct balance_out c =
        two_supports(1740 / STANDARD_GRAVITY, 0.9, 80 / STANDARD_GRAVITY, 0.9, 1.4);
    near(c.fore_load_n, 650, 0.5);
    /* assignmentexpert.com question 64418: 7.5 kg at 0.1 m, 35 kg at 0.2 m, handle 0.6 m, g 9.8:
     * 126.6 N. */
    struct balance_out d = two_supports(7.5, 0.5, 35, 0.4, 0.6);
    near(d.fore_load_n * G98, 126.6, 0.05);
}

static void axle_loads(void **state)
{
    (void)state;
    /* documen.tv question 23210487: 961 kg, 3.27 m, centre 0.615 m behind the front axle, g 9.81:
     * 7654.365 N and 1773.045 N. A tenth of the mass. */
    struct balance_out car = two_supports(96.1, 0.615, 0, 0, 3.27);
    near(car.fore_load_n * 98.1 / STANDARD_GRAVITY, 7654.365, 0.01);
    near(car.wheel_load_n * 98.1 / STANDARD_GRAVITY, 1773.045, 0.01);
    /* A hitch: 100 lb put 10 ft behind the axle, hitch 12 ft ahead of it, 400 lb before: 316.7 lb.
     */
    double lb = 0.45359237, ft = 0.3048;
    struct balance_out hitch = two_supports(1000 * lb, 12 * ft * 0.6, 100 * lb, 22 * ft, 12 * ft);
    near(hitch.fore_load_n / STANDARD_GRAVITY / lb, 316.7, 0.05);
}

static void inverse_moves_a_trailer_axle(void **state)
{
    (void)state;
    /* Trailer: tongue 1025 lb, wheels 7200 lb, 264 in apart, 10 % wanted. The handbook's rule of
     * thumb prints 6.499 in forward; exact (derived) is a distance of 256.778 in, 7.222 in forward.
     * Masses a tenth, lengths halved. */
    struct balance_in in = balance_defaults();
    struct balance_out out;
    struct fault f;
    double lb = 0.45359237 / 10, inch = 25.4 / 2;
    in.dog_mass_kg = 8225 * lb;
    in.stance_length_mm = 264 * inch;
    in.fore_share = 1025 / 8225.0;
    in.dog_cg_height_mm = 1;
    in.rest_mm = 264 * inch;
    in.bar_mm = 0;
    in.frame_mass_kg = in.wheels_mass_kg = 0;
    in.frame_cg_mm = in.frame_cg_height_mm = 0;
    in.wheel_diameter_mm = 1;
    in.relief = 1 - 0.1 / in.fore_share;
    in.from_relief = true;
    works(balance_solve(&in, &out, &f), f);
    near(out.axle_mm / inch, 256.778, 5e-4);
    near(out.fore_share_now, 0.1, 1e-12);
}

static void levers_that_pull_down(void **state)
{
    (void)state;
    /* UP1 example 12.4: 50 lb at 13.0 in, muscle at 1.5 in: 433.3 lb up, 383.3 lb down. */
    double lb = 0.45359237;
    struct balance_out forearm = lever(50 * lb, 13 * 0.0254, 1.5 * 0.0254);
    near(forearm.rest_load_n / STANDARD_GRAVITY / lb, 433.3, 0.05);
    near(forearm.bar_load_n / STANDARD_GRAVITY / lb, 383.3, 0.05);
    /* CP: 2.50 kg at 16.0 cm and 4.00 kg at 38.0 cm, muscle at 4.00 cm: 470 N up, 407 N down. */
    struct balance_out biceps = lever(6.5, (2.5 * 0.16 + 4 * 0.38) / 6.5, 0.04);
    near(biceps.rest_load_n * G98, 470, 0.5);
    near(biceps.bar_load_n * G98, 407, 0.5);
    /* UP1 problem: forearm 3.0 kg at 15.0 cm, 5.0 kg in the hand: 539 N and 461 N at any angle (the
     * figure's 4.0 cm and 35 cm from memory). */
    struct balance_out hand = lever(8, (3 * 0.15 + 5 * 0.35) / 8, 0.04);
    near(hand.rest_load_n * G98, 539, 0.5);
    near(hand.bar_load_n * G98, 461, 0.5);
}

/* CP: a back bent forward, 55.0 kg at 0.350 m and 30.0 kg at 0.500 m, muscle 0.0800 m from the
 * joint and 29.0 degrees to the level: 4.20e3 N; the joint carries 4.66e3 N at 38.0 degrees. */
static void a_muscle_that_pulls_aslant(void **state)
{
    (void)state;
    struct balance_out back = lever(85, (55 * 0.35 + 30 * 0.5) / 85, 0.08);
    double muscle = back.rest_load_n * G98, slant = 29 * M_PI / 180;
    double along = muscle * cos(slant), down = 85 * G98 * STANDARD_GRAVITY + muscle * sin(slant);
    near(muscle, 4.20e3, 5);
    near(hypot(along, down), 4.66e3, 5);
    near(atan2(down, along) * 180 / M_PI, 38.0, 0.05);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(centre_of_mass_from_axle_loads),
        cmocka_unit_test(torques_about_a_fulcrum),
        cmocka_unit_test(loads_on_two_ropes),
        cmocka_unit_test(wheelbarrows),
        cmocka_unit_test(axle_loads),
        cmocka_unit_test(inverse_moves_a_trailer_axle),
        cmocka_unit_test(levers_that_pull_down),
        cmocka_unit_test(a_muscle_that_pulls_aslant),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
