/* The wrong-number trial: synthetic dogs, one number of each spoiled, and what the finder says.
 *
 * A dog of a body type has a withers height drawn evenly in logarithm from 180 to 700 mm; every
 * other length follows along the relations of config/proportions.yaml, the ratio drawn normally
 * about the middle of the band with a quarter of its width as standard deviation, drawn again when
 * outside (a dog of usual shape). Each length is then read: the mean of two readings with 1.5 mm of
 * error each. On a return visit every length has changed by 1 % (standard deviation) and is held
 * against the dog's own ratios of the first, within what two readings differ, as src/casebook does
 * it. Numbers come from SplitMix64 with a fixed seed: every run is the same.
 *
 * The generator draws from the very bands the finder judges by, so that these rates say how well
 * the method works where the bands are right, not how right the bands are.
 */
#ifndef AMBLE_TESTS_TRIAL_H
#define AMBLE_TESTS_TRIAL_H

#include "calc/proportion.h"
#include "template/template.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

enum { TRIAL_DOGS = 200, TRIAL_SLIPS = 8 };

static const struct {
    const char *name;
    double factor;
} trial_slips[TRIAL_SLIPS] = {{"inch for cm", 1 / 2.54}, {"cm for inch", 2.54}, {"ten times", 10},
                              {"a tenth", 0.1},          {"20 % more", 1.2},    {"20 % less", 0.8},
                              {"10 % more", 1.1},        {"5 % more", 1.05}};

struct trial_rate {
    int tried, first, pair; /* pair: named among the two that cannot be told apart */
    int noticed;            /* the finder named anything at all */
    int row;                /* a ratio of it is outside its band: "high" or "low" in the row */
};
struct trial {
    struct trial_rate slips[TRIAL_SLIPS];
    int clean, wolf; /* the finder named something */
    int wolf_row;    /* some ratio is outside its band */
};

struct trial_dog {
    struct proportion_measure measures[PROPORTION_MOST];
    struct proportion_relation relations[PROPORTION_RELATIONS_MOST];
    size_t measure_count, relation_count;
};

static inline double trial_even(uint64_t *seed)
{
    uint64_t z = (*seed += 0x9e3779b97f4a7c15ULL);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return ((double)((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0;
}

static inline double trial_normal(uint64_t *seed)
{
    double u = trial_even(seed), v = trial_even(seed);
    return sqrt(-2 * log(u)) * cos(2 * acos(-1) * v);
}

static inline double trial_within(uint64_t *seed, double limit)
{
    double z;
    do
        z = trial_normal(seed);
    while (fabs(z) > limit);
    return z;
}

static inline size_t trial_find(const struct trial_dog *d, const char *id)
{
    size_t i = 0;
    while (i < d->measure_count && strcmp(d->measures[i].id, id) != 0)
        i++;
    return i;
}

static inline const struct band *trial_band(const struct relation *r, const struct body_type *type)
{
    const struct band *any = NULL;
    for (size_t i = 0; i < r->band_count; i++) {
        if (r->bands[i].body_type == type)
            return &r->bands[i];
        if (r->bands[i].body_type == NULL)
            any = &r->bands[i];
    }
    return any;
}

/* The true dog: what hangs together with the withers height, relation by relation. */
static inline void trial_make(const struct template_set *set, const struct body_type *type,
                              uint64_t *seed, struct trial_dog *d)
{
    *d = (struct trial_dog){.measure_count = 1};
    d->measures[0] =
        (struct proportion_measure){"withers_height", 180 * pow(700.0 / 180, trial_even(seed))};
    for (size_t before = 0; before != d->measure_count;) {
        before = d->measure_count;
        for (size_t i = 0; i < set->relation_count; i++) {
            const struct relation *r = &set->relations[i];
            const struct band *band = trial_band(r, type);
            size_t to = trial_find(d, r->to->id);
            if (band == NULL || to == d->measure_count ||
                trial_find(d, r->of->id) < d->measure_count)
                continue;
            double middle = (log(band->low) + log(band->high)) / 2;
            double sd = (log(band->high) - log(band->low)) / 4;
            double ratio = exp(middle + sd * trial_within(seed, 2));
            d->measures[d->measure_count++] =
                (struct proportion_measure){r->of->id, d->measures[to].value * ratio};
            d->relations[d->relation_count++] =
                (struct proportion_relation){r->of->id, r->to->id, band->low, band->high};
        }
    }
}

static inline void trial_read(struct trial_dog *d, uint64_t *seed)
{
    for (size_t i = 0; i < d->measure_count; i++)
        d->measures[i].value += 1.5 * (trial_normal(seed) + trial_normal(seed)) / 2;
}

/* From now on the dog is held against its ratios as they were read. */
static inline void trial_return(struct trial_dog *d, const struct trial_dog *as_read,
                                uint64_t *seed)
{
    for (size_t i = 0; i < d->relation_count; i++) {
        struct proportion_relation *r = &d->relations[i];
        double of = as_read->measures[trial_find(d, r->of)].value;
        double to = as_read->measures[trial_find(d, r->to)].value;
        double error = hypot(fmax(3, 0.01 * of) / of, fmax(3, 0.01 * to) / to) / 1.96;
        double sd = hypot(0.02, error);
        r->low = of / to * exp(-2 * sd);
        r->high = of / to * exp(2 * sd);
    }
    for (size_t i = 0; i < d->measure_count; i++)
        d->measures[i].value *= exp(0.01 * trial_normal(seed));
}

/* `row`: a ratio in which `which` stands is outside its band; of any measure when it is none. */
static inline struct proportion_out trial_ask(const struct trial_dog *d, size_t which, bool *row)
{
    struct proportion_check checks[PROPORTION_RELATIONS_MOST];
    struct proportion_out out = {0};
    (void)proportion_solve(d->measures, d->measure_count, d->relations, d->relation_count, checks,
                           &out, NULL);
    *row = false;
    for (size_t i = 0; i < d->relation_count; i++)
        if (which == d->measure_count || trial_find(d, d->relations[i].of) == which ||
            trial_find(d, d->relations[i].to) == which)
            *row = *row || checks[i].verdict != PROPORTION_USUAL;
    return out;
}

static inline void trial_spoil(struct trial_dog *d, size_t which, double factor,
                               struct trial_rate *rate)
{
    double kept = d->measures[which].value;
    d->measures[which].value = kept * factor;
    bool row;
    struct proportion_out out = trial_ask(d, which, &row);
    d->measures[which].value = kept;
    rate->row += row;
    rate->tried++;
    rate->noticed += out.count > 0;
    rate->first += out.count > 0 && out.ranked[0].measure == which;
    rate->pair +=
        out.count > 0 && (out.ranked[0].measure == which ||
                          (!out.apart && out.count > 1 && out.ranked[1].measure == which));
}

/* `returning`: the second visit of each dog instead of its first. */
static inline struct trial trial_run(const struct template_set *set, const struct body_type *type,
                                     bool returning)
{
    struct trial t = {0};
    uint64_t seed = 20261124;
    for (int i = 0; i < TRIAL_DOGS; i++) {
        struct trial_dog truth, dog;
        trial_make(set, type, &seed, &truth);
        dog = truth;
        trial_read(&dog, &seed);
        if (returning) {
            trial_return(&truth, &dog, &seed);
            dog = truth;
            trial_read(&dog, &seed);
        }
        t.clean++;
        bool row;
        t.wolf += trial_ask(&dog, dog.measure_count, &row).count > 0;
        t.wolf_row += row;
        for (size_t m = 0; m < dog.measure_count; m++)
            for (size_t s = 0; s < TRIAL_SLIPS; s++)
                trial_spoil(&dog, m, trial_slips[s].factor, &t.slips[s]);
    }
    return t;
}

#endif
