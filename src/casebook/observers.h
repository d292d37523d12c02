/* How well each person repeats each measurement, from the doubles taken in visits anyway.
 *
 * First and second reading by the same person are a double; a third is the answer to two that
 * part and is left out. Technical error and credible change as in calc/repeat.h. Both readings are
 * of one standing of one dog: from visit to visit it stands differently, so the change that is
 * credible is rather more than this.
 */
#ifndef AMBLE_CASEBOOK_OBSERVERS_H
#define AMBLE_CASEBOOK_OBSERVERS_H

#include "casebook/casebook.h"

enum { OBSERVED_LEAST = 10 }; /* doubles before it is used; practice default, no source */

struct observed {
    const char *author, *measure; /* uuid of a practitioner, id */
    size_t n;                     /* doubles */
    double mean, tem, credible;   /* base unit */
};

struct observing;
struct observing *observing_new(struct casebook *cb, struct arena *a);
void observing_add(struct observing *o, const struct record *visit);
const struct observed *observing_end(struct observing *o, size_t *count); /* author by author */

/* How large a change is real. */
struct credible {
    double change;     /* base unit */
    const char *whose; /* what that rests on: "two readings", "your readings" */
};
/* Between a value read by `then` and one read by `now` (uuids, "" when not known), for `reader`:
 * from their own doubles, else from what the template lets two readings of `value` part by. Of
 * girths and angles that tolerance is a published noise floor: nobody is better. */
struct credible observed_change(const struct observed *all, size_t count, const struct measure *m,
                                double value, const char *then, const char *now,
                                const char *reader);

const struct observed *observed_find(const struct observed *all, size_t count, const char *author,
                                     const char *measure); /* NULL when there is none */

#endif
