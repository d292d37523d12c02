/* The story of one finding: who entered it, when, what it was before and why it was changed. */
#ifndef AMBLE_CASEBOOK_STORY_H
#define AMBLE_CASEBOOK_STORY_H

#include "casebook/casebook.h"

struct telling {
    const struct entry *entry;
    const char *value; /* for a person: "23.0 cm", "entered in error", "no answer" */
    const char *who;   /* initials */
    const char *why;   /* "" when no reason was given */
    bool stands;       /* nothing has replaced it */
    bool after;        /* written after the record was signed, whatever the clocks claimed; signing
                          again does not take that back */
};

struct story {
    const char *label;         /* the question */
    const struct telling *all; /* every entry ever made, oldest first */
    size_t count;
    bool conflict; /* what stands differs */
};

/* In `a`. FAULT_MISSING when nothing was ever entered there. */
bool story_look(struct casebook *cb, struct arena *a, const char *entity, const char *item,
                struct story *out, struct fault *f);
const char *who_when(struct arena *a, const char *who,
                     int64_t at); /* "MK, Tue 24 Nov 2026 09:30" */
/* One of its entries in a line: "22.8 cm  [MK, Tue 24 Nov 2026 09:30, after signing] because: ...".
 */
const char *telling_words(struct arena *a, const struct telling *t);

/* What an entry says, for a person. */
const char *entry_show(const struct template_set *set, const struct entry *e, struct arena *a);

#endif
