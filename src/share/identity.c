#include "share/identity.h"
#include "base/arena.h"
#include "journal/travel.h"
#include "share/files.h"
#include "share/wire.h"
#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char magic[] = "amble mark 1", handed_out[] = "handed out";

struct mark {
    uint8_t device[UUID_BYTES], hash[HASH_BYTES], machine[HASH_BYTES];
    uint64_t number;
};
enum { MARK_SIZE = sizeof magic + UUID_BYTES + 2 * HASH_BYTES + 8 };

/* "/home/mara/.local/state/amble"; "" when there is no home. */
static const char *state_folder(struct arena *a)
{
    const char *state = getenv("XDG_STATE_HOME"), *home = getenv("HOME");
    if (state != NULL && state[0] == '/')
        return arena_printf(a, "%s/amble", state);
    return home != NULL && home[0] == '/' ? arena_printf(a, "%s/.local/state/amble", home) : "";
}

/* The mark of this data folder, by its real path. */
static const char *mark_name(struct journal *j, struct arena *a)
{
    uint8_t hash[16];
    char hex[2 * sizeof hash + 1];
    char *path = realpath(journal_folder(j), NULL);
    const char *of = path != NULL ? path : journal_folder(j);
    crypto_generichash(hash, sizeof hash, (const uint8_t *)of, strlen(of), NULL, 0);
    sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
    free(path);
    return arena_printf(a, "%s.mark", hex);
}

static void machine_hash(struct arena *a, uint8_t out[HASH_BYTES])
{
    const uint8_t *bytes = NULL;
    size_t size = 0;
    (void)file_get("/etc/machine-id", 256, a, &bytes, &size, NULL);
    crypto_generichash(out, HASH_BYTES, bytes, size, (const uint8_t *)magic, sizeof magic);
}

static bool folders_make(struct arena *a, const char *path, struct fault *f)
{
    for (const char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/'))
        if (mkdir(arena_strn(a, path, (size_t)(slash - path)), 0700) != 0 && errno != EEXIST)
            return fail(f, FAULT_SYSTEM, "cannot make the folder %s: %s", path, strerror(errno));
    return folder_need(path, f);
}

static bool mark_read(struct arena *a, const char *path, struct mark *m)
{
    const uint8_t *bytes;
    size_t size;
    if (!file_get(path, MARK_SIZE, a, &bytes, &size, NULL) || size != MARK_SIZE ||
        memcmp(bytes, magic, sizeof magic) != 0)
        return false;
    struct reader r = reader_of(bytes + sizeof magic, size - sizeof magic);
    take_copy(&r, m->device, UUID_BYTES);
    m->number = take_fixed(&r, 8);
    take_copy(&r, m->hash, HASH_BYTES);
    take_copy(&r, m->machine, HASH_BYTES);
    return !r.bad;
}

static bool mark_write(struct arena *a, const char *folder, const char *name, const struct mark *m,
                       struct fault *f)
{
    struct text out;
    text_init(&out, MARK_SIZE);
    put_bytes(&out, magic, sizeof magic);
    put_bytes(&out, m->device, UUID_BYTES);
    put_fixed(&out, m->number, 8);
    put_bytes(&out, m->hash, HASH_BYTES);
    put_bytes(&out, m->machine, HASH_BYTES);
    bool ok = folders_make(a, folder, f) && file_put(folder, name, out.s, out.len, f);
    text_free(&out);
    return ok;
}

/* Why this record cannot go on under its name; NULL when it can. */
static const char *misfit(struct journal *j, struct arena *a, const struct mark *m, bool there,
                          struct fault *f)
{
    uint8_t self[UUID_BYTES], hash[HASH_BYTES] = {0}, machine[HASH_BYTES];
    uint64_t have = 0;
    bool held = false; /* of number 0 nothing is, and its mark says a hash of zeros */
    journal_self(j, self);
    machine_hash(a, machine);
    if (!there)
        return "this record was copied from elsewhere";
    if (memcmp(m->machine, machine, HASH_BYTES) != 0)
        return "this record was copied from another computer";
    if (memcmp(m->device, self, UUID_BYTES) != 0)
        return "this record was put back to an earlier state";
    if (!journal_have(j, self, &have, f) || !journal_hash(j, self, m->number, hash, &held, f))
        return NULL;
    if (have < m->number || memcmp(hash, m->hash, HASH_BYTES) != 0)
        return "this record was put back to an earlier state";
    return NULL;
}

static bool check(struct journal *j, struct arena *a, bool *renewed, char why[160], struct fault *f)
{
    const uint8_t *bytes;
    size_t size;
    struct mark m;
    const char *folder = state_folder(a);
    if (!journal_kept(j, a, handed_out, &bytes, &size, f))
        return false;
    if (bytes == NULL || folder[0] == '\0')
        return true;
    bool there = mark_read(a, arena_printf(a, "%s/%s", folder, mark_name(j, a)), &m);
    struct fault inner = {0};
    const char *reason = misfit(j, a, &m, there, &inner);
    if (inner.kind != FAULT_NONE)
        return fail(f, inner.kind, "%s", inner.text);
    if (reason == NULL)
        return true;
    if (!journal_renew_identity(j, f) || !journal_keep_drop(j, handed_out, f))
        return false;
    *renewed = true;
    if (why != NULL)
        snprintf(why, 160, "%s", reason);
    return true;
}

bool identity_check(struct journal *j, bool *renewed, char why[160], struct fault *f)
{
    *renewed = false;
    if (journal_read_only(j))
        return true;
    struct arena *a = arena_new();
    bool ok = check(j, a, renewed, why, f);
    arena_free(a);
    return ok;
}

static bool mark(struct journal *j, struct arena *a, struct fault *f)
{
    struct mark m = {0};
    bool there = false;
    const char *folder = state_folder(a);
    journal_self(j, m.device);
    machine_hash(a, m.machine);
    if (!journal_have(j, m.device, &m.number, f) ||
        !journal_hash(j, m.device, m.number, m.hash, &there, f))
        return false;
    if (folder[0] == '\0')
        return true;
    const uint8_t *bytes;
    size_t size;
    if (!mark_write(a, folder, mark_name(j, a), &m, f) ||
        !journal_kept(j, a, handed_out, &bytes, &size, f))
        return false;
    return bytes != NULL || journal_keep(j, handed_out, "", 0, f);
}

bool identity_mark(struct journal *j, struct fault *f)
{
    struct arena *a = arena_new();
    bool ok = mark(j, a, f);
    arena_free(a);
    return ok || fail_within(f, "cannot note what is handed out");
}

void identity_forget(struct journal *j)
{
    struct arena *a = arena_new();
    const char *folder = state_folder(a);
    if (folder[0] != '\0')
        unlink(arena_printf(a, "%s/%s", folder, mark_name(j, a)));
    arena_free(a);
}
