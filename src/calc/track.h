/* How near the predictions came: differences of what was measured from what was predicted.
 *
 * Mean, standard deviation of a single difference, and the limits between which 95 % of
 * differences are to be expected (mean -+ 1.96 SD; Bland and Altman 1986, Lancet 1:307, from
 * memory). With one pair there is no spread. */
#ifndef AMBLE_CALC_TRACK_H
#define AMBLE_CALC_TRACK_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

struct track_out {
    size_t n;
    double mean;      /* measured - predicted */
    double sd;        /* NaN with one pair */
    double low, high; /* NaN with one pair */
};
/* Refuses no pairs at all, and a value that is not finite. */
bool track_solve(const double *predicted, const double *measured, size_t n, struct track_out *out,
                 struct fault *f);

#endif
