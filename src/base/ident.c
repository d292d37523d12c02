#include "base/ident.h"
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

static void write_out(unsigned char b[16], unsigned char version, char *out)
{
    b[6] = (unsigned char)((b[6] & 0x0F) | version);
    b[8] = (unsigned char)((b[8] & 0x3F) | 0x80);
    static const char hex[] = "0123456789abcdef";
    char *p = out;
    for (int i = 0; i < 16; i++) {
        if (i == 4 || i == 6 || i == 8 || i == 10)
            *p++ = '-';
        *p++ = hex[b[i] >> 4];
        *p++ = hex[b[i] & 15];
    }
    *p = '\0';
}

void ident_new(char out[IDENT_ROOM])
{
    unsigned char b[16];
    if (getrandom(b, sizeof b, 0) != (ssize_t)sizeof b) {
        (void)fputs("amble: the system gives no random numbers\n", stderr);
        abort(); /* 16 bytes are never cut short by Linux once it has started */
    }
    write_out(b, 0x40, out);
}

void ident_of(const char *text, char out[IDENT_ROOM])
{
    unsigned char b[16];
    crypto_generichash(b, sizeof b, (const unsigned char *)text, strlen(text), NULL, 0);
    write_out(b, 0x80, out);
}

bool ident_valid(const char *s)
{
    for (int i = 0; i < IDENT_ROOM - 1; i++) {
        bool dash = i == 8 || i == 13 || i == 18 || i == 23;
        if (dash ? s[i] != '-' : (s[i] == '\0' || strchr("0123456789abcdef", s[i]) == NULL))
            return false;
    }
    return s[IDENT_ROOM - 1] == '\0';
}
