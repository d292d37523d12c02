/* What was found before in a section of the visit, beside what stands now. */
#ifndef AMBLE_SCREENS_VISIT_BESIDE_H
#define AMBLE_SCREENS_VISIT_BESIDE_H

#include "screens/visit.h"

enum { BESIDE_ROWS = 5 };

struct beside_row {
    const char *label, *before, *mark;
    const char *now; /* "" where it is not answered, or two answers stand: the mark says them */
    size_t visit;    /* number of the one that `before` is from; 0: never found */
    bool needed, open;
};
/* First what was found before and is open now, the needed ahead; then what is no longer as it was,
 * then what else is open. What stands as it did is left out. */
struct found_before {
    struct beside_row rows[BESIDE_ROWS]; /* as many as are told; a move of the cursor sends them */
    size_t count;                        /* of all */
};

/* In the chart's arena; nothing is read, the chart holds the earlier visits. */
void beside_look(const struct chart *c, const struct section *s, struct found_before *out);
/* What was found before of one question, for the form that asks it; who marked it is read. */
bool beside_before(const struct chart *c, const struct item *item, struct form_before *out);
void beside_draw(const struct found_before *b, const char *title, int row, int last);

#endif
