#include "share/wire.h"
#include "base/arena.h"
#include <string.h>

void put_bytes(struct text *out, const void *bytes, size_t size)
{
    text_addn(out, bytes, size);
}

void put_fixed(struct text *out, uint64_t n, size_t bytes)
{
    for (size_t i = 0; i < bytes; i++)
        text_addc(out, (char)(uint8_t)(n >> (8 * i)));
}

void put_varint(struct text *out, uint64_t n)
{
    char bytes[10];
    size_t used = 0;
    for (; n >= 0x80; n >>= 7)
        bytes[used++] = (char)(uint8_t)(n | 0x80);
    bytes[used++] = (char)(uint8_t)n;
    text_addn(out, bytes, used);
}

void put_signed(struct text *out, int64_t n)
{
    uint64_t doubled = (uint64_t)n << 1;
    put_varint(out, n < 0 ? ~doubled : doubled);
}

void put_string(struct text *out, const char *s)
{
    size_t n = strlen(s);
    put_varint(out, n);
    text_addn(out, s, n);
}

/* ---- reading --------------------------------------------------------------------------------- */

struct reader reader_of(const void *bytes, size_t size)
{
    return (struct reader){.at = bytes, .left = size};
}

const uint8_t *take_bytes(struct reader *r, size_t size)
{
    if (r->bad || size > r->left) {
        r->bad = true;
        return NULL;
    }
    const uint8_t *bytes = r->at;
    r->at += size;
    r->left -= size;
    return bytes;
}

void take_copy(struct reader *r, void *out, size_t size)
{
    const uint8_t *bytes = take_bytes(r, size);
    if (bytes != NULL)
        memcpy(out, bytes, size);
    else
        memset(out, 0, size);
}

uint64_t take_fixed(struct reader *r, size_t bytes)
{
    uint64_t n = 0;
    const uint8_t *from = take_bytes(r, bytes);
    for (size_t i = 0; from != NULL && i < bytes; i++)
        n |= (uint64_t)from[i] << (8 * i);
    return n;
}

uint64_t take_varint(struct reader *r)
{
    uint64_t n = 0;
    for (unsigned shift = 0; shift < 64; shift += 7) {
        if (r->bad || r->left == 0)
            break;
        uint8_t byte = *r->at;
        if (shift == 63 && byte > 1)
            break;
        r->at++;
        r->left--;
        n |= (uint64_t)(byte & 0x7F) << shift;
        if (byte < 0x80)
            return n;
    }
    r->bad = true;
    return 0;
}

int64_t take_signed(struct reader *r)
{
    uint64_t doubled = take_varint(r);
    uint64_t half = doubled >> 1;
    return (int64_t)(doubled & 1 ? ~half : half);
}

size_t take_count(struct reader *r, size_t each, size_t most)
{
    uint64_t n = take_varint(r);
    if (n > most || n > r->left / each)
        r->bad = true;
    return r->bad ? 0 : (size_t)n;
}

const char *take_text(struct reader *r)
{
    const uint8_t *end = r->bad || r->left == 0 ? NULL : memchr(r->at, '\0', r->left);
    if (end == NULL) {
        r->bad = true;
        return "";
    }
    return (const char *)take_bytes(r, (size_t)(end - r->at) + 1);
}

const char *take_string(struct reader *r, struct arena *a, size_t most)
{
    size_t n = take_count(r, 1, most);
    const uint8_t *bytes = take_bytes(r, n);
    if (bytes == NULL)
        return "";
    if (n > 0 && memchr(bytes, '\0', n) != NULL)
        r->bad = true;
    return arena_strn(a, (const char *)bytes, n);
}

struct reader take_part(struct reader *r)
{
    size_t n = take_count(r, 1, SIZE_MAX);
    const uint8_t *bytes = take_bytes(r, n);
    struct reader part = reader_of(bytes, n);
    part.bad = bytes == NULL;
    return part;
}
