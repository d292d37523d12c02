/* kill -9 at any moment: what was acknowledged is there, nothing is torn, no version half made. */
#include "tests/unit/journal_kit.h"
#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <time.h>

enum { KILLS = 100, MIGRATION_KILLS = 40 };

struct scene {
    struct kit k;
    char dog[IDENT_ROOM];
    unsigned random;
};

static int scene_setup(void **state)
{
    struct scene *s = calloc(1, sizeof *s);
    s->random = 12345;
    s->k.a = arena_new();
    snprintf(s->k.folder, sizeof s->k.folder, "/tmp/amble-kill-XXXXXX"); /* a disk, not memory */
    assert_non_null(mkdtemp(s->k.folder));
    assert_ok(journal_open(&s->k.j, s->k.folder, JOURNAL_WRITE, &s->k.f), &s->k.f);
    kit_new(&s->k, "dog", s->dog);
    kit_set(&s->k, s->dog, "dog.name", "Biscuit");
    journal_close(s->k.j);
    s->k.j = NULL;
    *state = s;
    return 0;
}

static int scene_teardown(void **state)
{
    struct scene *s = *state;
    journal_close(s->k.j);
    arena_free(s->k.a);
    kit_remove(s->k.folder);
    free(s);
    return 0;
}

static void pause_us(long us)
{
    struct timespec t = {.tv_sec = us / 1000000, .tv_nsec = us % 1000000 * 1000};
    nanosleep(&t, NULL);
}

static long some_us(struct scene *s, long most)
{
    s->random = s->random * 1664525 + 1013904223;
    return (long)(s->random >> 8) % most;
}

/* ---- entries --------------------------------------------------------------------------------- */

/* Type, leave the field, say so on the pipe; for ever. */
static _Noreturn void writer(struct scene *s, int pipe_end)
{
    struct kit *k = &s->k;
    char value[32];
    struct heads h;
    if (!journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f) ||
        !journal_heads(k->j, k->a, s->dog, &h, &k->f))
        _exit(1);
    struct entry_id id = h.entries[0].id;
    for (uint64_t n = id.number + 1;; n++) {
        snprintf(value, sizeof value, "Biscuit %llu", (unsigned long long)n);
        struct edit e = {.kind = ENTRY_SET,
                         .entity = s->dog,
                         .item = "dog.name",
                         .value = value,
                         .replaces = &id,
                         .replaces_count = 1};
        if (!journal_draft_put(k->j, s->dog, "dog.name", value, &k->f) ||
            !journal_append(k->j, &e, &id, &k->f) || id.number != n ||
            write(pipe_end, &n, sizeof n) != sizeof n)
            _exit(2);
    }
}

/* The last entry the writer said was saved; `acknowledged` when it said nothing. */
static uint64_t kill_one_writer(struct scene *s, uint64_t acknowledged)
{
    int ends[2], status;
    uint64_t n;
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        writer(s, ends[1]);
    }
    close(ends[1]);
    if (some_us(s, 5) > 0 && read(ends[0], &n, sizeof n) == sizeof n)
        acknowledged = n; /* four in five are killed while they write, the fifth at any moment */
    pause_us(some_us(s, 15000));
    kill(child, SIGKILL);
    waitpid(child, &status, 0);
    assert_true(WIFSIGNALED(status));
    while (read(ends[0], &n, sizeof n) == sizeof n)
        acknowledged = n;
    close(ends[0]);
    return acknowledged;
}

static void what_was_acknowledged_is_there(void **state)
{
    struct scene *s = *state;
    struct kit *k = &s->k;
    uint64_t acknowledged = 1, beyond = 0, drafts_left = 0, checked;
    for (int i = 0; i < KILLS; i++) {
        uint64_t before = acknowledged;
        acknowledged = kill_one_writer(s, acknowledged);
        assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
        assert_true(journal_unclean(k->j) || acknowledged == before);
        struct heads h = kit_heads(k, s->dog);
        char value[32];
        assert_int_equal(h.count, 1);
        uint64_t last = h.entries[0].id.number;
        assert_true(last >= acknowledged && last <= acknowledged + 1);
        beyond += last > acknowledged;
        acknowledged = last;
        snprintf(value, sizeof value, "Biscuit%s%.0llu", last > 1 ? " " : "",
                 last > 1 ? (unsigned long long)last : 0ULL);
        assert_string_equal(h.entries[0].value, value);
        const struct draft *drafts;
        size_t count;
        assert_ok(journal_drafts(k->j, k->a, &drafts, &count, &k->f), &k->f);
        drafts_left += count;
        if (i % 10 == 9) {
            assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
            assert_int_equal(checked, last);
            assert_ok(journal_quick_check(k->j, &k->f), &k->f);
        }
        journal_close(k->j);
        k->j = NULL;
        arena_reset(k->a);
    }
    print_message("%d kills, %llu entries acknowledged, 0 lost, %llu saved but not yet said, "
                  "%llu drafts offered back\n",
                  KILLS, (unsigned long long)acknowledged, (unsigned long long)beyond,
                  (unsigned long long)drafts_left);
    assert_true(acknowledged > KILLS);
}

/* ---- versions -------------------------------------------------------------------------------- */

static const char note[] =
    "CREATE TABLE note(n INTEGER PRIMARY KEY, t TEXT NOT NULL) STRICT;"
    "WITH RECURSIVE c(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM c WHERE n < 20000)"
    " INSERT INTO note SELECT n, 'note ' || n FROM c";
static const char colour[] = "ALTER TABLE note ADD colour TEXT; UPDATE note SET colour = 'green'";

/* Two versions more than there are. */
static const struct migration *next_versions(size_t *now, size_t *count)
{
    static struct migration steps[16];
    const struct migration *known = schema_steps(now);
    memcpy(steps, known, *now * sizeof *known);
    steps[*now] = (struct migration){.version = (int)*now + 1, .what = "notes", .sql = note};
    steps[*now + 1] =
        (struct migration){.version = (int)*now + 2, .what = "colours", .sql = colour};
    *count = *now + 2;
    return steps;
}

static int64_t number_in(struct kit *k, const char *sql)
{
    char path[128];
    sqlite3 *db;
    sqlite3_stmt *s = NULL;
    int64_t n = -1;
    snprintf(path, sizeof path, "%s/journal.db", k->folder);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    if (sqlite3_prepare_v2(db, sql, -1, &s, NULL) == SQLITE_OK && sqlite3_step(s) == SQLITE_ROW)
        n = sqlite3_column_int64(s, 0);
    sqlite3_finalize(s);
    sqlite3_close(db);
    return n;
}

static void copy_file(const char *from_path, const char *to_path)
{
    char bytes[4096];
    size_t n;
    FILE *from = fopen(from_path, "rb"), *to = fopen(to_path, "wb");
    assert_non_null(from);
    assert_non_null(to);
    while ((n = fread(bytes, 1, sizeof bytes, from)) > 0)
        assert_int_equal(fwrite(bytes, 1, n, to), n);
    fclose(from);
    fclose(to);
}

static long now_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return t.tv_sec * 1000000 + t.tv_nsec / 1000;
}

static void no_version_is_half_made(void **state)
{
    struct scene *s = *state;
    struct kit *k = &s->k;
    int64_t seen[3] = {0};
    long whole = 0;
    size_t now, count;
    const struct migration *steps = next_versions(&now, &count);
    char first[128], path[128];
    snprintf(path, sizeof path, "%s/journal.db", k->folder);
    snprintf(first, sizeof first, "%s/first.db", k->folder);
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    assert_ok(journal_backup(k->j, first, &k->f), &k->f);
    journal_close(k->j);
    for (int i = 0; i < MIGRATION_KILLS; i++) {
        long from = now_us();
        pid_t child = fork();
        if (child == 0) {
            journal_open_with(&k->j, k->folder, JOURNAL_WRITE, steps, count, &k->f);
            _exit(0);
        }
        if (i > 0) { /* the first is let through, to know how long it takes */
            pause_us(some_us(s, whole));
            kill(child, SIGKILL);
        }
        int status;
        waitpid(child, &status, 0);
        if (i == 0)
            whole = now_us() - from;
        else /* a busy machine takes longer: keep about half of the tries inside the work */
            whole = WIFSIGNALED(status) ? whole * 5 / 4 : whole * 3 / 4;
        int64_t version = number_in(k, "PRAGMA user_version");
        assert_in_range(version, now, count);
        version -= (int64_t)now; /* steps made */
        seen[version]++;
        assert_int_equal(number_in(k, "SELECT count(*) FROM note"), version > 0 ? 20000 : -1);
        assert_int_equal(number_in(k, "SELECT count(colour) FROM note"), version > 1 ? 20000 : -1);
        assert_ok(journal_open_with(&k->j, k->folder, JOURNAL_WRITE, steps, count, &k->f), &k->f);
        assert_int_equal(kit_heads(k, s->dog).count, 1);
        journal_close(k->j);
        /* Back to the first version for the next try: a copy, as a person would restore it. */
        k->j = NULL;
        copy_file(first, path);
    }
    print_message(
        "%d migrations killed: ended before the first step %lld times, after it %lld times, after "
        "both %lld times, half made 0\n",
        MIGRATION_KILLS - 1, (long long)seen[0], (long long)seen[1], (long long)seen[2] - 1);
    assert_true(seen[0] > 0 && seen[1] + seen[2] > 1);
}

#define scene_test(name) cmocka_unit_test_setup_teardown(name, scene_setup, scene_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        scene_test(what_was_acknowledged_is_there),
        scene_test(no_version_is_half_made),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
