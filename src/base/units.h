/* Quantities as people write them. Inside: mm, kg, deg, ml, minutes, N; one table knows the units.
 *
 * Exact by definition: in = 25.4 mm, lb = 0.45359237 kg, lbf = 4.4482216152605 N, kgf = 9.80665 N.
 */
#ifndef AMBLE_BASE_UNITS_H
#define AMBLE_BASE_UNITS_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

enum dimension {
    DIM_NONE, /* a bare number */
    DIM_LENGTH,
    DIM_MASS,
    DIM_ANGLE,
    DIM_FORCE,
    DIM_PRESSURE,
    DIM_VOLUME,
    DIM_AREA,
    DIM_TIME,
    DIM_TEMPERATURE,
    DIM_SHARE, /* % */
    DIM_ENERGY,
    DIM_COUNT
};

struct unit {
    const char *name;   /* "mm" */
    const char *others; /* other spellings, blank-separated: "millimetre millimeter" */
    const char *ucum;   /* code of the Unified Code for Units of Measure */
    enum dimension dimension;
    double factor; /* value in this unit * factor + offset = value in the base unit */
    double offset; /* degC and degF only; 0 otherwise */
};

const struct unit *unit_find(const char *name); /* NULL when unknown; names are case-sensitive
                                                   only where it matters */
const struct unit *unit_base(enum dimension d);
const struct unit *unit_all(size_t *count); /* the table, for help and suggestions */

/* Read a quantity: "9 1/4 in", "23,5 cm", "235mm", `4.75"`, `1' 3 1/2"`, "12 lb 4 oz", "-3".
 * Comma or point as the decimal mark, no thousands separators ("1,234.5" is refused).
 * A missing unit means `assumed`; *unit_out (may be NULL) is the unit that was written, or NULL.
 * The value comes back in the base unit of the dimension. Refuses trailing text, two unlike units,
 * a unit of another dimension than `assumed`'s, and anything not finite. */
bool quantity_parse(const char *s, const struct unit *assumed, double *value,
                    const struct unit **unit_out, struct fault *f);

double unit_from_base(const struct unit *u, double base);
double unit_to_base(const struct unit *u, double value);

/* Shortest decimal text with at most `decimals` places, no trailing zeros unless `fixed`;
 * "-0" is "0". Writes into buf, returns buf. */
char *number_format(double value, int decimals, bool fixed, char *buf, size_t room);
/* "9,4 kg" for "9.4 kg": each point between two digits becomes `mark`. For paper only. */
void number_mark(char *shown, char mark);
/* A number from the start of a canonical value such as "234.95 mm" or "3"; false when there is
 * none. */
bool number_lead(const char *canonical, double *value);

#endif
