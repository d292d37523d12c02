/* The statements of a feed: who is at the keys, which record is meant, what was done. */
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "casebook/build.h"
#include "casebook/deciding.h"
#include "casebook/equipment.h"
#include "casebook/feed_inside.h"
#include "casebook/fitting.h"
#include "casebook/ids.h"
#include "casebook/lending.h"
#include "casebook/review.h"
#include "casebook/teaching.h"
#include <math.h>
#include <string.h>

enum { FOUND_MOST = 50 };

/* ---- starting and finding records ----------------------------------------------------------- */

static bool open_chart(struct feed *d, const char *entity, const char *at)
{
    struct fault f = {0};
    if (!chart_load(d->cb, d->arena, entity, &d->chart, &f))
        return feed_complain_of(d, at, &f);
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
    size_t n = feed_word_length(at);
    const char *initials = arena_strn(d->arena, at, n), *name = feed_rest(d, feed_skip(at + n));
    if (n == 0)
        return feed_complain(d, at,
                             "initials and a name are expected, as in practitioner MK Mara Kell");
    if (!journal_by_value(d->cb->journal, d->arena, ID_PRACTITIONER_INITIALS, initials, 1, &known,
                          &f))
        return feed_complain_of(d, at, &f);
    if (known.count > 0) {
        memcpy(d->cb->author, known.uuids[0], IDENT_ROOM);
        return true;
    }
    if (name[0] == '\0')
        return feed_complain(d, at,
                             arena_printf(d->arena,
                                          "nobody has the initials %s yet; write the "
                                          "name after them",
                                          initials));
    if (!record_new(d->cb, d->arena, "practitioner", &r, &f))
        return feed_complain_of(d, at, &f);
    memcpy(d->cb->author, r.entity, IDENT_ROOM);
    return (record_put(d->cb, &r, ID_PRACTITIONER_INITIALS, initials, "", &f) &&
            record_put(d->cb, &r, ID_PRACTITIONER_NAME, name, "", &f)) ||
           feed_complain_of(d, at, &f);
}

static bool say_call(struct feed *d, const char *at)
{
    struct fault f = {0};
    if (at[0] != '\0')
        return feed_complain(d, at, "nothing is expected after call");
    if (!call_new(d->cb, d->arena, &d->chart, &f))
        return feed_complain_of(d, at, &f);
    d->entity = d->chart.call.entity;
    d->astray = false;
    return true;
}

/* A day, or a day with its hour. */
static bool read_day(struct feed *d, const char *at, const char **canonical)
{
    struct fault f = {0};
    char iso[CLOCK_ROOM];
    const char *typed = feed_rest(d, at);
    int64_t now = clock_now(), when;
    day_number day;
    if (clock_parse_day(typed, clock_day(now), &day, NULL))
        *canonical = arena_str(d->arena, clock_iso_day(day, iso));
    else if (clock_parse_time(typed, now, &when, &f))
        *canonical = arena_str(d->arena, clock_iso_time(when, iso));
    else
        return feed_complain_of(d, at, &f);
    return true;
}

enum { USUAL_HOUR = 10 * 60 }; /* of an invented visit that has none */

/* What follows claims to be of that day; nothing that is still to come does. */
static void pretend(struct feed *d, const char *canonical)
{
    int64_t at;
    bool hour = strchr(canonical, 'T') != NULL;
    if (!d->how->invented || !clock_parse_time(canonical, clock_now(), &at, NULL))
        return;
    at += hour ? 0 : (int64_t)USUAL_HOUR * 60 * 1000;
    journal_pretend(d->cb->journal, at < clock_now() ? at : 0);
}

static bool say_at(struct feed *d, const char *at)
{
    const char *when = "";
    if (!d->how->invented)
        return feed_complain(d, at, "only an invented practice says when it was written");
    if (!read_day(d, at, &when))
        return false;
    pretend(d, when);
    return true;
}

static bool say_book(struct feed *d, const char *at)
{
    struct fault f = {0};
    const char *day = "";
    if (!read_day(d, at, &day))
        return false;
    if (!call_book(&d->chart, day, &f))
        return feed_complain_of(d, at, &f);
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
    const char *name = feed_rest(d, at);
    if (name[0] == '\0')
        return feed_complain(d, at, "the caregiver's name is expected");
    if (!named(d, "caregiver", name, &found, &f))
        return feed_complain_of(d, at, &f);
    if (found.count > 1)
        return feed_complain(
            d, at, arena_printf(d->arena, "%zu caregivers are called %s", found.count, name));
    if (found.count == 1) {
        if (!open_chart(d, found.uuids[0], at))
            return false;
    } else {
        if (!record_new(d->cb, d->arena, "caregiver", &r, &f) ||
            !record_put(d->cb, &r, ID_CAREGIVER_NAME, name, "", &f))
            return feed_complain_of(d, at, &f);
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
    const char *name = feed_rest(d, at), *caregiver = d->chart.caregiver.entity;
    if (name[0] == '\0')
        return feed_complain(d, at, "the dog's name is expected");
    if (!named(d, "dog", name, &found, &f) || (caregiver != NULL && !of_caregiver(d, &found, &f)))
        return feed_complain_of(d, at, &f);
    if (found.count > 1)
        return feed_complain(d, at,
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
                 : feed_complain_of(d, at, &f);
    close_visit(d);
    return ok;
}

static bool say_visit(struct feed *d, const char *at)
{
    struct fault f = {0};
    const char *day = "";
    if (!read_day(d, at, &day))
        return false;
    if (d->chart.dog.entity == NULL)
        return feed_complain(d, at, "whose visit? Name the dog first, or book it from a call");
    for (size_t i = 0; i < d->chart.visit_count; i++) {
        struct record r;
        if (!record_load(d->cb, d->arena, d->chart.visits[i], &r, &f))
            return feed_complain_of(d, at, &f);
        if (strncmp(record_text(&r, ID_VISIT_DAY), day, strlen("2026-11-24")) == 0) {
            pretend(d, record_text(&r, ID_VISIT_DAY));
            return open_chart(d, r.entity, at);
        }
    }
    pretend(d, day);
    if (!visit_new(d->cb, d->arena, d->chart.dog.entity, day, &d->chart, &f))
        return feed_complain_of(d, at, &f);
    d->entity = d->chart.visit.entity;
    return true;
}

/* ---- what is said of a visit ---------------------------------------------------------------- */

static bool say_support(struct feed *d, const char *at)
{
    struct fault f = {0};
    const struct template_set *set = d->cb->set;
    size_t n = feed_word_length(at);
    const char *id = arena_strn(d->arena, at, n), *tail = feed_skip(at + n);
    const struct support *s = template_support(set, id);
    if (feed_no_visit(d))
        return false;
    if (s == NULL) {
        const char **names = arena_array(d->arena, set->support_count, sizeof *names);
        for (size_t i = 0; i < set->support_count; i++)
            names[i] = set->supports[i].id;
        return feed_unknown(d, at, "support", id, names, set->support_count);
    }
    bool because = text_starts(tail, "because ");
    if (tail[0] != '\0' && !because)
        return feed_complain(d, tail, "because and a reason are expected, or nothing");
    const char *reason = because ? feed_rest(d, feed_skip(tail + strlen("because "))) : d->reason;
    return deciding_put(&d->chart, s, reason, &f) || feed_complain_of(d, at, &f);
}

static bool say_axle(struct feed *d, const char *at)
{
    struct fault f = {0};
    struct fitting fit;
    double mm = 0;
    if (feed_no_visit(d))
        return false;
    if (!quantity_parse(feed_rest(d, at), unit_base(DIM_LENGTH), &mm, NULL, &f))
        return feed_complain_of(d, at, &f);
    fitting_look(&d->chart, &fit);
    if (fit.count == 0)
        return feed_complain(d, at, fit.why);
    size_t nearest = 0;
    for (size_t i = 1; i < fit.count; i++)
        if (fabs(fit.rows[i].axle_mm - mm) < fabs(fit.rows[nearest].axle_mm - mm))
            nearest = i;
    double first = fit.rows[0].axle_mm, last = fit.rows[fit.count - 1].axle_mm;
    double step = fit.count > 1 ? fabs(last - first) / (double)(fit.count - 1) : first / 20;
    if (fabs(fit.rows[nearest].axle_mm - mm) > step)
        return feed_complain(d, at,
                             arena_printf(d->arena,
                                          "the axle of this frame goes from %.0f to "
                                          "%.0f mm",
                                          fmin(first, last), fmax(first, last)));
    return fitting_choose(&d->chart, &fit, nearest, &f) || feed_complain_of(d, at, &f);
}

/* "freeze": the setting kept on the visit becomes a build sheet. */
static bool say_freeze(struct feed *d, const char *at)
{
    struct fault f = {0};
    int version;
    if (feed_no_visit(d))
        return false;
    if (at[0] != '\0')
        return feed_complain(d, at, "nothing is expected after freeze");
    int64_t now = d->chart.now, then;
    if (d->how->invented &&
        clock_parse_time(record_text(&d->chart.visit, ID_VISIT_DAY), now, &then, NULL))
        d->chart.now = then;
    bool ok = build_freeze(&d->chart, &version, &f);
    d->chart.now = now;
    return ok || feed_complain_of(d, at, &f);
}

static bool say_teach(struct feed *d, const char *at)
{
    struct fault f = {0};
    struct teaching t;
    size_t n = feed_word_length(at);
    const char *key = arena_strn(d->arena, at, n), *word = feed_skip(at + n);
    if (feed_no_visit(d))
        return false;
    const char *state = feed_rest(d, word);
    enum taught how = text_same(state, "done back") ? TAUGHT_DONE_BACK : taught_read(state);
    teaching_look(&d->chart, &t);
    const char **names = arena_array(d->arena, t.count, sizeof *names);
    for (size_t i = 0; i < t.count; i++) {
        names[i] = t.rows[i].key + strlen("teach.");
        if (strcmp(names[i], key) != 0)
            continue;
        if (how == TAUGHT_NOT)
            return feed_complain(d, word, "told, shown or done_back is expected");
        return teaching_put(&d->chart, &t.rows[i], how, &f) || feed_complain_of(d, at, &f);
    }
    return feed_unknown(d, at, "point to teach", key, names, t.count);
}

static bool say_sign(struct feed *d, const char *at)
{
    struct fault f = {0};
    if (feed_no_visit(d))
        return false;
    if (at[0] != '\0')
        return feed_complain(d, at, "nothing is expected after sign");
    return visit_sign(&d->chart, &f) || feed_complain_of(d, at, &f);
}

/* "close": the case of the dog that is meant. */
static bool say_close(struct feed *d, const char *at)
{
    struct fault f = {0};
    if (at[0] != '\0')
        return feed_complain(d, at, "nothing is expected after close");
    if (d->chart.dog.entity == NULL)
        return feed_complain(d, at, "whose case? Name the dog first");
    return case_close(&d->chart, &f) || feed_complain_of(d, at, &f);
}

/* "handout", "handout care" */
static bool say_handout(struct feed *d, const char *at)
{
    struct fault f = {0};
    if (feed_no_visit(d))
        return false;
    if (d->how->hand_over == NULL)
        return feed_complain(d, at, "nothing can be handed over from here");
    return d->how->hand_over(&d->chart, feed_rest(d, at), &f) || feed_complain_of(d, at, &f);
}

/* ---- the practice's own frames -------------------------------------------------------------- */

/* NULL in *entity when there is none of that name. */
static bool frame_named(struct feed *d, const char *name, const char **entity, struct fault *f)
{
    const struct equipment *rows;
    size_t n;
    *entity = NULL;
    if (!equipment_look(d->cb, d->arena, NULL, &rows, &n, f))
        return false;
    for (size_t i = 0; i < n && *entity == NULL; i++)
        if (text_same(rows[i].name, name))
            *entity = rows[i].entity;
    return true;
}

static bool say_equipment(struct feed *d, const char *at)
{
    struct fault f = {0};
    struct record made;
    const char *name = feed_rest(d, at), *entity;
    if (name[0] == '\0')
        return feed_complain(d, at, "the name that is written on the frame is expected");
    if (!frame_named(d, name, &entity, &f) ||
        (entity == NULL && !equipment_new(d->cb, d->arena, name, &made, &f)))
        return feed_complain_of(d, at, &f);
    return open_chart(d, entity != NULL ? entity : made.entity, at);
}

/* "lend Blue frame until +14" */
static bool say_lend(struct feed *d, const char *at)
{
    static const char until[] = " until ";
    struct fault f = {0};
    const char *words = feed_rest(d, at), *tail = strstr(words, until), *due = "", *entity;
    const char *name = tail != NULL ? arena_strn(d->arena, words, (size_t)(tail - words)) : words;
    if (d->chart.dog.entity == NULL)
        return feed_complain(d, at, "to which dog? Name it first");
    if (tail != NULL && !read_day(d, at + (tail - words) + strlen(until), &due))
        return false;
    if (!frame_named(d, name, &entity, &f))
        return feed_complain_of(d, at, &f);
    if (entity == NULL)
        return feed_complain(
            d, at, arena_printf(d->arena, "the practice has no frame called \"%s\"", name));
    return frame_lend(&d->chart, entity, due, &f) || feed_complain_of(d, at, &f);
}

static bool say_reason(struct feed *d, const char *at)
{
    d->reason = feed_rest(d, at);
    return true;
}

/* ---- the table ------------------------------------------------------------------------------ */

const struct feed_statement feed_statements[] = {
    {"practitioner", say_practitioner, false},
    {"call", say_call, true},
    {"book", say_book, true},
    {"caregiver", say_caregiver, true},
    {"dog", say_dog, true},
    {"visit", say_visit, true},
    {"reason", say_reason, false},
    {"support", say_support, false},
    {"axle", say_axle, false},
    {"freeze", say_freeze, false},
    {"teach", say_teach, false},
    {"sign", say_sign, false},
    {"close", say_close, false},
    {"handout", say_handout, false},
    {"equipment", say_equipment, true},
    {"lend", say_lend, false},
    {"at", say_at, false},
};
const size_t feed_statement_count = sizeof feed_statements / sizeof *feed_statements;
