#include "base/arena.h"
#include "base/clock.h"
#include "base/utf8.h"
#include "journal/internal.h"
#include "journal/travel.h"
#include <stdlib.h>
#include <string.h>

enum { REPLACES_MAX = 1000 };

bool id_check(const char *s, size_t max, const char *what, struct fault *f)
{
    size_t n = strspn(s, "abcdefghijklmnopqrstuvwxyz0123456789_.");
    return (n > 0 && n <= max && s[n] == '\0') ||
           fail(f, FAULT_INPUT, "the %s is no id: a to z, 0 to 9, _ and ., at most %zu", what, max);
}

bool text_check(const char *s, size_t max, const char *what, struct fault *f)
{
    size_t size = strlen(s), bad;
    if (size > max)
        return fail(f, FAULT_LIMIT, "the %s is too long: %zu bytes, at most %zu", what, size, max);
    if (!utf8_valid(s, size, &bad))
        return fail(f, FAULT_INPUT, "the %s is not UTF-8 text (byte %zu)", what, bad + 1);
    return true;
}

static bool sign_value(const char *s)
{
    return strlen(s) == 2 * HASH_BYTES && strspn(s, "0123456789abcdef") == 2 * HASH_BYTES;
}

static bool edit_check(const struct edit *e, struct fault *f)
{
    if (!e->item || !e->item[0])
        return fail(f, FAULT_INPUT, "an entry needs an item");
    if (!id_check(e->item, ITEM_MAX, "item", f) ||
        !text_check(e->value ? e->value : "", JOURNAL_VALUE_MAX, "value", f) ||
        !text_check(e->reason ? e->reason : "", REASON_MAX, "reason", f))
        return false;
    switch (e->kind) {
    case ENTRY_SET:
        return true;
    case ENTRY_ERROR:
        if (!e->reason || !e->reason[0])
            return fail(f, FAULT_INPUT, "\"entered in error\" needs a reason");
        if (e->value && e->value[0])
            return fail(f, FAULT_INPUT, "\"entered in error\" has no value of its own");
        return true;
    case ENTRY_SIGN:
        if (!e->value || !sign_value(e->value))
            return fail(f, FAULT_INPUT, "a sign-off needs the hash of what was signed");
        return true;
    }
    return fail(f, FAULT_INPUT, "no such kind of entry: %d", (int)e->kind);
}

/* ---- what is replaced ------------------------------------------------------------------------ */

static int edge_order(const void *a, const void *b)
{
    const struct far_edge *x = a, *y = b;
    return far_id_order(&x->at, &y->at);
}

static bool replaced_find(struct journal *j, struct arena *a, const struct entry_id *id,
                          int64_t entity, int64_t item, struct far_edge *out, struct fault *f)
{
    bool there = false;
    struct placed p;
    if (id->number > 0 && id->number <= (uint64_t)NUMBER_MAX && id->device < DEVICE_MAX &&
        !entry_at(j, a, row_id(id->device, id->number), &p, &there, f))
        return false;
    if (!there || p.entity != entity || p.item != item) {
        return fail(f, FAULT_INPUT, "entry %llu of device %u is no entry of the same item",
                    (unsigned long long)id->number, (unsigned)id->device);
    }
    *out = (struct far_edge){.at = p.content.id, .tag = chain_tag(&p.content)};
    return true;
}

/* The replaced entries, ascending and each once, as the chain wants them. */
static bool replaces_read(struct journal *j, struct arena *a, const struct edit *e,
                          struct far_entry *out, struct fault *f)
{
    int64_t entity = 0, item = 0;
    if (e->replaces_count == 0)
        return true;
    if (e->replaces_count > REPLACES_MAX)
        return fail(f, FAULT_LIMIT, "one entry cannot replace %zu others", e->replaces_count);
    if (!entity_number(j, out->entity, &entity, f) || !item_number(j, e->item, false, &item, f))
        return false;
    struct far_edge *edges = arena_array(a, e->replaces_count, sizeof *edges);
    for (size_t i = 0; i < e->replaces_count; i++)
        if (!replaced_find(j, a, &e->replaces[i], entity, item, &edges[i], f))
            return false;
    qsort(edges, e->replaces_count, sizeof *edges, edge_order);
    size_t kept = 1;
    for (size_t i = 1; i < e->replaces_count; i++)
        if (edge_order(&edges[kept - 1], &edges[i]) != 0)
            edges[kept++] = edges[i];
    out->replaces = edges;
    out->replaces_count = kept;
    return true;
}

/* Everything but what only the moment of writing can say: number, time, salt, hash. */
static bool edit_read(struct journal *j, struct arena *a, const struct edit *e,
                      struct far_entry *out, struct fault *f)
{
    char kind[40];
    *out = (struct far_entry){.kind = e->kind,
                              .item = e->item,
                              .value = e->value ? e->value : "",
                              .reason = e->reason ? e->reason : "",
                              .has_author = e->author && e->author[0]};
    if (!uuid_need(e->entity, out->entity, "record", f) ||
        (out->has_author && !uuid_need(e->author, out->author, "practitioner", f)))
        return false;
    if (!entity_kind(j, out->entity, kind))
        return fail(f, FAULT_MISSING, "there is no record %s", e->entity);
    out->entity_kind = arena_str(a, kind);
    memcpy(out->id.device, j->self_uuid, UUID_BYTES);
    return replaces_read(j, a, e, out, f);
}

/* ---- writing --------------------------------------------------------------------------------- */

void journal_pretend(struct journal *j, int64_t at)
{
    j->pretended = at;
}

int64_t journal_clock(const struct journal *j)
{
    return j->pretended != 0 ? j->pretended : clock_now();
}

/* No practice counts so far: an entry that came with the highest number there is, from a program
 * that is broken or means harm, leaves none for what comes after it. */
static bool none_after(struct journal *j, struct fault *f)
{
    fail(f, FAULT_LIMIT, "this device has made all the entries it can number");
    struct rows r = ask(j, DEVICES, NO_ARGS, f);
    while (next(&r)) {
        struct tip tip;
        int64_t device = sqlite3_column_int64(r.s, 0);
        const char *name = column_text(r.s, 2);
        if (device == j->self || !tip_of(j, device, &tip, f) || tip.lamport < (uint64_t)NUMBER_MAX)
            continue;
        fail(f, FAULT_REFUSED,
             "entry %llu of \"%s\" leaves no number for another: at the base, amble device retire "
             "\"%s\" --after %llu",
             (unsigned long long)tip.number, name, name, (unsigned long long)tip.number - 1);
    }
    return false;
}

static bool next_in_chain(struct journal *j, struct far_entry *x, struct fault *f)
{
    uint8_t seed[SEED_BYTES];
    if (!tip_load(j, f))
        return false;
    if (j->tip.number >= (uint64_t)NUMBER_MAX || j->tip.lamport >= (uint64_t)NUMBER_MAX)
        return none_after(j, f);
    x->id.number = j->tip.number + 1;
    x->lamport = j->tip.lamport + 1;
    x->claimed_at = journal_clock(j);
    if (!seed_own(j, x->id.number, seed, f))
        return false;
    salt_of(seed, x->id.number, x->salt);
    chain_hash(x, j->tip.hash, x->hash);
    return true;
}

/* The draft of a field ends with the entry that leaves the field, in the same flush. */
static bool write_entry(struct journal *j, const struct far_entry *x, struct fault *f)
{
    return entry_store(j, x, f) &&
           run(j, DRAFT_DROP, ARGS(blob(x->entity, UUID_BYTES), txt(x->item)), f);
}

/* A hash over the edit alone, to know it again when it is tried a second time. */
static void edit_hash(const struct far_entry *x, uint8_t out[HASH_BYTES])
{
    static const uint8_t none[HASH_BYTES];
    chain_hash(x, none, out);
}

static bool arrived_before(struct journal *j, const uint8_t edit[HASH_BYTES])
{
    uint8_t hash[HASH_BYTES] = {0};
    if (!j->tried || memcmp(edit, j->tried_edit, HASH_BYTES) != 0)
        return false;
    struct rows r = ask(j, ENTRY_BRIEF, ARGS(num(j->tried_id)), NULL);
    if (next(&r))
        column_bytes(r.s, 4, hash, HASH_BYTES);
    done(&r);
    return memcmp(hash, j->tried_hash, HASH_BYTES) == 0;
}

static struct entry_id own_id(const struct journal *j, uint64_t number)
{
    return (struct entry_id){.device = (uint32_t)j->self, .number = number};
}

/* Remember what failed: see arrived_before. */
static void tried_keep(struct journal *j, const uint8_t edit[HASH_BYTES], const struct far_entry *x)
{
    j->tried = !j->batch;
    j->tried_id = row_id(j->self, x->id.number);
    memcpy(j->tried_edit, edit, HASH_BYTES);
    memcpy(j->tried_hash, x->hash, HASH_BYTES);
}

static bool append(struct journal *j, struct far_entry *x, struct entry_id *out, struct fault *f)
{
    uint8_t edit[HASH_BYTES];
    edit_hash(x, edit);
    if (arrived_before(j, edit)) {
        j->tried = false;
        *out = own_id(j, (uint64_t)(j->tried_id & NUMBER_MAX));
        change_refuse(j);
        return true;
    }
    if (!next_in_chain(j, x, f)) {
        change_refuse(j);
        return false;
    }
    if (!change_end(j, write_entry(j, x, f), f)) {
        tried_keep(j, edit, x);
        return false;
    }
    j->tried = false;
    j->tip.number = x->id.number;
    j->tip.lamport = x->lamport;
    memcpy(j->tip.hash, x->hash, HASH_BYTES);
    *out = own_id(j, x->id.number);
    return true;
}

bool journal_append(struct journal *j, const struct edit *e, struct entry_id *out, struct fault *f)
{
    struct far_entry x;
    struct entry_id id;
    if (!writable(j, f) || !edit_check(e, f) || !change_begin(j, f))
        return false;
    struct arena *a = arena_new();
    bool ok = edit_read(j, a, e, &x, f);
    if (ok)
        ok = append(j, &x, out ? out : &id, f);
    else
        change_refuse(j);
    arena_free(a);
    return ok;
}
