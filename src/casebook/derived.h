/* Facts nobody types: computed from what was. The names are declared in template/facts.h. */
#ifndef AMBLE_CASEBOOK_DERIVED_H
#define AMBLE_CASEBOOK_DERIVED_H

#include "casebook/casebook.h"

/* Value of a derived fact as a canonical text in the chart's arena; NULL when it is not known or
 * the name is none of them. */
const char *derived_value(const struct chart *c, const char *name);
/* The same in words for a reason: "onset: 20 h ago". NULL as above. */
const char *derived_words(const struct chart *c, const char *name);

#endif
