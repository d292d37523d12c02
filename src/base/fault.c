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
    size_t used = n < 0 ? 0 : (size_t)n;
    if (used + 2 < sizeof f->text) {
        memcpy(f->text + used, ": ", 2);
        size_t room = sizeof f->text - used - 2, length = strnlen(inner, room - 1);
        memcpy(f->text + used + 2, inner, length);
        f->text[used + 2 + length] = '\0';
    }
    mend_end(f->text);
    return false;
}
