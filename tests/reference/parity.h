/* The theory of which one of several quantities, that ought to fit one another, is wrong, for any
 * covariance: what the finder of calc/proportion.h is held against.
 *
 * e is what was measured less what was expected, R the matrix that says how firmly: its null space
 * is what may differ freely (size). Misfit D = e'Re; q = Re; error of the j-th f_j = q_j / R_jj,
 * how far out of line w_j = q_j / sqrt(R_jj); without the j-th the misfit is D - w_j^2, exactly.
 * P(j) is in proportion to exp(w_j^2 / 2), all equally likely beforehand.
 * Source: parity space (Chow and Willsky, LIDS-P-1253), deleted residuals (Ellenberg 1976, quoted).
 */
#ifndef AMBLE_TESTS_PARITY_H
#define AMBLE_TESTS_PARITY_H

#include "calc/linear.h"
#include <math.h>

enum { ISOLATE_MOST = LINEAR_MOST };

struct isolate_out {
    double misfit;
    double q[ISOLATE_MOST];
    double w[ISOLATE_MOST];
    double error[ISOLATE_MOST]; /* f_j, in the unit of e */
    double share[ISOLATE_MOST]; /* probability that it is this one, when it is one */
};

/* R = S - S h (h'Sh)^-1 h'S with S the inverse of `covariance`: what moves along h is free.
 * False when the covariance is not positive definite or n is 0 or too large. */
static inline bool isolate_precision(const double *covariance, const double *h, size_t n, double *R)
{
    double sh[ISOLATE_MOST] = {0}, size = 0;
    if (!linear_inverse(covariance, n, R))
        return false;
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < n; k++)
            sh[i] += R[i * n + k] * h[k];
        size += h[i] * sh[i];
    }
    if (!(size > 0))
        return false;
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < n; k++)
            R[i * n + k] -= sh[i] * sh[k] / size;
    return true;
}

/* R is n by n, row after row, symmetric, not negative. A row of zeros takes no part. */
static inline void isolate_solve(const double *R, const double *e, size_t n,
                                 struct isolate_out *out)
{
    double most = 0, sum = 0;
    out->misfit = 0;
    for (size_t j = 0; j < n; j++) {
        double firm = R[j * n + j];
        out->q[j] = 0;
        for (size_t k = 0; k < n; k++)
            out->q[j] += R[j * n + k] * e[k];
        out->misfit += e[j] * out->q[j];
        out->w[j] = firm > 0 ? out->q[j] / sqrt(firm) : 0;
        out->error[j] = firm > 0 ? out->q[j] / firm : 0;
        most = fmax(most, out->w[j] * out->w[j]);
    }
    out->misfit = fmax(out->misfit, 0);
    for (size_t j = 0; j < n; j++) {
        /* Against the largest, so that no exponential overflows. */
        out->share[j] = R[j * n + j] > 0 ? exp((out->w[j] * out->w[j] - most) / 2) : 0;
        sum += out->share[j];
    }
    for (size_t j = 0; j < n && sum > 0; j++)
        out->share[j] /= sum;
}

#endif
