/* What the practice's latest visits teach: its own proportions and how well its people repeat.
 *
 * The latest EXPERIENCE_VISITS visits are found by their day and read once; the sums are kept as a
 * setting of this device and made again when a day has passed. Nothing else reads them over.
 */
#ifndef AMBLE_CASEBOOK_EXPERIENCE_H
#define AMBLE_CASEBOOK_EXPERIENCE_H

#include "casebook/learning.h"
#include "casebook/observers.h"

enum { EXPERIENCE_VISITS = 400 };

struct experience {
    const struct learned *ratios;
    size_t ratio_count;
    const struct observed *observers;
    size_t observer_count;
    size_t visits;   /* how many were read */
    const char *day; /* when, "2026-11-24"; "" when it never was */
};

/* As it was last made; empty when it never was. */
void experience_read(struct casebook *cb, struct arena *a, struct experience *out);
/* Made today already, else now. */
bool experience_fresh(struct casebook *cb, struct arena *a, struct experience *out,
                      struct fault *f);
/* Made now, from the visits up to today. */
bool experience_renew(struct casebook *cb, struct arena *a, struct experience *out,
                      struct fault *f);

#endif
