/* 128-bit identifiers as 36 characters (RFC 4122 version 4, random, but for ident_of). */
#ifndef AMBLE_BASE_IDENT_H
#define AMBLE_BASE_IDENT_H

#include <stdbool.h>

enum { IDENT_ROOM = 37 };
void ident_new(char out[IDENT_ROOM]);
/* The same identifier for the same text, on every machine (version 8 over BLAKE2b). */
void ident_of(const char *text, char out[IDENT_ROOM]);
bool ident_valid(const char *s);

#endif
