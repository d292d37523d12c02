#include "casebook/feed.h"
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "base/utf8.h"
#include "casebook/deciding.h"
#include "casebook/fitting.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/teaching.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_MOST = JOURNAL_VALUE_MAX, FOUND_MOST = 50 };

/* Where the reading stands. */
struct feed {
    struct casebook *cb;
    struct arena *arena;
    const char *source;
    const char *next, *end; /* what is still to be read */
    size_t line;            /* number of the line below */
    const char *text;       /* the line, without its end */
    struct text *said;
    struct fed *out;
    struct chart chart;
    const char *entity;  /* what the chart is of, "" before anything was started */
    bool astray;         /* a start failed: that nothing is open is not said once more */
    const char *reason;  /* for changes of what is signed */
    struct fault broken; /* the journal itself failed: nothing more is read */
};

/* ---- complaints ----------------------------------------------------------------------------- */

/* Say what is wrong at a place in the line. Always false. */
static bool complain(struct feed *d, const char *at, const char *what)
{
    size_t column = 1, here = (size_t)(at - d->text);
    for (size_t i = 0; i < here; i++)
        column += ((unsigned char)d->text[i] & 0xc0) != 0x80;
    d->out->complaints++;
    if (d->out->complaints <= FEED_COMPLAINTS_MOST)
        text_addf(d->said, "%s:%zu:%zu: %s\n", d->source, d->line, column, what);
    return false;
}

/* What a lower room refused belongs to the line; what broke ends the reading. */
static bool complain_of(struct feed *d, const char *at, const struct fault *f)
{
    if (f->kind == FAULT_INPUT || f->kind == FAULT_MISSING || f->kind == FAULT_REFUSED ||
        f->kind == FAULT_LIMIT)
        return complain(d, at, f->text);
    d->broken = *f;
    return false;
}

static bool unknown(struct feed *d, const char *at, const char *what, const char *word,
                    const char *const *names, size_t n)
{
    const char *near = text_nearest(word, names, n);
    return complain(d, at,
                    near != NULL ? arena_printf(d->arena,
                                                "%s \"%s\" is not known; did you mean "
                                                "\"%s\"?",
                                                what, word, near)
                                 : arena_printf(d->arena, "%s \"%s\" is not known", what, word));
}

/* ---- words of a line ------------------------------------------------------------------------ */

static const char *skip(const char *s)
{
    return s + strspn(s, " \t");
}

static size_t word_length(const char *s)
{
    return strcspn(s, " \t=:<");
}

static const char *rest_of(struct feed *d, const char *s)
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

/* ---- starting and finding records ----------------------------------------------------------- */

static bool open_chart(struct feed *d, const char *entity, const char *at)
{
    struct fault f = {0};
    if (!chart_load(d->cb, d->arena, entity, &d->chart, &f))
        return complain_of(d, at, &f);
    d->entity = arena_str(d->arena, entity);
    d->astray = false;
    return true;
}

/* A dog or a caregiver has no visit open until a line says which. */
static void close_visit(struct feed *d)
{
    d->chart.visit = d->chart.call = d->chart.before = (struct record){0};
}

static bool say_practitioner(struct feed *d, const char *at)
{
    struct fault f = {0};
    struct ids known;
    struct record r;
    size_t n = word_length(at);
    const char *initials = arena_strn(d->arena, at, n), *name = rest_of(d, skip(at + n));
    if (n == 0)
        return complain(d, at, "initials and a name are expected, as in practitioner MK Mara Kell");
    if (!journal_by_value(d->cb->journal, d->arena, ID_PRACTITIONER_INITIALS, initials, 1, &known,
                          &f))
        return complain_of(d, at, &f);
    if (known.count > 0) {
        memcpy(d->cb->author, known.uuids[0], IDENT_ROOM);
        return true;
    }
    if (name[0] == '\0')
        return complain(d, at,
                        arena_printf(d->arena,
                                     "nobody has the initials %s yet; write the "
                                     "name after them",
                                     initials));
    if (!record_new(d->cb, d->arena, "practitioner", &r, &f))
        return complain_of(d, at, &f);
    memcpy(d->cb->author, r.entity, IDENT_ROOM);
    return (record_put(d->cb, &r, ID_PRACTITIONER_INITIALS, initials, "", &f) &&
            record_put(d->cb, &r, ID_PRACTITIONER_NAME, name, "", &f)) ||
           complain_of(d, at, &f);
}

static bool say_call(struct feed *d, const char *at)
{
    struct fault f = {0};
    if (at[0] != '\0')
        return complain(d, at, "nothing is expected after call");
    if (!call_new(d->cb, d->arena, &d->chart, &f))
        return complain_of(d, at, &f);
    d->entity = d->chart.call.entity;
    d->astray = false;
    return true;
}

/* A day, or a day with its hour. */
static bool read_day(struct feed *d, const char *at, const char **canonical)
{
    struct fault f = {0};
    char iso[CLOCK_ROOM];
    const char *typed = rest_of(d, at);
    int64_t now = clock_now(), when;
    day_number day;
    if (clock_parse_day(typed, clock_day(now), &day, NULL))
        *canonical = arena_str(d->arena, clock_iso_day(day, iso));
    else if (clock_parse_time(typed, now, &when, &f))
        *canonical = arena_str(d->arena, clock_iso_time(when, iso));
    else
        return complain_of(d, at, &f);
    return true;
}

static bool say_book(struct feed *d, const char *at)
{
    struct fault f = {0};
    const char *day;
    if (!read_day(d, at, &day))
        return false;
    if (!call_book(&d->chart, day, &f))
        return complain_of(d, at, &f);
    d->entity = d->chart.visit.entity;
    return true;
}

/* Entities of a kind with exactly this name, among those the search finds. */
static bool named(struct feed *d, const char *kind, const char *name, struct ids *out,
                  struct fault *f)
{
    const struct hit *hits;
    size_t n;
    if (!journal_search(d->cb->journal, d->arena, name, FOUND_MOST, &hits, &n, f))
        return false;
    const char **list = arena_array(d->arena, n, sizeof *list);
    out->count = 0;
    for (size_t i = 0; i < n; i++)
        if (strcmp(hits[i].entity_kind, kind) == 0 && text_same(hits[i].text, name))
            list[out->count++] = hits[i].entity;
    out->uuids = list;
    return true;
}

static bool say_caregiver(struct feed *d, const char *at)
{
    struct fault f = {0};
    struct ids found;
    struct record r;
    const char *name = rest_of(d, at);
    if (name[0] == '\0')
        return complain(d, at, "the caregiver's name is expected");
    if (!named(d, "caregiver", name, &found, &f))
        return complain_of(d, at, &f);
    if (found.count > 1)
        return complain(d, at,
                        arena_printf(d->arena, "%zu caregivers are called %s", found.count, name));
    if (found.count == 1) {
        if (!open_chart(d, found.uuids[0], at))
            return false;
    } else {
        if (!record_new(d->cb, d->arena, "caregiver", &r, &f) ||
            !record_put(d->cb, &r, ID_CAREGIVER_NAME, name, "", &f))
            return complain_of(d, at, &f);
        if (!open_chart(d, r.entity, at))
            return false;
    }
    d->chart.dog = (struct record){0}; /* which of the caregiver's dogs is still to be said */
    close_visit(d);
    return true;
}

/* Of the dogs of that name those of this caregiver, when one was named. */
static bool of_caregiver(struct feed *d, struct ids *dogs, struct fault *f)
{
    const char **kept = arena_array(d->arena, dogs->count, sizeof *kept);
    size_t n = 0;
    for (size_t i = 0; i < dogs->count; i++) {
        struct record r;
        if (!record_load(d->cb, d->arena, dogs->uuids[i], &r, f))
            return false;
        if (strcmp(record_text(&r, ID_CAREGIVER), d->chart.caregiver.entity) == 0)
            kept[n++] = dogs->uuids[i];
    }
    dogs->uuids = kept;
    dogs->count = n;
    return true;
}

static bool say_dog(struct feed *d, const char *at)
{
    struct fault f = {0};
    struct ids found;
    struct record r;
    const char *name = rest_of(d, at), *caregiver = d->chart.caregiver.entity;
    if (name[0] == '\0')
        return complain(d, at, "the dog's name is expected");
    if (!named(d, "dog", name, &found, &f) || (caregiver != NULL && !of_caregiver(d, &found, &f)))
        return complain_of(d, at, &f);
    if (found.count > 1)
        return complain(d, at,
                        arena_printf(d->arena,
                                     "%zu dogs are called %s; name the caregiver "
                                     "first",
                                     found.count, name));
    bool ok;
    if (found.count == 1)
        ok = open_chart(d, found.uuids[0], at);
    else
        ok = (record_new(d->cb, d->arena, "dog", &r, &f) &&
              record_put(d->cb, &r, ID_DOG_NAME, name, "", &f) &&
              record_put(d->cb, &r, ID_CAREGIVER, caregiver != NULL ? caregiver : "", "", &f))
                 ? open_chart(d, r.entity, at)
                 : complain_of(d, at, &f);
    close_visit(d);
    return ok;
}

static bool say_visit(struct feed *d, const char *at)
{
    struct fault f = {0};
    const char *day;
    if (!read_day(d, at, &day))
        return false;
    if (d->chart.dog.entity == NULL)
        return complain(d, at, "whose visit? Name the dog first, or book it from a call");
    for (size_t i = 0; i < d->chart.visit_count; i++) {
        struct record r;
        if (!record_load(d->cb, d->arena, d->chart.visits[i], &r, &f))
            return complain_of(d, at, &f);
        if (strncmp(record_text(&r, ID_VISIT_DAY), day, strlen("2026-11-24")) == 0)
            return open_chart(d, r.entity, at);
    }
    if (!visit_new(d->cb, d->arena, d->chart.dog.entity, day, &d->chart, &f))
        return complain_of(d, at, &f);
    d->entity = d->chart.visit.entity;
    return true;
}

/* ---- what is said of a visit ---------------------------------------------------------------- */

static bool no_visit(struct feed *d)
{
    if (d->chart.visit.entity != NULL)
        return false;
    if (!d->astray)
        (void)complain(d, skip(d->text), "no visit is open: write visit and its day first");
    return true;
}

static bool say_support(struct feed *d, const char *at)
{
    struct fault f = {0};
    const struct template_set *set = d->cb->set;
    size_t n = word_length(at);
    const char *id = arena_strn(d->arena, at, n), *tail = skip(at + n);
    const struct support *s = template_support(set, id);
    if (no_visit(d))
        return false;
    if (s == NULL) {
        const char **names = arena_array(d->arena, set->support_count, sizeof *names);
        for (size_t i = 0; i < set->support_count; i++)
            names[i] = set->supports[i].id;
        return unknown(d, at, "support", id, names, set->support_count);
    }
    bool because = text_starts(tail, "because ");
    if (tail[0] != '\0' && !because)
        return complain(d, tail, "because and a reason are expected, or nothing");
    const char *reason = because ? rest_of(d, skip(tail + strlen("because "))) : d->reason;
    return deciding_put(&d->chart, s, reason, &f) || complain_of(d, at, &f);
}

static bool say_axle(struct feed *d, const char *at)
{
    struct fault f = {0};
    struct fitting fit;
    double mm;
    if (no_visit(d))
        return false;
    if (!quantity_parse(rest_of(d, at), unit_base(DIM_LENGTH), &mm, NULL, &f))
        return complain_of(d, at, &f);
    fitting_look(&d->chart, &fit);
    if (fit.count == 0)
        return complain(d, at, fit.why);
    size_t nearest = 0;
    for (size_t i = 1; i < fit.count; i++)
        if (fabs(fit.rows[i].axle_mm - mm) < fabs(fit.rows[nearest].axle_mm - mm))
            nearest = i;
    double first = fit.rows[0].axle_mm, last = fit.rows[fit.count - 1].axle_mm;
    double step = fit.count > 1 ? fabs(last - first) / (double)(fit.count - 1) : first / 20;
    if (fabs(fit.rows[nearest].axle_mm - mm) > step)
        return complain(d, at,
                        arena_printf(d->arena,
                                     "the axle of this frame goes from %.0f to "
                                     "%.0f mm",
                                     fmin(first, last), fmax(first, last)));
    return fitting_choose(&d->chart, &fit, nearest, &f) || complain_of(d, at, &f);
}

static bool say_teach(struct feed *d, const char *at)
{
    struct fault f = {0};
    struct teaching t;
    size_t n = word_length(at);
    const char *key = arena_strn(d->arena, at, n), *word = skip(at + n);
    if (no_visit(d))
        return false;
    const char *state = rest_of(d, word);
    enum taught how = text_same(state, "done back") ? TAUGHT_DONE_BACK : taught_read(state);
    teaching_look(&d->chart, &t);
    const char **names = arena_array(d->arena, t.count, sizeof *names);
    for (size_t i = 0; i < t.count; i++) {
        names[i] = t.rows[i].key + strlen("teach.");
        if (strcmp(names[i], key) != 0)
            continue;
        if (how == TAUGHT_NOT)
            return complain(d, word, "told, shown or done_back is expected");
        return teaching_put(&d->chart, &t.rows[i], how, &f) || complain_of(d, at, &f);
    }
    return unknown(d, at, "point to teach", key, names, t.count);
}

static bool say_sign(struct feed *d, const char *at)
{
    struct fault f = {0};
    if (no_visit(d))
        return false;
    if (at[0] != '\0')
        return complain(d, at, "nothing is expected after sign");
    return record_sign(d->cb, &d->chart.visit, &f) || complain_of(d, at, &f);
}

static bool say_reason(struct feed *d, const char *at)
{
    d->reason = rest_of(d, at);
    return true;
}

/* ---- findings ------------------------------------------------------------------------------- */

static bool put(struct feed *d, struct record *r, const char *item, const char *value,
                const char *at)
{
    struct fault f = {0};
    d->out->findings++;
    return record_put(d->cb, r, item, value, d->reason, &f) || complain_of(d, at, &f);
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
            return complain(d, here, "a measure has three readings at most");
        if (!reading_read(d->cb->set, m, typed, d->arena, &canonical, &f))
            return complain_of(d, here, &f);
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
    if (!*is_one || no_visit(d))
        return false;
    if (reading > 0)
        return put_readings(d, m, reading, value, value_at);
    if (strcmp(value, "yes") != 0 && strcmp(value, "no") != 0 && value[0] != '\0')
        return complain(d, value_at, "yes or no is expected");
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
    return unknown(d, at, "item", id, names, n);
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
            (void)complain(
                d, at,
                arena_printf(d->arena, "\"%s\" belongs to a %s, and none is open", id, about));
        return false;
    }
    if (!answer_read(d->cb->set, item, value, d->chart.now, d->arena, &canonical, &f))
        return complain_of(d, value_at, &f);
    return put(d, r, id, canonical, at);
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
        closed = strcmp(skip(rest_of(d, d->text)), ">>") == 0;
        if (!closed)
            text_addf(&note, "%s%s", note.len > 0 ? "\n" : "", d->text);
    }
    size_t last = d->line;
    d->text = opened; /* complaints speak of the line that opened the note */
    d->line = line;
    bool ok = !closed    ? complain(d, at, "this note is not closed: a line >> is expected")
              : note.cut ? complain(d, at, "this note is too long")
                         : say_finding(d, at, id, arena_str(d->arena, note.s), at);
    d->line = last;
    text_free(&note);
    return ok;
}

/* ---- lines ---------------------------------------------------------------------------------- */

static const struct statement {
    const char *word;
    bool (*say)(struct feed *d, const char *at);
    bool starts; /* what follows goes to another record */
} statements[] = {
    {"practitioner", say_practitioner, false},
    {"call", say_call, true},
    {"book", say_book, true},
    {"caregiver", say_caregiver, true},
    {"dog", say_dog, true},
    {"visit", say_visit, true},
    {"reason", say_reason, false},
    {"support", say_support, false},
    {"axle", say_axle, false},
    {"teach", say_teach, false},
    {"sign", say_sign, false},
};
enum { STATEMENTS = sizeof statements / sizeof *statements };

static bool no_statement(struct feed *d, const char *at, const char *word)
{
    const char *names[STATEMENTS];
    for (size_t i = 0; i < STATEMENTS; i++)
        names[i] = statements[i].word;
    const char *near = text_nearest(word, names, STATEMENTS);
    const char *hint = near != NULL ? arena_printf(d->arena, "; did you mean \"%s\"?", near) : "";
    return complain(d, at,
                    arena_printf(d->arena, "ITEM = VALUE or a statement is expected%s", hint));
}

static bool say_line(struct feed *d)
{
    const char *at = skip(d->text);
    size_t n = word_length(at);
    const char *word = arena_strn(d->arena, at, n), *after = skip(at + n);
    d->chart.reason = d->reason;
    if (at[0] == '\0' || at[0] == '#')
        return true;
    if (n > 0 && (*after == '=' || *after == ':')) {
        const char *value = skip(after + 1);
        return say_finding(d, at, word, rest_of(d, value), value);
    }
    if (n > 0 && strcmp(rest_of(d, after), "<<") == 0)
        return say_note(d, at, word);
    for (size_t i = 0; i < STATEMENTS; i++)
        if (strcmp(statements[i].word, word) == 0) {
            bool ok = statements[i].say(d, after);
            d->astray = statements[i].starts ? !ok : d->astray;
            return ok;
        }
    return no_statement(d, at, word);
}

static void read_lines(struct feed *d)
{
    while (d->broken.kind == FAULT_NONE && next_line(d)) {
        size_t bad;
        if (!utf8_valid(d->text, strlen(d->text), &bad))
            (void)complain(d, d->text + bad, "this is not UTF-8");
        else
            (void)say_line(d);
    }
}

bool feed_read(struct casebook *cb, struct arena *a, const char *source, const char *bytes,
               size_t n, struct text *said, struct fed *out, struct fault *f)
{
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
                     .reason = ""};
    char before[IDENT_ROOM];
    if (n > 0 && memchr(bytes, '\0', n) != NULL)
        return fail(f, FAULT_INPUT, "%s holds a zero byte: it is no text", source);
    if (n >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0)
        d.next += 3; /* a byte order mark says nothing here */
    memcpy(before, cb->author, IDENT_ROOM);
    if (!casebook_begin(cb, f))
        return false;
    read_lines(&d);
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
