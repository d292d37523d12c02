/* Random 128-bit identifiers (RFC 4122 version 4) as 36 characters. */
#ifndef AMBLE_BASE_IDENT_H
#define AMBLE_BASE_IDENT_H

#include <stdbool.h>

enum { IDENT_ROOM = 37 };
void ident_new(char out[IDENT_ROOM]);
bool ident_valid(const char *s);

#endif
