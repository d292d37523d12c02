/* The hash chain of each device: its encoding is in apply.h. */
#include "base/arena.h"
#include "journal/internal.h"
#include <sodium.h>
#include <string.h>

static void add_number(crypto_generichash_state *h, uint64_t n, size_t bytes)
{
    uint8_t out[8];
    for (size_t i = 0; i < bytes; i++)
        out[i] = (uint8_t)(n >> (8 * i));
    crypto_generichash_update(h, out, bytes);
}

static void add_bytes(crypto_generichash_state *h, const void *bytes, size_t size)
{
    crypto_generichash_update(h, bytes, size);
}

static void add_text(crypto_generichash_state *h, const char *s)
{
    size_t size = strlen(s);
    add_number(h, size, 4);
    add_bytes(h, s, size);
}

void chain_digest(const struct far_entry *e, uint8_t out[HASH_BYTES])
{
    if (e->value) {
        crypto_generichash(out, HASH_BYTES, (const uint8_t *)e->value, strlen(e->value), e->salt,
                           SALT_BYTES);
    } else {
        memcpy(out, e->salt, HASH_BYTES);
    }
}

static bool has_tags(const struct far_entry *e)
{
    for (size_t i = 0; i < e->replaces_count; i++)
        if (e->replaces[i].tag != 0)
            return true;
    return false;
}

static void add_edges(crypto_generichash_state *h, const struct far_entry *e, bool tags)
{
    add_number(h, e->replaces_count, 4);
    for (size_t i = 0; i < e->replaces_count; i++) {
        add_bytes(h, e->replaces[i].at.device, UUID_BYTES);
        add_number(h, e->replaces[i].at.number, 8);
        if (tags)
            add_number(h, e->replaces[i].tag, 8);
    }
}

void chain_hash(const struct far_entry *e, const uint8_t before[HASH_BYTES],
                uint8_t out[HASH_BYTES])
{
    static const char what[][13] = {"amble entry 1", "amble entry 2"};
    uint8_t digest[HASH_BYTES];
    bool tags = has_tags(e);
    crypto_generichash_state h;
    chain_digest(e, digest);
    crypto_generichash_init(&h, NULL, 0, HASH_BYTES);
    add_bytes(&h, what[tags], sizeof what[tags]);
    add_bytes(&h, before, HASH_BYTES);
    add_bytes(&h, e->id.device, UUID_BYTES);
    add_number(&h, e->id.number, 8);
    add_number(&h, (uint64_t)e->kind, 1);
    add_number(&h, e->lamport, 8);
    add_number(&h, (uint64_t)e->claimed_at, 8);
    add_bytes(&h, e->entity, UUID_BYTES);
    add_text(&h, e->entity_kind);
    add_text(&h, e->item);
    add_number(&h, e->has_author, 1);
    if (e->has_author)
        add_bytes(&h, e->author, UUID_BYTES);
    add_text(&h, e->reason);
    add_bytes(&h, digest, HASH_BYTES);
    add_edges(&h, e, tags);
    crypto_generichash_final(&h, out, HASH_BYTES);
}

uint64_t chain_tag(const struct far_entry *e)
{
    static const uint8_t none[HASH_BYTES];
    struct far_entry bare = *e;
    uint8_t hash[HASH_BYTES];
    uint64_t tag = 0;
    bare.id = (struct far_id){0};
    bare.replaces_count = 0;
    chain_hash(&bare, none, hash);
    for (size_t i = 0; i < sizeof tag; i++)
        tag |= (uint64_t)hash[i] << (8 * i);
    return tag != 0 ? tag : 1;
}

/* ---- verifying ------------------------------------------------------------------------------- */

struct walk {
    struct journal *j;
    struct arena *arena;
    const char *device_name;
    int64_t device;
    uint64_t number;
    uint8_t before[HASH_BYTES];
    struct fault *derived; /* kept for the end: it may only follow from a broken chain */
};

/* What is derived from an entry must agree with it too. */
static bool head_verify(struct walk *w, sqlite3_stmt *s, const struct far_entry *e, struct fault *f)
{
    int64_t row = row_id(w->device, e->id.number);
    int64_t entity, item, head = 0, listed = 1;
    bool replaced = false;
    local_numbers(s, &entity, &item);
    if (!entry_replaced(w->j, row, entity, item, e, &replaced, f) ||
        !ask_number(w->j, HEAD_IS, &head, ARGS(num(entity), num(item), num(row), head_key(e)), f) ||
        (device_is_branch(e->id.device) &&
         !ask_number(w->j, BRANCHED_IS, &listed, ARGS(num(entity), num(item), num(row)), f)))
        return false;
    if ((replaced == (head == 1) || listed != 1) && w->derived->kind == FAULT_NONE)
        fail(w->derived, FAULT_DAMAGE,
             "entry %llu of %s (%s) is whole, but the list of current values is wrong about it; "
             "it can be made again",
             (unsigned long long)w->number, w->device_name, e->item);
    return true;
}

static bool entry_verify(struct walk *w, sqlite3_stmt *s, const struct far_entry *e,
                         struct fault *f)
{
    uint8_t hash[HASH_BYTES];
    w->number++;
    if (e->id.number != w->number) {
        return fail(f, FAULT_DAMAGE, "entry %llu of %s is missing or cannot be read",
                    (unsigned long long)w->number, w->device_name);
    }
    chain_hash(e, w->before, hash);
    if (memcmp(hash, e->hash, HASH_BYTES) != 0 || !row_sound(s, e)) {
        return fail(f, FAULT_DAMAGE, "entry %llu of %s (%s) is not what was written",
                    (unsigned long long)w->number, w->device_name, e->item);
    }
    memcpy(w->before, hash, HASH_BYTES);
    return head_verify(w, s, e, f);
}

static bool device_verify(struct walk *w, uint64_t *checked, struct fault *f)
{
    struct tip tip;
    if (!tip_of(w->j, w->device, &tip, f))
        return false;
    struct rows r = ask(w->j, ENTRIES_FROM,
                        ARGS(num(row_id(w->device, 0)), num(row_id(w->device, NUMBER_MAX))), f);
    while (next(&r)) {
        struct far_entry e;
        arena_reset(w->arena);
        if (!far_read(w->j, w->arena, r.s, &e, f) || !entry_verify(w, r.s, &e, f)) {
            done(&r);
            return false;
        }
        (*checked)++;
    }
    if (r.ok && w->number != tip.number) {
        return fail(f, FAULT_DAMAGE, "entry %llu of %s is missing or cannot be read",
                    (unsigned long long)w->number + 1, w->device_name);
    }
    return r.ok;
}

/* The chains end where they end: an entry that lies beside all of them is damage too. */
static bool none_stray(struct journal *j, struct fault *f)
{
    int64_t id = 0;
    if (!ask_number(j, ENTRY_STRAY, &id, NO_ARGS, f))
        return false;
    return id == 0 || fail(f, FAULT_DAMAGE, "entry %llu is of no device that is known here",
                           (unsigned long long)(id & NUMBER_MAX));
}

bool journal_verify(struct journal *j, uint64_t *checked, struct fault *f)
{
    const struct device_state *devices;
    size_t count;
    struct fault derived = {.kind = FAULT_NONE};
    struct arena *a = arena_new(), *each = arena_new();
    *checked = 0;
    bool looking = journal_look_begin(j);
    bool ok = journal_vector(j, a, &devices, &count, f);
    for (size_t i = 0; ok && i < count; i++) {
        char uuid[37];
        uuid_write(devices[i].uuid, uuid);
        const char *name = devices[i].name[0] ? devices[i].name : uuid;
        struct walk w = {.j = j,
                         .arena = each,
                         .device = devices[i].device,
                         .device_name = name,
                         .derived = &derived};
        ok = device_verify(&w, checked, f);
    }
    ok = ok && none_stray(j, f);
    journal_look_end(j, looking);
    arena_free(each);
    arena_free(a);
    if (ok && derived.kind != FAULT_NONE)
        return fail(f, derived.kind, "%s", derived.text);
    return ok;
}
