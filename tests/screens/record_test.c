/* The record through the terminal: a power switch at any moment, dogs entered twice, the lock, who
 * is at the keys, hostile text. */
#include "tests/screens/visit_kit.h"
#include <setjmp.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

static void kill_now(struct practice *p)
{
    tty_signal(p->tty, SIGKILL);
    int status = tty_wait_exit(p->tty);
    assert_true(WIFSIGNALED(status));
}

static int kills(void)
{
    const char *more = getenv("AMBLE_KILLS");
    long n = more != NULL ? strtol(more, NULL, 10) : 0;
    return n > 0 ? (int)n : 100;
}

static void pause_us(long us)
{
    struct timespec t = {.tv_nsec = us * 1000};
    nanosleep(&t, NULL);
}

/* ---- kill -9 ---- */

/* A caller's name is changed again and again; each time the field is left, and the next is begun.
 * The program is killed while it works at that. What the screen showed as left is there, what was
 * begun, once painted and at rest, is offered back. */
static void what_was_left_is_there_after_any_kill(void **state)
{
    struct practice *p = *state;
    unsigned random = 20261124;
    int left = 0, offered = 0, n = kills();
    char *said;
    practice_open(p, (struct stage){0});
    tty_wait_text(p->tty, "Name of the practitioner");
    tty_type(p->tty, "Ida Quill");
    tty_keys(p->tty, "Enter");
    tty_type(p->tty, "IQ");
    tty_keys(p->tty, "Enter");
    tty_wait_text(p->tty, "Nothing is due");
    for (int i = 0; i < n; i++) {
        char name[32];
        snprintf(name, sizeof name, "Caller%d", i);
        tty_keys(p->tty, "c");
        tty_wait_text(p->tty, "Call");
        go_to_row(p->tty, "Dog's name");
        tty_type(p->tty, name);
        random = random * 1664525 + 1013904223;
        bool leave = random >> 31;
        if (leave) { /* wait until the screen has gone on: the field is acknowledged */
            tty_keys(p->tty, "Enter");
            wait_row_left(p->tty, "Dog's name");
            tty_type(p->tty, "da");
            pause_us((long)(random >> 8) % 20000);
        } else { /* painted, and the program at rest: what is on the screen is on the disk */
            tty_wait_text(p->tty, name);
            tty_wait_still(p->tty);
        }
        kill_now(p);
        said = practice_says(p, "list calls");
        left += leave;
        if (leave && strstr(said, name) == NULL)
            fail_msg("%s was left and is not there:\n%s", name, said);
        free(said);
        practice_open(p, (struct stage){0});
        tty_wait_text(p->tty, "Open calls");
        if (!leave) {
            tty_wait_text(p->tty, "being typed when amble last ended");
            offered++;
        }
    }
    kill_now(p);
    said = practice_says(p, "verify");
    assert_non_null(strstr(said, "each is what was written"));
    free(said);
    print_message("%d kills: %d fields left, 0 lost; %d texts not yet left, each offered back\n", n,
                  left, offered);
    assert_true(left > 0 && offered > 0);
}

/* ---- one dog entered twice ---- */

static void a_dog_entered_twice_is_joined_and_parted(void **state)
{
    struct practice *p = *state;
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    tty_keys(t, "f");
    tty_wait_text(t, "Dog, caregiver");
    tty_type(t, "a");
    tty_wait_text(t, "caregiver");
    tty_keys(t, "^D");
    tty_wait_text(t, "entered twice. It is:");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Nothing is lost");
    tty_keys(t, "y");
    tty_wait_text(t, "Joined:");
    tty_keys(t, "^R");
    tty_wait_text(t, "Parted: they are two again");
    practice_leave(p);
}

/* ---- who is at the keys, and the lock ---- */

static void another_practitioner_takes_two_keys(void **state)
{
    struct practice *p = *state;
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    tty_keys(t, "p");
    tty_wait_text(t, "Who is at the keys");
    tty_keys(t, "n");
    tty_wait_text(t, "Name of the practitioner");
    tty_type(t, "Noor Vale");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Initials");
    tty_type(t, "NV");
    tty_keys(t, "Enter");
    tty_wait_text(t, "NV");
    tty_keys(t, "^Q f");
    tty_wait_text(t, "Dog, caregiver");
    tty_type(t, "bis"); /* in the middle of typing */
    tty_keys(t, "^Y");
    tty_wait_text(t, "Who is at the keys?");
    tty_keys(t, "1");
    tty_wait_text(t, "is at the keys");
    tty_wait_text(t, "bis");
    practice_leave(p);
}

static void a_locked_screen_shows_nothing_and_wrong_tries_are_slowed(void **state)
{
    struct practice *p = *state;
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    tty_keys(t, "p");
    tty_wait_text(t, "Who is at the keys");
    tty_keys(t, "l");
    tty_wait_text(t, "New passphrase");
    tty_type(t, "garden words");
    tty_wait_text(t, "************"); /* not to be read over a shoulder */
    char *typed = tty_dump(t);
    assert_null(strstr(typed, "garden"));
    free(typed);
    tty_keys(t, "Enter");
    tty_wait_text(t, "how many minutes");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Locks after 10 minutes");
    tty_keys(t, "^Y");
    tty_wait_text(t, "lock the screen now");
    tty_keys(t, "End Enter");
    tty_wait_text(t, "Locked");
    char *shown = tty_dump(t);
    assert_null(strstr(shown, "Biscuit"));
    assert_null(strstr(shown, "Fernhill"));
    free(shown);
    for (int i = 0; i < 3; i++) {
        tty_type(t, "wrong words");
        tty_keys(t, "Enter");
        tty_wait_text(t, "not the passphrase");
        tty_type(t, "x");
        tty_wait_gone(t, "not the passphrase");
        tty_keys(t, "Backspace");
    }
    kill_now(p); /* starting again forgets no wrong try, and shows nothing either */
    t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "Locked");
    shown = tty_dump(t);
    assert_null(strstr(shown, "Biscuit"));
    free(shown);
    tty_type(t, "garden words"); /* right, but too soon: the clock stands still */
    tty_wait_text(t, "************");
    shown = tty_dump(t);
    assert_null(strstr(shown, "garden"));
    free(shown);
    tty_keys(t, "Enter");
    tty_wait_text(t, "too many wrong tries: wait 1 s");
    tty_keys(t, "^Q"); /* there is a way out */
    assert_int_equal(tty_wait_exit(t), 0);
    t = practice_open(p, (struct stage){.extra = "AMBLE_NOW=2026-11-24T09:31"});
    tty_wait_text(t, "Locked");
    tty_type(t, "garden words");
    tty_keys(t, "Enter");
    tty_wait_text(t, "find");
    practice_leave(p);
}

/* A minute without a key lasts 2 s here: long enough that none passes while keys come. */
static void nobody_at_the_keys_locks_the_screen(void **state)
{
    struct practice *p = *state;
    struct tty *t = practice_open(p, (struct stage){.extra = "AMBLE_MINUTE=2000"});
    tty_wait_text(t, "find");
    tty_keys(t, "p");
    tty_wait_text(t, "Who is at the keys");
    tty_keys(t, "l");
    tty_wait_text(t, "New passphrase");
    tty_type(t, "garden words");
    tty_keys(t, "Enter");
    tty_wait_text(t, "how many minutes");
    tty_keys(t, "Backspace Backspace");
    tty_type(t, "1");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Locked"); /* nobody pressed anything */
    tty_wait_gone(t, "Fernhill");
    tty_wait_gone(t, "Who is at the keys");
    tty_type(t, "garden words");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Who is at the keys"); /* where it was */
    practice_leave(p);
}

/* ---- after signing ---- */

/* An answer that was changed after the visit was signed says so in its form, in its history, in
 * what is shown as text and as JSON; what stood before is still told. */
static void what_was_changed_after_signing_is_marked(void **state)
{
    struct practice *p = *state;
    char path[128];
    int status;
    practice_write(p, "visit.txt",
                   "practitioner IV Ines Varga\ncaregiver Nora Lind\n"
                   "caregiver.phone = 01632 960133\ndog Juniper\ndog.caregiver = Nora Lind\n"
                   "visit today\nmedicines = none at all\nsign\n"
                   "reason misheard on the phone\nmedicines = a new one\n");
    snprintf(path, sizeof path, "%s/visit.txt", p->folder);
    free(practice_shell(p, "enter", path, &status));
    assert_int_equal(status, 0);
    char *said = practice_says(p, "show Juniper");
    assert_non_null(strstr(said, "[IV, Tue 24 Nov 2026 09:30, amended after"));
    free(said);
    said = practice_says(p, "show Juniper --json");
    assert_non_null(strstr(said, "\"amended\": true"));
    free(said);
    said = practice_says(p, "show Juniper --history medicines");
    const char *first = strstr(said, "none at all"), *then = strstr(said, "a new one");
    assert_true(first && then && first < then);
    assert_non_null(strstr(then, "(after signing)  because: misheard on the phone"));
    assert_null(memmem(first, (size_t)(then - first), "after signing", 13));
    free(said);

    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    go_to_row(t, "Juniper");
    tty_keys(t, "Enter");
    tty_wait_text(t, "the dog's details");
    tty_keys(t, "Enter");
    open_section(t, "History");
    go_to_row(t, "Medicines now");
    tty_wait_text(t, "after signing, by IV: misheard on");
    tty_keys(t, "F2");
    tty_wait_text(t, "none at all");
    tty_wait_text(t, "after signing: misheard");
    practice_leave(p);
}

/* What one practitioner signed another corrects: each screen that shows it marks it with a word,
 * and the history keeps both, on one key. */
static void correcting_a_colleague_keeps_both_on_every_screen(void **state)
{
    struct practice *p = *state;
    char path[128];
    int status;
    practice_write(p, "visit.txt",
                   "practitioner MK Mara Kell\npractitioner IV Ines Varga\ncaregiver Nora Lind\n"
                   "caregiver.phone = 01632 960133\ndog Juniper\ndog.caregiver = Nora Lind\n"
                   "visit today\npractitioner MK\nmedicines = none at all\n"
                   "posture.feet_flat = yes\nwithers_height = 22.8 cm, 22.8 cm\n"
                   "support level_balanced because her vet lets her walk\n"
                   "teach danger_signs.breath told\nsign\n"
                   "practitioner IV\nreason read once more\nmedicines = a new one\n"
                   "withers_height = 22.8 cm, 23.0 cm\nteach danger_signs.breath shown\n"
                   "support stepped because her shoulders bear it\n");
    snprintf(path, sizeof path, "%s/visit.txt", p->folder);
    char *said = practice_shell(p, "enter", path, &status);
    if (status != 0)
        fail_msg("%s", said);
    free(said);
    said = practice_says(p, "show Juniper --history medicines");
    const char *first = strstr(said, "MK    none at all"), *then = strstr(said, "IV    a new one");
    assert_true(first && then && first < then);
    assert_non_null(strstr(then, "(after signing)  because: read once more"));
    free(said);

    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    go_to_row(t, "Juniper");
    tty_keys(t, "Enter");
    tty_wait_text(t, "the dog's details");
    tty_wait_text(t, "changed after signing");
    tty_keys(t, "Enter");
    open_section(t, "Measures");
    tty_wait_text(t, "2nd after signing, by IV: read once more");
    tty_keys(t, "Down"); /* from the posture ticks */
    wait_row(t, "Hip width");
    go_to_row(t, "Withers height");
    tty_keys(t, "Right h");
    tty_wait_text(t, "after signing: read once more");
    tty_wait_text(t, "MK");
    tty_keys(t, "^Q ^Q");
    open_section(t, "Support");
    tty_wait_text(t, "The decision: after signing, by IV: her shoulders bear it");
    tty_keys(t, "h");
    tty_wait_text(t, "after signing: her should");
    tty_wait_text(t, "MK");
    tty_keys(t, "^Q ^Q");
    open_section(t, "Teaching");
    tty_wait_text(t, "after signing, by IV: re"); /* in the row; all of it below */
    tty_keys(t, "F2");
    tty_wait_text(t, "told");
    tty_wait_text(t, "after signing: read once more");
    practice_leave(p);
}

/* ---- a damaged file ---- */

/* The program was killed and its file is damaged: it says so, and adds nothing to it. */
static void a_damaged_record_is_only_read(void **state)
{
    struct practice *p = *state;
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    kill_now(p);
    char path[128];
    sqlite3 *db;
    sqlite3_stmt *where;
    snprintf(path, sizeof path, "%s/records/journal.db", p->folder);
    assert_int_equal(sqlite3_open(path, &db),
                     SQLITE_OK); /* what it had written goes into the file */
    assert_int_equal(sqlite3_prepare_v2(db,
                                        "SELECT rootpage FROM sqlite_schema WHERE name = 'phone'",
                                        -1, &where, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_step(where), SQLITE_ROW);
    long page = sqlite3_column_int(where, 0);
    sqlite3_finalize(where);
    sqlite3_close(db);
    FILE *file = fopen(path, "r+");
    assert_non_null(file);
    fseek(file, (page - 1) * 4096, SEEK_SET);
    fwrite("no page", 1, 8, file);
    assert_int_equal(fclose(file), 0);
    t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "damaged");
    tty_wait_text(t, "READ ONLY");
    tty_keys(t, "p");
    tty_wait_text(t, "Practice");
    tty_wait_text(t, "READ ONLY");
    tty_signal(t, SIGTERM);
    tty_wait_exit(t);
}

/* ---- hostile text ---- */

static void hostile_text_acts_on_nothing(void **state)
{
    struct practice *p = *state;
    static char line[10001];
    memset(line, 'W', sizeof line - 1);
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    tty_keys(t, "c");
    tty_wait_text(t, "Call");
    go_to_row(t, "Dog's name");
    tty_paste(t, "\033]0;owned\007\033[2J\xe2\x80\xae"
                 "evil\xff\xfe=cmd|'/c calc'!A1");
    tty_wait_text(t, "evil");
    tty_keys(t, "Enter");
    wait_row_left(t, "Dog's name");
    go_to_row(t, "Notes");
    tty_paste(t, line);
    tty_wait_text(t, "WWWWWWWW");
    tty_keys(t, "Enter");
    tty_wait_still(t);
    practice_leave(p);
    char *said = practice_says(p, "list calls");
    assert_null(strchr(said, '\033'));
    assert_null(strstr(said, "\xe2\x80\xae"));
    assert_non_null(strstr(said, "evil"));
    free(said);
}

#define with(setup, name) cmocka_unit_test_setup_teardown(name, setup, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        with(practice_setup, what_was_left_is_there_after_any_kill),
        with(practice_setup_demo, a_dog_entered_twice_is_joined_and_parted),
        with(practice_setup_demo, another_practitioner_takes_two_keys),
        with(practice_setup_demo, a_locked_screen_shows_nothing_and_wrong_tries_are_slowed),
        with(practice_setup_demo, nobody_at_the_keys_locks_the_screen),
        with(practice_setup, what_was_changed_after_signing_is_marked),
        with(practice_setup, correcting_a_colleague_keeps_both_on_every_screen),
        with(practice_setup_demo, a_damaged_record_is_only_read),
        with(practice_setup_demo, hostile_text_acts_on_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
