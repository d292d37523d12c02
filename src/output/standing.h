/* What stands in a record, item by item: for outputs that leave nothing out. */
#ifndef AMBLE_OUTPUT_STANDING_H
#define AMBLE_OUTPUT_STANDING_H

#include "casebook/casebook.h"

struct standing {
    const struct entry *heads; /* all of one item; several when nobody has settled which is right */
    size_t count;
    const bool *after; /* which of them were written after the record was signed */
    bool conflict;     /* they differ */
    bool amended;      /* any was written after the record was signed */
};
/* In the order of the items, in `a`. */
bool standing_look(struct casebook *cb, struct arena *a, const struct record *r,
                   const struct standing **out, size_t *count, struct fault *f);

#endif
