/* The cost of each statement as SQLite plans it: nothing that grows with the record is scanned. */
#include "journal_kit.h"
#include <sodium.h>

static const struct {
    const char *name, *sql;
} statements[] = {
#define X(name, sql) {#name, sql},
    STATEMENTS(X)
#undef X
};

/* Tables that stay small, names the queries give to their own results, and the search index, which
 * is its own lookup. */
static bool harmless(const char *step)
{
    static const char *const small[] = {
        "SCAN device", "SCAN draft", "SCAN conflict", "SCAN c",
        "SCAN s",      "SCAN story", "SCAN CONSTANT", "SCAN search VIRTUAL TABLE INDEX"};
    for (size_t i = 0; i < sizeof small / sizeof small[0]; i++)
        if (strncmp(step, small[i], strlen(small[i])) == 0)
            return true;
    return strncmp(step, "SCAN", 4) != 0;
}

/* A record all of whose entries are withdrawn: once in years. The others stand where every entry is
 * read again. */
static bool scans(const char *name)
{
    static const char *const all[] = {"ENTITY_DROP", "SIGNS", "ENTRY_STRAY"};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        if (strcmp(all[i], name) == 0)
            return true;
    return false;
}

static void no_statement_scans(void **state)
{
    struct kit *k = *state;
    for (size_t i = 0; i < sizeof statements / sizeof statements[0]; i++) {
        char *explain = sqlite3_mprintf("EXPLAIN QUERY PLAN %s", statements[i].sql);
        sqlite3_stmt *s = NULL;
        if (sqlite3_prepare_v2(k->j->db, explain, -1, &s, NULL) != SQLITE_OK)
            fail_msg("%s: %s", statements[i].name, sqlite3_errmsg(k->j->db));
        while (sqlite3_step(s) == SQLITE_ROW) {
            const char *step = column_text(s, 3);
            if (!harmless(step) && !scans(statements[i].name))
                fail_msg("%s: %s", statements[i].name, step);
        }
        sqlite3_finalize(s);
        sqlite3_free(explain);
    }
}

/* Sorting is fine for one entity's heads, not for lists with a limit. */
static void lists_with_a_limit_do_not_sort(void **state)
{
    struct kit *k = *state;
    static const char *const sorted[] = {"HISTORY_OF", "HEAD_TEXTS", "REPLACED_BY"};
    for (size_t i = 0; i < sizeof statements / sizeof statements[0]; i++) {
        bool may = false;
        for (size_t n = 0; n < sizeof sorted / sizeof sorted[0]; n++)
            may = may || strcmp(sorted[n], statements[i].name) == 0;
        char *explain = sqlite3_mprintf("EXPLAIN QUERY PLAN %s", statements[i].sql);
        sqlite3_stmt *s = NULL;
        assert_int_equal(sqlite3_prepare_v2(k->j->db, explain, -1, &s, NULL), SQLITE_OK);
        while (sqlite3_step(s) == SQLITE_ROW)
            if (!may && strstr(column_text(s, 3), "B-TREE FOR ORDER BY"))
                fail_msg("%s sorts", statements[i].name);
        sqlite3_finalize(s);
        sqlite3_free(explain);
    }
}

static int64_t pragma(struct kit *k, const char *name)
{
    char sql[64];
    sqlite3_stmt *s = NULL;
    snprintf(sql, sizeof sql, "PRAGMA %s", name);
    assert_int_equal(sqlite3_prepare_v2(k->j->db, sql, -1, &s, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(s), SQLITE_ROW);
    int64_t n = sqlite3_column_int64(s, 0);
    sqlite3_finalize(s);
    return n;
}

static void the_settings_that_keep_it_safe(void **state)
{
    struct kit *k = *state;
    assert_int_equal(pragma(k, "synchronous"), 2); /* FULL */
    assert_int_equal(pragma(k, "foreign_keys"), 1);
    assert_int_equal(pragma(k, "temp_store"), 2); /* MEMORY */
    assert_int_equal(pragma(k, "trusted_schema"), 0);
    assert_int_equal(pragma(k, "cell_size_check"), 1);
    assert_int_equal(pragma(k, "busy_timeout"), 5000);
    assert_int_equal(pragma(k, "application_id"), APPLICATION_ID);
    assert_int_equal(pragma(k, "user_version"), 4);
    sqlite3_stmt *s = NULL;
    assert_int_equal(sqlite3_prepare_v2(k->j->db, "PRAGMA journal_mode", -1, &s, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(s), SQLITE_ROW);
    assert_string_equal(column_text(s, 0), "wal");
    sqlite3_finalize(s);
    kit_reopen(k, JOURNAL_READ);
    assert_int_equal(pragma(k, "query_only"), 1);
}

/* Records have gone through these steps: one that did something else now would leave theirs behind.
 * What is to change is another step. */
static void a_step_that_was_taken_stays(void **state)
{
    static const char *const taken[] = {
        "86f04b131ca6b80b9a9929baa4e0eed9", "ce99b53bf070450f6af7cd47d8d382fd",
        "39243ed3d8b8ed339b7f1483fa432e3a", "74d5ecfb3404691cd7fda160d4b84132"};
    size_t count;
    const struct migration *steps = schema_steps(&count);
    (void)state;
    assert_int_equal(count, sizeof taken / sizeof taken[0]);
    for (size_t i = 0; i < count; i++) {
        uint8_t hash[16];
        char hex[33];
        crypto_generichash(hash, sizeof hash, (const uint8_t *)steps[i].sql, strlen(steps[i].sql),
                           NULL, 0);
        assert_string_equal(sodium_bin2hex(hex, sizeof hex, hash, sizeof hash), taken[i]);
        assert_int_equal(steps[i].version, i + 1);
    }
}

static void assert_abort(struct kit *k, const char *sql, const char *words)
{
    char *why = NULL;
    assert_int_equal(sqlite3_exec(k->j->db, sql, NULL, NULL, &why), SQLITE_CONSTRAINT);
    assert_non_null(strstr(why, words));
    sqlite3_free(why);
}

static void entries_cannot_be_touched(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    struct entry_id id = kit_set(k, dog, "dog.name", "Biscuit");
    kit_set_over(k, dog, "dog.name", "Bisquit", &id, 1);
    assert_abort(k, "UPDATE entry SET value = 'x'", "never changed");
    assert_abort(k, "DELETE FROM entry", "never deleted");
    assert_abort(k,
                 "INSERT OR REPLACE INTO entry(id, kind, entity, item, author, claimed_at, lamport,"
                 " replaces, value, reason, salt, hash) SELECT id, kind, entity, item, author,"
                 " claimed_at, lamport, replaces, 'x', reason, salt, hash FROM entry",
                 "never deleted");
    assert_abort(k, "UPDATE replaced SET later = 1", "never changed");
    assert_abort(k, "DELETE FROM replaced", "never deleted");
    /* STRICT: bytes are no text. */
    assert_abort(k, "INSERT INTO item(name) VALUES (x'00')", "cannot store BLOB value");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        kit_test(no_statement_scans),
        kit_test(lists_with_a_limit_do_not_sort),
        kit_test(the_settings_that_keep_it_safe),
        kit_test(a_step_that_was_taken_stays),
        kit_test(entries_cannot_be_touched),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
