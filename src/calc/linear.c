#include "calc/linear.h"
#include <math.h>

/* Lower factor L with A = L L'. */
static bool cholesky(const double *A, size_t n, double *L)
{
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k <= i; k++) {
            double sum = A[i * n + k];
            for (size_t m = 0; m < k; m++)
                sum -= L[i * n + m] * L[k * n + m];
            if (i != k)
                L[i * n + k] = sum / L[k * n + k];
            else if (sum > 1e-13 * fabs(A[i * n + i]))
                L[i * n + i] = sqrt(sum);
            else
                return false;
        }
    return true;
}

static void substitute(const double *L, const double *b, size_t n, double *x)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = b[i];
        for (size_t k = 0; k < i; k++)
            x[i] -= L[i * n + k] * x[k];
        x[i] /= L[i * n + i];
    }
    for (size_t i = n; i-- > 0;) {
        for (size_t k = i + 1; k < n; k++)
            x[i] -= L[k * n + i] * x[k];
        x[i] /= L[i * n + i];
    }
}

bool linear_inverse(const double *A, size_t n, double *inverse)
{
    double L[LINEAR_MOST * LINEAR_MOST], unit[LINEAR_MOST] = {0};
    if (n == 0 || n > LINEAR_MOST || !cholesky(A, n, L))
        return false;
    for (size_t k = 0; k < n; k++) { /* a column at a time; it is symmetric */
        unit[k] = 1;
        substitute(L, unit, n, &inverse[k * n]);
        unit[k] = 0;
    }
    return true;
}
