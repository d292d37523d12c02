/* How uncertain results are when their inputs are: first order (GUM, JCGM 100 5.1.2 and 5.2.2).
 *
 * u^2(y) = sum over i and k of (df/dx_i) u_i (df/dx_k) u_k r_ik, the derivatives by central
 * differences. It holds where the model is nearly straight over the uncertainties: the tests
 * compare with draws (JCGM 101).
 */
#ifndef AMBLE_CALC_SPREAD_H
#define AMBLE_CALC_SPREAD_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>
#include <stddef.h>

enum { SPREAD_MOST = 24 }; /* inputs, and results */

struct spread_input {
    double value;
    double u;    /* standard uncertainty; 0: known exactly, and left alone */
    double step; /* of the difference: small against what bends the model, large against rounding */
};

/* The inputs of a calculation from its keys: `u` is a struct like `in` that holds the standard
 * uncertainty of each in the field of the same name, 0 or NaN where there is none. Refuses one
 * below 0 or wider than the key's range. At most SPREAD_MOST keys. */
bool spread_inputs(const struct calc_key *keys, size_t n, const void *in, const void *u,
                   struct spread_input *inputs, struct fault *f);

/* The results at inputs x, both in the caller's order. */
typedef void spread_model(const void *of, const double *x, double *y);

/* `correlation` is n by n, row after row, with ones on the diagonal; NULL: independent. `u`
 * receives the standard uncertainty of each of `results`. */
void spread_solve(spread_model *model, const void *of, const struct spread_input *in, size_t n,
                  const double *correlation, double *u, size_t results);

#endif
