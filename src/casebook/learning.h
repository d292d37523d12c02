/* The practice's own proportions: what its signed dogs measure, for each body type.
 *
 * Only visits that were signed count, each dog once (its latest), and only measures read twice
 * whose readings agree. Centre and spread are robust, of the logarithm of the ratio. What is then
 * held to be usual lies between the published band and the practice's own by count: the published
 * band weighs as much as LEARN_WEIGHT dogs, one that only catches slips as LEARN_WEIGHT_LIMITS.
 * Those weights, and how many dogs make a band where none is published, are practice defaults, no
 * source.
 */
#ifndef AMBLE_CASEBOOK_LEARNING_H
#define AMBLE_CASEBOOK_LEARNING_H

#include "casebook/casebook.h"

enum { LEARN_WEIGHT = 12, LEARN_WEIGHT_LIMITS = 2, LEARN_LEAST = 5, LEARN_ALONE = 20 };

struct learned {
    const char *body_type, *relation; /* ids */
    double centre;                    /* of the ratio */
    double spread;                    /* standard deviation of its logarithm */
    size_t n;                         /* dogs */
};

/* Collects from visits given newest first; lives in `a`. */
struct learning;
struct learning *learning_new(struct casebook *cb, struct arena *a);
void learning_add(struct learning *l, const struct record *visit);
const struct learned *learning_end(struct learning *l, size_t *count);

const struct learned *learning_find(const struct learned *all, size_t count, const char *body_type,
                                    const char *relation); /* NULL when there is none */
/* The band to use from what is published (NULL: nothing) and learned (NULL: nothing). False when
 * there is no ground for one; *own tells whether the practice's dogs moved it. */
bool learning_band(const struct band *published, const struct learned *own_dogs, double *low,
                   double *high, bool *own);

#endif
