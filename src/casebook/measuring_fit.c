/* What the measures of a dog say of one another, and which one is most likely wrong. */
#include "base/arena.h"
#include "calc/proportion.h"
#include "casebook/measuring_inside.h"
#include <math.h>
#include <string.h>

/* The band for this body type, else the one for any dog; NULL when there is neither. */
const struct band *nearest_band(const struct relation *r, const struct body_type *type)
{
    const struct band *any = NULL;
    for (size_t i = 0; i < r->band_count; i++) {
        if (type != NULL && r->bands[i].body_type == type)
            return &r->bands[i];
        if (r->bands[i].body_type == NULL)
            any = &r->bands[i];
    }
    return any;
}

const struct measure_row *measuring_find(const struct measuring *m, const struct measure *which)
{
    for (size_t i = 0; i < m->count; i++)
        if (m->rows[i].measure == which)
            return &m->rows[i];
    return NULL;
}

double relation_ratio(const struct relation *r,
                      double (*value)(const void *of, const struct measure *), const void *of)
{
    double top = value(of, r->of), under = value(of, r->to);
    double plus = r->plus == NULL ? 0 : value(of, r->plus);
    double across = r->across == NULL ? 0 : value(of, r->across);
    if (!(top > 0) || !(under > 0) || (r->plus != NULL && !(plus > 0)) ||
        (r->across != NULL && !(across > 0)))
        return 0;
    return (top + plus) / hypot(under, across);
}

static double used_now(const void *measuring, const struct measure *m)
{
    const struct measure_row *row = measuring_find(measuring, m);
    /* of two readings that part nobody knows yet which is right */
    return row == NULL || row->count == 0 || row->third_wanted ? 0 : row->used;
}

static double used_before(const void *measuring, const struct measure *m)
{
    const struct measure_row *row = measuring_find(measuring, m);
    return row == NULL || !row->has_before ? 0 : row->before;
}

/* A dog is the same dog as last time within what its measures credibly repeat, and a little for
 * what weeks do to a body (practice default, no source). */
static void about_as_last_time(double ratio, double doubt, double *low, double *high)
{
    static const double weeks = 0.02;
    double sd = hypot(weeks, doubt / 1.96);
    *low = ratio * exp(-2 * sd);
    *high = ratio * exp(2 * sd);
}

/* How far the ratio of last time is credible, as a share: each side by its part in it. */
static double doubt_before(const struct measuring *m, const struct relation *r)
{
    const struct measure *top[] = {r->of, r->plus}, *under[] = {r->to, r->across};
    double tops = 0, unders = 0, top_doubt = 0, under_doubt = 0;
    for (size_t i = 0; i < 2; i++) {
        const struct measure_row *a = measuring_find(m, top[i]), *b = measuring_find(m, under[i]);
        tops += a == NULL ? 0 : a->before;
        top_doubt = hypot(top_doubt, a == NULL ? 0 : a->credible.change);
        unders = hypot(unders, b == NULL ? 0 : b->before);
        under_doubt = hypot(under_doubt, b == NULL ? 0 : b->credible.change);
    }
    return hypot(top_doubt / tops, under_doubt / unders);
}

/* The strongest reference there is: this dog last time, then what is published and learned. */
static bool refer(const struct chart *c, const struct experience *known, const struct measuring *m,
                  struct relation_check *out)
{
    bool own = false;
    out->band = nearest_band(out->relation, m->body_type);
    if (c->cb->set->practice.learn && m->body_type != NULL)
        out->learned =
            learning_find(known->ratios, known->ratio_count, m->body_type->id, out->relation->id);
    double before = relation_ratio(out->relation, used_before, m);
    if (before > 0) {
        about_as_last_time(before, doubt_before(m, out->relation), &out->low, &out->high);
        out->reference = BY_DOG;
        return true;
    }
    if (!learning_band(out->band, out->learned, &out->low, &out->high, &own))
        return false;
    out->reference = own ? BY_PRACTICE : BY_PUBLISHED;
    return true;
}

static bool check_relation(const struct chart *c, const struct experience *known,
                           const struct measuring *m, const struct relation *r,
                           struct relation_check *out)
{
    *out = (struct relation_check){.relation = r, .ratio = relation_ratio(r, used_now, m)};
    if (!(out->ratio > 0) || !refer(c, known, m, out))
        return false;
    out->verdict = out->ratio < out->low    ? BESIDE_LOW
                   : out->ratio > out->high ? BESIDE_HIGH
                                            : BESIDE_USUAL;
    return true;
}

/* The relations a row is the first side of, into `checks`, which has room for all there are. */
static void check_row(const struct chart *c, const struct experience *known,
                      const struct measuring *m, struct measure_row *row,
                      struct relation_check *checks)
{
    const struct template_set *set = c->cb->set;
    for (size_t i = 0; i < set->relation_count; i++) {
        if (set->relations[i].of != row->measure ||
            !check_relation(c, known, m, &set->relations[i], &checks[row->check_count]))
            continue;
        enum beside verdict = checks[row->check_count++].verdict;
        if (row->verdict == BESIDE_NONE || row->verdict == BESIDE_USUAL)
            row->verdict = verdict;
    }
    row->checks = checks;
}

void measuring_relate(const struct chart *c, const struct experience *known, struct measuring *m)
{
    /* one array for all rows: a relation is checked in one of them */
    struct relation_check *checks =
        arena_array(c->arena, c->cb->set->relation_count, sizeof *checks);
    for (size_t i = 0; i < m->count; i++) {
        check_row(c, known, m, &m->rows[i], checks);
        checks += m->rows[i].check_count;
    }
}

static const struct cause *likely_cause(const struct measure *m, int direction)
{
    const struct cause *either = NULL;
    for (size_t i = 0; i < m->cause_count; i++) {
        if (direction != 0 && m->causes[i].direction == direction)
            return &m->causes[i];
        if (m->causes[i].direction == 0 && either == NULL)
            either = &m->causes[i];
    }
    return either;
}

/* What the outlier finder is asked about: every length, every relation that was checked. */
struct question {
    struct proportion_measure *measures;
    size_t *row; /* of each measure */
    struct proportion_relation *relations;
    size_t measure_count, relation_count;
};

static bool same(const char *side, const char *id)
{
    return side != NULL && strcmp(side, id) == 0;
}

static bool related(const struct question *q, const char *id)
{
    for (size_t i = 0; i < q->relation_count; i++)
        if (same(q->relations[i].of, id) || same(q->relations[i].to, id) ||
            same(q->relations[i].plus, id) || same(q->relations[i].across, id))
            return true;
    return false;
}

/* Lengths in no relation are held against the dog's first related length as they stood last time.
 */
static void ask_of_last_time(const struct measuring *m, struct question *q)
{
    const struct measure_row *anchor = NULL;
    for (size_t i = 0; i < q->measure_count && anchor == NULL; i++) {
        const struct measure_row *row = &m->rows[q->row[i]];
        if (row->has_before && (q->relation_count == 0 || related(q, row->measure->id)))
            anchor = row;
    }
    for (size_t i = 0; i < q->measure_count && anchor != NULL; i++) {
        double low, high;
        const struct measure_row *row = &m->rows[q->row[i]];
        const struct relation since = {.of = row->measure, .to = anchor->measure};
        double before = relation_ratio(&since, used_before, m);
        if (row == anchor || related(q, row->measure->id) || !(before > 0) ||
            q->relation_count == PROPORTION_RELATIONS_MOST)
            continue;
        about_as_last_time(before, doubt_before(m, &since), &low, &high);
        q->relations[q->relation_count++] = (struct proportion_relation){
            .of = row->measure->id, .to = anchor->measure->id, .low = low, .high = high};
    }
}

static struct question ask(const struct chart *c, const struct measuring *m)
{
    size_t most = c->cb->set->relation_count + m->count;
    struct question q = {.measures = arena_array(c->arena, m->count, sizeof *q.measures),
                         .row = arena_array(c->arena, m->count, sizeof *q.row),
                         .relations = arena_array(c->arena, most, sizeof *q.relations)};
    for (size_t i = 0; i < m->count; i++) {
        const struct measure_row *row = &m->rows[i];
        if (row->count > 0 && !row->third_wanted && row->measure->dimension == DIM_LENGTH) {
            q.row[q.measure_count] = i;
            q.measures[q.measure_count++] =
                (struct proportion_measure){row->measure->id, row->used};
        }
        for (size_t k = 0; k < row->check_count; k++) {
            const struct relation_check *check = &row->checks[k];
            const struct relation *r = check->relation;
            q.relations[q.relation_count++] = (struct proportion_relation){
                .of = r->of->id,
                .to = r->to->id,
                .low = check->low,
                .high = check->high,
                .plus = r->plus == NULL ? NULL : r->plus->id,
                .across = r->across == NULL ? NULL : r->across->id,
            };
        }
    }
    ask_of_last_time(m, &q);
    return q;
}

/* Name the suspect the finder puts first, when it speaks at all: a row that alone is a little out
 * of its band says so itself. One that was looked at again and is so explains the misfit by the
 * dog: then only one that could not be told from it is named. */
void measuring_suspect(const struct chart *c, struct measuring *m)
{
    struct question q = ask(c, m);
    struct proportion_check *checks = arena_array(c->arena, q.relation_count, sizeof *checks);
    struct proportion_out found;
    if (q.relation_count == 0 ||
        !proportion_solve(q.measures, q.measure_count, q.relations, q.relation_count, checks,
                          &found, NULL) ||
        !found.misfits)
        return;
    size_t told = found.apart || found.count < 2 ? 1 : 2; /* how many may be named */
    for (size_t i = 0; i < told; i++) {
        const struct proportion_suspect *s = &found.ranked[i];
        size_t at = q.row[s->measure];
        if (m->rows[at].accepted)
            continue;
        if (m->suspect < m->count) {
            m->rival = at;
            continue;
        }
        m->suspect = at;
        m->suspect_share = s->share;
        /* nobody swaps two digits of the mean of two readings that differ */
        bool chance = s->slip == SLIP_DIGITS && m->rows[at].spread > 0;
        m->slip = proportion_slip_words(chance ? SLIP_NONE : s->slip);
        m->cause = likely_cause(m->rows[at].measure, s->z > 0 ? 1 : -1);
    }
}
