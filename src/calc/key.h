/* The numbers a calculation takes and gives, declared once.
 *
 * A row of the table is the name on the shell, the unit, the value taken when none is given, the
 * range outside of which the number is refused, and the words for the help and the manual page.
 * The parser, the range check, the defaults, --help and amble-calc(1) all read the same row.
 */
#ifndef AMBLE_CALC_KEY_H
#define AMBLE_CALC_KEY_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

enum key_need {
    KEY_REQUIRED,
    KEY_DEFAULT,  /* `fallback` when not given */
    KEY_OPTIONAL, /* stays NaN when not given; of results: there only when not NaN */
};

struct calc_key {
    const char *name; /* "dog_mass_kg": the field of the structure, too */
    const char *unit; /* "kg"; "-" for a bare number */
    const char *help; /* a few words, no full stop */
    size_t at;        /* offsetof the double in the structure */
    enum key_need need;
    double fallback;
    double low, high; /* both allowed; ignored for results */
};

/* A row: KEY(balance_in, rest_mm, .unit = "mm", .low = 1, .high = 5000, .help = "..."). */
#define KEY(type, field, ...)                                                                      \
    {                                                                                              \
        .name = #field, .at = offsetof(struct type, field), __VA_ARGS__                            \
    }
#define KEY_COUNT(table) (sizeof(table) / sizeof((table)[0]))

/* Set every field of `in` that the table names to its default (NaN where it has none). */
void calc_defaults(const struct calc_key *keys, size_t count, void *in);

/* Every required number given, every given one finite and in its range. The fault names the key. */
bool calc_check(const struct calc_key *keys, size_t count, const void *in, struct fault *f);

const struct calc_key *calc_key_find(const struct calc_key *keys, size_t count, const char *name);
/* Refuse with "NAME must be from LOW to HIGH UNIT, not VALUE"; for checks outside the table. */
bool calc_refuse_range(const struct calc_key *key, double value, struct fault *f);
double calc_get(const struct calc_key *key, const void *of);
void calc_put(const struct calc_key *key, void *of, double value);

#endif
