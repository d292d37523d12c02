/* What the journal holds for the exchange between devices: see travel.h. */
#include "journal/travel.h"
#include "base/arena.h"
#include "journal/internal.h"
#include <sodium.h>
#include <string.h>

/* ---- what share/ keeps ----------------------------------------------------------------------- */

bool journal_kept(struct journal *j, struct arena *a, const char *name, const uint8_t **bytes,
                  size_t *size, struct fault *f)
{
    *bytes = NULL;
    *size = 0;
    struct rows r = ask(j, KEPT_GET, ARGS(txt(name)), f);
    if (next(&r)) {
        *size = (size_t)sqlite3_column_bytes(r.s, 0);
        uint8_t *copy = arena_alloc(a, *size);
        column_bytes(r.s, 0, copy, *size);
        *bytes = copy;
    }
    done(&r);
    return r.ok;
}

static bool change(struct journal *j, enum statement what, const struct arg *args, size_t count,
                   struct fault *f)
{
    return writable(j, f) && change_begin(j, f) && change_end(j, run(j, what, args, count, f), f);
}

bool journal_keep(struct journal *j, const char *name, const void *bytes, size_t size,
                  struct fault *f)
{
    return change(j, KEPT_PUT, ARGS(txt(name), blob(size > 0 ? bytes : "", size)), f);
}

bool journal_keep_drop(struct journal *j, const char *name, struct fault *f)
{
    return change(j, KEPT_DROP, ARGS(txt(name)), f);
}

bool journal_kept_each(struct journal *j, const char *start,
                       bool (*each)(void *of, const char *name, const uint8_t *bytes, size_t size),
                       void *of, struct fault *f)
{
    size_t n = strlen(start);
    struct rows r = ask(j, KEPT_FROM, ARGS(txt(start)), f);
    while (next(&r)) {
        const char *name = column_text(r.s, 0);
        if (strncmp(name, start, n) != 0 ||
            !each(of, name, sqlite3_column_blob(r.s, 1), (size_t)sqlite3_column_bytes(r.s, 1)))
            done(&r);
    }
    return r.ok;
}

/* ---- salts ----------------------------------------------------------------------------------- */

void salt_of(const uint8_t seed[SEED_BYTES], uint64_t number, uint8_t salt[SALT_BYTES])
{
    uint8_t bytes[8], whole[HASH_BYTES];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (uint8_t)(number >> (8 * i));
    crypto_generichash(whole, sizeof whole, bytes, sizeof bytes, seed, SEED_BYTES);
    memcpy(salt, whole, SALT_BYTES);
}

bool seed_find(struct journal *j, int64_t device, uint64_t block, uint8_t seed[SEED_BYTES],
               bool *there, struct fault *f)
{
    struct rows r = ask(j, SEED_GET, ARGS(num(device), num((int64_t)block)), f);
    *there = next(&r);
    if (*there)
        column_bytes(r.s, 0, seed, SEED_BYTES);
    done(&r);
    return r.ok;
}

bool seed_own(struct journal *j, uint64_t number, uint8_t seed[SEED_BYTES], struct fault *f)
{
    uint64_t block = number / SALT_BLOCK;
    bool there = false;
    if (!seed_find(j, j->self, block, seed, &there, f))
        return false;
    if (there)
        return true;
    randombytes_buf(seed, SEED_BYTES);
    return run(j, SEED_PUT, ARGS(num(j->self), num((int64_t)block), blob(seed, SEED_BYTES)), f);
}

bool journal_seed(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t block,
                  uint8_t seed[SEED_BYTES], bool *there, struct fault *f)
{
    int64_t number = 0;
    *there = false;
    return device_number(j, device, false, &number, f) &&
           (number == 0 || seed_find(j, number, block, seed, there, f));
}

bool journal_seed_put(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t block,
                      const uint8_t seed[SEED_BYTES], struct fault *f)
{
    int64_t number = 0;
    if (!writable(j, f) || !change_begin(j, f))
        return false;
    bool ok = device_number(j, device, true, &number, f) &&
              run(j, SEED_PUT, ARGS(num(number), num((int64_t)block), blob(seed, SEED_BYTES)), f);
    return change_end(j, ok, f);
}

/* ---- taking entries out ---------------------------------------------------------------------- */

void journal_self(const struct journal *j, uint8_t uuid[UUID_BYTES])
{
    memcpy(uuid, j->self_uuid, UUID_BYTES);
}

bool journal_have(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t *have,
                  struct fault *f)
{
    int64_t local = 0;
    struct tip tip = {0};
    *have = 0;
    if (!device_number(j, device, false, &local, f) || (local != 0 && !tip_of(j, local, &tip, f)))
        return false;
    *have = tip.number;
    return true;
}

bool journal_hash(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t number,
                  uint8_t hash[HASH_BYTES], bool *there, struct fault *f)
{
    int64_t local = 0;
    *there = false;
    if (!device_number(j, device, false, &local, f))
        return false;
    if (local == 0 || number == 0 || number > (uint64_t)NUMBER_MAX)
        return true;
    struct rows r = ask(j, ENTRY_BRIEF, ARGS(num(row_id(local, number))), f);
    *there = next(&r);
    if (*there)
        column_bytes(r.s, 4, hash, HASH_BYTES);
    done(&r);
    return r.ok;
}

/* Entries are never deleted, say two triggers; this is the one place that may, and it puts them
 * back as they were before anybody else can look. */
enum { GUARDS = 2 };
static const char *const guards[GUARDS] = {"entry_no_delete", "replaced_no_delete"};

static bool sql(struct journal *j, const char *text, struct fault *f)
{
    return sqlite3_exec(j->db, text, NULL, NULL, NULL) == SQLITE_OK ||
           store_fail(j->db, f, "not saved");
}

static bool guards_down(struct journal *j, struct arena *a, const char *made[GUARDS],
                        struct fault *f)
{
    for (int i = 0; i < GUARDS; i++) {
        struct rows r = ask(j, SCHEMA_OF, ARGS(txt(guards[i])), f);
        made[i] = next(&r) ? arena_str(a, column_text(r.s, 0)) : "";
        done(&r);
        if (!r.ok || !sql(j, arena_printf(a, "DROP TRIGGER IF EXISTS %s", guards[i]), f))
            return false;
    }
    return true;
}

struct touched {
    int64_t entity, item;
    const char *name;
};

struct gone {
    int64_t from, to; /* row ids: above from, up to to */
    struct touched *touched;
    size_t touched_count;
    int64_t *earlier; /* what the entries that go had replaced */
    size_t earlier_count;
};

static bool gone_read(struct journal *j, struct arena *a, struct gone *g, struct fault *f)
{
    size_t room = 0, earlier_room = 0;
    struct rows r = ask(j, TOUCHED, ARGS(num(g->from), num(g->to)), f);
    while (next(&r)) {
        g->touched = arena_grow(a, g->touched, g->touched_count, &room, sizeof *g->touched);
        g->touched[g->touched_count++] =
            (struct touched){sqlite3_column_int64(r.s, 0), sqlite3_column_int64(r.s, 1),
                             arena_str(a, column_text(r.s, 2))};
    }
    if (!r.ok)
        return false;
    r = ask(j, EARLIER_OF, ARGS(num(g->from), num(g->to)), f);
    while (next(&r)) {
        g->earlier = arena_grow(a, g->earlier, g->earlier_count, &earlier_room, sizeof *g->earlier);
        g->earlier[g->earlier_count++] = sqlite3_column_int64(r.s, 0);
    }
    return r.ok;
}

/* An entry that nothing replaces any longer is current again. */
static bool current_again(struct journal *j, struct arena *a, int64_t id, struct fault *f)
{
    struct placed p;
    bool there = false, replaced = false;
    if (!entry_at(j, a, id, &p, &there, f))
        return false;
    return !there ||
           (entry_replaced(j, id, p.entity, p.item, &p.content, &replaced, f) &&
            (replaced ||
             run(j, HEAD_PUT, ARGS(num(p.entity), num(p.item), num(id), head_key(&p.content)), f)));
}

/* An entity exists through its entries. */
static bool entity_without_entries(struct journal *j, int64_t entity, struct fault *f)
{
    int64_t any = 0;
    return ask_number(j, ENTITY_HAS, &any, ARGS(num(entity)), f) &&
           (any || (run(j, KIND_SHRINKS, ARGS(num(entity)), f) &&
                    run(j, ENTITY_DROP, ARGS(num(entity)), f)));
}

static bool settle_touched(struct journal *j, struct arena *a, const struct gone *g,
                           struct fault *f)
{
    for (size_t i = 0; i < g->earlier_count; i++)
        if (!current_again(j, a, g->earlier[i], f))
            return false;
    for (size_t i = 0; i < g->touched_count; i++) {
        const struct touched *t = &g->touched[i];
        int64_t differ = 0;
        if (!ask_number(j, HEADS_DIFFER, &differ, ARGS(num(t->entity), num(t->item)), f) ||
            !run(j, differ ? CONFLICT_ADD : CONFLICT_DROP, ARGS(num(t->entity), num(t->item)), f) ||
            (item_searched(t->name) && !index_entity(j, t->entity, f)) ||
            !entity_without_entries(j, t->entity, f))
            return false;
    }
    return true;
}

static bool withdraw(struct journal *j, struct arena *a, int64_t device, uint64_t after,
                     struct fault *f)
{
    const char *made[GUARDS];
    names_forget(j);
    struct gone g = {.from = row_id(device, after), .to = row_id(device, NUMBER_MAX)};
    if (!gone_read(j, a, &g, f) || !guards_down(j, a, made, f) ||
        !run(j, HEADS_GO, ARGS(num(g.from), num(g.to)), f) ||
        !run(j, BRANCHED_GO, ARGS(num(g.from), num(g.to)), f) ||
        !run(j, EDGES_GO, ARGS(num(g.from), num(g.to)), f) ||
        !run(j, ENTRIES_GO, ARGS(num(g.from), num(g.to)), f))
        return false;
    for (int i = 0; i < GUARDS; i++)
        if (!sql(j, made[i], f))
            return false;
    bool ok = settle_touched(j, a, &g, f);
    names_forget(j);
    return ok;
}

bool journal_withdraw(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t after,
                      struct fault *f)
{
    int64_t number = 0;
    if (!writable(j, f) || !device_number(j, device, false, &number, f))
        return false;
    if (number == 0 || after >= (uint64_t)NUMBER_MAX)
        return true;
    if (!change_begin(j, f))
        return false;
    struct arena *a = arena_new();
    bool ok = change_end(j, withdraw(j, a, number, after, f), f);
    j->tip_known = false;
    arena_free(a);
    return ok;
}

/* ---- moving a branch ------------------------------------------------------------------------- */

struct branch {
    struct far_entry *entries;
    size_t count;
    uint8_t from[UUID_BYTES], to[UUID_BYTES];
    uint64_t after;
};

static bool branch_read(struct journal *j, struct arena *a, int64_t device, struct branch *b,
                        struct fault *f)
{
    size_t room = 0;
    struct rows r = ask(j, ENTRIES_FROM,
                        ARGS(num(row_id(device, b->after)), num(row_id(device, NUMBER_MAX))), f);
    while (next(&r)) {
        b->entries = arena_grow(a, b->entries, b->count, &room, sizeof *b->entries);
        if (!far_read(j, a, r.s, &b->entries[b->count++], f)) {
            done(&r);
            return false;
        }
    }
    return r.ok;
}

/* The name of a branch: the same wherever it is moved. */
static void branch_name(const struct branch *b, uint8_t out[UUID_BYTES])
{
    static const char what[] = "amble branch 1";
    crypto_generichash_state h;
    crypto_generichash_init(&h, (const uint8_t *)what, sizeof what - 1, UUID_BYTES);
    crypto_generichash_update(&h, b->from, UUID_BYTES);
    crypto_generichash_update(&h, b->entries[0].hash, HASH_BYTES);
    crypto_generichash_final(&h, out, UUID_BYTES);
    out[6] = (uint8_t)((out[6] & 0x0F) | 0x80); /* RFC 9562: version 8, made by the application */
    out[8] = (uint8_t)((out[8] & 0x3F) | 0x80);
}

static void rename_edges(struct arena *a, const struct branch *b, struct far_entry *e)
{
    struct far_edge *edges = arena_array(a, e->replaces_count, sizeof *edges);
    for (size_t i = 0; i < e->replaces_count; i++) {
        struct far_edge edge = e->replaces[i];
        if (memcmp(edge.at.device, b->from, UUID_BYTES) == 0 && edge.at.number > b->after) {
            memcpy(edge.at.device, b->to, UUID_BYTES);
            edge.at.number -= b->after;
        }
        size_t at = i; /* the chain wants them in order */
        for (; at > 0 && far_id_order(&edges[at - 1].at, &edge.at) > 0; at--)
            edges[at] = edges[at - 1];
        edges[at] = edge;
    }
    e->replaces = edges;
}

static bool branch_write(struct journal *j, struct arena *a, struct branch *b, struct fault *f)
{
    int64_t device = 0;
    struct tip tip = {0};
    uint8_t before[HASH_BYTES] = {0};
    if (!device_number(j, b->to, true, &device, f) || !tip_of(j, device, &tip, f))
        return false;
    for (size_t i = 0; i < b->count; i++) {
        struct far_entry *e = &b->entries[i];
        memcpy(e->id.device, b->to, UUID_BYTES);
        e->id.number -= b->after;
        rename_edges(a, b, e);
        chain_hash(e, before, e->hash);
        memcpy(before, e->hash, HASH_BYTES);
        if (e->id.number > tip.number && !entry_store(j, e, f))
            return false;
    }
    return true;
}

static bool move_branch(struct journal *j, struct arena *a, struct branch *b, struct fault *f)
{
    int64_t device = 0, moved = 0;
    if (!device_number(j, b->from, false, &device, f) || !branch_read(j, a, device, b, f))
        return false;
    if (b->count == 0)
        return fail(f, FAULT_MISSING, "there is nothing after entry %llu to move",
                    (unsigned long long)b->after);
    branch_name(b, b->to);
    if (!withdraw(j, a, device, b->after, f) || !branch_write(j, a, b, f))
        return false;
    if (device != j->self)
        return true;
    struct rows r = ask(j, DEVICE_OF, ARGS(num(device)), f);
    const char *name = next(&r) ? arena_str(a, column_text(r.s, 1)) : "";
    done(&r);
    return r.ok && device_number(j, b->to, true, &moved, f) &&
           run(j, DEVICE_NAME, ARGS(num(moved), txt(name)), f) &&
           run(j, SELF_SET, ARGS(num(moved)), f);
}

bool journal_branch(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t after,
                    uint8_t moved_to[UUID_BYTES], struct fault *f)
{
    struct branch b = {.after = after};
    memcpy(b.from, device, UUID_BYTES);
    if (!writable(j, f) || !change_begin(j, f))
        return false;
    struct arena *a = arena_new();
    bool ok = change_end(j, move_branch(j, a, &b, f), f);
    ok = identity_load(j, f) && ok;
    memcpy(moved_to, b.to, UUID_BYTES);
    arena_free(a);
    return ok;
}
