#include "share/devices.h"
#include "base/arena.h"
#include "base/utf8.h"
#include "share/wire.h"
#include <sodium.h>
#include <stdio.h>
#include <string.h>

static const char magic[] = "amble devices 1";
enum { FLAG_BASE = 1, FLAG_RETIRED = 2 };

const struct device *device_find(const struct devices *d, const uint8_t uuid[UUID_BYTES])
{
    for (size_t i = 0; i < d->count; i++)
        if (memcmp(d->list[i].uuid, uuid, UUID_BYTES) == 0)
            return &d->list[i];
    return NULL;
}

void devices_write(const struct devices *d, const uint8_t root_secret[SIGNATURE_BYTES],
                   struct text *out)
{
    uint8_t signature[SIGNATURE_BYTES];
    size_t from = out->len;
    put_bytes(out, magic, sizeof magic);
    put_bytes(out, d->practice, UUID_BYTES);
    put_bytes(out, d->root, KEY_BYTES);
    put_varint(out, d->version);
    put_varint(out, d->count);
    for (size_t i = 0; i < d->count; i++) {
        const struct device *x = &d->list[i];
        put_bytes(out, x->uuid, UUID_BYTES);
        put_bytes(out, x->sign, KEY_BYTES);
        put_bytes(out, x->box, KEY_BYTES);
        put_fixed(out, (x->base ? FLAG_BASE : 0) | (x->retired ? FLAG_RETIRED : 0), 1);
        put_varint(out, x->cut);
        put_string(out, x->name);
    }
    crypto_sign_detached(signature, NULL, (const uint8_t *)out->s + from, out->len - from,
                         root_secret);
    put_bytes(out, signature, sizeof signature);
}

static void read_device(struct device *x, struct arena *a, struct reader *r)
{
    take_copy(r, x->uuid, UUID_BYTES);
    take_copy(r, x->sign, KEY_BYTES);
    take_copy(r, x->box, KEY_BYTES);
    uint64_t flags = take_fixed(r, 1);
    x->base = (flags & FLAG_BASE) != 0;
    x->retired = (flags & FLAG_RETIRED) != 0;
    x->cut = take_varint(r);
    x->name = take_string(r, a, DEVICE_NAME_MOST);
    if (!utf8_valid(x->name, strlen(x->name), NULL))
        r->bad = true;
}

bool devices_read(struct devices *d, const uint8_t *bytes, size_t size, struct arena *a,
                  struct fault *f)
{
    enum { DEVICE_LEAST = UUID_BYTES + 2 * KEY_BYTES + 3 };
    *d = (struct devices){0};
    if (size < sizeof magic + SIGNATURE_BYTES || memcmp(bytes, magic, sizeof magic) != 0)
        return fail(f, FAULT_DAMAGE, "this is no list of devices");
    struct reader r = reader_of(bytes + sizeof magic, size - sizeof magic - SIGNATURE_BYTES);
    take_copy(&r, d->practice, UUID_BYTES);
    take_copy(&r, d->root, KEY_BYTES);
    if (r.bad || crypto_sign_verify_detached(bytes + size - SIGNATURE_BYTES, bytes,
                                             size - SIGNATURE_BYTES, d->root) != 0)
        return fail(f, FAULT_DAMAGE, "the list of devices was damaged or changed on its way");
    d->version = take_varint(&r);
    d->count = take_count(&r, DEVICE_LEAST, DEVICES_MOST);
    d->list = arena_array(a, d->count, sizeof *d->list);
    for (size_t i = 0; i < d->count; i++)
        read_device(&d->list[i], a, &r);
    if (r.bad || r.left > 0)
        return fail(f, FAULT_DAMAGE, "the list of devices makes no sense");
    return true;
}

void fingerprint(const void *bytes, size_t size, char out[FINGERPRINT_ROOM])
{
    enum { GROUPS = 6 };
    uint8_t hash[HASH_BYTES];
    crypto_generichash(hash, sizeof hash, bytes, size, NULL, 0);
    for (size_t i = 0; i < GROUPS; i++) {
        uint64_t n = 0; /* 40 bits a group: each of the 100,000 numbers is as likely as another */
        for (size_t k = 0; k < 5; k++)
            n = n << 8 | hash[5 * i + k];
        snprintf(out + 6 * i, FINGERPRINT_ROOM - 6 * i, "%05u%s", (unsigned)(n % 100000),
                 i + 1 < GROUPS ? " " : "");
    }
}
