/* Linear algebra, as little as the calculations need. */
#ifndef AMBLE_CALC_LINEAR_H
#define AMBLE_CALC_LINEAR_H

#include <stdbool.h>
#include <stddef.h>

enum { LINEAR_MOST = 32 };

/* The inverse of A, symmetric positive definite n by n, row after row, which it may replace; false
 * when A is not, or n is 0 or too large. */
bool linear_inverse(const double *A, size_t n, double *inverse);

#endif
