#include "output/content_line.h"
#include "base/arena.h"
#include "base/text.h"
#include "base/utf8.h"
#include <string.h>

enum { VALUE_MAX = 1 << 20 };

void content_line(struct text *out, const char *name, const char *value)
{
    struct text line;
    text_init(&line, VALUE_MAX);
    text_addf(&line, "%s:%s", name, value);
    size_t begun = 0, at = 0;
    while (at < line.len) {
        uint32_t cp;
        int n = utf8_decode(line.s + at, line.len - at, &cp);
        size_t step = n > 0 ? (size_t)n : 1;
        /* The blank that opens a further line counts. */
        if (at + step - begun + (begun > 0) > CONTENT_LINE_BYTES) {
            text_addn(out, line.s + begun, at - begun);
            text_add(out, "\r\n ");
            begun = at;
        }
        at += step;
    }
    text_addn(out, line.s + begun, at - begun);
    text_add(out, "\r\n");
    text_free(&line);
}

const char *content_escaped(struct arena *a, const char *text)
{
    struct text safe, value;
    text_init(&safe, VALUE_MAX);
    text_init(&value, VALUE_MAX);
    utf8_show(&safe, text, true);
    for (const char *p = safe.s; *p != '\0'; p++) {
        if (strchr("\\,;", *p) != NULL)
            text_addc(&value, '\\');
        if (*p == '\n')
            text_add(&value, "\\n");
        else
            text_addc(&value, *p);
    }
    const char *escaped = arena_str(a, value.s);
    text_free(&safe);
    text_free(&value);
    return escaped;
}

void content_text(struct text *out, struct arena *a, const char *name, const char *text)
{
    if (*text != '\0')
        content_line(out, name, content_escaped(a, text));
}
