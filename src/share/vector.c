/* What each device holds, as it said itself; and what is held back. */
#include "base/arena.h"
#include "share/exchange_inside.h"
#include <sodium.h>
#include <stdio.h>
#include <string.h>

const struct has *has_find(const struct vector *v, const uint8_t device[UUID_BYTES])
{
    for (size_t i = 0; i < v->count; i++)
        if (memcmp(v->list[i].device, device, UUID_BYTES) == 0)
            return &v->list[i];
    return NULL;
}

static void put_has(struct text *out, const struct has *h)
{
    put_bytes(out, h->device, UUID_BYTES);
    put_varint(out, h->have);
    put_bytes(out, h->hash, HASH_BYTES);
}

bool vector_put(struct share *s, struct text *out, struct fault *f)
{
    const struct device_state *devices;
    size_t count, kept = 0;
    struct arena *a = arena_new();
    bool ok = journal_vector(s->journal, a, &devices, &count, f);
    for (size_t i = 0; ok && i < count; i++)
        kept += devices[i].have > 0;
    if (ok)
        put_varint(out, kept);
    for (size_t i = 0; ok && i < count; i++) {
        struct has h = {.have = devices[i].have};
        bool there = false;
        if (h.have == 0)
            continue;
        memcpy(h.device, devices[i].uuid, UUID_BYTES);
        ok = journal_hash(s->journal, h.device, h.have, h.hash, &there, f);
        put_has(out, &h);
    }
    arena_free(a);
    return ok;
}

void vector_take(struct vector *v, struct arena *a, struct reader *r)
{
    v->count = take_count(r, UUID_BYTES + 1 + HASH_BYTES, 10 * DEVICES_MOST);
    v->list = arena_array(a, v->count, sizeof *v->list);
    for (size_t i = 0; i < v->count; i++) {
        take_copy(r, v->list[i].device, UUID_BYTES);
        v->list[i].have = take_varint(r);
        take_copy(r, v->list[i].hash, HASH_BYTES);
        if (v->list[i].have > UINT64_C(1) << 40)
            r->bad = true;
    }
}

static const char *name_of(struct arena *a, const char *what, const uint8_t device[UUID_BYTES])
{
    char uuid[37];
    uuid_write(device, uuid);
    return arena_printf(a, "%s/%s", what, uuid);
}

bool vector_of(struct share *s, struct arena *a, const uint8_t device[UUID_BYTES],
               struct vector *out, struct fault *f)
{
    const uint8_t *bytes;
    size_t size;
    *out = (struct vector){0};
    if (!journal_kept(s->journal, a, name_of(a, "has", device), &bytes, &size, f))
        return false;
    if (bytes == NULL)
        return true;
    struct reader r = reader_of(bytes, size);
    out->serial = take_fixed(&r, 8);
    vector_take(out, a, &r);
    return !r.bad ||
           fail(f, FAULT_DAMAGE, "what %s holds cannot be read again", share_name(s, device));
}

bool vector_keep(struct share *s, const uint8_t device[UUID_BYTES], const struct vector *v,
                 struct fault *f)
{
    struct text out;
    struct arena *a = arena_new();
    text_init(&out, 1 << 20);
    put_fixed(&out, v->serial, 8);
    put_varint(&out, v->count);
    for (size_t i = 0; i < v->count; i++)
        put_has(&out, &v->list[i]);
    bool ok = journal_keep(s->journal, name_of(a, "has", device), out.s, out.len, f);
    text_free(&out);
    arena_free(a);
    return ok;
}

/* ---- quarantine ------------------------------------------------------------------------------ */

bool held_keep(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t first, uint64_t count,
               const char *why, const uint8_t *packed, size_t size, struct fault *f)
{
    uint8_t hash[crypto_generichash_BYTES_MIN];
    char hex[2 * sizeof hash + 1];
    struct text out;
    struct arena *a = arena_new();
    crypto_generichash(hash, sizeof hash, packed, size, NULL, 0);
    sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
    const char *name = arena_printf(a, "%s/%012llu/%s", name_of(a, "held", device),
                                    (unsigned long long)first, hex);
    text_init(&out, BUNDLE_MOST);
    put_bytes(&out, device, UUID_BYTES);
    put_varint(&out, first);
    put_varint(&out, count);
    put_bytes(&out, why, strlen(why) + 1);
    put_bytes(&out, packed, size);
    bool ok = !out.cut ? journal_keep(j, name, out.s, out.len, f)
                       : fail(f, FAULT_LIMIT, "too much would have to be held back at once");
    text_free(&out);
    arena_free(a);
    return ok;
}

struct looking {
    bool (*each)(void *of, const uint8_t device[UUID_BYTES], uint64_t first, uint64_t count,
                 const char *why);
    void *of;
};

static bool held_one(void *of, const char *name, const uint8_t *bytes, size_t size)
{
    struct looking *l = of;
    struct reader r = reader_of(bytes, size);
    uint8_t device[UUID_BYTES];
    (void)name;
    take_copy(&r, device, UUID_BYTES);
    uint64_t first = take_varint(&r), count = take_varint(&r);
    const char *why = take_text(&r);
    return r.bad || l->each(l->of, device, first, count, why);
}

bool held_each(struct journal *j,
               bool (*each)(void *of, const uint8_t device[UUID_BYTES], uint64_t first,
                            uint64_t count, const char *why),
               void *of, struct fault *f)
{
    struct looking l = {.each = each, .of = of};
    return journal_kept_each(j, "held/", held_one, &l, f);
}

static bool found_one(void *of, const char *name, const uint8_t *bytes, size_t size)
{
    (void)name;
    (void)bytes;
    (void)size;
    *(bool *)of = true;
    return false;
}

bool held_any(struct journal *j, const uint8_t device[UUID_BYTES])
{
    bool any = false;
    struct arena *a = arena_new();
    (void)journal_kept_each(j, arena_printf(a, "%s/", name_of(a, "held", device)), found_one, &any,
                            NULL);
    arena_free(a);
    return any;
}

static bool hold_some(struct share *s, const uint8_t device[UUID_BYTES], uint64_t after,
                      uint64_t until, const char *why, uint64_t *reached, struct fault *f)
{
    struct packer *p = packer_new(s->journal);
    struct text packed;
    text_init(&packed, BUNDLE_MOST);
    bool ok = packer_add(p, device, after, until, reached, f);
    uint64_t count = packer_entries(p);
    ok = ok && packer_done(p, &packed, f) &&
         held_keep(s->journal, device, after + 1, count, why, (const uint8_t *)packed.s, packed.len,
                   f);
    text_free(&packed);
    packer_free(p);
    return ok;
}

bool held_withdraw(struct share *s, const uint8_t device[UUID_BYTES], uint64_t after,
                   const char *why, struct fault *f)
{
    uint64_t have = 0, at = after;
    if (!journal_have(s->journal, device, &have, f))
        return false;
    if (have <= after)
        return true;
    while (at < have)
        if (!hold_some(s, device, at, have, why, &at, f))
            return false;
    return journal_withdraw(s->journal, device, after, f);
}
