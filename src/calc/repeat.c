#include "calc/repeat.h"
#include <math.h>

const struct calc_key repeat_keys_out[] = {
    KEY(repeat_out, tem, .unit = "-", .help = "technical error, in the unit of the readings"),
    KEY(repeat_out, tem_percent, .unit = "%", .help = "of the mean of all readings"),
    KEY(repeat_out, reliability, .unit = "-", .help = "1 - TEM^2 / SD^2 of all readings"),
    KEY(repeat_out, credible_change, .unit = "-",
        .help = "smallest change that is real at 95 %, in the unit of the readings"),
};
const size_t repeat_keys_out_count = KEY_COUNT(repeat_keys_out);

static const double reading_limit = 1e9; /* keeps every square finite */

static bool sound(double v, struct fault *f)
{
    if (fabs(v) <= reading_limit)
        return true;
    return fail(f, FAULT_INPUT, "readings holds %g, which is no usable number", v);
}

static double mean_of(const double *v, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += v[i];
    return sum / (double)n;
}

static double squares_about(const double *v, size_t n, double mean)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += (v[i] - mean) * (v[i] - mean);
    return sum;
}

bool repeat_solve(const struct repeat_subject *subjects, size_t count, struct repeat_out *out,
                  struct fault *f)
{
    double sum = 0, within = 0, about = 0, largest = 0;
    size_t n = 0;
    if (count == 0)
        return fail(f, FAULT_MISSING, "readings is missing");
    for (size_t i = 0; i < count; i++) {
        const struct repeat_subject *s = &subjects[i];
        if (s->count < 2)
            return fail(f, FAULT_INPUT, "readings of subject %zu: two or more are needed", i + 1);
        for (size_t k = 0; k < s->count; k++) {
            if (!sound(s->readings[k], f))
                return false;
            sum += s->readings[k];
            largest = fmax(largest, fabs(s->readings[k]));
        }
        within += squares_about(s->readings, s->count, mean_of(s->readings, s->count));
        n += s->count;
    }
    double mean = sum / (double)n;
    if (fabs(mean) <= 1e-12 * largest)
        return fail(f, FAULT_REFUSED, "readings average 0: a percentage of that means nothing");
    for (size_t i = 0; i < count; i++)
        about += squares_about(subjects[i].readings, subjects[i].count, mean);
    double variance = about / (double)(n - 1);
    out->tem = sqrt(within / (double)(n - count));
    out->tem_percent = 100 * out->tem / fabs(mean);
    out->reliability = variance > 0 ? 1 - out->tem * out->tem / variance : 0;
    out->credible_change = 1.96 * M_SQRT2 * out->tem;
    return true;
}

bool repeat_used(const double *readings, size_t count, double *used, double *spread,
                 struct fault *f)
{
    if (count < 1 || count > 3)
        return fail(f, FAULT_INPUT, "one to three readings are used, not %zu", count);
    double low = readings[0], high = readings[0], sum = 0;
    for (size_t i = 0; i < count; i++) {
        if (!sound(readings[i], f))
            return false;
        low = fmin(low, readings[i]);
        high = fmax(high, readings[i]);
        sum += readings[i];
    }
    *used = count == 3 ? fmax(fmin(readings[0], readings[1]),
                              fmin(fmax(readings[0], readings[1]), readings[2]))
                       : sum / (double)count;
    if (spread)
        *spread = high - low;
    return true;
}

bool fore_share_solve(const double *fore_kg, const double *hind_kg, size_t count,
                      struct fore_share_out *out, struct fault *f)
{
    enum { MOST = 16 };
    double share[MOST], mass = 0;
    if (count < 1 || count > MOST)
        return fail(f, FAULT_INPUT, "one to %d pairs of scale readings are used, not %zu", MOST,
                    count);
    for (size_t i = 0; i < count; i++) {
        if (!(fore_kg[i] >= 0.1 && fore_kg[i] <= 500))
            return fail(f, FAULT_INPUT, "fore_scale must be from 0.1 to 500 kg, not %g",
                        fore_kg[i]);
        if (!(hind_kg[i] >= 0 && hind_kg[i] <= 500))
            return fail(f, FAULT_INPUT, "hind_scale must be from 0 to 500 kg, not %g", hind_kg[i]);
        share[i] = fore_kg[i] / (fore_kg[i] + hind_kg[i]);
        mass += fore_kg[i] + hind_kg[i];
    }
    out->share = mean_of(share, count);
    out->sd = count > 1 ? sqrt(squares_about(share, count, out->share) / (double)(count - 1)) : 0;
    out->cv_percent = 100 * out->sd / out->share;
    out->mass_kg = mass / (double)count;
    return true;
}
