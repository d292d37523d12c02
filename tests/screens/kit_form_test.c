/* The form widget on a terminal, over a real record: every answer is kept the moment its field is
 * left, nothing typed is lost, nothing recorded is replaced unseen. */
#include "tests/screens/harness.h"

#include <ftw.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#ifndef FORM_DEMO
#error "FORM_DEMO names the program under test"
#endif

struct bench {
    char folder[64];
    struct tty *tty;
};

static int setup(void **state)
{
    struct bench *b = calloc(1, sizeof *b);
    assert_non_null(b);
    snprintf(b->folder, sizeof b->folder, "/tmp/amble-form-XXXXXX");
    assert_non_null(mkdtemp(b->folder));
    *state = b;
    return 0;
}

static int remove_one(const char *path, const struct stat *st, int type, struct FTW *ftw)
{
    (void)st;
    (void)type;
    (void)ftw;
    return remove(path);
}

static int teardown(void **state)
{
    struct bench *b = *state;
    tty_stop(b->tty);
    nftw(b->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    free(b);
    return 0;
}

static struct tty *start_sized(void **state, const char *mode, int rows, int cols)
{
    struct bench *b = *state;
    const char *const argv[] = {FORM_DEMO, b->folder, mode, NULL};
    static const char *const env[] = {"AMBLE_NOW=2026-11-24T09:30", "TZ=UTC", NULL};
    tty_stop(b->tty);
    b->tty = tty_start(&(struct tty_options){.argv = argv, .env = env, .rows = rows, .cols = cols});
    tty_wait_text(b->tty, "Every kind");
    tty_wait_text(b->tty, "F2 history");
    return b->tty;
}

static struct tty *start(void **state, const char *mode)
{
    return start_sized(state, mode, 24, 80);
}

static void leave(struct tty *t)
{
    tty_keys(t, "^Q");
    tty_wait_text(t, "end of the record");
    tty_wait_exit(t);
}

/* Move to a question by its place in the form, from the first one. */
static void go_down(struct tty *t, int steps)
{
    for (int i = 0; i < steps; i++)
        tty_keys(t, "Down");
}

enum {
    TO_WORD = 1,
    TO_PAIN = 2,
    TO_STEPS = 3,
    TO_HEIGHT = 4,
    TO_MASS = 5,
    TO_COURSE = 6,
    TO_SCALE = 7,
    TO_SINCE = 8,
    TO_CALLED = 9
}; /* while "Where" is not asked */

/* ---- a whole pass ---------------------------------------------------------------------------- */

static void fill_in(struct tty *t)
{
    tty_type(t, "Fell off the sofa on Sunday and has dragged the left hind leg since, worse by "
                "the evening of the same day");
    tty_keys(t, "Enter");
    tty_type(t, "limp");
    tty_keys(t, "Enter y");
    tty_keys(t, "2 Enter");
    tty_type(t, "12");
    tty_keys(t, "Enter");
    tty_type(t, "22,8 cm");
    tty_keys(t, "Enter");
    tty_type(t, "9.4");
    tty_keys(t, "Enter");
    tty_type(t, "slow");
    tty_keys(t, "Enter");
    tty_type(t, "1");
    tty_keys(t, "Enter");
    tty_type(t, "22 Nov");
    tty_keys(t, "Enter");
    tty_type(t, "8:15");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Nothing needed is missing");
}

static void whole_pass(void **state)
{
    struct tty *t = start(state, "");
    tty_golden(t, "form_empty");
    fill_in(t);
    tty_golden(t, "form_filled");
    leave(t);
    assert_true(tty_has(t, "kit.word = limp"));
    assert_true(tty_has(t, "kit.pain = yes"));
    assert_true(tty_has(t, "kit.where = back"));
    assert_true(tty_has(t, "kit.steps = 12"));
    assert_true(tty_has(t, "kit.height = 228 mm"));
    assert_true(tty_has(t, "kit.mass = 9.4 kg"));
    assert_true(tty_has(t, "kit.course = worse"));
    assert_true(tty_has(t, "kit.since = 2026-11-22"));
    assert_true(tty_has(t, "kit.called = 2026-11-24T08:15"));
}

static void wide_shows_words_beside(void **state)
{
    struct tty *t = start_sized(state, "", 43, 132);
    fill_in(t);
    tty_keys(t, "Up Up");
    tty_golden(t, "form_wide");
}

static void kept_when_killed(void **state)
{
    struct tty *t = start(state, "");
    fill_in(t);
    tty_signal(t, SIGKILL);
    tty_wait_exit(t);
    t = start(state, "");
    tty_wait_text(t, "limp");
    leave(t);
    assert_true(tty_has(t, "kit.called = 2026-11-24T08:15"));
}

/* ---- yes and no, what is asked --------------------------------------------------------------- */

static void condition_hides_but_keeps(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_PAIN);
    assert_false(tty_has(t, "Where"));
    tty_keys(t, "y");
    tty_wait_text(t, "Where");
    tty_keys(t, "1 Up n"); /* no pain after all: the place is not asked, and stays known */
    tty_wait_gone(t, "Where");
    tty_wait_text(t, "[no]");
    tty_keys(t, "Up u");
    tty_wait_text(t, "[not known]");
    leave(t);
    assert_true(tty_has(t, "kit.pain = unknown"));
    assert_true(tty_has(t, "kit.where = neck"));
}

static void needed_is_marked(void **state)
{
    struct tty *t = start(state, "");
    tty_wait_text(t, " >* What happened");
    go_down(t, TO_CALLED);
    tty_keys(t, "Enter");
    tty_wait_text(t, "Still needed: 2, marked *");
    tty_keys(t, "PageUp PageUp");
    tty_type(t, "x");
    tty_keys(t, "Enter");
    tty_wait_text(t, "   What happened");
}

/* ---- numbers --------------------------------------------------------------------------------- */

static void letters_before_digits_are_commands(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_HEIGHT);
    tty_keys(t, "?"); /* no digit yet: help */
    tty_wait_text(t, "One question of every kind.");
    tty_keys(t, "? x");      /* x is nobody's */
    tty_type(t, "9 1/4 in"); /* after a digit letters are the unit */
    tty_wait_text(t, "9 1/4 in");
    leave(t);
    assert_true(tty_has(t, "kit.height = 234.95 mm"));
}

/* The line a number is typed on is short, and hides nothing of what is long. */
static void line_of_a_number_grows(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_HEIGHT);
    tty_type(t, "9");
    tty_wait_text(t, " 9");
    int row = 0, col = 0;
    while (strcmp(tty_cell(t, row, 1).text, ">") != 0)
        row++;
    while (strcmp(tty_cell(t, row, col).text, "9") != 0)
        col++;
    assert_true(tty_cell(t, row, col + 15).underline);
    assert_false(tty_cell(t, row, col + 16).underline);
    tty_type(t, " in, or was it 8 1/2?");
    tty_wait_text(t, " 9 in, or was it 8 1/2?");
    assert_true(tty_cell(t, row, col + 22).underline);
}

static void unreadable_stays_and_says_why(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_HEIGHT);
    tty_type(t, "22 apples");
    tty_keys(t, "Enter"); /* Enter does not go on */
    tty_wait_text(t, " >! Height at the withers");
    tty_keys(t, "Down"); /* an arrow does */
    tty_wait_text(t, " >  Weight");
    tty_wait_text(t, "  ! Height at the withers");
    assert_true(tty_has(t, "22 apples"));
    tty_keys(t, "Up");
    tty_golden(t, "form_unreadable");
    tty_keys(t, "Backspace Backspace Backspace Backspace Backspace Backspace");
    tty_type(t, "cm");
    tty_keys(t, "Enter");
    tty_wait_gone(t, "!");
    leave(t);
    assert_true(tty_has(t, "kit.height = 220 mm"));
}

static void out_of_range_is_refused(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_MASS);
    tty_type(t, "940");
    tty_keys(t, "Enter");
    tty_wait_text(t, "out of range");
    tty_wait_text(t, " >! Weight");
}

static void leaving_unreadable_is_said_once(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_SINCE);
    tty_type(t, "the day after");
    tty_keys(t, "^Q");
    tty_wait_text(t, "Once more leaves it");
    leave(t);
    assert_true(tty_has(t, "kit.since ="));
    t = start(state, "");
    go_down(t, TO_SINCE);
    tty_wait_text(t, "the day after"); /* offered again */
    tty_wait_text(t, "typed before, and not yet kept");
    tty_keys(t, "^U");
    tty_type(t, "20 Nov");
    leave(t);
    assert_true(tty_has(t, "kit.since = 2026-11-20"));
    t = start(state, "");
    go_down(t, TO_SINCE);
    tty_wait_text(t, "20");
    assert_false(tty_has(t, "!"));
}

static void draft_survives_a_kill(void **state)
{
    struct tty *t = start(state, "");
    tty_type(t, "half a sent");
    tty_wait_text(t, "half a sent");
    tty_keys(t, "Left"); /* each key is on disk before the next one is read */
    tty_wait_cursor(t, 3, 50);
    tty_signal(t, SIGKILL);
    tty_wait_exit(t);
    t = start(state, "");
    tty_wait_text(t, "half a sent");
    tty_wait_text(t, "Enter keeps it");
    tty_type(t, "ence");
    tty_keys(t, "Enter");
    leave(t);
    assert_true(tty_has(t, "kit.story = half a sentence"));
}

/* ---- choices --------------------------------------------------------------------------------- */

static void choice_by_every_way(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_COURSE);
    tty_wait_text(t, "4 choices");
    tty_keys(t, "Right");
    tty_wait_text(t, "1 of 4");
    tty_wait_text(t, "week by week"); /* the choice's own help */
    tty_keys(t, "Left");
    tty_wait_text(t, "4 of 4");
    tty_type(t, "s");
    tty_wait_text(t, "2 of 4");
    tty_type(t, "l");
    tty_wait_text(t, "3 of 4");
    tty_golden(t, "form_choice");
    tty_keys(t, "Backspace Space");
    tty_wait_text(t, "quickly worse  (within days)");
    tty_golden(t, "form_choice_box");
    tty_keys(t, "Down Enter");
    tty_wait_text(t, " >  Scale");
    tty_keys(t, "Up 4");
    tty_wait_text(t, " >  Scale");
    tty_keys(t, "Up z");
    tty_wait_text(t, "No choice begins with \"z\"");
    leave(t);
    assert_true(tty_has(t, "kit.course = quick"));
}

/* Where labels count for themselves a digit is the label's, never the place in the list. */
static void digit_of_a_scale(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_SCALE);
    tty_keys(t, "3");
    tty_wait_text(t, "No choice begins with \"3\"");
    tty_keys(t, "0");
    tty_wait_text(t, "0 of 2");
    tty_keys(t, "Enter Up Space 2");
    tty_wait_text(t, "> 2 of 2");
    tty_keys(t, "Enter");
    tty_wait_text(t, "it must go on in a"); /* whole, over rows */
    tty_golden(t, "form_scale");
    leave(t);
    assert_true(tty_has(t, "kit.scale = s2"));
}

static void many_in_a_box(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_PAIN);
    tty_keys(t, "y Space Space Down Down Space");
    tty_wait_text(t, "> [x] hips");
    tty_keys(t, "Enter");
    tty_wait_text(t, "neck, hips");
    leave(t);
    assert_true(tty_has(t, "kit.where = neck hips"));
}

/* ---- the past -------------------------------------------------------------------------------- */

static void history_undo_strike(void **state)
{
    struct tty *t = start(state, "");
    go_down(t, TO_STEPS);
    tty_type(t, "12");
    tty_keys(t, "Enter Up");
    tty_type(t, "15");
    tty_keys(t, "Enter Up F2");
    tty_wait_text(t, "History");
    tty_wait_text(t, "12");
    tty_wait_text(t, "15");
    tty_keys(t, "q");
    tty_wait_text(t, "Steps in a row");
    tty_type(t, "99");
    tty_keys(t, "^R"); /* first what is only typed */
    tty_wait_text(t, "What was typed is taken back");
    tty_wait_text(t, "15");
    tty_keys(t, "^R");
    tty_wait_text(t, "Taken back: Steps in a row");
    tty_wait_text(t, "12");
    tty_keys(t, "^E");
    tty_wait_text(t, "was entered in error because");
    tty_keys(t, "Enter"); /* no reason */
    tty_wait_text(t, "without a reason nothing is struck");
    tty_keys(t, "^E");
    tty_type(t, "another dog");
    tty_keys(t, "Enter Down");
    tty_wait_text(t, "entered in error");
    leave(t);
    assert_true(tty_has(t, "kit.steps ="));
    assert_false(tty_has(t, "kit.steps = 1"));
}

static void signed_needs_a_reason(void **state)
{
    struct tty *t = start(state, "");
    fill_in(t);
    leave(t);
    t = start(state, "signed");
    go_down(t, 4);
    tty_type(t, "13");
    tty_keys(t, "Enter");
    tty_wait_text(t, "The visit is signed. Why is \"Steps in a row\" changed?");
    tty_keys(t, "^Q");
    tty_wait_text(t, "changed only with a reason");
    tty_wait_text(t, " >! Steps in a row");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Why is");
    tty_type(t, "counted again");
    tty_keys(t, "Enter");
    tty_wait_gone(t, "!");
    tty_keys(t, "Up F2");
    tty_wait_gone(t, "Numbers");
    tty_wait_text(t, "counted again");
    tty_keys(t, "q");
    tty_wait_text(t, "Numbers");
    tty_wait_text(t, "after signing, by AA: counted again");
    leave(t);
    assert_true(tty_has(t, "kit.steps = 13"));
}

static void conflict_is_shown_and_settled(void **state)
{
    struct tty *t = start(state, "conflict");
    tty_wait_text(t, "  # How it goes");
    tty_wait_text(t, "or slowly worse");
    go_down(t, TO_COURSE + 1);
    tty_keys(t, "Up"); /* passing by settles nothing */
    tty_wait_text(t, " ># How it goes");
    tty_golden(t, "form_conflict");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Which stands?");
    tty_keys(t, "Down Enter");
    tty_wait_gone(t, "#");
    leave(t);
    assert_true(tty_has(t, "kit.course = worse"));
}

static void note_wraps_and_moves_by_line(void **state)
{
    struct tty *t = start(state, "");
    fill_in(t);
    tty_keys(t, "PageUp PageUp");
    tty_wait_text(t, " >  What happened");
    tty_keys(t, "Home Down Home Down Down");
    tty_keys(t, "End");
    tty_type(t, ".");
    tty_golden(t, "form_note");
}

#define T(f) cmocka_unit_test_setup_teardown(f, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(whole_pass),
        T(wide_shows_words_beside),
        T(kept_when_killed),
        T(condition_hides_but_keeps),
        T(needed_is_marked),
        T(letters_before_digits_are_commands),
        T(line_of_a_number_grows),
        T(unreadable_stays_and_says_why),
        T(out_of_range_is_refused),
        T(leaving_unreadable_is_said_once),
        T(draft_survives_a_kill),
        T(choice_by_every_way),
        T(digit_of_a_scale),
        T(many_in_a_box),
        T(history_undo_strike),
        T(signed_needs_a_reason),
        T(conflict_is_shown_and_settled),
        T(note_wraps_and_moves_by_line),
    };
    return cmocka_run_group_tests_name("form", tests, NULL, NULL);
}
