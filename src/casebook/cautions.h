/* What must not be done with this dog, or only with care: the support rules that stand. */
#ifndef AMBLE_CASEBOOK_CAUTIONS_H
#define AMBLE_CASEBOOK_CAUTIONS_H

#include "casebook/casebook.h"

struct caution {
    bool forbids; /* else it warns */
    const char *reason, *because, *source;
    const char *supports; /* labels of those it is about */
};
/* Each rule once, those that forbid first; in the chart's arena. */
size_t cautions_look(const struct chart *c, const struct caution **out);

#endif
