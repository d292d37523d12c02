#include "casebook/feed.h"
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "base/utf8.h"
#include "casebook/feed_inside.h"
#include "casebook/ids.h"
#include "casebook/lending.h"
#include "casebook/measuring.h"
#include "casebook/photo.h"
#include <string.h>

enum { LINE_MOST = JOURNAL_VALUE_MAX };

/* ---- complaints ----------------------------------------------------------------------------- */

bool feed_complain(struct feed *d, const char *at, const char *what)
{
    size_t column = 1, here = (size_t)(at - d->text);
    for (size_t i = 0; i < here; i++)
        column += ((unsigned char)d->text[i] & 0xc0) != 0x80;
    d->out->complaints++;
    if (d->out->complaints <= FEED_COMPLAINTS_MOST)
        text_addf(d->said, "%s:%zu:%zu: %s\n", d->source, d->line, column, what);
    return false;
}

bool feed_complain_of(struct feed *d, const char *at, const struct fault *f)
{
    if (f->kind == FAULT_INPUT || f->kind == FAULT_MISSING || f->kind == FAULT_REFUSED ||
        f->kind == FAULT_LIMIT)
        return feed_complain(d, at, f->text);
    d->broken = *f;
    return false;
}

bool feed_unknown(struct feed *d, const char *at, const char *what, const char *word,
                  const char *const *names, size_t n)
{
    const char *near = text_nearest(word, names, n);
    return feed_complain(d, at,
                         near != NULL
                             ? arena_printf(d->arena,
                                            "%s \"%s\" is not known; did you mean "
                                            "\"%s\"?",
                                            what, word, near)
                             : arena_printf(d->arena, "%s \"%s\" is not known", what, word));
}

/* ---- words of a line ------------------------------------------------------------------------ */

const char *feed_skip(const char *s)
{
    return s + strspn(s, " \t");
}

size_t feed_word_length(const char *s)
{
    return strcspn(s, " \t=:<");
}

const char *feed_rest(struct feed *d, const char *s)
{
    size_t n = strlen(s);
    while (n > 0 && (s[n - 1] == ' ' || s[n - 1] == '\t'))
        n--;
    return arena_strn(d->arena, s, n);
}

/* The next line into d->text; false at the end. */
static bool next_line(struct feed *d)
{
    if (d->next >= d->end)
        return false;
    size_t left = (size_t)(d->end - d->next);
    const char *stop = memchr(d->next, '\n', left);
    size_t n = stop != NULL ? (size_t)(stop - d->next) : left;
    const char *start = d->next;
    d->next += n + (stop != NULL);
    d->line++;
    if (n > 0 && start[n - 1] == '\r')
        n--;
    d->text = arena_strn(d->arena, start, n);
    return true;
}

bool feed_no_visit(struct feed *d)
{
    if (d->chart.visit.entity != NULL)
        return false;
    if (!d->astray)
        (void)feed_complain(d, feed_skip(d->text),
                            "no visit is open: write visit and its day first");
    return true;
}

/* ---- findings ------------------------------------------------------------------------------- */

static bool put(struct feed *d, struct record *r, const char *item, const char *value,
                const char *at)
{
    struct fault f = {0};
    d->out->findings++;
    bool ok = record_put(d->cb, r, item, value, d->reason, &f) &&
              (strcmp(item, ID_CLOSED_FRAMES) != 0 || frames_follow_closing(&d->chart, &f));
    return ok || feed_complain_of(d, at, &f);
}

/* "13.1, 13.2" as one reading each, from reading `first` on. */
static bool put_readings(struct feed *d, const struct measure *m, int first, const char *value,
                         const char *at)
{
    struct fault f = {0};
    const char *p = value;
    for (int reading = first; *p != '\0'; reading++) {
        size_t n = 0;
        while (p[n] != '\0' && p[n] != ';' && !(p[n] == ',' && (p[n + 1] == ' ' || !p[n + 1])))
            n++;
        const char *canonical, *typed = arena_strn(d->arena, p, n);
        const char *here = at + (p - value);
        if (reading > READINGS_MOST)
            return feed_complain(d, here, "a measure has three readings at most");
        if (!reading_read(d->cb->set, m, typed, d->arena, &canonical, &f))
            return feed_complain_of(d, here, &f);
        if (!put(d, &d->chart.visit, reading_item(d->arena, m, reading), canonical, here))
            return false;
        p += n + (p[n] != '\0');
        p += strspn(p, " \t");
    }
    return true;
}

/* hip_width, hip_width.2, hip_width.so; *is_one tells whether it is any of them. */
static bool say_measure(struct feed *d, const char *id, const char *value, const char *at,
                        const char *value_at, bool *is_one)
{
    const char *dot = strrchr(id, '.');
    const struct measure *m = template_measure(d->cb->set, id);
    int reading = 1;
    if (m == NULL && dot != NULL) {
        m = template_measure(d->cb->set, arena_strn(d->arena, id, (size_t)(dot - id)));
        reading = strcmp(dot, ".so") == 0                            ? 0
                  : dot[1] >= '1' && dot[1] <= '3' && dot[2] == '\0' ? dot[1] - '0'
                                                                     : -1;
    }
    *is_one = m != NULL && reading >= 0;
    if (!*is_one || feed_no_visit(d))
        return false;
    if (reading > 0)
        return put_readings(d, m, reading, value, value_at);
    if (strcmp(value, "yes") != 0 && strcmp(value, "no") != 0 && value[0] != '\0')
        return feed_complain(d, value_at, "yes or no is expected");
    return put(d, &d->chart.visit, id, value, at);
}

static bool unknown_item(struct feed *d, const char *at, const char *id)
{
    const struct template_set *set = d->cb->set;
    size_t most = set->measure_count, n = 0;
    for (size_t i = 0; i < set->form_count; i++)
        most += set->forms[i].item_count;
    const char **names = arena_array(d->arena, most, sizeof *names);
    for (size_t i = 0; i < set->form_count; i++)
        for (size_t k = 0; k < set->forms[i].item_count; k++)
            names[n++] = set->forms[i].items[k].id;
    for (size_t i = 0; i < set->measure_count; i++)
        names[n++] = set->measures[i].id;
    return feed_unknown(d, at, "item", id, names, n);
}

/* One finding. `value_at` is where its value stands, for the column of a complaint. */
static bool say_finding(struct feed *d, const char *at, const char *id, const char *value,
                        const char *value_at)
{
    struct fault f = {0};
    const char *about, *canonical;
    bool measure;
    bool ok = say_measure(d, id, value, at, value_at, &measure);
    if (measure)
        return ok;
    const struct item *item = casebook_item(d->cb->set, id, &about);
    if (item == NULL)
        return unknown_item(d, at, id);
    struct record *r = chart_record(&d->chart, about);
    if (r == NULL) {
        if (!d->astray)
            (void)feed_complain(
                d, at,
                arena_printf(d->arena, "\"%s\" belongs to a %s, and none is open", id, about));
        return false;
    }
    if (!answer_read(d->cb->set, item, value, d->chart.now, d->arena, &canonical, &f))
        return feed_complain_of(d, value_at, &f);
    if (!put(d, r, id, canonical, at))
        return false;
    if (strcmp(id, ID_PHOTO) == 0)
        (void)photo_keep(&d->chart, NULL); /* not there yet: the record says so */
    return true;
}

/* The lines up to one that is only ">>". */
static bool say_note(struct feed *d, const char *at, const char *id)
{
    struct text note;
    const char *opened = d->text;
    size_t line = d->line;
    bool closed = false;
    text_init(&note, LINE_MOST);
    while (!closed && next_line(d)) {
        closed = strcmp(feed_skip(feed_rest(d, d->text)), ">>") == 0;
        if (!closed)
            text_addf(&note, "%s%s", note.len > 0 ? "\n" : "", d->text);
    }
    size_t last = d->line;
    d->text = opened; /* complaints speak of the line that opened the note */
    d->line = line;
    bool ok = !closed    ? feed_complain(d, at, "this note is not closed: a line >> is expected")
              : note.cut ? feed_complain(d, at, "this note is too long")
                         : say_finding(d, at, id, arena_str(d->arena, note.s), at);
    d->line = last;
    text_free(&note);
    return ok;
}

/* ---- lines ---------------------------------------------------------------------------------- */

static bool no_statement(struct feed *d, const char *at, const char *word)
{
    const char **names = arena_array(d->arena, feed_statement_count, sizeof *names);
    for (size_t i = 0; i < feed_statement_count; i++)
        names[i] = feed_statements[i].word;
    const char *near = text_nearest(word, names, feed_statement_count);
    const char *hint = near != NULL ? arena_printf(d->arena, "; did you mean \"%s\"?", near) : "";
    return feed_complain(d, at,
                         arena_printf(d->arena, "ITEM = VALUE or a statement is expected%s", hint));
}

static bool say_line(struct feed *d)
{
    const char *at = feed_skip(d->text);
    size_t n = feed_word_length(at);
    const char *word = arena_strn(d->arena, at, n), *after = feed_skip(at + n);
    d->chart.reason = d->reason;
    if (at[0] == '\0' || at[0] == '#')
        return true;
    if (n > 0 && (*after == '=' || *after == ':')) {
        const char *value = feed_skip(after + 1);
        return say_finding(d, at, word, feed_rest(d, value), value);
    }
    if (n > 0 && strcmp(feed_rest(d, after), "<<") == 0)
        return say_note(d, at, word);
    for (size_t i = 0; i < feed_statement_count; i++)
        if (strcmp(feed_statements[i].word, word) == 0) {
            bool ok = feed_statements[i].say(d, after);
            d->astray = feed_statements[i].starts ? !ok : d->astray;
            return ok;
        }
    return no_statement(d, at, word);
}

static void read_lines(struct feed *d)
{
    while (d->broken.kind == FAULT_NONE && next_line(d)) {
        size_t bad;
        if (!utf8_valid(d->text, strlen(d->text), &bad))
            (void)feed_complain(d, d->text + bad, "this is not UTF-8");
        else
            (void)say_line(d);
    }
}

bool feed_read(struct casebook *cb, struct arena *a, const char *source, const char *bytes,
               size_t n, const struct feed_how *how, struct text *said, struct fed *out,
               struct fault *f)
{
    static const struct feed_how plain = {0};
    *out = (struct fed){0};
    struct feed d = {.cb = cb,
                     .arena = a,
                     .source = source,
                     .next = bytes,
                     .end = bytes + n,
                     .said = said,
                     .out = out,
                     .chart = {.cb = cb, .arena = a, .now = clock_now()},
                     .entity = NULL,
                     .reason = "",
                     .how = how != NULL ? how : &plain};
    char before[IDENT_ROOM];
    if (n > 0 && memchr(bytes, '\0', n) != NULL)
        return fail(f, FAULT_INPUT, "%s holds a zero byte: it is no text", source);
    if (n >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0)
        d.next += 3; /* a byte order mark says nothing here */
    memcpy(before, cb->author, IDENT_ROOM);
    if (!casebook_begin(cb, f))
        return false;
    read_lines(&d);
    journal_pretend(cb->journal, 0);
    bool ok = d.broken.kind == FAULT_NONE && out->complaints == 0;
    if (!casebook_end(cb, ok, f)) {
        memcpy(cb->author, before, IDENT_ROOM);
        if (ok)
            return false;
        if (d.broken.kind != FAULT_NONE) {
            if (f != NULL)
                *f = d.broken;
            return false;
        }
        if (out->complaints > FEED_COMPLAINTS_MOST)
            text_addf(said, "%s: and %zu more\n", source, out->complaints - FEED_COMPLAINTS_MOST);
        return fail(f, FAULT_INPUT, "nothing was written: %zu of the lines of %s cannot be used",
                    out->complaints, source);
    }
    out->entity = d.entity;
    return cb->author[0] == '\0' || strcmp(cb->author, before) == 0 ||
           casebook_become(cb, cb->author, f);
}
