#include "calc/chance.h"
#include "calc/proportion_web.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TAIL    0.01 /* of dogs that fit, one in a hundred misfits more than the limit */
#define HAIR    1.03 /* what readings make of a ratio at the end of its band */
#define SPEAK   1.0  /* of evidence: tests/bench/trial.c says how often that cries wolf */
#define NEAR    2.0  /* a slip explains a value when it lands within 2 sd of what is expected */
#define APART   3.0  /* the first is told from the second when it is three times as likely */
#define CLEARLY 2.0  /* of misfit, what a further unknown is worth */
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
    for (size_t i = 0; id != NULL && i < n; i++)
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

static enum proportion_verdict judge(double ratio, double low, double high)
{
    return ratio < low ? PROPORTION_LOW : ratio > high ? PROPORTION_HIGH : PROPORTION_USUAL;
}

/* Does a ratio of the measure leave its band as it is, and none as it would be, `by` further on? */
static bool mends(const struct web *web, size_t measure, double by)
{
    bool out = false, in = true;
    double y[PROPORTION_MOST];
    memcpy(y, web->y, sizeof y);
    y[measure] += by;
    for (size_t i = 0; i < web->tie_count; i++) {
        const struct tie *t = &web->ties[i];
        if (!tie_has(t, measure))
            continue;
        out = out || judge(tie_ratio(t, web->y), t->low, t->high) != PROPORTION_USUAL;
        in = in && judge(tie_ratio(t, y), t->low / HAIR, t->high * HAIR) == PROPORTION_USUAL;
    }
    return out && in;
}

static bool mended_by_a_unit(const struct web *web, size_t measure)
{
    for (size_t i = 0; i < OF_A_UNIT; i++)
        if (mends(web, measure, log(usual_slips[i].factor)))
            return true;
    return false;
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

static void name_slip(struct proportion_suspect *s, const struct freed *free,
                      const struct proportion_measure *m)
{
    double value = m[s->measure].value;
    struct slip_try t = {s, 1 / sqrt(free->firm), fmin(NEAR, fabs(s->z) / 2)};
    for (size_t i = 0; i < USUAL; i++)
        try_slip(&t, usual_slips[i].slip, value * usual_slips[i].factor);
    try_digits(&t, value);
}

/* The pair that leaves least when exchanged wins, when it leaves clearly less than any single
 * measurement taken out: that has a value to choose, an exchange has none. */
static void name_exchange(struct proportion_out *out, const struct web *web,
                          const struct proportion_measure *m)
{
    size_t a = NOT_MEASURED, b = NOT_MEASURED;
    double first = out->ranked[0].z, least = out->misfit - first * first - CLEARLY;
    double y[PROPORTION_MOST];
    memcpy(y, web->y, sizeof y);
    for (size_t i = 0; i < web->n; i++)
        for (size_t k = i + 1; k < web->n; k++) {
            if (web->group[i] != web->group[k])
                continue;
            y[i] = web->y[k];
            y[k] = web->y[i];
            double left = web_misfit(web, y) - web->least;
            y[i] = web->y[i];
            y[k] = web->y[k];
            if (left < least) {
                least = left;
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

static void rank(struct proportion_out *out, const struct web *web, const struct freed *freed,
                 const struct proportion_measure *m)
{
    double most = -INFINITY, sum = 0;
    for (size_t i = 0; i < web->n; i++)
        if (freed[i].firm > 0)
            most = fmax(most, freed[i].odds);
    for (size_t i = 0; i < web->n; i++) {
        if (!(freed[i].firm > 0))
            continue;
        double share = exp(freed[i].odds - most), error = web->y[i] - freed[i].value;
        sum += share;
        out->ranked[out->count++] = (struct proportion_suspect){
            .measure = i,
            .share = share,
            .z = copysign(sqrt(freed[i].gain), error),
            .corrected = exp(freed[i].value),
        };
    }
    for (size_t i = 0; i < out->count; i++)
        out->ranked[i].share /= sum;
    out->evidence = most + log(sum / (double)out->count);
    qsort(out->ranked, out->count, sizeof out->ranked[0], likelier);
    const struct proportion_suspect *first = &out->ranked[0];
    out->apart = out->count < 2 || first->share > APART * first[1].share;
    double left = out->misfit - first->z * first->z;
    out->more = out->freedom > 1 && left > chance_chi2_point(TAIL, (double)(out->freedom - 1));
    for (size_t i = 0; i < out->count; i++)
        name_slip(&out->ranked[i], &freed[out->ranked[i].measure], m);
    name_exchange(out, web, m);
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

static bool all_measured(const struct proportion_measure *m, size_t n,
                         const struct proportion_relation *r, size_t at[SIDES])
{
    const char *ids[SIDES] = {[OF] = r->of, [TO] = r->to, [PLUS] = r->plus, [ACROSS] = r->across};
    for (size_t i = 0; i < SIDES; i++) {
        at[i] = find(m, n, ids[i]);
        if (ids[i] != NULL && at[i] == NOT_MEASURED)
            return false;
    }
    return true;
}

/* A unit slip of one measure explains all that is unusual about it. */
static bool unit_slip(const struct web *web)
{
    bool any = false;
    for (size_t i = 0; i < web->n; i++)
        any = any || mended_by_a_unit(web, i);
    return any;
}

bool proportion_solve(const struct proportion_measure *measures, size_t measure_count,
                      const struct proportion_relation *relations, size_t relation_count,
                      struct proportion_check *checks, struct proportion_out *out, struct fault *f)
{
    if (!check_input(measures, measure_count, relations, relation_count, f))
        return false;
    struct web web = {.n = measure_count};
    for (size_t i = 0; i < web.n; i++) {
        web.group[i] = i;
        web.y[i] = log(measures[i].value);
    }
    bool unusual = false; /* a dog inside every band is not questioned, however near the edges */
    for (size_t i = 0; i < relation_count; i++) {
        const struct proportion_relation *r = &relations[i];
        size_t at[SIDES];
        checks[i] = (struct proportion_check){NAN, PROPORTION_ABSENT};
        if (!all_measured(measures, measure_count, r, at))
            continue;
        web_add(&web, r, at);
        double ratio = tie_ratio(&web.ties[web.tie_count - 1], web.y);
        checks[i] = (struct proportion_check){ratio, judge(ratio, r->low, r->high)};
        unusual = unusual || checks[i].verdict != PROPORTION_USUAL;
    }
    *out = (struct proportion_out){0};
    if (web.tie_count == 0)
        return true;
    if (!web_settle(&web))
        return fail(f, FAULT_INPUT, "the relations cannot be weighed against one another");
    struct freed freed[PROPORTION_MOST];
    for (size_t i = 0; i < web.n; i++)
        freed[i] = web_leave_out(&web, i);
    out->freedom = web.freedom;
    out->misfit = fmax(web_misfit(&web, web.y) - web.least, 0);
    out->limit = chance_chi2_point(TAIL, (double)web.freedom);
    rank(out, &web, freed, measures);
    out->misfits = unusual && (out->evidence > SPEAK || unit_slip(&web));
    return true;
}
