#include "base/fault.h"
#include "base/utf8.h"
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Keep the promise of one line of UTF-8 whatever was quoted: a character that the end of the room
 * cut in two goes, bad bytes and characters that act on a terminal become question marks. */
static void mend(char *s, size_t room)
{
    size_t n = strlen(s);
    for (size_t at = 0; at < n;) {
        uint32_t cp;
        char one[5] = "";
        int used = utf8_decode(s + at, n - at, &cp);
        if (used < 0 && n + 1 == room && n - at < 4) {
            s[at] = '\0';
            return;
        }
        if (used > 0)
            memcpy(one, s + at, (size_t)used);
        if (used < 0 || !utf8_plain(one, false))
            memset(s + at, '?', used < 0 ? 1 : (size_t)used);
        at += used < 0 ? 1 : (size_t)used;
    }
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
    mend(f->text, sizeof f->text);
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
    if (inner[0] != '\0' && used + 2 < sizeof f->text) {
        memcpy(f->text + used, ": ", 2);
        size_t room = sizeof f->text - used - 2, length = strnlen(inner, room - 1);
        memcpy(f->text + used + 2, inner, length);
        f->text[used + 2 + length] = '\0';
    }
    mend(f->text, sizeof f->text);
    return false;
}
