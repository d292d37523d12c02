/* Centre and spread that one wild value cannot move: the median, and the median absolute deviation.
 *
 * spread = 1.4826 MAD, which is the standard deviation of normal values. Half of the values alike
 * make a MAD of 0, and every other value an outlier however near: the mean absolute deviation then
 * takes its place (times sqrt(pi / 2)), and never less than `least`, the step the values are read
 * in. Source: modified z and its limit of 3.5, Iglewicz and Hoaglin
 * (stats.stackexchange.com/q/339932), which also shows the trap of a MAD of 0.
 */
#ifndef AMBLE_CALC_ROBUST_H
#define AMBLE_CALC_ROBUST_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

#define ROBUST_FAR 3.5 /* a modified z beyond this is an outlier */

struct robust_out {
    double centre; /* median */
    double mad;    /* as it is, may be 0 */
    double spread; /* above 0 */
};
/* One value or more, finite; `least` above 0. */
bool robust_solve(const double *values, size_t count, double least, struct robust_out *out,
                  struct fault *f);

/* How many spreads from the centre: the modified z. */
double robust_z(const struct robust_out *r, double value);

/* Sorts `values`, one or more, and returns the middle one. */
double robust_median(double *values, size_t count);

#endif
