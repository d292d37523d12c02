#include "base/disk.h"
#include "journal/internal.h"
#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_ROOM = 4096 };

static bool flush(const char *path, int how, struct fault *f)
{
    int fd = open(path, how | O_CLOEXEC);
    bool ok = fd >= 0 && fsync(fd) == 0;
    int why = errno;
    if (fd >= 0)
        close(fd);
    return ok || fail(f, FAULT_STORE, "cannot flush %s: %s", path, strerror(why));
}

static uint64_t bytes_of(sqlite3 *db)
{
    struct stat st;
    const char *path = sqlite3_db_filename(db, "main");
    return path && stat(path, &st) == 0 ? (uint64_t)st.st_size : 0;
}

static bool copy_make(sqlite3 *db, const char *part, struct fault *f)
{
    char folder[PATH_ROOM];
    snprintf(folder, sizeof folder, "%s", part);
    if (unlink(part) != 0 && errno != ENOENT)
        return fail(f, FAULT_STORE, "cannot write %s: %s", part, strerror(errno));
    if (!disk_holds(dirname(folder), bytes_of(db), f))
        return false;
    int made = open(part, O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600);
    if (made < 0)
        return fail(f, FAULT_STORE, "cannot write %s: %s", part, strerror(errno));
    close(made);
    sqlite3_stmt *s = NULL;
    bool ok = sqlite3_prepare_v2(db, "VACUUM INTO ?1", -1, &s, NULL) == SQLITE_OK &&
              sqlite3_bind_text(s, 1, part, -1, SQLITE_STATIC) == SQLITE_OK &&
              sqlite3_step(s) == SQLITE_DONE;
    if (!ok)
        store_fail(db, f, "no backup was made");
    sqlite3_finalize(s);
    return ok;
}

/* The first line of a checking pragma is "ok", or says what is wrong. */
static bool pragma_ok(sqlite3 *db, const char *pragma, struct fault *f)
{
    sqlite3_stmt *s = NULL;
    bool ok =
        sqlite3_prepare_v2(db, pragma, -1, &s, NULL) == SQLITE_OK && sqlite3_step(s) == SQLITE_ROW;
    if (!ok)
        store_fail(db, f, "the check failed");
    else if (strcmp(column_text(s, 0), "ok") != 0)
        ok = fail(f, FAULT_DAMAGE, "the record's file is damaged: %.200s", column_text(s, 0));
    sqlite3_finalize(s);
    return ok;
}

uint64_t journal_bytes(const struct journal *j)
{
    return bytes_of(j->db);
}

bool journal_quick_check(struct journal *j, struct fault *f)
{
    return pragma_ok(j->db, "PRAGMA quick_check(1)", f);
}

static bool copy_check(const char *part, bool chains, struct fault *f)
{
    struct journal copy = {.read_only = true, .lock = -1};
    uint64_t checked = 0;
    bool ok = sqlite3_open_v2(part, &copy.db, SQLITE_OPEN_READONLY, NULL) == SQLITE_OK;
    if (!ok)
        fail(f, FAULT_STORE, "cannot read the backup again: %s", sqlite3_errmsg(copy.db));
    ok = ok && database_check(copy.db, f) && (!chains || journal_verify(&copy, &checked, f));
    for (size_t i = 0; i < STATEMENT_COUNT; i++)
        sqlite3_finalize(copy.statements[i]);
    sqlite3_close(copy.db);
    return ok || fail_within(f, "the backup is no good and was not kept");
}

bool database_check(sqlite3 *db, struct fault *f)
{
    return pragma_ok(db, "PRAGMA integrity_check(1)", f);
}

bool file_flush_folder(const char *path, struct fault *f)
{
    char folder[PATH_ROOM];
    snprintf(folder, sizeof folder, "%s", path);
    return flush(dirname(folder), O_RDONLY | O_DIRECTORY, f);
}

static bool copy_place(const char *part, const char *path, struct fault *f)
{
    if (!flush(part, O_RDWR, f))
        return false;
    if (rename(part, path) != 0)
        return fail(f, FAULT_STORE, "cannot name the backup %s: %s", path, strerror(errno));
    return file_flush_folder(path, f);
}

bool backup_database(sqlite3 *db, const char *path, bool chains, struct fault *f)
{
    char part[PATH_ROOM];
    int n = snprintf(part, sizeof part, "%s.part", path);
    if (n < 0 || n >= (int)sizeof part)
        return fail(f, FAULT_INPUT, "the backup's name is too long");
    if (copy_make(db, part, f) && copy_check(part, chains, f) && copy_place(part, path, f))
        return true;
    unlink(part);
    return false;
}

bool journal_backup(struct journal *j, const char *path, struct fault *f)
{
    if (j->batch)
        return fail(f, FAULT_REFUSED, "no backup in the middle of a piece of work");
    journal_look_stop(j);
    /* VACUUM INTO writes nothing here, but query_only would refuse it. */
    if (j->read_only &&
        sqlite3_exec(j->db, "PRAGMA query_only = OFF", NULL, NULL, NULL) != SQLITE_OK)
        return store_fail(j->db, f, "no backup was made");
    bool made = backup_database(j->db, path, true, f);
    if (j->read_only)
        sqlite3_exec(j->db, "PRAGMA query_only = ON", NULL, NULL, NULL);
    return made;
}
