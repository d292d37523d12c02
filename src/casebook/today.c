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
    ROWS_MOST = 200,      /* of one kind */
    OPEN_MOST = 2000,     /* open records looked through for calls: visits are among them */
    DAYS_SAME_YEAR = 300, /* "Tue 24 Nov" of a day before that would be taken for a later one */
    LATEST_MOST = 40,     /* visits, of which several may be one dog's */
    LITTLE = 10,          /* with fewer rows than this the last dogs seen fill the page */
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
    int visits_ahead, reviews_ahead; /* days */
    bool recent;                     /* fill a short page with the dogs seen last */
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
    row.at = row.kind == DUE_CONFLICT || row.kind == DUE_RECENT ? "" : key;
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

/* ---- who and what: single values, because a list of whole charts would take too long --------- */

static const char *value(struct gather *g, const char *entity, const char *item)
{
    return entity[0] == '\0' ? "" : journal_value(g->cb->journal, g->arena, entity, item);
}

/* What is shown of a dog or a person: every answer of a conflict. */
static const char *said(struct gather *g, const char *entity, const char *item)
{
    return entity[0] == '\0' ? "" : journal_said(g->cb->journal, g->arena, entity, item);
}

/* The records that speak of one row; "" where there is none. */
struct about {
    const char *dog, *caregiver, *call;
};

static struct about around_visit(struct gather *g, const char *visit)
{
    struct about who = {.dog = value(g, visit, ID_VISIT_DOG),
                        .call = value(g, visit, ID_VISIT_CALL)};
    who.caregiver = value(g, who.dog, ID_CAREGIVER);
    return who;
}

static struct about around_call(struct gather *g, const char *call)
{
    return (struct about){.dog = value(g, call, ID_CALL_DOG),
                          .caregiver = value(g, call, ID_CALL_CAREGIVER),
                          .call = call};
}

static struct about around(struct gather *g, const char *entity)
{
    const char *kind = journal_kind(g->cb->journal, g->arena, entity);
    if (kind != NULL && strcmp(kind, "visit") == 0)
        return around_visit(g, entity);
    if (kind != NULL && strcmp(kind, "call") == 0)
        return around_call(g, entity);
    if (kind != NULL && strcmp(kind, "dog") == 0)
        return (struct about){entity, value(g, entity, ID_CAREGIVER), ""};
    return (struct about){"", kind != NULL && strcmp(kind, "caregiver") == 0 ? entity : "", ""};
}

/* "Biscuit, Dachshund"; a call that is not booked has only its own answers. */
static const char *who_is(struct gather *g, const struct about *who)
{
    const char *name =
        or_else(said(g, who->dog, ID_DOG_NAME), said(g, who->call, ID_CALL_DOG_NAME));
    const char *breed = or_else(said(g, who->dog, ID_DOG_BREED), said(g, who->call, ID_CALL_BREED));
    const char *caregiver = said(g, who->caregiver, ID_CAREGIVER_NAME);
    return or_else(joined(g->arena, name, breed), or_else(caregiver, "not yet named"));
}

/* The number to ring first: on a small screen the rest may be cut. */
static const char *caller_of(struct gather *g, const struct about *who)
{
    return joined(
        g->arena,
        or_else(said(g, who->call, ID_CALL_PHONE), said(g, who->caregiver, ID_CAREGIVER_PHONE)),
        or_else(said(g, who->call, ID_CALL_NAME), said(g, who->caregiver, ID_CAREGIVER_NAME)));
}

/* "first visit", "visit 3": by the days of the dog's visits. */
static const char *which_visit(struct gather *g, const char *dog, const char *visit)
{
    struct ids all;
    const char *day = value(g, visit, ID_VISIT_DAY);
    size_t before = 0;
    if (dog[0] == '\0' ||
        !journal_by_value(g->cb->journal, g->arena, ID_VISIT_DOG, dog, ROWS_MOST, &all, NULL))
        return "visit";
    for (size_t i = 0; i < all.count; i++)
        before += strcmp(all.uuids[i], visit) != 0 &&
                  strcmp(value(g, all.uuids[i], ID_VISIT_DAY), day) < 0;
    return before == 0 ? "first visit" : arena_printf(g->arena, "visit %zu", before + 1);
}

/* ---- the kinds ------------------------------------------------------------------------------ */

static bool range(struct gather *g, const char *item, day_number from, day_number before,
                  struct ids *out, struct fault *f)
{
    return journal_by_range(g->cb->journal, g->arena, item, iso(g, from), iso(g, before), ROWS_MOST,
                            out, f);
}

/* Of a dog whose case is closed nothing is due. */
static bool closed(struct gather *g, const char *dog)
{
    return value(g, dog, ID_DOG_CLOSED)[0] != '\0';
}

static bool add_visits(struct gather *g, struct fault *f)
{
    struct ids found;
    if (!range(g, ID_VISIT_DAY, g->today - DAYS_BACK, g->today + g->visits_ahead + 1, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        const char *visit = found.uuids[i];
        if (strcmp(value(g, visit, ID_OPEN), "yes") != 0)
            continue; /* signed */
        struct about who = around_visit(g, visit);
        if (closed(g, who.dog))
            continue;
        const char *day = value(g, visit, ID_VISIT_DAY);
        const char *address = or_else(said(g, who.caregiver, ID_CAREGIVER_ADDRESS),
                                      value(g, who.call, ID_CALL_ADDRESS));
        struct due row = {.kind = DUE_VISIT, .entity = visit, .who = who_is(g, &who)};
        row.when = when_due(g, day, &row.late);
        row.what = joined(g->arena, which_visit(g, who.dog, visit), address);
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
        struct about who = around_call(g, found.uuids[i]);
        const char *at = value(g, who.call, ID_RING_BACK);
        if (closed(g, who.dog))
            continue;
        struct due row = {.kind = DUE_RING_BACK, .entity = who.call, .who = who_is(g, &who)};
        row.when = when_due(g, at, &row.late);
        row.what = caller_of(g, &who);
        add(g, row, at);
    }
    return true;
}

/* The one thing that is left of a closed case: the call that was agreed with the owner. */
static bool add_farewells(struct gather *g, struct fault *f)
{
    struct ids found;
    if (!journal_by_range(g->cb->journal, g->arena, ID_CLOSED_CALL, "0",
                          iso(g, g->today + g->reviews_ahead + 1), ROWS_MOST, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        struct about who = around(g, found.uuids[i]);
        const char *day = value(g, who.dog, ID_CLOSED_CALL);
        if (!closed(g, who.dog) || strcmp(value(g, who.dog, ID_CLOSED_RUNG), "yes") == 0)
            continue;
        struct due row = {.kind = DUE_RING_BACK, .entity = who.dog, .who = who_is(g, &who)};
        row.when = when_due(g, day, &row.late);
        row.what = joined(g->arena, "as agreed", caller_of(g, &who));
        add(g, row, day);
    }
    return true;
}

static bool add_open_calls(struct gather *g, struct fault *f)
{
    struct ids found;
    if (!journal_by_value(g->cb->journal, g->arena, ID_OPEN, "yes", OPEN_MOST, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        const char *at = value(g, found.uuids[i], ID_CALL_AT);
        const char *ring = value(g, found.uuids[i], ID_RING_BACK);
        if (at[0] == '\0' || (ring[0] >= '0' && ring[0] <= '9'))
            continue; /* a visit, or already among those to ring back */
        struct about who = around_call(g, found.uuids[i]);
        if (closed(g, who.dog))
            continue;
        struct due row = {.kind = DUE_OPEN_CALL, .entity = who.call, .who = who_is(g, &who)};
        row.when = since(g, at);
        row.what = caller_of(g, &who);
        add(g, row, at);
    }
    return true;
}

/* Of a dog that has an open visit nobody needs to be rung: "booked for Wed 25 Nov"; "" otherwise.
 * Visits are gathered first. */
static const char *booked(struct gather *g, const char *dog)
{
    for (size_t i = 0; i < g->count; i++)
        if (g->rows[i].kind == DUE_VISIT && dog[0] != '\0' &&
            strcmp(value(g, g->rows[i].entity, ID_VISIT_DOG), dog) == 0)
            return g->rows[i].late ? "a visit is open"
                                   : arena_printf(g->arena, "booked for %s", g->rows[i].when);
    return "";
}

static bool add_dated(struct gather *g, enum due_kind kind, const char *item, struct fault *f)
{
    struct ids found;
    if (!journal_by_range(g->cb->journal, g->arena, item, "0",
                          iso(g, g->today + g->reviews_ahead + 1), ROWS_MOST, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        struct about who = around(g, found.uuids[i]);
        const char *day = value(g, found.uuids[i], item);
        if (closed(g, who.dog))
            continue;
        struct due row = {.kind = kind, .entity = found.uuids[i], .who = who_is(g, &who)};
        row.when = when_due(g, day, &row.late);
        row.what = joined(g->arena, booked(g, who.dog), caller_of(g, &who));
        add(g, row, day);
    }
    return true;
}

/* Frames that are out and are to come back. */
static bool add_loans(struct gather *g, struct fault *f)
{
    struct ids found;
    if (!journal_by_range(g->cb->journal, g->arena, "equipment.due", "0",
                          iso(g, g->today + g->reviews_ahead + 1), ROWS_MOST, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        const char *frame = found.uuids[i], *day = value(g, frame, "equipment.due");
        if (strcmp(value(g, frame, "equipment.state"), "out") != 0)
            continue;
        struct due row = {
            .kind = DUE_LOAN, .entity = frame, .who = value(g, frame, "equipment.name")};
        row.when = when_due(g, day, &row.late);
        const char *with = value(g, frame, "equipment.with");
        row.what = *with == '\0' ? "out on loan" : arena_printf(g->arena, "with %s", with);
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
        struct about who = around(g, list[i].entity);
        if (closed(g, who.dog))
            continue; /* it stands on the Conflicts screen */
        struct due row = {
            .kind = DUE_CONFLICT, .entity = list[i].entity, .when = "", .who = who_is(g, &who)};
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

/* A row for the dog of a visit, unless it stands there already or the visit goes on. */
static bool add_seen(struct gather *g, const char *visit, size_t number)
{
    struct about who = around_visit(g, visit);
    if (who.dog[0] == '\0' || known_dog(g, who.dog) || strcmp(value(g, visit, ID_OPEN), "yes") == 0)
        return false;
    day_number day;
    char text[CLOCK_ROOM];
    const char *on = value(g, visit, ID_VISIT_DAY);
    struct due row = {.kind = DUE_RECENT, .entity = who.dog, .who = who_is(g, &who)};
    row.when = !day_of(on, &day)                 ? on
               : day < g->today - DAYS_SAME_YEAR ? iso(g, day)
                                                 : arena_str(g->arena, clock_short(day, text));
    row.what = which_visit(g, who.dog, visit);
    add(g, row, arena_printf(g->arena, "%06zu", number));
    return true;
}

/* The last dogs seen, latest first. Mostly the last few visits tell them; in a large record each
 * visit lies in pages of its own, so the rest are asked for only when those do not. */
static bool add_recent(struct gather *g, struct fault *f)
{
    size_t wanted = LITTLE - g->count, got = 0, seen = 0;
    const char *before = iso(g, g->today + 1);
    struct ids found;
    for (size_t most = wanted;; most = LATEST_MOST) {
        if (!journal_latest(g->cb->journal, g->arena, ID_VISIT_DAY, before, most, &found, f))
            return false;
        for (; seen < found.count && got < wanted; seen++)
            got += add_seen(g, found.uuids[seen], got);
        if (got == wanted || found.count < most || most == LATEST_MOST)
            return true;
    }
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

const char *due_heading(enum due_kind k)
{
    static const char *const headings[] = {
#define X(id, heading, word) heading,
        DUE_KINDS(X)
#undef X
    };
    return headings[k];
}

const char *due_word(enum due_kind k)
{
    static const char *const words[] = {
#define X(id, heading, word) word,
        DUE_KINDS(X)
#undef X
    };
    return words[k];
}

static bool gather_all(struct gather *g, struct fault *f)
{
    return add_visits(g, f) && add_ring_backs(g, f) && add_farewells(g, f) &&
           add_open_calls(g, f) && add_dated(g, DUE_REVIEW, ID_REVIEW_DUE, f) &&
           add_dated(g, DUE_CULTURE, ID_CULTURE_DUE, f) && add_loans(g, f) && add_conflicts(g, f) &&
           (!g->recent || g->count >= LITTLE || add_recent(g, f));
}

static bool look(struct gather *g, struct today *out, struct fault *f)
{
    g->now = clock_now();
    g->today = clock_day(g->now);
    *out = (struct today){0};
    bool looking = journal_look_begin(g->cb->journal);
    bool ok = gather_all(g, f) && journal_count(g->cb->journal, &out->counts, f);
    journal_look_end(g->cb->journal, looking);
    if (!ok)
        return false;
    out->rows = g->rows;
    out->count = g->count;
    out->unsent = unsent_words(g, &out->counts);
    return true;
}

bool today_look(struct casebook *cb, struct arena *a, struct today *out, struct fault *f)
{
    struct gather g = {.cb = cb,
                       .arena = a,
                       .visits_ahead = DAYS_AHEAD,
                       .reviews_ahead = REVIEW_AHEAD,
                       .recent = true};
    return look(&g, out, f);
}

bool today_look_ahead(struct casebook *cb, struct arena *a, int days, struct today *out,
                      struct fault *f)
{
    struct gather g = {.cb = cb, .arena = a, .visits_ahead = days, .reviews_ahead = days};
    return look(&g, out, f);
}
