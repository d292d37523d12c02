/* What a practice changes without a compiler, and what happens when it makes a mistake there. */
#include "tests/screens/visit_kit.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char question[] = "add_to: history\n"
                               "items:\n"
                               "  - id: sleeps_where\n"
                               "    label: Where the dog sleeps\n"
                               "    help: Ask to see the place\n"
                               "    kind: choice\n"
                               "    choices: {basket: in a basket, bed: in a bed}\n"
                               "    on_sheet: yes\n"
                               "    sheet_label: The place to sleep\n";

static const char mistaken[] = "add_to: history\n"
                               "items:\n"
                               "  - id: sleeps_where\n"
                               "    label: Where the dog sleeps\n"
                               "    knd: text\n";

static void has(char *said, const char *words)
{
    if (!strstr(said, words))
        fail_msg("\"%s\" is not in:\n%s", words, said);
    free(said);
}

static void own_question(void **state)
{
    struct practice *p = *state;
    practice_template(p, "forms/ours.yaml", question);
    practice_feed(p, "tests/screens/visit_begun.txt");
    struct tty *t = practice_open(p, (struct stage){0});
    open_visit(t, "Juniper");
    open_section(t, "History");
    go_to_row(t, "Where the dog sleeps");
    tty_wait_text(t, "Ask to see the place");
    tty_keys(t, "2");
    tty_wait_text(t, "in a bed");
    tty_keys(t, "^Q");
    tty_wait_text(t, "1 of 25");
    practice_leave(p);
    has(practice_says(p, "show Juniper --json"), "\"item\": \"sleeps_where\"");
    has(practice_says(p, "show Juniper --json"), "\"value\": \"bed\"");
    has(practice_says(p, "show Juniper"), "Where the dog sleeps");
    has(practice_says(p, "sheet Juniper"), "- The place to sleep: in a bed\n");
    has(practice_says(p, "template show history"), "sleeps_where");
}

static void broken_template(void **state)
{
    struct practice *p = *state;
    practice_template(p, "forms/ours.yaml", mistaken);
    practice_template(p, "practice.yaml", "name: Nobody's\n");
    practice_feed(p, "tests/screens/visit_begun.txt");
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "The templates have mistakes");
    tty_wait_text(t, "Fernhill Mobile Rehabilitation"); /* the shipped set, whole */
    tty_keys(t, "p");
    tty_wait_text(t, "MISTAKES");
    tty_wait_text(t, "forms/ours.yaml:3:5");
    tty_keys(t, "q");
    open_visit(t, "Juniper");
    open_section(t, "History");
    wait_row(t, "What happened");
    assert_false(tty_has(t, "Where the dog sleeps"));
    practice_leave(p);
    int status;
    char *said = practice_shell(p, "template check", NULL, &status);
    assert_int_equal(status, 1);
    has(said, "forms/ours.yaml:5:5: item: unknown key \"knd\"; did you mean \"kind\"?");
}

/* An answer outlives its question: it is kept and shown when the template that asked is gone. */
static void question_taken_away(void **state)
{
    struct practice *p = *state;
    practice_template(p, "forms/ours.yaml", question);
    practice_feed(p, "tests/screens/visit_begun.txt");
    practice_template(p, "lines.txt", "dog Juniper\nvisit today\nsleeps_where = basket\n");
    char path[128];
    snprintf(path, sizeof path, "%s/templates/lines.txt", p->folder);
    practice_feed(p, path);
    practice_template(p, "forms/ours.yaml", "add_to: history\nitems: []\n");
    has(practice_says(p, "show Juniper --json"), "\"item\": \"sleeps_where\"");
}

#define T(f) cmocka_unit_test_setup_teardown(f, practice_setup, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {T(own_question), T(broken_template), T(question_taken_away)};
    return cmocka_run_group_tests_name("templates on screen", tests, NULL, NULL);
}
