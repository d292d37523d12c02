/* A disk that fails, seen from the keys: at each write and flush of a scripted visit in turn the
 * disk reports an error or is full, once. The screen says so and keeps what was typed; doing it
 * again works; nothing is torn. AMBLE_FAULTS=N tries N places of each kind instead of 8. And a disk
 * whose room goes and comes back. */
#include "tests/screens/visit_kit.h"
#include <glob.h>
#include <limits.h>
#include <setjmp.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static const struct {
    const char *label, *value;
} fields[] = {{"Dog's name", "Marzipan"}, {"Breed", "Dachshund"}, {"Medicines now", "none"}};
enum { FIELDS = sizeof fields / sizeof *fields };

static const char not_saved[] = "not saved";

/* What is started from here to LD_PRELOAD's unsetting has the disk between it and the system; no
 * write fails yet. */
static void put_between(void)
{
    char shim[PATH_MAX];
    assert_non_null(realpath(DISK_SHIM, shim));
    setenv("LD_PRELOAD", shim, 1);
    setenv("ASAN_OPTIONS", "verify_asan_link_order=0", 1);
    setenv("AMBLE_FAULT_AT", "0", 1);
}

/* The program on that disk. `at` 0: nothing fails. */
static void open_on(struct practice *p, long at, const char *what)
{
    char log[160], number[24];
    snprintf(log, sizeof log, "%s/count", p->folder);
    snprintf(number, sizeof number, "%ld", at);
    put_between();
    setenv("AMBLE_FAULT_LOG", log, 1);
    setenv("AMBLE_FAULT_AT", number, 1);
    setenv("AMBLE_FAULT", what, 1);
    practice_open(p, (struct stage){0});
    unsetenv("LD_PRELOAD");
}

static bool gone_on_or_told(struct tty *t, const void *label)
{
    return tty_has(t, not_saved) || tty_has(t, "not kept") || !at_row(t, label);
}

/* Type one field and leave it; when the disk fails, the text stands and Enter saves it. */
static int enter_field(struct tty *t, size_t i)
{
    int told = 0;
    go_to_row(t, fields[i].label);
    tty_type(t, fields[i].value);
    tty_keys(t, "Enter");
    tty_wait_that(t, gone_on_or_told, fields[i].label, "gone on, or a message");
    while (at_row(t, fields[i].label) && told < 3) {
        told++;
        tty_wait_text(t, fields[i].value); /* what was typed stands there */
        tty_keys(t, "Enter");
        tty_wait_still(t);
    }
    return told;
}

static bool started_or_refused(struct tty *t, const void *of)
{
    (void)of;
    return tty_has(t, "find") || tty_has(t, "amble: ");
}

static int visit(struct practice *p, long at, const char *what)
{
    int told = 0;
    open_on(p, at, what);
    tty_wait_that(p->tty, started_or_refused, NULL, "Today, or why not");
    if (tty_has(p->tty, "amble: ")) { /* it could not even begin, and said why: once more */
        (void)tty_wait_exit(p->tty);
        told++;
        open_on(p, 0, what);
    }
    struct tty *t = p->tty;
    tty_wait_text(t, "find");
    for (int i = 0; i < 3 && !tty_has(t, "Red flags");
         i++) { /* a call that cannot be begun says so */
        tty_keys(t, "c");
        tty_wait_still(t);
        told += tty_has(t, not_saved);
        if (tty_has(t, fields[0].label))
            break;
    }
    for (size_t i = 0; i < FIELDS; i++)
        told += enter_field(t, i);
    practice_leave(p);
    return told;
}

static long count_of(struct practice *p)
{
    char *log = practice_file(p, "count");
    long n = strtol(log, NULL, 10);
    free(log);
    return n;
}

static void each_write_fails_once(void **state)
{
    struct practice *p = *state;
    static const char *const kinds[] = {"EIO", "ENOSPC"};
    const char *more = getenv("AMBLE_FAULTS");
    long places = more ? strtol(more, NULL, 10) : 8;
    int runs = 0, told = 0;
    assert_int_equal(visit(p, 0, "EIO"), 0);
    long writes = count_of(p);
    long step = writes > places ? writes / places : 1;
    for (size_t k = 0; k < 2; k++)
        for (long at = 1 + (long)k % step; at <= writes; at += step) {
            char mark[32];
            told += visit(p, at, kinds[k]);
            runs++;
            char *said = practice_says(p, "verify");
            assert_non_null(strstr(said, "each is what was written"));
            free(said);
            said = practice_says(p, "list calls --limit 100000");
            snprintf(mark, sizeof mark, "%s", fields[0].value);
            int calls = 0;
            for (const char *c = said; (c = strstr(c, mark)); c++)
                calls++;
            if (calls != runs + 1)
                fail_msg("%s at write %ld: %d calls with the dog's name instead of %d:\n%s",
                         kinds[k], at, calls, runs + 1, said);
            free(said);
        }
    print_message("%ld writes and flushes in a visit; %d failed in turn: told on screen %d times, "
                  "nothing lost or torn\n",
                  writes, runs, told);
    assert_true(told > 0);
}

static void a_folder_that_cannot_be_written_is_told(void **state)
{
    struct practice *p = *state;
    char folder[128];
    if (geteuid() == 0)
        skip(); /* nothing is forbidden to root */
    snprintf(folder, sizeof folder, "%s/records", p->folder);
    assert_int_equal(chmod(folder, 0500), 0);
    practice_open(p, (struct stage){0});
    tty_wait_text(p->tty, "find");
    tty_keys(p->tty, "c");
    tty_wait_text(p->tty, "reading only");
    practice_leave(p);
    assert_int_equal(chmod(folder, 0700), 0);
}

/* ---- reading ---- */

/* The program on a disk that does so while the file `flag` is there: its path is written, and named
 * to the disk by `variable`. In the practice's folder, where any keys may save a sheet. */
static struct tty *open_flagged(struct practice *p, const char *variable, char flag[160])
{
    snprintf(flag, 160, "%s/flag", p->folder);
    setenv(variable, flag, 1);
    put_between();
    struct tty *t = practice_open(p, (struct stage){.inside = true});
    unsetenv("LD_PRELOAD");
    tty_wait_text(t, "find");
    return t;
}

/* Something else changes the file: what the program has of it in memory counts no more. */
static void touch_record(struct practice *p)
{
    char path[160];
    sqlite3 *db;
    snprintf(path, sizeof path, "%s/records/journal.db", p->folder);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(
        sqlite3_exec(db, "INSERT OR REPLACE INTO setting(name, value) VALUES ('touched', random())",
                     NULL, NULL, NULL),
        SQLITE_OK);
    sqlite3_close(db);
}

static void a_screen_that_cannot_be_read_again_stays(void **state)
{
    struct practice *p = *state;
    char flag[160];
    struct tty *t = open_flagged(p, "AMBLE_FAULT_READS", flag);
    go_to_row(t, "Juno");
    tty_keys(t, "Enter");
    tty_wait_text(t, "s sign");
    go_to_row(t, "Home");
    tty_keys(t, "Enter");
    tty_wait_text(t, "next section");
    touch_record(p);
    practice_write(p, "flag", "");
    tty_keys(t, "^Q"); /* the visit's page is read again, in vain */
    tty_wait_text(t, "cannot read the record");
    assert_true(tty_has(t, "Juno"));
    assert_true(tty_has(t, "Teaching"));
    tty_keys(t, "Down");
    tty_wait_still(t);
    assert_true(tty_has(t, "Juno"));
    assert_int_equal(unlink(flag), 0);
    tty_keys(t, "Enter");
    tty_wait_gone(t, "Teaching");
    practice_leave(p);
    unsetenv("AMBLE_FAULT_READS");
}

/* Whatever is opened, left and opened again: reading fails for a few keys, then goes on.
 * AMBLE_FAULTS tries more. */
static void any_keys_while_reading_fails_end_nothing(void **state)
{
    static const char *const keys[] = {
        "Down", "Down", "Down", "Down", "Up", "Enter", "Enter", "Enter", "Enter", "^Q", "^Q",
        "h",    "f",    "c",    "p",    "s",  "t",     "d",     "x",     "a",     "w",  "u",
        "F2",   "?",    "^R",   "^E",   "b",  "i",     "6",     "Space", "Tab",   "m",  "^N"};
    struct practice *p = *state;
    const char *more = getenv("AMBLE_FAULTS");
    long runs = more ? strtol(more, NULL, 10) / 10 : 3;
    char flag[160];
    unsigned dice = 20261130;
    for (long run = 0; run < runs; run++) {
        bool blind = false;
        struct tty *t = open_flagged(p, "AMBLE_FAULT_READS", flag);
        for (int i = 0; i < 60; i++) {
            dice = dice * 1103515245U + 12345U;
            const char *key = keys[(dice >> 16) % (sizeof keys / sizeof *keys)];
            if ((dice >> 8) % 3 == 0) {
                blind = !blind;
                touch_record(p);
                if (blind)
                    practice_write(p, "flag", "");
                else
                    unlink(flag);
            }
            bool ends =
                strcmp(key, "^Q") == 0 && (tty_has(t, "q quit") || tty_has(t, "leave the program"));
            tty_keys(t, ends ? "f" : key);
            tty_wait_still(t);
        }
        unlink(flag);
        tty_signal(t, SIGTERM);
        int status = tty_wait_exit(t);
        assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGTERM);
    }
    unsetenv("AMBLE_FAULT_READS");
}

/* ---- flushing ---- */

static const char still_writing[] = "STILL WRITING";

/* While the disk takes its time over one field, the next is typed and left; that nothing of it is
 * on the disk yet stands there until it is. */
static void the_next_key_does_not_wait_for_the_disk(void **state)
{
    struct practice *p = *state;
    char flag[160];
    struct tty *t = open_flagged(p, "AMBLE_FAULT_SLOW", flag);
    tty_keys(t, "c");
    enter_field(t, 0);
    tty_wait_still(t);
    assert_false(tty_has(t, still_writing));
    practice_write(p, "flag", "");
    enter_field(t, 1);
    tty_wait_text(t, still_writing);
    enter_field(t, 2);
    assert_true(tty_has(t, fields[2].value));
    tty_wait_text(t, still_writing);
    assert_int_equal(unlink(flag), 0);
    tty_wait_gone(t, still_writing);
    practice_leave(p);
    unsetenv("AMBLE_FAULT_SLOW");
    char *said = practice_says(p, "list calls --limit 100000");
    assert_non_null(strstr(said, fields[0].value));
    free(said);
}

/* What was entered is in the log, and no flush of it succeeds: nothing more is taken until one
 * does.
 */
static void what_is_not_on_the_disk_is_told(void **state)
{
    struct practice *p = *state;
    char flag[160];
    struct tty *t = open_flagged(p, "AMBLE_FAULT_FLUSHES", flag);
    tty_keys(t, "c");
    enter_field(t, 0);
    practice_write(p, "flag", "");
    enter_field(t, 1);
    tty_wait_text(t, "what was entered last is not on the disk");
    tty_wait_text(t, "NOT ON THE DISK");
    go_to_row(t, fields[2].label);
    tty_type(t, fields[2].value);
    tty_keys(t, "Enter");
    tty_wait_text(t, not_saved);
    assert_true(at_row(t, fields[2].label)); /* with what was typed */
    assert_true(tty_has(t, fields[2].value));
    assert_true(tty_has(t, "NOT ON THE DISK"));
    assert_int_equal(unlink(flag), 0);
    tty_keys(t, "Enter");
    tty_wait_gone(t, "NOT ON THE DISK");
    assert_false(at_row(t, fields[2].label));
    practice_leave(p);
    unsetenv("AMBLE_FAULT_FLUSHES");
    char *said = practice_says(p, "list calls --limit 100000");
    assert_non_null(strstr(said, fields[0].value));
    free(said);
}

/* ---- room ------------------------------------------------------------------------------------ */

static const char told[] = "MB are free for the records: make room on the disk";
static const char standing[] = "DISK NEARLY FULL";

/* At once: the program may be looking. */
static void set_room(struct practice *p, const char *megabytes)
{
    char new[160], room[160];
    practice_write(p, "room.new", megabytes);
    snprintf(new, sizeof new, "%s/room.new", p->folder);
    snprintf(room, sizeof room, "%s/room", p->folder);
    assert_int_equal(rename(new, room), 0);
}

enum { A_LETTER = 40 }; /* bytes: itself and the cursor, not a row of the screen */

/* A letter typed into field `i` shows itself and nothing else again; it is taken back. */
static void a_letter_alone_is_sent(struct tty *t, size_t i)
{
    go_to_row(t, fields[i].label);
    tty_wait_still(t);
    size_t before = tty_received(t);
    tty_keys(t, "x");
    tty_wait_more(t, before);
    tty_wait_still(t);
    assert_in_range(tty_received(t) - before, 1, A_LETTER);
    tty_keys(t, "^U");
}

static void a_disk_that_fills_during_the_day_is_told(void **state)
{
    struct practice *p = *state;
    char room[160];
    snprintf(room, sizeof room, "%s/room", p->folder);
    set_room(p, "201");
    setenv("AMBLE_FAULT_ROOM", room, 1);
    put_between();
    struct tty *t = practice_open(p, (struct stage){.extra = "AMBLE_ROOM=200"});
    unsetenv("LD_PRELOAD");
    tty_wait_text(t, "find");
    tty_keys(t, "c");
    enter_field(t, 0);
    assert_false(tty_has(t, standing));

    set_room(p, "199"); /* nothing is looked at before something is written */
    a_letter_alone_is_sent(t, 1);
    assert_false(tty_has(t, standing));
    enter_field(t, 1);
    tty_wait_text(t, "Only 199 MB are free for the records: make room on the disk");
    tty_wait_text(t, standing);

    go_to_row(t, fields[2].label);
    assert_false(tty_has(t, told)); /* once, and the status stays */
    a_letter_alone_is_sent(t, 2);
    set_room(p, "150"); /* less still: it is known already */
    enter_field(t, 2);
    tty_wait_still(t);
    assert_true(tty_has(t, standing));
    assert_false(tty_has(t, told));

    set_room(p, "200");
    tty_keys(t, "Up");
    tty_wait_gone(t, standing);
    assert_false(tty_has(t, told));
    set_room(p, "7");
    go_to_row(t, "What does the caller");
    tty_type(t, "walks");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Only 7 MB are free"); /* it has fallen below once more */
    tty_keys(t, "^Q");
    tty_wait_text(t, "find");
    assert_true(tty_has(t, standing)); /* on every screen */
    set_room(p, "200");
    tty_keys(t, "Down");
    tty_wait_gone(t, standing);
    practice_leave(p);
    unsetenv("AMBLE_FAULT_ROOM");
}

/* `amble WORDS` on a disk with so much room; what it says must hold `says`. Standard input is the
 * passphrase, twice. */
static void on_a_disk_of(struct practice *p, const char *megabytes, const char *words, int status,
                         const char *says)
{
    char room[160], typed[160];
    int ended;
    snprintf(room, sizeof room, "%s/room", p->folder);
    snprintf(typed, sizeof typed, "%s/typed", p->folder);
    set_room(p, megabytes);
    practice_write(p, "typed", "the river at dawn\nthe river at dawn\n");
    setenv("AMBLE_FAULT_ROOM", room, 1);
    put_between();
    char *said = practice_shell(p, words, typed, &ended);
    unsetenv("LD_PRELOAD");
    unsetenv("AMBLE_FAULT_ROOM");
    if (ended != status || !strstr(said, says))
        fail_msg("amble %s ended with %d: %s", words, ended, said);
    free(said);
}

static size_t files_like(const struct practice *p, const char *shape)
{
    char path[192];
    glob_t found = {0};
    snprintf(path, sizeof path, "%s/%s", p->folder, shape);
    size_t count = glob(path, 0, NULL, &found) == 0 ? found.gl_pathc : 0;
    globfree(&found);
    return count;
}

/* A disk for so many copies of the record, in megabytes. */
static const char *room_for(const struct practice *p, double copies, char out[24])
{
    char path[160];
    struct stat st;
    snprintf(path, sizeof path, "%s/records/journal.db", p->folder);
    assert_int_equal(stat(path, &st), 0);
    snprintf(out, 24, "%.3f", copies * (double)st.st_size / 1e6);
    return out;
}

static void a_copy_that_cannot_fit_is_not_begun(void **state)
{
    struct practice *p = *state;
    char words[200], rooms[3][24];
    const char *none = room_for(p, 0.5, rooms[0]), *one = room_for(p, 1.3, rooms[1]),
               *two = room_for(p, 2.3, rooms[2]);
    static const char short_of[] = " MB are free in ";
    snprintf(words, sizeof words, "backup %s/copy.db", p->folder);
    on_a_disk_of(p, none, words, 1, short_of);
    assert_int_equal(files_like(p, "copy.db*"), 0);
    on_a_disk_of(p, one, words, 0, "and checked");
    snprintf(words, sizeof words, "restore %s/copy.db", p->folder);
    on_a_disk_of(p, none, words, 1, short_of);
    assert_int_equal(files_like(p, "records/*restore*"), 0);
    on_a_disk_of(p, one, words, 0, "entries restored");

    on_a_disk_of(p, one, "backup --set-up", 0, "Recovery key");
    on_a_disk_of(p, one, "backup --sealed", 1, short_of);
    assert_int_equal(files_like(p, "records/backups/*"), 0);
    on_a_disk_of(p, two, "backup --sealed", 0, "sealed");
    static const char sealed[] = "records/backups/record-20261124T093000.sealed";
    snprintf(words, sizeof words, "verify %s/%s", p->folder, sealed);
    on_a_disk_of(p, none, words, 1, short_of);
    on_a_disk_of(p, one, words, 0, "each is what was written");
    snprintf(words, sizeof words, "restore %s/%s", p->folder, sealed);
    on_a_disk_of(p, one, words, 1, short_of);
    on_a_disk_of(p, two, words, 0, "entries restored");
    assert_int_equal(files_like(p, "records/opened-*"), 0);
}

/* The screens are left all the same. */
static void a_backup_that_is_due_and_cannot_fit_is_told(void **state)
{
    struct practice *p = *state;
    char room[160];
    on_a_disk_of(p, "5", "backup --set-up", 0, "Recovery key");
    snprintf(room, sizeof room, "AMBLE_FAULT_ROOM=%s/room", p->folder);
    set_room(p, "0.001");
    put_between();
    struct tty *t = practice_open(p, (struct stage){.extra = room});
    unsetenv("LD_PRELOAD");
    tty_wait_text(t, "find");
    tty_keys(t, "^Q");
    assert_int_equal(WEXITSTATUS(tty_wait_exit(t)), 1);
    assert_true(tty_has(t, "amble: the backup that was due was not made: this takes"));
    assert_int_equal(files_like(p, "records/backups/*"), 0);
}

#define with(setup, name) cmocka_unit_test_setup_teardown(name, setup, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        with(practice_setup_demo, each_write_fails_once),
        with(practice_setup_demo, a_folder_that_cannot_be_written_is_told),
        with(practice_setup_demo, a_screen_that_cannot_be_read_again_stays),
        with(practice_setup_demo, any_keys_while_reading_fails_end_nothing),
        with(practice_setup_demo, the_next_key_does_not_wait_for_the_disk),
        with(practice_setup_demo, what_is_not_on_the_disk_is_told),
        with(practice_setup_demo, a_disk_that_fills_during_the_day_is_told),
        with(practice_setup_demo, a_copy_that_cannot_fit_is_not_begun),
        with(practice_setup_demo, a_backup_that_is_due_and_cannot_fit_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
