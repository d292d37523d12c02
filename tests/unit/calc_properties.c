/* What must hold for any dog and frame: 100,000 drawn at random, the seed fixed. */
#include "base/fault.h"
#include "calc/balance.h"
#include "calc/four.h"
#include "calc/slope.h"
#include "calc/stability.h"
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#undef fail /* cmocka's; ours is meant here */

enum { DOGS = 100000 };

/* SplitMix64 (Steele, Lea and Flood 2014, from memory): the same draws on every machine. */
static double draw(uint64_t *seed, double low, double high)
{
    uint64_t z = *seed += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    z ^= z >> 31;
    return low + (high - low) * (double)(z >> 11) * 0x1p-53;
}

static struct balance_in some_dog(uint64_t *seed)
{
    struct balance_in in = balance_defaults();
    double length = draw(seed, 120, 900);
    in.dog_mass_kg = exp(draw(seed, log(1.5), log(80)));
    in.stance_length_mm = length;
    in.fore_share = draw(seed, 0.45, 0.8);
    in.hind_support = draw(seed, 0, 1) < 0.5 ? 0 : draw(seed, 0, 0.6);
    in.dog_cg_height_mm = length * draw(seed, 0.3, 0.9);
    in.axle_mm = length * draw(seed, 0.6, 1.2);
    in.rest_mm = length * draw(seed, 0.8, 1.05);
    in.bar_mm = length * draw(seed, -0.1, 0.2);
    in.frame_mass_kg = in.dog_mass_kg * draw(seed, 0, 0.3);
    in.frame_cg_mm = length * draw(seed, 0.3, 1);
    in.frame_cg_height_mm = length * draw(seed, 0.2, 0.8);
    in.wheels_mass_kg = in.dog_mass_kg * draw(seed, 0, 0.15);
    in.wheel_diameter_mm = length * draw(seed, 0.2, 0.8);
    in.slope_deg = draw(seed, -12, 12);
    in.friction = draw(seed, 0.1, 1.2);
    return in;
}

/* Zero but for rounding, on the scale of the largest part. */
#define is_zero(sum, scale)                                                                        \
    do {                                                                                           \
        if (!(fabs(sum) <= 1e-9 * (scale))) {                                                      \
            print_error("dog %d: %s = %g of %g\n", i, #sum, sum, scale);                           \
            _fail(__FILE__, __LINE__);                                                             \
        }                                                                                          \
    } while (0)

static void forces_and_moments_close(void **state)
{
    (void)state;
    uint64_t seed = 20260104;
    int solved = 0;
    for (int i = 0; i < DOGS; i++) {
        struct balance_in in = some_dog(&seed);
        struct balance_out out;
        double px = draw(&seed, -2000, 2000), pz = draw(&seed, -2000, 2000);
        if (!balance_solve(&in, &out, NULL))
            continue;
        solved++;
        double g = STANDARD_GRAVITY, b = in.slope_deg * (M_PI / 180), cb = cos(b), sb = sin(b);
        double dog = in.dog_mass_kg * g, frame = in.frame_mass_kg * g,
               wheels = in.wheels_mass_kg * g;
        double weight = dog + frame + wheels;
        double hind = in.hind_support * (1 - in.fore_share) * dog * cb;
        double grip = weight * sb; /* what the fore feet hold along the slope */
        is_zero(out.fore_load_n + hind + out.wheel_load_n - weight * cb, weight);
        /* about (px, pz): weights act straight down, which leans on a slope */
        double dx = in.stance_length_mm * (1 - in.fore_share);
        double r = in.wheel_diameter_mm / 2, a = out.axle_mm;
        double turn = dog * (cb * (dx - px) + sb * (in.dog_cg_height_mm - pz)) +
                      frame * (cb * (in.frame_cg_mm - px) + sb * (in.frame_cg_height_mm - pz)) +
                      wheels * (cb * (a - px) + sb * (r - pz)) - out.fore_load_n * (0 - px) -
                      hind * (in.stance_length_mm - px) - out.wheel_load_n * (a - px) -
                      grip * (0 - pz);
        is_zero(turn, weight * 3000);
        /* the dog alone, level: fore feet, rest and bar hold it */
        in.slope_deg = 0;
        if (!balance_solve(&in, &out, NULL))
            continue;
        hind = in.hind_support * (1 - in.fore_share) * dog;
        is_zero(out.fore_load_n + hind + out.rest_load_n - out.bar_load_n - dog, dog);
        is_zero(dog * (dx - px) - out.fore_load_n * (0 - px) - hind * (in.stance_length_mm - px) -
                    out.rest_load_n * (in.rest_mm - px) + out.bar_load_n * (in.bar_mm - px),
                dog * 3000);
    }
    assert_true(solved > DOGS * 9 / 10);
}

static void inverse_undoes_forward(void **state)
{
    (void)state;
    uint64_t seed = 20260105;
    for (int i = 0; i < DOGS; i++) {
        struct balance_in in = some_dog(&seed);
        struct balance_out there, back;
        if (!balance_solve(&in, &there, NULL))
            continue;
        in.relief = there.relief;
        in.axle_mm = NAN;
        in.from_relief = true;
        assert_true(balance_solve(&in, &back, NULL));
        is_zero(back.axle_mm - there.axle_mm, there.axle_mm);
        is_zero(back.bar_load_n - there.bar_load_n, in.dog_mass_kg * STANDARD_GRAVITY * 10);
    }
}

static void axle_forward_unloads_and_costs(void **state)
{
    (void)state;
    uint64_t seed = 20260106;
    for (int i = 0; i < DOGS; i++) {
        struct balance_in in = some_dog(&seed);
        struct balance_out rear, fore;
        in.hind_support = 0;
        in.slope_deg = 0;
        if (!balance_solve(&in, &rear, NULL))
            continue;
        in.axle_mm *= 0.98;
        if (!balance_solve(&in, &fore, NULL))
            continue;
        assert_true(fore.fore_load_n < rear.fore_load_n);
        assert_true(fore.relief > rear.relief);
        assert_true(fore.bar_load_n < rear.bar_load_n);
        assert_true(fore.uphill_limit_deg < rear.uphill_limit_deg);
        assert_true(fore.traction_limit_deg < rear.traction_limit_deg);
        /* Common practice, no source: wheels further back than neutral press on the shoulders,
         * further forward the bar lifts. */
        assert_true((fore.bar_load_n > 0) == (fore.axle_mm > fore.neutral_axle_mm));
    }
}

static void scaling(void **state)
{
    (void)state;
    uint64_t seed = 20260107;
    for (int i = 0; i < DOGS; i++) {
        struct balance_in in = some_dog(&seed);
        struct balance_out one, more;
        if (!balance_solve(&in, &one, NULL))
            continue;
        struct balance_in heavy = in;
        double k = draw(&seed, 0.5, 3);
        heavy.dog_mass_kg *= k;
        heavy.frame_mass_kg *= k;
        heavy.wheels_mass_kg *= k;
        assert_true(balance_solve(&heavy, &more, NULL));
        double weight = k * in.dog_mass_kg * STANDARD_GRAVITY;
        is_zero(more.fore_load_n - k * one.fore_load_n, weight);
        is_zero(more.bar_load_n - k * one.bar_load_n, weight * 10);
        is_zero(more.relief - one.relief, 1.0);
        is_zero(more.uphill_limit_deg - one.uphill_limit_deg, 90.0);
        is_zero(more.neutral_axle_mm - one.neutral_axle_mm, in.stance_length_mm * 10);
    }
}

/* A dog in a front frame is one in a rear frame seen in a mirror: written out here without it. */
static void mirror(void **state)
{
    (void)state;
    uint64_t seed = 20260108;
    int solved = 0;
    for (int i = 0; i < DOGS; i++) {
        double length = draw(&seed, 120, 900), g = STANDARD_GRAVITY;
        struct front_in in = {
            .dog_mass_kg = draw(&seed, 2, 60),
            .stance_length_mm = length,
            .fore_share = draw(&seed, 0.45, 0.8),
            .fore_support = draw(&seed, 0, 0.5),
            .dog_cg_height_mm = length * draw(&seed, 0.3, 0.9),
            .axle_mm = length * draw(&seed, -0.1, 0.2),
            .chest_mm = length * draw(&seed, 0, 0.2),
            .hip_mm = length * draw(&seed, 0.7, 1),
            .frame_mass_kg = draw(&seed, 0, 5),
            .frame_cg_mm = length * draw(&seed, 0, 0.6),
            .frame_cg_height_mm = length * draw(&seed, 0.2, 0.8),
            .wheels_mass_kg = draw(&seed, 0, 2),
            .wheel_diameter_mm = length * 0.4,
            .slope_deg = draw(&seed, -8, 8),
            .friction = 0.5,
        };
        struct front_out out;
        if (!front_solve(&in, &out, NULL))
            continue;
        solved++;
        double b = in.slope_deg * (M_PI / 180), dog = in.dog_mass_kg * g;
        double frame = in.frame_mass_kg * g, wheels = in.wheels_mass_kg * g;
        double weight = dog + frame + wheels, fore = in.fore_support * in.fore_share * dog * cos(b);
        double turn = cos(b) * (dog * length * (1 - in.fore_share) + frame * in.frame_cg_mm +
                                wheels * in.axle_mm) +
                      sin(b) * (dog * in.dog_cg_height_mm + frame * in.frame_cg_height_mm +
                                wheels * in.wheel_diameter_mm / 2);
        is_zero(fore + out.wheel_load_n + out.hind_load_n - weight * cos(b), weight);
        is_zero(out.wheel_load_n * in.axle_mm + out.hind_load_n * length - turn, weight * length);
        /* grip: at its limit uphill the hind feet hold mu times their load (no help in front) */
        if (in.fore_support > 0 || out.grip_uphill_deg > 60)
            continue;
        in.slope_deg = out.grip_uphill_deg;
        if (front_solve(&in, &out, NULL))
            is_zero(out.hind_load_n * in.friction - weight * sin(in.slope_deg * (M_PI / 180)),
                    weight);
    }
    assert_true(solved > DOGS / 2);
}

static void four_wheels_close_inside_their_range(void **state)
{
    (void)state;
    uint64_t seed = 20260109;
    int solved = 0;
    for (int i = 0; i < DOGS; i++) {
        double length = draw(&seed, 120, 900), g = STANDARD_GRAVITY;
        struct four_in in = {
            .dog_mass_kg = draw(&seed, 2, 60),
            .stance_length_mm = length,
            .fore_share = draw(&seed, 0.45, 0.8),
            .hind_support = draw(&seed, 0, 0.5),
            .rest_mm = length * draw(&seed, 0.8, 1.05),
            .sling_mm = length * draw(&seed, 0, 0.3),
            .frame_mass_kg = draw(&seed, 0, 6),
            .frame_cg_mm = length * draw(&seed, 0.2, 0.9),
            .front_axle_mm = length * draw(&seed, -0.3, 0.2),
            .front_wheels_mass_kg = draw(&seed, 0, 1),
            .rear_axle_mm = length * draw(&seed, 0.8, 1.3),
            .rear_wheels_mass_kg = draw(&seed, 0, 1),
            .may_press = draw(&seed, 0, 1) < 0.5,
        };
        struct four_range range;
        struct four_out out;
        if (!four_range(&in, &range, NULL))
            continue;
        solved++;
        assert_true(four_solve(&in, draw(&seed, range.fore_low_n, range.fore_high_n), &out, NULL));
        double dog = in.dog_mass_kg * g, hind = in.hind_support * (1 - in.fore_share) * dog;
        double weight =
            dog + g * (in.frame_mass_kg + in.front_wheels_mass_kg + in.rear_wheels_mass_kg);
        is_zero(out.fore_load_n + hind + out.front_wheels_n + out.rear_wheels_n - weight, weight);
        double turn =
            dog * length * (1 - in.fore_share) +
            g * (in.frame_mass_kg * in.frame_cg_mm + in.front_wheels_mass_kg * in.front_axle_mm +
                 in.rear_wheels_mass_kg * in.rear_axle_mm);
        is_zero(hind * length + out.front_wheels_n * in.front_axle_mm +
                    out.rear_wheels_n * in.rear_axle_mm - turn,
                weight * length);
        double least = fmin(fmin(out.fore_load_n, out.rest_load_n),
                            fmin(out.front_wheels_n, out.rear_wheels_n));
        assert_true(least >= -1e-9 * weight);
        assert_true(in.may_press || out.sling_load_n >= -1e-9 * weight);
        assert_false(four_solve(&in, range.fore_high_n * 1.001 + 0.01, &out, NULL));
    }
    assert_true(solved > DOGS / 2);
}

/* Any finite numbers at all: an answer without NaN or infinity, or a refusal with words. */
static double anything(uint64_t *seed)
{
    static const double odd[] = {0, -0.0, 1, -1, 1e-300, 1e300, -1e300, 5e-324, 89, 0.5, 1e-9, 1e9};
    double kind = draw(seed, 0, 1);
    if (kind < 0.3)
        return odd[(size_t)draw(seed, 0, sizeof odd / sizeof odd[0])];
    if (kind < 0.6)
        return exp(draw(seed, -300, 300)) * (draw(seed, 0, 1) < 0.3 ? -1 : 1);
    return draw(seed, -100, 1000);
}

static void check_answer(bool solved, const struct calc_key *keys, size_t count, const void *out,
                         const struct fault *f)
{
    if (!solved) {
        assert_true(f->kind != FAULT_NONE && f->text[0] != '\0');
        return;
    }
    for (size_t k = 0; k < count; k++) {
        double v = calc_get(&keys[k], out);
        if (!isfinite(v) && !(isnan(v) && keys[k].need == KEY_OPTIONAL)) {
            print_error("%s = %g\n", keys[k].name, v);
            _fail(__FILE__, __LINE__);
        }
    }
}

static void never_nan(void **state)
{
    (void)state;
    uint64_t seed = 20260110;
    int answered = 0;
    for (int i = 0; i < DOGS; i++) {
        struct balance_in in = some_dog(&seed);
        struct balance_out out;
        struct fault f = {FAULT_NONE, ""};
        for (size_t k = 0; k < balance_keys_in_count; k++)
            if (draw(&seed, 0, 1) < 0.1) {
                const struct calc_key *key = &balance_keys_in[k];
                double v =
                    draw(&seed, 0, 1) < 0.5 ? anything(&seed) : draw(&seed, key->low, key->high);
                if (draw(&seed, 0, 1) < 0.3)
                    v = draw(&seed, 0, 1) < 0.5 ? key->low : key->high;
                calc_put(key, &in, v);
            }
        in.from_relief = draw(&seed, 0, 1) < 0.3;
        bool solved = balance_solve(&in, &out, &f);
        answered += solved;
        check_answer(solved, balance_keys_out, balance_keys_out_count, &out, &f);
        if (i % 10 > 0)
            continue;
        struct balance_in u = in;
        struct balance_out spread;
        for (size_t k = 0; k < balance_keys_in_count; k++)
            calc_put(&balance_keys_in[k], &u, fabs(anything(&seed)) / 100);
        solved = balance_spread(&in, &u, &out, &spread, &f);
        check_answer(solved, balance_keys_out, balance_keys_out_count, &spread, &f);
    }
    assert_true(answered > DOGS / 10);
    print_message("# %d of %d odd balances answered\n", answered, DOGS);
    for (int i = 0; i < DOGS; i++) {
        struct fault f = {FAULT_NONE, ""};
        struct stability_in s = {draw(&seed, 0, 500), draw(&seed, 1, 500), draw(&seed, 1, 800),
                                 draw(&seed, 1, 600), draw(&seed, 0, 300), draw(&seed, 0, 9)};
        struct stability_out so;
        struct ramp_in r = {draw(&seed, 0, 90), NAN, anything(&seed), anything(&seed), 0.02};
        struct ramp_out ro;
        struct obstacle_in o = {anything(&seed), anything(&seed), draw(&seed, 0, 500),
                                anything(&seed)};
        struct obstacle_out oo;
        struct corridor_in c = {draw(&seed, 1, 2000), draw(&seed, 1, 2000), anything(&seed)};
        struct corridor_out co;
        if (i % 3 == 0)
            s.cg_mm = s.axle_mm;
        check_answer(stability_solve(&s, &so, &f), stability_keys_out, stability_keys_out_count,
                     &so, &f);
        check_answer(ramp_solve(&r, &ro, &f), ramp_keys_out, ramp_keys_out_count, &ro, &f);
        check_answer(obstacle_solve(&o, &oo, &f), obstacle_keys_out, obstacle_keys_out_count, &oo,
                     &f);
        if (i % 10 == 0)
            check_answer(corridor_solve(&c, &co, &f), corridor_keys_out, corridor_keys_out_count,
                         &co, &f);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forces_and_moments_close),
        cmocka_unit_test(inverse_undoes_forward),
        cmocka_unit_test(axle_forward_unloads_and_costs),
        cmocka_unit_test(scaling),
        cmocka_unit_test(mirror),
        cmocka_unit_test(four_wheels_close_inside_their_range),
        cmocka_unit_test(never_nan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
