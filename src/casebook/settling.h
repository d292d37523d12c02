/* Conflicts: two people answered one question without having seen each other's answer. Both
 * answers stand everywhere until a person decides, and that decision is an entry too. */
#ifndef AMBLE_CASEBOOK_SETTLING_H
#define AMBLE_CASEBOOK_SETTLING_H

#include "casebook/casebook.h"

struct stand { /* one of the answers */
    enum entry_kind kind;
    const char *value, *shown; /* canonical, and for a person */
    const char *who;           /* initials */
    const char *device;        /* the name of the laptop it was entered on */
    const char *reason;        /* given when it was entered, or "" */
    int64_t claimed_at;        /* by that laptop's clock */
};

struct dispute {
    const char *entity, *entity_kind, *item;
    const char *label;          /* the question */
    const char *whose;          /* "Biscuit, visit of Tue 24 Nov" */
    const struct stand *stands; /* different answers, each once, in the same order everywhere */
    size_t count;
    const struct entry_id *heads; /* all that was shown: a decision replaces exactly these */
    size_t head_count;
};

/* All of them, at most `limit`; in `a`. */
bool disputes(struct casebook *cb, struct arena *a, size_t limit, const struct dispute **out,
              size_t *count, struct fault *f);
/* Keep stand `keep`, or, with keep == count, the new canonical value. The reason is needed:
 * FAULT_REFUSED without one, and while nobody is named at the keys. What has come since it was
 * shown is not replaced: the conflict then stays, with that answer in it. */
bool conflict_settle(struct casebook *cb, const struct dispute *d, size_t keep,
                     const char *canonical, const char *reason, struct fault *f);
/* Read what was typed as a third answer: as the question itself would read it. */
bool dispute_read(struct casebook *cb, struct arena *a, const struct dispute *d, const char *typed,
                  const char **canonical, struct fault *f);

#endif
