/* A value over time: how fast it moves, whether that is real, and when it crosses a threshold.
 *
 * Least squares with the 95 % interval of the slope (Student, n - 2); Theil-Sen slope (median of
 * all pairwise slopes); Mann-Kendall S with its normal approximation, ties counted. The crossing is
 * where the line meets the threshold; its range is where the 95 % band of the line does (Fieller),
 * which exists only when the slope differs from 0 at that level.
 * Points with uncertainties are weighed by 1/u^2 in the line (not in the ranks). Standard errors
 * then follow from the uncertainties and, where the points scatter more than these allow, from the
 * scatter.
 * Sources: NIST StRD Norris, GUM H.3, Mann 1945 and Kendall 1975 (from memory) as checked in the
 * tests.
 */
#ifndef AMBLE_CALC_TREND_H
#define AMBLE_CALC_TREND_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>
#include <stddef.h>

enum { TREND_MOST = 1000 };

struct trend_point {
    double day, value;
    double u; /* standard uncertainty of the value; 0 throughout: not known */
};

struct trend_out {
    double slope_per_day, slope_low, slope_high;
    double intercept; /* value at day 0 of the caller's count */
    double theil_slope;
    double kendall_s;
    double cross_day, cross_low, cross_high; /* NaN without threshold, or where there is none */

    double misfit; /* chi-square of the weighted line; NaN without uncertainties */
    bool bad_fit;  /* a misfit of less than one chance in a hundred */

    double slope_se, intercept_se;
    double residual_sd; /* with uncertainties sqrt(misfit / (n - 2)), a ratio, at least 1 */
    double kendall_z;   /* (S -+ 1) / sqrt(Var S), 0 when S is 0 */
    double first_day, last_day;
    double weight, mean_day, mean_value, day_squares; /* for trend_at */
};

/* Three points or more on at least two days, all of them with an uncertainty or none; a NaN
 * threshold means none. */
bool trend_solve(const struct trend_point *points, size_t count, double threshold,
                 struct trend_out *out, struct fault *f);

/* The line at a day, and the standard uncertainty of the line there (not of a single reading). */
double trend_at(const struct trend_out *t, double day, double *u);

enum trend_verdict {
    TREND_NO_REAL_CHANGE, /* within the observer's credible change, or the slope's interval holds 0
                           */
    TREND_RISES,
    TREND_FALLS,
};
/* `credible_change` from repeat_solve (0: not known, the interval alone decides): the line's whole
 * change from first to last day must pass it. */
enum trend_verdict trend_judge(const struct trend_out *t, double credible_change);

extern const struct calc_key trend_keys_out[];
extern const size_t trend_keys_out_count;

#endif
