/* How wrong a height read in a photograph is when the rule and the dog are not equally far away.
 *
 * The rule stands `rule_before_mm` nearer to the lens than the point that is read (the withers lie
 * in the middle of the dog, the rule beside it). A ray from the lens over the point meets the rule
 * at reads = lens + (point - lens) * distance / (distance + rule_before), so that error = reads -
 * point = (lens - point) * rule_before / (distance + rule_before). A lens higher than the point
 * reads high, a lens lower reads low, one at its height reads true at any distance. Similar
 * triangles; the lens taken as a point, the rule upright, the ground level.
 */
#ifndef AMBLE_CALC_PARALLAX_H
#define AMBLE_CALC_PARALLAX_H

#include "base/fault.h"
#include "calc/key.h"

struct parallax_in {
    double distance_mm;    /* lens to rule, along the ground */
    double lens_height_mm; /* above the ground */
    double height_mm;      /* of the point that is read */
    double rule_before_mm; /* how far the rule stands before the point, towards the lens */
};
struct parallax_out {
    double reads_mm; /* what the rule shows */
    double error_mm; /* that less the height: + reads high */
    double share;    /* error / height */
};
bool parallax_solve(const struct parallax_in *in, struct parallax_out *out, struct fault *f);

extern const struct calc_key parallax_keys_in[], parallax_keys_out[];
extern const size_t parallax_keys_in_count, parallax_keys_out_count;

#endif
