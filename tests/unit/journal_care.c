/* Drafts and settings, the hash chains, backups, what is derived made again, the lock's patience.
 */
#include "journal/passphrase.h"
#include "journal_kit.h"
#include <signal.h>
#include <sodium.h>
#include <sys/wait.h>

/* ---- drafts, settings ------------------------------------------------------------------------ */

static size_t draft_count(struct kit *k, const struct draft **out)
{
    size_t count;
    assert_ok(journal_drafts(k->j, k->a, out, &count, &k->f), &k->f);
    return count;
}

static void a_draft_lives_until_its_field_is_left(void **state)
{
    struct kit *k = *state;
    const struct draft *drafts;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    uint64_t writes = journal_writes(k->j);
    assert_ok(journal_draft_put(k->j, dog, "dog.name", "Bis", &k->f), &k->f);
    assert_ok(journal_draft_put(k->j, dog, "dog.name", "Bisc", &k->f), &k->f);
    assert_ok(journal_draft_put(k->j, dog, "dog.breed", "Da", &k->f), &k->f);
    assert_int_equal(draft_count(k, &drafts), 2);
    assert_int_equal(journal_writes(k->j), writes); /* typing counts as nothing written */
    kit_set(k, dog, "dog.name", "Biscuit");         /* takes the draft with it */
    assert_true(journal_writes(k->j) > writes);
    writes = journal_writes(k->j);
    assert_true(journal_lend(k->j, &k->f) && journal_take_back(k->j, &k->f));
    assert_true(journal_writes(k->j) > writes); /* others may have written */
    assert_int_equal(draft_count(k, &drafts), 1);
    assert_string_equal(drafts[0].entity, dog);
    assert_string_equal(drafts[0].item, "dog.breed");
    assert_string_equal(drafts[0].typed, "Da");
    assert_ok(journal_draft_drop(k->j, dog, "dog.breed", &k->f), &k->f);
    assert_ok(journal_draft_drop(k->j, dog, "dog.breed", &k->f), &k->f);
    assert_int_equal(draft_count(k, &drafts), 0);
}

static void a_draft_outlives_a_record_not_yet_begun(void **state)
{
    struct kit *k = *state;
    const struct draft *drafts;
    char call[IDENT_ROOM];
    kit_new(k, "call", call);
    assert_ok(journal_draft_put(k->j, call, "call.reason", "cannot st", &k->f), &k->f);
    kit_reopen(k, JOURNAL_WRITE);
    assert_int_equal(draft_count(k, &drafts), 1);
    assert_string_equal(journal_kind(k->j, k->a, call), "call");
    assert_int_equal(kit_heads(k, call).count, 0);
    kit_set(k, call, "call.reason", "cannot stand");
    assert_int_equal(draft_count(k, &drafts), 0);
    assert_string_equal(journal_kind(k->j, k->a, call), "call");
}

/* Typing waits for no disk, and yet a program that is killed leaves what was typed; entries are
 * flushed as before. */
static void a_draft_outlives_a_killed_program(void **state)
{
    struct kit *k = *state;
    const struct draft *drafts;
    char dog[IDENT_ROOM];
    int status;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    journal_close(k->j);
    k->j = NULL;
    pid_t child = fork();
    if (child == 0) {
        if (journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f) &&
            journal_draft_put(k->j, dog, "dog.breed", "Dachsh", &k->f))
            raise(SIGKILL);
        _exit(1);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status));
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    assert_int_equal(draft_count(k, &drafts), 1);
    assert_string_equal(drafts[0].typed, "Dachsh");
    assert_ok(journal_draft_put(k->j, dog, "dog.breed", "Dachs", &k->f), &k->f);
    sqlite3_stmt *s = NULL;
    assert_int_equal(sqlite3_prepare_v2(k->j->db, "PRAGMA synchronous", -1, &s, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(s), SQLITE_ROW);
    assert_int_equal(sqlite3_column_int(s, 0), 2); /* FULL */
    sqlite3_finalize(s);
}

static void drafts_that_are_refused(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], *large = calloc(1, JOURNAL_VALUE_MAX + 2);
    memset(large, 'x', JOURNAL_VALUE_MAX + 1);
    kit_new(k, "dog", dog);
    assert_fault(journal_draft_put(k->j, "00000000-0000-4000-8000-000000000000", "x", "y", &k->f),
                 &k->f, FAULT_MISSING, "there is no record");
    assert_fault(journal_draft_put(k->j, "dog", "x", "y", &k->f), &k->f, FAULT_INPUT, "\"dog\"");
    assert_fault(journal_draft_put(k->j, dog, "x", "\xff", &k->f), &k->f, FAULT_INPUT, "UTF-8");
    assert_fault(journal_draft_put(k->j, dog, "x", large, &k->f), &k->f, FAULT_INPUT, "too long");
    free(large);
}

static void settings_stay(void **state)
{
    struct kit *k = *state;
    assert_null(journal_setting(k->j, k->a, "practitioner"));
    assert_ok(journal_setting_put(k->j, "practitioner", "a", &k->f), &k->f);
    assert_ok(journal_setting_put(k->j, "practitioner", "b", &k->f), &k->f);
    kit_reopen(k, JOURNAL_READ);
    assert_string_equal(journal_setting(k->j, k->a, "practitioner"), "b");
}

/* ---- the chain ------------------------------------------------------------------------------- */

/* The encoding as documented, put together by hand: a program written from the header alone must
 * come to the same hash. */
static void the_documented_bytes(void **state)
{
    (void)state;
    struct far_edge old = {.at = {.device = {9}, .number = 258}};
    struct far_entry e = {.id = {.device = {1, 2}, .number = 3},
                          .kind = ENTRY_SET,
                          .entity = {4},
                          .entity_kind = "dog",
                          .item = "dog.name",
                          .value = "Biscuit",
                          .author = {5},
                          .has_author = true,
                          .reason = "",
                          .claimed_at = -1,
                          .lamport = 6,
                          .replaces = &old,
                          .replaces_count = 1,
                          .salt = {7}};
    uint8_t before[HASH_BYTES] = {8}, digest[HASH_BYTES], expected[HASH_BYTES], hash[HASH_BYTES];
    uint8_t bytes[512] = "amble entry 1";
    size_t n = 13;
    assert_true(sodium_init() >= 0);
    crypto_generichash(digest, 32, (const uint8_t *)"Biscuit", 7, e.salt, 16);
    bytes[n] = 8, n += 32;                   /* hash before */
    bytes[n] = 1, bytes[n + 1] = 2, n += 16; /* device */
    bytes[n] = 3, n += 8;                    /* number */
    bytes[n++] = 1;                          /* kind */
    bytes[n] = 6, n += 8;                    /* lamport */
    memset(bytes + n, 0xff, 8), n += 8;      /* claimed_at */
    bytes[n] = 4, n += 16;                   /* entity */
    memcpy(bytes + n, "\3\0\0\0dog\10\0\0\0dog.name", 19), n += 19;
    bytes[n++] = 1;        /* an author */
    bytes[n] = 5, n += 16; /* who */
    n += 4;                /* no reason */
    memcpy(bytes + n, digest, 32), n += 32;
    bytes[n] = 1, n += 4; /* one replaced */
    bytes[n] = 9, n += 16;
    bytes[n] = 2, bytes[n + 1] = 1, n += 8; /* 258 */
    crypto_generichash(expected, 32, bytes, n, NULL, 0);
    chain_hash(&e, before, hash);
    assert_memory_equal(hash, expected, 32);
    old.tag = 0x0b0a; /* with what was seen there */
    bytes[12] = '2';
    bytes[n] = 10, bytes[n + 1] = 11, n += 8;
    crypto_generichash(expected, 32, bytes, n, NULL, 0);
    chain_hash(&e, before, hash);
    assert_memory_equal(hash, expected, 32);
    n -= 36; /* its own tag: nothing before, of no device, without number, replacing nothing */
    bytes[12] = '1';
    memset(bytes + 13, 0, 32 + 16 + 8);
    memset(bytes + n, 0, 4), n += 4;
    crypto_generichash(expected, 32, bytes, n, NULL, 0);
    uint64_t tag = 0;
    for (int i = 7; i >= 0; i--)
        tag = tag << 8 | expected[i];
    assert_true(chain_tag(&e) == tag);
}

static void three_entries(struct kit *k, char dog[IDENT_ROOM])
{
    kit_new(k, "dog", dog);
    struct entry_id id = kit_set(k, dog, "dog.name", "Biskit");
    kit_set_over(k, dog, "dog.name", "Biscuit", &id, 1);
    kit_set(k, dog, "dog.pain", "3 of 5");
    const struct device_state *devices;
    size_t count;
    assert_ok(journal_vector(k->j, k->a, &devices, &count, &k->f), &k->f);
    assert_ok(journal_device_name(k->j, devices[0].uuid, "laptop A", &k->f), &k->f);
}

static void assert_verify(struct kit *k, const char *words)
{
    uint64_t checked;
    kit_reopen(k, JOURNAL_READ);
    assert_fault(journal_verify(k->j, &checked, &k->f), &k->f, FAULT_DAMAGE, words);
}

static void an_intact_chain(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    uint64_t checked = 99;
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
    assert_int_equal(checked, 0);
    three_entries(k, dog);
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
    assert_int_equal(checked, 3);
}

/* Flip one bit of a value in the file itself; SQLite's own check sees nothing. */
static void one_flipped_bit_is_found_and_named(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], path[128], *at = NULL;
    struct stat st;
    three_entries(k, dog);
    journal_close(k->j);
    k->j = NULL;
    snprintf(path, sizeof path, "%s/journal.db", k->folder);
    assert_int_equal(stat(path, &st), 0);
    char *bytes = arena_alloc(k->a, (size_t)st.st_size);
    FILE *file = fopen(path, "r+b");
    assert_int_equal(fread(bytes, 1, (size_t)st.st_size, file), st.st_size);
    at = memmem(bytes, (size_t)st.st_size, "3 of 5", 6);
    assert_non_null(at);
    *at ^= 4; /* 3 becomes 7 */
    fseek(file, at - bytes, SEEK_SET);
    fwrite(at, 1, 1, file);
    fclose(file);
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_READ, &k->f), &k->f);
    assert_ok(journal_quick_check(k->j, &k->f), &k->f);
    assert_verify(k, "entry 3 of laptop A (dog.pain) is not what was written");
}

static void every_kind_of_change_is_found(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    static const struct {
        const char *sql, *back, *words;
    } changes[] = {
        {"UPDATE entry SET reason = 'x' WHERE number = 2",
         "UPDATE entry SET reason = '' WHERE number = 2", "entry 2 of laptop A (dog.name)"},
        {"UPDATE entry SET claimed_at = claimed_at + 1 WHERE number = 1",
         "UPDATE entry SET claimed_at = claimed_at - 1 WHERE number = 1", "entry 1 of laptop A"},
        {"UPDATE item SET name = 'dog.pains' WHERE name = 'dog.pain'",
         "UPDATE item SET name = 'dog.pain' WHERE name = 'dog.pains'", "entry 3 of laptop A"},
        {"UPDATE kind SET name = 'cat'", "UPDATE kind SET name = 'dog'", "entry 1 of laptop A"},
        {"UPDATE replaced SET earlier = earlier + 5", "UPDATE replaced SET earlier = earlier - 5",
         "entry 2 of laptop A"},
        {"UPDATE entry SET salt = zeroblob(16) WHERE number = 3", NULL, "entry 3 of laptop A"},
    };
    static const char open_up[] = "DROP TRIGGER entry_no_update; DROP TRIGGER entry_no_delete;"
                                  "DROP TRIGGER replaced_no_update";
    three_entries(k, dog);
    kit_sql(k->folder, open_up);
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        kit_sql(k->folder, changes[i].sql);
        assert_verify(k, changes[i].words);
        if (changes[i].back)
            kit_sql(k->folder, changes[i].back);
    }
    kit_sql(k->folder, "DELETE FROM entry WHERE number = 2");
    assert_verify(k, "entry 2 of laptop A is missing");
}

static void an_erased_value_keeps_the_chain(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], hex[65], sql[300];
    struct far_entry e = {.value = "3 of 5"};
    uint8_t digest[HASH_BYTES];
    uint64_t checked;
    three_entries(k, dog);
    sqlite3_stmt *s;
    assert_int_equal(
        sqlite3_prepare_v2(k->j->db, "SELECT salt FROM entry WHERE number = 3", -1, &s, NULL),
        SQLITE_OK);
    assert_int_equal(sqlite3_step(s), SQLITE_ROW);
    column_bytes(s, 0, e.salt, HASH_BYTES);
    sqlite3_finalize(s);
    chain_digest(&e, digest);
    sodium_bin2hex(hex, sizeof hex, digest, sizeof digest);
    snprintf(sql, sizeof sql,
             "DROP TRIGGER entry_no_update; "
             "UPDATE entry SET value = NULL, salt = x'%s' WHERE number = 3",
             hex);
    kit_sql(k->folder, sql);
    kit_reopen(k, JOURNAL_WRITE);
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
    assert_int_equal(checked, 3);
    struct heads h = kit_heads(k, dog);
    assert_string_equal(h.entries[1].value, "");
}

/* ---- what is derived ------------------------------------------------------------------------- */

static void lists_that_went_wrong_are_made_again(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    const struct hit *hits;
    uint64_t checked;
    size_t count;
    three_entries(k, dog);
    kit_sql(k->folder, "DELETE FROM head; DELETE FROM found;"
                       "INSERT INTO search(search) VALUES ('delete-all')");
    assert_verify(k, "entry 2 of laptop A (dog.name) is whole, but the list of current values");
    kit_reopen(k, JOURNAL_WRITE);
    assert_ok(journal_rebuild(k->j, &k->f), &k->f);
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
    assert_int_equal(kit_heads(k, dog).count, 2);
    assert_ok(journal_search(k->j, k->a, "bisc", 5, &hits, &count, &k->f), &k->f);
    assert_int_equal(count, 1);
    assert_string_equal(hits[0].text, "Biscuit");
    /* One that lists too much. */
    kit_sql(k->folder, "INSERT INTO head(entity, item, entry) SELECT entity, item, id FROM entry"
                       " WHERE number = 1");
    assert_verify(k, "entry 1 of laptop A (dog.name) is whole, but the list of current values");
    kit_reopen(k, JOURNAL_WRITE);
    assert_ok(journal_rebuild(k->j, &k->f), &k->f);
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
}

/* ---- backup ---------------------------------------------------------------------------------- */

static void a_backup_is_a_whole_record(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], path[192], part[256], other[128];
    struct stat st;
    uint64_t checked;
    three_entries(k, dog);
    snprintf(other, sizeof other, "%s/other", k->folder);
    assert_int_equal(mkdir(other, 0700), 0);
    snprintf(path, sizeof path, "%s/journal.db", other);
    snprintf(part, sizeof part, "%s.part", path);
    assert_ok(journal_backup(k->j, path, &k->f), &k->f);
    assert_ok(journal_backup(k->j, path, &k->f), &k->f); /* over an older one */
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0600);
    assert_int_not_equal(stat(part, &st), 0);
    struct kit copy = {.a = k->a};
    assert_ok(journal_open(&copy.j, other, JOURNAL_WRITE, &copy.f), &copy.f);
    assert_ok(journal_verify(copy.j, &checked, &copy.f), &copy.f);
    assert_int_equal(checked, 3);
    assert_int_equal(kit_heads(&copy, dog).count, 2);
    journal_close(copy.j);
    /* A reader can make one too. */
    kit_reopen(k, JOURNAL_READ);
    assert_ok(journal_backup(k->j, path, &k->f), &k->f);
}

static void a_backup_that_cannot_be(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], path[128];
    struct stat st;
    three_entries(k, dog);
    assert_fault(journal_backup(k->j, "/nowhere/at/all.db", &k->f), &k->f, FAULT_STORE,
                 "cannot write /nowhere/at/all.db.part");
    assert_ok(journal_begin(k->j, &k->f), &k->f);
    snprintf(path, sizeof path, "%s/copy.db", k->folder);
    assert_fault(journal_backup(k->j, path, &k->f), &k->f, FAULT_REFUSED, "in the middle");
    journal_rollback(k->j);
    /* A damaged record does not take the place of a good backup. */
    assert_ok(journal_backup(k->j, path, &k->f), &k->f);
    assert_int_equal(stat(path, &st), 0);
    ino_t good = st.st_ino;
    kit_sql(k->folder, "DROP TRIGGER entry_no_update; UPDATE entry SET value = '5 of 5' WHERE "
                       "number = 3");
    kit_reopen(k, JOURNAL_WRITE);
    assert_fault(journal_backup(k->j, path, &k->f), &k->f, FAULT_DAMAGE,
                 "the backup is no good and was not kept: entry 3 of laptop A (dog.pain)");
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_ino, good);
    strncat(path, ".part", sizeof path - strlen(path) - 1);
    assert_int_not_equal(stat(path, &st), 0);
}

/* ---- the lock -------------------------------------------------------------------------------- */

static void a_lock_is_no_single_letter(void **state)
{
    struct kit *k = *state;
    assert_fault(lock_set(k->j, "abc", 10, &k->f), &k->f, FAULT_INPUT, "at least 4");
    assert_fault(lock_set(k->j, "abcd", 0, &k->f), &k->f, FAULT_INPUT, "after 1 to");
    assert_int_equal(lock_minutes(k->j), 0);
}

static void wait_after(struct kit *k, int tries, int64_t now, int expected)
{
    char kept[48];
    snprintf(kept, sizeof kept, "%d 1795608000000", tries);
    assert_ok(journal_setting_put(k->j, "lock.wrong", kept, &k->f), &k->f);
    if (lock_wait(k->j, now) != expected)
        fail_msg("%d s after %d tries, not %d", lock_wait(k->j, now), tries, expected);
}

/* Two slips are free; then it is twice as long each time, and never longer than LOCK_WAIT_MOST_S,
 * wherever the clock was set to. */
static void wrong_tries_wait_longer_and_longer(void **state)
{
    struct kit *k = *state;
    static const int64_t last = INT64_C(1795608000000);
    static const int waits[] = {0, 0, 0, 1, 2, 4, 8, 16, 32, LOCK_WAIT_MOST_S, LOCK_WAIT_MOST_S};
    for (int tries = 0; tries <= 10; tries++)
        wait_after(k, tries, last, waits[tries]);
    wait_after(k, 1000000, last, LOCK_WAIT_MOST_S);
    wait_after(k, 8, last + 30 * 1000, 2);
    wait_after(k, 8, last + 32 * 1000, 0);
    wait_after(k, 8, last - INT64_C(400) * 86400 * 1000, 32);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        kit_test(a_draft_lives_until_its_field_is_left),
        kit_test(a_draft_outlives_a_record_not_yet_begun),
        kit_test(a_draft_outlives_a_killed_program),
        kit_test(drafts_that_are_refused),
        kit_test(settings_stay),
        cmocka_unit_test(the_documented_bytes),
        kit_test(an_intact_chain),
        kit_test(one_flipped_bit_is_found_and_named),
        kit_test(every_kind_of_change_is_found),
        kit_test(an_erased_value_keeps_the_chain),
        kit_test(lists_that_went_wrong_are_made_again),
        kit_test(a_backup_is_a_whole_record),
        kit_test(a_backup_that_cannot_be),
        kit_test(a_lock_is_no_single_letter),
        kit_test(wrong_tries_wait_longer_and_longer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
