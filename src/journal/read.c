#include "base/arena.h"
#include "base/ident.h"
#include "journal/internal.h"
#include <stdlib.h>
#include <string.h>

/* What was this person's own last doing is looked for among so many of this device's entries. */
enum { EACH_PAGE = 256 };

static bool entries_collect(struct journal *j, struct arena *a, struct rows *r, struct heads *out,
                            struct fault *f)
{
    struct entry *entries = NULL;
    int64_t entity, item;
    size_t count = 0, room = 0;
    while (next(r)) {
        entries = arena_grow(a, entries, count, &room, sizeof *entries);
        entries[count] = entry_read(r->s, a);
        local_numbers(r->s, &entity, &item);
        if (!entry_replaces(j, a, entity, item, &entries[count++], f)) {
            done(r);
            return false;
        }
    }
    *out = (struct heads){.entries = entries, .count = count};
    return r->ok;
}

struct subject {
    int64_t number; /* 0 for one only just made */
    uint8_t uuid[UUID_BYTES];
    char kind[40];
};

/* A fault for one never heard of. */
static bool entity_need(struct journal *j, const char *entity, struct subject *out, struct fault *f)
{
    if (!uuid_need(entity, out->uuid, "record", f) ||
        !entity_look(j, out->uuid, &out->number, out->kind, f))
        return false;
    if (out->number == 0 && !entity_kind(j, out->uuid, out->kind))
        return fail(f, FAULT_MISSING, "there is no record %s", entity);
    return true;
}

/* ---- what stands ----------------------------------------------------------------------------- */

struct head {
    struct entry entry;
    int64_t item;
    char device[IDENT_ROOM];
};

static int in_order(const void *x, const void *y)
{
    const struct head *a = *(struct head *const *)x, *b = *(struct head *const *)y;
    int order = strcmp(a->entry.item, b->entry.item);
    if (order == 0)
        order = (a->entry.lamport > b->entry.lamport) - (a->entry.lamport < b->entry.lamport);
    if (order == 0)
        order = strcmp(a->device, b->device);
    return order != 0 ? order
                      : (a->entry.id.number > b->entry.id.number) -
                            (a->entry.id.number < b->entry.id.number);
}

/* Most reasons, and many values, are empty. */
static const char *text_kept(struct arena *a, sqlite3_stmt *s, int column)
{
    const char *text = column_text(s, column);
    return *text ? arena_str(a, text) : "";
}

/* A row of STANDING_HEADS; false when a name of it is not there, or with a fault. */
static bool head_read(struct journal *j, struct arena *a, sqlite3_stmt *s, struct head *out,
                      struct fault *f)
{
    int64_t row = sqlite3_column_int64(s, 0), item = sqlite3_column_int64(s, 2);
    const char *device = device_uuid(j, row >> NUMBER_BITS, f), *name = item_name(j, item, a, f);
    const char *author = author_uuid(j, sqlite3_column_int64(s, 4), f);
    if (!device || !name || !author)
        return false;
    *out = (struct head){.item = item,
                         .entry = {.id = entry_id_of(row),
                                   .kind = (enum entry_kind)sqlite3_column_int(s, 1),
                                   .item = name,
                                   .value = text_kept(a, s, 3),
                                   .author = arena_str(a, author),
                                   .reason = text_kept(a, s, 5),
                                   .claimed_at = sqlite3_column_int64(s, 6),
                                   .lamport = (uint64_t)sqlite3_column_int64(s, 7),
                                   .replaces_count = (size_t)sqlite3_column_int64(s, 8)}};
    memcpy(out->device, device, sizeof out->device);
    return true;
}

/* The heads of one entity in order, in `a`; of one item, unless that is 0. */
static bool heads_read(struct journal *j, struct arena *a, const struct subject *of, int64_t item,
                       bool replaced, struct heads *out, struct fault *f)
{
    struct fault why = {0};
    struct arena *scratch = arena_new();
    struct head **heads = NULL;
    const struct arg args[] = {num(of->number), num(item)};
    size_t n = 0, room = 0;
    struct rows r =
        item != 0 ? ask(j, STANDING_ITEM, args, 2, &why) : ask(j, STANDING, args, 1, &why);
    while (why.kind == FAULT_NONE && next(&r)) {
        heads = arena_grow(scratch, (void *)heads, n, &room, sizeof *heads);
        heads[n] = arena_alloc(scratch, sizeof **heads);
        n += head_read(j, a, r.s, heads[n], &why);
    }
    done(&r);
    if (n > 1)
        qsort((void *)heads, n, sizeof *heads, in_order);
    struct entry *entries = arena_array(a, n, sizeof *entries);
    char *entity = arena_alloc(a, IDENT_ROOM);
    const char *kind = arena_str(a, of->kind);
    uuid_write(of->uuid, entity);
    for (size_t i = 0; i < n; i++) {
        entries[i] = heads[i]->entry;
        entries[i].entity = entity;
        entries[i].entity_kind = kind;
        if (!replaced)
            entries[i].replaces_count = 0;
        else if (!entry_replaces(j, a, of->number, heads[i]->item, &entries[i], &why))
            break;
    }
    arena_free(scratch);
    if (why.kind != FAULT_NONE)
        return fail(f, why.kind, "%s", why.text);
    *out = (struct heads){.entries = entries, .count = n};
    return true;
}

static bool standing(struct journal *j, struct arena *a, const char *entity, bool replaced,
                     struct heads *out, struct fault *f)
{
    struct subject of;
    bool looking = journal_look_begin(j);
    *out = (struct heads){0};
    bool ok = entity_need(j, entity, &of, f) && heads_read(j, a, &of, 0, replaced, out, f);
    journal_look_end(j, looking);
    return ok;
}

bool journal_heads(struct journal *j, struct arena *a, const char *entity, struct heads *out,
                   struct fault *f)
{
    return standing(j, a, entity, true, out, f);
}

bool journal_standing(struct journal *j, struct arena *a, const char *entity, struct heads *out,
                      struct fault *f)
{
    return standing(j, a, entity, false, out, f);
}

static bool item_standing(struct journal *j, struct arena *a, const char *entity, const char *item,
                          struct heads *out, struct fault *f)
{
    struct subject of;
    int64_t number = 0;
    bool looking = journal_look_begin(j);
    *out = (struct heads){0};
    bool ok = entity_need(j, entity, &of, f) && item_number(j, item, false, &number, f) &&
              (number == 0 || heads_read(j, a, &of, number, false, out, f));
    journal_look_end(j, looking);
    return ok;
}

bool journal_last(struct journal *j, struct arena *a, const char *entity, const char *item,
                  const char **out, struct fault *f)
{
    struct heads h;
    bool ok = item_standing(j, a, entity, item, &h, f);
    *out = h.count > 0 ? h.entries[h.count - 1].value : "";
    return ok;
}

bool journal_first(struct journal *j, struct arena *a, const char *entity, const char *item,
                   const char **out, struct fault *f)
{
    struct heads h;
    size_t i = 0;
    bool ok = item_standing(j, a, entity, item, &h, f);
    while (i < h.count && h.entries[i].kind == ENTRY_ERROR)
        i++;
    *out = i < h.count ? h.entries[i].value : "";
    return ok;
}

enum { VALUES_MOST = 8 };

/* The current values of one item that differ, the first first; at most `most`. */
static size_t values(struct journal *j, struct arena *a, const char *entity, const char *item,
                     size_t most, const char *out[VALUES_MOST])
{
    struct subject of;
    int64_t item_id = 0;
    size_t n = 0;
    bool looking = journal_look_begin(j);
    if (entity_need(j, entity, &of, NULL) && item_number(j, item, false, &item_id, NULL)) {
        struct rows r = ask(j, HEAD_TEXTS, ARGS(num(of.number), num(item_id)), NULL);
        while (n < most && next(&r)) {
            size_t same = 0;
            while (same < n && strcmp(out[same], column_text(r.s, 0)) != 0)
                same++;
            if (same == n)
                out[n++] = arena_str(a, column_text(r.s, 0));
        }
        done(&r);
    }
    journal_look_end(j, looking);
    return n;
}

const char *journal_value(struct journal *j, struct arena *a, const char *entity, const char *item)
{
    const char *all[VALUES_MOST];
    return values(j, a, entity, item, 1, all) > 0 ? all[0] : "";
}

const char *journal_said(struct journal *j, struct arena *a, const char *entity, const char *item)
{
    const char *all[VALUES_MOST], *said = "";
    size_t n = values(j, a, entity, item, VALUES_MOST, all);
    for (size_t i = 0; i < n; i++)
        said = i == 0 ? all[i] : arena_printf(a, "%s or %s", said, all[i]);
    return said;
}

bool journal_history(struct journal *j, struct arena *a, const char *entity, const char *item,
                     struct heads *out, struct fault *f)
{
    struct subject of;
    int64_t item_id = 0;
    bool looking = journal_look_begin(j);
    bool ok = entity_need(j, entity, &of, f) && item_number(j, item, false, &item_id, f);
    *out = (struct heads){0};
    if (ok) {
        struct rows r = ask(j, HISTORY_OF, ARGS(num(of.number), num(item_id)), f);
        ok = entries_collect(j, a, &r, out, f);
    }
    journal_look_end(j, looking);
    return ok;
}

bool journal_recent(struct journal *j, struct arena *a, const char *author, size_t limit,
                    struct heads *out, struct fault *f)
{
    uint8_t uuid[UUID_BYTES];
    bool anybody = author && author[0];
    struct tip tip;
    *out = (struct heads){0};
    if ((anybody && !uuid_need(author, uuid, "practitioner", f)) || !tip_of(j, j->self, &tip, f))
        return false;
    uint64_t from = tip.number > JOURNAL_REACH ? tip.number - JOURNAL_REACH : 0;
    struct arg who = anybody ? blob(uuid, UUID_BYTES) : blob("", 0);
    struct rows r = ask(j, RECENT,
                        ARGS(num(row_id(j->self, from)), num(row_id(j->self, tip.number)), who,
                             num((int64_t)limit)),
                        f);
    return entries_collect(j, a, &r, out, f);
}

const char *journal_kind(struct journal *j, struct arena *a, const char *entity)
{
    uint8_t uuid[UUID_BYTES];
    char kind[40];
    if (!entity || !uuid_read(entity, uuid) || !entity_kind(j, uuid, kind))
        return NULL;
    return arena_str(a, kind);
}

/* ---- looking up by value --------------------------------------------------------------------- */

static bool ids_collect(struct arena *a, struct rows *r, struct ids *out)
{
    const char **uuids = NULL;
    size_t count = 0, room = 0;
    while (next(r)) {
        char *text = arena_alloc(a, IDENT_ROOM);
        uuid_column(r->s, 0, text);
        uuids = arena_grow(a, uuids, count, &room, sizeof *uuids);
        uuids[count++] = text;
    }
    *out = (struct ids){.uuids = uuids, .count = count};
    return r->ok;
}

static bool keyed_number(struct journal *j, const char *item, int64_t *out, struct fault *f)
{
    if (!journal_keyed(item))
        return fail(f, FAULT_INPUT, "%s cannot be looked up by its value", item);
    return item_number(j, item, false, out, f);
}

bool journal_by_value(struct journal *j, struct arena *a, const char *item, const char *value,
                      size_t limit, struct ids *out, struct fault *f)
{
    int64_t number = 0;
    *out = (struct ids){0};
    if (!keyed_number(j, item, &number, f))
        return false;
    struct rows r = ask(j, BY_VALUE, ARGS(num(number), txt(value), num((int64_t)limit)), f);
    return ids_collect(a, &r, out);
}

bool journal_by_range(struct journal *j, struct arena *a, const char *item, const char *from,
                      const char *to, size_t limit, struct ids *out, struct fault *f)
{
    int64_t number = 0;
    *out = (struct ids){0};
    if (!keyed_number(j, item, &number, f))
        return false;
    struct rows r = ask(j, BY_RANGE, ARGS(num(number), txt(from), txt(to), num((int64_t)limit)), f);
    return ids_collect(a, &r, out);
}

bool journal_latest(struct journal *j, struct arena *a, const char *item, const char *to,
                    size_t limit, struct ids *out, struct fault *f)
{
    int64_t number = 0;
    *out = (struct ids){0};
    if (!keyed_number(j, item, &number, f))
        return false;
    struct rows r = ask(j, LATEST, ARGS(num(number), txt(to), num((int64_t)limit)), f);
    return ids_collect(a, &r, out);
}

/* In pages, so that `each` may use the journal. */
bool journal_each(struct journal *j, const char *kind, bool (*each)(void *of, const char *entity),
                  void *of, struct fault *f)
{
    int64_t number = 0, after = 0;
    if (!ask_number(j, KIND_ID, &number, ARGS(txt(kind)), f))
        return false;
    for (;;) {
        uint8_t page[EACH_PAGE][UUID_BYTES];
        size_t count = 0;
        struct rows r = ask(j, ENTITY_PAGE, ARGS(num(number), num(after), num(EACH_PAGE)), f);
        while (next(&r)) {
            after = sqlite3_column_int64(r.s, 0);
            column_bytes(r.s, 1, page[count++], UUID_BYTES);
        }
        if (!r.ok || count == 0)
            return r.ok;
        for (size_t i = 0; i < count; i++) {
            char entity[37];
            uuid_write(page[i], entity);
            if (!each(of, entity))
                return true;
        }
    }
}

/* ---- conflicts, counts ----------------------------------------------------------------------- */

bool journal_conflicts(struct journal *j, struct arena *a, size_t limit,
                       const struct conflict **out, size_t *count, struct fault *f)
{
    struct conflict *all = NULL;
    size_t n = 0, room = 0;
    struct rows r = ask(j, CONFLICTS, ARGS(num((int64_t)limit)), f);
    while (next(&r)) {
        char *entity = arena_alloc(a, IDENT_ROOM);
        uuid_column(r.s, 0, entity);
        all = arena_grow(a, all, n, &room, sizeof *all);
        all[n++] = (struct conflict){.entity = entity,
                                     .entity_kind = arena_str(a, column_text(r.s, 1)),
                                     .item = arena_str(a, column_text(r.s, 2))};
    }
    *out = all;
    *count = n;
    return r.ok;
}

static bool unsent_count(struct journal *j, const struct device_state *devices, size_t count,
                         struct journal_counts *out, struct fault *f)
{
    uint64_t have = 0, holds = 0;
    for (size_t i = 0; i < count; i++)
        if (devices[i].device == j->self)
            have = devices[i].have;
        else if (devices[i].holds > holds)
            holds = devices[i].holds;
    out->unsent = have > holds ? have - holds : 0;
    if (out->unsent == 0)
        return true;
    struct rows r = ask(j, ENTRY_BRIEF, ARGS(num(row_id(j->self, holds + 1))), f);
    if (next(&r))
        out->oldest_unsent = sqlite3_column_int64(r.s, 3);
    done(&r);
    return r.ok;
}

bool journal_count(struct journal *j, struct journal_counts *out, struct fault *f)
{
    const struct device_state *devices = NULL;
    size_t count = 0;
    int64_t entities = 0, dogs = 0, conflicts = 0;
    *out = (struct journal_counts){0};
    struct arena *a = arena_new();
    bool looking = journal_look_begin(j);
    bool ok = journal_vector(j, a, &devices, &count, f) &&
              ask_number(j, ENTITY_LAST, &entities, NO_ARGS, f) &&
              ask_number(j, KIND_MEMBERS, &dogs, ARGS(txt("dog")), f) &&
              ask_number(j, CONFLICT_COUNT, &conflicts, NO_ARGS, f) &&
              unsent_count(j, devices, count, out, f);
    journal_look_end(j, looking);
    for (size_t i = 0; i < count; i++)
        out->entries += devices[i].have;
    out->entities = (uint64_t)entities;
    out->dogs = (uint64_t)dogs;
    out->conflicts = (uint64_t)conflicts;
    out->devices = count;
    arena_free(a);
    return ok;
}
