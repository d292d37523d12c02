#include "casebook/observers.h"
#include "base/arena.h"
#include "calc/repeat.h"
#include "casebook/measuring.h"
#include <math.h>
#include <string.h>

/* The doubles of one person and one measure. */
struct doubles {
    const char *author;
    const struct measure *measure;
    double (*readings)[2];
    size_t count, room;
};

struct observing {
    struct casebook *cb;
    struct arena *arena;
    struct doubles *all;
    size_t count, room;
};

struct observing *observing_new(struct casebook *cb, struct arena *a)
{
    struct observing *o = arena_alloc(a, sizeof *o);
    *o = (struct observing){.cb = cb, .arena = a};
    return o;
}

static struct doubles *doubles_of(struct observing *o, const char *author, const struct measure *m)
{
    for (size_t i = 0; i < o->count; i++)
        if (o->all[i].measure == m && strcmp(o->all[i].author, author) == 0)
            return &o->all[i];
    o->all = arena_grow(o->arena, o->all, o->count, &o->room, sizeof *o->all);
    o->all[o->count] = (struct doubles){.author = arena_str(o->arena, author), .measure = m};
    return &o->all[o->count++];
}

static const struct finding *standing(const struct record *visit, const struct measure *m,
                                      int reading, double *value)
{
    const struct finding *f = record_find(visit, reading_item(visit->arena, m, reading));
    return f != NULL && !f->in_error && f->other_count == 0 && number_lead(f->text, value) ? f
                                                                                           : NULL;
}

void observing_add(struct observing *o, const struct record *visit)
{
    const struct template_set *set = o->cb->set;
    for (size_t i = 0; i < set->measure_count; i++) {
        double first, second;
        const struct measure *m = &set->measures[i];
        const struct finding *one = standing(visit, m, 1, &first),
                             *two = standing(visit, m, 2, &second);
        if (one == NULL || two == NULL || *one->author == '\0' ||
            strcmp(one->author, two->author) != 0)
            continue;
        struct doubles *d = doubles_of(o, one->author, m);
        d->readings = arena_grow(o->arena, d->readings, d->count, &d->room, sizeof *d->readings);
        d->readings[d->count][0] = first;
        d->readings[d->count++][1] = second;
    }
}

/* A single dog read twice is no measure of anybody. */
static bool repeats(struct observing *o, const struct doubles *d, struct observed *out)
{
    struct repeat_out r;
    struct repeat_subject *dogs = arena_array(o->arena, d->count, sizeof *dogs);
    double sum = 0;
    for (size_t i = 0; i < d->count; i++) {
        dogs[i] = (struct repeat_subject){d->readings[i], 2};
        sum += d->readings[i][0] + d->readings[i][1];
    }
    if (d->count < 2 || !repeat_solve(dogs, d->count, &r, NULL))
        return false;
    *out = (struct observed){.author = d->author,
                             .measure = d->measure->id,
                             .n = d->count,
                             .mean = sum / (2 * (double)d->count),
                             .tem = r.tem,
                             .credible = r.credible_change};
    return true;
}

const struct observed *observing_end(struct observing *o, size_t *count)
{
    struct observed *out = arena_array(o->arena, o->count, sizeof *out);
    const struct template_set *set = o->cb->set;
    bool *told = arena_array(o->arena, o->count, sizeof *told);
    *count = 0;
    for (size_t i = 0; i < o->count; i++) {
        if (told[i])
            continue;
        for (size_t m = 0; m < set->measure_count; m++)
            for (size_t k = i; k < o->count; k++)
                if (o->all[k].measure == &set->measures[m] &&
                    strcmp(o->all[k].author, o->all[i].author) == 0) {
                    *count += repeats(o, &o->all[k], &out[*count]);
                    told[k] = true;
                }
    }
    return out;
}

struct credible observed_change(const struct observed *all, size_t count, const struct measure *m,
                                double value, const char *then, const char *now, const char *reader)
{
    const struct observed *a = observed_find(all, count, then, m->id);
    const struct observed *b = observed_find(all, count, now, m->id);
    double tolerance = fmax(m->tolerance, m->tolerance_share * fabs(value));
    bool first = a != NULL && a->n >= OBSERVED_LEAST, second = b != NULL && b->n >= OBSERVED_LEAST;
    bool one = strcmp(then, now) == 0;
    struct credible c = {
        .change = hypot(first ? a->credible : tolerance, second ? b->credible : tolerance) /
                  sqrt(2), /* each is 1.96 sqrt(2) TEM, the change 1.96 of both errors together */
        .whose = !first || !second          ? "two readings"
                 : !one                     ? "the readings of the two who took them"
                 : strcmp(now, reader) == 0 ? "your readings"
                                            : "readings of who took them",
    };
    if (m->girth || m->dimension == DIM_ANGLE)
        c.change = fmax(c.change, m->tolerance);
    /* readings alike to the last digit say no more than that digit */
    if (m->unit != NULL && m->decimals >= 0)
        c.change = fmax(c.change, unit_to_base(m->unit, 1) * pow(10, -m->decimals));
    return c;
}

const struct observed *observed_find(const struct observed *all, size_t count, const char *author,
                                     const char *measure)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(all[i].author, author) == 0 && strcmp(all[i].measure, measure) == 0)
            return &all[i];
    return NULL;
}
