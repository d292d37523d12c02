/* Whether a thief of this computer could read the records, and who answered for it when one could.
 *
 * The answer is an entry like any other: by whom, when, in words. It belongs to this device and to
 * what the disk was then: when that changes, somebody must answer anew. */
#ifndef AMBLE_CASEBOOK_SHELTERING_H
#define AMBLE_CASEBOOK_SHELTERING_H

#include "base/shelter.h"
#include "casebook/casebook.h"

struct sheltering {
    enum shelter kind;
    const char *because, *by, *on; /* words, initials, "Tue 24 Nov"; "" while nobody answered */
    const char *line;              /* for a screen, one line; "" when the disk keeps the records */
};
/* `sysfs` as in base/shelter.h. All in `a`. */
bool sheltering_look(struct casebook *cb, struct arena *a, const char *sysfs,
                     struct sheltering *out, struct fault *f);
/* Go on all the same, because of `words`. No entry where the disk keeps the records. */
bool sheltering_answer(struct casebook *cb, struct arena *a, const char *sysfs, const char *words,
                       struct fault *f);

#endif
