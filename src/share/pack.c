/* Bytes into entries: see pack.h. Nothing here is believed before it is looked at. */
#include "share/pack.h"
#include "base/arena.h"
#include "share/pack_inside.h"
#include "share/wire.h"
#include <string.h>
#include <zlib.h>

enum { NAMES_MOST = 1 << 20, EDGES_MOST = 10000 };

struct record_name {
    const uint8_t *uuid;
    const char *kind;
};

struct run_seeds {
    uint64_t *blocks;
    const uint8_t **seeds;
    size_t count;
};

struct pack {
    const uint8_t *uuids; /* 16 bytes each */
    const char **words;
    struct record_name *records;
    struct run *runs;
    struct run_seeds *seeds;
    size_t uuid_count, word_count, record_count, run_count;
    uint64_t version, entries;
    struct reader streams[STREAM_COUNT];
};

static bool damaged(struct fault *f)
{
    return fail(f, FAULT_DAMAGE, "the entries in it make no sense");
}

static bool inflated(const uint8_t *bytes, size_t size, struct arena *a, struct reader *out,
                     struct fault *f)
{
    struct reader r = reader_of(bytes, size);
    uLongf raw = (uLongf)take_fixed(&r, 4), got = raw;
    if (r.bad)
        return damaged(f);
    if (raw > PACK_RAW)
        return fail(f, FAULT_LIMIT, "its entries would unpack to %lu bytes, more than %d",
                    (unsigned long)raw, PACK_RAW);
    uint8_t *to = arena_alloc(a, raw);
    uLong left = (uLong)r.left;
    if (uncompress2(to, &got, r.at, &left) != Z_OK || got != raw || left != r.left)
        return damaged(f);
    *out = reader_of(to, raw);
    return true;
}

static const uint8_t *uuid_at(struct pack *p, struct reader *r)
{
    uint64_t at = take_varint(r);
    if (at >= p->uuid_count)
        r->bad = true;
    return r->bad ? NULL : p->uuids + at * UUID_BYTES;
}

static const char *word_at(const struct pack *p, struct reader *r)
{
    uint64_t at = take_varint(r);
    if (at >= p->word_count)
        r->bad = true;
    return r->bad ? "" : p->words[at];
}

static void read_tables(struct pack *p, struct arena *a, struct reader *r)
{
    p->uuid_count = take_count(r, UUID_BYTES, NAMES_MOST);
    p->uuids = take_bytes(r, p->uuid_count * UUID_BYTES);
    p->word_count = take_count(r, 1, NAMES_MOST);
    p->words = arena_array(a, p->word_count, sizeof *p->words);
    for (size_t i = 0; i < p->word_count; i++)
        p->words[i] = take_text(r);
    p->record_count = take_count(r, UUID_BYTES + 1, NAMES_MOST);
    p->records = arena_array(a, p->record_count, sizeof *p->records);
    for (size_t i = 0; i < p->record_count; i++) {
        p->records[i].uuid = take_bytes(r, UUID_BYTES);
        p->records[i].kind = word_at(p, r);
    }
}

static void read_seeds(struct run_seeds *s, struct arena *a, struct reader *r)
{
    s->count = take_count(r, 1 + SEED_BYTES, PACK_ENTRIES);
    s->blocks = arena_array(a, s->count, sizeof *s->blocks);
    s->seeds = arena_array(a, s->count, sizeof *s->seeds);
    for (size_t i = 0; i < s->count; i++) {
        s->blocks[i] = take_varint(r);
        s->seeds[i] = take_bytes(r, SEED_BYTES);
    }
}

static void read_runs(struct pack *p, struct arena *a, struct reader *r)
{
    p->run_count = take_count(r, 3 + 2 * HASH_BYTES, RUNS_MOST);
    p->runs = arena_array(a, p->run_count, sizeof *p->runs);
    p->seeds = arena_array(a, p->run_count, sizeof *p->seeds);
    for (size_t i = 0; i < p->run_count && !r->bad; i++) {
        struct run *run = &p->runs[i];
        const uint8_t *device = uuid_at(p, r);
        if (device != NULL)
            memcpy(run->device, device, UUID_BYTES);
        run->first = take_varint(r);
        run->count = take_varint(r);
        take_copy(r, run->before, HASH_BYTES);
        take_copy(r, run->last, HASH_BYTES);
        read_seeds(&p->seeds[i], a, r);
        if (run->first == 0 || run->first > (UINT64_C(1) << 40) || run->count == 0 ||
            run->count > PACK_ENTRIES)
            r->bad = true;
        p->entries += run->count;
    }
}

bool pack_open(struct pack **out, const uint8_t *bytes, size_t size, struct arena *a,
               struct fault *f)
{
    struct reader r;
    struct pack *p = arena_alloc(a, sizeof *p);
    if (!inflated(bytes, size, a, &r, f))
        return false;
    p->version = take_fixed(&r, 1);
    if (!r.bad && p->version > PACK_VERSION)
        return fail(f, FAULT_REFUSED, "a newer amble made it: update this one");
    read_tables(p, a, &r);
    read_runs(p, a, &r);
    for (int i = 0; i < (p->version > 1 ? STREAM_COUNT : STREAM_TAGS); i++)
        p->streams[i] = take_part(&r);
    if (r.bad || r.left > 0 || p->version == 0)
        return damaged(f);
    if (p->entries > PACK_ENTRIES)
        return fail(f, FAULT_LIMIT, "it holds %llu entries, more than %d",
                    (unsigned long long)p->entries, PACK_ENTRIES);
    *out = p;
    return true;
}

const struct run *pack_runs(const struct pack *p, size_t *count)
{
    *count = p->run_count;
    return p->runs;
}

bool pack_seeds(const struct pack *p, size_t at,
                bool (*each)(void *of, uint64_t block, const uint8_t seed[SEED_BYTES]), void *of)
{
    const struct run_seeds *s = &p->seeds[at];
    for (size_t i = 0; i < s->count; i++)
        if (!each(of, s->blocks[i], s->seeds[i]))
            return false;
    return true;
}

/* ---- one entry after the other --------------------------------------------------------------- */

struct unpacking {
    struct pack p; /* a copy: its streams are used up */
    struct arena *arena;
    int64_t time, lamport, record;
    const uint8_t *author;
    uint8_t before[HASH_BYTES];
    size_t seed; /* of the run, where the last was found */
    bool bad;
};

static void read_edges(struct unpacking *u, struct far_entry *e)
{
    struct reader *r = &u->p.streams[STREAM_EDGES], *tags = &u->p.streams[STREAM_TAGS];
    size_t count = take_count(r, 2, EDGES_MOST);
    struct far_edge *edges = arena_array(u->arena, count, sizeof *edges);
    for (size_t i = 0; i < count; i++) {
        const uint8_t *device = uuid_at(&u->p, r);
        if (device != NULL)
            memcpy(edges[i].at.device, device, UUID_BYTES);
        edges[i].at.number = e->id.number - (uint64_t)take_signed(r);
        edges[i].tag = u->p.version > 1 ? take_fixed(tags, 8) : 0;
    }
    e->replaces = edges;
    e->replaces_count = count;
    u->bad = u->bad || r->bad || tags->bad || count == 0;
}

static void read_salt(struct unpacking *u, size_t run, unsigned head, struct far_entry *e)
{
    const struct run_seeds *s = &u->p.seeds[run];
    struct reader *r = &u->p.streams[STREAM_SALTS];
    if (head & HEAD_SALT) {
        take_copy(r, e->salt, e->value == NULL ? HASH_BYTES : SALT_BYTES);
        u->bad = u->bad || r->bad;
        return;
    }
    uint64_t block = e->id.number / SALT_BLOCK;
    while (u->seed < s->count && s->blocks[u->seed] < block)
        u->seed++;
    if (u->seed < s->count && s->blocks[u->seed] == block && e->value != NULL)
        salt_of(s->seeds[u->seed], e->id.number, e->salt);
    else
        u->bad = true;
}

static void read_author(struct unpacking *u, unsigned head, struct far_entry *e)
{
    struct reader *r = &u->p.streams[STREAM_AUTHORS];
    if (!(head & HEAD_SAME_AUTHOR)) {
        uint64_t at = take_varint(r);
        if (at > u->p.uuid_count)
            r->bad = true;
        u->author = r->bad || at == 0 ? NULL : u->p.uuids + (at - 1) * UUID_BYTES;
        u->bad = u->bad || r->bad;
    }
    e->has_author = u->author != NULL;
    if (u->author != NULL)
        memcpy(e->author, u->author, UUID_BYTES);
}

static void read_names(struct unpacking *u, struct far_entry *e)
{
    struct reader *records = &u->p.streams[STREAM_RECORDS];
    u->record = (int64_t)((uint64_t)u->record + (uint64_t)take_signed(records));
    if (records->bad || u->record < 0 || (uint64_t)u->record >= u->p.record_count) {
        u->bad = true;
        return;
    }
    memcpy(e->entity, u->p.records[u->record].uuid, UUID_BYTES);
    e->entity_kind = u->p.records[u->record].kind;
    e->item = word_at(&u->p, &u->p.streams[STREAM_ITEMS]);
    u->bad = u->bad || u->p.streams[STREAM_ITEMS].bad;
}

static void read_texts(struct unpacking *u, unsigned head, struct far_entry *e)
{
    struct reader *r = &u->p.streams[STREAM_TEXTS];
    e->value = head & HEAD_ERASED ? NULL : take_text(r);
    e->reason = head & HEAD_REASON ? take_text(r) : "";
    u->bad = u->bad || r->bad;
}

static bool read_entry(struct unpacking *u, size_t run, struct far_entry *e)
{
    struct reader *times = &u->p.streams[STREAM_TIMES], *orders = &u->p.streams[STREAM_LAMPORTS];
    unsigned head = (unsigned)take_fixed(&u->p.streams[STREAM_HEADS], 1);
    e->kind = (enum entry_kind)(head & HEAD_KIND);
    e->item = e->entity_kind = e->reason = "";
    read_names(u, e);
    read_author(u, head, e);
    u->time = (int64_t)((uint64_t)u->time + (uint64_t)take_signed(times));
    u->lamport = (int64_t)((uint64_t)u->lamport + (uint64_t)take_signed(orders));
    e->claimed_at = u->time;
    e->lamport = (uint64_t)u->lamport;
    read_texts(u, head, e);
    if (head & HEAD_EDGES)
        read_edges(u, e);
    read_salt(u, run, head, e);
    return !u->bad && !times->bad && !orders->bad && !u->p.streams[STREAM_HEADS].bad;
}

/* 1: go on, 0: `each` has enough, -1: damaged */
static int unpack_run(struct unpacking *u, size_t at,
                      bool (*each)(void *of, size_t run, const struct far_entry *e), void *of)
{
    const struct run *run = &u->p.runs[at];
    memcpy(u->before, run->before, HASH_BYTES);
    u->seed = 0;
    for (uint64_t i = 0; i < run->count; i++) {
        struct far_entry e = {.id.number = run->first + i};
        arena_reset(u->arena);
        memcpy(e.id.device, run->device, UUID_BYTES);
        if (!read_entry(u, at, &e))
            return -1;
        chain_hash(&e, u->before, e.hash);
        e.after = u->before;
        bool more = each(of, at, &e);
        memcpy(u->before, e.hash, HASH_BYTES);
        if (!more)
            return 0;
    }
    return memcmp(u->before, run->last, HASH_BYTES) == 0 ? 1 : -1;
}

bool pack_each(const struct pack *p, bool (*each)(void *of, size_t run, const struct far_entry *e),
               void *of, struct fault *f)
{
    struct unpacking u = {.p = *p, .arena = arena_new()};
    int how = 1;
    for (size_t i = 0; i < p->run_count && how > 0; i++)
        how = unpack_run(&u, i, each, of);
    for (int i = 0; i < STREAM_COUNT && how > 0; i++)
        if (u.p.streams[i].left > 0)
            how = -1;
    arena_free(u.arena);
    return how >= 0 || damaged(f);
}
