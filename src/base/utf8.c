#include "base/utf8.h"
#include "base/text.h"
#include <string.h>

struct range {
    uint32_t first, last;
};
#include "base/fold_table.h"
#include "base/width_table.h"

int utf8_decode(const char *s, size_t n, uint32_t *cp)
{
    if (n == 0 || *s == '\0')
        return 0;
    const unsigned char *b = (const unsigned char *)s;
    if (b[0] < 0x80) {
        *cp = b[0];
        return 1;
    }
    int length = b[0] >= 0xF0 ? 4 : b[0] >= 0xE0 ? 3 : 2;
    static const uint32_t least[5] = {0, 0, 0x80, 0x800, 0x10000};
    if (b[0] < 0xC2 || b[0] > 0xF4 || (size_t)length > n)
        return -1;
    uint32_t c = b[0] & (0xFFu >> (length + 1));
    for (int i = 1; i < length; i++) {
        if ((b[i] & 0xC0) != 0x80)
            return -1;
        c = c << 6 | (b[i] & 0x3Fu);
    }
    if (c < least[length] || c > 0x10FFFF || (c >= 0xD800 && c <= 0xDFFF))
        return -1;
    *cp = c;
    return length;
}

int utf8_encode(uint32_t cp, char out[4])
{
    if (cp < 0x80) {
        out[0] = (char)cp;
        return 1;
    }
    if (cp > 0x10FFFF || (cp >= 0xD800 && cp <= 0xDFFF))
        return 0;
    int length = cp < 0x800 ? 2 : cp < 0x10000 ? 3 : 4;
    for (int i = length - 1; i > 0; i--) {
        out[i] = (char)(0x80 | (cp & 0x3F));
        cp >>= 6;
    }
    out[0] = (char)((0xF00u >> length & 0xFFu) | cp);
    return length;
}

bool utf8_valid(const char *s, size_t n, size_t *bad)
{
    for (size_t at = 0; at < n;) {
        uint32_t cp;
        int used = s[at] == '\0' ? 1 : utf8_decode(s + at, n - at, &cp);
        if (used < 0) {
            if (bad != NULL)
                *bad = at;
            return false;
        }
        at += (size_t)used;
    }
    return true;
}

static bool in_table(const struct range *table, size_t count, uint32_t cp)
{
    size_t low = 0, high = count;
    while (low < high) {
        size_t mid = (low + high) / 2;
        if (cp > table[mid].last)
            low = mid + 1;
        else
            high = mid;
    }
    return low < count && cp >= table[low].first;
}

int utf8_cp_width(uint32_t cp)
{
    if (cp < 0x20 || (cp >= 0x7F && cp < 0xA0))
        return 0;
    if (cp < 0x300)
        return 1;
    if (in_table(zero_width, sizeof zero_width / sizeof *zero_width, cp))
        return 0;
    return in_table(wide, sizeof wide / sizeof *wide, cp) ? 2 : 1;
}

/* One code point for stepping through text of unknown quality: a bad byte counts as one. */
static size_t step(const char *s, size_t n, uint32_t *cp)
{
    int used = utf8_decode(s, n, cp);
    if (used > 0)
        return (size_t)used;
    *cp = used < 0 ? 0xFFFD : 0;
    return n > 0 ? 1 : 0;
}

enum { ZWJ = 0x200D };

/* Most text is ASCII, and a screen is measured letter by letter at every key: what stands alone and
 * takes one column is told without decoding, eight letters at once where there are as many. */
size_t utf8_simple(const char *s, size_t n)
{
    const uint64_t ones = UINT64_MAX / 0xFF;
    size_t at = 0;
    for (uint64_t w; n - at >= sizeof w; at += sizeof w) {
        memcpy(&w, s + at, sizeof w);
        if (((w - ones * ' ') | (w + ones) | w) & ones * 0x80)
            break; /* one of them is below ' ', DEL, or beyond ASCII */
    }
    while (at < n && s[at] >= ' ' && s[at] < 0x7F)
        at++;
    bool joined = at > 0 && at < n && (unsigned char)s[at] >= 0x80; /* a mark on the last one? */
    return joined ? at - 1 : at;
}

size_t utf8_next(const char *s, size_t n, size_t at)
{
    uint32_t cp;
    if (at >= n)
        return n;
    if (s[at] >= ' ' && s[at] < 0x7F && (at + 1 >= n || (unsigned char)s[at + 1] < 0x80))
        return at + 1;
    at += step(s + at, n - at, &cp);
    bool joined = cp == ZWJ;
    while (at < n) {
        size_t used = step(s + at, n - at, &cp);
        bool combines = cp >= 0x300 && utf8_cp_width(cp) == 0;
        if (!combines && !joined)
            break;
        joined = cp == ZWJ;
        at += used;
    }
    return at;
}

size_t utf8_prev(const char *s, size_t n, size_t at)
{
    size_t before = 0;
    for (size_t i = 0; i < at && i < n;) {
        before = i;
        i = utf8_next(s, n, i);
    }
    return before;
}

/* Columns of one cluster: its widest character, so that a joined pair counts once. */
static int cluster_width(const char *s, size_t n)
{
    int width = 0;
    for (size_t at = 0; at < n;) {
        uint32_t cp;
        at += step(s + at, n - at, &cp);
        int w = utf8_cp_width(cp);
        width = w > width ? w : width;
    }
    return width;
}

int utf8_width_n(const char *s, size_t n)
{
    int width = 0;
    for (size_t at = 0; at < n;) {
        size_t letters = utf8_simple(s + at, n - at);
        at += letters;
        size_t next = utf8_next(s, n, at);
        width += (int)letters + cluster_width(s + at, next - at);
        at = next;
    }
    return width;
}

int utf8_width(const char *s)
{
    return utf8_width_n(s, strlen(s));
}

size_t utf8_fit(const char *s, int columns)
{
    size_t n = strlen(s), at = 0;
    int width = 0;
    while (at < n) {
        size_t letters = utf8_simple(s + at, n - at);
        size_t room = columns > width ? (size_t)(columns - width) : 0;
        if (letters > room)
            return at + room;
        at += letters;
        size_t next = utf8_next(s, n, at);
        width += (int)letters + cluster_width(s + at, next - at);
        if (width > columns)
            break;
        at = next;
    }
    return at;
}

bool utf8_acts(uint32_t cp, bool lines)
{
    if (cp == '\n')
        return !lines;
    return cp < 0x20 || (cp >= 0x7F && cp < 0xA0) || (cp >= 0x202A && cp <= 0x202E) ||
           (cp >= 0x2066 && cp <= 0x2069) || cp == 0x200E || cp == 0x200F || cp == 0x061C ||
           cp == 0x2028 || cp == 0x2029 || cp == 0xFEFF;
}

void utf8_show(struct text *out, const char *s, bool lines)
{
    size_t n = strlen(s);
    for (size_t at = 0; at < n;) {
        uint32_t cp;
        int used = utf8_decode(s + at, n - at, &cp);
        if (used < 0) {
            text_addf(out, "<%02X>", (unsigned char)s[at]);
            used = 1;
        } else if (utf8_acts(cp, lines)) {
            text_addf(out, "<U+%04X>", (unsigned)cp);
        } else {
            text_addn(out, s + at, (size_t)used);
        }
        at += (size_t)used;
    }
}

bool utf8_plain(const char *s, bool lines)
{
    size_t n = strlen(s);
    for (size_t at = 0; at < n;) {
        uint32_t cp;
        at += utf8_simple(s + at, n - at);
        int used = utf8_decode(s + at, n - at, &cp);
        if (used < 0 || (used > 0 && utf8_acts(cp, lines)))
            return false;
        at += (size_t)used;
    }
    return true;
}

/* Alphabets whose capitals stand at a fixed distance; the rest is in the table. */
static uint32_t lower(uint32_t cp)
{
    if ((cp >= 0x391 && cp <= 0x3A9 && cp != 0x3A2) || (cp >= 0x410 && cp <= 0x42F))
        return cp + 0x20;
    if (cp >= 0x400 && cp <= 0x40F)
        return cp + 0x50;
    if ((cp >= 0x460 && cp <= 0x481) || (cp >= 0x48A && cp <= 0x4BF) ||
        (cp >= 0x4D0 && cp <= 0x52F))
        return cp | 1;
    return cp;
}

static void add_plain(struct text *out, uint32_t cp)
{
    const size_t count = sizeof plain_letters / sizeof *plain_letters;
    size_t low = 0, high = count;
    while (low < high) {
        size_t mid = (low + high) / 2;
        if (cp > plain_letters[mid].last)
            low = mid + 1;
        else
            high = mid;
    }
    if (low < count && cp >= plain_letters[low].first) {
        text_add(out, plain_letters[low].plain);
        return;
    }
    char bytes[4];
    int used = utf8_encode(lower(cp), bytes);
    text_addn(out, bytes, (size_t)used);
}

/* A character that is part of a word: not punctuation, not a sign, not one of many blanks. */
static bool in_word(uint32_t cp)
{
    if (cp < 0x80)
        return (cp >= '0' && cp <= '9') || (cp >= 'a' && cp <= 'z') || (cp >= 'A' && cp <= 'Z');
    return cp >= 0xC0 && cp != 0xD7 && cp != 0xF7 && !(cp >= 0x2000 && cp <= 0x206F);
}

static void fold_one(struct text *out, uint32_t cp, bool *blank)
{
    if (cp == '\'' || cp == 0x2019) /* O'Hara is one word */
        return;
    if (cp >= 0x300 && utf8_cp_width(cp) == 0) /* a mark on the letter before */
        return;
    if (!in_word(cp)) {
        *blank = true;
        return;
    }
    if (*blank && out->len > 0)
        text_addc(out, ' ');
    *blank = false;
    if (cp < 0x80)
        text_addc(out, (char)(cp >= 'A' && cp <= 'Z' ? cp + 32 : cp));
    else
        add_plain(out, cp);
}

void utf8_fold(struct text *out, const char *s)
{
    size_t n = strlen(s);
    bool blank = false;
    for (size_t at = 0; at < n;) {
        uint32_t cp;
        at += step(s + at, n - at, &cp);
        fold_one(out, cp, &blank);
    }
}
