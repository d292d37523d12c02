/* The wrong-number trial: made-up dogs, one number of each spoiled, and what the finder says.
 *
 * How a dog is made. Its withers height is drawn evenly in logarithm from 180 to 700 mm; every
 * other length follows along the relations of config/proportions.yaml in their order, the ratio
 * drawn normally about the middle of the band with a quarter of its width as standard deviation. A
 * dog one of whose ratios is outside its band is drawn again (a dog of usual shape). Two lengths go
 * together only as the relations make them: what is known of dogs beyond that has no published
 * figure. Each length is then read twice, with 1.5 mm of error (standard deviation) each. Numbers
 * come from SplitMix64 with a fixed seed: every run is the same.
 *
 * Three worlds.
 * First visit: the dogs spread as widely as the published bands, which the finder judges by. Many
 * of those bands only catch slips (a trunk span from 0.45 to 0.90 of the body length), so that
 * these dogs are stranger than real ones. Own dogs: the practice has measured 40 dogs of the type,
 * and real dogs of one type spread by 5 % (standard deviation of a ratio) about a middle somewhere
 * in the middle half of the band, by the band where that is narrower. 5 % is an assumption: 115
 * sound dogs of all breeds spread by 3.2 % in the girth of the hind limb over the fore limb (Fox et
 * al. 2023, Vet Evidence 8(4)), ten dogs by 7 % in the girth of the thigh, their size in it
 * (Frontiers 2018, 203). The finder knows what casebook/learning makes of the 40. Return visit:
 * every length has changed by 1 % (standard deviation) and is held against the dog's own ratios of
 * the first, within what two readings differ, as casebook/measuring does it.
 *
 * The oracle knows how the dogs are made: each measure in turn is put right by the very factor that
 * was put in, and the dog most likely to have been made that way names the measure. It sees the
 * lengths without the error of reading. Nobody can name more of them first.
 */
#ifndef AMBLE_TESTS_TRIAL_H
#define AMBLE_TESTS_TRIAL_H

#include "calc/proportion.h"
#include "calc/robust.h"
#include "casebook/learning.h"
#include "template/template.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

enum { TRIAL_DOGS = 200, TRIAL_SLIPS = 8, TRIAL_OWN = 40 };
#define TRIAL_CHANGE                                                                               \
    0.01 /* of a length from visit to visit, standard deviation of the logarithm                   \
          */
enum trial_world { TRIAL_FIRST, TRIAL_LEARNED, TRIAL_RETURN };

static const struct {
    const char *name;
    double factor;
} trial_slips[TRIAL_SLIPS] = {{"inch for cm", 1 / 2.54}, {"cm for inch", 2.54}, {"ten times", 10},
                              {"a tenth", 0.1},          {"20 % more", 1.2},    {"20 % less", 0.8},
                              {"10 % more", 1.1},        {"5 % more", 1.05}};

struct trial_rate {
    int tried;
    int first;  /* ranked first, told or not */
    int told;   /* ranked first and told, alone or with the one it cannot be told from */
    int wrong;  /* another one told */
    int oracle; /* named first by the oracle */
    int third;  /* put into one of the two readings only: a third is asked for */
};
struct trial {
    struct trial_rate slips[TRIAL_SLIPS];
    int clean, wolf;         /* dogs without a slip, and how many were told of one */
    int odd_clean, odd_wolf; /* of dogs whose ratios were not kept inside the bands */
    int lengths; /* a dog of the type has; those that stand in no relation are not counted */
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

/* ---- making dogs ----------------------------------------------------------------------------- */

enum { TRIAL_SIDES = 4, TRIAL_NONE = 99 };

/* How one length is made: from the ratio drawn, and the others on the sides of a relation. */
struct trial_way {
    size_t side[TRIAL_SIDES]; /* of, to, plus, across */
    bool makes;               /* the first side; else the relation is only looked at */
    double middle, sd;        /* of the ratio's logarithm */
    bool limits;              /* the band only catches slips */
};

struct trial_dog {
    double mm[PROPORTION_MOST];
};

struct trial_kind {
    struct proportion_relation bands[PROPORTION_RELATIONS_MOST]; /* as the finder knows them */
    struct trial_way ways[PROPORTION_RELATIONS_MOST];
    const char *ids[PROPORTION_MOST];
    size_t way_count, length_count;
    const struct trial_dog *before; /* the same dog as it was last time, or NULL */
    double limit; /* a ratio further out than so many standard deviations is drawn again */
};

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

static inline size_t trial_length(const struct trial_kind *k, const struct measure *m)
{
    size_t i = 0;
    if (m == NULL)
        return TRIAL_NONE;
    while (i < k->length_count && strcmp(k->ids[i], m->id) != 0)
        i++;
    return i;
}

/* One more way when the other sides are there; the first side is made unless it is there as well.
 */
static inline bool trial_add_way(struct trial_kind *k, const struct relation *r,
                                 const struct band *band)
{
    const struct measure *on[TRIAL_SIDES] = {r->of, r->to, r->plus, r->across};
    struct trial_way w = {.middle = (log(band->low) + log(band->high)) / 2,
                          .sd = (log(band->high) - log(band->low)) / 4,
                          .limits = band->limits};
    for (size_t s = 0; s < TRIAL_SIDES; s++) {
        w.side[s] = trial_length(k, on[s]);
        if (s > 0 && w.side[s] == k->length_count)
            return false;
    }
    w.makes = w.side[0] == k->length_count;
    if (w.makes)
        k->ids[k->length_count++] = r->of->id;
    k->bands[k->way_count] = (struct proportion_relation){
        .of = r->of->id,
        .to = r->to->id,
        .low = band->low,
        .high = band->high,
        .plus = r->plus == NULL ? NULL : r->plus->id,
        .across = r->across == NULL ? NULL : r->across->id,
    };
    k->ways[k->way_count++] = w;
    return true;
}

static inline void trial_kind_of(const struct template_set *set, const struct body_type *type,
                                 struct trial_kind *k)
{
    bool had[PROPORTION_RELATIONS_MOST] = {false};
    *k = (struct trial_kind){.ids = {"withers_height"}, .length_count = 1, .limit = 2};
    for (size_t before = 9; before != k->way_count;) {
        before = k->way_count;
        for (size_t i = 0; i < set->relation_count; i++) {
            const struct band *band = trial_band(&set->relations[i], type);
            had[i] = had[i] || (band != NULL && trial_add_way(k, &set->relations[i], band));
        }
    }
}

static inline double trial_at(const struct trial_dog *d, size_t side)
{
    return side == TRIAL_NONE ? 0 : d->mm[side];
}

static inline double trial_ratio(const struct trial_way *w, const struct trial_dog *d)
{
    return (d->mm[w->side[0]] + trial_at(d, w->side[2])) /
           hypot(d->mm[w->side[1]], trial_at(d, w->side[3]));
}

static inline double trial_off(const struct trial_way *w, const struct trial_dog *d)
{
    return (log(trial_ratio(w, d)) - w->middle) / w->sd;
}

static inline bool trial_usual(const struct trial_kind *k, const struct trial_dog *d)
{
    bool usual = true;
    for (size_t i = 0; i < k->length_count; i++)
        usual = usual && d->mm[i] > 0;
    for (size_t i = 0; i < k->way_count && usual; i++)
        usual = fabs(trial_off(&k->ways[i], d)) <= k->limit;
    return usual;
}

static inline struct trial_dog trial_make(const struct trial_kind *k, uint64_t *seed)
{
    struct trial_dog d;
    do {
        d = (struct trial_dog){.mm = {180 * pow(700.0 / 180, trial_even(seed))}};
        for (size_t i = 0; i < k->way_count; i++) {
            const struct trial_way *w = &k->ways[i];
            double under = hypot(d.mm[w->side[1]], trial_at(&d, w->side[3]));
            if (w->makes)
                d.mm[w->side[0]] =
                    under * exp(w->middle + w->sd * trial_normal(seed)) - trial_at(&d, w->side[2]);
        }
    } while (!trial_usual(k, &d));
    return d;
}

struct trial_reading {
    double mm[2];
};

static inline struct trial_reading trial_read(double mm, uint64_t *seed)
{
    double first = mm + 1.5 * trial_normal(seed);
    return (struct trial_reading){{first, mm + 1.5 * trial_normal(seed)}};
}

static inline struct trial_dog trial_measure(const struct trial_kind *k, const struct trial_dog *d,
                                             uint64_t *seed, struct trial_reading *readings)
{
    struct trial_dog used = *d;
    for (size_t i = 0; i < k->length_count; i++) {
        readings[i] = trial_read(d->mm[i], seed);
        used.mm[i] = (readings[i].mm[0] + readings[i].mm[1]) / 2;
    }
    return used;
}

/* ---- the worlds ------------------------------------------------------------------------------ */

/* Real dogs spread less than bands that only catch slips; the finder has learned from 40 of them.
 */
static inline void trial_learn(struct trial_kind *k, uint64_t *seed)
{
    double ratios[PROPORTION_RELATIONS_MOST][TRIAL_OWN];
    for (size_t i = 0; i < k->way_count; i++) {
        struct trial_way *w = &k->ways[i];
        w->middle += w->sd * 2 * (trial_even(seed) - 0.5);
        w->sd = fmin(w->sd, 0.05);
    }
    k->limit = 1e9;
    for (size_t dog = 0; dog < TRIAL_OWN; dog++) {
        struct trial_reading readings[PROPORTION_MOST];
        struct trial_dog truth = trial_make(k, seed);
        struct trial_dog d = trial_measure(k, &truth, seed, readings);
        for (size_t i = 0; i < k->way_count; i++)
            ratios[i][dog] = log(trial_ratio(&k->ways[i], &d));
    }
    for (size_t i = 0; i < k->way_count; i++) {
        const struct trial_way *w = &k->ways[i];
        struct robust_out r;
        bool own;
        if (!robust_solve(ratios[i], TRIAL_OWN, 0.005, &r, NULL))
            continue;
        const struct band published = {
            .low = k->bands[i].low, .high = k->bands[i].high, .limits = w->limits};
        const struct learned dogs = {.centre = exp(r.centre), .spread = r.spread, .n = TRIAL_OWN};
        (void)learning_band(&published, &dogs, &k->bands[i].low, &k->bands[i].high, &own);
    }
}

/* From now on the dog is held against its ratios as they were read. */
static inline void trial_return(struct trial_kind *k, const struct trial_dog *as_read)
{
    for (size_t i = 0; i < k->way_count; i++) {
        const struct trial_way *w = &k->ways[i];
        double doubt[TRIAL_SIDES], ratio = trial_ratio(w, as_read);
        for (size_t s = 0; s < TRIAL_SIDES; s++)
            doubt[s] = w->side[s] == TRIAL_NONE ? 0 : fmax(3, 0.01 * as_read->mm[w->side[s]]);
        double over =
            hypot(doubt[0], doubt[2]) / (as_read->mm[w->side[0]] + trial_at(as_read, w->side[2]));
        double under = hypot(doubt[1], doubt[3]) /
                       hypot(as_read->mm[w->side[1]], trial_at(as_read, w->side[3]));
        double sd = hypot(0.02, hypot(over, under) / 1.96);
        k->bands[i].low = ratio * exp(-2 * sd);
        k->bands[i].high = ratio * exp(2 * sd);
    }
}

/* ---- asking ---------------------------------------------------------------------------------- */

static inline struct proportion_out trial_ask(const struct trial_kind *k, const struct trial_dog *d)
{
    struct proportion_check checks[PROPORTION_RELATIONS_MOST];
    struct proportion_measure measures[PROPORTION_MOST];
    struct proportion_out out = {0};
    for (size_t i = 0; i < k->length_count; i++)
        measures[i] = (struct proportion_measure){k->ids[i], d->mm[i]};
    (void)proportion_solve(measures, k->length_count, k->bands, k->way_count, checks, &out, NULL);
    return out;
}

/* Minus twice the logarithm of how likely a dog is made so, but for what is the same for all. */
static inline double trial_unlikely(const struct trial_kind *k, const struct trial_dog *d)
{
    double sum = 0;
    for (size_t i = 0; k->before != NULL && i < k->length_count; i++)
        sum += pow(log(d->mm[i] / k->before->mm[i]) / TRIAL_CHANGE, 2);
    for (size_t i = 0; k->before == NULL && i < k->way_count; i++) {
        const struct trial_way *w = &k->ways[i];
        double off = trial_off(w, d);
        if (fabs(off) > k->limit)
            sum += 1e6 * off * off;
        /* drawn is the ratio: its logarithm by that of the length made is `slope` */
        double made = d->mm[w->side[0]], slope = made / (made + trial_at(d, w->side[2]));
        if (w->makes)
            sum += off * off - 2 * log(slope);
    }
    return sum;
}

static inline size_t trial_oracle(const struct trial_kind *k, const struct trial_dog *d,
                                  double factor)
{
    size_t best = 0;
    double least = INFINITY;
    for (size_t i = 0; i < k->length_count; i++) {
        struct trial_dog mended = *d;
        mended.mm[i] /= factor;
        double unlikely = trial_unlikely(k, &mended);
        if (unlikely < least) {
            least = unlikely;
            best = i;
        }
    }
    return best;
}

static inline void trial_spoil(const struct trial_kind *k, const struct trial_dog *truth,
                               const struct trial_dog *used, size_t which, double factor,
                               struct trial_rate *rate)
{
    struct trial_dog spoilt = *used, true_spoilt = *truth;
    spoilt.mm[which] *= factor;
    true_spoilt.mm[which] *= factor;
    struct proportion_out out = trial_ask(k, &spoilt);
    bool first = out.count > 0 && out.ranked[0].measure == which;
    bool second = !out.apart && out.count > 1 && out.ranked[1].measure == which;
    rate->tried++;
    rate->first += first;
    rate->told += out.misfits && (first || second);
    rate->wrong += out.misfits && !first && !second;
    rate->oracle += trial_oracle(k, &true_spoilt, factor) == which;
}

/* The practice's default: 1 % or 3 mm, whichever is larger. */
static inline bool trial_parts(struct trial_reading r, double factor)
{
    double first = r.mm[0] * factor, mean = (first + r.mm[1]) / 2;
    return fabs(first - r.mm[1]) > fmax(3, 0.01 * mean);
}

/* A dog of the type whose ratios leave their bands as often as a normal distribution does. */
static inline bool trial_odd_dog(struct trial_kind k, uint64_t *seed)
{
    struct trial_reading readings[PROPORTION_MOST];
    k.limit = 1e9;
    struct trial_dog truth = trial_make(&k, seed);
    struct trial_dog used = trial_measure(&k, &truth, seed, readings);
    return trial_ask(&k, &used).misfits;
}

static inline struct trial trial_run(const struct template_set *set, const struct body_type *type,
                                     enum trial_world world, int dogs)
{
    struct trial t = {0};
    struct trial_kind kind;
    uint64_t seed = 20261124;
    trial_kind_of(set, type, &kind);
    if (world == TRIAL_LEARNED)
        trial_learn(&kind, &seed);
    t.lengths = (int)kind.length_count;
    for (int i = 0; i < dogs; i++) {
        struct trial_reading readings[PROPORTION_MOST];
        struct trial_dog truth = trial_make(&kind, &seed);
        struct trial_dog used = trial_measure(&kind, &truth, &seed, readings);
        struct trial_kind now = kind;
        const struct trial_dog last = truth;
        if (world == TRIAL_RETURN) {
            trial_return(&now, &used);
            now.before = &last;
            for (size_t m = 0; m < kind.length_count; m++)
                truth.mm[m] *= exp(TRIAL_CHANGE * trial_normal(&seed));
            used = trial_measure(&kind, &truth, &seed, readings);
        }
        t.clean++;
        t.wolf += trial_ask(&now, &used).misfits;
        t.odd_clean += world == TRIAL_FIRST;
        t.odd_wolf += world == TRIAL_FIRST && trial_odd_dog(kind, &seed);
        for (size_t m = 0; m < kind.length_count; m++)
            for (size_t s = 0; s < TRIAL_SLIPS; s++) {
                trial_spoil(&now, &truth, &used, m, trial_slips[s].factor, &t.slips[s]);
                t.slips[s].third += trial_parts(readings[m], trial_slips[s].factor);
            }
    }
    return t;
}

#endif
