/* Which one of several quantities, that ought to fit one another, is wrong.
 *
 * e is what was measured less what was expected, R the matrix that says how firmly: its null space
 * is what may differ freely (size). Misfit D = e'Re; q = Re; error of the j-th f_j = q_j / R_jj,
 * how far out of line w_j = q_j / sqrt(R_jj); without the j-th the misfit is D - w_j^2, exactly.
 * P(j) is in proportion to exp(w_j^2 / 2), all equally likely beforehand.
 * Source: parity space (Chow and Willsky, LIDS-P-1253), deleted residuals (Ellenberg 1976, quoted).
 */
#ifndef AMBLE_CALC_ISOLATE_H
#define AMBLE_CALC_ISOLATE_H

#include <stdbool.h>
#include <stddef.h>

enum { ISOLATE_MOST = 32 };

struct isolate_out {
    double misfit;
    double q[ISOLATE_MOST];
    double w[ISOLATE_MOST];
    double error[ISOLATE_MOST]; /* f_j, in the unit of e */
    double share[ISOLATE_MOST]; /* probability that it is this one, when it is one */
};
/* R is n by n, row after row, symmetric, not negative. A row of zeros takes no part. */
void isolate_solve(const double *R, const double *e, size_t n, struct isolate_out *out);

/* R = S - S h (h'Sh)^-1 h'S with S the inverse of `covariance`: what moves along h is free.
 * False when the covariance is not positive definite or n is 0 or too large. */
bool isolate_precision(const double *covariance, const double *h, size_t n, double *R);

/* x with A x = b, A symmetric positive definite n by n; false when it is not. */
bool isolate_linear(const double *A, const double *b, size_t n, double *x);

#endif
