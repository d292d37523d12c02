/* For the files of this room only. */
#ifndef AMBLE_CASEBOOK_INSIDE_H
#define AMBLE_CASEBOOK_INSIDE_H

#include "base/arena.h"
#include "casebook/casebook.h"
#include "journal/signed.h"
#include <stdio.h>
#include <string.h>

/* casebook_end for writes into one record: when they are not kept, the record is read again. */
bool end_with(struct casebook *cb, bool ok, struct record *r, struct fault *f);

/* The sign-offs among some entries of a record: an entry that none of them was made over is an
 * amendment. */
struct signs {
    const struct entry **all;
    struct signed_over *over; /* NULL: the order of lamport numbers tells enough */
    size_t count;
};
/* `h`: sign-offs and the entries that will be asked about, all of one record. */
bool signs_find(struct casebook *cb, struct arena *a, const struct heads *h, struct signs *out,
                struct fault *f);
bool signs_amended(const struct signs *s, const struct entry *e);

bool same_value(const struct entry *a, const struct entry *b); /* kind and value */
/* Number of the entry that this one undoes, 0 when it is no undo. */
uint64_t undoes(const struct entry *e);

/* "a; b", as labels may hold commas; either may be NULL. */
static inline const char *listed(struct arena *a, const char *before, const char *more)
{
    if (before == NULL || more == NULL)
        return before == NULL ? more : before;
    size_t room = strlen(before) + strlen(more) + 3; /* known: it need not be formatted twice */
    char *both = arena_alloc(a, room);
    (void)snprintf(both, room, "%s; %s", before, more);
    return both;
}

/* Two answers stand, written apart. */
static inline bool disputed(const struct record *r, const char *item)
{
    const struct finding *f = record_find(r, item);
    return f != NULL && f->other_count > 0;
}

/* What a section's line says of them, "" when there are none. */
static inline const char *disputed_words(struct arena *a, size_t count)
{
    return count == 0 ? "" : arena_printf(a, "%zu in CONFLICT; ", count);
}

/* The reason given for a change, "" when none was. */
static inline const char *reason_of(const struct chart *c)
{
    return c->reason == NULL ? "" : c->reason;
}

#endif
