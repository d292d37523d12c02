#include "base/arena.h"
#include "journal/internal.h"

static bool clear(struct journal *j, struct fault *f)
{
    static const char sql[] = "DELETE FROM head; DELETE FROM branched; DELETE FROM conflict;"
                              "DELETE FROM found; DELETE FROM word; DELETE FROM phone;"
                              "INSERT INTO search(search) VALUES ('delete-all');";
    return sqlite3_exec(j->db, sql, NULL, NULL, NULL) == SQLITE_OK ||
           store_fail(j->db, f, "cannot make the lists again");
}

static bool settle_again(struct journal *j, sqlite3_stmt *s, struct arena *a, struct fault *f)
{
    struct far_entry e;
    int64_t entity, item;
    local_numbers(s, &entity, &item);
    return far_read(j, a, s, &e, f) &&
           entry_settle(j, sqlite3_column_int64(s, 0), entity, item, &e, f);
}

static bool rebuild(struct journal *j, struct fault *f)
{
    if (!clear(j, f))
        return false;
    struct arena *a = arena_new();
    struct rows r = ask(j, ENTRIES_FROM, ARGS(num(0), num(INT64_MAX)), f);
    while (next(&r)) {
        arena_reset(a);
        if (!settle_again(j, r.s, a, f)) {
            done(&r);
            r.ok = false;
        }
    }
    arena_free(a);
    return r.ok;
}

bool journal_rebuild(struct journal *j, struct fault *f)
{
    return writable(j, f) && change_begin(j, f) && change_end(j, rebuild(j, f), f);
}
