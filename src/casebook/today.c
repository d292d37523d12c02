#include "casebook/today.h"
#include "base/arena.h"
#include "base/clock.h"
#include "casebook/ids.h"
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum {
    DAYS_BACK = 30,  /* visits that were never signed */
    DAYS_AHEAD = 60, /* visits that are booked */
    REVIEW_AHEAD = 14,
    ROWS_MOST = 200, /* of one kind */
    LITTLE = 10,     /* with fewer rows than this the last dogs seen fill the page */
};

/* The list while it is gathered. */
struct gather {
    struct casebook *cb;
    struct arena *arena;
    struct due *rows;
    const char **keys; /* what a row is sorted by within its kind */
    size_t count, room, key_room;
    int64_t now;
    day_number today;
};

static void add(struct gather *g, struct due row, const char *key)
{
    size_t n = g->count;
    g->rows = arena_grow(g->arena, g->rows, n, &g->room, sizeof *g->rows);
    g->keys = arena_grow(g->arena, (void *)g->keys, n, &g->key_room, sizeof *g->keys);
    size_t at = n; /* insertion keeps the order of equals; the lists are short and nearly sorted */
    while (at > 0 && (g->rows[at - 1].kind > row.kind ||
                      (g->rows[at - 1].kind == row.kind && strcmp(g->keys[at - 1], key) > 0))) {
        g->rows[at] = g->rows[at - 1];
        g->keys[at] = g->keys[at - 1];
        at--;
    }
    g->rows[at] = row;
    g->keys[at] = key;
    g->count++;
}

/* ---- words ---------------------------------------------------------------------------------- */

static const char *iso(struct gather *g, day_number d)
{
    char text[CLOCK_ROOM];
    return arena_str(g->arena, clock_iso_day(d, text));
}

static bool day_of(const char *canonical, day_number *day)
{
    char head[11];
    size_t n = strcspn(canonical, "T ");
    if (n >= sizeof head)
        return false;
    memcpy(head, canonical, n);
    head[n] = '\0';
    return clock_parse_day(head, 0, day, NULL);
}

static const char *in_words(struct gather *g, int n, const char *unit)
{
    return arena_printf(g->arena, "%d %s%s", n, unit, n == 1 ? "" : "s");
}

/* "14:00" today, "Tue 24 Nov" another day, "3 days late" when it is past. */
static const char *when_due(struct gather *g, const char *canonical, bool *late)
{
    day_number day;
    char text[CLOCK_ROOM];
    const char *hour = strchr(canonical, 'T');
    if (!day_of(canonical, &day))
        return canonical;
    *late = day < g->today;
    if (*late)
        return arena_printf(g->arena, "%s late", in_words(g, g->today - day, "day"));
    if (day == g->today && hour != NULL) {
        char now[CLOCK_ROOM];
        *late = strcmp(canonical, clock_iso_time(g->now, now)) < 0;
        return arena_str(g->arena, hour + 1);
    }
    return day == g->today ? "today" : arena_str(g->arena, clock_short(day, text));
}

/* "since 09:12", "since Mon 23 Nov" */
static const char *since(struct gather *g, const char *canonical)
{
    day_number day;
    char text[CLOCK_ROOM];
    const char *hour = strchr(canonical, 'T');
    if (!day_of(canonical, &day))
        return canonical;
    if (day == g->today && hour != NULL)
        return arena_printf(g->arena, "since %s", hour + 1);
    return arena_printf(g->arena, "since %s", clock_short(day, text));
}

static const char *joined(struct arena *a, const char *first, const char *second)
{
    if (first[0] == '\0' || second[0] == '\0')
        return first[0] != '\0' ? first : second;
    return arena_printf(a, "%s, %s", first, second);
}

static const char *or_else(const char *first, const char *second)
{
    return first[0] != '\0' ? first : second;
}

/* "Biscuit, Dachshund"; a call that is not booked has only its own answers. */
static const char *who_is(const struct chart *c)
{
    const char *name =
        or_else(record_text(&c->dog, ID_DOG_NAME), record_text(&c->call, ID_CALL_DOG_NAME));
    const char *breed =
        or_else(record_text(&c->dog, ID_DOG_BREED), record_text(&c->call, ID_CALL_BREED));
    return or_else(joined(c->arena, name, breed), "not yet named");
}

static const char *caller_of(const struct chart *c)
{
    return joined(
        c->arena,
        or_else(record_text(&c->call, ID_CALL_NAME), record_text(&c->caregiver, ID_CAREGIVER_NAME)),
        or_else(record_text(&c->call, ID_CALL_PHONE),
                record_text(&c->caregiver, ID_CAREGIVER_PHONE)));
}

static const char *which_visit(const struct chart *c)
{
    for (size_t i = 1; i < c->visit_count; i++)
        if (strcmp(c->visits[i], c->visit.entity) == 0)
            return arena_printf(c->arena, "visit %zu", i + 1);
    return "first visit";
}

/* ---- the kinds ------------------------------------------------------------------------------ */

static bool range(struct gather *g, const char *item, day_number from, day_number before,
                  struct ids *out, struct fault *f)
{
    return journal_by_range(g->cb->journal, g->arena, item, iso(g, from), iso(g, before), ROWS_MOST,
                            out, f);
}

static bool add_visits(struct gather *g, struct fault *f)
{
    struct ids found;
    if (!range(g, ID_VISIT_DAY, g->today - DAYS_BACK, g->today + DAYS_AHEAD + 1, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        struct record visit;
        struct chart c;
        if (!record_load(g->cb, g->arena, found.uuids[i], &visit, f))
            return false;
        if (record_signed(&visit) || strcmp(record_text(&visit, ID_OPEN), "yes") != 0)
            continue;
        if (!chart_load(g->cb, g->arena, found.uuids[i], &c, f))
            return false;
        const char *day = record_text(&visit, ID_VISIT_DAY);
        const char *address = or_else(record_text(&c.caregiver, ID_CAREGIVER_ADDRESS),
                                      record_text(&c.call, ID_CALL_ADDRESS));
        struct due row = {.kind = DUE_VISIT, .entity = c.visit.entity, .who = who_is(&c)};
        row.when = when_due(g, day, &row.late);
        row.what = joined(g->arena, which_visit(&c), address);
        add(g, row, day);
    }
    return true;
}

static bool add_ring_backs(struct gather *g, struct fault *f)
{
    struct ids found; /* "done" sorts after every day */
    if (!journal_by_range(g->cb->journal, g->arena, ID_RING_BACK, "0", ":", ROWS_MOST, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        struct chart c;
        if (!chart_load(g->cb, g->arena, found.uuids[i], &c, f))
            return false;
        const char *at = record_text(&c.call, ID_RING_BACK);
        struct due row = {.kind = DUE_RING_BACK, .entity = found.uuids[i], .who = who_is(&c)};
        row.when = when_due(g, at, &row.late);
        row.what = caller_of(&c);
        add(g, row, at);
    }
    return true;
}

static bool waits_for_ring_back(const struct record *call)
{
    const char *at = record_text(call, ID_RING_BACK);
    return at[0] >= '0' && at[0] <= '9';
}

static bool add_open_calls(struct gather *g, struct fault *f)
{
    struct ids found;
    if (!journal_by_value(g->cb->journal, g->arena, ID_OPEN, "yes", ROWS_MOST, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        const char *kind = journal_kind(g->cb->journal, g->arena, found.uuids[i]);
        struct chart c;
        if (kind == NULL || strcmp(kind, "call") != 0)
            continue;
        if (!chart_load(g->cb, g->arena, found.uuids[i], &c, f))
            return false;
        if (waits_for_ring_back(&c.call))
            continue;
        const char *at = record_text(&c.call, ID_CALL_AT);
        struct due row = {.kind = DUE_OPEN_CALL, .entity = found.uuids[i], .who = who_is(&c)};
        row.when = since(g, at);
        row.what = caller_of(&c);
        add(g, row, at);
    }
    return true;
}

static bool add_reviews(struct gather *g, struct fault *f)
{
    struct ids found;
    if (!journal_by_range(g->cb->journal, g->arena, ID_REVIEW_DUE, "0",
                          iso(g, g->today + REVIEW_AHEAD + 1), ROWS_MOST, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        struct chart c;
        if (!chart_load(g->cb, g->arena, found.uuids[i], &c, f))
            return false;
        const char *day = chart_fact(&c, ID_REVIEW_DUE);
        if (day == NULL)
            continue;
        struct due row = {.kind = DUE_REVIEW, .entity = found.uuids[i], .who = who_is(&c)};
        row.when = when_due(g, day, &row.late);
        row.what = joined(g->arena, "review", caller_of(&c));
        add(g, row, day);
    }
    return true;
}

static bool add_conflicts(struct gather *g, struct fault *f)
{
    const struct conflict *list;
    size_t n;
    if (!journal_conflicts(g->cb->journal, g->arena, ROWS_MOST, &list, &n, f))
        return false;
    for (size_t i = 0; i < n; i++) {
        struct chart c = {0};
        struct due row = {.kind = DUE_CONFLICT, .entity = list[i].entity, .when = ""};
        row.who = chart_load(g->cb, g->arena, list[i].entity, &c, NULL) ? who_is(&c)
                                                                        : list[i].entity_kind;
        row.what = arena_printf(g->arena, "%s: two values stand",
                                finding_label(g->cb->set, list[i].item, g->arena));
        add(g, row, list[i].entity);
    }
    return true;
}

static bool known_dog(const struct gather *g, const char *dog)
{
    for (size_t i = 0; i < g->count; i++)
        if (g->rows[i].kind == DUE_RECENT && strcmp(g->rows[i].entity, dog) == 0)
            return true;
    return false;
}

/* The last dogs seen, latest first: a week back, and further only while that gives too few. */
static bool add_recent(struct gather *g, struct fault *f)
{
    static const int reach[] = {7, 30, 400};
    size_t wanted = LITTLE - g->count, got = 0;
    struct ids found = {0};
    for (size_t i = 0; i < 3 && found.count < wanted; i++)
        if (!range(g, ID_VISIT_DAY, g->today - reach[i], g->today + 1, &found, f))
            return false;
    for (size_t i = found.count; i-- > 0 && got < wanted;) {
        struct chart c;
        if (!chart_load(g->cb, g->arena, found.uuids[i], &c, f))
            return false;
        if (c.dog.entity == NULL || known_dog(g, c.dog.entity))
            continue;
        day_number day;
        char text[CLOCK_ROOM] = "";
        const char *on = record_text(&c.visit, ID_VISIT_DAY);
        struct due row = {.kind = DUE_RECENT, .entity = c.dog.entity, .who = who_is(&c)};
        row.when = day_of(on, &day) ? arena_str(g->arena, clock_short(day, text)) : on;
        row.what = which_visit(&c);
        add(g, row, arena_printf(g->arena, "%06zu", got++));
    }
    return true;
}

static const char *unsent_words(struct gather *g, const struct journal_counts *n)
{
    if (n->unsent == 0)
        return "";
    day_number old = n->oldest_unsent == 0 ? g->today : clock_day(n->oldest_unsent);
    const char *age = old >= g->today
                          ? "from today"
                          : arena_printf(g->arena, "%s old", in_words(g, g->today - old, "day"));
    return n->unsent == 1
               ? arena_printf(g->arena, "1 entry waits to be sent, %s", age)
               : arena_printf(g->arena, "%" PRIu64 " entries wait to be sent, the oldest %s",
                              n->unsent, age);
}

bool today_look(struct casebook *cb, struct arena *a, struct today *out, struct fault *f)
{
    struct gather g = {.cb = cb, .arena = a, .now = clock_now()};
    g.today = clock_day(g.now);
    *out = (struct today){0};
    if (!add_visits(&g, f) || !add_ring_backs(&g, f) || !add_open_calls(&g, f) ||
        !add_reviews(&g, f) || !add_conflicts(&g, f) || (g.count < LITTLE && !add_recent(&g, f)) ||
        !journal_count(cb->journal, &out->counts, f))
        return false;
    out->rows = g.rows;
    out->count = g.count;
    out->unsent = unsent_words(&g, &out->counts);
    return true;
}
