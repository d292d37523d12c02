/* The kit on a terminal: what is typed arrives unharmed, and the terminal is given back. */
#include "tests/screens/harness.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#ifndef KIT_DEMO
#error "KIT_DEMO names the program under test"
#endif

static const char *const demo[] = {KIT_DEMO, NULL};

/* The terminal of the running test, so that the teardown reaches it after a failure. */
static struct tty *start(void **state, struct tty_options o)
{
    o.argv = demo;
    struct tty *t = tty_start(&o);
    *state = t;
    return t;
}

static struct tty *start_ready(void **state, struct tty_options o)
{
    struct tty *t = start(state, o);
    tty_wait_text(t, "3 unsent");
    return t;
}

static int teardown(void **state)
{
    tty_stop(*state);
    *state = NULL;
    return 0;
}

/* Leave by ^Q and see what the field held, as hex. */
static void expect_left(struct tty *t, const char *hex)
{
    char line[512];
    snprintf(line, sizeof line, "left with %zu bytes %s ", strlen(hex) / 2, hex);
    tty_keys(t, "^Q");
    tty_wait_text(t, line);
    int status = tty_wait_exit(t);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
}

static void expect_restored(struct tty *t)
{
    assert_false(tty_alternate(t));
    assert_false(tty_pastes(t));
    assert_true(tty_cooked(t));
}

/* ---- looks ----------------------------------------------------------------------------------- */

static void first_screen(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    assert_true(tty_alternate(t));
    assert_true(tty_pastes(t));
    assert_false(tty_cooked(t));
    tty_golden(t, "kit_first");
}

static void wide_screen(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){.rows = 43, .cols = 132});
    tty_golden(t, "kit_wide");
}

static void same_on(void **state, const char *term)
{
    struct tty *t = start_ready(state, (struct tty_options){.term = term});
    tty_type(t, "Biscuit");
    tty_keys(t, "Tab Down Down End Up");
    tty_golden(t, "kit_list");
    tty_keys(t, "^Q");
    tty_wait_text(t, "left with 7 bytes");
    tty_wait_exit(t);
    assert_true(tty_cooked(t));
}

static void on_xterm(void **state)
{
    same_on(state, "xterm-256color");
}

static void on_vt100(void **state)
{
    same_on(state, "vt100");
}

static void on_linux(void **state)
{
    same_on(state, "linux");
}

static void on_screen(void **state)
{
    same_on(state, "screen-256color");
}

static void colors(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    assert_true(tty_cell(t, 4, 1).colored);
    assert_true(tty_cell(t, 4, 24).colored && tty_cell(t, 4, 24).bold);
}

static void no_color(void **state)
{
    static const char *const env[] = {"NO_COLOR=1", NULL};
    struct tty *t = start_ready(state, (struct tty_options){.env = env});
    for (int row = 0; row < 24; row++)
        for (int col = 0; col < 80; col++)
            assert_false(tty_cell(t, row, col).colored);
    /* What colour would have said is said by other means. */
    assert_true(tty_cell(t, 4, 12).underline && tty_cell(t, 4, 24).reverse);
    tty_keys(t, "^Q");
    tty_wait_text(t, "plain utf8");
}

static void ascii_locale(void **state)
{
    static const char *const env[] = {"LC_ALL=C", NULL};
    struct tty *t = start_ready(state, (struct tty_options){.env = env});
    tty_wait_text(t, "plain ASCII");
    tty_type(t, "Zo\u00EB");
    tty_wait_text(t, "Zo?");
    tty_golden(t, "kit_ascii");
    expect_left(t, "5a6fc3ab");
}

static void locale_not_installed(void **state)
{
    static const char *const env[] = {"LC_ALL=xx_XX.UTF-8", NULL};
    struct tty *t = start_ready(state, (struct tty_options){.env = env});
    tty_type(t, "Zo\u00EB");
    tty_wait_text(t, "Zo\u00EB");
    expect_left(t, "5a6fc3ab");
}

/* ---- typing ---------------------------------------------------------------------------------- */

static void combining_stays_with_its_letter(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_type(t, "e\u0301x");
    tty_wait_text(t, "e\u0301x");
    tty_wait_cursor(t, 2, 14);
    tty_keys(t, "Left Left");
    tty_wait_cursor(t, 2, 12);
    tty_keys(t, "Right"); /* one step over the letter and its accent */
    tty_wait_cursor(t, 2, 13);
    tty_keys(t, "End Backspace Backspace");
    tty_wait_cursor(t, 2, 12);
    tty_type(t, "e\u0301x");
    expect_left(t, "65cc8178");
}

static void accent_typed_later_joins(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_type(t, "ex");
    tty_keys(t, "Left");
    tty_type(t, "\u0301");
    tty_wait_text(t, "e\u0301x");
    expect_left(t, "65cc8178");
}

static void joined_emoji_is_one_cluster(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_type(t, "a\U0001F469\u200D\U0001F680b");
    tty_wait_cursor(t, 2, 16);
    tty_keys(t, "Left Left");
    tty_wait_cursor(t, 2, 13);
    tty_keys(t, "Delete");
    tty_wait_text(t, "name       ab");
    expect_left(t, "6162");
}

static void wide_letters_scroll(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    for (int i = 0; i < 20; i++)
        tty_type(t, "\u72AC");
    tty_type(t, "x");
    tty_wait_text(t, "\u72ACx");
    tty_keys(t, "Home");
    tty_wait_cursor(t, 2, 12);
    tty_keys(t, "^K");
    tty_type(t, "y");
    expect_left(t, "79");
}

static void paste_is_text(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_paste(t, "two\r\nlines\x03\x1A\x11\x1B[31m end\t.");
    tty_wait_text(t, "two lines[31m end .");
    expect_left(t, "74776f206c696e65735b33316d20656e64202e");
}

static void control_c_pasted_without_brackets(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){.term = "vt100"});
    tty_bytes(t,
              "ab\x03"
              "cd",
              5);
    tty_wait_text(t, "abcd");
    expect_left(t, "61626364");
}

static void ten_thousand_characters(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    char *much = malloc(20001);
    assert_non_null(much);
    for (int i = 0; i < 10000; i++)
        memcpy(much + 2 * i, i % 2 ? "\u00E9" : "ab", 2);
    much[20000] = '\0';
    tty_paste(t, much);
    free(much);
    tty_type(t, "X");
    tty_wait_text(t, "\u00E9X");
    tty_keys(t, "Home");
    tty_wait_cursor(t, 2, 12);
    tty_keys(t, "^Q");
    tty_wait_text(t, "left with 20001 bytes");
}

static void both_backspaces(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_type(t, "abcd");
    tty_bytes(t, "\x08\x7F", 2);
    tty_wait_cursor(t, 2, 14);
    expect_left(t, "6162");
}

static void unknown_escapes_type_nothing(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_type(t, "a");
    tty_keys(t, "C-Left F5");
    tty_bytes(t, "\x1B[?1;2c\x1Bq\x1BOx\x1B[1;5;9~", 21);
    tty_type(t, "b");
    tty_wait_cursor(t, 2, 14);
    expect_left(t, "6162");
}

static void broken_utf8_is_dropped(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_bytes(t, "a\xC3\xFF\xA9\xC0\x80z", 7);
    tty_wait_text(t, "az");
    expect_left(t, "617a");
}

static void arrow_split_on_a_slow_line(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    struct timespec slow = {.tv_nsec = 40 * 1000000};
    tty_type(t, "ab");
    tty_bytes(t, "\x1B", 1);
    nanosleep(&slow, NULL); /* the slow line itself, not a wait for the program */
    tty_bytes(t, "O", 1);
    nanosleep(&slow, NULL);
    tty_bytes(t, "D", 1);
    tty_wait_cursor(t, 2, 13);
    expect_left(t, "6162");
}

/* ---- screens and questions ------------------------------------------------------------------- */

static void help_from_the_key_table(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_type(t, "?"); /* text while typing */
    tty_wait_text(t, "name       ?");
    tty_keys(t, "F1");
    tty_wait_text(t, "Ask for a line of text.");
    tty_golden(t, "kit_help");
    tty_keys(t, "q Tab ?");
    tty_wait_text(t, "Ask for a line of text.");
    tty_keys(t, "End");
    tty_wait_text(t, "Put the program aside");
    tty_keys(t, "?");
    tty_wait_text(t, "Tab field or list");
}

static void question_line(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_keys(t, "Tab l");
    tty_wait_text(t, "Reason");
    tty_golden(t, "kit_line");
    tty_type(t, "new");
    tty_keys(t, "Enter");
    tty_wait_text(t, "reason: new");
    tty_keys(t, "l End");
    tty_type(t, " too");
    tty_keys(t, "Enter");
    tty_wait_text(t, "reason: as seen too");
    tty_keys(t, "l ^Q");
    tty_wait_text(t, "reason: none");
}

static void question_choice(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_keys(t, "Tab c");
    tty_wait_text(t, "Gait");
    tty_golden(t, "kit_choice");
    tty_keys(t, "Down Enter");
    tty_wait_text(t, "chosen: 2");
    tty_keys(t, "c 4");
    tty_wait_text(t, "chosen: 3");
    tty_keys(t, "c");
    tty_type(t, "lame b");
    tty_keys(t, "Enter");
    tty_wait_text(t, "chosen: 2");
    tty_keys(t, "c ^Q");
    tty_wait_text(t, "chosen: -1");
}

static void question_many(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_keys(t, "Tab m");
    tty_wait_text(t, "[x] lame in front");
    tty_keys(t, "Space 2 4");
    tty_golden(t, "kit_many");
    tty_keys(t, "Enter");
    tty_wait_text(t, "ticked: 1 1001");
    tty_keys(t, "m Space ^Q"); /* given up: as it was */
    tty_wait_text(t, "ticked: 0 0100");
}

static void question_key(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_keys(t, "Tab k");
    tty_wait_text(t, "Is it so?");
    tty_keys(t, "x Y");
    tty_wait_text(t, "key: y");
    tty_keys(t, "k ^Q");
    tty_wait_text(t, "key: -");
}

/* ---- size, stop, end ------------------------------------------------------------------------- */

static void resize_and_back(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_type(t, "Biscuit");
    tty_wait_text(t, "Biscuit");
    tty_wait_cursor(t, 2, 19);
    tty_resize(t, 20, 60);
    tty_wait_text(t, "needs 80 x 24");
    tty_wait_text(t, "60 x 20");
    size_t before = tty_received(t);
    tty_type(t, "blind");
    tty_keys(t, "^L");
    tty_wait_more(t, before); /* repainted: what was typed before has been read */
    tty_wait_text(t, "60 x 20");
    tty_resize(t, 1, 1);
    tty_wait_text(t, "n");
    tty_resize(t, 200, 500);
    tty_wait_text(t, "row 40");
    tty_resize(t, 24, 80);
    tty_wait_text(t, "3 unsent");
    tty_golden(t, "kit_resized");
    expect_left(t, "42697363756974");
}

static void suspend_and_back(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){.job = true});
    tty_type(t, "Bis");
    tty_wait_text(t, "Bis");
    tty_keys(t, "^Z");
    tty_wait_stopped(t);
    expect_restored(t);
    tty_resize(t, 30, 90);
    tty_continue(t);
    tty_wait_text(t, "3 unsent");
    assert_true(tty_alternate(t) && tty_pastes(t));
    assert_false(tty_cooked(t));
    tty_type(t, "cuit");
    tty_wait_text(t, "Biscuit");
    tty_signal(t, SIGTSTP); /* from outside */
    tty_wait_stopped(t);
    expect_restored(t);
    tty_continue(t);
    tty_wait_text(t, "Biscuit");
    expect_left(t, "42697363756974");
}

static void stopped_unasked(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){.job = true});
    tty_type(t, "Bis");
    tty_wait_text(t, "Bis");
    tty_signal(t, SIGSTOP);
    tty_wait_stopped(t);
    tty_continue(t);
    tty_type(t, "cuit");
    tty_wait_text(t, "Biscuit");
    assert_false(tty_cooked(t));
}

static void ended_by(void **state, int sig)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_type(t, "xy");
    tty_wait_text(t, "xy");
    tty_signal(t, sig);
    int status = tty_wait_exit(t);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), sig);
    tty_wait_text(t, "left with 2 bytes 7879 drafts 3"); /* the draft was kept first */
    expect_restored(t);
}

static void ended_by_term(void **state)
{
    ended_by(state, SIGTERM);
}

static void ended_by_hup(void **state)
{
    ended_by(state, SIGHUP);
}

static void ended_within_a_question(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_keys(t, "Tab c");
    tty_wait_text(t, "Gait");
    tty_signal(t, SIGTERM);
    int status = tty_wait_exit(t);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGTERM);
    expect_restored(t);
}

static void killed_at_once(struct tty *t, int sig)
{
    int status = tty_wait_exit(t);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), sig);
    assert_false(tty_has(t, "left with"));
    expect_restored(t);
}

static void crash_by(void **state, int sig)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_signal(t, sig);
    killed_at_once(t, sig);
}

static void crash_segv(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_keys(t, "^X"); /* a real one */
    killed_at_once(t, SIGSEGV);
}

static void crash_other(void **state)
{
    static const int all[] = {SIGSEGV, SIGBUS, SIGFPE, SIGABRT, SIGINT, SIGQUIT};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        crash_by(state, all[i]);
        teardown(state);
    }
}

static void deaf_program_ends(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_keys(t, "^T");
    tty_wait_text(t, "deaf");
    tty_signal(t, SIGTERM);
    killed_at_once(t, SIGTERM);
}

static void deaf_program_asked_twice(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_keys(t, "^T");
    tty_wait_text(t, "deaf");
    tty_signal(t, SIGHUP);
    tty_signal(t, SIGTERM);
    int status = tty_wait_exit(t);
    assert_true(WIFSIGNALED(status));
    expect_restored(t);
}

static void terminal_taken_away(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_hang_up(t);
    int status = tty_wait_exit(t);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGHUP);
}

/* ---- refusals -------------------------------------------------------------------------------- */

static void refused(void **state, const char *env, const char *words)
{
    const char *const envs[] = {env, NULL};
    struct tty *t = start(state, (struct tty_options){.env = envs});
    int status = tty_wait_exit(t);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 2);
    assert_true(tty_has(t, words));
    assert_true(tty_cooked(t));
}

static void dumb_refused(void **state)
{
    refused(state, "TERM=dumb", "the terminal \"dumb\" cannot place the cursor");
}

static void unknown_refused(void **state)
{
    refused(state, "TERM=nosuchterm", "the terminal \"nosuchterm\" is not known here");
}

static void unset_refused(void **state)
{
    refused(state, "TERM", "the type of this terminal is not set");
}

/* ---- rest ------------------------------------------------------------------------------------ */

static long wake_ups(pid_t pid)
{
    char path[64], line[256];
    long count = -1;
    snprintf(path, sizeof path, "/proc/%d/status", (int)pid);
    FILE *in = fopen(path, "r");
    assert_non_null(in);
    while (fgets(line, sizeof line, in))
        sscanf(line, "voluntary_ctxt_switches: %ld", &count);
    fclose(in);
    return count;
}

static void idle_is_asleep(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_type(t, "xy");
    tty_keys(t, "Left");
    tty_wait_cursor(t, 2, 13);
    struct timespec rest = {.tv_nsec = 300 * 1000000};
    nanosleep(&rest, NULL); /* let it come to rest; then any wake-up is one too many */
    long before = wake_ups(tty_pid(t));
    rest = (struct timespec){.tv_sec = 2, .tv_nsec = 200 * 1000000};
    nanosleep(&rest, NULL);
    assert_int_equal(wake_ups(tty_pid(t)), before);
}

static void few_bytes_a_key(void **state)
{
    struct tty *t = start_ready(state, (struct tty_options){0});
    tty_golden(t, "kit_first");
    size_t before = tty_received(t);
    tty_type(t, "x");
    tty_wait_text(t, "name       x");
    tty_wait_cursor(t, 2, 13);
    assert_in_range(tty_received(t) - before, 1, 60);
    tty_keys(t, "Tab Down");
    tty_wait_cursor(t, 6, 1);
    before = tty_received(t);
    tty_keys(t, "Down");
    tty_wait_cursor(t, 7, 1);
    assert_in_range(tty_received(t) - before, 1, 200);
}

#define T(f) cmocka_unit_test_teardown(f, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(first_screen),
        T(wide_screen),
        T(on_xterm),
        T(on_vt100),
        T(on_linux),
        T(on_screen),
        T(colors),
        T(no_color),
        T(ascii_locale),
        T(locale_not_installed),
        T(combining_stays_with_its_letter),
        T(accent_typed_later_joins),
        T(joined_emoji_is_one_cluster),
        T(wide_letters_scroll),
        T(paste_is_text),
        T(control_c_pasted_without_brackets),
        T(ten_thousand_characters),
        T(both_backspaces),
        T(unknown_escapes_type_nothing),
        T(broken_utf8_is_dropped),
        T(arrow_split_on_a_slow_line),
        T(help_from_the_key_table),
        T(question_line),
        T(question_choice),
        T(question_many),
        T(question_key),
        T(resize_and_back),
        T(suspend_and_back),
        T(stopped_unasked),
        T(ended_by_term),
        T(ended_by_hup),
        T(ended_within_a_question),
        T(crash_segv),
        T(crash_other),
        T(deaf_program_ends),
        T(deaf_program_asked_twice),
        T(terminal_taken_away),
        T(dumb_refused),
        T(unknown_refused),
        T(unset_refused),
        T(idle_is_asleep),
        T(few_bytes_a_key),
    };
    return cmocka_run_group_tests_name("kit", tests, NULL, NULL);
}
