#include "share/photos.h"
#include "base/arena.h"
#include "journal/travel.h"
#include "share/exchange.h"
#include "share/files.h"
#include "share/wire.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { HEX = 2 * PHOTO_HASH_BYTES, LIST_MOST = 16 << 20 };
static const char part_end[] = ".part";

struct photos {
    struct photo_part *list;
    size_t count, room;
};

static uint64_t most_of(const struct watch *w)
{
    return w != NULL ? w->photo_most : 0;
}

static const char *folder_of(struct share *s, struct arena *a)
{
    return arena_printf(a, "%s/photos", journal_folder(s->journal));
}

static const char *hex_of(struct arena *a, const uint8_t hash[PHOTO_HASH_BYTES])
{
    char *hex = arena_alloc(a, HEX + 1);
    return sodium_bin2hex(hex, HEX + 1, hash, PHOTO_HASH_BYTES);
}

static bool hash_read(const char *name, uint8_t hash[PHOTO_HASH_BYTES])
{
    size_t got = 0;
    return strspn(name, "0123456789abcdef") == HEX &&
           sodium_hex2bin(hash, PHOTO_HASH_BYTES, name, HEX, NULL, &got, NULL) == 0;
}

/* ---- what is here ---------------------------------------------------------------------------- */

static bool file_hash(const char *path, uint8_t hash[PHOTO_HASH_BYTES])
{
    crypto_hash_sha256_state state;
    uint8_t bytes[65536];
    size_t n;
    FILE *file = fopen(path, "rbe");
    if (file == NULL)
        return false;
    crypto_hash_sha256_init(&state);
    while ((n = fread(bytes, 1, sizeof bytes, file)) > 0)
        crypto_hash_sha256_update(&state, bytes, n);
    bool ok = ferror(file) == 0;
    fclose(file);
    crypto_hash_sha256_final(&state, hash);
    return ok;
}

static void remember(struct photos *p, struct arena *a, const uint8_t hash[PHOTO_HASH_BYTES],
                     uint64_t have, uint64_t total)
{
    p->list = arena_grow(a, p->list, p->count, &p->room, sizeof *p->list);
    memcpy(p->list[p->count].hash, hash, PHOTO_HASH_BYTES);
    p->list[p->count].have = have;
    p->list[p->count++].total = total;
}

/* A file that is not named after its content gets that name too; two names mean it has it. */
static void name_by_content(const char *folder, struct arena *a, const char *path,
                            const struct stat *st, struct photos *p)
{
    uint8_t hash[PHOTO_HASH_BYTES];
    if (st->st_nlink > 1 || !file_hash(path, hash))
        return;
    if (link(path, arena_printf(a, "%s/%s", folder, hex_of(a, hash))) == 0)
        remember(p, a, hash, (uint64_t)st->st_size, (uint64_t)st->st_size);
}

static struct photos photos_here(struct share *s, struct arena *a, uint64_t most)
{
    struct photos p = {0};
    const char *folder = folder_of(s, a);
    DIR *d = opendir(folder);
    for (const struct dirent *e; d != NULL && p.count < PHOTOS_MOST && (e = readdir(d)) != NULL;) {
        uint8_t hash[PHOTO_HASH_BYTES];
        struct stat st;
        const char *path = arena_printf(a, "%s/%s", folder, e->d_name);
        if (e->d_name[0] == '.' || lstat(path, &st) != 0 || !S_ISREG(st.st_mode) ||
            (uint64_t)st.st_size > most || st.st_size == 0)
            continue;
        bool named = hash_read(e->d_name, hash);
        if (named && e->d_name[HEX] == '\0')
            remember(&p, a, hash, (uint64_t)st.st_size, (uint64_t)st.st_size);
        else if (named && strcmp(e->d_name + HEX, part_end) == 0)
            remember(&p, a, hash, (uint64_t)st.st_size, UINT64_MAX);
        else if (!named)
            name_by_content(folder, a, path, &st, &p);
    }
    if (d != NULL)
        closedir(d);
    return p;
}

/* ---- what others told ------------------------------------------------------------------------ */

static const char *told_name(struct arena *a, const uint8_t device[UUID_BYTES])
{
    char uuid[37];
    uuid_write(device, uuid);
    return arena_printf(a, "photos/%s", uuid);
}

static struct photos photos_told(struct share *s, struct arena *a, const uint8_t device[UUID_BYTES])
{
    const uint8_t *bytes;
    size_t size;
    struct photos p = {0};
    if (!journal_kept(s->journal, a, told_name(a, device), &bytes, &size, NULL) || bytes == NULL)
        return p;
    struct reader r = reader_of(bytes, size);
    size_t count = take_count(&r, PHOTO_HASH_BYTES + 2, PHOTOS_MOST);
    for (size_t i = 0; i < count && !r.bad; i++) {
        uint8_t hash[PHOTO_HASH_BYTES];
        take_copy(&r, hash, sizeof hash);
        uint64_t have = take_varint(&r), total = take_varint(&r);
        remember(&p, a, hash, have, total);
    }
    return p;
}

static const struct photo_part *part_find(const struct photos *p,
                                          const uint8_t hash[PHOTO_HASH_BYTES])
{
    for (size_t i = 0; i < p->count; i++)
        if (memcmp(p->list[i].hash, hash, PHOTO_HASH_BYTES) == 0)
            return &p->list[i];
    return NULL;
}

/* Up to where all whom it may concern have it. */
static uint64_t least_had(struct share *s, struct arena *a, const uint8_t *peer,
                          const struct photo_part *x)
{
    uint64_t least = x->total;
    for (size_t i = 0; i < s->devices.count; i++) {
        const struct device *d = &s->devices.list[i];
        if (peer != NULL ? memcmp(d->uuid, peer, UUID_BYTES) != 0
                         : d->retired || memcmp(d->uuid, s->self, UUID_BYTES) == 0)
            continue;
        struct photos told = photos_told(s, a, d->uuid);
        const struct photo_part *has = part_find(&told, x->hash);
        uint64_t have = has != NULL ? has->have : 0;
        if (have < least)
            least = have;
    }
    return least;
}

bool photos_everybody_has(struct share *s, const uint8_t hash[PHOTO_HASH_BYTES])
{
    struct arena *a = arena_new();
    bool all = true;
    for (size_t i = 0; all && i < s->devices.count; i++) {
        const struct device *d = &s->devices.list[i];
        if (d->retired || memcmp(d->uuid, s->self, UUID_BYTES) == 0)
            continue;
        struct photos told = photos_told(s, a, d->uuid);
        const struct photo_part *has = part_find(&told, hash);
        all = has != NULL && has->have == has->total;
    }
    arena_free(a);
    return all;
}

/* ---- sending --------------------------------------------------------------------------------- */

static bool seal_and_send(struct share *s, const struct photo_sending *how, struct bundle *b,
                          struct fault *f)
{
    struct text out;
    text_init(&out, BUNDLE_MOST);
    memcpy(b->author, s->self, UUID_BYTES);
    if (how->answer != NULL)
        memcpy(b->answer, how->answer, ANSWER_BYTES);
    bool ok = exchange_serial(s, &b->serial, f) && bundle_seal(b, &s->devices, s->keys, &out, f) &&
              how->send(how->of, b, &out, f);
    text_free(&out);
    return ok;
}

bool photos_tell(struct share *s, const struct photo_sending *how, const struct watch *w,
                 struct fault *f)
{
    struct arena *a = arena_new();
    struct photos here = photos_here(s, a, most_of(w));
    struct text list;
    text_init(&list, LIST_MOST);
    put_varint(&list, here.count);
    for (size_t i = 0; i < here.count; i++) {
        put_bytes(&list, here.list[i].hash, PHOTO_HASH_BYTES);
        put_varint(&list, here.list[i].have);
        put_varint(&list, here.list[i].total);
    }
    struct bundle b = {
        .kind = BUNDLE_PHOTO_LIST, .payload = (const uint8_t *)list.s, .payload_size = list.len};
    bool ok = seal_and_send(s, how, &b, f);
    text_free(&list);
    arena_free(a);
    return ok;
}

static bool send_piece(struct share *s, const struct photo_sending *how, const char *path,
                       const struct photo_part *x, uint64_t at, struct fault *f)
{
    struct text holds;
    struct arena *a = arena_new();
    size_t size = x->total - at < PHOTO_PIECE ? (size_t)(x->total - at) : PHOTO_PIECE;
    uint8_t *bytes = arena_alloc(a, size);
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    bool ok = fd >= 0 && pread(fd, bytes, size, (off_t)at) == (ssize_t)size;
    if (fd >= 0)
        close(fd);
    if (!ok)
        fail(f, FAULT_SYSTEM, "cannot read %s", path);
    text_init(&holds, 100);
    put_bytes(&holds, x->hash, PHOTO_HASH_BYTES);
    put_fixed(&holds, at, 8);
    put_fixed(&holds, x->total, 8);
    struct bundle b = {.kind = BUNDLE_PHOTO,
                       .holds = (const uint8_t *)holds.s,
                       .holds_size = holds.len,
                       .payload = bytes,
                       .payload_size = size};
    ok = ok && seal_and_send(s, how, &b, f);
    text_free(&holds);
    arena_free(a);
    return ok;
}

static bool stopped(const struct watch *w, struct report *r)
{
    if (w != NULL && w->stop != NULL && w->stop(w->of))
        r->stopped = true;
    return r->stopped;
}

/* Whole pieces from the first that somebody lacks. */
static bool give_photo(struct share *s, const struct photo_sending *how, const char *path,
                       const struct photo_part *x, uint64_t from, const struct watch *w,
                       struct report *r, struct fault *f)
{
    bool sent = false;
    for (uint64_t at = from / PHOTO_PIECE * PHOTO_PIECE; at < x->total; at += PHOTO_PIECE) {
        struct photo_part piece = *x;
        piece.have = at;
        if (stopped(w, r))
            return true;
        if (how->lies_there != NULL && how->lies_there(how->of, &piece))
            continue;
        if (!send_piece(s, how, path, x, at, f))
            return false;
        sent = true;
        if (w != NULL && w->progress != NULL)
            w->progress(w->of, "sending a photograph", at, x->total);
    }
    r->photos_went += sent;
    return true;
}

bool photos_give(struct share *s, const uint8_t *peer, const struct photo_sending *how,
                 const struct watch *w, struct report *r, struct fault *f)
{
    struct arena *a = arena_new();
    struct photos here = photos_here(s, a, most_of(w));
    bool ok = true;
    for (size_t i = 0; ok && i < here.count; i++) {
        const struct photo_part *x = &here.list[i];
        uint64_t from = x->have == x->total ? least_had(s, a, peer, x) : x->total;
        if (from < x->total)
            ok = give_photo(s, how, arena_printf(a, "%s/%s", folder_of(s, a), hex_of(a, x->hash)),
                            x, from, w, r, f);
    }
    arena_free(a);
    return ok;
}

/* ---- taking ---------------------------------------------------------------------------------- */

bool photo_piece(const struct bundle *b, struct photo_part *out)
{
    struct reader r = reader_of(b->holds, b->holds_size);
    take_copy(&r, out->hash, PHOTO_HASH_BYTES);
    out->have = take_fixed(&r, 8);
    out->total = take_fixed(&r, 8);
    return b->kind == BUNDLE_PHOTO && !r.bad && r.left == 0 && out->have < out->total;
}

static bool append(const char *part, const struct bundle *b, const struct photo_part *x,
                   uint64_t *size, struct fault *f)
{
    struct stat st;
    int fd = open(part, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
    bool ok = fd >= 0 && fstat(fd, &st) == 0;
    if (ok && (uint64_t)st.st_size < x->have) {
        close(fd);
        return fail(f, FAULT_MISSING, "the pieces of a photograph before byte %llu have not come",
                    (unsigned long long)x->have);
    }
    ok = ok &&
         pwrite(fd, b->payload, b->payload_size, (off_t)x->have) == (ssize_t)b->payload_size &&
         fsync(fd) == 0 && fstat(fd, &st) == 0;
    int why = errno;
    if (fd >= 0)
        close(fd);
    *size = ok ? (uint64_t)st.st_size : 0;
    return ok || fail(f, FAULT_STORE, "cannot write %s: %s", part, strerror(why));
}

static bool take_piece(struct share *s, struct arena *a, const struct bundle *b, uint64_t most,
                       struct report *r, struct fault *f)
{
    struct photo_part x;
    uint8_t hash[PHOTO_HASH_BYTES];
    uint64_t size = 0;
    const char *folder = folder_of(s, a);
    if (!photo_piece(b, &x) || b->payload_size > x.total - x.have || b->payload_size == 0)
        return fail(f, FAULT_DAMAGE, "it is no piece of a photograph");
    const char *whole = arena_printf(a, "%s/%s", folder, hex_of(a, x.hash));
    const char *part = arena_printf(a, "%s%s", whole, part_end);
    if (access(whole, F_OK) == 0)
        return true;
    if (x.total > most) {
        r->photos_left += x.have == 0;
        return true;
    }
    if (!folder_need(folder, f) || !append(part, b, &x, &size, f))
        return false;
    if (size < x.total)
        return true;
    if (size > x.total || !file_hash(part, hash) || memcmp(hash, x.hash, sizeof hash) != 0) {
        (void)unlink(part);
        return fail(f, FAULT_DAMAGE, "a photograph is not what was sent; it is asked for again");
    }
    if (rename(part, whole) != 0)
        return fail(f, FAULT_STORE, "cannot name %s: %s", whole, strerror(errno));
    r->photos_came++;
    return true;
}

bool photos_take(struct share *s, const uint8_t *bytes, size_t size, const uint8_t *answer,
                 const struct watch *w, struct report *r, struct fault *f)
{
    struct bundle b;
    struct arena *a = arena_new();
    bool ok = bundle_open(&b, bytes, size, &s->devices, s->keys, a, f);
    if (ok && answer != NULL && sodium_memcmp(b.answer, answer, ANSWER_BYTES) != 0)
        ok = fail(f, FAULT_REFUSED, "it was made for another conversation");
    if (ok && b.kind == BUNDLE_PHOTO_LIST)
        ok = journal_keep(s->journal, told_name(a, b.author), b.payload, b.payload_size, f);
    else if (ok)
        ok = take_piece(s, a, &b, most_of(w), r, f);
    arena_free(a);
    return ok;
}
