/* Every exit of the shell by which a record's words leave, and that they leave as text. */
#ifndef AMBLE_TESTS_COMMAND_EXITS_H
#define AMBLE_TESTS_COMMAND_EXITS_H

#include "base/text.h"
#include "base/utf8.h"
#include "command_shell.h"

/* Nothing but text: line ends, form feeds between pages, and no character that steers a display. */
static inline bool steers(uint32_t cp)
{
    return (cp < 0x20 && cp != '\n' && cp != '\r' && cp != '\f' && cp != '\t') ||
           (cp >= 0x7F && cp < 0xA0) || (cp >= 0x202A && cp <= 0x202E) ||
           (cp >= 0x2066 && cp <= 0x2069) || cp == 0x200E || cp == 0x200F || cp == 0x061C;
}

static inline void only_text(const char *exit, const char *s)
{
    size_t n = strlen(s);
    for (size_t at = 0; at < n;) {
        uint32_t cp;
        int step = utf8_decode(s + at, n - at, &cp);
        if (step <= 0 || steers(cp))
            fail_msg("%s gives a byte %02x at %zu: %.60s", exit, (unsigned char)s[at], at,
                     s + (at > 20 ? at - 20 : 0));
        at += (size_t)step;
    }
}

/* A number of any size is JSON, too. */
static inline void is_json(const char *exit, const char *s)
{
    json_error_t e;
    json_t *root = json_loads(s, JSON_REJECT_DUPLICATES | JSON_DECODE_INT_AS_REAL, &e);
    if (root == NULL)
        fail_msg("%s: line %d: %s", exit, e.line, e.text);
    json_decref(root);
}

/* Tags open and close, and what a record says opens none. */
static inline void is_markup(const char *exit, const char *s)
{
    assert_null(strstr(s, "<script"));
    int depth = 0;
    for (const char *p = s; (p = strchr(p, '<')) != NULL; p++) {
        const char *end = strchr(p, '>');
        if (end == NULL)
            fail_msg("%s: a tag does not end: %.40s", exit, p);
        if (p[1] == '/')
            depth--;
        else if (p[1] != '?' && p[1] != '!' && end[-1] != '/')
            depth++;
    }
    assert_int_equal(depth, 0);
}

/* A cell that begins so is calculated. */
static inline void calculates_nothing(const char *exit, const char *s)
{
    bool quoted = false;
    for (const char *p = s; *p != '\0'; p++) {
        bool begins = !quoted && (p == s || p[-1] == ',' || p[-1] == '\n');
        if (*p == '"')
            quoted = !quoted;
        const char *first = p + (begins && *p == '"');
        if (begins && strchr("=+@", *first) != NULL && *first != '\0')
            fail_msg("%s: a cell begins with %.20s", exit, first);
    }
}

static const struct exit {
    const char *words[5];
    void (*also)(const char *exit, const char *s);
} exits[] = {
    {{"list", "dogs"}, NULL},
    {{"list", "visits", "--json"}, is_json},
    {{"find", "juniper"}, NULL},
    {{"today"}, NULL},
    {{"today", "--json"}, is_json},
    {{"show", "Juniper"}, NULL},
    {{"show", "Juniper", "--json"}, is_json},
    {{"show", "Juniper", "--history", "story"}, NULL},
    {{"sheet", "Juniper"}, NULL},
    {{"sheet", "Juniper", "--ascii"}, NULL},
    {{"print", "Juniper", "--preview"}, NULL},
    {{"paper", "day"}, NULL},
    {{"paper", "report", "Juniper"}, NULL},
    {{"paper", "record", "Juniper"}, NULL},
    {{"build", "Juniper"}, NULL},
    {{"build", "Juniper", "--json"}, is_json},
    {{"draw", "Juniper", "--svg"}, is_markup},
    {{"bench", "Juniper"}, NULL},
    {{"equipment"}, NULL},
    {{"equipment", "--json"}, is_json},
    {{"check"}, NULL},
    {{"device", "list"}, NULL},
    {{"export", "csv"}, calculates_nothing},
    {{"export", "fhir", "Juniper"}, is_json},
    {{"export", "calendar"}, NULL},
    {{"export", "card", "Juniper"}, NULL},
};

/* Every exit that answers gives text; JSON escapes what it must keep. */
static inline void leaves_safely(void)
{
    size_t answered = 0;
    for (size_t i = 0; i < sizeof exits / sizeof *exits; i++) {
        const char *const *w = exits[i].words;
        char name[80];
        snprintf(name, sizeof name, "%s %s %s", w[0], w[1] ? w[1] : "", w[1] && w[2] ? w[2] : "");
        int status = amble("", w[0], w[1], w[1] ? w[2] : NULL, w[1] && w[2] ? w[3] : NULL, NULL);
        only_text(name, last.err);
        if (status != COMMAND_DONE)
            continue; /* no frame to draw before there is a whole set of measures */
        answered++;
        only_text(name, last.out);
        if (exits[i].also != NULL)
            exits[i].also(name, last.out);
    }
    assert_in_range(answered, 20, sizeof exits / sizeof *exits);
}

/* The story of Juniper's visit is `text`, to the byte. */
static inline void is_kept(const char *text)
{
    done(amble("", "show", "Juniper", "--json", NULL));
    json_t *root = json_loads(last.out, 0, NULL), *each;
    const char *stored = "";
    size_t k;
    json_array_foreach(json_object_get(json_object_get(root, "visit"), "findings"), k, each)
    {
        if (strcmp(json_string_value(json_object_get(each, "item")), "story") == 0)
            stored = json_string_value(
                json_object_get(json_array_get(json_object_get(each, "values"), 0), "value"));
    }
    assert_string_equal(stored, text);
    json_decref(root);
}

#endif
