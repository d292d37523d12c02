/* The past of a finding through the terminal: entered in error, taken back, amended after signing,
 * corrected by a colleague; and the way to the history of any finding, on the screen and on paper.
 */
#include "tests/screens/visit_kit.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define BEGUN                                                                                      \
    "practitioner IV Ines Varga\npractitioner MK Mara Kell\ncaregiver Nora Lind\n"                 \
    "caregiver.phone = 01632 960133\ndog Juniper\ndog.caregiver = Nora Lind\nvisit today\n"        \
    "practitioner MK\nposture.feet_flat = yes\nhip_width = 13.1 cm, 13.2 cm\n"                     \
    "support level_balanced because her vet lets her walk\n"                                       \
    "teach danger_signs.breath told\nmedicines = none at all\nsurgical_advice = yes\n"

static void feed(struct practice *p, const char *text)
{
    char path[128];
    int status;
    practice_write(p, "visit.txt", text);
    snprintf(path, sizeof path, "%s/visit.txt", p->folder);
    char *said = practice_shell(p, "enter", path, &status);
    if (status != 0)
        fail_msg("%s", said);
    free(said);
}

/* From the start to Juniper's visit, which Today lists until it is signed. */
static struct tty *visit(struct practice *p, bool is_signed)
{
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    go_to_row(t, "Juniper");
    tty_keys(t, "Enter");
    if (is_signed) {
        tty_wait_text(t, "the dog's details");
        tty_keys(t, "Enter");
    }
    tty_wait_text(t, "s sign");
    return t;
}

static void to_hip_width(struct tty *t)
{
    open_section(t, "Measures");
    tty_keys(t, "Down"); /* from the posture ticks */
    wait_row(t, "Hip width");
}

/* The three screens that have no form: what is under the cursor is struck with a reason, which
 * stands there with who gave it, and one key takes that back. Without a reason nothing is struck.
 */
static void struck_and_taken_back(struct tty *t, const char *label, const char *mark)
{
    tty_keys(t, "^E");
    tty_wait_text(t, "because");
    tty_wait_text(t, label);
    tty_keys(t, "Enter");
    tty_wait_text(t, "without a reason nothing is struck");
    tty_keys(t, "^E");
    tty_wait_text(t, "because");
    tty_type(t, "the other dog");
    tty_keys(t, "Enter");
    tty_wait_text(t, mark);
    tty_keys(t, "h");
    tty_wait_text(t, "entered in error");
    tty_wait_text(t, "the other dog");
    tty_keys(t, "^Q");
    tty_wait_text(t, mark);
    tty_keys(t, "^R");
    tty_wait_text(t, "Taken back: ");
    tty_wait_gone(t, mark);
    tty_keys(t, "h");
    tty_wait_text(t, "taken back"); /* and that is told, too */
    tty_wait_text(t, "the other dog");
    tty_keys(t, "^Q");
}

static void entered_in_error_on_measures_support_and_teaching(void **state)
{
    struct practice *p = *state;
    feed(p, BEGUN);
    struct tty *t = visit(p, false);
    to_hip_width(t);
    struck_and_taken_back(t, "Hip width, reading 1", "1st entered in error, by MK: the other dog");
    tty_wait_text(t, "13.1");
    tty_keys(t, "Up"); /* the ticks have a past as well */
    tty_keys(t, "h");
    tty_wait_text(t, "feet flat");
    tty_wait_text(t, "History");
    tty_keys(t, "^Q ^Q");
    open_section(t, "Support");
    struck_and_taken_back(t, "Support", "The decision: entered in error, by MK: the other dog");
    tty_wait_text(t, "Decided by MK: rear frame, level-balanced");
    tty_keys(t, "^Q");
    open_section(t, "Teaching");
    wait_row(t, "Hard breath");
    struck_and_taken_back(t, "Hard breath", "entered in error, by MK: the other dog");
    tty_wait_text(t, "told");
    tty_keys(t, "^Q");
    open_section(t, "History");
    go_to_row(t, "Has a vet said whether to");
    tty_keys(t, "h"); /* a letter is a key where it is no answer */
    tty_wait_text(t, "q back");
    tty_wait_text(t, "MK     yes");
    practice_leave(p);
}

/* What is typed and not yet kept is taken back before what is. */
static void a_number_being_typed_is_taken_back_first(void **state)
{
    struct practice *p = *state;
    feed(p, BEGUN);
    struct tty *t = visit(p, false);
    to_hip_width(t);
    tty_type(t, "99");
    tty_wait_text(t, "99");
    tty_keys(t, "^R");
    tty_wait_text(t, "What was typed is taken back");
    tty_wait_text(t, "13.1");
    tty_wait_gone(t, "99");
    practice_leave(p);
}

/* A decision and the reason it was made against are one step. */
static void a_decision_is_taken_back_with_its_reason(void **state)
{
    struct practice *p = *state;
    feed(p, BEGUN "sign\n");
    struct tty *t = visit(p, true);
    open_section(t, "Support");
    go_to_row(t, "four-wheel frame");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Why is"); /* signed */
    tty_type(t, "her front end fails");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Decided by MK: four-wheel frame");
    tty_wait_text(t, "The decision: after signing, by MK: her front end fails");
    tty_keys(t, "^R");
    tty_wait_text(t, "Taken back: Support");
    tty_wait_text(t, "Decided by MK: rear frame, level-balanced");
    practice_leave(p);
}

/* Each screen asks why, says the reason where it shows the answer, and keeps nothing without one.
 */
static void a_signed_visit_changes_with_a_reason_only(void **state)
{
    struct practice *p = *state;
    feed(p, BEGUN "sign\n");
    struct tty *t = visit(p, true);
    open_section(t, "Teaching");
    wait_row(t, "Hard breath");
    tty_keys(t, "d");
    tty_wait_text(t, "The visit is signed. Why is \"Hard breath");
    tty_keys(t, "Enter");
    tty_wait_text(t, "a change needs a reason");
    tty_wait_text(t, "told");
    tty_keys(t, "d");
    tty_wait_text(t, "Why is");
    tty_type(t, "she did it back");
    tty_keys(t, "Enter");
    tty_wait_text(t, "done back");
    tty_keys(t, "Up");
    tty_wait_text(t, "after signing, by MK: she did it back");
    tty_keys(t, "^Q");
    to_hip_width(t);
    tty_type(t, "13.0");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Why is \"Hip width, reading 1\" changed?");
    tty_type(t, "read once more");
    tty_keys(t, "Enter");
    tty_wait_text(t, "1st after signing, by MK: read once more");
    tty_keys(t, "x");
    tty_wait_text(t, "looked at again\" changed?");
    tty_type(t, "she is that wide");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Checked: it is so");
    tty_keys(t, "^Q");
    open_section(t, "History");
    go_to_row(t, "Medicines now");
    tty_keys(t, "^U");
    tty_type(t, "a new one");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Why is \"Medicines now");
    tty_type(t, "misheard");
    tty_keys(t, "Enter");
    wait_row_left(t, "Medicines now");
    tty_keys(t, "^Q");
    open_section(t, "Accessories");
    tty_keys(t, "Space");
    tty_wait_text(t, "Why is \"Accessories\" changed?");
    tty_type(t, "he asked for it");
    tty_keys(t, "Enter");
    tty_wait_text(t, "after signing, by MK: he asked for it");
    tty_keys(t, "h");
    tty_wait_text(t, "History");
    tty_wait_text(t, "after signing: he asked for it");
    practice_leave(p);
    char *said = practice_says(p, "paper record Juniper");
    assert_non_null(strstr(said, "before: told  [MK"));
    assert_non_null(strstr(said, "before: 13.1 cm  [MK"));
    free(said);
}

/* What MK signed IV corrects: both are kept, both are named, on the screen and on paper. */
static void a_colleague_is_corrected_and_both_are_named(void **state)
{
    struct practice *p = *state;
    feed(p, BEGUN "sign\npractitioner IV\nreason read once more\nmedicines = a new one\n");
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    go_to_row(t, "Juniper");
    tty_keys(t, "Enter");
    tty_wait_text(t, "changed after signing");
    tty_keys(t, "h"); /* the visit under the cursor */
    tty_wait_text(t, "all that was entered");
    tty_golden(t, "history_findings_80");
    tty_keys(t, "c");
    tty_wait_text(t, "what was changed");
    wait_row(t, "Medicines now");
    tty_wait_text(t, "after signing");
    tty_wait_gone(t, "feet flat");
    tty_keys(t, "Enter");
    tty_wait_text(t, "History");
    tty_wait_text(t, "MK     none at all");
    tty_wait_text(t, "IV     a new one");
    tty_wait_text(t, "after signing: read once more");
    tty_golden(t, "history_80");
    tty_keys(t, "p");
    tty_wait_text(t, "v look at it first");
    tty_keys(t, "v");
    tty_wait_text(t, "Preview");
    tty_wait_text(t, "- none at all  [MK, Tue 24 Nov 2026 09:30]");
    tty_wait_text(t, "- a new one  [IV, Tue 24 Nov 2026 09:30, after signing]");
    tty_keys(t, "s");
    tty_wait_text(t, "Save as");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Saved as");
    tty_keys(t, "^Q ^Q");
    tty_wait_text(t, "what was changed");
    tty_keys(t, "p");
    tty_wait_text(t, "v look at it first");
    tty_keys(t, "v");
    tty_wait_text(t, "What was changed");
    tty_wait_text(t, "before: none at all  [MK, Tue 24 Nov 2026 09:30]");
    practice_leave(p);
    char *saved = practice_file(p, "history-2026-11-24.txt");
    assert_non_null(strstr(saved, "- none at all  [MK, Tue 24 Nov 2026 09:30]"));
    free(saved);
    char *said = practice_says(p, "paper history Juniper medicines");
    assert_non_null(strstr(said, "a new one  [IV, Tue 24 Nov 2026 09:30, after signing]"));
    free(said);
}

#define REVIEWED                                                                                   \
    "practitioner IV Ines Varga\ncaregiver Nora Lind\ncaregiver.phone = 01632 960133\n"            \
    "dog Juniper\nvisit today\nvisit.kind = review\nlife_quality = 50/70\n"                        \
    "goals = the garden once more\nreview.skin_worst = clear\nhip_width = 13.1 cm, 13.2 cm\n"      \
    "sign\nreason he rang again\nlife_quality = 40/70\nreview.skin_worst = broken\n"               \
    "goals = the beach once more\nhip_width = 13.1 cm, 13.4 cm\n"

/* Every screen that shows what was changed after signing says so. */
static void what_came_after_signing_is_marked_where_it_shows(void **state)
{
    struct practice *p = *state;
    feed(p, REVIEWED);
    struct tty *t = practice_open(p, (struct stage){.rows = 43, .cols = 132});
    tty_wait_text(t, "find");
    go_to_row(t, "Juniper");
    tty_keys(t, "Enter");
    tty_wait_text(t, "changed after signing"); /* on the dog's page */
    tty_keys(t, "Enter");
    tty_wait_text(t, "s sign");
    go_to_row(t, "Since last time");
    wait_row(t, "after signing"); /* the section */
    tty_keys(t, "Down");
    wait_row(t, "Review");
    tty_keys(t, "Enter");
    tty_wait_text(t, "skin broken or blistered (changed after signing)"); /* in the rule's reason */
    tty_wait_text(t, "Tue 24 Nov 2026: after signing, by IV: he rang again"); /* of the trend */
    tty_wait_text(t, "on Tuesday 24 November 2026");
    tty_wait_text(t, "   after signing, by IV: he rang again"); /* under score, words and skin */
    tty_keys(t, "t");
    tty_wait_text(t, "Trends");
    go_to_row(t, "Quality of life");
    tty_wait_text(t, "marked     Tue 24 Nov 2026: after signing, by IV: he rang again");
    tty_keys(t, "^Q ^Q");
    tty_wait_text(t, "s sign");
    go_to_row(t, "Measures");
    wait_row(t, "after signing");
    tty_golden(t, "history_visit_132");
    tty_keys(t, "h");
    tty_wait_text(t, "all that was entered");
    tty_golden(t, "history_findings_132");
    go_to_row(t, "Goals in the owner");
    tty_keys(t, "h");
    tty_wait_text(t, "the beach once more");
    tty_golden(t, "history_132");
    practice_leave(p);
}

static void a_setting_kept_after_signing_is_marked_on_the_bench(void **state)
{
    struct practice *p = *state;
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    tty_keys(t, "f");
    tty_wait_text(t, "Dog, caregiver");
    tty_type(t, "biscuit");
    tty_wait_text(t, "Dachshund");
    tty_keys(t, "Enter");
    tty_wait_text(t, "the dog's details");
    tty_keys(t, "Enter");
    open_section(t, "Fit");
    tty_wait_text(t, "axle");
    tty_keys(t, "Left Enter");
    tty_wait_text(t, "Why is \"Fit\" changed?");
    tty_type(t, "she tips on the ramp");
    tty_keys(t, "Enter");
    tty_keys(t, "!");
    tty_wait_text(t, "the setting kept: after signing, by");
    tty_wait_text(t, "she tips on the ramp");
    practice_leave(p);
}

/* One key from every screen about somebody to all that was entered there. */
static void any_finding_has_a_history_on_one_key(void **state)
{
    struct practice *p = *state;
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    go_to_row(t, "Rolf");
    tty_keys(t, "h");
    tty_wait_text(t, "all that was entered");
    tty_wait_text(t, "Rolf");
    tty_keys(t, "^Q p");
    tty_wait_text(t, "Who is at the keys");
    tty_keys(t, "h");
    tty_wait_text(t, "all that was entered");
    wait_row(t, "Initials");
    tty_keys(t, "Enter");
    tty_wait_text(t, "History");
    tty_keys(t, "^Q ^Q e");
    tty_wait_text(t, "Equipment");
    tty_keys(t, "h");
    tty_wait_text(t, "all that was entered");
    tty_keys(t, "^Q ^Q ^Q f");
    tty_wait_text(t, "Dog, caregiver");
    tty_type(t, "bruno");
    tty_wait_text(t, "with Luc");
    tty_keys(t, "F2"); /* letters are text here */
    tty_wait_text(t, "all that was entered");
    tty_keys(t, "^Q Enter");
    tty_wait_text(t, "Changed from visit 8 to visit 9");
    go_to_row(t, "Quality of life");
    tty_keys(t, "h");
    tty_wait_text(t, "History");
    tty_wait_text(t, "41 of 70");
    tty_keys(t, "^Q Enter"); /* the visit it was found at */
    tty_wait_text(t, "visit 9");
    tty_keys(t, "Home");
    go_to_row(t, "Review");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Changed beyond noise?");
    tty_keys(t, "h");
    tty_wait_text(t, "all that was entered");
    go_to_row(t, "Bad days");
    tty_keys(t, "F2");
    tty_wait_text(t, "History");
    practice_leave(p);
}

#define with(setup, name) cmocka_unit_test_setup_teardown(name, setup, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        with(practice_setup, entered_in_error_on_measures_support_and_teaching),
        with(practice_setup, a_number_being_typed_is_taken_back_first),
        with(practice_setup, a_decision_is_taken_back_with_its_reason),
        with(practice_setup, a_signed_visit_changes_with_a_reason_only),
        with(practice_setup, a_colleague_is_corrected_and_both_are_named),
        with(practice_setup, what_came_after_signing_is_marked_where_it_shows),
        with(practice_setup_demo, a_setting_kept_after_signing_is_marked_on_the_bench),
        with(practice_setup_demo, any_finding_has_a_history_on_one_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
