/* One bit flipped anywhere in what an entry is made of, in every column of every kind of entry and
 * in the tables of names beside them: found, and the entry named. */
#include "journal_kit.h"

static const struct {
    const char *table, *column;
} columns[] = {
    {"entry", "id"},     {"entry", "kind"},       {"entry", "entity"},     {"entry", "item"},
    {"entry", "author"}, {"entry", "claimed_at"}, {"entry", "lamport"},    {"entry", "replaces"},
    {"entry", "value"},  {"entry", "reason"},     {"entry", "salt"},       {"entry", "hash"},
    {"entity", "uuid"},  {"entity", "kind"},      {"item", "name"},        {"author", "uuid"},
    {"kind", "name"},    {"device", "uuid"},      {"replaced", "earlier"}, {"replaced", "later"},
    {"replaced", "tag"},
};

struct flips {
    struct kit *k;
    sqlite3 *db;
    size_t found, refused;
};

/* A set value, one that replaces it with a reason, an error, a sign-off; by somebody and nobody. */
static void every_kind_of_entry(struct kit *k)
{
    char dog[IDENT_ROOM], who[IDENT_ROOM];
    kit_new(k, "practitioner", who);
    kit_set(k, who, "practitioner.name", "Ida Quill");
    kit_new(k, "dog", dog);
    struct entry_id id = kit_set(k, dog, "dog.name", "Biscuit");
    struct edit e[] = {
        {ENTRY_SET, dog, "dog.name", "Biscuits", who, "misheard", &id, 1},
        {ENTRY_SET, dog, "dog.mass", "9.4 kg", who, "", NULL, 0},
        {ENTRY_ERROR, dog, "dog.mass", "", who, "another dog", &id, 1},
        {ENTRY_SIGN, dog, "record.signed", "", who, "", NULL, 0},
    };
    char hash[65];
    for (size_t i = 0; i < sizeof e / sizeof e[0]; i++) {
        if (e[i].kind == ENTRY_SIGN) {
            assert_ok(journal_sign_hash(k->j, dog, hash, &k->f), &k->f);
            e[i].value = hash;
        }
        assert_ok(journal_append(k->j, &e[i], &id, &k->f), &k->f);
    }
}

static bool put(struct flips *t, size_t c, int64_t row, const sqlite3_value *v)
{
    char sql[128];
    sqlite3_stmt *s = NULL;
    bool by_place = strcmp(columns[c].table, "replaced") == 0; /* has no rowid */
    snprintf(sql, sizeof sql, "UPDATE %s SET %s = ?1 WHERE %s = ?2", columns[c].table,
             columns[c].column, by_place ? columns[c].column : "rowid");
    assert_int_equal(sqlite3_prepare_v2(t->db, sql, -1, &s, NULL), SQLITE_OK);
    sqlite3_bind_value(s, 1, v);
    sqlite3_bind_int64(s, 2, row);
    int rc = sqlite3_step(s);
    sqlite3_finalize(s);
    return rc == SQLITE_DONE && sqlite3_changes(t->db) == 1;
}

/* The value with one bit of it flipped; false when there is no such bit. */
static bool flipped(sqlite3_stmt *row, size_t bit, sqlite3_stmt *out)
{
    int type = sqlite3_column_type(row, 1);
    if (type == SQLITE_INTEGER) {
        if (bit >= 63)
            return false;
        return sqlite3_bind_int64(
                   out, 1, sqlite3_column_int64(row, 1) ^ (sqlite3_int64)(UINT64_C(1) << bit)) == 0;
    }
    char bytes[256];
    size_t size = (size_t)sqlite3_column_bytes(row, 1);
    const void *from =
        type == SQLITE_TEXT ? sqlite3_column_text(row, 1) : sqlite3_column_blob(row, 1);
    if (size > sizeof bytes || bit / 8 >= size)
        return false;
    memcpy(bytes, from, size);
    bytes[bit / 8] = (char)(bytes[bit / 8] ^ (1 << bit % 8));
    return (type == SQLITE_TEXT
                ? sqlite3_bind_text(out, 1, bytes, (int)size, SQLITE_TRANSIENT)
                : sqlite3_bind_blob(out, 1, bytes, (int)size, SQLITE_TRANSIENT)) == 0;
}

/* Flip, look, and put it back. What the table itself does not take is no damage that could be. */
static void try_one(struct flips *t, size_t c, sqlite3_stmt *row, sqlite3_stmt *turned, size_t bit)
{
    struct fault f = {0};
    uint64_t checked;
    int64_t at = sqlite3_column_int64(row, 0);
    sqlite3_value *was = sqlite3_value_dup(sqlite3_column_value(row, 1));
    const sqlite3_value *now = sqlite3_column_value(turned, 0);
    int64_t moved =
        strcmp(columns[c].column, "id") == 0 || strcmp(columns[c].table, "replaced") == 0
            ? sqlite3_column_int64(turned, 0)
            : at;
    if (put(t, c, at, now)) {
        if (journal_verify(t->k->j, &checked, &f))
            fail_msg("bit %zu of %s.%s in row %lld is not missed", bit, columns[c].table,
                     columns[c].column, (long long)at);
        assert_true(f.kind == FAULT_DAMAGE || f.kind == FAULT_STORE);
        assert_non_null(strstr(f.text, "entry "));
        assert_true(put(t, c, moved, was));
        t->found++;
    } else {
        t->refused++;
    }
    sqlite3_value_free(was);
}

static void try_column(struct flips *t, size_t c)
{
    char sql[160];
    sqlite3_stmt *row = NULL, *turned = NULL;
    bool by_place = strcmp(columns[c].table, "replaced") == 0;
    snprintf(sql, sizeof sql, "SELECT %s, %s FROM (SELECT * FROM %s LIMIT 20)",
             by_place ? columns[c].column : "id", columns[c].column, columns[c].table);
    assert_int_equal(sqlite3_prepare_v2(t->db, sql, -1, &row, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(t->db, "SELECT ?1", -1, &turned, NULL), SQLITE_OK);
    while (sqlite3_step(row) == SQLITE_ROW)
        for (size_t bit = 0; flipped(row, bit, turned); bit++) {
            assert_int_equal(sqlite3_step(turned), SQLITE_ROW);
            try_one(t, c, row, turned, bit);
            sqlite3_reset(turned);
        }
    sqlite3_finalize(row);
    sqlite3_finalize(turned);
}

static void every_bit_of_every_entry_is_watched(void **state)
{
    struct kit *k = *state;
    struct flips t = {.k = k};
    char path[128];
    uint64_t checked;
    every_kind_of_entry(k);
    kit_sql(k->folder, "DROP TRIGGER entry_no_update; DROP TRIGGER replaced_no_update");
    snprintf(path, sizeof path, "%s/journal.db", k->folder);
    assert_int_equal(sqlite3_open(path, &t.db), SQLITE_OK);
    sqlite3_exec(t.db, "PRAGMA synchronous = OFF", NULL, NULL, NULL);
    for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++)
        try_column(&t, c);
    sqlite3_close(t.db);
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f); /* and all was put back */
    print_message("%zu flipped bits in %zu columns, each found and its entry named; %zu not taken "
                  "by the tables\n",
                  t.found, sizeof columns / sizeof columns[0], t.refused);
    assert_true(t.found > 2000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {kit_test(every_bit_of_every_entry_is_watched)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
