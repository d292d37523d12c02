/* Opening and closing: the folder, the one writer, the file. */
#include "base/ident.h"
#include "journal/internal.h"
#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_ROOM = 4096, BUSY_MS = 5000 };

static bool path_in(const char *folder, const char *name, char out[PATH_ROOM], struct fault *f)
{
    int n = snprintf(out, PATH_ROOM, "%s/%s", folder, name);
    if (n < 0 || n >= PATH_ROOM)
        return fail(f, FAULT_INPUT, "the folder's name is too long");
    return true;
}

/* ---- folder and lock ------------------------------------------------------------------------- */

/* Every missing folder on the way, for this person only. */
bool folder_make(const char *folder, struct fault *f)
{
    char path[PATH_ROOM];
    if (!path_in(folder, "", path, f))
        return false;
    for (char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        if (mkdir(path, 0700) != 0 && errno != EEXIST)
            return fail(f, FAULT_SYSTEM, "cannot make the folder %s: %s", path, strerror(errno));
        *slash = '/';
    }
    return true;
}

/* Who wrote its process number into the lock file; "" when it is empty. */
static void lock_holder(int lock, char out[32])
{
    char text[24];
    ssize_t n = pread(lock, text, sizeof text - 1, 0);
    text[n > 0 ? n : 0] = '\0';
    long pid = strtol(text, NULL, 10);
    out[0] = '\0';
    if (pid > 0)
        snprintf(out, 32, "pid %ld", pid);
}

static bool lock_sign(int lock, struct fault *f)
{
    char text[24];
    int n = snprintf(text, sizeof text, "%ld\n", (long)getpid());
    if (ftruncate(lock, 0) != 0 || pwrite(lock, text, (size_t)n, 0) != n)
        return fail(f, FAULT_STORE, "cannot write journal.lock: %s", strerror(errno));
    return true;
}

static void read_only(struct journal *j, const char *format, const char *who)
{
    j->read_only = true;
    snprintf(j->why_read_only, sizeof j->why_read_only, format, who);
}

/* SQLite keeps its log beside the record. */
static bool folder_writable(const struct journal *j)
{
    return faccessat(AT_FDCWD, j->folder, W_OK, AT_EACCESS) == 0;
}

/* Become the writer; or, when that is allowed, a reader. The lock file stays, its content is only
 * there while somebody writes: found by the next writer, it means an unclean end. */
static bool lock_take(struct journal *j, enum journal_mode mode, struct fault *f)
{
    char path[PATH_ROOM], left[32];
    if (!path_in(j->folder, "journal.lock", path, f))
        return false;
    bool may = folder_writable(j);
    if (!may && mode == JOURNAL_WRITE_ELSE_READ) {
        read_only(j, "%s cannot be written", "its folder");
        return true;
    }
    if (!may)
        return fail(f, FAULT_STORE, "cannot write in %s: %s", j->folder, strerror(errno));
    int lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (lock < 0)
        return fail(f, FAULT_STORE, "cannot write %s: %s", path, strerror(errno));
    if (flock(lock, LOCK_EX | LOCK_NB) == 0) {
        lock_holder(lock, left);
        j->unclean = left[0] != '\0';
        j->lock = lock;
        return lock_sign(lock, f);
    }
    int why = errno;
    lock_holder(lock, j->writer);
    close(lock);
    if (why != EWOULDBLOCK)
        return fail(f, FAULT_SYSTEM, "cannot lock %s: %s", path, strerror(why));
    if (mode == JOURNAL_WRITE) {
        return fail(f, FAULT_BUSY, "another amble is writing this record (%s): close it first",
                    j->writer[0] ? j->writer : "just starting");
    }
    if (!j->writer[0])
        snprintf(j->writer, sizeof j->writer, "another process");
    read_only(j, "another amble (%s) is writing it", j->writer);
    return true;
}

static void lock_drop(struct journal *j)
{
    if (j->lock >= 0) {
        if (ftruncate(j->lock, 0) != 0) {
            /* The next start then offers a check that was not needed. */
        }
        close(j->lock);
    }
}

/* ---- the file -------------------------------------------------------------------------------- */

/* Nothing here writes to the file. */
static bool settings(sqlite3 *db, bool reading, struct fault *f)
{
    static const char pragmas[] = "PRAGMA foreign_keys = ON; PRAGMA temp_store = MEMORY;"
                                  "PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;"
                                  "PRAGMA synchronous = FULL; PRAGMA journal_size_limit = 4194304; "
                                  "PRAGMA cache_size = -4096; PRAGMA recursive_triggers = ON;";
    sqlite3_busy_timeout(db, BUSY_MS);
    sqlite3_db_config(db, SQLITE_DBCONFIG_DEFENSIVE, 1, (int *)NULL);
    if (sqlite3_exec(db, pragmas, NULL, NULL, NULL) != SQLITE_OK ||
        (reading && sqlite3_exec(db, "PRAGMA query_only = ON", NULL, NULL, NULL) != SQLITE_OK))
        return store_fail(db, f, "cannot open the record");
    return true;
}

/* The name by which SQLite opens a file that nobody can change meanwhile, and so without the files
 * it makes beside it. */
static bool still_name(const char *path, char out[3 * PATH_ROOM])
{
    static const char plain[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/._-~";
    size_t at = (size_t)snprintf(out, PATH_ROOM, "file:");
    for (; *path != '\0' && at < 3 * PATH_ROOM - 20; path++) {
        bool as_is = strchr(plain, *path) != NULL;
        at += (size_t)snprintf(out + at, 4, as_is ? "%c" : "%%%02X", (unsigned char)*path);
    }
    snprintf(out + at, 20, "?immutable=1");
    return *path == '\0';
}

/* A reader in a folder where nothing can be made. With a log beside it the record is not whole
 * without it, and the log cannot be read without a third file. */
static bool still_open(struct journal *j, const char *path, struct fault *f)
{
    char log[PATH_ROOM + 8], name[3 * PATH_ROOM];
    snprintf(log, sizeof log, "%s-wal", path);
    bool still = access(log, F_OK) != 0 && still_name(path, name);
    int how = SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX | (still ? SQLITE_OPEN_URI : 0);
    if (sqlite3_open_v2(still ? name : path, &j->db, how, NULL) != SQLITE_OK)
        return fail(f, FAULT_STORE, "cannot open %s: %s", path, sqlite3_errmsg(j->db));
    int first = sqlite3_exec(j->db, "SELECT 1 FROM sqlite_schema", NULL, NULL, NULL);
    if (!still && (first == SQLITE_CANTOPEN || first == SQLITE_READONLY))
        return fail(f, FAULT_STORE,
                    "%s was not closed well, and its folder cannot be written: copy the whole "
                    "folder to a disk and open it there",
                    path);
    return settings(j->db, true, f);
}

static bool file_open(struct journal *j, const char *path, struct fault *f)
{
    struct stat file;
    bool there = stat(path, &file) == 0;
    if (!there && j->read_only)
        return fail(f, FAULT_MISSING, "there is no record in %s", j->folder);
    if (!there) {
        int made = open(path, O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600);
        if (made < 0)
            return fail(f, FAULT_STORE, "cannot make %s: %s", path, strerror(errno));
        close(made);
    }
    if (j->read_only && !folder_writable(j))
        return still_open(j, path, f);
    int how = j->read_only ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE;
    if (sqlite3_open_v2(path, &j->db, how | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK)
        return fail(f, FAULT_STORE, "cannot open %s: %s", path, sqlite3_errmsg(j->db));
    return settings(j->db, j->read_only, f);
}

static bool bring_up_to_date(struct journal *j, const char *path, const struct migration *steps,
                             size_t count, int version, struct fault *f)
{
    int newest = steps[count - 1].version;
    if (version == newest)
        return true;
    if (j->read_only) {
        return fail(
            f, version ? FAULT_REFUSED : FAULT_MISSING,
            version ? "%s is of an older version: start amble once without a command, which brings "
                      "it up to date"
                    : "%s holds no record yet",
            path);
    }
    if (version > 0) {
        char copy[PATH_ROOM], name[64];
        snprintf(name, sizeof name, "before-version-%d.db", newest);
        if (!path_in(j->folder, name, copy, f) || !backup_database(j->db, copy, false, f)) {
            return fail_within(f, "no backup before the change to version %d, so it was not made",
                               newest);
        }
    }
    return schema_migrate(j->db, steps, count, version, f);
}

/* ---- who this is ----------------------------------------------------------------------------- */

static bool identity_make(struct journal *j, struct fault *f)
{
    char uuid[IDENT_ROOM], name[256] = "";
    uint8_t bytes[UUID_BYTES];
    ident_new(uuid);
    uuid_read(uuid, bytes);
    if (gethostname(name, sizeof name - 1) != 0)
        name[0] = '\0';
    return run(j, DEVICE_ADD, ARGS(blob(bytes, UUID_BYTES), txt(name)), f) &&
           run(j, SELF_SET, ARGS(num(sqlite3_last_insert_rowid(j->db))), f);
}

bool identity_load(struct journal *j, struct fault *f)
{
    j->tip_known = false;
    struct rows r = ask(j, SELF, NO_ARGS, f);
    if (next(&r)) {
        j->self = sqlite3_column_int64(r.s, 0);
        column_bytes(r.s, 1, j->self_uuid, UUID_BYTES);
    }
    done(&r);
    return r.ok;
}

bool journal_renew_identity(struct journal *j, struct fault *f)
{
    return writable(j, f) && change_begin(j, f) && change_end(j, identity_make(j, f), f) &&
           identity_load(j, f);
}

static bool identity(struct journal *j, struct fault *f)
{
    if (!identity_load(j, f))
        return false;
    if (j->self == 0 && !j->read_only)
        return journal_renew_identity(j, f);
    return true;
}

/* ---- open, close ----------------------------------------------------------------------------- */

static bool open_into(struct journal *j, enum journal_mode mode, const struct migration *steps,
                      size_t count, struct fault *f)
{
    char path[PATH_ROOM];
    int version = 0;
    if (mode == JOURNAL_READ)
        read_only(j, "%s", "that was asked for");
    if (!path_in(j->folder, "journal.db", path, f) ||
        (!j->read_only && !(folder_make(j->folder, f) && lock_take(j, mode, f))) ||
        !file_open(j, path, f))
        return false;
    if (!schema_check(j->db, path, steps[count - 1].version, &version, f)) {
        /* Not ours to tidy up. */
        sqlite3_db_config(j->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, (int *)NULL);
        return false;
    }
    if (!j->read_only &&
        sqlite3_exec(j->db, "PRAGMA journal_mode = WAL", NULL, NULL, NULL) != SQLITE_OK)
        return store_fail(j->db, f, "cannot open the record");
    return bring_up_to_date(j, path, steps, count, version, f) && identity(j, f);
}

bool journal_open_with(struct journal **out, const char *folder, enum journal_mode mode,
                       const struct migration *steps, size_t count, struct fault *f)
{
    *out = NULL;
    if (sodium_init() < 0)
        return fail(f, FAULT_SYSTEM, "no source of random numbers");
    struct journal *j = calloc(1, sizeof *j);
    char *copy = j ? strdup(folder) : NULL;
    if (!copy) {
        free(j);
        return fail(f, FAULT_SYSTEM, "no memory to open the record");
    }
    j->folder = copy;
    j->lock = -1;
    if (!open_into(j, mode, steps, count, f)) {
        journal_close(j);
        return false;
    }
    *out = j;
    return true;
}

bool journal_open(struct journal **out, const char *folder, enum journal_mode mode, struct fault *f)
{
    size_t count;
    const struct migration *steps = schema_steps(&count);
    return journal_open_with(out, folder, mode, steps, count, f);
}

void journal_close(struct journal *j)
{
    if (!j)
        return;
    journal_rollback(j);
    flush_end(j);
    for (size_t i = 0; i < STATEMENT_COUNT; i++)
        sqlite3_finalize(j->statements[i]);
    sqlite3_close(j->db);
    lock_drop(j);
    free(j->made);
    free(j->folder);
    free(j);
}

bool journal_lend(struct journal *j, struct fault *f)
{
    if (j->batch || j->read_only)
        return fail(f, FAULT_REFUSED, "the record cannot be lent now");
    if (!journal_flush(j, f)) /* a power cut here must not take what was sent */
        return false;
    j->beside = j->flusher != NULL;
    flush_end(j);
    journal_look_stop(j);
    lock_drop(j);
    j->lock = -1;
    j->lent = j->read_only = true;
    snprintf(j->writer, sizeof j->writer, "whoever exchanges with it");
    return true;
}

/* What was remembered of the record may be another's work by now. */
bool journal_take_back(struct journal *j, struct fault *f)
{
    if (!j->lent)
        return true;
    if (!lock_take(j, JOURNAL_WRITE, f))
        return false;
    j->lent = j->read_only = false;
    j->tried = false;
    j->writes++;
    names_forget(j);
    if (j->beside)
        (void)journal_flush_beside(j, NULL); /* else each is flushed as it is written */
    return identity_load(j, f);
}

bool journal_read_only(const struct journal *j)
{
    return j->read_only;
}

const char *journal_why_read_only(const struct journal *j)
{
    return j->why_read_only;
}

void journal_stop_writing(struct journal *j, const char *why)
{
    read_only(j, "%s", why);
    sqlite3_exec(j->db, "PRAGMA query_only = ON", NULL, NULL, NULL);
}

uint64_t journal_writes(const struct journal *j)
{
    return j->writes;
}

const char *journal_folder(const struct journal *j)
{
    return j->folder;
}

const char *journal_writer(const struct journal *j)
{
    return j->writer;
}

uint32_t journal_device(const struct journal *j)
{
    return (uint32_t)j->self;
}

bool journal_unclean(const struct journal *j)
{
    return j->unclean;
}
