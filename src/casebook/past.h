/* The dog's visits up to this one, read whole: what was found then still speaks. */
#ifndef AMBLE_CASEBOOK_PAST_H
#define AMBLE_CASEBOOK_PAST_H

#include "base/clock.h"
#include "casebook/casebook.h"

struct past {
    const struct chart *chart;
    struct chart *visits; /* oldest first, each with nothing but its visit; this one is the last */
    day_number *days;
    size_t count;
};
/* The visits of the chart's dog up to chart->visit, or all of them when it has none. What has not
 * arrived here, or has no day, is left out. */
bool past_load(const struct chart *c, struct past *out, struct fault *f);
/* The last value of an item, measure or derived fact: of this visit, else of the latest before it
 * that has one, else of dog, caregiver or call. NULL when nobody recorded one. */
const char *past_value(const struct past *p, const char *item);
/* The visit past_value takes it from; NULL: none of them. */
const struct chart *past_visit(const struct past *p, const char *item);
/* finding_mark of what it takes, or measure_mark; "" when there is nothing to say. */
const char *past_mark(const struct past *p, const char *item);
struct facts past_facts(const struct past *p); /* conditions over all of it */

#endif
