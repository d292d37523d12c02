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

#define OUT(field, words) KEY(agreement_out, field, .unit = "-", .help = (words))
const struct calc_key agreement_keys_out[] = {
    OUT(icc_1, "one reading, by any observer"),
    OUT(icc_2, "one reading, by one of these observers or their like"),
    OUT(icc_3, "one reading, by these observers alone, their offset not counted"),
    OUT(icc_1k, "mean of all readings, by any observers"),
    OUT(icc_2k, "mean of all readings, by these observers or their like"),
    OUT(icc_3k, "mean of all readings, by these observers alone"),
};
const size_t agreement_keys_out_count = KEY_COUNT(agreement_keys_out);

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

/* Mean squares of a two-way table: between subjects, between observers, what is left, and within
 * subjects (the last two together). */
struct squares {
    double subjects, observers, rest, within;
};

static struct squares two_ways(const struct repeat_subject *s, size_t n, size_t k)
{
    double of_all = 0, nd = (double)n, kd = (double)k;
    struct squares m = {0, 0, 0, 0};
    for (size_t i = 0; i < n; i++)
        of_all += mean_of(s[i].readings, k) / nd;
    for (size_t i = 0; i < n; i++) {
        double mean = mean_of(s[i].readings, k);
        m.subjects += kd * (mean - of_all) * (mean - of_all);
        m.within += squares_about(s[i].readings, k, mean);
    }
    for (size_t j = 0; j < k; j++) {
        double mean = 0;
        for (size_t i = 0; i < n; i++)
            mean += s[i].readings[j] / nd;
        m.observers += nd * (mean - of_all) * (mean - of_all);
    }
    m.rest = fmax(m.within - m.observers, 0) / ((nd - 1) * (kd - 1));
    m.within /= nd * (kd - 1);
    m.observers /= kd - 1;
    m.subjects /= nd - 1;
    return m;
}

bool agreement_solve(const struct repeat_subject *subjects, size_t count, struct agreement_out *out,
                     struct fault *f)
{
    if (count < 2)
        return fail(f, FAULT_INPUT, "readings: two or more subjects are needed, not %zu", count);
    size_t k = subjects[0].count;
    for (size_t i = 0; i < count; i++) {
        if (subjects[i].count < 2 || subjects[i].count != k)
            return fail(f, FAULT_INPUT,
                        "readings of subject %zu: every subject needs the same two or more", i + 1);
        for (size_t j = 0; j < k; j++)
            if (!sound(subjects[i].readings[j], f))
                return false;
    }
    struct squares m = two_ways(subjects, count, k);
    double kd = (double)k, offset = (m.observers - m.rest) / (double)count;
    double of_1 = m.subjects + (kd - 1) * m.within;
    double of_2 = m.subjects + (kd - 1) * m.rest + kd * offset, of_2k = m.subjects + offset;
    double tiny = 1e-9 * (m.subjects + m.within);
    if (!(m.subjects > tiny && of_2 > tiny && of_2k > tiny))
        return fail(f, FAULT_REFUSED, "readings do not tell the subjects apart");
    *out = (struct agreement_out){
        .icc_1 = (m.subjects - m.within) / of_1,
        .icc_2 = (m.subjects - m.rest) / of_2,
        .icc_3 = (m.subjects - m.rest) / (m.subjects + (kd - 1) * m.rest),
        .icc_1k = (m.subjects - m.within) / m.subjects,
        .icc_2k = (m.subjects - m.rest) / of_2k,
        .icc_3k = (m.subjects - m.rest) / m.subjects,
    };
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
