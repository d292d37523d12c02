/* Putting a copy in the place of the record. */
#include "journal/restore.h"
#include "journal/internal.h"
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_ROOM = RESTORE_PATH_ROOM };

bool journal_verify_file(const char *path, uint64_t *checked, bool *older, struct fault *f)
{
    size_t count;
    int version = 0;
    const struct migration *steps = schema_steps(&count);
    struct journal copy = {.read_only = true, .lock = -1};
    *checked = 0;
    bool ok = sqlite3_open_v2(path, &copy.db, SQLITE_OPEN_READONLY, NULL) == SQLITE_OK ||
              fail(f, FAULT_MISSING, "cannot open %s: %s", path, sqlite3_errmsg(copy.db));
    ok = ok && schema_check(copy.db, path, steps[count - 1].version, &version, f);
    if (ok && version == 0)
        ok = fail(f, FAULT_MISSING, "%s holds no record", path);
    *older = version < steps[count - 1].version;
    ok = ok && database_check(copy.db, f) && (*older || journal_verify(&copy, checked, f));
    for (size_t i = 0; i < STATEMENT_COUNT; i++)
        sqlite3_finalize(copy.statements[i]);
    sqlite3_close(copy.db);
    return ok;
}

/* Bytes of one file into another that is flushed. */
static bool copy_bytes(const char *from, const char *to, struct fault *f)
{
    char bytes[65536];
    size_t n = 0;
    bool ok = true;
    FILE *in = fopen(from, "rbe");
    int made = open(to, O_CREAT | O_TRUNC | O_WRONLY | O_CLOEXEC, 0600);
    FILE *out = made >= 0 ? fdopen(made, "wb") : NULL;
    while (in && out && ok && (n = fread(bytes, 1, sizeof bytes, in)) > 0)
        ok = fwrite(bytes, 1, n, out) == n;
    ok = ok && in && out && !ferror(in) && fflush(out) == 0 && fsync(made) == 0;
    int why = errno;
    if (in)
        fclose(in);
    if (out)
        ok = fclose(out) == 0 && ok;
    return ok || fail(f, FAULT_STORE, "cannot copy %s to %s: %s", from, to, strerror(why));
}

/* What is there goes aside under the next free name: nothing is ever written over. */
static bool set_aside(const char *folder, const char *db, char aside[PATH_ROOM], struct fault *f)
{
    static const char *const ends[] = {"", "-wal", "-shm"};
    char old[PATH_ROOM], name[PATH_ROOM];
    struct stat st;
    if (stat(db, &st) != 0)
        return true;
    int number = 1;
    do
        snprintf(aside, PATH_ROOM, "%.3900s/before-restore-%d.db", folder, number++);
    while (stat(aside, &st) == 0 && number < 1000);
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        snprintf(old, sizeof old, "%.4000s%s", db, ends[i]);
        snprintf(name, sizeof name, "%.4000s%s", aside, ends[i]);
        if (rename(old, name) != 0 && errno != ENOENT)
            return fail(f, FAULT_STORE, "cannot set %s aside: %s", old, strerror(errno));
    }
    return true;
}

static bool replace(const char *folder, const char *copy, char aside[PATH_ROOM], struct fault *f)
{
    char db[PATH_ROOM], part[PATH_ROOM];
    snprintf(db, sizeof db, "%.4000s/journal.db", folder);
    snprintf(part, sizeof part, "%.4000s/restore.part", folder);
    bool ok =
        copy_bytes(copy, part, f) && set_aside(folder, db, aside, f) &&
        (rename(part, db) == 0 || fail(f, FAULT_STORE, "cannot name %s: %s", db, strerror(errno)));
    if (!ok)
        unlink(part);
    return ok && file_flush_folder(db, f);
}

bool journal_restore(const char *folder, const char *copy, char aside[PATH_ROOM], uint64_t *checked,
                     struct fault *f)
{
    char path[PATH_ROOM];
    struct journal *j = NULL;
    bool older;
    aside[0] = '\0';
    if (!journal_verify_file(copy, checked, &older, f))
        return fail_within(f, "nothing was restored");
    if (strlen(folder) > 3900)
        return fail(f, FAULT_INPUT, "the folder's name is too long");
    if (!folder_make(folder, f))
        return false;
    snprintf(path, sizeof path, "%.4000s/journal.lock", folder);
    int lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (lock < 0)
        return fail(f, FAULT_STORE, "cannot write %s: %s", path, strerror(errno));
    bool ok = flock(lock, LOCK_EX | LOCK_NB) == 0 ||
              fail(f, FAULT_BUSY, "another amble is writing this record: close it first");
    ok = ok && replace(folder, copy, aside, f);
    close(lock);
    ok = ok && journal_open(&j, folder, JOURNAL_WRITE, f) && journal_renew_identity(j, f) &&
         (!older || journal_verify(j, checked, f) || fail_within(f, "it was restored, but"));
    journal_close(j);
    return ok;
}
