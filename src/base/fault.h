/* What went wrong, as a value with words for the person who can act on it.
 *
 * A function that can fail returns bool (true: it worked) and takes a
 * `struct fault *` as its last argument. `fail()` fills it in and returns
 * false, so that a failing path reads `return fail(f, FAULT_INPUT, "...")`.
 * Only command/ and the program's main decide to end the process.
 */
#ifndef AMBLE_BASE_FAULT_H
#define AMBLE_BASE_FAULT_H

#include <stdbool.h>
#include <stddef.h>

enum fault_kind {
    FAULT_NONE,
    FAULT_INPUT,   /* what was typed, piped or written in a file cannot be used */
    FAULT_MISSING, /* something asked for by name is not there */
    FAULT_BUSY,    /* another process holds it */
    FAULT_STORE,   /* the disk or the database refused: full, read-only, I/O error */
    FAULT_DAMAGE,  /* stored bytes are not what was stored */
    FAULT_REFUSED, /* it could be done and must not be */
    FAULT_LIMIT,   /* larger than this program agrees to handle */
    FAULT_SYSTEM,  /* the operating system said no */
};

struct fault {
    enum fault_kind kind;
    char text[512]; /* UTF-8, one line, no full stop; never empty when kind is set */
};

/* Fill `f` (may be NULL) and return false. Text longer than the room is cut at a character. */
bool fail(struct fault *f, enum fault_kind kind, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Put words before a fault's text: "cannot open the record: " + what was there. Returns false. */
bool fail_within(struct fault *f, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
