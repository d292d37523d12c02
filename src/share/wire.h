/* Bytes as they travel: little-endian numbers, numbers of variable length, and a reader that never
 * passes the end. Writing appends to a struct text, which holds any bytes and knows its limit. */
#ifndef AMBLE_SHARE_WIRE_H
#define AMBLE_SHARE_WIRE_H

#include "base/text.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct arena;

void put_bytes(struct text *out, const void *bytes, size_t size);
void put_fixed(struct text *out, uint64_t n, size_t bytes);
void put_varint(struct text *out, uint64_t n); /* seven bits a byte, lowest first */
void put_signed(struct text *out, int64_t n);  /* small of either sign are short */
void put_string(struct text *out, const char *s);

/* Once something was wrong `bad` stays set and everything reads as zero: check once, at the end,
 * and before using a number as a size. */
struct reader {
    const uint8_t *at;
    size_t left;
    bool bad;
};
struct reader reader_of(const void *bytes, size_t size);
const uint8_t *take_bytes(struct reader *r, size_t size); /* NULL when bad */
void take_copy(struct reader *r, void *out, size_t size);
uint64_t take_fixed(struct reader *r, size_t bytes);
uint64_t take_varint(struct reader *r);
int64_t take_signed(struct reader *r);
/* A number of things of at least `each` bytes: bad when there cannot be so many or more than
 * `most`. Safe to allocate for. */
size_t take_count(struct reader *r, size_t each, size_t most);
/* Text up to its zero, in place; "" when bad. */
const char *take_text(struct reader *r);
/* Length and bytes, copied to `a`; bad when longer than `most` or when a zero is in it. */
const char *take_string(struct reader *r, struct arena *a, size_t most);
/* Length and bytes, as a reader of their own. */
struct reader take_part(struct reader *r);

#endif
