#include "casebook/learning.h"
#include "base/arena.h"
#include "calc/robust.h"
#include "casebook/ids.h"
#include "casebook/measuring_inside.h"
#include <math.h>
#include <string.h>

#define STEP 0.005 /* of a ratio's logarithm: 1 mm of 200 mm */

/* The ratios of one relation in dogs of one body type. */
struct pile {
    double *values; /* logarithms */
    size_t count, room;
};

struct learning {
    struct casebook *cb;
    struct arena *arena;
    struct pile *piles; /* body type by body type, relation by relation */
    const char **dogs;  /* had already */
    size_t dog_count, dog_room;
};

struct learning *learning_new(struct casebook *cb, struct arena *a)
{
    struct learning *l = arena_alloc(a, sizeof *l);
    *l = (struct learning){.cb = cb, .arena = a};
    l->piles = arena_array(a, cb->set->body_type_count * cb->set->relation_count, sizeof *l->piles);
    return l;
}

static bool is_new(struct learning *l, const char *dog)
{
    for (size_t i = 0; i < l->dog_count; i++)
        if (strcmp(l->dogs[i], dog) == 0)
            return false;
    l->dogs = arena_grow(l->arena, l->dogs, l->dog_count, &l->dog_room, sizeof *l->dogs);
    l->dogs[l->dog_count++] = arena_str(l->arena, dog);
    return true;
}

static const struct body_type *type_of(struct learning *l, struct arena *a, const char *dog)
{
    const struct template_set *set = l->cb->set;
    const char *own = journal_value(l->cb->journal, a, dog, ID_DOG_BODY);
    if (*own != '\0')
        return template_body_type(set, own);
    const char *breed = journal_value(l->cb->journal, a, dog, ID_DOG_BREED);
    const struct breed *known = *breed == '\0' ? NULL : template_breed(set, breed);
    return known == NULL ? NULL : known->body_type;
}

/* The value used of a measure read twice or more with readings that agree, else 0. */
static double settled(const void *of, const struct measure *m)
{
    const struct record *visit = of;
    struct measure_row row = {.measure = m};
    measuring_row(visit->arena, visit, &row);
    return row.count >= 2 && !row.third_wanted ? row.used : 0;
}

void learning_add(struct learning *l, const struct record *visit)
{
    const struct template_set *set = l->cb->set;
    const char *dog = record_text(visit, ID_VISIT_DOG);
    if (!record_signed(visit) || *dog == '\0' || !is_new(l, dog))
        return;
    const struct body_type *type = type_of(l, visit->arena, dog);
    if (type == NULL)
        return;
    size_t first = (size_t)(type - set->body_types) * set->relation_count;
    for (size_t i = 0; i < set->relation_count; i++) {
        struct pile *p = &l->piles[first + i];
        double ratio = relation_ratio(&set->relations[i], settled, visit);
        if (!(ratio > 0))
            continue;
        p->values = arena_grow(l->arena, p->values, p->count, &p->room, sizeof *p->values);
        p->values[p->count++] = log(ratio);
    }
}

const struct learned *learning_end(struct learning *l, size_t *count)
{
    const struct template_set *set = l->cb->set;
    size_t most = set->body_type_count * set->relation_count;
    struct learned *out = arena_array(l->arena, most, sizeof *out);
    *count = 0;
    for (size_t i = 0; i < most; i++) {
        struct robust_out r;
        if (l->piles[i].count == 0 ||
            !robust_solve(l->piles[i].values, l->piles[i].count, STEP, &r, NULL))
            continue;
        out[(*count)++] = (struct learned){.body_type = set->body_types[i / set->relation_count].id,
                                           .relation = set->relations[i % set->relation_count].id,
                                           .centre = exp(r.centre),
                                           .spread = r.spread,
                                           .n = l->piles[i].count};
    }
    return out;
}

const struct learned *learning_find(const struct learned *all, size_t count, const char *body_type,
                                    const char *relation)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(all[i].body_type, body_type) == 0 && strcmp(all[i].relation, relation) == 0)
            return &all[i];
    return NULL;
}

bool learning_band(const struct band *published, const struct learned *own_dogs, double *low,
                   double *high, bool *own)
{
    size_t least = published != NULL ? LEARN_LEAST : LEARN_ALONE;
    *own = own_dogs != NULL && own_dogs->n >= least;
    if (published != NULL) {
        *low = published->low;
        *high = published->high;
    }
    if (!*own)
        return published != NULL;
    double n = (double)own_dogs->n, weight = 0, middle = 0, sd = 0;
    if (published != NULL) {
        weight = published->limits ? LEARN_WEIGHT_LIMITS : LEARN_WEIGHT;
        middle = (log(*low) + log(*high)) / 2;
        sd = (log(*high) - log(*low)) / 4; /* as calc/proportion.h reads a band */
    }
    double all = n + weight, apart = log(own_dogs->centre) - middle;
    double centre = (n * log(own_dogs->centre) + weight * middle) / all;
    /* as of one population: what each spreads, and that their middles differ */
    double spread = sqrt((n * own_dogs->spread * own_dogs->spread + weight * sd * sd) / all +
                         n * weight * apart * apart / (all * all));
    *low = exp(centre - 2 * spread);
    *high = exp(centre + 2 * spread);
    return true;
}
