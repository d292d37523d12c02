/* A dimension of the frame from the dog's measures: sum of factor times measure, plus ease.
 *
 * Its tolerance follows from the tolerances of the measures, first order and independent:
 * sqrt(sum (factor * tolerance)^2). Where one side does no harm the dimension is moved to that side
 * by its tolerance, so that it is still enough when the measures were off.
 * Source: GUM, JCGM 100 5.1.2.
 */
#ifndef AMBLE_CALC_DIMENSION_H
#define AMBLE_CALC_DIMENSION_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

enum dimension_side { DIMENSION_EITHER, DIMENSION_ERR_LONG, DIMENSION_ERR_SHORT };

struct dimension_term {
    const char *measure;
    double factor, value_mm, tolerance_mm;
};
struct dimension_out {
    double build_mm;        /* cut to this */
    double snug_mm;         /* without ease and without erring to a side */
    double tolerance_mm;    /* from the measures */
    double low_mm, high_mm; /* what the dog may turn out to need, ease included */
};
/* `step_mm` rounds build_mm to whole steps, up for ERR_LONG and down for ERR_SHORT (0: no
 * rounding). Refuses a result that is not above 0. */
bool dimension_solve(const struct dimension_term *terms, size_t count, double ease_mm,
                     double step_mm, enum dimension_side side, struct dimension_out *out,
                     struct fault *f);

#endif
