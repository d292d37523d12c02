/* Writing JSON as a stream. Numbers may be given as the decimal text that was recorded, because in
 * an exchange record 5.50 and 5.5 are different statements. Nesting is checked. */
#ifndef AMBLE_BASE_JSON_H
#define AMBLE_BASE_JSON_H

#include <stdbool.h>
#include <stddef.h>

struct text;

enum { JSON_DEPTH = 32 };
struct json {
    struct text *out;
    int depth;
    int indent;              /* blanks a level, 0 for one line */
    char closer[JSON_DEPTH]; /* what ends each open level */
    bool any[JSON_DEPTH];    /* something was written in it */
    bool keyed;              /* a key was written and waits for its value */
    bool broken;             /* misuse was noticed: json_done says so */
};

void json_begin(struct json *j, struct text *out, int indent);
void json_open_object(struct json *j);
void json_open_array(struct json *j);
void json_end(struct json *j); /* closes the innermost */
void json_key(struct json *j, const char *key);
void json_put_string(struct json *j, const char *s); /* NULL writes null */
void json_put_number(struct json *j, double v);      /* shortest text that reads back the same;
                                                    not finite writes null */
void json_put_decimal(struct json *j,
                      const char *digits); /* verbatim; misuse if it is no JSON number */
void json_put_bool(struct json *j, bool v);
void json_put_null(struct json *j);
void json_member(struct json *j, const char *key, const char *s); /* key and string */
bool json_done(const struct json *j); /* everything closed, nothing misused */

#endif
