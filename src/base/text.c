#include "base/text.h"
#include "base/locked.h"
#include "base/utf8.h"
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char empty[1] = ""; /* never written to: cap is 0 while s points here */

void text_init(struct text *t, size_t max)
{
    *t = (struct text){.s = empty, .max = max};
}

static void give_back(struct text *t)
{
    if (t->cap > 0 && t->locked)
        locked_free(t->s);
    else if (t->cap > 0)
        free(t->s);
}

void text_free(struct text *t)
{
    bool locked = t->locked;
    give_back(t);
    text_init(t, t->max);
    t->locked = locked;
}

void text_clear(struct text *t)
{
    t->len = 0;
    t->cut = false;
    if (t->cap > 0 && t->locked)
        locked_wipe(t->s, t->cap);
    else if (t->cap > 0)
        t->s[0] = '\0';
}

/* The bytes in a larger room; NULL when there is no memory for it. */
static char *moved(struct text *t, size_t cap)
{
    if (!t->locked)
        return realloc(t->cap > 0 ? t->s : NULL, cap);
    char *s = locked_new(cap, NULL);
    if (s != NULL) {
        memcpy(s, t->s, t->len);
        give_back(t);
    }
    return s;
}

/* Room for n more bytes and the NUL; false when there is no memory for it. */
static bool make_room(struct text *t, size_t n)
{
    size_t need = t->len + n + 1;
    if (need <= t->cap)
        return true;
    size_t cap = t->cap < 64 ? 64 : t->cap;
    while (cap < need)
        cap *= 2;
    char *s = moved(t, cap);
    if (s == NULL)
        return false;
    t->s = s;
    t->cap = cap;
    return true;
}

/* The longest part of the first n bytes that ends at a character. */
static size_t whole_characters(const char *s, size_t n)
{
    size_t back = n;
    while (back > 0 && n - back < 4 && ((unsigned char)s[back] & 0xC0) == 0x80)
        back--;
    return back;
}

void text_addn(struct text *t, const char *s, size_t n)
{
    if (t->cut || n == 0)
        return;
    if (n > t->max - t->len) {
        n = whole_characters(s, t->max - t->len);
        t->cut = true;
    }
    if (!make_room(t, n)) {
        t->cut = true;
        return;
    }
    memcpy(t->s + t->len, s, n);
    t->len += n;
    t->s[t->len] = '\0';
}

void text_add(struct text *t, const char *s)
{
    text_addn(t, s, strlen(s));
}

void text_addc(struct text *t, char c)
{
    if (t->cut || t->len >= t->max || t->len + 1 >= t->cap) {
        text_addn(t, &c, 1);
        return;
    }
    t->s[t->len++] = c;
    t->s[t->len] = '\0';
}

void text_vaddf(struct text *t, const char *format, va_list args)
{
    char small[256];
    va_list again;
    va_copy(again, args);
    int n = vsnprintf(small, sizeof small, format, args);
    if (n >= 0 && (size_t)n < sizeof small) {
        text_addn(t, small, (size_t)n);
    } else if (n > 0) {
        char *large = malloc((size_t)n + 1);
        if (large == NULL) {
            t->cut = true;
        } else {
            (void)vsnprintf(large, (size_t)n + 1, format, again);
            text_addn(t, large, (size_t)n);
            free(large);
        }
    }
    va_end(again);
}

void text_addf(struct text *t, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    text_vaddf(t, format, args);
    va_end(args);
}

void text_pad(struct text *t, size_t columns)
{
    const char *newline = memrchr(t->s, '\n', t->len);
    const char *line = newline == NULL ? t->s : newline + 1;
    for (size_t w = (size_t)utf8_width(line); w < columns; w++)
        text_addc(t, ' ');
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool text_same(const char *a, const char *b)
{
    while (*a != '\0' && lower(*a) == lower(*b))
        a++, b++;
    return *a == '\0' && *b == '\0';
}

bool text_starts(const char *s, const char *prefix)
{
    return strncmp(s, prefix, strlen(prefix)) == 0;
}

enum { NAME_MOST = 64 }; /* code points compared; longer names are told apart by these */

static size_t code_points(const char *s, uint32_t out[NAME_MOST])
{
    size_t n = strlen(s), at = 0, count = 0;
    while (at < n && count < NAME_MOST) {
        int used = utf8_decode(s + at, n - at, &out[count]);
        if (used <= 0) {
            out[count] = 0xFFFD;
            used = 1;
        }
        at += (size_t)used;
        count++;
    }
    return count;
}

static int least(int a, int b)
{
    return a < b ? a : b;
}

int text_distance(const char *a, const char *b, int limit)
{
    uint32_t x[NAME_MOST], y[NAME_MOST];
    size_t n = code_points(a, x), m = code_points(b, y);
    size_t apart = n > m ? n - m : m - n;
    if (apart > (size_t)limit)
        return limit + 1;
    int rows[3][NAME_MOST + 1] = {{0}};
    int *before = rows[0], *above = rows[1], *row = rows[2];
    for (size_t j = 0; j <= m; j++)
        above[j] = (int)j;
    for (size_t i = 1; i <= n; i++) {
        int best = row[0] = (int)i;
        for (size_t j = 1; j <= m; j++) {
            int cost = x[i - 1] != y[j - 1];
            row[j] = least(least(above[j] + 1, row[j - 1] + 1), above[j - 1] + cost);
            if (i > 1 && j > 1 && x[i - 1] == y[j - 2] && x[i - 2] == y[j - 1])
                row[j] = least(row[j], before[j - 2] + 1);
            best = least(best, row[j]);
        }
        if (best > limit)
            return limit + 1;
        int *spare = before;
        before = above;
        above = row;
        row = spare;
    }
    return least(above[m], limit + 1);
}

enum { SOUNDEX = 4 }; /* the first letter and three digits */

/* Letters of one digit sound alike; vowels part two of them, h and w do not. */
static void soundex(const char *name, char out[SOUNDEX])
{
    static const char digits[] = "01230120022455012623010202"; /* of a to z */
    size_t n = 0;
    char last = '0';
    memset(out, '0', SOUNDEX);
    for (; *name != '\0' && n < SOUNDEX; name++) {
        if (*name < 'a' || *name > 'z')
            continue;
        char digit = digits[*name - 'a'];
        if (n == 0)
            out[n++] = *name;
        else if (digit != '0' && digit != last)
            out[n++] = digit;
        if (digit != '0' || strchr("hw", *name) == NULL)
            last = digit;
    }
}

bool text_sounds_same(const char *a, const char *b)
{
    char x[SOUNDEX], y[SOUNDEX];
    soundex(a, x);
    soundex(b, y);
    return memcmp(x, y, SOUNDEX) == 0;
}

const char *text_nearest(const char *word, const char *const *names, size_t n)
{
    uint32_t points[NAME_MOST];
    int length = (int)code_points(word, points);
    int best = least(2, length < 6 ? length > 1 : length / 3) + 1;
    const char *nearest = NULL;
    for (size_t i = 0; i < n; i++) {
        int d = text_distance(word, names[i], best - 1);
        if (d < best) {
            best = d;
            nearest = names[i];
        }
    }
    return nearest;
}
