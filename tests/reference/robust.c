/* Median, MAD and modified z against published examples and open data.
 *
 * Source: beside each check. Data as in the R packages MASS 7.3-58.2 and carData 3.0.5.
 */
#include "calc/robust.h"
#include "base/fault.h"
#include "near.h"
#include <gsl/gsl_rng.h>
#include <gsl/gsl_statistics.h>

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))

static struct robust_out robust(const double *v, size_t n)
{
    struct robust_out out;
    struct fault f;
    works(robust_solve(v, n, 1e-6, &out, &f), f);
    return out;
}

static size_t far_out(const double *v, size_t n, double limit)
{
    struct robust_out r = robust(v, n);
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        count += fabs(robust_z(&r, v[i])) > limit;
    return count;
}

/* The Grubbs data of the NIST e-Handbook, 1.3.5.17.1. Modified z, run in R with 0.6745 / MAD:
 * 29.96271 for the last, none of the others above 1.3965. 1.4826 and 1 / 0.6745 part by 1.4e-5. */
static void one_wild_value(void **state)
{
    (void)state;
    static const double x[] = {199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
    struct robust_out r = robust(x, COUNT(x));
    near(r.centre, 201.370, 1e-12);
    near(r.mad, 0.995, 1e-12);
    near(r.spread, 1.475187, 1e-9);
    near(0.6745 * (x[7] - r.centre) / r.mad, 29.96271, 1e-5);
    near_share(robust_z(&r, x[7]), 29.96271, 2e-5);
    for (size_t i = 0; i < 7; i++)
        assert_true(fabs(robust_z(&r, x[i])) <= 1.3966);
    /* Hampel's identifier: three spreads (from memory). */
    assert_int_equal(far_out(x, COUNT(x), ROBUST_FAR), 1);
    assert_int_equal(far_out(x, COUNT(x), 3), 1);
}

/* R: mad(c(1:8, 100)) is 2.9652, with a constant of 1 it is 2. */
static void example_of_r(void **state)
{
    (void)state;
    struct robust_out r = robust((double[]){1, 2, 3, 4, 5, 6, 7, 8, 100}, 9);
    near(r.spread, 2.9652, 1e-12);
    near(r.mad, 2, 0);
}

/* stats.stackexchange.com/q/339932: seven tens and a hundred have a MAD of 0. The hundred is still
 * far out, a ten is not, and values all alike have the least spread that was asked for. */
static void a_mad_of_nothing(void **state)
{
    (void)state;
    static const double x[] = {10, 10, 10, 10, 10, 10, 10, 100};
    struct robust_out r = robust(x, COUNT(x));
    near(r.mad, 0, 0);
    near(r.spread, sqrt(M_PI / 2) * 90 / 8, 1e-12);
    assert_true(robust_z(&r, 100) > ROBUST_FAR);
    near(robust_z(&r, 10), 0, 0);
    struct fault f;
    works(robust_solve(x, 7, 0.5, &r, &f), f);
    near(robust_z(&r, 11), 2, 1e-12);
}

/* Newcomb's light, 66 values: median 27, MAD 4.4478; -44 and -2 are far out and nothing else. */
static void newcombs_light(void **state)
{
    (void)state;
    static const double x[] = {28, -44, 29, 30, 24, 28, 37, 32, 36, 27, 26, 28, 29, 26, 27, 22, 23,
                               20, 25,  25, 36, 23, 31, 32, 24, 27, 33, 16, 24, 29, 36, 21, 28, 26,
                               27, 27,  32, 25, 28, 24, 40, 21, 31, 32, 28, 26, 30, 27, 26, 24, 32,
                               29, 34,  -2, 25, 19, 36, 29, 30, 22, 28, 33, 39, 25, 16, 23};
    struct robust_out r = robust(x, COUNT(x));
    assert_int_equal(COUNT(x), 66);
    near(r.centre, 27, 0);
    near(r.spread, 4.4478, 1e-12);
    assert_int_equal(far_out(x, COUNT(x), ROBUST_FAR), 2);
    assert_true(fabs(robust_z(&r, -44)) > ROBUST_FAR && fabs(robust_z(&r, -2)) > ROBUST_FAR);
}

/* Davis 1990: in row 12 weight and height stand in each other's place. Modified z of ln w - 2 ln h,
 * run in R: 26.78 there, the next 4.42. */
static void two_fields_exchanged(void **state)
{
    (void)state;
    static const double weight[] = {
        77,  58, 53, 68, 59, 76, 76, 69, 71, 65,  70, 166, 51, 64,  52, 65, 92,  62, 76, 61,
        119, 61, 65, 66, 54, 50, 63, 58, 39, 101, 71, 75,  79, 52,  68, 64, 56,  69, 88, 65,
        54,  80, 63, 78, 85, 54, 73, 49, 54, 75,  82, 56,  74, 102, 64, 65, 66,  73, 75, 57,
        68,  71, 71, 78, 97, 60, 64, 64, 52, 80,  62, 66,  55, 56,  50, 50, 50,  63, 69, 69,
        61,  55, 53, 60, 56, 59, 62, 53, 57, 57,  70, 56,  84, 69,  88, 56, 103, 50, 52, 55,
        55,  63, 47, 45, 62, 53, 52, 57, 64, 59,  84, 79,  55, 67,  76, 62, 83,  96, 75, 65,
        78,  69, 68, 55, 67, 52, 47, 45, 68, 44,  62, 87,  56, 50,  83, 53, 64,  62, 90, 85,
        66,  52, 53, 54, 64, 55, 55, 59, 70, 88,  57, 47,  47, 55,  48, 54, 69,  59, 58, 57,
        51,  54, 53, 59, 56, 59, 63, 66, 96, 53,  76, 54,  61, 82,  62, 71, 60,  66, 81, 68,
        80,  43, 82, 63, 70, 56, 60, 58, 76, 50,  88, 89,  59, 51,  62, 74, 83,  81, 90, 79};
    static const double height[] = {
        182, 161, 161, 177, 157, 170, 167, 186, 178, 171, 175, 57,  161, 168, 163, 166, 187,
        168, 197, 175, 180, 170, 175, 173, 171, 166, 169, 166, 157, 183, 166, 178, 173, 164,
        169, 176, 166, 174, 178, 187, 164, 178, 163, 183, 179, 160, 180, 161, 174, 162, 182,
        165, 169, 185, 177, 176, 170, 183, 172, 173, 165, 177, 180, 173, 189, 162, 165, 164,
        158, 178, 175, 173, 165, 163, 166, 171, 160, 160, 182, 183, 165, 168, 169, 167, 170,
        182, 178, 165, 163, 162, 173, 161, 184, 180, 189, 165, 185, 169, 159, 155, 164, 178,
        163, 163, 175, 164, 152, 167, 166, 166, 183, 179, 174, 179, 167, 168, 184, 184, 169,
        178, 178, 167, 178, 165, 179, 169, 153, 157, 171, 157, 166, 185, 160, 148, 177, 162,
        172, 167, 188, 191, 175, 163, 165, 176, 171, 160, 165, 157, 173, 184, 168, 162, 150,
        162, 163, 169, 172, 170, 169, 167, 163, 161, 162, 172, 163, 159, 170, 166, 191, 158,
        169, 163, 170, 176, 168, 178, 174, 170, 178, 174, 176, 154, 181, 165, 173, 162, 172,
        169, 183, 158, 185, 173, 164, 156, 164, 175, 180, 175, 181, 177};
    double build[COUNT(weight)], next = 0;
    assert_int_equal(COUNT(weight), COUNT(height));
    for (size_t i = 0; i < COUNT(weight); i++)
        build[i] = log(weight[i]) - 2 * log(height[i]);
    struct robust_out r = robust(build, COUNT(build));
    for (size_t i = 0; i < COUNT(build); i++)
        if (i != 11)
            next = fmax(next, fabs(robust_z(&r, build[i])));
    near(fabs(robust_z(&r, build[11])), 26.78, 5e-3);
    near(next, 4.42, 5e-3);
}

static void by_the_library(void **state)
{
    (void)state;
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(rng, 20260106);
    for (int i = 0; i < 2000; i++) {
        double v[40], sorted[40], work[40];
        size_t n = 2 + gsl_rng_uniform_int(rng, 39);
        for (size_t k = 0; k < n; k++)
            v[k] = sorted[k] = floor(1000 * gsl_rng_uniform(rng));
        struct robust_out r = robust(v, n);
        near(r.centre, gsl_stats_median(sorted, 1, n), 1e-12);
        near(r.mad, gsl_stats_mad0(v, 1, n, work), 1e-12);
    }
    gsl_rng_free(rng);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_wild_value),       cmocka_unit_test(example_of_r),
        cmocka_unit_test(a_mad_of_nothing),     cmocka_unit_test(newcombs_light),
        cmocka_unit_test(two_fields_exchanged), cmocka_unit_test(by_the_library),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
