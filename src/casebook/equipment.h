/* The practice's own frames, for trial and loan: where each is, what is due, which fits a dog.
 *
 * Each is an entity of kind "equipment", its findings those of the form with place: equipment. */
#ifndef AMBLE_CASEBOOK_EQUIPMENT_H
#define AMBLE_CASEBOOK_EQUIPMENT_H

#include "casebook/casebook.h"

enum equipment_fits { FITS_NOT_ASKED, FITS_YES, FITS_PADDED, FITS_NO };

struct equipment {
    const char *entity, *name;
    const struct frame *frame;     /* NULL: no frame of the templates has this id */
    const char *state, *where;     /* "out", "out with a dog, Pepper" */
    const char *due;               /* day in words when it is out, or "" */
    bool late;                     /* due before today */
    const char *cleaned, *checked; /* days in words, or "" */
    const char *setting;           /* it left with, or "" */
    enum equipment_fits fits;      /* of the dog asked about */
    const char *why;               /* what is too narrow, too wide, not measured; "" */
    double axle_mm;                /* the position to set, when it fits; 0: none */
    size_t step, steps;            /* that position, from 1 */
};

/* All that are not gone, those that are late first, then by name. With a chart (may be NULL) also
 * which of them fit its dog; those that do come first. In `a`. */
bool equipment_look(struct casebook *cb, struct arena *a, const struct chart *dog,
                    const struct equipment **out, size_t *count, struct fault *f);
/* A new one by this name, here. */
bool equipment_new(struct casebook *cb, struct arena *a, const char *name, struct record *out,
                   struct fault *f);

#endif
