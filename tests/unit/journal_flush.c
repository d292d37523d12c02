/* Flushing beside: nobody waits for it, nothing is forgotten by it, and a disk that fails in it is
 * told before anything more is written. The flushes here are ours, and end when a test says so. */
#include "tests/unit/journal_kit.h"
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <sys/sendfile.h>
#include <sys/syscall.h>
#include <time.h>

static struct {
    pthread_mutex_t lock;
    pthread_cond_t changed;
    int begun, held; /* flushes begun; how many may not come back yet */
    int failing;     /* how many of the next fail */
    pthread_t by;    /* who flushed last */
} disk = {.lock = PTHREAD_MUTEX_INITIALIZER, .changed = PTHREAD_COND_INITIALIZER};

static int flush(long call, int fd)
{
    pthread_mutex_lock(&disk.lock);
    disk.begun++;
    disk.by = pthread_self();
    pthread_cond_broadcast(&disk.changed);
    while (disk.held > 0)
        pthread_cond_wait(&disk.changed, &disk.lock);
    bool fails = disk.failing > 0;
    disk.failing -= fails;
    pthread_mutex_unlock(&disk.lock);
    if (!fails)
        return (int)syscall(call, fd);
    errno = EIO;
    return -1;
}

int fdatasync(int fd)
{
    return flush(SYS_fdatasync, fd);
}

int fsync(int fd)
{
    return flush(SYS_fsync, fd);
}

static int begun(void)
{
    pthread_mutex_lock(&disk.lock);
    int n = disk.begun;
    pthread_mutex_unlock(&disk.lock);
    return n;
}

static void hold(bool held)
{
    pthread_mutex_lock(&disk.lock);
    disk.held = held;
    pthread_cond_broadcast(&disk.changed);
    pthread_mutex_unlock(&disk.lock);
}

static void fail_next(int flushes)
{
    pthread_mutex_lock(&disk.lock);
    disk.failing = flushes;
    pthread_mutex_unlock(&disk.lock);
}

static void wait_begun(int n)
{
    pthread_mutex_lock(&disk.lock);
    while (disk.begun < n)
        pthread_cond_wait(&disk.changed, &disk.lock);
    pthread_mutex_unlock(&disk.lock);
}

/* The flush that runs comes back by itself, whether well or not. */
static enum flushing wait_back(struct journal *j)
{
    struct timespec ms = {.tv_nsec = 1000000};
    enum flushing state = journal_flushing(j);
    for (int i = 0; i < 10000 && state == FLUSH_RUNS; i++) {
        nanosleep(&ms, NULL);
        state = journal_flushing(j);
    }
    return state;
}

/* A dog in a record that is flushed beside from now on, the log begun. */
static void begin_beside(struct kit *k, char dog[IDENT_ROOM])
{
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    assert_ok(journal_flush_beside(k->j, &k->f), &k->f);
    kit_set(k, dog, "dog.breed", "Dachshund");
    assert_ok(journal_flush(k->j, &k->f), &k->f);
}

/* What a power cut would leave if it took the log: the record's own file. */
static size_t heads_without_log(struct kit *k, const char *dog)
{
    char from[96], to[96];
    struct kit copy = {.a = k->a};
    struct heads heads = {0};
    struct stat st;
    snprintf(copy.folder, sizeof copy.folder, "%.40s/cut", k->folder);
    kit_remove(copy.folder);
    assert_int_equal(mkdir(copy.folder, 0700), 0);
    snprintf(from, sizeof from, "%s/journal.db", k->folder);
    snprintf(to, sizeof to, "%s/journal.db", copy.folder);
    int in = open(from, O_RDONLY), out = open(to, O_WRONLY | O_CREAT, 0600);
    assert_int_equal(fstat(in, &st), 0);
    assert_int_equal(sendfile(out, in, NULL, (size_t)st.st_size), st.st_size);
    close(in);
    close(out);
    assert_ok(journal_open(&copy.j, copy.folder, JOURNAL_WRITE, &k->f), &k->f);
    if (!journal_heads(copy.j, k->a, dog, &heads, &k->f))
        assert_int_equal(k->f.kind, FAULT_MISSING); /* not even the dog */
    journal_close(copy.j);
    return heads.count;
}

static void nobody_waits_for_a_flush(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    begin_beside(k, dog);
    int before = begun();
    hold(true);
    kit_set(k, dog, "dog.note", "walks on");
    wait_begun(before + 1);
    kit_set(k, dog, "dog.gait", "slowly"); /* while the first is under way */
    kit_set(k, dog, "dog.sex", "male");
    assert_int_equal(journal_flushing(k->j), FLUSH_RUNS);
    assert_int_equal(begun(), before + 1);
    assert_false(pthread_equal(disk.by, pthread_self()));
    assert_string_equal(journal_value(k->j, k->a, dog, "dog.gait"), "slowly");
    hold(false);
    assert_ok(journal_flush(k->j, &k->f), &k->f);
    assert_int_equal(journal_flushing(k->j), FLUSHED);
    assert_int_equal(begun(), before + 2); /* one more for all that came meanwhile */
}

static void a_field_is_one_flush_and_what_is_typed_none(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    begin_beside(k, dog);
    for (int i = 0; i < 20; i++) {
        int before = begun();
        kit_set(k, dog, "dog.note", "walks on");
        assert_ok(journal_flush(k->j, &k->f), &k->f);
        assert_int_equal(begun(), before + 1);
        assert_ok(journal_draft_put(k->j, dog, "dog.note", "wal", &k->f), &k->f);
        assert_int_equal(journal_flushing(k->j), FLUSHED);
        assert_int_equal(begun(), before + 1);
    }
}

/* The log was not flushed, and the next flush says that all is well: it goes another way. */
static void what_a_flush_failed_to_keep_goes_into_the_record_itself(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    begin_beside(k, dog);
    fail_next(1);
    kit_set(k, dog, "dog.note", "walks on");
    assert_int_equal(wait_back(k->j), FLUSH_FAILED);
    assert_int_equal(heads_without_log(k, dog), 0);
    assert_ok(journal_flush(k->j, &k->f), &k->f);
    assert_int_equal(journal_flushing(k->j), FLUSHED);
    assert_int_equal(heads_without_log(k, dog), 3);
    kit_set(k, dog, "dog.sex", "male");
    assert_ok(journal_flush(k->j, &k->f), &k->f);
}

static void nothing_is_added_to_what_is_not_on_the_disk(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    struct edit e = {
        .kind = ENTRY_SET, .item = "dog.sex", .value = "male", .author = "", .reason = ""};
    begin_beside(k, dog);
    e.entity = dog;
    fail_next(2); /* the flush, and the first of the second way */
    kit_set(k, dog, "dog.note", "walks on");
    assert_int_equal(wait_back(k->j), FLUSH_FAILED);
    assert_false(journal_append(k->j, &e, NULL, &k->f));
    assert_int_equal(k->f.kind, FAULT_STORE);
    assert_non_null(strstr(k->f.text, "not on the disk"));
    assert_int_equal(journal_flushing(k->j), FLUSH_FAILED);
    k->f = (struct fault){0};
    assert_string_equal(journal_value(k->j, k->a, dog, "dog.note"), "walks on");
    assert_ok(journal_append(k->j, &e, NULL, &k->f), &k->f); /* the disk is well again */
    assert_ok(journal_flush(k->j, &k->f), &k->f);
    assert_int_equal(kit_heads(k, dog).count, 4);
}

/* Whoever takes entries from here must not hold what a power cut takes back: its number would be
 * given again. */
static void who_lends_or_closes_the_record_has_flushed_it(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    begin_beside(k, dog);
    fail_next(2);
    kit_set(k, dog, "dog.note", "walks on");
    assert_false(journal_lend(k->j, &k->f));
    k->f = (struct fault){0};
    assert_ok(journal_lend(k->j, &k->f), &k->f);
    assert_int_equal(journal_flushing(k->j), FLUSHED);
    assert_ok(journal_take_back(k->j, &k->f), &k->f);
    kit_set(k, dog, "dog.sex", "male");
    assert_ok(journal_flush(k->j, &k->f), &k->f);
    assert_false(pthread_equal(disk.by, pthread_self())); /* beside again */
    kit_reopen(k, JOURNAL_WRITE);
    assert_int_equal(kit_heads(k, dog).count, 4);
    kit_set(k, dog, "dog.sex", "female"); /* begins the log: a flush more */
    int before = begun();
    kit_set(k, dog, "dog.note", "walks on"); /* and as ever when nobody asks for it */
    assert_int_equal(begun(), before + 1);
    assert_true(pthread_equal(disk.by, pthread_self()));
}

/* The log goes into the record now and then, as it does without the thread. */
static void the_log_does_not_grow_without_end(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], log[96], long_text[60000];
    struct stat st;
    begin_beside(k, dog);
    memset(long_text, 'a', sizeof long_text - 1);
    long_text[sizeof long_text - 1] = '\0';
    for (int i = 0; i < 200; i++) /* 12 MB, and a log is brought in at four */
        kit_set(k, dog, "dog.note", long_text);
    assert_ok(journal_flush(k->j, &k->f), &k->f);
    snprintf(log, sizeof log, "%s/journal.db-wal", k->folder);
    assert_int_equal(stat(log, &st), 0);
    assert_in_range(st.st_size, 1, 6 << 20);
}

static int let_go(void **state)
{
    hold(false); /* a test that failed may have left it held */
    fail_next(0);
    return kit_teardown(state);
}

#define beside_test(name) cmocka_unit_test_setup_teardown(name, kit_setup, let_go)

int main(void)
{
    const struct CMUnitTest tests[] = {
        beside_test(nobody_waits_for_a_flush),
        beside_test(a_field_is_one_flush_and_what_is_typed_none),
        beside_test(what_a_flush_failed_to_keep_goes_into_the_record_itself),
        beside_test(nothing_is_added_to_what_is_not_on_the_disk),
        beside_test(who_lends_or_closes_the_record_has_flushed_it),
        beside_test(the_log_does_not_grow_without_end),
    };
    return cmocka_run_group_tests_name("journal: flushing beside", tests, NULL, NULL);
}
