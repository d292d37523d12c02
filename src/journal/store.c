#include "journal/internal.h"
#include <string.h>

static const char *const sql_of[STATEMENT_COUNT] = {
#define X(name, sql) [name] = (sql),
    STATEMENTS(X)
#undef X
};

struct arg txt(const char *s)
{
    if (!s)
        return (struct arg){.type = ARG_NULL};
    return (struct arg){.type = ARG_TEXT, .bytes = s, .size = strlen(s)};
}

bool store_fail(sqlite3 *db, struct fault *f, const char *what)
{
    switch (sqlite3_errcode(db)) {
    case SQLITE_FULL:
        return fail(f, FAULT_STORE, "%s: the disk is full; free some space and do it again", what);
    case SQLITE_IOERR:
        return fail(f, FAULT_STORE, "%s: the disk reported an error", what);
    case SQLITE_READONLY:
    case SQLITE_PERM:
        return fail(f, FAULT_STORE, "%s: the record is on a medium that cannot be written", what);
    case SQLITE_CANTOPEN:
        return fail(f, FAULT_STORE, "%s: the record's files cannot be opened", what);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return fail(f, FAULT_BUSY, "%s: another program is using the record", what);
    case SQLITE_CORRUPT:
        return fail(f, FAULT_DAMAGE,
                    "%s: the record, or the disk under it, is damaged; restore a backup", what);
    case SQLITE_NOTADB:
        return fail(f, FAULT_DAMAGE, "%s: this is not a record, or its beginning is damaged", what);
    case SQLITE_TOOBIG:
        return fail(f, FAULT_LIMIT, "%s: the text is too long", what);
    default:
        return fail(f, FAULT_STORE, "%s: %s", what, sqlite3_errmsg(db));
    }
}

static bool statement_fail(struct journal *j, sqlite3_stmt *s, struct fault *f)
{
    bool reads = s && sqlite3_stmt_readonly(s);
    return store_fail(j->db, f, reads ? "cannot read the record" : "not saved");
}

bool writable(struct journal *j, struct fault *f)
{
    if (j->read_only) {
        return fail(f, FAULT_REFUSED, "the record is open for reading only: %s", j->why_read_only);
    }
    journal_look_stop(j);
    return true;
}

static bool bind(sqlite3_stmt *s, const struct arg *args, size_t count)
{
    int rc = SQLITE_OK;
    for (size_t i = 0; i < count && rc == SQLITE_OK; i++) {
        int at = (int)i + 1;
        switch (args[i].type) {
        case ARG_NULL:
            rc = sqlite3_bind_null(s, at);
            break;
        case ARG_NUMBER:
            rc = sqlite3_bind_int64(s, at, args[i].number);
            break;
        case ARG_TEXT:
            rc =
                sqlite3_bind_text64(s, at, args[i].bytes, args[i].size, SQLITE_STATIC, SQLITE_UTF8);
            break;
        case ARG_BLOB:
            rc = sqlite3_bind_blob64(s, at, args[i].bytes, args[i].size, SQLITE_STATIC);
            break;
        }
    }
    return rc == SQLITE_OK;
}

struct rows ask(struct journal *j, enum statement which, const struct arg *args, size_t count,
                struct fault *f)
{
    struct rows r = {.j = j, .f = f, .ok = true};
    sqlite3_stmt **s = &j->statements[which];
    if (!*s) {
        int rc = sqlite3_prepare_v3(j->db, sql_of[which], -1, SQLITE_PREPARE_PERSISTENT, s, NULL);
        if (rc != SQLITE_OK) {
            r.ok = statement_fail(j, NULL, f);
            return r;
        }
    }
    if (!bind(*s, args, count)) {
        r.ok = statement_fail(j, *s, f);
        return r;
    }
    r.s = *s;
    return r;
}

void done(struct rows *r)
{
    if (r->s) {
        sqlite3_reset(r->s);
        sqlite3_clear_bindings(r->s);
        r->s = NULL;
    }
}

bool next(struct rows *r)
{
    if (!r->s)
        return false;
    int rc = sqlite3_step(r->s);
    if (rc == SQLITE_ROW)
        return true;
    if (rc != SQLITE_DONE)
        r->ok = statement_fail(r->j, r->s, r->f);
    done(r);
    return false;
}

bool run(struct journal *j, enum statement which, const struct arg *args, size_t count,
         struct fault *f)
{
    struct rows r = ask(j, which, args, count, f);
    while (next(&r)) {
    }
    return r.ok;
}

bool run_unflushed(struct journal *j, enum statement which, const struct arg *args, size_t count,
                   struct fault *f)
{
    if (!sqlite3_get_autocommit(j->db))
        return run(j, which, args, count, f);
    if (j->flusher) {
        flush_wanted(j, false);
        bool done = run(j, which, args, count, f);
        flush_wanted(j, true);
        return done;
    }
    /* This pragma acts when it is compiled, so it cannot be kept as a statement. */
    sqlite3_exec(j->db, "PRAGMA synchronous = NORMAL", NULL, NULL, NULL);
    bool ok = run(j, which, args, count, f);
    if (sqlite3_exec(j->db, "PRAGMA synchronous = FULL", NULL, NULL, NULL) != SQLITE_OK && ok)
        ok = store_fail(j->db, f, "entries would no longer be flushed");
    return ok;
}

bool ask_number(struct journal *j, enum statement which, int64_t *out, const struct arg *args,
                size_t count, struct fault *f)
{
    struct rows r = ask(j, which, args, count, f);
    *out = next(&r) ? sqlite3_column_int64(r.s, 0) : 0;
    done(&r);
    return r.ok;
}

const char *column_text(sqlite3_stmt *s, int column)
{
    const unsigned char *text = sqlite3_column_text(s, column);
    return text ? (const char *)text : "";
}

void column_bytes(sqlite3_stmt *s, int column, void *out, size_t size)
{
    const void *bytes = sqlite3_column_blob(s, column);
    size_t have = (size_t)sqlite3_column_bytes(s, column);
    memset(out, 0, size);
    if (bytes)
        memcpy(out, bytes, have < size ? have : size);
}

/* ---- transactions ---------------------------------------------------------------------------- */

bool journal_look_begin(struct journal *j)
{
    if (!sqlite3_get_autocommit(j->db) || !run(j, BEGIN_READ, NO_ARGS, NULL))
        return false;
    j->looking = true;
    return true;
}

void journal_look_stop(struct journal *j)
{
    if (j->looking)
        run(j, COMMIT, NO_ARGS, NULL);
    j->looking = false;
}

void journal_look_end(struct journal *j, bool looking)
{
    if (looking)
        journal_look_stop(j);
}

bool journal_changed(struct journal *j, struct journal_state *since)
{
    struct journal_state now = {.here = sqlite3_total_changes64(j->db)};
    bool told = ask_number(j, DATA_VERSION, &now.elsewhere, NO_ARGS, NULL);
    bool same = told && now.here == since->here && now.elsewhere == since->elsewhere;
    *since = told ? now : (struct journal_state){.here = -1};
    return !same;
}

static bool begin(struct journal *j, struct fault *f)
{
    j->writes++;
    if (journal_flushing(j) == FLUSH_FAILED && !journal_flush(j, f))
        return fail_within(f, "not saved");
    return run(j, BEGIN_WRITE, NO_ARGS, NULL) || store_fail(j->db, f, "not saved");
}

static void made_forget(struct journal *j, bool written)
{
    size_t kept = 0;
    for (size_t i = 0; i < j->made_count; i++) {
        if (written && j->made[i].written)
            continue;
        j->made[kept] = j->made[i];
        j->made[kept++].written = false;
    }
    j->made_count = kept;
}

static void rollback(struct journal *j)
{
    if (!sqlite3_get_autocommit(j->db))
        sqlite3_exec(j->db, "ROLLBACK", NULL, NULL, NULL);
    j->tip_known = false;
    names_forget(j);
    made_forget(j, false);
    (void)identity_load(j, NULL); /* a new one may have been taken back */
}

static bool commit(struct journal *j, struct fault *f)
{
    if (!run(j, COMMIT, NO_ARGS, NULL)) {
        store_fail(j->db, f, "not saved");
        rollback(j);
        return false;
    }
    made_forget(j, true);
    return true;
}

bool change_begin(struct journal *j, struct fault *f)
{
    if (!j->batch)
        return begin(j, f);
    if (j->batch_lost)
        return fail(f, FAULT_STORE, "not saved: an earlier part of the same work could not be");
    return true;
}

bool change_end(struct journal *j, bool worked, struct fault *f)
{
    if (!worked) {
        rollback(j);
        j->batch_lost = j->batch;
        return false;
    }
    return j->batch || commit(j, f);
}

void change_refuse(struct journal *j)
{
    if (!j->batch)
        rollback(j);
}

bool journal_begin(struct journal *j, struct fault *f)
{
    if (j->batch)
        return fail(f, FAULT_REFUSED, "a piece of work is already begun and must end first");
    if (!writable(j, f) || !begin(j, f))
        return false;
    j->batch = true;
    j->batch_lost = false;
    return true;
}

bool journal_commit(struct journal *j, struct fault *f)
{
    if (!j->batch)
        return fail(f, FAULT_REFUSED, "no piece of work was begun");
    j->batch = false;
    if (j->batch_lost) {
        return fail(f, FAULT_STORE,
                    "not saved: a part of the work could not be; nothing of it was");
    }
    return commit(j, f);
}

void journal_rollback(struct journal *j)
{
    if (j->batch) {
        j->batch = false;
        rollback(j);
    }
}
