#include "template/complain.h"
#include "base/arena.h"
#include "base/text.h"
#include "base/utf8.h"
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

bool complaints_full(const struct complaints *c)
{
    return c->kept == COMPLAINTS_KEPT;
}

void complain(struct complaints *c, struct mark at, const char *format, ...)
{
    c->count++;
    if (complaints_full(c))
        return;
    c->list = arena_grow(c->arena, c->list, c->kept, &c->cap, sizeof *c->list);
    va_list args;
    va_start(args, format);
    const char *text = arena_vprintf(c->arena, format, args);
    va_end(args);
    c->list[c->kept] = (struct complaint){.mark = at, .text = text, .order = c->kept};
    c->kept++;
}

static int by_place(const void *x, const void *y)
{
    const struct complaint *a = x, *b = y;
    int files = strcmp(a->mark.file, b->mark.file);
    if (files != 0)
        return files;
    if (a->mark.line != b->mark.line)
        return a->mark.line < b->mark.line ? -1 : 1;
    if (a->mark.column != b->mark.column)
        return a->mark.column < b->mark.column ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

void complaints_say(struct complaints *c, struct template_report *report)
{
    report->count = c->count;
    if (c->kept > 1)
        qsort(c->list, c->kept, sizeof *c->list, by_place);
    size_t said = c->kept < COMPLAINTS_SAID ? c->kept : COMPLAINTS_SAID;
    for (size_t i = 0; i < said; i++) {
        const struct complaint *one = &c->list[i];
        utf8_show(report->lines, one->mark.file, false);
        if (one->mark.line > 0)
            text_addf(report->lines, ":%d:%d", one->mark.line, one->mark.column);
        text_addf(report->lines, ": %s\n", one->text);
    }
    if (c->count > said)
        text_addf(report->lines, "and %zu more\n", c->count - said);
}

const char *quoted(struct arena *a, const char *s)
{
    struct text shown;
    text_init(&shown, 400);
    utf8_show(&shown, s, false);
    size_t n = utf8_fit(shown.s, 40);
    const char *out = arena_printf(a, "\"%.*s%s\"", (int)n, shown.s, n < shown.len ? "..." : "");
    text_free(&shown);
    return out;
}
