/* What a sign-off was made over. */
#ifndef AMBLE_JOURNAL_SIGNED_H
#define AMBLE_JOURNAL_SIGNED_H

#include "journal/journal.h"

struct signed_over {
    bool fits; /* what was signed is held here, as it was */
    /* Then: of each device the last entry the signer had seen (of the signer's: the sign-off). */
    struct entry_id *seen;
    size_t count;
};
/* Find it, in `a`. Not fitting: some of it has not come here, or it is not what was signed. */
bool journal_signed_over(struct journal *j, struct arena *a, const struct entry *sign,
                         struct signed_over *out, struct fault *f);
/* Is what it was made over all that stands in its record, and nothing was written since? Then the
 * order of lamport numbers tells which entries it covers, and nothing needs to be found. */
bool journal_signed_whole(struct journal *j, const struct entry *sign, bool *whole,
                          struct fault *f);
bool signed_covers(const struct signed_over *s, struct entry_id id);

/* Every sign-off that stands. */
struct signatures {
    uint64_t fit, apart;
};
bool journal_signatures(struct journal *j, struct signatures *out, struct fault *f);

#endif
