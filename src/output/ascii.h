/* Text for a printer that knows ASCII only. */
#ifndef AMBLE_OUTPUT_ASCII_H
#define AMBLE_OUTPUT_ASCII_H

#include <stddef.h>

struct text;

/* Append well-formed UTF-8 `s` as ASCII. Accents fall off their letters; a degree sign becomes
 * " deg" and micro "mc", because a unit that turns into a question mark, or into a "u" that is
 * read as another unit, is a clinical error. What has no plain spelling becomes '?'; the return
 * value counts those. */
size_t ascii_map(struct text *out, const char *s);

#endif
