/* The months after a visit on the screens: review, ladder, trends, accessories, closing, the sheet
 * in the caregiver's language, the referral by one key. */
#include "tests/screens/visit_kit.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static struct tty *begin(void **state, int rows, int cols)
{
    struct tty *t = practice_open(*state, (struct stage){.rows = rows, .cols = cols});
    tty_wait_text(t, "p practice");
    return t;
}

static void open_dog(struct tty *t, const char *name)
{
    tty_keys(t, "f");
    tty_wait_text(t, "street or phone");
    tty_type(t, name);
    char row[64];
    (void)snprintf(row, sizeof row, "> %s", name);
    tty_wait_text(t, row);
    tty_keys(t, "Enter");
    tty_wait_text(t, "t trends");
}

static const struct size {
    int rows, cols;
    const char *name;
} sizes[] = {{24, 80, "80"}, {43, 132, "132"}};
enum { SIZES = sizeof sizes / sizeof *sizes };

static void golden(struct tty *t, const char *screen, const struct size *size)
{
    char name[64];
    (void)snprintf(name, sizeof name, "review_%s_%s", screen, size->name);
    tty_wait_still(t);
    tty_golden(t, name);
}

/* Line by line: a page might step over it. */
static void read_on(struct tty *t, const char *key, const char *words)
{
    for (int i = 0; i < 80 && !tty_has(t, words); i++) {
        tty_keys(t, key);
        tty_wait_still(t);
    }
    tty_wait_text(t, words);
}

static void trends_are_drawn(void **state)
{
    for (size_t i = 0; i < SIZES; i++) {
        struct tty *t = begin(state, sizes[i].rows, sizes[i].cols);
        open_dog(t, "Bruno");
        tty_keys(t, "t");
        tty_wait_text(t, "Falls, and that is real: -2.8 kg");
        golden(t, "trends", &sizes[i]);
        tty_keys(t, "Down Down");
        tty_wait_text(t, "Next axle step forward");
        practice_leave(*state);
    }
}

/* What was found before stands beside what is answered now; a small window tells what is open. */
static void a_visit_shows_what_was_found_before(void **state)
{
    for (size_t i = 0; i < SIZES; i++) {
        struct tty *t = begin(state, sizes[i].rows, sizes[i].cols);
        open_dog(t, "Pip");
        tty_keys(t, "Enter");
        tty_wait_text(t, "s sign");
        tty_keys(t, "Home");
        tty_wait_cursor(t, 3, 2);
        golden(t, "visit", &sizes[i]);
        assert_true(tty_has(t, i == 0 ? "Open in Since last time" : "35 min"));
        practice_leave(*state);
    }
}

/* And beside the question itself, with what was changed then after signing. */
static void a_question_tells_what_was_found_before(void **state)
{
    practice_write(*state, "amend.txt",
                   "practitioner MK\ndog Rolf\nreason read once more\nvisit -150\n"
                   "gait_signs = scrapes, crosses\n");
    char path[128];
    (void)snprintf(path, sizeof path, "%s/amend.txt", ((struct practice *)*state)->folder);
    practice_feed(*state, path);
    for (size_t i = 0; i < SIZES; i++) {
        struct tty *t = begin(state, sizes[i].rows, sizes[i].cols);
        open_dog(t, "Rolf");
        tty_keys(t, "Enter");
        tty_wait_text(t, "s sign");
        open_section(t, "Examination");
        tty_wait_text(t, "last: 38.6 degC");
        tty_wait_text(t, "(visit 1, Sat 27 Jun 2026)");
        assert_false(tty_has(t, "after signing"));
        go_to_row(t, "Seen while walking");
        tty_wait_text(t, "after signing, by MK");
        golden(t, "asked", &sizes[i]);
        practice_leave(*state);
    }
}

/* A window that grows shows the trends without being asked again. */
static void a_window_that_grows_shows_more(void **state)
{
    struct tty *t = begin(state, 24, 80);
    open_dog(t, "Rolf");
    assert_false(tty_has(t, "34.1 -> 33.2 kg"));
    tty_resize(t, 43, 132);
    tty_wait_text(t, "34.1 -> 33.2 kg");
    practice_leave(*state);
}

/* All that is left out on a small screen can be read on it. */
static void a_long_text_is_read_on(void **state)
{
    struct tty *t = begin(state, 24, 80);
    open_dog(t, "Bruno");
    tty_keys(t, "t");
    tty_wait_text(t, "m reads on");
    read_on(t, "m", "goes around the loss of walking");
    practice_leave(*state);
}

static void a_review_shows_rule_and_limits(void **state)
{
    for (size_t i = 0; i < SIZES; i++) {
        struct tty *t = begin(state, sizes[i].rows, sizes[i].cols);
        open_dog(t, "Bruno");
        tty_keys(t, "Enter");
        tty_wait_text(t, "Since last time");
        open_section(t, "Review");
        tty_wait_text(t, "Tired before the walk is over: yes");
        golden(t, "page", &sizes[i]);
        read_on(t, "Down", "When he no longer wants to greet");
        practice_leave(*state);
    }
}

/* More than three are not dropped silently: they are counted, and one key opens them. */
static void cautions_can_all_be_read(void **state)
{
    for (size_t i = 0; i < SIZES; i++) {
        struct tty *t = begin(state, sizes[i].rows, sizes[i].cols);
        open_dog(t, "Bruno");
        tty_wait_text(t, "more: c opens them");
        golden(t, "dog", &sizes[i]);
        tty_keys(t, "c");
        tty_wait_text(t, "Not for this dog");
        golden(t, "cautions", &sizes[i]);
        practice_leave(*state);
    }
}

static void accessories_tell_their_reason(void **state)
{
    struct tty *t = begin(state, 43, 132);
    open_dog(t, "Biscuit");
    tty_keys(t, "Enter");
    open_section(t, "Accessories");
    tty_wait_text(t, "A long back gets a belly band");
    golden(t, "accessories", &sizes[1]);
    practice_leave(*state);
}

static void accessories_are_picked_with_a_reason(void **state)
{
    struct tty *t = begin(state, 24, 80);
    open_dog(t, "Biscuit");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Accessories");
    open_section(t, "Accessories");
    tty_wait_text(t, "A long back gets a belly band");
    golden(t, "accessories", &sizes[0]);
    tty_keys(t, "Down Enter"); /* signed already: an amendment with its reason */
    answer_line(t, "Why is \"Accessories\" changed?", "her core gave way on the second day");
    tty_wait_text(t, "[x] second belly band");
    practice_leave(*state);
    char *record = practice_says(*state, "show Biscuit");
    assert_non_null(strstr(record, "her core gave way"));
    free(record);
}

static void closing_stops_every_reminder_at_once(void **state)
{
    char *due = practice_says(*state, "today");
    assert_non_null(strstr(due, "Bruno, Boxer, 01632"));
    assert_non_null(strstr(due, "Cultures due"));
    /* Of Hazel nothing is due but the call that was agreed. */
    assert_non_null(strstr(due, "Hazel, Dachshund, as agreed, 01632 960109, Arthur Quist"));
    assert_null(strstr(strstr(due, "Hazel") + 1, "Hazel"));
    free(due);
    struct tty *t = begin(state, 24, 80);
    open_dog(t, "Bruno");
    tty_keys(t, "x");
    tty_wait_text(t, "Its reminders stop at once");
    tty_keys(t, "y");
    tty_wait_text(t, "Closing the case");
    tty_wait_text(t, "How it ended");
    practice_leave(*state);
    due = practice_says(*state, "today");
    assert_null(strstr(due, "Bruno, Boxer, 01632"));
    assert_null(strstr(due, "Cultures due"));
    free(due);
}

/* Pip has a frame of the practice's until Friday. */
static void a_frame_on_loan_waits_from_then_on(void **state)
{
    char *due = practice_says(*state, "today");
    assert_non_null(strstr(due, "Pup four, with Pip"));
    free(due);
    struct tty *t = begin(state, 24, 80);
    open_dog(t, "Pip");
    tty_keys(t, "x");
    tty_wait_text(t, "Its reminders stop at once");
    tty_keys(t, "y");
    tty_wait_text(t, "How it ended");
    practice_leave(*state);
    due = practice_says(*state, "today");
    assert_null(strstr(due, "Pip"));
    free(due);
    char *frames = practice_says(*state, "equipment");
    assert_non_null(strstr(frames, "to be fetched, nobody hurries, Pip, Noor Haddad"));
    free(frames);
}

/* What is still with the household can be written down when they ring: days later. */
static void what_came_back_is_noted_later(void **state)
{
    char *frames = practice_says(*state, "equipment");
    assert_non_null(strstr(frames, "to be fetched, nobody hurries, Hazel, Arthur Quist"));
    free(frames);
    struct tty *t = begin(state, 24, 80);
    open_dog(t, "Hazel");
    tty_wait_text(t, "Case closed on Sun 15 Nov 2026. A call was agreed for Sun 29 Nov 2026");
    assert_false(tty_has(t, "c opens them"));
    go_to_row(t, "closing");
    tty_wait_text(t, "put to sleep; still there");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Closing the case");
    tty_keys(t, "Tab Tab");
    wait_row(t, "Equipment");
    tty_type(t, "is back");
    tty_keys(t, "Enter");
    wait_row_left(t, "Equipment");
    tty_keys(t, "^Q");
    tty_wait_text(t, "put to sleep; is back");
    practice_leave(*state);
    frames = practice_says(*state, "equipment");
    assert_non_null(strstr(frames, "back, to be cleaned"));
    free(frames);
}

/* From the dog's bench into the register: lent by a key, and back by another. */
static void a_frame_is_lent_and_taken_back(void **state)
{
    struct tty *t = begin(state, 24, 80);
    open_dog(t, "Biscuit");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Accessories");
    open_section(t, "Fit ");
    tty_wait_text(t, "2 compare");
    tty_keys(t, "e");
    tty_wait_text(t, "Blue stepped");
    go_to_row(t, "Blue stepped");
    tty_keys(t, "l");
    answer_line(t, "Due back on which day?", "1 Dec");
    tty_wait_text(t, "Lent until Tue 1 Dec 2026");
    go_to_row(t, "Blue stepped");
    tty_wait_text(t, "out with a dog, Biscuit");
    tty_keys(t, "b");
    tty_wait_text(t, "back, to be cleaned");
    practice_leave(*state);
}

/* Visits in order, a promised time, reviews late and to come, cultures, loans, what is not sent. */
static void today_names_every_kind(void **state)
{
    static const char *const rows[] = {
        "Visits",
        "14:30        Juno",
        "Wed 25 Nov   Rolf",
        "To ring back",
        "17:00        Olive",
        "Sun 29 Nov   Hazel",
        "Reviews due",
        "10 days late Juno",
        "booked for 14:30",
        "Thu 26 Nov   Biscuit",
        "Cultures due",
        "23 days late Bruno",
        "Loans due back",
        "Fri 27 Nov   Pup four",
        "Weight, reading 1: two values stand",
        "entries wait to be sent",
    };
    struct tty *t = begin(state, 43, 132);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        tty_wait_text(t, rows[i]);
    go_to_row(t, "Pup four"); /* a loan opens the register */
    tty_keys(t, "Enter");
    tty_wait_text(t, "Small grey");
    practice_leave(*state);
}

static void the_sheet_speaks_spanish_and_is_kept(void **state)
{
    struct tty *t = begin(state, 24, 80);
    open_dog(t, "Bruno");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Handout");
    open_section(t, "Handout");
    tty_wait_text(t, "Hoja de cuidados para Bruno");
    tty_keys(t, "s");
    tty_wait_text(t, "Save as");
    tty_keys(t, "Enter"); /* the name it proposes: in the home folder */
    tty_wait_text(t, "Saved as");
    practice_leave(*state);
    char *record = practice_says(*state, "paper record Bruno");
    assert_non_null(strstr(record, "as it was kept"));
    free(record);
}

/* No printing system is on this machine's path: the note lands in the home folder. */
static void one_key_refers(void **state)
{
    struct tty *t = practice_open(*state, (struct stage){.extra = "PATH=/nowhere"});
    tty_wait_text(t, "p practice");
    tty_keys(t, "c");
    tty_wait_text(t, "A new call");
    tty_keys(t, "y");
    tty_wait_text(t, "EMERGENCY");
    tty_keys(t, "^P");
    tty_wait_text(t, "Not printed, saved as");
    practice_leave(*state);
    char *note = practice_file(*state, "referral-2026-11-24.txt");
    assert_non_null(strstr(note, "Fights for breath"));
    free(note);
}

#define T(f) cmocka_unit_test_setup_teardown(f, practice_setup_demo, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(trends_are_drawn),
        T(a_visit_shows_what_was_found_before),
        T(a_question_tells_what_was_found_before),
        T(a_window_that_grows_shows_more),
        T(a_long_text_is_read_on),
        T(cautions_can_all_be_read),
        T(accessories_tell_their_reason),
        T(a_frame_on_loan_waits_from_then_on),
        T(what_came_back_is_noted_later),
        T(a_frame_is_lent_and_taken_back),
        T(today_names_every_kind),
        T(a_review_shows_rule_and_limits),
        T(accessories_are_picked_with_a_reason),
        T(closing_stops_every_reminder_at_once),
        T(the_sheet_speaks_spanish_and_is_kept),
        T(one_key_refers),
    };
    return cmocka_run_group_tests_name("the months after", tests, NULL, NULL);
}
