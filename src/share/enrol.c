#include "share/enrol.h"
#include "base/arena.h"
#include "base/ident.h"
#include "base/utf8.h"
#include "journal/travel.h"
#include "share/wire.h"
#include <sodium.h>
#include <stdio.h>
#include <string.h>

static const char request_title[] = "amble device request 1",
                  reply_title[] = "amble device reply 1";
enum { TEXT_MOST = 64 << 10 };

static bool name_check(const char *name, struct fault *f)
{
    size_t n = strlen(name);
    if (n == 0 || n > DEVICE_NAME_MOST || !utf8_valid(name, n, NULL) || !utf8_plain(name, false))
        return fail(f, FAULT_INPUT,
                    "a device's name is a short text of one line, such as Mara's "
                    "laptop");
    return true;
}

/* ---- the base -------------------------------------------------------------------------------- */

static void device_fill(struct device *d, const struct keys *k, const char *name)
{
    *d = (struct device){.name = name};
    memcpy(d->uuid, k->uuid, UUID_BYTES);
    memcpy(d->sign, k->sign, KEY_BYTES);
    memcpy(d->box, k->box, KEY_BYTES);
}

static bool list_store(struct journal *j, const struct devices *d, const uint8_t *bytes,
                       size_t size, struct fault *f)
{
    if (!journal_begin(j, f))
        return false;
    bool ok = journal_keep(j, "devices", bytes, size, f);
    for (size_t i = 0; ok && i < d->count; i++)
        ok = journal_device_name(j, d->list[i].uuid, d->list[i].name, f);
    if (!ok) {
        journal_rollback(j);
        return false;
    }
    return journal_commit(j, f);
}

static bool enrolled(struct journal *j, struct devices *d, struct arena *a, struct fault *f,
                     bool *is)
{
    const uint8_t *bytes;
    size_t size;
    *is = false;
    if (!journal_kept(j, a, "devices", &bytes, &size, f))
        return false;
    *is = bytes != NULL;
    return bytes == NULL || devices_read(d, bytes, size, a, f);
}

static bool base_write(struct journal *j, const struct keys *k, const char *name, struct fault *f)
{
    struct device me;
    struct devices d = {.version = 1, .list = &me, .count = 1};
    struct text out;
    device_fill(&me, k, name);
    me.base = true;
    randombytes_buf(d.practice, UUID_BYTES);
    memcpy(d.root, k->root, KEY_BYTES);
    text_init(&out, TEXT_MOST);
    devices_write(&d, k->root_secret, &out);
    bool ok = list_store(j, &d, (const uint8_t *)out.s, out.len, f);
    text_free(&out);
    return ok;
}

bool base_make(struct journal *j, const char *name, struct fault *f)
{
    struct devices d;
    struct keys *k = NULL;
    uint8_t self[UUID_BYTES];
    bool is = false;
    struct arena *a = arena_new();
    bool ok = name_check(name, f) && enrolled(j, &d, a, f, &is);
    arena_free(a);
    if (ok && is)
        return fail(f, FAULT_REFUSED, "this device belongs to a practice already");
    journal_self(j, self);
    ok = ok && keys_make(&k, journal_folder(j), self, f) &&
         keys_make_root(k, journal_folder(j), f) && base_write(j, k, name, f);
    keys_close(k);
    return ok;
}

void practice_fingerprint(const struct devices *d, char out[FINGERPRINT_ROOM])
{
    uint8_t bytes[UUID_BYTES + KEY_BYTES];
    memcpy(bytes, d->practice, UUID_BYTES);
    memcpy(bytes + UUID_BYTES, d->root, KEY_BYTES);
    fingerprint(bytes, sizeof bytes, out);
}

/* ---- requests -------------------------------------------------------------------------------- */

static void put_hex(struct text *out, const char *key, const uint8_t *bytes, size_t size)
{
    char hex[2 * SIGNATURE_BYTES + 1];
    sodium_bin2hex(hex, sizeof hex, bytes, size);
    text_addf(out, "%s %s\n", key, hex);
}

static void request_print(const struct device *d, char print[FINGERPRINT_ROOM])
{
    uint8_t bytes[UUID_BYTES + 2 * KEY_BYTES];
    memcpy(bytes, d->uuid, UUID_BYTES);
    memcpy(bytes + UUID_BYTES, d->sign, KEY_BYTES);
    memcpy(bytes + UUID_BYTES + KEY_BYTES, d->box, KEY_BYTES);
    fingerprint(bytes, sizeof bytes, print);
}

static void request_write(const struct keys *k, const char *name, struct text *out,
                          char print[FINGERPRINT_ROOM])
{
    struct device d;
    uint8_t signature[SIGNATURE_BYTES];
    char uuid[37];
    device_fill(&d, k, name);
    uuid_write(d.uuid, uuid);
    text_addf(out, "%s\ndevice %s\nname %s\n", request_title, uuid, name);
    put_hex(out, "sign", d.sign, KEY_BYTES);
    put_hex(out, "box", d.box, KEY_BYTES);
    crypto_sign_detached(signature, NULL, (const uint8_t *)out->s, out->len, k->sign_secret);
    put_hex(out, "signature", signature, SIGNATURE_BYTES);
    request_print(&d, print);
}

bool request_make(struct journal *j, const char *name, struct text *out,
                  char print[FINGERPRINT_ROOM], struct fault *f)
{
    uint8_t self[UUID_BYTES];
    struct keys *k = NULL;
    struct fault none = {0};
    journal_self(j, self);
    if (!name_check(name, f))
        return false;
    bool there = keys_open(&k, journal_folder(j), &none);
    if (!there && none.kind != FAULT_MISSING)
        return fail(f, none.kind, "%s", none.text);
    bool ok = true;
    if (!there || memcmp(k->uuid, self, UUID_BYTES) != 0) {
        keys_close(k);
        ok = keys_make(&k, journal_folder(j), self, f);
    }
    if (ok)
        request_write(k, name, out, print);
    keys_close(k);
    return ok;
}

/* "key value" on the line at *at, which moves behind it. */
static const char *line_value(struct arena *a, const char **at, const char *key)
{
    size_t n = strlen(key), size = strcspn(*at, "\n");
    const char *line = *at;
    *at += size + ((*at)[size] == '\n');
    while (size > 0 && line[size - 1] == '\r')
        size--;
    if (size <= n || strncmp(line, key, n) != 0 || line[n] != ' ')
        return "";
    return arena_strn(a, line + n + 1, size - n - 1);
}

static bool hex_read(const char *hex, uint8_t *out, size_t size)
{
    size_t got = 0;
    const char *end = NULL;
    return sodium_hex2bin(out, size, hex, strlen(hex), NULL, &got, &end) == 0 && got == size &&
           *end == '\0';
}

static const char *without_returns(struct arena *a, const char *text)
{
    char *copy = arena_str(a, text), *to = copy;
    for (const char *s = text; *s != '\0'; s++)
        if (*s != '\r')
            *to++ = *s;
    *to = '\0';
    return copy;
}

bool request_read(const char *sent, struct arena *a, struct device *out,
                  char print[FINGERPRINT_ROOM], struct fault *f)
{
    uint8_t signature[SIGNATURE_BYTES];
    const char *text = without_returns(a, sent), *at = text;
    size_t title = strlen(request_title);
    *out = (struct device){0};
    if (strncmp(text, request_title, title) != 0 || text[title] != '\n')
        return fail(f, FAULT_INPUT, "this is no request of a device (amble device request)");
    at += title + 1;
    const char *uuid = line_value(a, &at, "device");
    out->name = line_value(a, &at, "name");
    const char *sign = line_value(a, &at, "sign"), *box = line_value(a, &at, "box");
    size_t covered = (size_t)(at - text);
    const char *by = line_value(a, &at, "signature");
    if (!uuid_read(uuid, out->uuid) || !hex_read(sign, out->sign, KEY_BYTES) ||
        !hex_read(box, out->box, KEY_BYTES) || !hex_read(by, signature, SIGNATURE_BYTES) ||
        crypto_sign_verify_detached(signature, (const uint8_t *)text, covered, out->sign) != 0)
        return fail(f, FAULT_DAMAGE, "the request was damaged or changed on its way");
    request_print(out, print);
    return name_check(out->name, f);
}

/* ---- replies --------------------------------------------------------------------------------- */

static bool reply_write(struct share *base, const struct device *d, struct text *out,
                        struct fault *f)
{
    struct text list;
    char uuid[37];
    text_init(&list, TEXT_MOST);
    devices_write(&base->devices, base->keys->root_secret, &list);
    size_t size = list.len + crypto_box_SEALBYTES;
    size_t room = sodium_base64_ENCODED_LEN(size, sodium_base64_VARIANT_ORIGINAL);
    uint8_t *sealed = arena_alloc(base->arena, size);
    char *coded = arena_alloc(base->arena, room);
    bool ok = crypto_box_seal(sealed, (const uint8_t *)list.s, list.len, d->box) == 0;
    text_free(&list);
    if (!ok)
        return fail(f, FAULT_INPUT, "the key in the request is no key");
    sodium_bin2base64(coded, room, sealed, size, sodium_base64_VARIANT_ORIGINAL);
    uuid_write(d->uuid, uuid);
    text_addf(out, "%s\nfor %s\nsealed %s\n", reply_title, uuid, coded);
    return true;
}

/* The list with one more, or with the one of that id replaced. */
static struct devices with_device(struct share *base, const struct device *d)
{
    struct devices all = base->devices;
    size_t at = 0;
    all.list = arena_array(base->arena, all.count + 1, sizeof *all.list);
    memcpy(all.list, base->devices.list, all.count * sizeof *all.list);
    while (at < all.count && memcmp(all.list[at].uuid, d->uuid, UUID_BYTES) != 0)
        at++;
    all.count += at == all.count;
    all.list[at] = *d;
    return all;
}

bool request_admit(struct share *base, const struct device *d, bool again, struct text *out,
                   struct fault *f)
{
    const struct device *known = device_find(&base->devices, d->uuid);
    if (known != NULL && known->retired && !again)
        return fail(f, FAULT_REFUSED,
                    "%s was retired: say --because, and it is taken again with what was held back",
                    known->name);
    for (size_t i = 0; i < base->devices.count; i++)
        if (&base->devices.list[i] != known && !base->devices.list[i].retired &&
            strcmp(base->devices.list[i].name, d->name) == 0)
            return fail(f, FAULT_REFUSED, "another device is called %s: rename or retire one",
                        d->name);
    if (base->devices.count >= DEVICES_MOST)
        return fail(f, FAULT_LIMIT, "a practice has at most %d devices", DEVICES_MOST);
    struct device taken = *d;
    taken.base = known != NULL && known->base;
    struct devices all = with_device(base, &taken);
    return share_devices_change(base, &all, f) && reply_write(base, d, out, f);
}

static bool reply_open(const char *coded, const struct keys *k, struct arena *a,
                       const uint8_t **bytes, size_t *size, struct fault *f)
{
    size_t room = strlen(coded), got = 0;
    uint8_t *sealed = arena_alloc(a, room + 1);
    if (sodium_base642bin(sealed, room, coded, room, NULL, &got, NULL,
                          sodium_base64_VARIANT_ORIGINAL) != 0 ||
        got <= crypto_box_SEALBYTES)
        return fail(f, FAULT_DAMAGE, "the reply was damaged on its way");
    uint8_t *list = arena_alloc(a, got);
    if (crypto_box_seal_open(list, sealed, got, k->box, k->box_secret) != 0)
        return fail(f, FAULT_REFUSED,
                    "this device's key does not open the reply: it was changed on its way, or new "
                    "keys were made since the request");
    *bytes = list;
    *size = got - crypto_box_SEALBYTES;
    return true;
}

bool reply_read(struct journal *j, const char *sent, struct arena *a, struct devices *out,
                const uint8_t **bytes, size_t *size, char print[FINGERPRINT_ROOM], struct fault *f)
{
    const char *text = without_returns(a, sent), *at = text;
    size_t title = strlen(reply_title);
    uint8_t self[UUID_BYTES], meant[UUID_BYTES];
    struct keys *k = NULL;
    if (strncmp(text, reply_title, title) != 0 || text[title] != '\n')
        return fail(f, FAULT_INPUT, "this is no reply of a base (amble device admit)");
    at += title + 1;
    const char *uuid = line_value(a, &at, "for"), *coded = line_value(a, &at, "sealed");
    journal_self(j, self);
    if (!uuid_read(uuid, meant))
        return fail(f, FAULT_DAMAGE, "the reply was damaged on its way");
    if (memcmp(meant, self, UUID_BYTES) != 0)
        return fail(f, FAULT_REFUSED, "the reply is for another device");
    bool ok = keys_open(&k, journal_folder(j), f) && reply_open(coded, k, a, bytes, size, f) &&
              devices_read(out, *bytes, *size, a, f);
    if (ok && device_find(out, self) == NULL)
        ok = fail(f, FAULT_REFUSED, "the reply does not name this device");
    keys_close(k);
    if (ok)
        practice_fingerprint(out, print);
    return ok;
}

bool reply_join(struct journal *j, const struct devices *d, const uint8_t *bytes, size_t size,
                struct fault *f)
{
    struct devices now = {0};
    bool is = false;
    struct arena *a = arena_new();
    bool ok = enrolled(j, &now, a, f, &is);
    if (ok && is && memcmp(now.practice, d->practice, UUID_BYTES) != 0)
        ok = fail(f, FAULT_REFUSED, "this record belongs to another practice already");
    if (ok && is && memcmp(now.root, d->root, KEY_BYTES) != 0)
        ok = fail(f, FAULT_REFUSED, "the reply is signed with another key than this practice's");
    if (ok && is && d->version < now.version)
        ok = fail(f, FAULT_REFUSED, "the reply is older than what this device knows already");
    ok = ok && list_store(j, d, bytes, size, f);
    arena_free(a);
    return ok;
}

/* ---- changing the list ----------------------------------------------------------------------- */

bool device_named(const struct share *s, const char *said, const struct device **out,
                  struct fault *f)
{
    size_t found = 0;
    for (size_t i = 0; i < s->devices.count; i++) {
        char uuid[37];
        const struct device *d = &s->devices.list[i];
        uuid_write(d->uuid, uuid);
        if (text_same(d->name, said) || (strlen(said) >= 4 && text_starts(uuid, said))) {
            *out = d;
            found++;
        }
    }
    if (found > 1)
        return fail(f, FAULT_INPUT,
                    "more than one device is meant by \"%s\": say the start of its "
                    "id",
                    said);
    return found == 1 || fail(f, FAULT_MISSING, "no device is called \"%s\"", said);
}

bool device_rename(struct share *base, const uint8_t device[UUID_BYTES], const char *name,
                   struct fault *f)
{
    const struct device *d = device_find(&base->devices, device);
    if (d == NULL || !name_check(name, f))
        return false;
    struct device changed = *d;
    changed.name = arena_str(base->arena, name);
    struct devices all = with_device(base, &changed);
    return share_devices_change(base, &all, f);
}

bool device_retire(struct share *base, const uint8_t device[UUID_BYTES], uint64_t cut,
                   struct fault *f)
{
    const struct device *d = device_find(&base->devices, device);
    if (d == NULL)
        return fail(f, FAULT_MISSING, "there is no such device");
    if (memcmp(device, base->self, UUID_BYTES) == 0)
        return fail(f, FAULT_REFUSED, "the base cannot retire itself");
    struct device changed = *d;
    changed.retired = true;
    changed.cut = cut;
    struct devices all = with_device(base, &changed);
    return share_devices_change(base, &all, f);
}

bool device_accept(struct share *base, const uint8_t device[UUID_BYTES], uint64_t last,
                   struct fault *f)
{
    const struct device *d = device_find(&base->devices, device);
    if (d == NULL || !d->retired)
        return fail(f, FAULT_REFUSED, "only of a retired device something is held back");
    if (last <= d->cut)
        return fail(f, FAULT_INPUT, "entries of %s to %llu stand already", d->name,
                    (unsigned long long)d->cut);
    struct device changed = *d;
    changed.cut = last;
    struct devices all = with_device(base, &changed);
    return share_devices_change(base, &all, f);
}
