/* Between the files of the measurements. */
#ifndef AMBLE_CASEBOOK_MEASURING_INSIDE_H
#define AMBLE_CASEBOOK_MEASURING_INSIDE_H

#include "casebook/experience.h"
#include "casebook/measuring.h"

/* The readings a record has of row->measure, and what is used of them. */
void measuring_row(struct arena *a, const struct record *visit, struct measure_row *row);
/* Last time, and what change since then is real. */
void measuring_before(const struct chart *c, const struct experience *known, struct measuring *m);
/* Every relation both sides of which are known, in the row of its first side. */
void measuring_relate(const struct chart *c, const struct experience *known, struct measuring *m);
/* The row most likely wrong. */
void measuring_suspect(const struct chart *c, struct measuring *m);
/* The band for this body type, else the one for any dog; NULL when there is neither. */
const struct band *nearest_band(const struct relation *r, const struct body_type *type);
const struct measure_row *measuring_find(const struct measuring *m, const struct measure *which);
/* The ratio a relation speaks of; `value` gives each measure, 0 when it is not known. 0 when a side
 * is missing. */
double relation_ratio(const struct relation *r,
                      double (*value)(const void *of, const struct measure *), const void *of);

#endif
