#include "calc/robust.h"
#include "base/arena.h"
#include <math.h>
#include <stdlib.h>

static int rising(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double robust_median(double *values, size_t count)
{
    qsort(values, count, sizeof *values, rising);
    return count % 2 ? values[count / 2] : values[count / 2 - 1] / 2 + values[count / 2] / 2;
}

bool robust_solve(const double *values, size_t count, double least, struct robust_out *out,
                  struct fault *f)
{
    if (count == 0)
        return fail(f, FAULT_MISSING, "values are missing");
    if (!(least > 0 && least <= 1e9))
        return fail(f, FAULT_INPUT, "the least spread must be above 0, not %g", least);
    for (size_t i = 0; i < count; i++)
        if (!(fabs(values[i]) <= 1e9))
            return fail(f, FAULT_INPUT, "values holds %g, which is no usable number", values[i]);
    struct arena *a = arena_new();
    double *v = arena_array(a, count, sizeof *v), mean = 0;
    for (size_t i = 0; i < count; i++)
        v[i] = values[i];
    out->centre = robust_median(v, count);
    for (size_t i = 0; i < count; i++) {
        v[i] = fabs(values[i] - out->centre);
        mean += v[i] / (double)count;
    }
    out->mad = robust_median(v, count);
    arena_free(a);
    out->spread = fmax(least, out->mad > 0 ? 1.4826 * out->mad : sqrt(M_PI / 2) * mean);
    return true;
}

double robust_z(const struct robust_out *r, double value)
{
    return (value - r->centre) / r->spread;
}
