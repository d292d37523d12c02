/* What each device holds, as it said itself. */
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
