/* Numbers and lists of numbers as they stand on the command line. */
#include "base/arena.h"
#include "command/calc.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool calc_read_number(const char *key, const char *text, size_t n, double *value, struct fault *f)
{
    char copy[64], *end = copy;
    while (n > 0 && *text == ' ') {
        text++;
        n--;
    }
    while (n > 0 && text[n - 1] == ' ')
        n--;
    if (n < sizeof copy && strspn(text, "0123456789+-.eE") >= n && n > 0) {
        memcpy(copy, text, n);
        copy[n] = '\0';
        *value = strtod(copy, &end);
        if (end == copy + n && isfinite(*value))
            return true;
    }
    return fail(f, FAULT_INPUT, "%s must be a plain decimal number such as 12.5, not \"%.*s\"", key,
                (int)(n < 40 ? n : 40), text);
}

static size_t pieces(const char *text, size_t n, char mark)
{
    size_t count = 1;
    for (size_t i = 0; i < n; i++)
        count += text[i] == mark;
    return count;
}

static bool read_subject(struct arena *a, const char *key, const char *text, size_t n,
                         struct repeat_subject *s, struct fault *f)
{
    size_t count = pieces(text, n, ',');
    double *readings = arena_array(a, count, sizeof *readings);
    *s = (struct repeat_subject){readings, count};
    for (size_t i = 0; i < count; i++) {
        const char *mark = memchr(text, ',', n);
        size_t width = mark ? (size_t)(mark - text) : n;
        if (!calc_read_number(key, text, width, &readings[i], f))
            return false;
        text += width + (mark != NULL);
        n -= width + (mark != NULL);
    }
    return true;
}

bool calc_read_subjects(struct arena *a, const char *key, const char *text,
                        struct repeat_subject **subjects, size_t *count, struct fault *f)
{
    size_t n = strlen(text);
    while (n > 0 &&
           (text[n - 1] == ';' || text[n - 1] == ' ')) /* a mark at the end is no subject */
        n--;
    *count = pieces(text, n, ';');
    *subjects = arena_array(a, *count, sizeof **subjects);
    for (size_t i = 0; i < *count; i++) {
        const char *mark = memchr(text, ';', n);
        size_t width = mark ? (size_t)(mark - text) : n;
        if (!read_subject(a, key, text, width, &(*subjects)[i], f))
            return false;
        text += width + (mark != NULL);
        n -= width + (mark != NULL);
    }
    return true;
}

bool calc_read_choice(const char *key, const char *text, const char *const *words, size_t count,
                      size_t *chosen, struct fault *f)
{
    char list[128] = "";
    for (size_t i = 0, n = 0; i < count; i++) {
        if (strcmp(text, words[i]) == 0) {
            *chosen = i;
            return true;
        }
        int added = snprintf(list + n, sizeof list - n, "%s%s", i ? " or " : "", words[i]);
        n += added > 0 && (size_t)added < sizeof list - n ? (size_t)added : 0;
    }
    return fail(f, FAULT_INPUT, "%s must be %s, not \"%s\"", key, list, text);
}
