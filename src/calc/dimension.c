#include "calc/dimension.h"
#include <math.h>

bool dimension_solve(const struct dimension_term *terms, size_t count, double ease_mm,
                     double step_mm, enum dimension_side side, struct dimension_out *out,
                     struct fault *f)
{
    double snug = 0, squares = 0;
    if (!(fabs(ease_mm) <= 1000) || !(step_mm >= 0 && step_mm <= 1000))
        return fail(f, FAULT_INPUT, "ease %g mm and step %g mm are not usable", ease_mm, step_mm);
    for (size_t i = 0; i < count; i++) {
        const struct dimension_term *t = &terms[i];
        if (!(t->value_mm > 0 && t->value_mm <= 10000) || !(fabs(t->factor) <= 100))
            return fail(f, FAULT_INPUT, "%s must be from 0 to 10000 mm, not %g", t->measure,
                        t->value_mm);
        if (!(t->tolerance_mm >= 0 && t->tolerance_mm <= 1000))
            return fail(f, FAULT_INPUT, "the tolerance of %s must be 0 or more, not %g", t->measure,
                        t->tolerance_mm);
        snug += t->factor * t->value_mm;
        squares += t->factor * t->factor * t->tolerance_mm * t->tolerance_mm;
    }
    double tolerance = sqrt(squares), build = snug + ease_mm;
    *out = (struct dimension_out){
        .snug_mm = snug,
        .tolerance_mm = tolerance,
        .low_mm = build - tolerance,
        .high_mm = build + tolerance,
    };
    if (side != DIMENSION_EITHER)
        build += side == DIMENSION_ERR_LONG ? tolerance : -tolerance;
    if (step_mm > 0) {
        double steps = build / step_mm, hair = 1e-9; /* 31.0000000001 steps are 31 */
        build = step_mm * (side == DIMENSION_EITHER     ? round(steps)
                           : side == DIMENSION_ERR_LONG ? ceil(steps - hair)
                                                        : floor(steps + hair));
    }
    out->build_mm = build;
    if (!(build > 0))
        return fail(f, FAULT_REFUSED,
                    "the dimension comes out as %g mm: measures, factors and "
                    "ease do not go together",
                    build);
    return true;
}
