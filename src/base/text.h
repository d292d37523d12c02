/* A growing text with a ceiling.
 *
 * Invariants: `s` is never NULL after text_init, always NUL-terminated, `len`
 * does not count the NUL, and len never passes `max`. What does not fit is cut
 * at a character and `cut` is set; nobody is surprised by a huge allocation.
 */
#ifndef AMBLE_BASE_TEXT_H
#define AMBLE_BASE_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

struct text {
    char *s;
    size_t len, cap, max;
    bool cut;
    bool locked; /* a passphrase: set after text_init, and its bytes live in locked memory */
};

void text_init(struct text *t, size_t max);
void text_free(struct text *t);
void text_clear(struct text *t); /* empty, keeps the room */
void text_add(struct text *t, const char *s);
void text_addn(struct text *t, const char *s, size_t n);
void text_addc(struct text *t, char c);
void text_addf(struct text *t, const char *format, ...) __attribute__((format(printf, 2, 3)));
void text_vaddf(struct text *t, const char *format, va_list args)
    __attribute__((format(printf, 2, 0)));
void text_pad(struct text *t, size_t columns); /* blanks until the last line is `columns` wide */

/* "biscuit" is "Biscuit" for a person: equal without regard to ASCII case. */
bool text_same(const char *a, const char *b);
bool text_starts(const char *s, const char *prefix);

/* Damerau-Levenshtein distance (optimal string alignment) in code points, at most `limit` + 1;
 * Source: Damerau 1964, CACM 7:171 (from memory). */
int text_distance(const char *a, const char *b, int limit);
/* Whether two folded names begin alike to the ear: the same SOUNDEX code, of the letters a to z
 * alone. Source: Russell 1918, US patent 1,261,167, as used for the US census (from memory). */
bool text_sounds_same(const char *a, const char *b);
/* The nearest of `n` names to `word`, the first of several, or NULL: within distance 2 and a third
 * of its length; 1 is allowed from two letters on. */
const char *text_nearest(const char *word, const char *const *names, size_t n);

#endif
