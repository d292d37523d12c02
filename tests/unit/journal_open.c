/* Opening: what is made, what is refused and with which words, who writes, how versions change. */
#include "journal_kit.h"
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/file.h>
#include <sys/wait.h>

static void path_of(const struct kit *k, const char *name, char out[128])
{
    snprintf(out, 128, "%s/%s", k->folder, name);
}

static void write_file(const struct kit *k, const char *name, const void *bytes, size_t size)
{
    char path[128];
    path_of(k, name, path);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, size, file), size);
    fclose(file);
}

static char *read_file(struct kit *k, const char *name, size_t *size)
{
    char path[128];
    struct stat st;
    path_of(k, name, path);
    assert_int_equal(stat(path, &st), 0);
    char *bytes = arena_alloc(k->a, (size_t)st.st_size + 1);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    *size = fread(bytes, 1, (size_t)st.st_size, file);
    fclose(file);
    return bytes;
}

static void close_only(struct kit *k)
{
    journal_close(k->j);
    k->j = NULL;
}

static void empty_folder(struct kit *k)
{
    char path[128];
    close_only(k);
    path_of(k, "journal.db", path);
    assert_int_equal(remove(path), 0);
}

/* ---- making ---------------------------------------------------------------------------------- */

static void only_for_this_person(void **state)
{
    struct kit *k = *state;
    static const char *const names[] = {"journal.db", "journal.db-wal", "journal.db-shm",
                                        "journal.lock"};
    char path[128], deep[128];
    struct stat st;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    for (size_t i = 0; i < 4; i++) {
        path_of(k, names[i], path);
        assert_int_equal(stat(path, &st), 0);
        assert_int_equal(st.st_mode & 0777, 0600);
    }
    path_of(k, "a/b/c", deep);
    struct journal *j;
    assert_ok(journal_open(&j, deep, JOURNAL_WRITE, &k->f), &k->f);
    assert_string_equal(journal_folder(j), deep);
    assert_false(journal_read_only(j));
    assert_string_equal(journal_writer(j), "");
    journal_close(j);
    assert_int_equal(stat(deep, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0700);
}

static void an_empty_file_becomes_a_record(void **state)
{
    struct kit *k = *state;
    empty_folder(k);
    write_file(k, "journal.db", "", 0);
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    /* So does one that was killed between the first settings and the first table. */
    empty_folder(k);
    kit_sql(k->folder, "PRAGMA journal_mode = WAL");
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
}

static void reading_makes_nothing(void **state)
{
    struct kit *k = *state;
    struct journal *j;
    char nowhere[128], path[128];
    struct stat st;
    path_of(k, "nowhere", nowhere);
    assert_fault(journal_open(&j, nowhere, JOURNAL_READ, &k->f), &k->f, FAULT_MISSING,
                 "there is no record in ");
    assert_null(j);
    assert_int_not_equal(stat(nowhere, &st), 0);
    empty_folder(k);
    write_file(k, "journal.db", "", 0);
    assert_fault(journal_open(&j, k->folder, JOURNAL_READ, &k->f), &k->f, FAULT_MISSING,
                 "holds no record yet");
    path_of(k, "journal.db", path);
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_size, 0);
}

static void a_folder_that_cannot_be_made(void **state)
{
    struct kit *k = *state;
    struct journal *j;
    char path[128];
    write_file(k, "file", "x", 1);
    path_of(k, "file/folder", path);
    assert_fault(journal_open(&j, path, JOURNAL_WRITE, &k->f), &k->f, FAULT_SYSTEM,
                 "cannot make the folder");
    char *large = calloc(1, 6000);
    memset(large, 'x', 5999);
    assert_fault(journal_open(&j, large, JOURNAL_WRITE, &k->f), &k->f, FAULT_INPUT, "too long");
    free(large);
}

/* ---- what is not ours ------------------------------------------------------------------------ */

static const enum journal_mode modes[] = {JOURNAL_WRITE, JOURNAL_WRITE_ELSE_READ, JOURNAL_READ};

/* Refused in every mode, and not one byte changed. */
static void assert_left_alone(struct kit *k, enum fault_kind kind, const char *words)
{
    size_t before, after;
    char *was = read_file(k, "journal.db", &before);
    for (size_t i = 0; i < 3; i++) {
        struct journal *j;
        assert_fault(journal_open(&j, k->folder, modes[i], &k->f), &k->f, kind, words);
        assert_null(j);
    }
    char *is = read_file(k, "journal.db", &after);
    assert_int_equal(before, after);
    assert_memory_equal(was, is, before);
}

static void a_file_that_is_no_database(void **state)
{
    struct kit *k = *state;
    char text[9000];
    empty_folder(k);
    memset(text, 'x', sizeof text);
    write_file(k, "journal.db", text, sizeof text);
    assert_left_alone(k, FAULT_DAMAGE, "this is not a record");
    write_file(k, "journal.db", "short", 5);
    assert_left_alone(k, FAULT_DAMAGE, "this is not a record");
}

static void a_database_of_another_program(void **state)
{
    struct kit *k = *state;
    empty_folder(k);
    kit_sql(k->folder, "CREATE TABLE recipe(name TEXT); INSERT INTO recipe VALUES ('soup')");
    assert_left_alone(k, FAULT_REFUSED, "belongs to another program; it was left as it is");
    empty_folder((close_only(k), k));
    kit_sql(k->folder, "PRAGMA application_id = 77");
    assert_left_alone(k, FAULT_REFUSED, "belongs to another program");
    empty_folder(k);
    kit_sql(k->folder, "PRAGMA journal_mode = WAL; CREATE TABLE recipe(name TEXT)");
    assert_left_alone(k, FAULT_REFUSED, "belongs to another program");
}

/* Somebody else is at work there: what lies in the log stays in the log. */
static void a_log_of_another_program(void **state)
{
    struct kit *k = *state;
    size_t before, after;
    empty_folder(k);
    pid_t child = fork();
    if (child == 0) {
        char path[128];
        sqlite3 *db;
        path_of(k, "journal.db", path);
        sqlite3_open(path, &db);
        sqlite3_exec(db, "PRAGMA journal_mode = WAL; CREATE TABLE recipe(name TEXT)", 0, 0, 0);
        raise(SIGKILL);
    }
    waitpid(child, NULL, 0);
    char *was = read_file(k, "journal.db-wal", &before);
    assert_true(before > 0);
    assert_left_alone(k, FAULT_REFUSED, "belongs to another program");
    char *is = read_file(k, "journal.db-wal", &after);
    assert_int_equal(before, after);
    assert_memory_equal(was, is, before);
}

static void a_newer_version(void **state)
{
    struct kit *k = *state;
    close_only(k);
    kit_sql(k->folder, "PRAGMA user_version = 7");
    assert_left_alone(k, FAULT_REFUSED, "newer amble (record version 7, this program knows 4)");
}

static void a_file_cut_short(void **state)
{
    struct kit *k = *state;
    char path[128];
    struct stat st;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    for (int i = 0; i < 300; i++)
        kit_set(k, dog, "dog.name", "Biscuit");
    close_only(k);
    path_of(k, "journal.db", path);
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(truncate(path, st.st_size - 5000), 0);
    assert_left_alone(k, FAULT_DAMAGE, "restore a backup");
    assert_int_equal(truncate(path, 4096), 0);
    assert_left_alone(k, FAULT_DAMAGE, "restore a backup");
    assert_int_equal(truncate(path, 700), 0);
    assert_left_alone(k, FAULT_DAMAGE, "");
}

/* ---- one writer ------------------------------------------------------------------------------ */

static void a_second_process_reads(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], writer[32];
    kit_new(k, "dog", dog);
    struct entry_id id = kit_set(k, dog, "dog.name", "Biscuit");
    snprintf(writer, sizeof writer, "pid %ld", (long)getpid());
    pid_t child = fork();
    if (child == 0) {
        struct kit other = {.a = arena_new()};
        struct heads h = {0};
        struct edit e = {.kind = ENTRY_SET, .entity = dog, .item = "dog.name", .value = "x"};
        bool busy = !journal_open(&other.j, k->folder, JOURNAL_WRITE, &other.f) &&
                    other.f.kind == FAULT_BUSY && strstr(other.f.text, writer);
        bool reads = journal_open(&other.j, k->folder, JOURNAL_WRITE_ELSE_READ, &other.f) &&
                     journal_read_only(other.j) && !strcmp(journal_writer(other.j), writer) &&
                     journal_heads(other.j, other.a, dog, &h, &other.f) && h.count == 1 &&
                     h.entries[0].id.number == id.number;
        bool refuses = reads && !journal_append(other.j, &e, NULL, &other.f) &&
                       other.f.kind == FAULT_REFUSED && strstr(other.f.text, writer) &&
                       !journal_setting_put(other.j, "a", "b", &other.f) &&
                       !journal_draft_put(other.j, dog, "dog.name", "B", &other.f) &&
                       !journal_begin(other.j, &other.f) && !journal_rebuild(other.j, &other.f);
        journal_close(other.j);
        arena_free(other.a);
        _exit(busy && reads && refuses ? 0 : 1 + busy + 2 * reads + 4 * refuses);
    }
    int status;
    waitpid(child, &status, 0);
    assert_int_equal(status, 0);
    /* What the writer adds meanwhile, an open reader sees. */
    struct journal *reader;
    struct heads h;
    assert_ok(journal_open(&reader, k->folder, JOURNAL_READ, &k->f), &k->f);
    assert_string_equal(journal_writer(reader), "");
    kit_set_over(k, dog, "dog.name", "Bisquit", &id, 1);
    assert_ok(journal_heads(reader, k->a, dog, &h, &k->f), &k->f);
    assert_string_equal(h.entries[0].value, "Bisquit");
    journal_close(reader);
}

/* Root may write anywhere: the record becomes somebody else's, who then looks. */
static void become_nobody(struct kit *k)
{
    static const char *const names[] = {"", "journal.db", "journal.db-wal", "journal.lock"};
    enum { NOBODY = 65534 };
    char path[128];
    for (size_t i = 0; geteuid() == 0 && i < sizeof names / sizeof *names; i++) {
        path_of(k, names[i], path);
        if (chown(path, NOBODY, NOBODY) != 0 && errno != ENOENT)
            _exit(100);
    }
    if (chmod(k->folder, 0500) != 0 ||
        (geteuid() == 0 && (setgid(NOBODY) != 0 || setuid(NOBODY) != 0)))
        _exit(101);
}

/* What somebody sees who may not write there: 0 as it should be. */
static int look_where_nobody_writes(struct kit *k, const char *dog, const char *refused)
{
    become_nobody(k);
    struct kit other = {.a = arena_new()};
    struct heads h = {0};
    bool held = !journal_open(&other.j, k->folder, JOURNAL_WRITE, &other.f) &&
                other.f.kind == FAULT_STORE && strstr(other.f.text, "cannot write in ");
    bool opened = journal_open(&other.j, k->folder, JOURNAL_WRITE_ELSE_READ, &other.f);
    bool told = opened ? strcmp(journal_why_read_only(other.j), "its folder cannot be written") == 0
                       : refused != NULL && strstr(other.f.text, refused);
    bool reads = opened == (refused == NULL) &&
                 (!opened || (journal_read_only(other.j) &&
                              journal_heads(other.j, other.a, dog, &h, &other.f) && h.count == 1 &&
                              strcmp(h.entries[0].value, "Biscuit") == 0));
    journal_close(other.j);
    arena_free(other.a);
    return held && told && reads ? 0 : 1 + held + 2 * told + 4 * reads;
}

static void a_folder_that_cannot_be_written_is_read(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], plain[sizeof k->folder];
    int status;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    close_only(k);
    memcpy(plain, k->folder, sizeof plain);
    size_t n = strlen(plain); /* with what the name of a file by URI would read otherwise */
    snprintf(k->folder + n, sizeof k->folder - n, " 1%%?#");
    assert_int_equal(rename(plain, k->folder), 0);
    pid_t child = fork();
    if (child == 0)
        _exit(look_where_nobody_writes(k, dog, NULL));
    waitpid(child, &status, 0);
    assert_int_equal(status, 0);
    /* A log that nobody took in: without it the record would be an older one. */
    assert_int_equal(chmod(k->folder, 0700), 0);
    write_file(k, "journal.db-wal", "", 0);
    child = fork();
    if (child == 0)
        _exit(look_where_nobody_writes(k, dog, "was not closed well, and its folder cannot"));
    waitpid(child, &status, 0);
    assert_int_equal(status, 0);
    assert_int_equal(chmod(k->folder, 0700), 0);
}

static void a_reader_alone(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    kit_reopen(k, JOURNAL_READ);
    assert_true(journal_read_only(k->j));
    assert_int_equal(kit_heads(k, dog).count, 1);
    assert_int_equal(journal_device(k->j), 1);
    kit_reopen(k, JOURNAL_WRITE_ELSE_READ);
    assert_false(journal_read_only(k->j));
    assert_int_equal(journal_device(k->j), 1); /* still the same device */
}

/* Lent, it is another's to write; taken back, it is what the other made of it. */
static void a_lent_record_is_another_programs(void **state)
{
    struct kit *k = *state;
    struct journal_counts c;
    struct kit other = {.a = k->a};
    char dog[IDENT_ROOM];
    struct edit e = {.kind = ENTRY_SET, .entity = dog, .item = "dog.name", .value = "x"};
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    assert_ok(journal_lend(k->j, &k->f), &k->f);
    assert_fault(journal_append(k->j, &e, NULL, &k->f), &k->f, FAULT_REFUSED, "reading only");
    assert_ok(journal_open(&other.j, k->folder, JOURNAL_WRITE, &other.f), &other.f);
    kit_set(&other, dog, "dog.breed", "Beagle");
    assert_fault(journal_take_back(k->j, &k->f), &k->f, FAULT_BUSY, "another amble");
    assert_fault(journal_append(k->j, &e, NULL, &k->f), &k->f, FAULT_REFUSED, "reading only");
    journal_close(other.j);
    assert_ok(journal_take_back(k->j, &k->f), &k->f);
    assert_int_equal(kit_set(k, dog, "dog.breed", "Basset").number, 3);
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    assert_int_equal(c.conflicts, 1);
}

static void an_unclean_end_is_noticed(void **state)
{
    struct kit *k = *state;
    assert_false(journal_unclean(k->j));
    kit_reopen(k, JOURNAL_WRITE);
    assert_false(journal_unclean(k->j));
    close_only(k);
    pid_t child = fork();
    if (child == 0) {
        struct journal *j;
        struct fault f;
        journal_open(&j, k->folder, JOURNAL_WRITE, &f);
        raise(SIGKILL);
    }
    waitpid(child, NULL, 0);
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    assert_true(journal_unclean(k->j));
    assert_ok(journal_quick_check(k->j, &k->f), &k->f);
    kit_reopen(k, JOURNAL_WRITE);
    assert_false(journal_unclean(k->j));
}

/* ---- versions -------------------------------------------------------------------------------- */

static struct migration six[6];

static const struct migration *next_versions(const char *fifth, const char *sixth)
{
    size_t count;
    const struct migration *now = schema_steps(&count);
    assert_int_equal(count, 4);
    memcpy(six, now, count * sizeof *now);
    six[4] = (struct migration){.version = 5, .what = "a note for each dog", .sql = fifth};
    six[5] = (struct migration){.version = 6, .what = "a colour for notes", .sql = sixth};
    return six;
}

static void older_records_are_brought_up_to_date(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], path[128];
    struct stat st;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    close_only(k);
    const struct migration *steps =
        next_versions("CREATE TABLE note(text TEXT) STRICT", "ALTER TABLE note ADD colour TEXT");
    assert_fault(journal_open_with(&k->j, k->folder, JOURNAL_READ, steps, 6, &k->f), &k->f,
                 FAULT_REFUSED, "start amble once");
    assert_ok(journal_open_with(&k->j, k->folder, JOURNAL_WRITE, steps, 6, &k->f), &k->f);
    assert_int_equal(kit_heads(k, dog).count, 1);
    assert_int_equal(sqlite3_exec(k->j->db, "SELECT colour FROM note", NULL, NULL, NULL),
                     SQLITE_OK);
    path_of(k, "before-version-6.db", path);
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0600);
    /* The backup is a record of the old version. */
    close_only(k);
    char old[128];
    path_of(k, "journal.db", old);
    assert_int_equal(rename(path, old), 0);
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    assert_int_equal(kit_heads(k, dog).count, 1);
}

static void a_step_that_fails_changes_nothing(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    close_only(k);
    const struct migration *steps =
        next_versions("CREATE TABLE note(text TEXT) STRICT",
                      "ALTER TABLE note ADD colour TEXT; INSERT INTO nowhere VALUES (1)");
    assert_fault(journal_open_with(&k->j, k->folder, JOURNAL_WRITE, steps, 6, &k->f), &k->f,
                 FAULT_STORE, "cannot bring the record to version 6 (a colour for notes)");
    /* Step 5 stands, step 6 left nothing. */
    steps = next_versions("SELECT 1", "ALTER TABLE note ADD colour TEXT");
    assert_ok(journal_open_with(&k->j, k->folder, JOURNAL_WRITE, steps, 5, &k->f), &k->f);
    assert_int_equal(sqlite3_exec(k->j->db, "SELECT text FROM note", NULL, NULL, NULL), SQLITE_OK);
    assert_int_not_equal(sqlite3_exec(k->j->db, "SELECT colour FROM note", NULL, NULL, NULL),
                         SQLITE_OK);
    close_only(k);
    assert_ok(journal_open_with(&k->j, k->folder, JOURNAL_WRITE, steps, 6, &k->f), &k->f);
}

static void without_a_backup_nothing_changes(void **state)
{
    struct kit *k = *state;
    char path[128];
    close_only(k);
    path_of(k, "before-version-6.db.part", path); /* in the way of the backup */
    assert_int_equal(mkdir(path, 0700), 0);
    const struct migration *steps = next_versions("CREATE TABLE note(text TEXT) STRICT", "");
    assert_fault(journal_open_with(&k->j, k->folder, JOURNAL_WRITE, steps, 6, &k->f), &k->f,
                 FAULT_STORE, "no backup before the change to version 6, so it was not made");
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f); /* still version 4 */
    assert_int_not_equal(sqlite3_exec(k->j->db, "SELECT text FROM note", NULL, NULL, NULL),
                         SQLITE_OK);
}

static bool without_tags(void *of, const struct far_entry *e)
{
    for (size_t i = 0; i < e->replaces_count; i++)
        *(size_t *)of += e->replaces[i].tag == 0;
    return true;
}

/* What version 2 made of a record: it said where an entry stood that was replaced, not what was
 * seen there. Its chain is hashed as it was, and its edges count by their place. */
static void edges_without_tags_still_count(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    uint8_t uuid[UUID_BYTES], none[HASH_BYTES] = {0}, branch[UUID_BYTES] = {[0] = 1, [6] = 0x80};
    enum applied how;
    size_t untagged = 0;
    uint64_t checked = 0;
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biskit");
    uuid_read(dog, uuid);
    struct far_edge edge = {.at.number = 1};
    memcpy(edge.at.device, k->j->self_uuid, UUID_BYTES);
    struct far_entry e = {.id.number = 1,
                          .kind = ENTRY_SET,
                          .entity_kind = "dog",
                          .item = "dog.name",
                          .value = "Biscuit",
                          .reason = "",
                          .lamport = 2,
                          .replaces = &edge,
                          .replaces_count = 1};
    memcpy(e.entity, uuid, UUID_BYTES);
    memcpy(e.id.device, branch, UUID_BYTES);
    chain_hash(&e, none, e.hash);
    assert_ok(journal_apply(k->j, &e, &how, &k->f), &k->f);
    close_only(k);
    kit_sql(k->folder, "DROP INDEX replaced_tag; ALTER TABLE replaced DROP COLUMN tag;"
                       "DROP TABLE branched; PRAGMA user_version = 2");
    assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    assert_string_equal(kit_heads(k, dog).entries[0].value, "Biscuit");
    assert_int_equal(kit_heads(k, dog).count, 1);
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
    assert_int_equal(checked, 2);
    assert_ok(journal_entries(k->j, branch, 0, without_tags, &untagged, &k->f), &k->f);
    assert_int_equal(untagged, 1);
    /* A branch moved before is known as one: what replaces its entries with a tag finds them. */
    edge = (struct far_edge){.at = {.device = {7}, .number = 101}, .tag = chain_tag(&e)};
    struct far_entry later = e;
    memset(later.id.device, 9, UUID_BYTES);
    later.value = "Biscotti";
    later.lamport = 3;
    chain_hash(&later, none, later.hash);
    assert_ok(journal_apply(k->j, &later, &how, &k->f), &k->f);
    assert_string_equal(kit_heads(k, dog).entries[0].value, "Biscotti");
    struct heads h;
    assert_ok(journal_history(k->j, k->a, dog, "dog.name", &h, &k->f), &k->f);
    assert_int_equal(h.count, 3);
    assert_ok(journal_rebuild(k->j, &k->f), &k->f);
    assert_int_equal(kit_heads(k, dog).count, 1);
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        kit_test(only_for_this_person),
        kit_test(an_empty_file_becomes_a_record),
        kit_test(reading_makes_nothing),
        kit_test(a_folder_that_cannot_be_made),
        kit_test(a_file_that_is_no_database),
        kit_test(a_database_of_another_program),
        kit_test(a_log_of_another_program),
        kit_test(a_newer_version),
        kit_test(a_file_cut_short),
        kit_test(a_second_process_reads),
        kit_test(a_folder_that_cannot_be_written_is_read),
        kit_test(a_reader_alone),
        kit_test(a_lent_record_is_another_programs),
        kit_test(an_unclean_end_is_noticed),
        kit_test(older_records_are_brought_up_to_date),
        kit_test(a_step_that_fails_changes_nothing),
        kit_test(without_a_backup_nothing_changes),
        kit_test(edges_without_tags_still_count),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
