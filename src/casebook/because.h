/* Rules over a chart, and the words for what they rest on. */
#ifndef AMBLE_CASEBOOK_BECAUSE_H
#define AMBLE_CASEBOOK_BECAUSE_H

#include "casebook/casebook.h"

/* True when the condition holds. With `cautious`, also when it would hold under another of the
 * values that stand in conflict: a danger is not argued away by whoever wrote last. On true,
 * *because says in words what it rests on: "Can the dog walk ten steps: no; onset: 20 h ago". */
bool rule_holds(const struct chart *c, const struct condition *when, bool cautious,
                const char **because);

/* The same over what stands: an answer of this visit, else of the latest before it that has one. A
 * neck lesion found at the first visit is still there at the third, where nobody asked again. */
bool rule_stands(const struct chart *c, const struct condition *when, bool cautious,
                 const char **because);

/* An item, measure or derived fact with its value, in words; "" when nothing has that name. */
const char *fact_words(const struct chart *c, const char *item);
/* The finding chart_fact would speak of, in conflict or not; NULL when there is none. */
const struct finding *chart_finding(const struct chart *c, const char *item);

#endif
