/* Whatever happens to the terminal, the program or the machine: what was left is kept, and what was
 * being typed is offered again. */
#include "tests/screens/visit_kit.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include <cmocka.h>

/* A call with two flags and the phone number answered, and a name begun. */
static struct tty *begin_call(struct practice *p, bool job)
{
    static const struct step answers[] = {
        {"hard for the dog to breathe", "n", NULL},
        {"gums white", "u", NULL},
        {"Phone number", NULL, "01632 960133"},
    };
    struct tty *t = practice_open(p, (struct stage){.job = job});
    tty_wait_text(t, "p practice");
    tty_keys(t, "c");
    tty_wait_text(t, "A new call");
    play(t, answers, sizeof answers / sizeof *answers);
    tty_type(t, "Nora Li");
    wait_row(t, "Nora Li");
    return t;
}

static void finish_name(struct tty *t)
{
    wait_row(t, "Nora Li");
    tty_type(t, "nd");
    wait_row(t, "Nora Lind");
    tty_keys(t, "Enter");
    wait_row(t, "Address");
    assert_true(tty_has(t, "Nora Lind"));
}

/* Start again: the call is listed, what was left is in it, what was typed is offered. */
static void find_call_again(struct practice *p)
{
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "1 field was being typed when amble last ended");
    go_to_row(t, "01632 960133");
    tty_keys(t, "Enter");
    tty_wait_text(t, "yes  [no]  not known");
    tty_wait_text(t, "yes   no  [not known]");
    go_to_row(t, "Caller's name");
    tty_wait_text(t, "typed before, and not yet kept: Enter keeps it");
    assert_true(tty_has(t, "01632 960133"));
    finish_name(t);
    practice_leave(p);
    t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "p practice");
    assert_false(tty_has(t, "was being typed"));
}

static void small_window(void **state)
{
    struct tty *t = begin_call(*state, false);
    tty_resize(t, 20, 60);
    tty_wait_text(t, "needs 80 x 24");
    tty_type(t, "zzz"); /* nobody types blindly */
    size_t received = tty_received(t);
    tty_keys(t, "^L");
    tty_wait_more(t, received);
    tty_resize(t, 24, 80);
    tty_wait_gone(t, "needs 80 x 24");
    finish_name(t);
    tty_resize(t, 43, 132);
    tty_wait_text(t, "still to ask");
    wait_row(t, "Address");
    practice_leave(*state);
}

static void pasted(void **state)
{
    struct tty *t = begin_call(*state, false);
    tty_keys(t, "^U");
    tty_paste(t, "Nora\nLind\x03 \x1b[2Jof Weir Cottages\r\nFernhill");
    wait_row(t, "Nora Lind [2Jof Weir Cottages Fernhill");
    tty_keys(t, "Enter");
    wait_row(t, "Address");
    practice_leave(*state);
}

static void put_aside(void **state)
{
    struct tty *t = begin_call(*state, true);
    tty_keys(t, "^Z");
    tty_wait_stopped(t);
    assert_false(tty_alternate(t));
    assert_false(tty_pastes(t));
    assert_true(tty_cooked(t));
    tty_continue(t);
    finish_name(t);
    assert_true(tty_alternate(t));
    practice_leave(*state);
}

static void asked_to_end(void **state)
{
    struct tty *t = begin_call(*state, false);
    tty_signal(t, SIGTERM);
    int status = tty_wait_exit(t);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGTERM);
    assert_false(tty_alternate(t));
    assert_false(tty_pastes(t));
    assert_true(tty_cooked(t));
    find_call_again(*state);
}

static void line_gone(void **state)
{
    struct tty *t = begin_call(*state, false);
    tty_hang_up(t);
    tty_wait_exit(t);
    find_call_again(*state);
}

/* A key is on disk before the next one is read: a second key that moves nothing shows it. */
static void killed_on_call(void **state)
{
    struct tty *t = begin_call(*state, false);
    tty_keys(t, "Home End Left");
    tty_wait_still(t);
    tty_signal(t, SIGKILL);
    tty_wait_exit(t);
    find_call_again(*state);
}

static struct tty *open_measures(struct practice *p)
{
    struct tty *t = practice_open(p, (struct stage){0});
    open_visit(t, "Juniper");
    open_section(t, "Measures");
    return t;
}

static void killed_on_measures(void **state)
{
    practice_feed(*state, "tests/screens/visit_begun.txt");
    struct tty *t = open_measures(*state);
    tty_wait_text(t, "[ ] feet flat");
    tty_keys(t, "y y n y");
    wait_row(t, "Hip width");
    tty_type(t, "13,1");
    tty_keys(t, "Enter");
    tty_wait_text(t, "  13.1");
    tty_type(t, "5 1");
    wait_row(t, "5 1");
    tty_keys(t, "Home End Left");
    tty_wait_still(t);
    tty_signal(t, SIGKILL);
    tty_wait_exit(t);

    t = practice_open(*state, (struct stage){0});
    tty_wait_text(t, "1 field was being typed when amble last ended");
    t = open_measures(*state);
    tty_wait_text(t, "[x] topline level  [-] head forward");
    tty_wait_text(t, "Typed before, and not yet kept: Enter keeps it");
    wait_row(t, "13.1");
    wait_row(t, "5 1");
    tty_type(t, "/8 in");
    tty_keys(t, "Enter");
    wait_row(t, "Thigh depth");
    tty_wait_text(t, "Hip width            13.1   13.0");
    practice_leave(*state);
}

static void second_program(void **state)
{
    struct practice *p = *state, other = *p;
    practice_feed(p, "tests/screens/visit_begun.txt");
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "p practice");
    other.tty = NULL;
    struct tty *second = practice_open(&other, (struct stage){0});
    tty_wait_text(second, "for reading only: another amble (pid");
    tty_wait_text(second, "READ ONLY");
    go_to_row(second, "Juniper");
    tty_wait_text(second, "READ ONLY");
    tty_keys(second, "Enter");
    tty_wait_text(second, "s sign");
    tty_wait_text(second, "READ ONLY");
    tty_keys(second, "Home Enter");
    wait_row(second, "What happened");
    tty_type(second, "x");
    tty_keys(second, "Enter");
    tty_wait_text(second, "the record is open for reading only");
    tty_wait_text(second, "READ ONLY");
    tty_signal(second, SIGTERM);
    tty_wait_exit(second);
    int status;
    char *said = practice_shell(p, "enter", "tests/screens/visit_begun.txt", &status);
    assert_int_equal(status, 1);
    assert_non_null(strstr(said, "another amble"));
    free(said);
    tty_stop(other.tty);
    practice_leave(p);
}

#define T(f)     cmocka_unit_test_setup_teardown(f, practice_setup_demo, practice_teardown)
#define EMPTY(f) cmocka_unit_test_setup_teardown(f, practice_setup, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(small_window),
        T(pasted),
        T(put_aside),
        T(asked_to_end),
        T(line_gone),
        T(killed_on_call),
        EMPTY(killed_on_measures),
        EMPTY(second_program),
    };
    return cmocka_run_group_tests_name("nothing is lost", tests, NULL, NULL);
}
