/* The lines that iCalendar and vCard are made of (RFC 5545 3.1, RFC 6350 3.2). */
#ifndef AMBLE_OUTPUT_CONTENT_LINE_H
#define AMBLE_OUTPUT_CONTENT_LINE_H

struct arena;
struct text;

enum { CONTENT_LINE_BYTES = 75 }; /* the longest line; a longer one is folded */

/* "NAME:value" as it is, folded between characters, ended by CRLF. */
void content_line(struct text *out, const char *name, const char *value);
/* A text as part of a value, in `a`: backslash, comma, semicolon and newline escaped, control
 * characters made visible. */
const char *content_escaped(struct arena *a, const char *text);
/* A line whose value is a text; nothing when the text is "". */
void content_text(struct text *out, struct arena *a, const char *name, const char *text);

#endif
