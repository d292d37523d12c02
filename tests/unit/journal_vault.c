/* Sealed backups: nothing opens them but their two keys, no damage passes, the oldest go. */
#include "journal/restore.h"
#include "journal/vault.h"
#include "journal_kit.h"
#include <dirent.h>
#include <signal.h>
#include <sodium.h>
#include <sys/wait.h>

#include "flushes.h"

enum { DAY = 86400000 };
static const int64_t noon = INT64_C(1795608000000);

struct place {
    char plain[128], sealed[128], opened[128];
};

static struct place place_of(const struct kit *k)
{
    struct place p;
    snprintf(p.plain, sizeof p.plain, "%s/plain", k->folder);
    snprintf(p.sealed, sizeof p.sealed, "%s/sealed", k->folder);
    snprintf(p.opened, sizeof p.opened, "%s/opened", k->folder);
    return p;
}

static void assert_ours_alone(const char *path)
{
    struct stat st;
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0600);
}

static size_t write_file(const char *path, const void *bytes, size_t size)
{
    FILE *out = fopen(path, "wb");
    assert_non_null(out);
    assert_int_equal(fwrite(bytes, 1, size, out), size);
    assert_int_equal(fclose(out), 0);
    return size;
}

static size_t read_file(const char *path, uint8_t *bytes, size_t room)
{
    FILE *in = fopen(path, "rb");
    assert_non_null(in);
    size_t n = fread(bytes, 1, room, in);
    fclose(in);
    return n;
}

/* At the least cost there is. */
static void make(struct kit *k, struct vault *v, char recovery[RECOVERY_ROOM])
{
    assert_ok(vault_make_at_cost(v, "four plain garden words", recovery, 1, 8, &k->f), &k->f);
}

static void either_key_opens_and_no_other(void **state)
{
    struct kit *k = *state;
    struct place p = place_of(k);
    struct vault v;
    char recovery[RECOVERY_ROOM], other[RECOVERY_ROOM];
    static uint8_t in[200000], out[200001];
    static const size_t sizes[] = {0, 1, 65535, 65536, 65537, 131072, 200000};
    randombytes_buf(in, sizeof in);
    assert_ok(vault_make(&v, "four plain garden words", recovery, &k->f), &k->f); /* in earnest */
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        write_file(p.plain, in, sizes[i]);
        assert_ok(vault_seal(&v, p.plain, p.sealed, &k->f), &k->f);
        assert_true(vault_is_sealed(p.sealed));
        assert_false(vault_is_sealed(p.plain));
        if (i > 0 && i < 6)
            continue; /* a key takes half a second: see the next test for the others */
        assert_ok(vault_open(p.sealed, p.opened, "four plain garden words", &k->f), &k->f);
        assert_int_equal(read_file(p.opened, out, sizeof out), sizes[i]);
        assert_memory_equal(out, in, sizes[i]);
    }
    for (char *c = recovery; *c; c++) /* as somebody types it from paper */
        *c = *c == '-' ? ' ' : *c >= 'a' && *c <= 'z' ? (char)(*c - 32) : *c;
    assert_ok(vault_open(p.sealed, p.opened, recovery, &k->f), &k->f);
    unlink(p.opened);
    snprintf(other, sizeof other, "%s", recovery);
    other[0] = other[0] == '2' ? '3' : '2';
    assert_fault(vault_open(p.sealed, p.opened, other, &k->f), &k->f, FAULT_REFUSED, "neither");
    assert_fault(vault_open(p.sealed, p.opened, "four plain garden wordz", &k->f), &k->f,
                 FAULT_REFUSED, "neither");
    assert_int_equal(access(p.opened, F_OK), -1);
    assert_fault(vault_make(&v, "short", recovery, &k->f), &k->f, FAULT_INPUT, "8");
}

/* Sizes about a piece's; each length; one bit of each byte. */
static void damage_is_noticed_and_nothing_is_left(void **state)
{
    struct kit *k = *state;
    struct place p = place_of(k);
    struct vault v;
    char recovery[RECOVERY_ROOM];
    static uint8_t bytes[4096], bad[4096];
    size_t tries = 0;
    char part[160];
    make(k, &v, recovery);
    snprintf(part, sizeof part, "%s.part", p.opened);
    write_file(p.plain, "a record", 8);
    assert_ok(vault_seal(&v, p.plain, p.sealed, &k->f), &k->f);
    size_t size = read_file(p.sealed, bytes, sizeof bytes);
    for (size_t n = 0; n <= size + 1; n++) {
        memcpy(bad, bytes, size);
        bad[size] = 0;
        if (n != size) {
            write_file(p.sealed, bad, n);
            assert_false(vault_open(p.sealed, p.opened, "four plain garden words", &k->f));
            tries++;
        }
    }
    for (size_t at = 0; at < size; at++) {
        memcpy(bad, bytes, size);
        bad[at] ^= (uint8_t)(1U << at % 8);
        write_file(p.sealed, bad, size);
        assert_false(vault_open(p.sealed, p.opened, "four plain garden words", &k->f));
        assert_int_equal(access(p.opened, F_OK), -1);
        assert_int_equal(access(part, F_OK), -1);
        tries++;
    }
    static uint8_t in[131073], out[131074];
    randombytes_buf(in, sizeof in);
    for (size_t n = 65535; n <= sizeof in; n = n == 65537 ? 131071 : n + 1) {
        write_file(p.plain, in, n);
        assert_ok(vault_seal(&v, p.plain, p.sealed, &k->f), &k->f);
        assert_ok(vault_open(p.sealed, p.opened, recovery, &k->f), &k->f);
        assert_int_equal(read_file(p.opened, out, sizeof out), n);
        assert_memory_equal(out, in, n);
    }
    print_message("%zu cuts and flipped bits, 0 passed\n", tries);
}

/* Whatever should be drawn by lot, was. */
static void two_practices_have_nothing_in_common(void **state)
{
    struct kit *k = *state;
    struct place p = place_of(k);
    struct vault v = {0}, other = {0};
    char recovery[RECOVERY_ROOM], second[RECOVERY_ROOM];
    enum { SLOT = 32 + 8, HEAD = 13 + VAULT_BYTES + 48 + 32, START = 24 };
    static uint8_t bytes[4096], plain[4096];
    uint8_t bound[HASH_BYTES], tag;
    static const uint8_t zeros[32];
    crypto_secretstream_xchacha20poly1305_state s;
    make(k, &v, recovery);
    make(k, &other, second);
    assert_string_not_equal(recovery, second);
    assert_memory_not_equal(v.bytes, other.bytes, 32);
    assert_memory_not_equal(v.bytes + SLOT, other.bytes + SLOT, 16); /* the passphrase's salt */
    write_file(p.plain, "a record", 8);
    assert_ok(vault_seal(&v, p.plain, p.sealed, &k->f), &k->f);
    size_t size = read_file(p.sealed, bytes, sizeof bytes);
    crypto_generichash(bound, sizeof bound, bytes, HEAD, NULL, 0);
    assert_int_equal(crypto_secretstream_xchacha20poly1305_init_pull(&s, bytes + HEAD, zeros), 0);
    assert_int_not_equal(
        crypto_secretstream_xchacha20poly1305_pull(&s, plain, NULL, &tag, bytes + HEAD + START,
                                                   size - HEAD - START, bound, sizeof bound),
        0); /* the key nobody drew */
}

/* A header that asks for 64 GiB is refused before anything is allocated. */
static void greedy_headers_are_refused(void **state)
{
    struct kit *k = *state;
    struct place p = place_of(k);
    struct vault v;
    char recovery[RECOVERY_ROOM];
    static uint8_t bytes[4096];
    make(k, &v, recovery);
    write_file(p.plain, "a record", 8);
    assert_ok(vault_seal(&v, p.plain, p.sealed, &k->f), &k->f);
    size_t size = read_file(p.sealed, bytes, sizeof bytes);
    bytes[13 + 32 + 7] = 4; /* memory in KiB, the highest byte */
    write_file(p.sealed, bytes, size);
    assert_fault(vault_open(p.sealed, p.opened, "x", &k->f), &k->f, FAULT_DAMAGE, "more work");
}

static size_t count_backups(const struct kit *k)
{
    char folder[128];
    size_t n = 0;
    snprintf(folder, sizeof folder, "%s/backups", k->folder);
    DIR *d = opendir(folder);
    for (struct dirent *e; d && (e = readdir(d));)
        n += e->d_name[0] != '.';
    if (d)
        closedir(d);
    return n;
}

static void backups_are_made_by_days_and_seven_kept(void **state)
{
    struct kit *k = *state;
    struct vault v;
    char recovery[RECOVERY_ROOM], dog[IDENT_ROOM], path[160];
    bool made;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    assert_ok(vault_backup_due(k->j, noon, &made, &k->f), &k->f);
    assert_false(made); /* no passphrase yet */
    make(k, &v, recovery);
    assert_ok(vault_keep(k->j, &v, &k->f), &k->f);
    snprintf(path, sizeof path, "%s/backups", k->folder);
    write_file(path, "in the way", 10);
    assert_fault(vault_backup_due(k->j, noon, &made, &k->f), &k->f, FAULT_STORE,
                 "the backup that was due was not made");
    assert_int_equal(remove(path), 0);
    assert_int_equal(mkdir(path, 0700), 0);
    strncat(path, "/about-these.txt", sizeof path - strlen(path) - 1); /* somebody's own */
    write_file(path, "ask Ida", 7);
    for (int day = 0; day < 10; day++) {
        assert_ok(vault_backup_due(k->j, noon + (int64_t)day * DAY, &made, &k->f), &k->f);
        assert_true(made);
        /* And no copy that anybody could read. */
        assert_int_equal(count_backups(k), 1 + (day < BACKUPS_KEPT ? day + 1 : BACKUPS_KEPT));
        assert_ok(vault_backup_due(k->j, noon + (int64_t)day * DAY + DAY / 2, &made, &k->f), &k->f);
        assert_false(made);
    }
    assert_int_equal(count_backups(k), BACKUPS_KEPT + 1);
    /* A kill in the middle of one left a copy that anybody could read. */
    static const char *const left[] = {"open.db", "open.db.part",
                                       "record-20261101T120000.sealed.part"};
    for (size_t i = 0; i < sizeof left / sizeof *left; i++) {
        char one[192];
        snprintf(one, sizeof one, "%s/backups/%s", k->folder, left[i]);
        FILE *out = fopen(one, "w");
        assert_non_null(out);
        fclose(out);
    }
    assert_ok(vault_backup_due(k->j, noon + INT64_C(9) * DAY, &made, &k->f), &k->f);
    assert_false(made);
    assert_int_equal(count_backups(k), BACKUPS_KEPT + 1);
    assert_int_equal(remove(path), 0);
    assert_ok(journal_setting_put(k->j, "backup.days", "0", &k->f), &k->f);
    assert_ok(vault_backup_due(k->j, noon + INT64_C(30) * DAY, &made, &k->f), &k->f);
    assert_false(made);
}

static void make_older(const char *path)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "PRAGMA user_version = 3", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

static void a_restored_record_goes_on_under_a_new_name(void **state)
{
    struct kit *k = *state;
    struct place p = place_of(k);
    char dog[IDENT_ROOM], aside[RESTORE_PATH_ROOM], copy[RESTORE_PATH_ROOM];
    uint64_t checked;
    bool older;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    uint32_t before = journal_device(k->j);
    assert_ok(journal_backup(k->j, p.plain, &k->f), &k->f);
    kit_set(k, dog, "dog.breed", "Dachshund");
    assert_fault(journal_restore(k->folder, p.plain, aside, &checked, &k->f), &k->f, FAULT_BUSY,
                 "another amble");
    journal_close(k->j);
    k->j = NULL;
    assert_ok(journal_restore(k->folder, p.plain, aside, &checked, &k->f), &k->f);
    assert_int_equal(checked, 1);
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    assert_int_equal(kit_heads(k, dog).count, 1);
    assert_true(journal_device(k->j) != before);
    assert_non_null(strstr(aside, "/before-restore-1.db"));
    assert_ok(journal_verify_file(aside, &checked, &older, &k->f), &k->f);
    assert_int_equal(checked, 2);
    assert_false(older);
    /* One that an older amble made is said to be one, and read when it is restored. */
    journal_close(k->j);
    k->j = NULL;
    make_older(aside);
    assert_ok(journal_verify_file(aside, &checked, &older, &k->f), &k->f);
    assert_int_equal(checked, 0);
    assert_true(older);
    snprintf(copy, sizeof copy, "%s", aside);
    assert_ok(journal_restore(k->folder, copy, aside, &checked, &k->f), &k->f);
    assert_int_equal(checked, 2);
    assert_non_null(strstr(aside, "/before-restore-2.db"));
    write_file(p.plain, "not a record at all, and long enough to look at", 47);
    assert_false(journal_restore(k->folder, p.plain, aside, &checked, &k->f));
}

/* The program was killed: the log beside the record holds what the record does not. It goes aside
 * with it, and is not laid over the copy. */
static void a_log_goes_aside_with_its_record(void **state)
{
    struct kit *k = *state;
    struct place p = place_of(k);
    char dog[IDENT_ROOM], aside[RESTORE_PATH_ROOM];
    uint64_t checked;
    bool older;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    assert_ok(journal_backup(k->j, p.plain, &k->f), &k->f);
    journal_close(k->j);
    k->j = NULL;
    pid_t child = fork();
    if (child == 0) {
        if (journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f))
            for (int i = 0; i < 20; i++)
                kit_set(k, dog, "dog.note", "in the log only");
        raise(SIGKILL);
    }
    waitpid(child, NULL, 0);
    assert_ok(journal_restore(k->folder, p.plain, aside, &checked, &k->f), &k->f);
    assert_int_equal(checked, 1);
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    assert_int_equal(kit_heads(k, dog).count, 1);
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
    assert_int_equal(checked, 1);
    assert_ok(journal_quick_check(k->j, &k->f), &k->f);
    assert_ok(journal_verify_file(aside, &checked, &older, &k->f), &k->f);
    assert_int_equal(checked, 21);
}

/* A page that no entry lies on: the chains are whole, the file is not. */
static void a_damaged_page_is_not_restored(void **state)
{
    struct kit *k = *state;
    struct place p = place_of(k);
    char dog[IDENT_ROOM], aside[RESTORE_PATH_ROOM];
    uint64_t checked;
    int64_t page = 0;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    assert_ok(journal_backup(k->j, p.plain, &k->f), &k->f);
    sqlite3_stmt *s = NULL;
    sqlite3_prepare_v2(k->j->db, "SELECT rootpage FROM sqlite_schema WHERE name = 'phone'", -1, &s,
                       NULL);
    assert_int_equal(sqlite3_step(s), SQLITE_ROW);
    page = sqlite3_column_int64(s, 0);
    sqlite3_finalize(s);
    FILE *file = fopen(p.plain, "r+b");
    assert_non_null(file);
    fseek(file, (long)(page - 1) * 4096, SEEK_SET);
    fwrite("no page", 1, 8, file);
    assert_int_equal(fclose(file), 0);
    journal_close(k->j);
    k->j = NULL;
    assert_fault(journal_restore(k->folder, p.plain, aside, &checked, &k->f), &k->f, FAULT_DAMAGE,
                 "nothing was restored: the record's file is damaged");
    assert_string_equal(aside, "");
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    assert_int_equal(kit_heads(k, dog).count, 1);
}

static void what_was_said_to_be_kept_outlives_a_power_cut(void **state)
{
    struct kit *k = *state;
    struct place p = place_of(k);
    struct vault v;
    char recovery[RECOVERY_ROOM], part[160], db[128], aside[RESTORE_PATH_ROOM];
    uint64_t checked;
    make(k, &v, recovery);
    flushes_forget();
    assert_ok(journal_backup(k->j, p.plain, &k->f), &k->f);
    snprintf(part, sizeof part, "%s.part", p.plain);
    assert_flushed(part, p.plain);
    flushes_forget();
    assert_ok(vault_seal(&v, p.plain, p.sealed, &k->f), &k->f);
    snprintf(part, sizeof part, "%s.part", p.sealed);
    assert_flushed(part, p.sealed);
    assert_ours_alone(p.sealed);
    flushes_forget();
    assert_ok(vault_open(p.sealed, p.opened, recovery, &k->f), &k->f);
    snprintf(part, sizeof part, "%s.part", p.opened);
    assert_flushed(part, p.opened);
    assert_ours_alone(p.opened);
    journal_close(k->j);
    k->j = NULL;
    flushes_forget();
    assert_ok(journal_restore(k->folder, p.opened, aside, &checked, &k->f), &k->f);
    snprintf(part, sizeof part, "%s/restore.part", k->folder);
    snprintf(db, sizeof db, "%s/journal.db", k->folder);
    assert_flushed(part, db);
    assert_ours_alone(db);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        kit_test(either_key_opens_and_no_other),
        kit_test(damage_is_noticed_and_nothing_is_left),
        kit_test(two_practices_have_nothing_in_common),
        kit_test(greedy_headers_are_refused),
        kit_test(backups_are_made_by_days_and_seven_kept),
        kit_test(a_log_goes_aside_with_its_record),
        kit_test(a_damaged_page_is_not_restored),
        kit_test(what_was_said_to_be_kept_outlives_a_power_cut),
        kit_test(a_restored_record_goes_on_under_a_new_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
