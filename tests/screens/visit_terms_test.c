/* The same answers on any terminal, and no colour where none is wanted. */
#include "tests/screens/visit_kit.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include <cmocka.h>

/* Open the program, take a call on it and book a visit; the screens are seen on the way. */
static struct tty *walk(struct practice *p, const char *term, const char *extra)
{
    static const struct step call[] = {
        {"hard for the dog to breathe", "y", NULL},
        {"gums white", "n", NULL},
        {"Dog's name", NULL, "Zo\xc3\xab"},
        {"Weight as far", NULL, "9,5"},
    };
    struct tty *t = practice_open(p, (struct stage){.term = term, .extra = extra});
    tty_wait_text(t, "p practice");
    tty_keys(t, "c");
    tty_wait_text(t, "A new call");
    play(t, call, sizeof call / sizeof *call);
    tty_wait_text(t, "EMERGENCY. Not a home visit. To a clinic now.");
    tty_wait_text(t, "Fights for breath");
    tty_keys(t, "Up");
    wait_row(t, "Weight as far");
    tty_wait_text(t, "9.5");
    return t;
}

static size_t coloured_cells(struct tty *t, int rows, int cols)
{
    size_t count = 0;
    for (int r = 0; r < rows; r++)
        for (int c = 0; c < cols; c++)
            count += tty_cell(t, r, c).colored;
    return count;
}

static void on_vt100(void **state)
{
    struct tty *t = walk(*state, "vt100", NULL);
    assert_int_equal(coloured_cells(t, 24, 80), 0);
    practice_leave(*state);
}

static void on_linux(void **state)
{
    struct tty *t = walk(*state, "linux", NULL);
    tty_wait_text(t, "Zo\xc3\xab");
    practice_leave(*state);
}

static void on_screen(void **state)
{
    struct tty *t = walk(*state, "screen-256color", NULL);
    assert_true(coloured_cells(t, 24, 80) > 0);
    tty_wait_text(t, "Zo\xc3\xab");
    practice_leave(*state);
}

static void without_colour(void **state)
{
    struct tty *t = walk(*state, NULL, "NO_COLOR=1");
    assert_int_equal(coloured_cells(t, 24, 80), 0);
    practice_leave(*state);
}

/* Down through the examination: while the window scrolls, what only moves is not sent again. */
static size_t sent_by_scrolling(struct practice *p, const char *term)
{
    struct tty *t = practice_open(p, (struct stage){.term = term});
    tty_wait_text(t, "find");
    go_to_row(t, "Juno");
    tty_keys(t, "Enter");
    tty_wait_text(t, "s sign");
    go_to_row(t, "Examination");
    tty_keys(t, "Enter");
    tty_wait_text(t, "next section");
    for (int i = 0; i < 20; i++)
        tty_keys(t, "Down");
    tty_wait_still(t);
    size_t before = tty_received(t);
    for (int i = 0; i < 20; i++) {
        tty_keys(t, "Down");
        tty_wait_still(t);
    }
    size_t sent = tty_received(t) - before;
    practice_leave(p);
    return sent;
}

static void scrolling_sends_little(void **state)
{
    size_t with = sent_by_scrolling(*state, NULL), without = sent_by_scrolling(*state, "ansi");
    print_message("20 keys that scroll: %zu bytes, %zu where the terminal cannot\n", with, without);
    assert_in_range(with, 1, without * 2 / 3);
}

/* The name is stored as it was typed, whatever the terminal can show of it. */
static void in_the_c_locale(void **state)
{
    walk(*state, NULL, "LC_ALL=C");
    practice_leave(*state);
    struct tty *t = practice_open(*state, (struct stage){0});
    go_to_row(t, "Zo\xc3\xab");
    practice_leave(*state);
}

static void refused_on_dumb(void **state)
{
    struct tty *t = practice_open(*state, (struct stage){.term = "dumb"});
    int status = tty_wait_exit(t);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 2);
    assert_true(tty_has(t, "amble: "));
    assert_true(tty_has(t, "dumb"));
    assert_false(tty_alternate(t));
}

static void refused_without_a_terminal(void **state)
{
    int status;
    char *said = practice_shell(*state, "--read-only", NULL, &status);
    assert_int_equal(status, 2);
    assert_non_null(strstr(said, "terminal"));
    free(said);
}

#define T(f) cmocka_unit_test_setup_teardown(f, practice_setup_demo, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(on_vt100),
        T(on_linux),
        T(on_screen),
        T(without_colour),
        T(scrolling_sends_little),
        T(in_the_c_locale),
        T(refused_on_dumb),
        T(refused_without_a_terminal),
    };
    return cmocka_run_group_tests_name("terminals", tests, NULL, NULL);
}
