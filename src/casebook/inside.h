/* For the files of this room only. */
#ifndef AMBLE_CASEBOOK_INSIDE_H
#define AMBLE_CASEBOOK_INSIDE_H

#include "casebook/casebook.h"

/* casebook_end for writes into one record: when they are not kept, the record is read again. */
bool end_with(struct casebook *cb, bool ok, struct record *r, struct fault *f);

/* The reason given for a change, "" when none was. */
static inline const char *reason_of(const struct chart *c)
{
    return c->reason == NULL ? "" : c->reason;
}

#endif
