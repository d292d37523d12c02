/* UTF-8 as people see it: characters are clusters, widths are terminal columns. */
#ifndef AMBLE_BASE_UTF8_H
#define AMBLE_BASE_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct text;

/* Decode one code point at s (at most n bytes). Returns its length in bytes, 0 at the end of
 * text, and -1 when the bytes are not well-formed UTF-8 (overlong, surrogate, > U+10FFFF, cut). */
int utf8_decode(const char *s, size_t n, uint32_t *cp);
int utf8_encode(uint32_t cp, char out[4]); /* bytes written, 0 for what is no code point */
/* True when all n bytes are well-formed; else *bad (may be NULL) is the offset of the first bad
 * one. */
bool utf8_valid(const char *s, size_t n, size_t *bad);

/* Byte offset of the next / previous cluster boundary (a base character with all that combines
 * with it: zero-width characters, and what a ZWJ joins). At the ends: n and 0. */
size_t utf8_next(const char *s, size_t n, size_t at);
size_t utf8_prev(const char *s, size_t n, size_t at);

/* How many of the first n bytes are printable ASCII that takes one column each and that nothing
 * beyond joins. */
size_t utf8_simple(const char *s, size_t n);

int utf8_cp_width(uint32_t cp); /* terminal columns: 0, 1 or 2; control characters 0 */
int utf8_width(const char *s);  /* columns of a whole text */
int utf8_width_n(const char *s, size_t n);
size_t utf8_fit(const char *s,
                int columns); /* bytes of the longest whole-cluster prefix that fits */

/* A code point that steers a terminal, a printer or the order of letters, and is no letter itself:
 * C0 (newlines only unless `lines`), DEL, C1, bidirectional controls, line and paragraph
 * separators, the byte order mark. */
bool utf8_acts(uint32_t cp, bool lines);
/* Append s so that nothing in it can act on a terminal or a printer: C0, DEL, C1 controls and
 * bidirectional controls are shown as <U+XXXX>, bad bytes as <XX>. Newlines too, unless `lines`. */
void utf8_show(struct text *out, const char *s, bool lines);
/* True when utf8_show would change nothing. */
bool utf8_plain(const char *s, bool lines);

/* Lower case, accents stripped, punctuation to blanks, blanks folded: for finding and comparing
 * names. Latin, Greek and Cyrillic; other scripts pass unchanged. */
void utf8_fold(struct text *out, const char *s);

#endif
