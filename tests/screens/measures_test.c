/* The Measures screen at the keys: how many it takes, and what it answers at once. */
#include "tests/screens/visit_kit.h"

#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

static const char *const rear_frame[][2] = {
    {"Hip width", "13.2"},    {"Thigh depth", "7.1"},  {"Withers height", "22.8"},
    {"Pelvic-floor", "15.2"}, {"Elbow", "10.2"},       {"Sternum", "7.6"},
    {"Hock", "5.2"},          {"Trunk span", "30.2"},  {"Body length", "40.2"},
    {"Stance", "32.0"},       {"Chest width", "13.8"}, {"Chest depth", "15.2"},
    {"Fore-foot", "10.2"},    {"Chest girth", "45.5"}, {"Neck girth", "31.0"},
    {"Weight", "9.4"},
};
enum { ROWS = sizeof rear_frame / sizeof *rear_frame };

static struct tty *begin(struct practice *p)
{
    practice_feed(p, "tests/screens/visit_begun.txt");
    struct tty *t = practice_open(p, (struct stage){0});
    open_visit(t, "Juniper");
    open_section(t, "Measures");
    tty_keys(t, "y y y y");
    wait_row(t, "Hip width");
    return t;
}

/* Every double with its digits and one Enter each; the cursor is where the next number goes. */
static void digits_and_one_enter_each(void **state)
{
    struct tty *t = begin(*state);
    size_t keys = 0, digits = 0, readings = 0;
    for (size_t i = 0; i < ROWS; i++)
        for (int k = 0; k < 2; k++) {
            wait_row(t, rear_frame[i][0]);
            tty_type(t, rear_frame[i][1]);
            tty_keys(t, "Enter");
            digits += strlen(rear_frame[i][1]);
            keys += strlen(rear_frame[i][1]) + 1;
            readings++;
        }
    static const char *const scales[] = {"5.9", "3.5", "6.0", "3.4", "5.9", "3.5"};
    for (size_t i = 0; i < sizeof scales / sizeof *scales; i++) {
        wait_row(t, i % 2 == 0 ? "Weight, front" : "Weight, hind");
        tty_type(t, scales[i]);
        tty_keys(t, "Enter");
        digits += strlen(scales[i]);
        keys += strlen(scales[i]) + 1;
        readings++;
    }
    tty_wait_text(t, "On the fore feet 63.");
    assert_int_equal(keys, digits + readings);
    tty_keys(t, "^Q");
    tty_wait_text(t, "18 of 18 needed"); /* nothing was left out on the way */
    practice_leave(*state);
}

static void a_slip_is_answered_and_enter_again_keeps_it(void **state)
{
    struct tty *t = begin(*state);
    for (size_t i = 0; i < 3; i++)
        for (int k = 0; k < 2; k++) {
            wait_row(t, rear_frame[i][0]);
            tty_type(t, rear_frame[i][1]);
            tty_keys(t, "Enter");
        }
    wait_row(t, "Pelvic-floor");
    tty_type(t, "6.0");
    tty_keys(t, "Enter");
    tty_wait_text(t, "inches for centimetres?");
    tty_type(t, "15.2"); /* begins anew */
    tty_keys(t, "Enter");
    tty_wait_gone(t, "inches for");
    tty_type(t, "6.0");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Beside the other reading");
    tty_keys(t, "Enter");
    wait_row(t, "Pelvic-floor"); /* kept: the two part, a third is asked for */
    tty_wait_text(t, "third?");
    tty_wait_text(t, "waits"); /* no mean of two that part is shown as the value */
    tty_wait_gone(t, "10.6");
    tty_type(t, "15.1");
    tty_keys(t, "Enter");
    tty_wait_gone(t, "waits");
    tty_wait_text(t, "15.1   15.1   9.2"); /* the third, the median, the spread */
    practice_leave(*state);
}

/* What cannot be read holds nobody: the second ^Q leaves, the text is offered again. */
static void what_cannot_be_read_stays_as_a_draft(void **state)
{
    struct tty *t = begin(*state);
    tty_type(t, "13zz");
    tty_keys(t, "Enter");
    tty_wait_text(t, "\"zz\" is not a unit");
    tty_keys(t, "^Q");
    tty_wait_text(t, "Not kept yet: Hip width. Once more leaves it as it is typed");
    tty_keys(t, "^Q");
    tty_wait_text(t, "Walk through with Enter");
    open_section(t, "Measures");
    tty_wait_text(t, "Typed before, and not yet kept");
    tty_wait_text(t, "13zz");
    practice_leave(*state);
}

static void the_second_pass_is_blind(void **state)
{
    struct tty *t = begin(*state);
    tty_type(t, "13.1");
    tty_keys(t, "Enter Down");
    wait_row(t, "Thigh depth");
    tty_wait_text(t, "13.1");
    tty_keys(t, "b");
    tty_wait_text(t, "hidden");
    wait_row(t, "Hip width");
    tty_wait_gone(t, "13.1");
    tty_type(t, "13.2");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Every first reading has its second");
    tty_wait_text(t, "13.1   13.2");
    practice_leave(*state);
}

/* ---- the photograph -------------------------------------------------------------------------- */

static struct tty *name_a_photo(struct practice *p, const char *path)
{
    practice_feed(p, "tests/screens/visit_begun.txt");
    practice_write(p, "-side view.jpg", "a photograph");
    struct tty *t = practice_open(p, (struct stage){.extra = path, .inside = true});
    open_visit(t, "Juniper");
    open_section(t, "Measures");
    tty_keys(t, "Down n");
    wait_row(t, "Profile photograph");
    tty_type(t, "-side view.jpg");
    tty_keys(t, "Enter");
    tty_wait_text(t, "there, and the file that was recorded");
    return t;
}

/* Its copy beside the record, named after its content (SHA-256 of "a photograph"). */
#define COPY "records/photos/a249e87e1e6113da81cdd8a154c222283fbcceff6dd3727a63bf97eee562dfb3"

/* A viewer of ours writes down what it was started with: one argument, and no shell between. */
static void the_photograph_opens_in_the_systems_viewer(void **state)
{
    struct practice *p = *state;
    char path[256], text[512], said[128] = "";
    snprintf(path, sizeof path, "%s/seen", p->folder);
    assert_int_equal(mkfifo(path, 0600), 0);
    int seen = open(path, O_RDONLY | O_NONBLOCK);
    assert_true(seen >= 0);
    snprintf(text, sizeof text, "#!/bin/sh\nprintf '%%s|%%s\\n' \"$#\" \"$1\" >'%s'\n", path);
    practice_write(p, "bin/xdg-open", text);
    snprintf(path, sizeof path, "%s/bin/xdg-open", p->folder);
    assert_int_equal(chmod(path, 0700), 0);
    snprintf(path, sizeof path, "PATH=%s/bin:/usr/bin:/bin", p->folder);
    struct tty *t = name_a_photo(p, path);
    tty_keys(t, "F3");
    struct pollfd wait = {.fd = seen, .events = POLLIN};
    assert_int_equal(poll(&wait, 1, 10000), 1);
    assert_true(read(seen, said, sizeof said - 1) > 0);
    assert_string_equal(said, "1|" COPY "\n");
    (void)close(seen);
    practice_write(p, COPY, "another");
    tty_keys(t, "F3");
    tty_wait_text(t, "NOT the file that was recorded");
    practice_leave(p);
}

static void without_a_viewer_it_says_so(void **state)
{
    struct tty *t = name_a_photo(*state, "PATH=/nowhere");
    tty_keys(t, "F3");
    tty_wait_text(t, "No viewer here (xdg-open is not installed)");
    practice_leave(*state);
}

static void the_body_type_is_chosen_by_its_picture(void **state)
{
    struct tty *t = begin(*state);
    tty_keys(t, "t");
    tty_wait_text(t, "long and low");
    tty_keys(t, "3");
    tty_wait_text(t, "About as long");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Body type: square");
    practice_leave(*state);
}

#define T(f) cmocka_unit_test_setup_teardown(f, practice_setup, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(digits_and_one_enter_each),
        T(a_slip_is_answered_and_enter_again_keeps_it),
        T(what_cannot_be_read_stays_as_a_draft),
        T(the_second_pass_is_blind),
        T(the_photograph_opens_in_the_systems_viewer),
        T(without_a_viewer_it_says_so),
        T(the_body_type_is_chosen_by_its_picture),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
