#include "calc/proportion.h"
#include "calc/chance.h"
#include "calc/isolate.h"
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TAIL         0.01 /* a dog of usual shape is suspected once in a hundred */
#define NEAR         2.0 /* a slip explains a value when it lands within 2 sd of what is expected */
#define APART        3.0 /* the first is told from the second when it is three times as likely */
#define CLEARLY      2.0 /* of misfit, what a further unknown is worth */
#define NOT_MEASURED SIZE_MAX

/* One relation with both sides measured: ln of - ln to should be `middle`, give or take. */
struct tie {
    size_t of, to;
    double middle, weight;
};

struct web {
    size_t n, tie_count, rank;
    struct tie ties[PROPORTION_RELATIONS_MOST];
    size_t group[PROPORTION_MOST]; /* which connected part of the web; parts do not compare */
    double R[PROPORTION_MOST * PROPORTION_MOST];
    double e[PROPORTION_MOST]; /* ln measured less ln expected, size taken out part by part */
};

const char *proportion_verdict_word(enum proportion_verdict v)
{
    static const char *const words[] = {
        [PROPORTION_ABSENT] = "absent",
        [PROPORTION_USUAL] = "usual",
        [PROPORTION_LOW] = "low",
        [PROPORTION_HIGH] = "high",
    };
    return words[v];
}

const char *proportion_slip_words(enum proportion_slip s)
{
    static const char *const words[] = {
        [SLIP_NONE] = "",
        [SLIP_INCH] = "inches and centimetres mixed up",
        [SLIP_HALF] = "half of it",
        [SLIP_DOUBLE] = "twice of it",
        [SLIP_TENFOLD] = "decimal mark in the wrong place",
        [SLIP_DIGITS] = "two digits swapped",
        [SLIP_EXCHANGED] = "exchanged with another measurement",
    };
    return words[s];
}

static size_t find(const struct proportion_measure *m, size_t n, const char *id)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(m[i].id, id) == 0)
            return i;
    return NOT_MEASURED;
}

static bool check_input(const struct proportion_measure *m, size_t n,
                        const struct proportion_relation *r, size_t relation_count, struct fault *f)
{
    if (n > PROPORTION_MOST || relation_count > PROPORTION_RELATIONS_MOST)
        return fail(f, FAULT_LIMIT, "at most %d measures and %d relations are compared",
                    PROPORTION_MOST, PROPORTION_RELATIONS_MOST);
    for (size_t i = 0; i < n; i++) {
        if (!(m[i].value >= 1e-3 && m[i].value <= 1e6))
            return fail(f, FAULT_INPUT, "%s must be a length above 0, not %g", m[i].id, m[i].value);
        if (find(m, i, m[i].id) != NOT_MEASURED)
            return fail(f, FAULT_INPUT, "%s is given twice", m[i].id);
    }
    for (size_t i = 0; i < relation_count; i++)
        if (!(r[i].low >= 1e-6 && r[i].low * 1.001 < r[i].high && r[i].high <= 1e6) ||
            strcmp(r[i].of, r[i].to) == 0)
            return fail(f, FAULT_INPUT, "relation of %s to %s has no usable band: %g to %g",
                        r[i].of, r[i].to, r[i].low, r[i].high);
    return true;
}

static void join(struct web *web, size_t a, size_t b)
{
    size_t keep = web->group[a], drop = web->group[b];
    for (size_t i = 0; i < web->n; i++)
        if (web->group[i] == drop)
            web->group[i] = keep;
}

static void add_tie(struct web *web, const struct proportion_relation *r, size_t of, size_t to)
{
    double low = log(r->low), high = log(r->high), sd = (high - low) / 4;
    web->ties[web->tie_count++] = (struct tie){of, to, (low + high) / 2, 1 / (sd * sd)};
    if (web->group[of] != web->group[to]) {
        web->rank++;
        join(web, of, to);
    }
}

/* What each measure is expected to be, but for the size of its part of the web. */
static bool settle(struct web *web, const struct proportion_measure *m)
{
    size_t n = web->n;
    double A[PROPORTION_MOST * PROPORTION_MOST], b[PROPORTION_MOST] = {0},
                                                 expected[PROPORTION_MOST];
    double scale = web->tie_count ? (double)web->rank / (double)web->tie_count : 1;
    memset(web->R, 0, sizeof web->R);
    for (size_t i = 0; i < web->tie_count; i++) {
        const struct tie *t = &web->ties[i];
        double weight = t->weight * scale;
        web->R[t->of * n + t->of] += weight;
        web->R[t->to * n + t->to] += weight;
        web->R[t->of * n + t->to] -= weight;
        web->R[t->to * n + t->of] -= weight;
        b[t->of] += weight * t->middle;
        b[t->to] -= weight * t->middle;
    }
    for (size_t i = 0; i < n; i++) /* pin the size of each part: any value will do */
        for (size_t k = 0; k < n; k++)
            A[i * n + k] = web->R[i * n + k] + (web->group[i] == web->group[k] ? 1000 : 0);
    if (n > 0 && !isolate_linear(A, b, n, expected))
        return false;
    for (size_t i = 0; i < n; i++) {
        double size = 0, members = 0;
        for (size_t k = 0; k < n; k++)
            if (web->group[k] == web->group[i]) {
                size += log(m[k].value) - expected[k];
                members++;
            }
        web->e[i] = log(m[i].value) - expected[i] - size / members;
    }
    return true;
}

static struct proportion_check judge(const struct proportion_measure *m,
                                     const struct proportion_relation *r, size_t of, size_t to)
{
    if (of == NOT_MEASURED || to == NOT_MEASURED)
        return (struct proportion_check){NAN, PROPORTION_ABSENT};
    double ratio = m[of].value / m[to].value;
    return (struct proportion_check){ratio, ratio < r->low    ? PROPORTION_LOW
                                            : ratio > r->high ? PROPORTION_HIGH
                                                              : PROPORTION_USUAL};
}

/* ---- the usual slips ------------------------------------------------------------------------- */

struct slip_try {
    struct proportion_suspect *suspect;
    double sd;      /* of the suspect, given the others */
    double nearest; /* how far the best slip so far lands from what is expected, in sd */
};

static void try_slip(struct slip_try *t, enum proportion_slip slip, double value)
{
    double off = fabs(log(value / t->suspect->corrected)) / t->sd;
    if (off < t->nearest) {
        t->nearest = off;
        t->suspect->slip = slip;
        t->suspect->slip_value = value;
    }
}

/* Swap each pair of neighbouring digits of the number as it is written without trailing zeros. */
static void try_digits(struct slip_try *t, double value)
{
    char text[32], *end;
    snprintf(text, sizeof text, "%.7g", value);
    for (char *p = text; *p && p[1]; p++) {
        char *q = p[1] == '.' ? p + 2 : p + 1;
        if (*p < '0' || *p > '9' || *q < '0' || *q > '9' || *p == *q)
            continue;
        char held = *p;
        *p = *q;
        *q = held;
        double swapped = strtod(text, &end);
        if (text[0] != '0' && *end == '\0')
            try_slip(t, SLIP_DIGITS, swapped);
        *q = *p;
        *p = held;
    }
}

static void name_slip(struct proportion_suspect *s, const struct web *web,
                      const struct proportion_measure *m)
{
    static const struct {
        enum proportion_slip slip;
        double factor;
    } usual[] = {
        {SLIP_INCH, 2.54}, {SLIP_INCH, 1 / 2.54}, {SLIP_DOUBLE, 0.5},
        {SLIP_HALF, 2},    {SLIP_TENFOLD, 10},    {SLIP_TENFOLD, 0.1},
    };
    double firm = web->R[s->measure * web->n + s->measure], value = m[s->measure].value;
    struct slip_try t = {s, 1 / sqrt(firm), fmin(NEAR, fabs(s->z) / 2)};
    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++)
        try_slip(&t, usual[i].slip, value * usual[i].factor);
    try_digits(&t, value);
}

/* Exchanging two values moves both by the difference of their logarithms; the misfit follows
 * without solving again. The pair that leaves least wins, when it leaves clearly less than any
 * single measurement taken out: that has a value to choose, an exchange has none. */
static void name_exchange(struct proportion_out *out, const struct web *web,
                          const struct isolate_out *iso, const struct proportion_measure *m)
{
    size_t n = web->n, a = NOT_MEASURED, b = NOT_MEASURED;
    double first = out->ranked[0].z, least = out->misfit - first * first - CLEARLY;
    for (size_t i = 0; i < n; i++)
        for (size_t k = i + 1; k < n; k++) {
            double d = log(m[k].value / m[i].value);
            double moved = out->misfit + 2 * d * (iso->q[i] - iso->q[k]) +
                           d * d * (web->R[i * n + i] + web->R[k * n + k] - 2 * web->R[i * n + k]);
            if (web->group[i] == web->group[k] && moved < least) {
                least = moved;
                a = i;
                b = k;
            }
        }
    if (a == NOT_MEASURED)
        return;
    for (size_t i = 0; i < out->count; i++) {
        struct proportion_suspect *s = &out->ranked[i];
        if (s->measure != a && s->measure != b)
            continue;
        s->slip = SLIP_EXCHANGED;
        s->other = s->measure == a ? b : a;
        s->slip_value = m[s->other].value;
    }
    out->more = least > out->limit;
}

/* ---- ranking --------------------------------------------------------------------------------- */

static int likelier(const void *a, const void *b)
{
    double x = ((const struct proportion_suspect *)a)->share;
    double y = ((const struct proportion_suspect *)b)->share;
    return (x < y) - (x > y);
}

static void rank(struct proportion_out *out, const struct web *web, const struct isolate_out *iso,
                 const struct proportion_measure *m)
{
    for (size_t i = 0; i < web->n; i++)
        if (web->R[i * web->n + i] > 0)
            out->ranked[out->count++] = (struct proportion_suspect){
                .measure = i,
                .share = iso->share[i],
                .z = iso->w[i],
                .corrected = m[i].value * exp(-iso->error[i]),
            };
    qsort(out->ranked, out->count, sizeof out->ranked[0], likelier);
    const struct proportion_suspect *first = &out->ranked[0];
    out->apart = out->count < 2 || first->share > APART * first[1].share;
    double left = out->misfit - first->z * first->z;
    out->more = out->freedom > 1 && left > chance_chi2_point(TAIL, (double)(out->freedom - 1));
    for (size_t i = 0; i < out->count; i++)
        name_slip(&out->ranked[i], web, m);
    name_exchange(out, web, iso, m);
}

#define LENGTH(field, words)                                                                       \
    KEY(proportion_lengths, field, .unit = "mm", .need = KEY_OPTIONAL, .low = 1, .high = 5000,     \
        .help = (words))

const struct calc_key proportion_keys_in[] = {
    LENGTH(withers_height_mm, "ground to withers"),
    LENGTH(elbow_height_mm, "ground to elbow"),
    LENGTH(sternum_height_mm, "ground to underside of the chest"),
    LENGTH(pelvic_floor_height_mm, "ground to pelvic floor"),
    LENGTH(hock_height_mm, "ground to point of hock"),
    LENGTH(trunk_span_mm, "mid-shoulder to cranial edge of the thigh"),
    LENGTH(body_length_mm, "point of shoulder to point of buttock"),
    LENGTH(stance_length_mm, "fore-foot line to hind-foot line"),
    LENGTH(thigh_depth_mm, "front to back of the upper thigh"),
    LENGTH(chest_depth_mm, "withers to sternum"),
    LENGTH(chest_width_mm, "widest, behind the shoulder blades"),
    LENGTH(hip_width_mm, "hips with the thigh muscles"),
    LENGTH(fore_spacing_mm, "between the fore feet"),
    LENGTH(chest_girth_mm, "round the chest"),
    LENGTH(neck_girth_mm, "round the neck"),
    LENGTH(thigh_girth_mm, "round the thigh"),
};
const size_t proportion_keys_in_count = KEY_COUNT(proportion_keys_in);

bool proportion_solve(const struct proportion_measure *measures, size_t measure_count,
                      const struct proportion_relation *relations, size_t relation_count,
                      struct proportion_check *checks, struct proportion_out *out, struct fault *f)
{
    if (!check_input(measures, measure_count, relations, relation_count, f))
        return false;
    struct web web = {.n = measure_count};
    for (size_t i = 0; i < web.n; i++)
        web.group[i] = i;
    bool unusual = false; /* a dog inside every band is not questioned, however near the edges */
    for (size_t i = 0; i < relation_count; i++) {
        size_t of = find(measures, measure_count, relations[i].of);
        size_t to = find(measures, measure_count, relations[i].to);
        checks[i] = judge(measures, &relations[i], of, to);
        unusual =
            unusual || checks[i].verdict == PROPORTION_LOW || checks[i].verdict == PROPORTION_HIGH;
        if (checks[i].verdict != PROPORTION_ABSENT)
            add_tie(&web, &relations[i], of, to);
    }
    *out = (struct proportion_out){.freedom = web.rank};
    if (web.rank == 0)
        return true;
    if (!settle(&web, measures))
        return fail(f, FAULT_INPUT, "the relations cannot be weighed against one another");
    struct isolate_out iso;
    isolate_solve(web.R, web.e, web.n, &iso);
    out->misfit = iso.misfit;
    out->limit = chance_chi2_point(TAIL, (double)web.rank);
    double furthest = 0;
    for (size_t i = 0; i < web.n; i++)
        furthest = fmax(furthest, fabs(iso.w[i]));
    bool far_out =
        out->misfit > out->limit || 2 * (double)web.n * chance_normal_tail(furthest) < TAIL;
    out->misfits = unusual && far_out;
    if (out->misfits)
        rank(out, &web, &iso, measures);
    return true;
}
