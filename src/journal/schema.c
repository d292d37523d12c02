#include "journal/internal.h"
#include <stdio.h>

/* Entries are never touched again. OR REPLACE would delete without asking the delete trigger, so
 * inserting over a row is refused as well. */
static const char tables[] =
    "PRAGMA application_id = 0x616d626c;"

    "CREATE TABLE device(id INTEGER PRIMARY KEY, uuid BLOB NOT NULL UNIQUE CHECK (length(uuid) = "
    "16),"
    " name TEXT NOT NULL, holds INTEGER NOT NULL DEFAULT 0) STRICT;"
    "CREATE TABLE self(one INTEGER PRIMARY KEY CHECK (one = 1),"
    " device INTEGER NOT NULL REFERENCES device) STRICT;"
    "CREATE TABLE kind(id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE,"
    " members INTEGER NOT NULL DEFAULT 0) STRICT;"
    "CREATE TABLE entity(id INTEGER PRIMARY KEY, uuid BLOB NOT NULL UNIQUE CHECK (length(uuid) = "
    "16),"
    " kind INTEGER NOT NULL REFERENCES kind) STRICT;"
    "CREATE INDEX entity_kind ON entity(kind);"
    "CREATE TABLE item(id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;"
    "CREATE TABLE author(id INTEGER PRIMARY KEY, uuid BLOB NOT NULL UNIQUE) STRICT;"

    /* The record. A device's highest number is its part of the version vector: numbers have no
       gaps. */
    "CREATE TABLE entry(id INTEGER PRIMARY KEY," /* device << 40 | number */
    " device INTEGER NOT NULL GENERATED ALWAYS AS (id >> 40) VIRTUAL,"
    " number INTEGER NOT NULL GENERATED ALWAYS AS (id & 0xFFFFFFFFFF) VIRTUAL,"
    " kind INTEGER NOT NULL,"
    " entity INTEGER NOT NULL REFERENCES entity, item INTEGER NOT NULL REFERENCES item,"
    " author INTEGER NOT NULL REFERENCES author,"
    " claimed_at INTEGER NOT NULL, lamport INTEGER NOT NULL,"
    " replaces INTEGER NOT NULL," /* how many rows of replaced */
    " value TEXT,"                /* NULL: erased by law; salt is then the digest */
    " reason TEXT NOT NULL, salt BLOB NOT NULL, hash BLOB NOT NULL) STRICT;"
    "CREATE TRIGGER entry_no_update BEFORE UPDATE ON entry"
    " BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;"
    "CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry"
    " BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END;"
    "CREATE TRIGGER entry_no_replace BEFORE INSERT ON entry"
    " WHEN EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)"
    " BEGIN SELECT RAISE(ABORT, 'entries are never replaced'); END;"

    /* Which entries an entry replaces; `earlier` may not have arrived yet. */
    "CREATE TABLE replaced(earlier INTEGER NOT NULL, later INTEGER NOT NULL,"
    " PRIMARY KEY (earlier, later)) STRICT, WITHOUT ROWID;"
    "CREATE INDEX replaced_later ON replaced(later);"
    "CREATE TRIGGER replaced_no_update BEFORE UPDATE ON replaced"
    " BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;"
    "CREATE TRIGGER replaced_no_delete BEFORE DELETE ON replaced"
    " BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END;"

    /* Derived from here on: entries nobody replaced, items with more than one value, search. */
    "CREATE TABLE head(entity INTEGER NOT NULL, item INTEGER NOT NULL, entry INTEGER NOT NULL,"
    " key TEXT, PRIMARY KEY (entity, item, entry)) STRICT, WITHOUT ROWID;"
    "CREATE INDEX head_key ON head(item, key) WHERE key IS NOT NULL;"
    "CREATE TABLE conflict(entity INTEGER NOT NULL, item INTEGER NOT NULL,"
    " PRIMARY KEY (entity, item)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE found(entity INTEGER PRIMARY KEY, words TEXT NOT NULL," /* all, folded */
    " names TEXT NOT NULL, phones TEXT NOT NULL," /* words of names; digits, last first */
    " texts TEXT NOT NULL) STRICT;"               /* as stored, after each a unit separator */
    "CREATE VIRTUAL TABLE search USING fts5(words, content='found', content_rowid='entity',"
    " tokenize='unicode61 remove_diacritics 2', prefix='1 2 3');"
    "CREATE TABLE word(length INTEGER NOT NULL, folded TEXT NOT NULL, letters INTEGER NOT NULL,"
    " uses INTEGER NOT NULL, PRIMARY KEY (length, folded)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE phone(reversed TEXT NOT NULL, entity INTEGER NOT NULL,"
    " PRIMARY KEY (reversed, entity)) STRICT, WITHOUT ROWID;"

    /* This device's own; never travels. */
    "CREATE TABLE draft(entity BLOB NOT NULL, kind TEXT NOT NULL, item TEXT NOT NULL,"
    " typed TEXT NOT NULL, PRIMARY KEY (entity, item)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE setting(name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;";

/* For share/: what it keeps beside the record, and seeds of salts. None of it is an entry. */
static const char exchange[] =
    "CREATE TABLE kept(name TEXT PRIMARY KEY, bytes BLOB NOT NULL) STRICT, WITHOUT ROWID;"
    "CREATE TABLE seed(device INTEGER NOT NULL, block INTEGER NOT NULL, seed BLOB NOT NULL,"
    " PRIMARY KEY (device, block)) STRICT, WITHOUT ROWID;";

/* What was seen where an entry replaced another (struct far_edge); and, derived as well, the
 * entries of branches that were moved to a name of their own: version 8 in their device's uuid. */
static const char edges[] =
    "ALTER TABLE replaced ADD COLUMN tag INTEGER;" /* NULL: an older program did not say */
    "CREATE INDEX replaced_tag ON replaced(tag) WHERE tag IS NOT NULL;"
    "CREATE TABLE branched(entity INTEGER NOT NULL, item INTEGER NOT NULL, entry INTEGER NOT NULL,"
    " PRIMARY KEY (entity, item, entry)) STRICT, WITHOUT ROWID;"
    "INSERT INTO branched SELECT e.entity, e.item, e.id FROM device d"
    " JOIN entry e ON e.id > d.id << 40 AND e.id < (d.id + 1) << 40"
    " WHERE substr(hex(d.uuid), 13, 1) = '8';";

/* Plain INSERT refuses a number that is taken, and for INSERT OR REPLACE the trigger that guards
 * deleting speaks (recursive_triggers): a trigger that looked first made every insert half as dear
 * again. */
static const char lighter[] = "DROP TRIGGER IF EXISTS entry_no_replace;";

static const struct migration steps[] = {
    {.version = 1, .what = "the first tables", .sql = tables},
    {.version = 2, .what = "the exchange between devices", .sql = exchange},
    {.version = 3, .what = "what was seen is said of what is replaced", .sql = edges},
    {.version = 4, .what = "entries are kept with less work", .sql = lighter},
};

const struct migration *schema_steps(size_t *count)
{
    *count = sizeof steps / sizeof steps[0];
    return steps;
}

static bool pragma_number(sqlite3 *db, const char *sql, int64_t *out, struct fault *f)
{
    sqlite3_stmt *s = NULL;
    bool ok =
        sqlite3_prepare_v2(db, sql, -1, &s, NULL) == SQLITE_OK && sqlite3_step(s) == SQLITE_ROW;
    if (ok)
        *out = sqlite3_column_int64(s, 0);
    else
        store_fail(db, f, "cannot read the record");
    sqlite3_finalize(s);
    return ok;
}

bool schema_check(sqlite3 *db, const char *path, int newest, int *version, struct fault *f)
{
    int64_t application = 0, user_version = 0, objects = 0;
    if (!pragma_number(db, "PRAGMA application_id", &application, f) ||
        !pragma_number(db, "PRAGMA user_version", &user_version, f) ||
        !pragma_number(db, "SELECT count(*) FROM sqlite_schema", &objects, f))
        return fail_within(f, "%s", path);
    bool empty = application == 0 && user_version == 0 && objects == 0;
    if (application != APPLICATION_ID && !empty)
        return fail(f, FAULT_REFUSED, "%s belongs to another program; it was left as it is", path);
    if (user_version > newest) {
        return fail(f, FAULT_REFUSED,
                    "%s was written by a newer amble (record version %d, this program knows %d): "
                    "update this program",
                    path, (int)user_version, newest);
    }
    *version = (int)user_version;
    return true;
}

static bool step_run(sqlite3 *db, const struct migration *step)
{
    char version[48];
    snprintf(version, sizeof version, "PRAGMA user_version = %d", step->version);
    return sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL) == SQLITE_OK &&
           sqlite3_exec(db, step->sql, NULL, NULL, NULL) == SQLITE_OK &&
           sqlite3_exec(db, version, NULL, NULL, NULL) == SQLITE_OK &&
           sqlite3_exec(db, "COMMIT", NULL, NULL, NULL) == SQLITE_OK;
}

bool schema_migrate(sqlite3 *db, const struct migration *all, size_t count, int version,
                    struct fault *f)
{
    for (size_t i = 0; i < count; i++) {
        if (all[i].version <= version)
            continue;
        if (!step_run(db, &all[i])) {
            store_fail(db, f, "the record stays as it was");
            sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
            return fail_within(f, "cannot bring the record to version %d (%s)", all[i].version,
                               all[i].what);
        }
    }
    return true;
}
