#include "base/fault.h"
#include "base/utf8.h"
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Drop a character that the end of the room cut in two. */
static void mend_end(char *s)
{
    size_t bad;
    if (!utf8_valid(s, strlen(s), &bad))
        s[bad] = '\0';
}

bool fail(struct fault *f, enum fault_kind kind, const char *format, ...)
{
    if (f == NULL)
        return false;
    va_list args;
    va_start(args, format);
    f->kind = kind;
    if (vsnprintf(f->text, sizeof f->text, format, args) < 0 || f->text[0] == '\0')
        (void)snprintf(f->text, sizeof f->text, "something failed without saying what");
    va_end(args);
    mend_end(f->text);
    return false;
}

bool fail_within(struct fault *f, const char *format, ...)
{
    if (f == NULL)
        return false;
    char inner[sizeof f->text];
    memcpy(inner, f->text, sizeof inner);
    va_list args;
    va_start(args, format);
    int n = vsnprintf(f->text, sizeof f->text, format, args);
    va_end(args);
    if (n >= 0 && (size_t)n + 3 < sizeof f->text)
        (void)snprintf(f->text + n, sizeof f->text - (size_t)n, ": %s", inner);
    mend_end(f->text);
    return false;
}
