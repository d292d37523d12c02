/* The bench on a terminal: what it shows is what the shell says, and every key does its work. */
#include "tests/screens/visit_kit.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static struct tty *open_bench(void **state, struct stage stage)
{
    struct practice *p = *state;
    struct tty *t = practice_open(p, stage);
    open_visit(t, "Biscuit");
    open_section(t, "Fit");
    tty_wait_text(t, "fore feet");
    return t;
}

/* Every value and answer of `amble bench` stands on the screen. */
static void shows_what_the_shell_says(struct practice *p, struct tty *t, const char *words)
{
    char *said = practice_says(p, words);
    char *rest = said, *line = strsep(&rest, "\n"); /* the setting itself */
    size_t seen = 0;
    while ((line = strsep(&rest, "\n")) != NULL) {
        if (strncmp(line, "  ", 2) != 0)
            continue;
        char label[16] = "", value[40] = "";
        (void)snprintf(label, sizeof label, "%.12s", line + 2);
        for (size_t n = strlen(label); n > 0 && label[n - 1] == ' ';)
            label[--n] = '\0';
        line += 16;
        line += strspn(line, " ");
        size_t n = strstr(line, "  ") != NULL ? (size_t)(strstr(line, "  ") - line) : strlen(line);
        (void)snprintf(value, sizeof value, "%.*s", (int)(n < 24 ? n : 24), line);
        tty_wait_text(t, label);
        tty_wait_text(t, value);
        seen++;
    }
    assert_true(seen >= 10);
    free(said);
}

static void the_screen_says_what_the_shell_says(void **state)
{
    struct practice *p = *state;
    struct tty *t = open_bench(state, (struct stage){0});
    shows_what_the_shell_says(p, t, "bench Biscuit");
    t = open_bench(state, (struct stage){.rows = 43, .cols = 132});
    shows_what_the_shell_says(p, t, "bench Biscuit");
    tty_wait_text(t, "step  axle  fore kg"); /* there is room for every step, and for the plan */
    tty_wait_text(t, "ahead, no forecast");
    tty_wait_text(t, "stage after it");
    practice_leave(p);
}

static void the_axle_moves_and_everything_follows(void **state)
{
    struct practice *p = *state;
    struct tty *t = open_bench(state, (struct stage){0});
    tty_wait_text(t, "260 mm");
    tty_keys(t, "<");
    tty_wait_text(t, "241 mm");
    tty_wait_text(t, "step 2 of 7");
    shows_what_the_shell_says(p, t, "bench Biscuit --axle 241mm");
    tty_keys(t, "S-Left");
    tty_wait_text(t, "step 1 of 7");
    tty_keys(t, "Right");
    tty_wait_text(t, "between steps");
    tty_keys(t, "Left <");
    tty_wait_text(t, "221 mm");
    tty_wait_text(t, "no    9.0 deg; grips 8.9"); /* past the limit, and said */
    practice_leave(p);
}

static void wheels_parts_and_compare(void **state)
{
    struct practice *p = *state;
    struct tty *t = open_bench(state, (struct stage){0});
    tty_keys(t, "2");
    tty_wait_text(t, "put aside");
    tty_keys(t, "w ^U");
    tty_type(t, "160 mm");
    tty_keys(t, "Enter");
    tty_wait_text(t, "in hand: 260 mm, wheels 160");
    tty_wait_text(t, "put aside: 260 mm, wheels 109");
    tty_keys(t, "Tab");
    tty_wait_text(t, "in hand: 260 mm, wheels 109");
    tty_keys(t, "2 p");
    tty_wait_text(t, "next stage");
    tty_wait_text(t, "stage after it");
    tty_keys(t, "p u");
    tty_wait_text(t, "fore feet");
    tty_keys(t, "h"); /* as on every screen */
    tty_wait_text(t, "all that was entered");
    tty_keys(t, "^Q");
    tty_wait_gone(t, "all that was entered");
    tty_wait_text(t, "fore feet");
    tty_keys(t, "!");
    tty_wait_text(t, "proposed 241 mm");
    tty_keys(t, "Enter");
    practice_leave(p);
}

/* A front frame beside a rear one has no number in common with it but the limits: still every
 * answer of the house is there at 80 x 24. */
static void two_kinds_of_frame_fit_side_by_side(void **state)
{
    struct practice *p = *state;
    struct tty *t = open_bench(state, (struct stage){0});
    tty_keys(t, "2 o");
    tty_wait_text(t, "Which frame?");
    tty_type(t, "front frame");
    tty_keys(t, "Enter");
    static const char *const all[] = {"put aside: 260 mm",
                                      "fore feet    5.3 kg",
                                      "chest 6.7 kg",
                                      "hips lifted",
                                      "wheels 8.5 kg",
                                      "ramp, grip",
                                      "ramp, tip up",
                                      "ramp, down",
                                      "threshold",
                                      "door",
                                      "corner",
                                      "! 2 more"};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        tty_wait_text(t, all[i]);
    practice_leave(p);
}

static void frozen_with_a_reason_and_read(void **state)
{
    struct practice *p = *state;
    struct tty *t = open_bench(state, (struct stage){0});
    tty_keys(t, "b");
    tty_wait_text(t, "a DRAFT");
    tty_wait_text(t, "Build sheet, DRAFT: not frozen, do not cut");
    tty_keys(t, "^Q");
    tty_wait_text(t, "fore feet");
    tty_keys(t, "Right f");
    tty_wait_text(t, "Enter keeps it, then f freezes it");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Why is \"Fit\" changed?"); /* it was signed */
    tty_type(t, "she grew stronger");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Kept: axle at 265 mm");
    tty_keys(t, "f");
    tty_wait_text(t, "Freeze this setting");
    tty_keys(t, "y");
    tty_wait_text(t, "Why is \"Fit\" changed?");
    tty_type(t, "ordered today");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Build sheet, version 1");
    tty_keys(t, "^Q f");
    tty_wait_text(t, "Freeze this setting");
    tty_keys(t, "y");
    tty_wait_text(t, "Why is \"Fit\" changed?");
    tty_type(t, "again");
    tty_keys(t, "Enter");
    tty_wait_text(t, "nothing changed since version 1");
    practice_leave(p);
}

/* A colour-less terminal without UTF-8 shows the same in plain characters. */
static void plain_terminals_see_it_too(void **state)
{
    struct practice *p = *state;
    struct tty *t = open_bench(state, (struct stage){.term = "vt100", .extra = "LC_ALL=POSIX"});
    shows_what_the_shell_says(p, t, "bench Biscuit");
    char *dump = tty_dump(t);
    assert_non_null(strstr(dump, "kg"));
    free(dump);
    practice_leave(p);
}

static void frames_of_ours_are_offered(void **state)
{
    struct practice *p = *state;
    struct tty *t = open_bench(state, (struct stage){0});
    tty_keys(t, "e n");
    tty_wait_text(t, "as it is written on the frame");
    tty_type(t, "Red two");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Kind of frame");
    tty_keys(t, "Down");
    tty_type(t, "rear_stepped");
    tty_keys(t, "Enter");
    tty_type(t, "142 mm");
    tty_keys(t, "Enter");
    tty_type(t, "80 mm");
    tty_keys(t, "Enter ^Q");
    tty_wait_text(t, "fits at step 2 of 7 (241 mm)");
    practice_leave(p);
}

/* Only what moved is sent: digits, and the wheel when it comes to another column. */
static void few_bytes_a_key(void **state)
{
    struct practice *p = *state;
    static const struct {
        struct stage stage;
        size_t most;
    } sizes[] = {{{0}, 250}, {{.rows = 43, .cols = 132}, 400}};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        struct tty *t = open_bench(state, sizes[i].stage);
        enum { KEYS = 32 };
        size_t sent = 0;
        tty_keys(t, "Right"); /* the first takes the message away */
        for (int k = 0; k < KEYS; k++) {
            size_t before = tty_received(t);
            tty_keys(t, k % 16 < 8 ? "Right" : "Left");
            tty_wait_more(t, before);
            tty_wait_still(t);
            sent += tty_received(t) - before;
        }
        if (sent > KEYS * sizes[i].most)
            fail_msg("%zu bytes a key, not %zu", sent / KEYS, sizes[i].most);
        practice_leave(p);
    }
}

int main(void)
{
#define BENCH(function)                                                                            \
    cmocka_unit_test_setup_teardown(function, practice_setup_demo, practice_teardown)
    const struct CMUnitTest tests[] = {
        BENCH(the_screen_says_what_the_shell_says),
        BENCH(the_axle_moves_and_everything_follows),
        BENCH(wheels_parts_and_compare),
        BENCH(two_kinds_of_frame_fit_side_by_side),
        BENCH(frozen_with_a_reason_and_read),
        BENCH(plain_terminals_see_it_too),
        BENCH(frames_of_ours_are_offered),
        BENCH(few_bytes_a_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
