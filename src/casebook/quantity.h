/* Numbers with units between what a person types and the canonical text that is kept.
 *
 * Canonical: "<number> <unit>", a bare "<number>" where there is no unit. The precision that was
 * typed is kept ("23.50 cm" is "235.0 mm"); a conversion that is not a power of ten gives the
 * shortest decimal with at most QUANTITY_DECIMALS places. A unit of NULL means a bare number.
 */
#ifndef AMBLE_CASEBOOK_QUANTITY_H
#define AMBLE_CASEBOOK_QUANTITY_H

#include "template/template.h"

enum { QUANTITY_DECIMALS = 4 };

/* Unit an item's answer is kept in (mm, kg, else its own), and shown in (the practice's). */
const struct unit *kept_unit(const struct item *item);
const struct unit *shown_unit(const struct template_set *set, const struct item *item);

/* Read what was typed, a missing unit meaning `shown`. *base is the value in the base unit. */
bool quantity_read(const char *typed, const struct unit *shown, const struct unit *kept,
                   struct arena *a, const char **canonical, double *base, struct fault *f);
/* Canonical text of a value in the base unit, shortest. */
const char *quantity_text(double base, const struct unit *kept, struct arena *a);
/* Number and unit for a person. `decimals` are places in `declared` (-1: as kept), carried over to
 * `shown` so that no more precision is shown than was asked for. */
const char *quantity_show(const char *canonical, const struct unit *kept, const struct unit *shown,
                          const struct unit *declared, int decimals, struct arena *a);
/* The same for editing: quantity_read of it gives `canonical` again. */
const char *quantity_edit(const char *canonical, const struct unit *kept, const struct unit *shown,
                          struct arena *a);
/* The number of a canonical text, digit for digit ("23.50": a JSON number, too), and its unit, NULL
 * for a bare number. False when the text is anything else. */
bool quantity_parts(const char *canonical, struct arena *a, const char **digits,
                    const struct unit **unit);
/* Places needed in `to` for a value that has `decimals` places in `from`. */
int decimals_in(const struct unit *to, const struct unit *from, int decimals);

#endif
