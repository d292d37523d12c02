#include "share/folder.h"
#include "base/arena.h"
#include "share/exchange_inside.h"
#include "share/files.h"
#include "share/photos.h"
#include <dirent.h>
#include <errno.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FILES_MOST = 20000, LIST_SIZE_MOST = 64 << 10 };
static const char bundle_end[] = ".bundle", list_end[] = ".list";

enum state { TODO, WAITS, DONE, BAD };

struct file {
    const char *name;
    enum state state;
    bool for_all; /* sealed to every device there is now */
    uint8_t author[UUID_BYTES];
    const struct stretch *stretches;
    size_t stretch_count;
    const char *why; /* it waits */
};

struct box {
    struct share *s;
    struct arena *arena;
    const char *path;
    const struct watch *watch;
    struct report *report;
    struct file *files;
    size_t count;
    const char *list; /* the newest list of devices there, or "" */
};

static bool ends_with(const char *s, const char *end)
{
    size_t n = strlen(s), m = strlen(end);
    return n > m && strcmp(s + n - m, end) == 0;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const struct file *)a)->name, ((const struct file *)b)->name);
}

static bool stop(struct box *b)
{
    const struct watch *w = b->watch;
    if (w != NULL && w->stop != NULL && w->stop(w->of))
        b->report->stopped = true;
    return b->report->stopped;
}

static bool look(struct box *b, struct fault *f)
{
    DIR *d = opendir(b->path);
    size_t room = 0;
    if (d == NULL)
        return fail(f, FAULT_SYSTEM, "cannot look into %s: %s", b->path, strerror(errno));
    b->list = "";
    b->count = 0;
    b->files = NULL;
    errno = 0;
    for (const struct dirent *e; b->count < FILES_MOST && (e = readdir(d)) != NULL;) {
        if (ends_with(e->d_name, list_end) && strcmp(e->d_name, b->list) > 0)
            b->list = arena_str(b->arena, e->d_name);
        if (!ends_with(e->d_name, bundle_end))
            continue;
        b->files = arena_grow(b->arena, b->files, b->count, &room, sizeof *b->files);
        b->files[b->count++] = (struct file){.name = arena_str(b->arena, e->d_name)};
    }
    int why = errno;
    closedir(d);
    if (why != 0)
        return fail(f, FAULT_SYSTEM, "cannot look into %s: %s", b->path, strerror(why));
    if (b->count > 0)
        qsort(b->files, b->count, sizeof *b->files, by_name);
    return true;
}

/* ---- the list of devices --------------------------------------------------------------------- */

static bool list_write(struct box *b, struct fault *f)
{
    const uint8_t *bytes;
    size_t size;
    const char *name = arena_printf(b->arena, "devices-%08llu%s",
                                    (unsigned long long)b->s->devices.version, list_end);
    return journal_kept(b->s->journal, b->arena, "devices", &bytes, &size, f) &&
           file_put(b->path, name, bytes, size, f);
}

static bool lists_meet(struct box *b, struct fault *f)
{
    const uint8_t *bytes;
    size_t size;
    bool newer = false;
    struct devices theirs;
    struct fault refused = {0};
    if (b->list[0] == '\0')
        return list_write(b, f);
    const char *path = arena_printf(b->arena, "%s/%s", b->path, b->list);
    bool read = file_get(path, LIST_SIZE_MOST, b->arena, &bytes, &size, &refused) &&
                devices_read(&theirs, bytes, size, b->arena, &refused) &&
                share_devices(b->s, bytes, size, &newer, &refused);
    if (!read && refused.kind == FAULT_STORE)
        return fail(f, refused.kind, "%s", refused.text);
    if (!read)
        report_line(&b->report->person, "%s: %s", b->list, refused.text);
    if (newer || (read && theirs.version == b->s->devices.version))
        return true;
    return list_write(b, f) && (!read || unlink(path) == 0 || true);
}

/* ---- reading --------------------------------------------------------------------------------- */

static bool for_everybody(const struct box *b, const struct bundle *x)
{
    for (size_t i = 0; i < b->s->devices.count; i++)
        if (!b->s->devices.list[i].retired && !bundle_sealed_to(x, b->s->devices.list[i].uuid))
            return false;
    return true;
}

static void refused(struct box *b, struct file *x, const struct fault *why)
{
    x->why = arena_str(b->arena, why->text);
    if (why->kind == FAULT_MISSING) {
        x->state = WAITS;
    } else if (strncmp(why->text, "it was read before", 18) == 0) {
        x->state = DONE;
    } else {
        x->state = BAD;
        report_line(&b->report->person, "%s: %s", x->name, why->text);
    }
}

/* One file; *progress when it brought something. False only for what stops everything. */
static bool read_file(struct box *b, struct file *x, bool *progress, struct fault *f)
{
    const uint8_t *bytes;
    size_t size;
    struct bundle bundle;
    struct fault why = {0};
    struct arena *a = arena_new();
    uint64_t came = b->report->came;
    bool ok =
        file_get(arena_printf(a, "%s/%s", b->path, x->name), BUNDLE_MOST, a, &bytes, &size, &why) &&
        bundle_peek(&bundle, bytes, size, b->s->devices.practice, &why);
    if (ok) {
        memcpy(x->author, bundle.author, UUID_BYTES);
        x->for_all = for_everybody(b, &bundle);
        if (!exchange_stretches(&bundle, b->arena, &x->stretches, &x->stretch_count))
            x->stretch_count = 0;
        if (!exchange_known(b->s, &bundle))
            ok = exchange_take(b->s, bytes, size, NULL, b->report, &why);
    }
    if (ok)
        x->state = DONE;
    else if (why.kind != FAULT_STORE)
        refused(b, x, &why);
    arena_free(a);
    *progress = *progress || b->report->came > came;
    return why.kind != FAULT_STORE || fail(f, why.kind, "%s", why.text);
}

static bool read_all(struct box *b, struct fault *f)
{
    bool progress = true;
    for (bool first = true; progress && !b->report->stopped; first = false) {
        progress = false;
        for (size_t i = 0; i < b->count && !stop(b); i++) {
            if (b->files[i].state != (first ? TODO : WAITS))
                continue;
            if (!read_file(b, &b->files[i], &progress, f))
                return false;
            if (b->watch != NULL && b->watch->progress != NULL)
                b->watch->progress(b->watch->of, "reading bundles", i + 1, b->count);
        }
    }
    for (size_t i = 0; i < b->count; i++)
        if (b->files[i].state == WAITS)
            report_line(&b->report->missing, "%s", b->files[i].why);
    return true;
}

/* ---- writing --------------------------------------------------------------------------------- */

/* What lies there already for everybody need not be written again. */
static void skip_what_lies_there(const struct box *b, struct want *w)
{
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < b->count; i++) {
            const struct file *x = &b->files[i];
            for (size_t k = 0; x->state == DONE && x->for_all && k < x->stretch_count; k++) {
                const struct stretch *t = &x->stretches[k];
                if (memcmp(t->device, w->device, UUID_BYTES) == 0 && t->first <= w->after + 1 &&
                    t->last > w->after) {
                    w->after = t->last;
                    more = true;
                }
            }
        }
    }
}

static bool put_bundle(void *of, const struct bundle *x, const struct text *bytes, struct fault *f)
{
    struct box *b = of;
    char uuid[37];
    const struct stretch *list;
    size_t count;
    uuid_write(x->author, uuid);
    bool entries = exchange_stretches(x, b->arena, &list, &count) && count > 0;
    const char *name = entries ? arena_printf(b->arena, "%s-%012llu%s", uuid,
                                              (unsigned long long)x->serial, bundle_end)
                               : arena_printf(b->arena, "%s%s", uuid, bundle_end);
    return file_put(b->path, name, bytes->s, bytes->len, f);
}

static bool write_all(struct box *b, struct fault *f)
{
    struct want *wants;
    size_t count, kept = 0;
    struct sending how = {.send = put_bundle, .of = b};
    if (!exchange_wants(b->s, b->arena, NULL, &wants, &count, f))
        return false;
    for (size_t i = 0; i < count; i++) {
        uint64_t have;
        struct want w = wants[i];
        skip_what_lies_there(b, &w);
        if (!journal_have(b->s->journal, w.device, &have, f))
            return false;
        if (w.after < have)
            wants[kept++] = w;
    }
    if (!exchange_give(b->s, wants, kept, &how, b->watch, b->report, f))
        return false;
    how.always = true;
    return b->report->stopped || exchange_give(b->s, NULL, 0, &how, NULL, b->report, f);
}

static bool everybody_has(const struct file *x, const struct want *wants, size_t count)
{
    for (size_t i = 0; i < x->stretch_count; i++)
        for (size_t k = 0; k < count; k++)
            if (memcmp(wants[k].device, x->stretches[i].device, UUID_BYTES) == 0 &&
                wants[k].after < x->stretches[i].last)
                return false;
    return true;
}

/* This device's own files, and at the base anybody's, once everybody said they have it. A file
 * sealed before a device was enrolled goes too: what it holds was written again. */
static bool clear_away(struct box *b, struct fault *f)
{
    struct want *wants;
    size_t count;
    if (!exchange_wants(b->s, b->arena, NULL, &wants, &count, f))
        return false;
    for (size_t i = 0; i < b->count; i++) {
        const struct file *x = &b->files[i];
        bool own = memcmp(x->author, b->s->self, UUID_BYTES) == 0;
        if (x->state == DONE && x->stretch_count > 0 && (own || b->s->keys->root_there) &&
            (everybody_has(x, wants, count) || (own && !x->for_all)))
            (void)unlink(arena_printf(b->arena, "%s/%s", b->path, x->name));
    }
    return true;
}

bool report_missing(struct share *s, struct report *r, struct fault *f)
{
    struct arena *a = arena_new();
    bool ok = true;
    for (size_t i = 0; ok && i < s->devices.count; i++) {
        struct vector v;
        const struct device *peer = &s->devices.list[i];
        ok = vector_of(s, a, peer->uuid, &v, f);
        for (size_t k = 0; ok && k < v.count; k++) {
            const struct device *of = device_find(&s->devices, v.list[k].device);
            uint64_t have = 0;
            ok = journal_have(s->journal, v.list[k].device, &have, f);
            if (of != NULL && of->retired && have >= of->cut)
                continue;
            if (have < v.list[k].have)
                report_line(&r->missing, "entries %llu to %llu of %s, which %s has",
                            (unsigned long long)have + 1, (unsigned long long)v.list[k].have,
                            share_name(s, v.list[k].device), peer->name);
        }
    }
    arena_free(a);
    return ok;
}

/* ---- photographs ----------------------------------------------------------------------------- */

static const char photos_end[] = ".photos", piece_end[] = ".piece";

static const char *piece_name(struct arena *a, const struct photo_part *x)
{
    char hex[2 * PHOTO_HASH_BYTES + 1];
    sodium_bin2hex(hex, sizeof hex, x->hash, PHOTO_HASH_BYTES);
    return arena_printf(a, "%s-%012llu%s", hex, (unsigned long long)x->have, piece_end);
}

static bool put_photo(void *of, const struct bundle *x, const struct text *bytes, struct fault *f)
{
    struct box *b = of;
    struct photo_part piece;
    char uuid[37];
    uuid_write(x->author, uuid);
    const char *name = photo_piece(x, &piece) ? piece_name(b->arena, &piece)
                                              : arena_printf(b->arena, "%s%s", uuid, photos_end);
    return file_put(b->path, name, bytes->s, bytes->len, f);
}

/* A piece that every device there is now can read. */
static bool piece_lies_there(void *of, const struct photo_part *x)
{
    struct box *b = of;
    const uint8_t *bytes;
    size_t size;
    struct bundle bundle;
    struct arena *a = arena_new();
    bool there = file_get(arena_printf(a, "%s/%s", b->path, piece_name(a, x)), BUNDLE_MOST, a,
                          &bytes, &size, NULL) &&
                 bundle_peek(&bundle, bytes, size, b->s->devices.practice, NULL) &&
                 for_everybody(b, &bundle);
    arena_free(a);
    return there;
}

static bool photo_names(struct box *b, const char *end, struct fault *f)
{
    DIR *d = opendir(b->path);
    size_t room = 0;
    b->count = 0;
    b->files = NULL;
    if (d == NULL)
        return fail(f, FAULT_SYSTEM, "cannot look into %s: %s", b->path, strerror(errno));
    for (const struct dirent *e; b->count < FILES_MOST && (e = readdir(d)) != NULL;)
        if (ends_with(e->d_name, end)) {
            b->files = arena_grow(b->arena, b->files, b->count, &room, sizeof *b->files);
            b->files[b->count++] = (struct file){.name = arena_str(b->arena, e->d_name)};
        }
    closedir(d);
    if (b->count > 0)
        qsort(b->files, b->count, sizeof *b->files, by_name);
    return true;
}

static bool take_photos(struct box *b, const char *end, struct fault *f)
{
    if (!photo_names(b, end, f))
        return false;
    for (size_t i = 0; i < b->count && !stop(b); i++) {
        const uint8_t *bytes;
        size_t size;
        struct fault why = {0};
        struct arena *a = arena_new();
        bool ok = file_get(arena_printf(a, "%s/%s", b->path, b->files[i].name), BUNDLE_MOST, a,
                           &bytes, &size, &why) &&
                  photos_take(b->s, bytes, size, NULL, b->watch, b->report, &why);
        arena_free(a);
        if (!ok && why.kind == FAULT_STORE)
            return fail(f, why.kind, "%s", why.text);
        if (!ok)
            report_line(why.kind == FAULT_MISSING ? &b->report->missing : &b->report->person,
                        "%.20s: %s", b->files[i].name, why.text);
    }
    return true;
}

/* Pieces of what everybody has in whole are cleared away. */
static void clear_pieces(struct box *b)
{
    for (size_t i = 0; i < b->count; i++) {
        uint8_t hash[PHOTO_HASH_BYTES];
        size_t got = 0;
        if (sodium_hex2bin(hash, sizeof hash, b->files[i].name, 2 * sizeof hash, NULL, &got,
                           NULL) == 0 &&
            got == sizeof hash && photos_everybody_has(b->s, hash))
            (void)unlink(arena_printf(b->arena, "%s/%s", b->path, b->files[i].name));
    }
}

static bool exchange_photos(struct box *b, struct fault *f)
{
    struct photo_sending how = {.send = put_photo, .lies_there = piece_lies_there, .of = b};
    if (b->watch == NULL || b->watch->photo_most == 0)
        return true;
    if (!take_photos(b, photos_end, f) || !take_photos(b, piece_end, f))
        return false;
    clear_pieces(b);
    return photos_give(b->s, NULL, &how, b->watch, b->report, f) &&
           photos_tell(b->s, &how, b->watch, f);
}

static bool exchange(struct box *b, struct fault *f)
{
    if (!look(b, f) || !lists_meet(b, f) || !read_all(b, f))
        return false;
    if (b->report->renewed || b->report->stopped)
        return true;
    return write_all(b, f) && clear_away(b, f) && exchange_photos(b, f) &&
           report_missing(b->s, b->report, f);
}

bool folder_sync(struct share *s, const char *path, const struct watch *w, struct report *r,
                 struct fault *f)
{
    struct stat st;
    if (stat(path, &st) != 0 || !S_ISDIR(st.st_mode))
        return fail(f, FAULT_MISSING, "there is no folder %s: is the stick in its place?", path);
    struct arena *a = arena_new();
    struct box b = {.s = s, .arena = a, .watch = w, .report = r};
    b.path = arena_printf(a, "%s/amble", path);
    bool ok = folder_need(b.path, f) && exchange(&b, f);
    arena_free(a);
    return ok;
}
