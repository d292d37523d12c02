/* Entries into bytes: see pack.h. */
#include "base/arena.h"
#include "share/pack.h"
#include "share/pack_inside.h"
#include "share/wire.h"
#include <string.h>
#include <zlib.h>

/* ---- numbering names ------------------------------------------------------------------------- */

/* Keys in the order they were first seen. */
struct numbered {
    struct key {
        const void *bytes;
        size_t size, extra;
    } * keys;
    size_t count, room;
    uint32_t *slots; /* key + 1, 0 is free; a power of two of them */
    size_t slot_count;
};

static size_t slot_of(const struct numbered *t, const void *bytes, size_t size)
{
    uint64_t h = UINT64_C(0xcbf29ce484222325); /* FNV-1a */
    const uint8_t *b = bytes;
    for (size_t i = 0; i < size; i++)
        h = (h ^ b[i]) * UINT64_C(0x100000001b3);
    size_t at = (size_t)(h ^ h >> 32) & (t->slot_count - 1);
    while (t->slots[at] != 0) {
        const struct key *k = &t->keys[t->slots[at] - 1];
        if (k->size == size && memcmp(k->bytes, bytes, size) == 0)
            break;
        at = (at + 1) & (t->slot_count - 1);
    }
    return at;
}

static void numbered_widen(struct numbered *t, struct arena *a)
{
    t->slot_count = t->slot_count > 0 ? t->slot_count * 2 : 64;
    t->slots = arena_array(a, t->slot_count, sizeof *t->slots);
    for (size_t i = 0; i < t->count; i++)
        t->slots[slot_of(t, t->keys[i].bytes, t->keys[i].size)] = (uint32_t)i + 1;
}

static size_t number_for(struct numbered *t, struct arena *a, const void *bytes, size_t size,
                         size_t extra)
{
    if (t->count * 2 >= t->slot_count)
        numbered_widen(t, a);
    size_t at = slot_of(t, bytes, size);
    if (t->slots[at] == 0) {
        t->keys = arena_grow(a, t->keys, t->count, &t->room, sizeof *t->keys);
        t->keys[t->count++] = (struct key){arena_strn(a, bytes, size), size, extra};
        t->slots[at] = (uint32_t)t->count;
    }
    return t->slots[at] - 1;
}

static size_t number_for_text(struct numbered *t, struct arena *a, const char *s)
{
    return number_for(t, a, s, strlen(s), 0);
}

/* ---- gathering ------------------------------------------------------------------------------- */

struct seeds {
    uint64_t *blocks;
    uint8_t (*seeds)[SEED_BYTES];
    size_t count, room, seed_room;
};

struct packer {
    struct journal *j;
    struct arena *arena;
    struct numbered uuids, words, records;
    struct run *runs;
    struct seeds *seeds; /* of each run */
    size_t run_count, run_room, seeds_room, entries;
    struct text streams[STREAM_COUNT];
    int64_t time, lamport, record; /* of the entry before */
    uint8_t author[UUID_BYTES];
    bool has_author, any;
    /* the stretch that is being added */
    uint64_t until, block;
    uint8_t seed[SEED_BYTES];
    bool block_known, seed_there;
    struct fault *fault;
    bool failed;
};

struct packer *packer_new(struct journal *j)
{
    struct arena *a = arena_new();
    struct packer *p = arena_alloc(a, sizeof *p);
    p->j = j;
    p->arena = a;
    for (int i = 0; i < STREAM_COUNT; i++)
        text_init(&p->streams[i], PACK_RAW);
    return p;
}

void packer_free(struct packer *p)
{
    if (p == NULL)
        return;
    for (int i = 0; i < STREAM_COUNT; i++)
        text_free(&p->streams[i]);
    arena_free(p->arena);
}

size_t packer_entries(const struct packer *p)
{
    return p->entries;
}

const struct run *packer_runs(const struct packer *p, size_t *count)
{
    *count = p->run_count;
    return p->runs;
}

bool packer_full(const struct packer *p)
{
    size_t bytes = 0;
    for (int i = 0; i < STREAM_COUNT; i++)
        bytes += p->streams[i].len;
    return bytes >= PACK_ENOUGH || p->entries >= PACK_ENTRIES || p->run_count >= RUNS_MOST;
}

static bool seed_listed(const struct seeds *s, uint64_t block)
{
    return s->count > 0 && s->blocks[s->count - 1] == block;
}

/* Does the salt follow from a seed? Then the seed goes along, once for its block. */
static bool salt_follows(struct packer *p, const struct far_entry *e)
{
    uint8_t salt[SALT_BYTES];
    uint64_t block = e->id.number / SALT_BLOCK;
    if (e->value == NULL)
        return false;
    if (!p->block_known || p->block != block) {
        p->block = block;
        p->block_known = true;
        if (!journal_seed(p->j, e->id.device, block, p->seed, &p->seed_there, p->fault))
            p->failed = true;
    }
    if (!p->seed_there)
        return false;
    salt_of(p->seed, e->id.number, salt);
    if (memcmp(salt, e->salt, SALT_BYTES) != 0)
        return false;
    struct seeds *s = &p->seeds[p->run_count - 1];
    if (!seed_listed(s, block)) {
        s->blocks = arena_grow(p->arena, s->blocks, s->count, &s->room, sizeof *s->blocks);
        s->seeds = arena_grow(p->arena, s->seeds, s->count, &s->seed_room, sizeof *s->seeds);
        s->blocks[s->count] = block;
        memcpy(s->seeds[s->count++], p->seed, SEED_BYTES);
    }
    return true;
}

static void add_edges(struct packer *p, const struct far_entry *e)
{
    struct text *out = &p->streams[STREAM_EDGES];
    put_varint(out, e->replaces_count);
    for (size_t i = 0; i < e->replaces_count; i++) {
        const struct far_edge *edge = &e->replaces[i];
        put_varint(out, number_for(&p->uuids, p->arena, edge->at.device, UUID_BYTES, 0));
        put_signed(out, (int64_t)e->id.number - (int64_t)edge->at.number);
        put_fixed(&p->streams[STREAM_TAGS], edge->tag, 8);
    }
}

static bool add_author(struct packer *p, const struct far_entry *e)
{
    if (p->any && p->has_author == e->has_author && memcmp(p->author, e->author, UUID_BYTES) == 0)
        return true;
    put_varint(&p->streams[STREAM_AUTHORS],
               e->has_author ? number_for(&p->uuids, p->arena, e->author, UUID_BYTES, 0) + 1 : 0);
    p->has_author = e->has_author;
    memcpy(p->author, e->author, UUID_BYTES);
    return false;
}

static void add_entry(struct packer *p, const struct far_entry *e)
{
    struct text *out = p->streams;
    size_t kind = number_for_text(&p->words, p->arena, e->entity_kind);
    int64_t record = (int64_t)number_for(&p->records, p->arena, e->entity, UUID_BYTES, kind);
    unsigned head = (unsigned)e->kind & HEAD_KIND;
    head |= add_author(p, e) ? HEAD_SAME_AUTHOR : 0;
    put_signed(&out[STREAM_RECORDS], record - p->record);
    put_varint(&out[STREAM_ITEMS], number_for_text(&p->words, p->arena, e->item));
    put_signed(&out[STREAM_TIMES], (int64_t)((uint64_t)e->claimed_at - (uint64_t)p->time));
    put_signed(&out[STREAM_LAMPORTS], (int64_t)e->lamport - p->lamport);
    if (e->value == NULL)
        head |= HEAD_ERASED;
    else
        put_bytes(&out[STREAM_TEXTS], e->value, strlen(e->value) + 1);
    if (e->reason[0] != '\0') {
        head |= HEAD_REASON;
        put_bytes(&out[STREAM_TEXTS], e->reason, strlen(e->reason) + 1);
    }
    if (e->replaces_count > 0) {
        head |= HEAD_EDGES;
        add_edges(p, e);
    }
    if (!salt_follows(p, e)) {
        head |= HEAD_SALT;
        put_bytes(&out[STREAM_SALTS], e->salt, e->value == NULL ? HASH_BYTES : SALT_BYTES);
    }
    text_addc(&out[STREAM_HEADS], (char)(uint8_t)head);
    p->record = record;
    p->time = e->claimed_at;
    p->lamport = (int64_t)e->lamport;
    p->any = true;
}

static bool gather(void *of, const struct far_entry *e)
{
    struct packer *p = of;
    struct run *run = &p->runs[p->run_count - 1];
    if (e->id.number > p->until || p->failed)
        return false;
    add_entry(p, e);
    run->count++;
    memcpy(run->last, e->hash, HASH_BYTES);
    p->entries++;
    return !packer_full(p);
}

bool packer_add(struct packer *p, const uint8_t device[UUID_BYTES], uint64_t after, uint64_t until,
                uint64_t *reached, struct fault *f)
{
    *reached = after;
    if (after >= until || packer_full(p))
        return true;
    p->runs = arena_grow(p->arena, p->runs, p->run_count, &p->run_room, sizeof *p->runs);
    p->seeds = arena_grow(p->arena, p->seeds, p->run_count, &p->seeds_room, sizeof *p->seeds);
    struct run *run = &p->runs[p->run_count++];
    *run = (struct run){.first = after + 1};
    p->seeds[p->run_count - 1] = (struct seeds){0};
    memcpy(run->device, device, UUID_BYTES);
    number_for(&p->uuids, p->arena, device, UUID_BYTES, 0);
    bool there = false;
    if (!journal_hash(p->j, device, after, run->before, &there, f))
        return false;
    p->until = until;
    p->block_known = false;
    p->fault = f;
    if (!journal_entries(p->j, device, after, gather, p, f) || p->failed)
        return false;
    run = &p->runs[p->run_count - 1];
    *reached = after + run->count;
    if (run->count == 0)
        p->run_count--;
    return true;
}

/* ---- writing --------------------------------------------------------------------------------- */

static void write_tables(const struct packer *p, struct text *raw)
{
    put_fixed(raw, PACK_VERSION, 1);
    put_varint(raw, p->uuids.count);
    for (size_t i = 0; i < p->uuids.count; i++)
        put_bytes(raw, p->uuids.keys[i].bytes, UUID_BYTES);
    put_varint(raw, p->words.count);
    for (size_t i = 0; i < p->words.count; i++)
        put_bytes(raw, p->words.keys[i].bytes, p->words.keys[i].size + 1);
    put_varint(raw, p->records.count);
    for (size_t i = 0; i < p->records.count; i++) {
        put_bytes(raw, p->records.keys[i].bytes, UUID_BYTES);
        put_varint(raw, p->records.keys[i].extra);
    }
}

static void write_runs(struct packer *p, struct text *raw)
{
    put_varint(raw, p->run_count);
    for (size_t i = 0; i < p->run_count; i++) {
        const struct run *run = &p->runs[i];
        put_varint(raw, number_for(&p->uuids, p->arena, run->device, UUID_BYTES, 0));
        put_varint(raw, run->first);
        put_varint(raw, run->count);
        put_bytes(raw, run->before, HASH_BYTES);
        put_bytes(raw, run->last, HASH_BYTES);
        put_varint(raw, p->seeds[i].count);
        for (size_t n = 0; n < p->seeds[i].count; n++) {
            put_varint(raw, p->seeds[i].blocks[n]);
            put_bytes(raw, p->seeds[i].seeds[n], SEED_BYTES);
        }
    }
}

static bool deflated(const struct text *raw, struct text *out, struct fault *f)
{
    uLongf size = compressBound(raw->len);
    struct arena *a = arena_new();
    uint8_t *bytes = arena_alloc(a, size);
    bool ok = compress2(bytes, &size, (const Bytef *)raw->s, raw->len, 6) == Z_OK;
    if (ok) {
        put_fixed(out, raw->len, 4);
        put_bytes(out, bytes, size);
    }
    arena_free(a);
    return (ok && !out->cut) || fail(f, FAULT_LIMIT, "the entries do not fit into one bundle");
}

bool packer_done(struct packer *p, struct text *out, struct fault *f)
{
    struct text raw;
    text_init(&raw, PACK_RAW);
    write_tables(p, &raw);
    write_runs(p, &raw);
    for (int i = 0; i < STREAM_COUNT; i++) {
        put_varint(&raw, p->streams[i].len);
        put_bytes(&raw, p->streams[i].s, p->streams[i].len);
    }
    bool ok = !raw.cut ? deflated(&raw, out, f)
                       : fail(f, FAULT_LIMIT, "the entries do not fit into one bundle");
    text_free(&raw);
    return ok;
}
