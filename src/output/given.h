/* What was handed over stays in the record as it was: name, hash and text, as an entry. */
#ifndef AMBLE_OUTPUT_GIVEN_H
#define AMBLE_OUTPUT_GIVEN_H

#include "casebook/casebook.h"
#include "output/sheet.h"

/* Keep the sheet's text in the visit (item handout.given). The same text twice is one entry; after
 * the visit was signed it is an amendment. */
bool given_put(struct chart *c, const char *name, const struct sheet *sheet, struct fault *f);

struct given {
    const char *name, *hash; /* BLAKE2b-256 of the text, 64 hex digits */
    const char *text;
    bool whole; /* the hash fits the text */
};
/* False when nothing was handed over at this visit. */
bool given_look(const struct chart *c, struct given *out);

#endif
