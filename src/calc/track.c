#include "calc/track.h"
#include <math.h>

bool track_solve(const double *predicted, const double *measured, size_t n, struct track_out *out,
                 struct fault *f)
{
    double sum = 0, squares = 0;
    if (n == 0)
        return fail(f, FAULT_MISSING, "there is nothing to compare yet");
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(predicted[i]) || !isfinite(measured[i]))
            return fail(f, FAULT_INPUT, "pair %zu is no pair of numbers", i + 1);
        sum += measured[i] - predicted[i];
    }
    *out = (struct track_out){.n = n, .mean = sum / (double)n, .sd = NAN, .low = NAN, .high = NAN};
    if (n < 2)
        return true;
    for (size_t i = 0; i < n; i++) {
        double d = measured[i] - predicted[i] - out->mean;
        squares += d * d;
    }
    out->sd = sqrt(squares / (double)(n - 1));
    out->low = out->mean - 1.96 * out->sd;
    out->high = out->mean + 1.96 * out->sd;
    return true;
}
