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

static void trends_are_drawn(void **state)
{
    struct tty *t = begin(state, 24, 80);
    open_dog(t, "Bruno");
    tty_keys(t, "t");
    tty_wait_text(t, "Falls, and that is real: -2.8 kg");
    tty_wait_still(t);
    tty_golden(t, "review_trends");
    tty_keys(t, "Down");
    tty_wait_text(t, "Thigh girth, cm");
    practice_leave(*state);
}

static void a_review_shows_rule_and_limits(void **state)
{
    struct tty *t = begin(state, 43, 132);
    open_dog(t, "Bruno");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Since last time");
    open_section(t, "Review");
    tty_wait_text(t, "Tired before the walk is over: yes");
    tty_wait_text(t, "When he no longer wants to greet anybody");
    tty_wait_still(t);
    tty_golden(t, "review_page");
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
    tty_wait_still(t);
    tty_golden(t, "review_accessories");
    tty_keys(t, "Down Enter"); /* signed already: an amendment with its reason */
    answer_line(t, "Why is it changed?", "her core gave way on the second day");
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
    assert_null(strstr(due, "Hazel, Dachshund, 01632"));
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
        T(a_review_shows_rule_and_limits),
        T(accessories_are_picked_with_a_reason),
        T(closing_stops_every_reminder_at_once),
        T(the_sheet_speaks_spanish_and_is_kept),
        T(one_key_refers),
    };
    return cmocka_run_group_tests_name("the months after", tests, NULL, NULL);
}
