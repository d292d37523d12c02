/* Sealed backups beside the record: made when they are due, the oldest taken away. */
#include "base/arena.h"
#include "base/clock.h"
#include "base/disk.h"
#include "journal/internal.h"
#include "journal/vault.h"
#include <dirent.h>
#include <errno.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_ROOM = 4096, NAME_ROOM = 32, DAY_MS = 86400000, BASE64_ROOM = VAULT_BYTES * 2 };

static const char vault_setting[] = "backup.vault", days_setting[] = "backup.days";
static const char sealed_shape[] = "record-00000000T000000.sealed";

bool vault_load(struct journal *j, struct vault *v)
{
    struct arena *a = arena_new();
    size_t size = 0;
    const char *kept = journal_setting(j, a, vault_setting);
    bool there = kept && sodium_base642bin(v->bytes, sizeof v->bytes, kept, strlen(kept), NULL,
                                           &size, NULL, sodium_base64_VARIANT_ORIGINAL) == 0;
    arena_free(a);
    return there && size == VAULT_BYTES;
}

bool vault_keep(struct journal *j, const struct vault *v, struct fault *f)
{
    char text[BASE64_ROOM];
    sodium_bin2base64(text, sizeof text, v->bytes, sizeof v->bytes, sodium_base64_VARIANT_ORIGINAL);
    return journal_setting_put(j, vault_setting, text, f);
}

static bool has_shape(const char *name, const char *shape)
{
    while (*shape && (*shape == '0' ? *name >= '0' && *name <= '9' : *name == *shape))
        shape++, name++;
    return *shape == '\0' && *name == '\0';
}

struct names {
    char list[256][NAME_ROOM];
    size_t count;
};

static int by_name(const void *a, const void *b)
{
    return strcmp(a, b);
}

static void names_read(const char *folder, const char *shape, struct names *n)
{
    n->count = 0;
    DIR *d = opendir(folder);
    for (struct dirent *e; d && n->count < 256 && (e = readdir(d));)
        if (has_shape(e->d_name, shape))
            snprintf(n->list[n->count++], NAME_ROOM, "%.31s", e->d_name);
    if (d)
        closedir(d);
    qsort(n->list, n->count, NAME_ROOM, by_name);
}

void backups_thin(const char *folder, const char *shape)
{
    char path[PATH_ROOM];
    struct names n;
    names_read(folder, shape, &n);
    for (size_t i = 0; i + BACKUPS_KEPT < n.count; i++)
        if (snprintf(path, sizeof path, "%s/%s", folder, n.list[i]) < (int)sizeof path)
            unlink(path);
}

static void stamp(int64_t now, char out[NAME_ROOM])
{
    char iso[CLOCK_ROOM], packed[CLOCK_ROOM];
    size_t n = 0;
    for (const char *c = clock_iso_time(now, iso); *c && n < 15; c++)
        if (*c != '-' && *c != ':')
            packed[n++] = *c;
    packed[n] = '\0';
    snprintf(out, NAME_ROOM, "record-%.13s%02d.sealed", packed, (int)(now / 1000 % 60));
}

static const char plain_name[] = "open.db";

/* What a kill in the middle of a backup left: the plain copy, which nobody should carry away with
 * the sealed ones, and what was not sealed to its end. */
static void leftovers_drop(const char *folder)
{
    char path[PATH_ROOM];
    DIR *d = opendir(folder);
    for (struct dirent *e; d && (e = readdir(d));) {
        size_t n = strlen(e->d_name);
        bool left = strncmp(e->d_name, plain_name, sizeof plain_name - 1) == 0 ||
                    (n > 5 && strcmp(e->d_name + n - 5, ".part") == 0);
        if (left && snprintf(path, sizeof path, "%s/%s", folder, e->d_name) < (int)sizeof path)
            unlink(path);
    }
    if (d)
        closedir(d);
}

/* The plain copy exists beside the record only, where the record itself lies open. For a moment
 * both it and the sealed one do. */
bool vault_backup(struct journal *j, int64_t now, char path[4096], struct fault *f)
{
    char folder[PATH_ROOM - 64], plain[PATH_ROOM], name[NAME_ROOM];
    struct vault v;
    if (!vault_load(j, &v))
        return fail(f, FAULT_MISSING, "no passphrase for backups is set: amble backup --set-up");
    if (snprintf(folder, sizeof folder, "%s/backups", j->folder) >= (int)sizeof folder)
        return fail(f, FAULT_INPUT, "the folder's name is too long");
    if (mkdir(folder, 0700) != 0 && errno != EEXIST)
        return fail(f, FAULT_STORE, "cannot make the folder %s: %s", folder, strerror(errno));
    stamp(now, name);
    snprintf(path, PATH_ROOM, "%s/%s", folder, name);
    snprintf(plain, sizeof plain, "%s/%s", folder, plain_name);
    leftovers_drop(folder);
    bool ok = disk_holds(folder, 2 * journal_bytes(j), f) && journal_backup(j, plain, f) &&
              vault_seal(&v, plain, path, f);
    unlink(plain);
    if (!ok)
        return false;
    backups_thin(folder, sealed_shape);
    return true;
}

static int backup_days(struct journal *j)
{
    struct arena *a = arena_new();
    const char *set = journal_setting(j, a, days_setting);
    long days = set ? strtol(set, NULL, 10) : BACKUP_DAYS_USUAL;
    arena_free(a);
    return days < 0 || days > 366 ? BACKUP_DAYS_USUAL : (int)days;
}

bool vault_backup_due(struct journal *j, int64_t now, bool *made, struct fault *f)
{
    char folder[PATH_ROOM], path[PATH_ROOM], limit[NAME_ROOM];
    struct vault v;
    struct names n;
    int days = backup_days(j);
    if (made)
        *made = false;
    if (days == 0 || j->read_only || !vault_load(j, &v))
        return true;
    snprintf(folder, sizeof folder, "%s/backups", j->folder);
    leftovers_drop(folder);
    names_read(folder, sealed_shape, &n);
    stamp(now - (int64_t)days * DAY_MS, limit);
    if (n.count > 0 && strcmp(n.list[n.count - 1], limit) > 0)
        return true;
    if (!vault_backup(j, now, path, f))
        return fail_within(f, "the backup that was due was not made");
    if (made)
        *made = true;
    return true;
}
