/* Propagation of uncertainty against the examples of the GUM.
 *
 * Source: JCGM 100 H.2 and a two-input example, digits as in the texts of the GUM tree calculator
 * (run in R to more); JCGM 101 9.2 (digits from memory and run).
 */
#include "calc/spread.h"
#include "near.h"
#include <gsl/gsl_rng.h>
#include <gsl/gsl_sort.h>

/* Voltage, current and phase to resistance, reactance and impedance. */
static void impedance(const void *of, const double *x, double *y)
{
    (void)of;
    y[2] = x[0] / x[1];
    y[0] = y[2] * cos(x[2]);
    y[1] = y[2] * sin(x[2]);
}

/* GUM H.2: R 127.732(70), X 219.85(30), Z 254.26(24) ohm. */
static void inputs_that_go_together(void **state)
{
    (void)state;
    const struct spread_input in[] = {
        {4.999, 3.2e-3, 1e-4}, {19.661e-3, 9.5e-6, 1e-6}, {1.04446, 7.5e-4, 1e-4}};
    static const double r[] = {1, -.36, .86, -.36, 1, -.65, .86, -.65, 1};
    static const double value[] = {127.73217, 219.84651, 254.25970};
    static const double u[] = {.0699787, .2957168, .2366030};
    double y[3], got[3], alone[3];
    impedance(NULL, (double[]){4.999, 19.661e-3, 1.04446}, y);
    spread_solve(impedance, NULL, in, 3, r, got, 3);
    spread_solve(impedance, NULL, in, 3, NULL, alone, 3);
    for (size_t i = 0; i < 3; i++) {
        near(y[i], value[i], 5e-6);
        near_share(got[i], u[i], 1e-5);
        assert_true(fabs(alone[i] / u[i] - 1) > 0.1); /* the correlation matters */
    }
}

static void quotient(const void *of, const double *x, double *y)
{
    (void)of;
    y[0] = x[0] / x[1];
}

/* 0.1 V u 0.001 over 15 mA u 0.5: 6.67(23) ohm. Along with each other in full, the parts of one
 * sign and the other just take away: |0.0667 - 0.2222| (derived). */
static void two_inputs(void **state)
{
    (void)state;
    const struct spread_input in[] = {{0.1, 0.001, 1e-5}, {15e-3, 0.5e-3, 1e-6}};
    double u;
    spread_solve(quotient, NULL, in, 2, NULL, &u, 1);
    near(u, .232007, 1e-6);
    spread_solve(quotient, NULL, in, 2, (double[]){1, 1, 1, 1}, &u, 1);
    near(u, 2 / 9.0 - 1 / 15.0, 1e-6);
}

static void sum_of_four(const void *of, const double *x, double *y)
{
    (void)of;
    y[0] = x[0] + x[1] + x[2] + x[3];
}

/* JCGM 101 9.2, four even distributions of variance 1: first order says +- 3.9199 at 95 %, the
 * truth is 2 sqrt(3) (2 - (3/5)^(1/4)) = 3.8794, and a million draws give 3.88. */
static void where_first_order_is_wide(void **state)
{
    (void)state;
    enum { DRAWS = 1000000 };
    const struct spread_input in[] = {{0, 1, 1e-3}, {0, 1, 1e-3}, {0, 1, 1e-3}, {0, 1, 1e-3}};
    double u, *sums = test_malloc(DRAWS * sizeof *sums);
    spread_solve(sum_of_four, NULL, in, 4, NULL, &u, 1);
    near(1.959963985 * u, 3.9199, 5e-5);
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(rng, 20260107);
    for (int i = 0; i < DRAWS; i++) {
        double x[4];
        for (int k = 0; k < 4; k++)
            x[k] = sqrt(3) * (2 * gsl_rng_uniform(rng) - 1);
        sum_of_four(NULL, x, &sums[i]);
    }
    gsl_rng_free(rng);
    gsl_sort(sums, 1, DRAWS);
    double half = (sums[DRAWS * 39 / 40] - sums[DRAWS / 40]) / 2;
    test_free(sums);
    near(half, 2 * sqrt(3) * (2 - pow(0.6, 0.25)), 0.01);
    near(half, 3.8794, 0.01);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(inputs_that_go_together),
        cmocka_unit_test(two_inputs),
        cmocka_unit_test(where_first_order_is_wide),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
