/* Making bundles out of what others lack. */
#include "base/arena.h"
#include "share/exchange_inside.h"
#include "share/identity.h"
#include <string.h>

/* How far a device with this vector has the entries of `device` as they are here. */
static bool after_of(struct share *s, const struct vector *v, const uint8_t device[UUID_BYTES],
                     uint64_t have, uint64_t *after, struct fault *f)
{
    const struct has *has = has_find(v, device);
    uint8_t hash[HASH_BYTES];
    bool there = false;
    *after = has != NULL ? has->have : 0;
    if (*after > have && held_any(s->journal, device))
        *after = 0; /* what it has more was held back here: the other branch of a copied device */
    if (*after == 0 || *after > have)
        return true;
    if (!journal_hash(s->journal, device, *after, hash, &there, f))
        return false;
    if (!there || memcmp(hash, has->hash, HASH_BYTES) != 0)
        *after = 0; /* another branch: the whole story shows where they part */
    return true;
}

static bool least_after(struct share *s, struct arena *a, const uint8_t *peer,
                        const struct device_state *d, uint64_t *after, struct fault *f)
{
    *after = UINT64_MAX;
    for (size_t i = 0; i < s->devices.count; i++) {
        const struct device *x = &s->devices.list[i];
        struct vector v;
        uint64_t theirs;
        if (peer != NULL ? memcmp(x->uuid, peer, UUID_BYTES) != 0
                         : x->retired || memcmp(x->uuid, s->self, UUID_BYTES) == 0)
            continue;
        if (!vector_of(s, a, x->uuid, &v, f) || !after_of(s, &v, d->uuid, d->have, &theirs, f))
            return false;
        if (theirs < *after)
            *after = theirs;
    }
    return true;
}

bool exchange_wants(struct share *s, struct arena *a, const uint8_t *peer, struct want **out,
                    size_t *count, struct fault *f)
{
    const struct device_state *devices;
    size_t n, kept = 0;
    if (!journal_vector(s->journal, a, &devices, &n, f))
        return false;
    struct want *list = arena_array(a, n, sizeof *list);
    for (size_t i = 0; i < n; i++) {
        uint64_t after;
        if (!least_after(s, a, peer, &devices[i], &after, f))
            return false;
        if (after < devices[i].have) {
            memcpy(list[kept].device, devices[i].uuid, UUID_BYTES);
            list[kept++].after = after;
        }
    }
    *out = list;
    *count = kept;
    return true;
}

/* ---- bundles --------------------------------------------------------------------------------- */

bool exchange_serial(struct share *s, uint64_t *serial, struct fault *f)
{
    struct text out;
    const uint8_t *bytes;
    size_t size;
    struct arena *a = arena_new();
    bool ok = journal_kept(s->journal, a, "serial", &bytes, &size, f);
    struct reader r = reader_of(bytes, size);
    *serial = size > 0 ? take_fixed(&r, 8) + 1 : 1;
    text_init(&out, 8);
    put_fixed(&out, *serial, 8);
    ok = ok && journal_keep(s->journal, "serial", out.s, out.len, f);
    text_free(&out);
    arena_free(a);
    return ok;
}

static void write_holds(const struct packer *p, struct text *holds)
{
    size_t count;
    const struct run *runs = packer_runs(p, &count);
    put_varint(holds, count);
    for (size_t i = 0; i < count; i++) {
        put_bytes(holds, runs[i].device, UUID_BYTES);
        put_varint(holds, runs[i].first);
        put_varint(holds, runs[i].first + runs[i].count - 1);
    }
}

static bool send_one(struct share *s, struct packer *p, const struct sending *how, struct report *r,
                     struct fault *f)
{
    struct text holds, payload, bytes;
    struct bundle b = {.kind = BUNDLE_ENTRIES};
    uint64_t entries = packer_entries(p);
    text_init(&holds, BUNDLE_HOLDS_MOST);
    text_init(&payload, BUNDLE_MOST);
    text_init(&bytes, BUNDLE_MOST);
    memcpy(b.author, s->self, UUID_BYTES);
    if (how->answer != NULL)
        memcpy(b.answer, how->answer, ANSWER_BYTES);
    write_holds(p, &holds);
    bool ok = exchange_serial(s, &b.serial, f) && vector_put(s, &payload, f) &&
              (entries == 0 || packer_done(p, &payload, f));
    b.holds = (const uint8_t *)holds.s;
    b.holds_size = holds.len;
    b.payload = (const uint8_t *)payload.s;
    b.payload_size = payload.len;
    ok =
        ok && bundle_seal(&b, &s->devices, s->keys, &bytes, f) && how->send(how->of, &b, &bytes, f);
    if (ok)
        r->went += entries;
    text_free(&holds);
    text_free(&payload);
    text_free(&bytes);
    return ok;
}

static bool stopped(const struct watch *w, struct report *r)
{
    if (w != NULL && w->stop != NULL && w->stop(w->of))
        r->stopped = true;
    return r->stopped;
}

static void progress(const struct watch *w, uint64_t done, uint64_t total)
{
    if (w != NULL && w->progress != NULL)
        w->progress(w->of, "sending entries", done, total);
}

struct giving {
    struct share *s;
    const struct sending *how;
    const struct watch *watch;
    struct report *report;
    struct packer *packer;
    uint64_t done, total;
    bool sent;
};

static bool send_packer(struct giving *g, struct fault *f)
{
    g->done += packer_entries(g->packer);
    bool ok = send_one(g->s, g->packer, g->how, g->report, f);
    packer_free(g->packer);
    g->packer = packer_new(g->s->journal);
    g->sent = true;
    progress(g->watch, g->done, g->total);
    return ok;
}

static bool give_device(struct giving *g, const struct want *want, struct fault *f)
{
    uint64_t have, at = want->after;
    if (!journal_have(g->s->journal, want->device, &have, f))
        return false;
    while (at < have && !stopped(g->watch, g->report)) {
        if (!packer_add(g->packer, want->device, at, have, &at, f) ||
            (packer_full(g->packer) && !send_packer(g, f)))
            return false;
    }
    return true;
}

bool exchange_give(struct share *s, const struct want *wants, size_t count,
                   const struct sending *how, const struct watch *w, struct report *r,
                   struct fault *f)
{
    struct giving g = {.s = s, .how = how, .watch = w, .report = r};
    bool ok = identity_mark(s->journal, f);
    for (size_t i = 0; ok && i < count; i++) {
        uint64_t have = 0;
        ok = journal_have(s->journal, wants[i].device, &have, f);
        g.total += have - wants[i].after;
    }
    g.packer = packer_new(s->journal);
    for (size_t i = 0; ok && i < count; i++)
        ok = give_device(&g, &wants[i], f);
    if (ok && !r->stopped && (packer_entries(g.packer) > 0 || (how->always && !g.sent)))
        ok = send_packer(&g, f);
    packer_free(g.packer);
    return ok;
}
