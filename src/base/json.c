#include "base/json.h"
#include "base/text.h"
#include "base/utf8.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void json_begin(struct json *j, struct text *out, int indent)
{
    *j = (struct json){.out = out, .indent = indent};
}

static void new_line(struct json *j)
{
    if (j->indent <= 0)
        return;
    text_addc(j->out, '\n');
    for (int i = 0; i < j->depth * j->indent; i++)
        text_addc(j->out, ' ');
}

/* What stands before a value or a key: a comma, a line. */
static void separate(struct json *j)
{
    if (j->any[j->depth])
        text_addc(j->out, ',');
    if (j->depth > 0)
        new_line(j);
    j->any[j->depth] = true;
}

static void before_value(struct json *j)
{
    bool in_object = j->depth > 0 && j->closer[j->depth] == '}';
    if (in_object != j->keyed || (j->depth == 0 && j->any[0]))
        j->broken = true;
    if (!j->keyed)
        separate(j);
    j->keyed = false;
}

static void open_level(struct json *j, char opener, char closer)
{
    before_value(j);
    text_addc(j->out, opener);
    if (j->depth + 1 >= JSON_DEPTH) {
        j->broken = true;
        return;
    }
    j->depth++;
    j->closer[j->depth] = closer;
    j->any[j->depth] = false;
}

void json_open_object(struct json *j)
{
    open_level(j, '{', '}');
}

void json_open_array(struct json *j)
{
    open_level(j, '[', ']');
}

void json_end(struct json *j)
{
    if (j->depth == 0 || j->keyed) {
        j->broken = true;
        return;
    }
    bool any = j->any[j->depth];
    char closer = j->closer[j->depth];
    j->depth--;
    if (any)
        new_line(j);
    text_addc(j->out, closer);
}

static void quoted(struct json *j, const char *s)
{
    struct text *out = j->out;
    text_addc(out, '"');
    size_t n = strlen(s);
    for (size_t at = 0; at < n;) {
        uint32_t cp;
        int used = utf8_decode(s + at, n - at, &cp);
        if (used < 0) {
            text_add(out, "\\ufffd");
            used = 1;
        } else if (cp == '"' || cp == '\\') {
            text_addf(out, "\\%c", (char)cp);
        } else if (cp == '\n') {
            text_add(out, "\\n");
        } else if (utf8_acts(cp, false)) {
            text_addf(out, "\\u%04x", (unsigned)cp);
        } else {
            text_addn(out, s + at, (size_t)used);
        }
        at += (size_t)used;
    }
    text_addc(out, '"');
}

void json_key(struct json *j, const char *key)
{
    if (j->depth == 0 || j->closer[j->depth] != '}' || j->keyed)
        j->broken = true;
    separate(j);
    quoted(j, key);
    text_add(j->out, j->indent > 0 ? ": " : ":");
    j->keyed = true;
}

void json_put_string(struct json *j, const char *s)
{
    if (s == NULL) {
        json_put_null(j);
        return;
    }
    before_value(j);
    quoted(j, s);
}

void json_put_number(struct json *j, double v)
{
    if (!isfinite(v)) {
        json_put_null(j);
        return;
    }
    char buf[32];
    for (int digits = 6; digits <= 17; digits++) {
        (void)snprintf(buf, sizeof buf, "%.*g", digits, v);
        if (strtod(buf, NULL) == v)
            break;
    }
    before_value(j);
    text_add(j->out, buf);
}

/* The number grammar of RFC 8259 section 6. */
static bool is_number(const char *s)
{
    s += *s == '-';
    if (*s == '0')
        s++;
    else if (*s >= '1' && *s <= '9')
        s += strspn(s, "0123456789");
    else
        return false;
    if (*s == '.') {
        size_t n = strspn(s + 1, "0123456789");
        if (n == 0)
            return false;
        s += 1 + n;
    }
    if (*s == 'e' || *s == 'E') {
        s++;
        s += *s == '+' || *s == '-';
        size_t n = strspn(s, "0123456789");
        if (n == 0)
            return false;
        s += n;
    }
    return *s == '\0';
}

void json_put_decimal(struct json *j, const char *digits)
{
    if (!is_number(digits))
        j->broken = true;
    before_value(j);
    text_add(j->out, digits);
}

void json_put_bool(struct json *j, bool v)
{
    before_value(j);
    text_add(j->out, v ? "true" : "false");
}

void json_put_null(struct json *j)
{
    before_value(j);
    text_add(j->out, "null");
}

void json_member(struct json *j, const char *key, const char *s)
{
    json_key(j, key);
    json_put_string(j, s);
}

bool json_done(const struct json *j)
{
    return j->depth == 0 && !j->keyed && !j->broken && j->any[0] && !j->out->cut;
}
