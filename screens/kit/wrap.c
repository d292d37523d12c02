/* Where a line of text is broken; apart from the rest of drawing, because it needs no terminal. */
#include "base/utf8.h"
#include "screens/kit/draw.h"
#include <string.h>

size_t draw_break(const char *s, size_t from, int width, size_t *next)
{
    size_t len = strlen(s), end = from, word = from;
    int used = 0;
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
