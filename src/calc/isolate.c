#include "calc/isolate.h"
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

bool isolate_linear(const double *A, const double *b, size_t n, double *x)
{
    double L[ISOLATE_MOST * ISOLATE_MOST];
    if (n == 0 || n > ISOLATE_MOST || !cholesky(A, n, L))
        return false;
    substitute(L, b, n, x);
    return true;
}

bool isolate_precision(const double *covariance, const double *h, size_t n, double *R)
{
    double L[ISOLATE_MOST * ISOLATE_MOST], unit[ISOLATE_MOST] = {0}, sh[ISOLATE_MOST] = {0};
    if (n == 0 || n > ISOLATE_MOST || !cholesky(covariance, n, L))
        return false;
    for (size_t k = 0; k < n; k++) { /* the inverse, a column at a time; it is symmetric */
        unit[k] = 1;
        substitute(L, unit, n, &R[k * n]);
        unit[k] = 0;
    }
    substitute(L, h, n, sh);
    double size = 0;
    for (size_t i = 0; i < n; i++)
        size += h[i] * sh[i];
    if (!(size > 0))
        return false;
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < n; k++)
            R[i * n + k] -= sh[i] * sh[k] / size;
    return true;
}

void isolate_solve(const double *R, const double *e, size_t n, struct isolate_out *out)
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
