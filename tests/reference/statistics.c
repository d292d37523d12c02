/* Trends, repeatability, shares and tails against certified and published values, and against the
 * GNU Scientific Library.
 *
 * Source: each is named beside its check: NIST StRD (US Government, public domain), GUM H.3, a
 * worked Mann-Kendall example, Ulijaszek and Kerr 1999, Bland and Altman 1986, Khan 2024, Hall
 * 2020.
 */
#include "base/fault.h"
#include "calc/chance.h"
#include "calc/dimension.h"
#include "calc/interval.h"
#include "calc/repeat.h"
#include "calc/trend.h"
#include "near.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_fit.h>
#include <gsl/gsl_rng.h>

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))

static struct trend_out line(const double *x, const double *y, size_t n, double threshold)
{
    struct trend_point p[64];
    struct trend_out out;
    struct fault f;
    for (size_t i = 0; i < n; i++)
        p[i] = (struct trend_point){x[i], y[i], 0};
    works(trend_solve(p, n, threshold, &out, &f), f);
    return out;
}

/* NIST StRD, Norris: itl.nist.gov/div898/strd/lls/data/LINKS/DATA/Norris.dat, certified values.
 * Theil-Sen on the same data: run in R. */
static void nist_norris(void **state)
{
    (void)state;
    static const double x[] = {0.2,   337.4, 118.2, 884.6, 10.1,  226.5, 666.3, 996.3, 448.6,
                               777.0, 558.2, 0.4,   0.6,   775.5, 666.9, 338.0, 447.5, 11.6,
                               556.0, 228.1, 995.8, 887.6, 120.2, 0.3,   0.3,   556.8, 339.1,
                               887.2, 999.0, 779.0, 11.1,  118.3, 229.2, 669.1, 448.9, 0.5};
    static const double y[] = {0.1,   338.8, 118.1, 888.0, 9.2,   228.1, 668.5, 998.5, 449.1,
                               778.9, 559.2, 0.3,   0.1,   778.1, 668.8, 339.3, 448.9, 10.8,
                               557.7, 228.3, 998.0, 888.8, 119.6, 0.3,   0.6,   557.6, 339.3,
                               888.0, 998.5, 778.9, 10.2,  117.6, 228.9, 668.4, 449.2, 0.2};
    struct trend_out t = line(x, y, COUNT(x), NAN);
    near_share(t.intercept, -0.262323073774029, 1e-9);
    near_share(t.intercept_se, 0.232818234301152, 1e-9);
    near_share(t.slope_per_day, 1.00211681802045, 1e-12);
    near_share(t.slope_se, 0.429796848199937e-3, 1e-9);
    near_share(t.residual_sd, 0.884796396144373, 1e-9);
    near_share(t.theil_slope, 1.00219683655536, 1e-12);
    double t975 = gsl_cdf_tdist_Pinv(0.975, 34);
    near_share(t.slope_high, 1.00211681802045 + t975 * 0.429796848199937e-3, 1e-10);
    near_share(t.slope_low, 1.00211681802045 - t975 * 0.429796848199937e-3, 1e-10);
}

/* GUM (JCGM 100) H.3, a thermometer's correction, digits as in the GUM tree calculator's text. */
static void gum_h3_prediction(void **state)
{
    (void)state;
    static const double t[] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                               24.513, 25.002, 25.503, 26.010, 26.511};
    static const double b[] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                               -0.156, -0.157, -0.159, -0.161, -0.160};
    double x[COUNT(t)], u;
    for (size_t i = 0; i < COUNT(t); i++)
        x[i] = t[i] - 20;
    struct trend_out out = line(x, b, COUNT(x), NAN);
    near_share(out.intercept, -0.171203790, 1e-8);
    near_share(out.intercept_se, 0.00287759784, 1e-8);
    near_share(out.slope_per_day, 0.00218269774, 1e-8);
    near_share(out.slope_se, 0.000667938773, 1e-8);
    near_share(out.residual_sd, 0.00349756396, 1e-8);
    near(trend_at(&out, 10, &u), -0.149376813, 1e-9);
    near(u, 0.00413859575, 1e-9);
}

/* A weighted line: codingace.net/maths/weighted_linear_regression.html, weights as they stand; R
 * and GSL agree. The uncertainties say 1, the points scatter by 0.13: the readings are believed. */
static void weighted_line(void **state)
{
    (void)state;
    static const double y[] = {1.1, 1.9, 3.2, 3.8, 5.1, 6.0, 7.1, 7.9, 9.2, 10.0};
    static const double w[] = {1, 1, 1, .5, 2, 1, 1, .7, 1, 1};
    struct trend_point p[COUNT(y)];
    struct trend_out t;
    struct fault f;
    double of_all = 0;
    for (size_t i = 0; i < COUNT(y); i++)
        p[i] = (struct trend_point){1 + (double)i, y[i], 1 / sqrt(w[i])};
    works(trend_solve(p, COUNT(y), NAN, &t, &f), f);
    for (size_t i = 0; i < COUNT(y); i++)
        of_all += w[i] * (y[i] - t.mean_value) * (y[i] - t.mean_value);
    double scale = sqrt(t.misfit / 8);
    near_share(t.intercept, 0.0416379734383, 1e-8);
    near_share(t.slope_per_day, 1.00189375307, 1e-8);
    near_share(t.misfit, 0.129174864732, 1e-8);
    near_share(1 - t.misfit / of_all, 0.998388475, 1e-8);
    near_share(t.intercept_se * scale, 0.0871828965, 1e-8);
    near_share(t.slope_se * scale, 0.0142313276, 1e-8);
    assert_false(t.bad_fit);
}

/* Points that are no line at all, each with its uncertainty (a published exercise; run in R and
 * GSL): chi-square 361.000011 on 4. The line says so, and its errors are those of the scatter. */
static void a_line_that_does_not_fit(void **state)
{
    (void)state;
    static const double y[] = {120.984, 132.194, 130.413, 127.687, 125.710, 128.188};
    static const double u[] = {.426248, .418291, 1.260100, .414457, .410716, 1.431200};
    struct trend_point p[COUNT(y)];
    struct trend_out t;
    struct fault f;
    for (size_t i = 0; i < COUNT(y); i++)
        p[i] = (struct trend_point){1 + (double)i, y[i], u[i]};
    works(trend_solve(p, COUNT(y), NAN, &t, &f), f);
    double scale = sqrt(361.000011 / 4);
    near_share(t.intercept, 125.435431262, 1e-8);
    near_share(t.slope_per_day, 0.446451468, 1e-8);
    near_share(t.misfit, 361.000011, 1e-8);
    near_share(t.intercept_se / scale, 0.445009687, 1e-8);
    near_share(t.slope_se / scale, 0.127602418, 1e-8);
    near(t.intercept_se, 4.22759, 5e-6);
    near(t.slope_se, 1.21222, 5e-6);
    assert_true(t.bad_fit);
    assert_int_equal(trend_judge(&t, 0), TREND_NO_REAL_CHANGE);
}

/* mathcs.holycross.edu/~little/Montserrat/MannKendallByHand.txt: S 54, Z 2.9058; Sen's slope in R.
 */
static void mann_kendall_by_hand(void **state)
{
    (void)state;
    static const double y[] = {12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9,
                               11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7};
    double x[COUNT(y)];
    for (size_t i = 0; i < COUNT(y); i++)
        x[i] = (double)i;
    struct trend_out t = line(x, y, COUNT(y), NAN);
    near(t.kendall_s, 54, 0);
    near(t.kendall_z, 2.90583685, 1e-7);
    near(t.theil_slope, 0.56666667, 1e-7);
}

/* The crossing's range ends where the 95 % band of the line meets the threshold: looked for here by
 * halving, with the library's line and its covariance. */
static void crossing_by_the_library(void **state)
{
    (void)state;
    static const double x[] = {0, 14, 30, 45, 61, 90}, y[] = {36.1, 35.6, 35.4, 34.7, 34.4, 33.2};
    double c0, c1, cov00, cov01, cov11, ss, value, error;
    struct trend_out t = line(x, y, COUNT(x), 30);
    gsl_fit_linear(x, 1, y, 1, COUNT(x), &c0, &c1, &cov00, &cov01, &cov11, &ss);
    near_share(t.slope_per_day, c1, 1e-12);
    near_share(t.intercept, c0, 1e-12);
    near_share(t.cross_day, (30 - c0) / c1, 1e-12);
    double t975 = gsl_cdf_tdist_Pinv(0.975, 4);
    for (int side = -1; side <= 1; side += 2) {
        double low = 0, high = 1000;
        while (high - low > 1e-9) {
            double middle = (low + high) / 2;
            gsl_fit_linear_est(middle, c0, c1, cov00, cov01, cov11, &value, &error);
            if (value + side * t975 * error > 30)
                low = middle;
            else
                high = middle;
        }
        near(side < 0 ? t.cross_low : t.cross_high, low, 1e-6);
    }
    assert_int_equal(trend_judge(&t, 0), TREND_FALLS);
    assert_int_equal(trend_judge(&t, 4), TREND_NO_REAL_CHANGE);
}

/* Ulijaszek and Kerr 1999, Br J Nutr 82:165-177, as in nutriverse/anthrocheckr: weights of ten
 * children twice, TEM 0.08062258 kg; stature by four observers, TEM 0.003063223 m. */
static void technical_error(void **state)
{
    (void)state;
    static const double m1[] = {15.9, 14.2, 16.7, 14.1, 14.8, 16.2, 10.5, 16.5, 14.1, 13.5};
    static const double m2[] = {16.0, 14.3, 16.7, 14.2, 14.6, 16.1, 10.5, 16.4, 14.3, 13.5};
    static const double stature[10][4] = {
        {0.865, 0.863, 0.863, 0.864}, {1.023, 1.023, 1.027, 1.025}, {0.982, 0.980, 0.989, 0.985},
        {0.817, 0.816, 0.812, 0.817}, {0.901, 0.894, 0.900, 0.903}, {0.880, 0.876, 0.881, 0.881},
        {0.948, 0.947, 0.947, 0.946}, {0.906, 0.905, 0.907, 0.908}, {0.924, 0.924, 0.926, 0.924},
        {0.989, 0.987, 1.002, 0.993}};
    double pairs[10][2];
    struct repeat_subject subjects[10];
    struct repeat_out out;
    struct fault f;
    for (size_t i = 0; i < 10; i++) {
        pairs[i][0] = m1[i];
        pairs[i][1] = m2[i];
        subjects[i] = (struct repeat_subject){pairs[i], 2};
    }
    works(repeat_solve(subjects, 10, &out, &f), f);
    near(out.tem, 0.08062258, 5e-9);
    near(out.tem_percent, 0.5501, 5e-5);
    near(out.reliability, 0.99798, 5e-6);
    near(out.credible_change, 0.223, 5e-4);
    for (size_t i = 0; i < 10; i++)
        subjects[i] = (struct repeat_subject){stature[i], 4};
    works(repeat_solve(subjects, 10, &out, &f), f);
    near(out.tem, 0.003063223, 5e-10);
    near(out.tem_percent, 0.3316, 5e-5);
    near(out.reliability, 0.99755, 5e-6);
}

/* The same sample: height and arm girth (raw numbers as published, results derived). */
static void technical_error_of_height_and_girth(void **state)
{
    (void)state;
    static const double readings[2][2][10] = {
        {{102.0, 94.8, 97.2, 93.1, 99.6, 98.9, 83.5, 98.0, 95.1, 94.7},
         {102.3, 94.3, 97.2, 93.2, 99.1, 98.3, 83.5, 98.0, 92.9, 94.2}},
        {{170, 160, 184, 174, 155, 173, 145, 170, 163, 162},
         {170, 158, 173, 164, 160, 170, 145, 171, 160, 160}}};
    static const double want[2][4] = {{0.55, 0.5759, 0.98767, 1.525},
                                      {3.694591, 2.2480, 0.85269, 10.24}};
    for (size_t m = 0; m < 2; m++) {
        double pairs[10][2];
        struct repeat_subject subjects[10];
        struct repeat_out out;
        struct fault f;
        for (size_t i = 0; i < 10; i++) {
            pairs[i][0] = readings[m][0][i];
            pairs[i][1] = readings[m][1][i];
            subjects[i] = (struct repeat_subject){pairs[i], 2};
        }
        works(repeat_solve(subjects, 10, &out, &f), f);
        near(out.tem, want[m][0], 5e-7);
        near(out.tem_percent, want[m][1], 5e-5);
        near(out.reliability, want[m][2], 5e-6);
        near(out.credible_change, want[m][3], 5e-3);
    }
}

/* Bland and Altman 1986, Lancet 327:307, peak flow of 17 people: TEM and repeatability run in R. */
static void peak_flow_meters(void **state)
{
    (void)state;
    static const double meters[2][2][17] = {
        {{494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427},
         {490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421}},
        {{512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451},
         {525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443}}};
    static const double want[2][3] = {{15.30666906, 3.4176, 42.427922},
                                      {19.91083063, 4.3865, 55.190007}};
    for (size_t m = 0; m < 2; m++) {
        double pairs[17][2];
        struct repeat_subject subjects[17];
        struct repeat_out out;
        struct fault f;
        for (size_t i = 0; i < 17; i++) {
            pairs[i][0] = meters[m][0][i];
            pairs[i][1] = meters[m][1][i];
            subjects[i] = (struct repeat_subject){pairs[i], 2};
        }
        works(repeat_solve(subjects, 17, &out, &f), f);
        near(out.tem, want[m][0], 1e-6);
        near(out.tem_percent, want[m][1], 5e-5);
        near(out.credible_change, want[m][2], 1e-5);
    }
}

/* Shrout and Fleiss 1979, Psychol Bull 86:420 (data from memory), run in the R package psych. */
static void intraclass_correlations(void **state)
{
    (void)state;
    static const double table[6][4] = {{9, 2, 5, 8}, {6, 1, 3, 2},  {8, 4, 6, 8},
                                       {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}};
    struct repeat_subject subjects[6];
    struct agreement_out out;
    struct fault f;
    for (size_t i = 0; i < 6; i++)
        subjects[i] = (struct repeat_subject){table[i], 4};
    works(agreement_solve(subjects, 6, &out, &f), f);
    near(out.icc_1, .16574177, 1e-8);
    near(out.icc_2, .28976378, 1e-8);
    near(out.icc_3, .71484071, 1e-8);
    near(out.icc_1k, .44279713, 1e-8);
    near(out.icc_2k, .62005055, 1e-8);
    near(out.icc_3k, .90931554, 1e-8);
}

/* Khan, Jeffery and Freeman 2024, JVIM 38:2603: 49/51 = 96 % (87-99), 10/21 = 48 % (28-68). Hall et
 * al. 2020, Sci Rep: 14.18 % (11.08-17.96), the numerator 56 of 395 inferred from it. */
static void wilson_intervals(void **state)
{
    (void)state;
    static const double want[3][5] = {{49, 51, 0.8678, 0.9892, 0.96},
                                      {10, 21, 0.2834, 0.6763, 0.48},
                                      {56, 395, 0.1108, 0.1796, 0.1418}};
    for (size_t i = 0; i < 3; i++) {
        struct interval_out out;
        struct fault f;
        works(interval_solve(&(struct interval_in){want[i][0], want[i][1]}, &out, &f), f);
        near(out.low, want[i][2], 5e-5);
        near(out.high, want[i][3], 5e-5);
        near(out.share, want[i][4], 5e-3);
    }
}

/* Two scales: fore / both, in triplicate. 63 +- 3 % in small chondrodystrophic dogs (BMC Vet Res
 * 2021, s12917-021-02808-x); the readings here are invented. 20 kg at 60.4 % carry 12.1 kg in
 * front. */
static void two_scales(void **state)
{
    (void)state;
    struct fore_share_out out;
    struct fault f;
    works(fore_share_solve((double[]){6.3, 6.2, 6.4}, (double[]){3.7, 3.8, 3.6}, 3, &out, &f), f);
    near(out.share, 0.63, 1e-12);
    near(out.sd, 0.01, 1e-12);
    near(out.cv_percent, 100 * 0.01 / 0.63, 1e-9);
    near(out.mass_kg, 10, 1e-12);
    near(20 * 0.604, 12.1, 0.05);
}

static void tails_by_the_library(void **state)
{
    (void)state;
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(rng, 20260102);
    for (int i = 0; i < 20000; i++) {
        double freedom = 1 + floor(60 * gsl_rng_uniform(rng));
        double x = 3 * freedom * gsl_rng_uniform(rng);
        double tail = 0.0005 + 0.498 * gsl_rng_uniform(rng);
        near(chance_chi2_tail(x, freedom), gsl_cdf_chisq_Q(x, freedom), 1e-12);
        near_share(chance_chi2_point(tail, freedom), gsl_cdf_chisq_Qinv(tail, freedom), 1e-9);
        near_share(chance_t_point(tail, freedom), gsl_cdf_tdist_Qinv(tail, freedom), 1e-8);
        near_share(chance_normal_tail(x / freedom), gsl_cdf_ugaussian_Q(x / freedom), 1e-12);
    }
    gsl_rng_free(rng);
    near(chance_chi2_point(0.05, 5), 11.07049769, 1e-8);
    near(chance_chi2_point(0.01, 5), 15.08627247, 1e-8);
    near(chance_normal_tail(NORMAL_975), 0.025, 1e-15);
}

/* One subject read again and again: TEM is then the standard deviation. */
static struct repeat_out readings_of_one(const double *readings, size_t n)
{
    struct repeat_out out;
    struct fault f;
    works(repeat_solve(&(struct repeat_subject){readings, n}, 1, &out, &f), f);
    return out;
}

/* NIST StRD univariate, itl.nist.gov/div898/strd/univ/data/{Mavro,Michelso,NumAcc1}.dat, certified.
 */
static void nist_univariate(void **state)
{
    (void)state;
    static const double mavro[] = {
        2.00180, 2.00170, 2.00180, 2.00190, 2.00180, 2.00170, 2.00150, 2.00140, 2.00150, 2.00150,
        2.00170, 2.00180, 2.00180, 2.00190, 2.00190, 2.00210, 2.00200, 2.00160, 2.00140, 2.00130,
        2.00130, 2.00150, 2.00150, 2.00160, 2.00150, 2.00140, 2.00130, 2.00140, 2.00150, 2.00140,
        2.00150, 2.00160, 2.00150, 2.00160, 2.00190, 2.00200, 2.00200, 2.00210, 2.00220, 2.00230,
        2.00240, 2.00250, 2.00270, 2.00260, 2.00260, 2.00260, 2.00270, 2.00260, 2.00250, 2.00240};
    static const double michelso[] = {
        299.85, 299.74, 299.90, 300.07, 299.93, 299.85, 299.95, 299.98, 299.98, 299.88,
        300.00, 299.98, 299.93, 299.65, 299.76, 299.81, 300.00, 300.00, 299.96, 299.96,
        299.96, 299.94, 299.96, 299.94, 299.88, 299.80, 299.85, 299.88, 299.90, 299.84,
        299.83, 299.79, 299.81, 299.88, 299.88, 299.83, 299.80, 299.79, 299.76, 299.80,
        299.88, 299.88, 299.88, 299.86, 299.72, 299.72, 299.62, 299.86, 299.97, 299.95,
        299.88, 299.91, 299.85, 299.87, 299.84, 299.84, 299.85, 299.84, 299.84, 299.84,
        299.89, 299.81, 299.81, 299.82, 299.80, 299.77, 299.76, 299.74, 299.75, 299.76,
        299.91, 299.92, 299.89, 299.86, 299.88, 299.72, 299.84, 299.85, 299.85, 299.78,
        299.89, 299.84, 299.78, 299.81, 299.76, 299.81, 299.79, 299.81, 299.82, 299.85,
        299.87, 299.87, 299.81, 299.74, 299.81, 299.94, 299.95, 299.80, 299.81, 299.87};
    struct repeat_out out = readings_of_one(mavro, COUNT(mavro));
    near_share(out.tem, 0.000429123454003053, 1e-9);
    near_share(100 * out.tem / out.tem_percent, 2.00185600000000, 1e-12);
    out = readings_of_one(michelso, COUNT(michelso));
    near_share(out.tem, 0.0790105478190518, 1e-9);
    near_share(100 * out.tem / out.tem_percent, 299.852400000000, 1e-12);
    out = readings_of_one((double[]){10000001, 10000003, 10000002}, 3);
    near(out.tem, 1, 1e-12);
    near_share(100 / out.tem_percent, 10000002, 1e-12);
}

/* NIST e-Handbook 1.3.5.17.1, Grubbs: G 2.46876461, critical 2.03165200 one-sided, 2.12664509
 * two-sided, from Student's t of n - 2. */
static void grubbs(void **state)
{
    (void)state;
    static const double x[] = {199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
    struct repeat_out out = readings_of_one(x, COUNT(x));
    near((x[7] - 100 * out.tem / out.tem_percent) / out.tem, 2.46876461, 1e-8);
    for (int sides = 1; sides <= 2; sides++) {
        double t = chance_t_point(0.05 / (8 * sides), 6);
        near(7 / sqrt(8) * sqrt(t * t / (6 + t * t)), sides == 1 ? 2.03165200 : 2.12664509, 1e-8);
    }
}

/* Noise floors: one observer repeats an angle within 6 degrees (Jaegger et al. 2002, AJVR 63:979)
 * and a thigh's girth within 1 cm (Bascunan et al. 2016, Vet Evidence 1(2)). A fall within them,
 * however steady, is no real change; one beyond them is. The readings are invented. */
static void noise_is_no_change(void **state)
{
    (void)state;
    static const double day[] = {0, 14, 28, 42, 56};
    static const double angle[] = {140, 139, 137.5, 136.5, 135},
                        girth[] = {361, 359, 357, 354, 352};
    static const double wasted[] = {361, 355, 349, 342, 337};
    struct trend_out t = line(day, angle, 5, NAN);
    assert_int_equal(trend_judge(&t, 0), TREND_FALLS);
    assert_int_equal(trend_judge(&t, 6), TREND_NO_REAL_CHANGE);
    t = line(day, girth, 5, NAN);
    assert_int_equal(trend_judge(&t, 10), TREND_NO_REAL_CHANGE);
    t = line(day, wasted, 5, NAN);
    assert_int_equal(trend_judge(&t, 10), TREND_FALLS);
}

/* GUM H.1, an end gauge: parts of 25, 16.599, 6.7, 5.8, 3.9 and 2.88679 nm make 31.6639 nm. JCGM
 * 101 9.2: four of variance 1, half-width 3.9199 at 95 % (digits from memory and run; the draws are
 * in spread.c). */
static void sums_of_uncertain_parts(void **state)
{
    (void)state;
    const struct dimension_term gauge[] = {
        {"standard", 1, 1, 25},
        {"comparator, read", 1, 1, 5.8},
        {"comparator, random", 1, 1, 3.9},
        {"comparator, systematic", 1, 1, 6.7},
        {"difference of expansion", 5.0000623, 1, 1 / sqrt(3)},    /* l theta, u(d alpha) */
        {"difference of temperature", 5.75007165, 1, 5 / sqrt(3)}, /* l alpha, u(d theta) */
    };
    const struct dimension_term four[] = {
        {"a", 1, 1, 1}, {"b", 1, 1, 1}, {"c", 1, 1, 1}, {"d", 1, 1, 1}};
    struct dimension_out out;
    struct fault f;
    works(dimension_solve(gauge, 6, 0, 0, DIMENSION_EITHER, &out, &f), f);
    near(out.tolerance_mm, 31.6639, 1e-3);
    works(dimension_solve(four, 4, 0, 0, DIMENSION_EITHER, &out, &f), f);
    near(out.tolerance_mm * NORMAL_975, 3.9199, 5e-5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nist_norris),
        cmocka_unit_test(gum_h3_prediction),
        cmocka_unit_test(weighted_line),
        cmocka_unit_test(a_line_that_does_not_fit),
        cmocka_unit_test(intraclass_correlations),
        cmocka_unit_test(mann_kendall_by_hand),
        cmocka_unit_test(crossing_by_the_library),
        cmocka_unit_test(technical_error),
        cmocka_unit_test(technical_error_of_height_and_girth),
        cmocka_unit_test(peak_flow_meters),
        cmocka_unit_test(wilson_intervals),
        cmocka_unit_test(two_scales),
        cmocka_unit_test(tails_by_the_library),
        cmocka_unit_test(nist_univariate),
        cmocka_unit_test(grubbs),
        cmocka_unit_test(noise_is_no_change),
        cmocka_unit_test(sums_of_uncertain_parts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
