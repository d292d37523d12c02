/* Quarantine: entries that are held back, and taken after all when the base says so. */
#include "base/arena.h"
#include "share/exchange_inside.h"
#include <sodium.h>
#include <string.h>

static const char *held_folder(struct arena *a, const uint8_t device[UUID_BYTES])
{
    char uuid[37];
    uuid_write(device, uuid);
    return arena_printf(a, "held/%s", uuid);
}

bool held_keep(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t first, uint64_t count,
               const char *why, const uint8_t *packed, size_t size, struct fault *f)
{
    uint8_t hash[crypto_generichash_BYTES_MIN];
    char hex[2 * sizeof hash + 1];
    struct text out;
    struct arena *a = arena_new();
    crypto_generichash(hash, sizeof hash, packed, size, NULL, 0);
    sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
    const char *name =
        arena_printf(a, "%s/%012llu/%s", held_folder(a, device), (unsigned long long)first, hex);
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
    (void)journal_kept_each(j, arena_printf(a, "%s/", held_folder(a, device)), found_one, &any,
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

/* ---- taken after all ------------------------------------------------------------------------- */

struct held_file {
    const char *name;
    const uint8_t *packed;
    size_t size;
};
struct collecting {
    struct arena *a;
    const struct device *of;
    struct held_file *all;
    size_t count, room;
};

/* Those held back for their device's retirement only, up to the number that stands now. What a
 * retired device brought of others proves nothing, and a copy's branch waits for the base. */
static bool collect(void *of, const char *name, const uint8_t *bytes, size_t size)
{
    struct collecting *c = of;
    struct reader r = reader_of(bytes, size);
    (void)take_bytes(&r, UUID_BYTES);
    uint64_t first = take_varint(&r);
    (void)take_varint(&r);
    const char *why = take_text(&r);
    if (r.bad || strcmp(why, HELD_RETIRED) != 0 || (c->of->retired && first > c->of->cut))
        return true;
    c->all = arena_grow(c->a, c->all, c->count, &c->room, sizeof *c->all);
    c->all[c->count++] =
        (struct held_file){.name = arena_str(c->a, name),
                           .packed = (const uint8_t *)arena_strn(c->a, (const char *)r.at, r.left),
                           .size = r.left};
    return true;
}

/* One after the other, each whole or not at all; one that cannot be taken stays where it is. */
static bool look_again(struct share *s, const struct held_file *x, struct report *r,
                       struct fault *f)
{
    struct fault why = {0};
    if (!journal_begin(s->journal, f))
        return false;
    if (!journal_keep_drop(s->journal, x->name, &why) ||
        !exchange_take_held(s, x->packed, x->size, r, &why)) {
        journal_rollback(s->journal);
        return why.kind != FAULT_STORE || fail(f, why.kind, "%s", why.text);
    }
    return journal_commit(s->journal, f);
}

bool held_release(struct share *s, struct report *r, struct fault *f)
{
    bool ok = true;
    for (size_t i = 0; ok && i < s->devices.count; i++) {
        struct arena *a = arena_new();
        struct collecting c = {.a = a, .of = &s->devices.list[i]};
        ok = journal_kept_each(s->journal, arena_printf(a, "%s/", held_folder(a, c.of->uuid)),
                               collect, &c, f);
        for (size_t k = 0; ok && k < c.count; k++)
            ok = look_again(s, &c.all[k], r, f);
        arena_free(a);
    }
    return ok;
}

struct ending {
    const uint8_t *device;
    uint64_t last;
};

static bool ends_at(void *of, const uint8_t device[UUID_BYTES], uint64_t first, uint64_t count,
                    const char *why)
{
    struct ending *e = of;
    if (memcmp(device, e->device, UUID_BYTES) == 0 && strcmp(why, HELD_RETIRED) == 0 &&
        first + count - 1 > e->last)
        e->last = first + count - 1;
    return true;
}

bool held_last(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t *last, struct fault *f)
{
    struct ending e = {.device = device};
    bool ok = held_each(j, ends_at, &e, f);
    *last = e.last;
    return ok;
}
