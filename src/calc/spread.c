#include "calc/spread.h"
#include <math.h>

bool spread_inputs(const struct calc_key *keys, size_t n, const void *in, const void *u,
                   struct spread_input *inputs, struct fault *f)
{
    for (size_t i = 0; i < n; i++) {
        double of_key = calc_get(&keys[i], u), most = keys[i].high - keys[i].low;
        if (isnan(of_key))
            of_key = 0;
        if (!(of_key >= 0 && of_key <= most))
            return fail(f, FAULT_INPUT, "the uncertainty of %s must be from 0 to %g, not %g",
                        keys[i].name, most, of_key);
        inputs[i] = (struct spread_input){calc_get(&keys[i], in), of_key, 1e-7 * most};
    }
    return true;
}

/* part[k] of one input: its derivative of the k-th result, times its uncertainty. */
static void find_part(spread_model *model, const void *of, const struct spread_input *in, double *x,
                      size_t i, double *part, size_t results)
{
    double above[SPREAD_MOST], below[SPREAD_MOST];
    x[i] = in[i].value + in[i].step;
    model(of, x, above);
    x[i] = in[i].value - in[i].step;
    model(of, x, below);
    x[i] = in[i].value;
    for (size_t k = 0; k < results; k++)
        part[k] = (above[k] - below[k]) / (2 * in[i].step) * in[i].u;
}

void spread_solve(spread_model *model, const void *of, const struct spread_input *in, size_t n,
                  const double *correlation, double *u, size_t results)
{
    double x[SPREAD_MOST], parts[SPREAD_MOST][SPREAD_MOST], square[SPREAD_MOST] = {0};
    size_t moved[SPREAD_MOST], count = 0;
    for (size_t i = 0; i < n; i++)
        x[i] = in[i].value;
    for (size_t i = 0; i < n; i++) {
        if (in[i].u == 0)
            continue;
        double *part = parts[count];
        find_part(model, of, in, x, i, part, results);
        for (size_t k = 0; k < results; k++)
            square[k] += part[k] * part[k];
        for (size_t j = 0; correlation && j < count; j++)
            for (size_t k = 0; k < results; k++)
                square[k] += 2 * part[k] * parts[j][k] * correlation[i * n + moved[j]];
        moved[count++] = i;
    }
    for (size_t k = 0; k < results; k++)
        u[k] = sqrt(fmax(square[k], 0)); /* full correlation may cancel to just below nothing */
}
