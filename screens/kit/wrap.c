/* Where a line of text is broken; apart from the rest of drawing, because it needs no terminal. */
#include "base/utf8.h"
#include "screens/kit/draw.h"
#include <stdint.h>
#include <string.h>

/* The same for a line of which no letter needs to be decoded; SIZE_MAX: there is one. */
static size_t break_simple(const char *s, size_t from, size_t len, size_t width, size_t *next)
{
    size_t left = len - from, most = left < width + 1 ? left : width + 1;
    size_t letters = utf8_simple(s + from, most), end = from + letters;
    if (letters > width) { /* back to the last blank; one long word is cut where the line ends */
        const char *blank = memrchr(s + from + 1, ' ', width);
        end = blank ? (size_t)(blank - s) : from + width;
        *next = blank ? end + 1 : end;
        return end;
    }
    if (end < len && s[end] != '\n')
        return SIZE_MAX;
    *next = end < len ? end + 1 : len;
    return end;
}

size_t draw_break(const char *s, size_t from, int width, size_t *next)
{
    size_t len = strlen(s), end = from, word = from;
    int used = 0;
    size_t simple = width > 0 ? break_simple(s, from, len, (size_t)width, next) : SIZE_MAX;
    if (simple != SIZE_MAX)
        return simple;
    while (end < len && s[end] != '\n') {
        size_t after = utf8_next(s, len, end);
        used += utf8_width_n(s + end, after - end);
        if (s[end] == ' ')
            word = end;
        if (used > width && end > from) {
            if (word == from) { /* one long word is cut where the line ends */
                *next = end;
                return end;
            }
            *next = word + 1;
            return word;
        }
        end = after;
    }
    *next = end < len ? end + 1 : len;
    return end;
}
