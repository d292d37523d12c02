/* Two records of one dog, or of one caregiver: noticing them and joining them.
 *
 * Joining is one entry on the duplicate, "merged.into" the survivor; nothing moves, and taking the
 * entry back parts them again. What is shown of the survivor gathers the visits and calls of all
 * that were merged into it. Two laptops may merge crosswise without knowing of each other: then the
 * smallest uuid of the ring survives, on every laptop the same.
 */
#ifndef AMBLE_CASEBOOK_MERGING_H
#define AMBLE_CASEBOOK_MERGING_H

#include "casebook/casebook.h"

#define ID_MERGED "merged.into" /* on a duplicate: uuid of the record that stands for it */

/* The record that stands for this one: itself when it was never merged. In `a`. */
const char *merge_survivor(struct casebook *cb, struct arena *a, const char *entity);
/* The survivor of `entity` and all that were merged into it, the survivor first. In `a`. */
bool merge_family(struct casebook *cb, struct arena *a, const char *entity, struct ids *out,
                  struct fault *f);
/* Entities with a head of keyed `item` that names any of the family. */
bool merge_by_value(struct casebook *cb, struct arena *a, const char *item, const char *entity,
                    size_t limit, struct ids *out, struct fault *f);
bool merge_by_family(struct casebook *cb, struct arena *a, const char *item,
                     const struct ids *family, size_t limit, struct ids *out, struct fault *f);

/* The dogs of a caregiver, merged ones once; at most 20. */
bool dogs_of(struct casebook *cb, struct arena *a, const char *caregiver, struct ids *out,
             struct fault *f);

/* From now on `duplicate` is `survivor`. FAULT_REFUSED: not two records of one kind, or one already
 * is the other. */
bool merge_join(struct casebook *cb, const char *duplicate, const char *survivor, struct fault *f);
/* Part again what was joined last with this survivor (or this duplicate). `*parted` in `a`. */
bool merge_part(struct casebook *cb, struct arena *a, const char *entity, const char **parted,
                struct fault *f);

/* Records that may be the same as this dog, caregiver or call: of a call, dogs it may be about. */
struct lookalike {
    const char *entity; /* a survivor */
    const char *text;   /* "Biscuit, Ada Marsh" */
    const char *why;    /* "same phone, similar name" */
};
bool merge_lookalikes(struct casebook *cb, struct arena *a, const char *entity,
                      const struct lookalike **out, size_t *count, struct fault *f);

/* journal_search, where who was merged is found under the survivor, each once. */
bool merge_search(struct casebook *cb, struct arena *a, const char *typed, size_t limit,
                  const struct hit **out, size_t *count, struct fault *f);

#endif
