/* A disk that is full or fails: the message says so, nothing is torn, the same edit tried again is
 * written once, and work resumes. Faults come from a layer between SQLite and the real files. */
#include "tests/unit/journal_kit.h"
#include <fcntl.h>
#include <sys/mount.h>

/* ---- the layer ------------------------------------------------------------------------------- */

enum {
    PAGE = 4096,
    TABLES = 4
}; /* SQLite has a table of methods for databases, another for logs, ... */

static struct {
    const sqlite3_io_methods *real[TABLES];
    sqlite3_io_methods bent[TABLES];
    sqlite3_vfs vfs, *beneath;
    int result;   /* what the failing call returns, SQLITE_OK when disarmed */
    bool at_sync; /* writes fail, or flushes */
    long bend;    /* of this page something else is written than was asked for; -1: of none */
    bool lasting; /* until disarmed, or once */
    long countdown;
    long hits;
} layer;

static int strike(bool sync)
{
    if (layer.result == SQLITE_OK || sync != layer.at_sync)
        return SQLITE_OK;
    if (layer.countdown > 0) {
        layer.countdown--;
        return SQLITE_OK;
    }
    int result = layer.result;
    layer.hits++;
    if (!layer.lasting)
        layer.result = SQLITE_OK;
    return result;
}

static const sqlite3_io_methods *real_of(const sqlite3_file *file)
{
    return layer.real[file->pMethods - layer.bent];
}

static int bent_write(sqlite3_file *file, const void *bytes, int n, sqlite3_int64 at)
{
    int rc = strike(false);
    if (n == PAGE && layer.bend == at / PAGE && at % PAGE == 0) {
        char other[PAGE];
        memcpy(other, bytes, PAGE);
        other[0] = (char)(other[0] ^ 16);
        return real_of(file)->xWrite(file, other, n, at);
    }
    return rc ? rc : real_of(file)->xWrite(file, bytes, n, at);
}

static int bent_sync(sqlite3_file *file, int flags)
{
    int rc = strike(true);
    return rc ? rc : real_of(file)->xSync(file, flags);
}

static int bent_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *out)
{
    (void)vfs;
    int rc = layer.beneath->xOpen(layer.beneath, name, file, flags, out);
    if (rc != SQLITE_OK || !file->pMethods)
        return rc;
    size_t i = 0;
    while (layer.real[i] && layer.real[i] != file->pMethods)
        i++;
    assert_true(i < TABLES - 1);
    layer.real[i] = file->pMethods;
    layer.bent[i] = *file->pMethods;
    layer.bent[i].xWrite = bent_write;
    layer.bent[i].xSync = bent_sync;
    file->pMethods = &layer.bent[i];
    return rc;
}

static int layer_in(void **state)
{
    (void)state;
    layer.bend = -1;
    layer.beneath = sqlite3_vfs_find(NULL);
    layer.vfs = *layer.beneath;
    layer.vfs.zName = "bent";
    layer.vfs.xOpen = bent_open;
    return sqlite3_vfs_register(&layer.vfs, 1);
}

static void arm(int result, bool at_sync, bool lasting, long after)
{
    layer.result = result;
    layer.at_sync = at_sync;
    layer.lasting = lasting;
    layer.countdown = after;
}

static void disarm(void)
{
    layer.result = SQLITE_OK;
}

/* ---- writing through it ---------------------------------------------------------------------- */

static struct edit name_edit(const char *dog, const char *value)
{
    return (struct edit){.kind = ENTRY_SET, .entity = dog, .item = "dog.name", .value = value};
}

static size_t times_written(struct kit *k, const char *dog, const char *value)
{
    struct heads h;
    size_t n = 0;
    assert_ok(journal_history(k->j, k->a, dog, "dog.name", &h, &k->f), &k->f);
    for (size_t i = 0; i < h.count; i++)
        n += strcmp(h.entries[i].value, value) == 0;
    return n;
}

/* Write until it fails, or forty times; then again without the fault. */
static void one_failure(struct kit *k, const char *dog, const char *words)
{
    char value[32];
    bool failed = false;
    for (int i = 0; i < 40 && !failed; i++) {
        snprintf(value, sizeof value, "name %d", i);
        struct edit e = name_edit(dog, value);
        k->f = (struct fault){0};
        failed = !journal_append(k->j, &e, NULL, &k->f);
    }
    if (!failed) {
        disarm();
        return;
    }
    assert_int_equal(k->f.kind, FAULT_STORE);
    if (!strstr(k->f.text, words))
        fail_msg("\"%s\" does not say \"%s\"", k->f.text, words);
    assert_int_equal(times_written(k, dog, value), 0);
    disarm();
    struct edit e = name_edit(dog, value);
    assert_ok(journal_append(k->j, &e, NULL, &k->f), &k->f);
    assert_int_equal(times_written(k, dog, value), 1);
}

static const struct {
    int result;
    bool at_sync, lasting;
    const char *words;
} kinds[] = {
    {SQLITE_FULL, false, false, "not saved: the disk is full; free some space"},
    {SQLITE_FULL, false, true, "not saved: the disk is full; free some space"},
    {SQLITE_IOERR_WRITE, false, false, "not saved: the disk reported an error"},
    {SQLITE_IOERR_WRITE, false, true, "not saved: the disk reported an error"},
    {SQLITE_IOERR_FSYNC, true, false, "not saved: the disk reported an error"},
    {SQLITE_IOERR_FSYNC, true, true, "not saved: the disk reported an error"},
};
enum { KINDS = sizeof kinds / sizeof kinds[0], PLACES = 40 };

static void every_write_and_flush_may_fail(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    uint64_t checked;
    long before = layer.hits;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    for (size_t kind = 0; kind < KINDS; kind++)
        for (long place = 0; place < PLACES; place++) {
            char other[IDENT_ROOM];
            kit_new(k, "dog", other);
            kit_set(k, other, "dog.name", "Pepper");
            arm(kinds[kind].result, kinds[kind].at_sync, kinds[kind].lasting, place);
            one_failure(k, other, kinds[kind].words);
            arena_reset(k->a);
        }
    kit_reopen(k, JOURNAL_WRITE);
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
    assert_ok(journal_quick_check(k->j, &k->f), &k->f);
    assert_int_equal(kit_heads(k, dog).count, 1);
    print_message("%d places, %ld calls failed, %llu entries whole\n", KINDS * PLACES,
                  layer.hits - before, (unsigned long long)checked);
    assert_true(layer.hits - before > 100);
}

static void a_batch_that_fails_leaves_nothing(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    struct journal_counts before, after;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    assert_ok(journal_count(k->j, &before, &k->f), &k->f);
    assert_ok(journal_begin(k->j, &k->f), &k->f);
    for (int i = 0; i < 20; i++)
        kit_set(k, dog, "dog.breed", "Dachshund");
    arm(SQLITE_FULL, false, true, 0);
    assert_fault(journal_commit(k->j, &k->f), &k->f, FAULT_STORE, "not saved: the disk is full");
    disarm();
    assert_ok(journal_count(k->j, &after, &k->f), &k->f);
    assert_int_equal(after.entries, before.entries);

    /* One part fails: the rest is refused, the end says that nothing was saved. */
    assert_ok(journal_begin(k->j, &k->f), &k->f);
    struct edit e = name_edit(dog, "x");
    assert_int_equal(sqlite3_exec(k->j->db, "ROLLBACK; PRAGMA query_only = ON; BEGIN", 0, 0, 0), 0);
    assert_false(journal_append(k->j, &e, NULL, &k->f));
    assert_fault(journal_append(k->j, &e, NULL, &k->f), &k->f, FAULT_STORE, "an earlier part");
    assert_fault(journal_commit(k->j, &k->f), &k->f, FAULT_STORE, "nothing of it was");
    assert_int_equal(sqlite3_exec(k->j->db, "PRAGMA query_only = OFF", 0, 0, 0), 0);
    assert_ok(journal_append(k->j, &e, NULL, &k->f), &k->f);
    assert_int_equal(times_written(k, dog, "x"), 1);
}

/* The write arrived though the call said it had not: trying again finds it. */
static void an_edit_that_arrived_is_not_written_twice(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    struct entry_id id, again;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    arm(SQLITE_IOERR_FSYNC, true, false, 0);
    struct edit e = name_edit(dog, "Waffles");
    assert_false(journal_append(k->j, &e, &id, &k->f));
    /* What a crash and recovery would do with a log that did reach the disk. */
    struct journal *j = k->j;
    uint8_t hash[HASH_BYTES];
    memcpy(hash, j->tried_hash, HASH_BYTES);
    assert_ok(journal_append(j, &e, &id, &k->f), &k->f);
    int64_t row = row_id(id.device, id.number);
    struct rows r = ask(j, ENTRY_BRIEF, ARGS(num(row)), &k->f);
    assert_true(next(&r));
    uint8_t arrived[HASH_BYTES];
    column_bytes(r.s, 4, arrived, HASH_BYTES);
    done(&r);
    j->tried = true, j->tried_id = row;
    memcpy(j->tried_hash, arrived, HASH_BYTES);
    assert_ok(journal_append(j, &e, &again, &k->f), &k->f);
    assert_int_equal(again.number, id.number);
    assert_int_equal(times_written(k, dog, "Waffles"), 1);
    /* The same words typed a second time, after success, are a new entry. */
    assert_ok(journal_append(j, &e, &again, &k->f), &k->f);
    assert_int_equal(again.number, id.number + 1);
}

static void opening_on_a_full_disk(void **state)
{
    struct kit *k = *state;
    char fresh[128];
    int failures = 0;
    snprintf(fresh, sizeof fresh, "%s/fresh", k->folder);
    for (long place = 0; place < 12; place++) {
        struct journal *j;
        arm(SQLITE_FULL, false, true, place);
        bool ok = journal_open(&j, fresh, JOURNAL_WRITE, &k->f);
        disarm();
        if (!ok) {
            failures++;
            assert_non_null(strstr(k->f.text, "the disk is full"));
            assert_ok(journal_open(&j, fresh, JOURNAL_WRITE, &k->f), &k->f);
        }
        journal_close(j);
        kit_remove(fresh);
    }
    assert_true(failures > 3);
}

static void a_backup_that_does_not_fit(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], path[128];
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    snprintf(path, sizeof path, "%s/copy.db", k->folder);
    arm(SQLITE_FULL, false, true, 3);
    assert_fault(journal_backup(k->j, path, &k->f), &k->f, FAULT_STORE,
                 "no backup was made: the disk is full");
    disarm();
    assert_int_not_equal(access(path, F_OK), 0);
    kit_set(k, dog, "dog.name", "Waffles");
    assert_ok(journal_backup(k->j, path, &k->f), &k->f);
}

/* A disk that lies: any page of the copy, also those that no chain reads. */
static void a_backup_that_was_written_wrongly_is_not_kept(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], path[128], part[140];
    struct stat st;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    snprintf(path, sizeof path, "%s/copy.db", k->folder);
    snprintf(part, sizeof part, "%s.part", path);
    assert_ok(journal_backup(k->j, path, &k->f), &k->f);
    assert_int_equal(stat(path, &st), 0);
    assert_true(st.st_size / PAGE > 20);
    assert_int_equal(unlink(path), 0);
    for (long page = 0; page < st.st_size / PAGE; page++) {
        layer.bend = page;
        bool kept = journal_backup(k->j, path, &k->f);
        layer.bend = -1;
        if (kept)
            fail_msg("the copy was kept though its page %ld is another", page);
        assert_int_not_equal(access(path, F_OK), 0);
        assert_int_not_equal(access(part, F_OK), 0);
    }
}

/* ---- a real small disk, where this process may mount one ------------------------------------- */

static void a_small_disk(void **state)
{
    struct kit *k = *state;
    char place[128], ballast[160], dog[IDENT_ROOM], text[2000];
    struct journal *j;
    struct journal_counts c;
    uint64_t written = 0, checked;
    snprintf(place, sizeof place, "%s/small", k->folder);
    snprintf(ballast, sizeof ballast, "%s/ballast", place);
    assert_int_equal(mkdir(place, 0700), 0);
    if (mount("tmpfs", place, "tmpfs", 0, "size=2m") != 0)
        skip();
    int fd = open(ballast, O_CREAT | O_WRONLY, 0600);
    assert_int_equal(posix_fallocate(fd, 0, 600000), 0);
    close(fd);
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    assert_ok(journal_open(&j, place, JOURNAL_WRITE, &k->f), &k->f);
    assert_ok(journal_entity_new(j, "dog", dog, &k->f), &k->f);
    struct edit e = name_edit(dog, text);
    e.item = "dog.note";
    while (written < 5000 && journal_append(j, &e, NULL, &k->f))
        written++;
    assert_true(written > 50 && written < 5000);
    assert_int_equal(k->f.kind, FAULT_STORE);
    assert_non_null(strstr(k->f.text, "the disk is full"));
    assert_ok(journal_count(j, &c, &k->f), &k->f);
    assert_int_equal(c.entries, written);
    assert_int_equal(unlink(ballast), 0);
    assert_ok(journal_append(j, &e, NULL, &k->f), &k->f);
    journal_close(j);
    assert_ok(journal_open(&j, place, JOURNAL_WRITE, &k->f), &k->f);
    assert_ok(journal_verify(j, &checked, &k->f), &k->f);
    assert_int_equal(checked, written + 1);
    journal_close(j);
    assert_int_equal(umount(place), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        kit_test(every_write_and_flush_may_fail),
        kit_test(a_batch_that_fails_leaves_nothing),
        kit_test(an_edit_that_arrived_is_not_written_twice),
        kit_test(opening_on_a_full_disk),
        kit_test(a_backup_that_does_not_fit),
        kit_test(a_backup_that_was_written_wrongly_is_not_kept),
        kit_test(a_small_disk),
    };
    return cmocka_run_group_tests(tests, layer_in, NULL);
}
