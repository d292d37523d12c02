/* Measured and signed visits on top of a filled practice, and how quickly what they teach is asked:
 * the practice's own proportions, each person's error, a whole Measures screen. */
#ifndef AMBLE_TESTS_BENCH_MEASURED_H
#define AMBLE_TESTS_BENCH_MEASURED_H

#include "casebook/experience.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "fill.h"

struct measured {
    struct bench *b;
    struct casebook cb;
    struct chart chart;
    char visit[IDENT_ROOM]; /* a second visit, measured, not signed */
};

static inline void measured_reading(struct bench *b, const char *visit, const struct measure *m,
                                    const char *author)
{
    double middle = (m->low + m->high) / 3;
    for (int k = 1; k <= 2; k++) {
        char item[64], value[64];
        snprintf(item, sizeof item, "%s.%d", m->id, k);
        snprintf(value, sizeof value, "%.1f %s", middle + 0.1 * (double)chance(b, 30),
                 unit_base(m->dimension)->name);
        put(b, visit, item, value, author);
    }
}

/* A Dachshund with every length read twice, signed when `sign`; into `c`. */
static inline void measured_visit(struct measured *m, const char *dog, const char *day, bool sign,
                                  struct chart *c)
{
    struct bench *b = m->b;
    must(visit_new(&m->cb, b->a, dog, day, c, &b->f), b);
    for (size_t i = 0; i < m->cb.set->measure_count; i++)
        if (m->cb.set->measures[i].dimension == DIM_LENGTH)
            measured_reading(b, c->visit.entity, &m->cb.set->measures[i], m->cb.author);
    if (sign)
        must(record_load(&m->cb, b->a, c->visit.entity, &c->visit, &b->f) &&
                 record_sign(&m->cb, &c->visit, &b->f),
             b);
}

static inline void measured_fill(struct measured *m)
{
    struct bench *b = m->b;
    char dog[IDENT_ROOM], day[32];
    for (int i = 0; i < EXPERIENCE_VISITS; i++) {
        snprintf(day, sizeof day, "2026-%02d-%02d", 1 + i % 10, 1 + i / 10 % 28);
        arena_reset(b->a);
        must(casebook_begin(&m->cb, &b->f) && journal_entity_new(b->j, "dog", dog, &b->f), b);
        put(b, dog, ID_DOG_NAME, "Juniper", m->cb.author);
        put(b, dog, ID_DOG_BREED, "Dachshund", m->cb.author);
        measured_visit(m, dog, day, true, &m->chart);
        must(casebook_commit(&m->cb, &b->f), b);
    }
    measured_visit(m, dog, "2026-11-24", false, &m->chart);
    memcpy(m->visit, m->chart.visit.entity, sizeof m->visit);
}

/* ---- asking ---------------------------------------------------------------------------------- */

static inline void measured_renew(struct measured *m)
{
    struct experience known;
    must(experience_renew(&m->cb, m->b->a, &known, &m->b->f), m->b);
    if (known.visits != EXPERIENCE_VISITS || known.ratio_count == 0 || known.observer_count == 0)
        must(fail(&m->b->f, FAULT_SYSTEM, "nothing was learned"), m->b);
}

static inline void measured_read(struct measured *m)
{
    struct experience known;
    experience_read(&m->cb, m->b->a, &known);
}

/* What every key on the Measures screen asks for. */
static inline void measured_look(struct measured *m)
{
    struct measuring looked;
    must(chart_load(&m->cb, m->b->a, m->visit, &m->chart, &m->b->f), m->b);
    measuring_look(&m->chart, &looked);
}

static inline void measured_times(struct measured *m, void (*work)(struct measured *), size_t tries,
                                  double out[2])
{
    double times[200];
    for (size_t i = 0; i < tries; i++) {
        arena_reset(m->b->a);
        double from = now_ms();
        work(m);
        times[i] = now_ms() - from;
    }
    quantiles(times, tries, out);
}

#endif
