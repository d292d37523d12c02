/* A whole first visit, key by key, from the first start of the program to the signed sheet; and the
 * same visit as lines of text. Both must make one and the same care sheet. */
#include "tests/screens/visit_kit.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(steps) (sizeof(steps) / sizeof *(steps))

enum { DANGER_SIGNS = 17 };

/* ---- the call ------------------------------------------------------------------------------ */

static const struct step flags[] = {
    {"hard for the dog to breathe", "n", NULL},
    {"gums white", "n", NULL},
    {"collapsed or fainted", "n", NULL},
    {"a fall or a blow", "n", NULL},
    {"start in the last 3 days", "n", NULL},
    {"walk ten steps alone", "n", NULL},
    {"move the hind legs itself", "y", NULL},
    {"find the hind toes numb", "n", NULL},
    {"worse from hour to hour", "n", NULL},
    {"weakness creeping forward", "n", NULL},
    {"front legs weak too", "n", NULL},
    {"leg cold", "n", NULL},
    {"urine coming out", "y", NULL},
    {"belly hard or sore", "n", NULL},
    {"urine red", "n", NULL},
    {"keep it from resting", "n", NULL},
    {"neck sore", "n", NULL},
    {"back sore", "n", NULL},
    {"hot and dull", "n", NULL},
    {"choke", "n", NULL},
    {"sore or a new swelling", "n", NULL},
    {"vet examined it", "y", NULL},
};

static const struct step intake[] = {
    {"Phone number", NULL, "01632 960133"},
    {"Caller's name", NULL, "Nora Lind"},
    {"Address", NULL, "7 Weir Cottages, Fernhill"},
    {"Dog's name", NULL, "Juniper"},
    {"Breed", NULL, "Dachshund"},
    {"Age in years", NULL, "9"},
    {"Weight as far as known", NULL, "20 lb"},
    {"Started, or last", NULL, "10 Aug"},
    {"noticed first", NULL, "nails worn on top"},
    {"called so far", NULL, "slipped disc"},
    {"Who said so", NULL, "the dog's own"},
    {"Pictures of the spine", "1 4 Enter", NULL},
    {"Operated on", "n", NULL},
    {"Medicines now", NULL, "none since October"},
    {"caller hope for", NULL, "to get to the end of the garden again"},
};

/* ---- the visit ----------------------------------------------------------------------------- */

static const struct step history[] = {
    {"What happened", NULL, "Slower on the stairs since August, then the hind legs gave way."},
    {"Toe scraping", NULL, "3 Aug"},
    {"How it has gone", NULL, "the same"},
    {"Legs affected", NULL, "hind"},
    {"What kind of dog", NULL, "old"},
    {"Cause as diagnosed", NULL, "disc"},
    {"Who made it", NULL, "vet of"},
    {"go on getting worse", "n", NULL},
    {"whether to operate", "y", NULL},
    {"broken or unstable", "n", NULL},
    {"Lesion of the neck", "n", NULL},
    {"Other illness", NULL, "a murmur, known for two years"},
    {"Tried so far", "1 6 6 Enter", NULL},
};

static const struct step examination[] = {
    {"Temperature", NULL, "38,6"},
    {"Body condition", NULL, "6"},
    {"Scored by", "1", NULL},
    {"Muscle", NULL, "some"},
    {"Heart", NULL, "murmur"},
    {"Airway", NULL, "clear"},
    {"pain under control", "y", NULL},
    {"Ten steps", "n", NULL},
    {"Hind legs move", NULL, "move"},
    {"Modified Frankel", NULL, "3"},
    {"still carry", NULL, "15"},
    {"Paw placing, left", NULL, "absent"},
    {"Paw placing, right", NULL, "slow"},
    {"Paw placing, front", NULL, "normal"},
    {"Spine sore", "1 Enter", NULL},
    {"Balance", NULL, "sound"},
    {"Front legs", NULL, "sound,"},
    {"front feet knuckle", "n", NULL},
    {"Sore joints in front", "y", NULL},
    {"front leg missing", "n", NULL},
    {"Whole skin", "y", NULL},
    {"Open, scalded", "1 Enter", NULL},
    {"Bladder", NULL, "tight"},
    {"Last emptied", NULL, "today 7:30"},
    {"Emptied by", NULL, "the caregiver"},
    {"Times a day", NULL, "4"},
};

static const struct step home[] = {
    {"Floors", "2 5 Enter", NULL},
    {"Steps to climb", NULL, "3"},
    {"closed off", "y", NULL},
    {"Highest threshold", NULL, "3/4 in"},
    {"ramp or slope, rise", NULL, "12 cm"},
    {"ramp or slope, run", NULL, "1.2 m"},
    {"Narrowest door", NULL, "700mm"},
    {"Who can lift", NULL, "one"},
    {"empty a bladder", NULL, "would"},
};

struct twice {
    const char *measure, *first, *second;
};

static const struct twice to_the_suspect[] = {
    {"Hip width", "13.6", "5.35\""},
    {"Thigh depth", "7.3", "7,2 cm"},
    {"Withers height", "9 1/4 in", "235mm"},
    {"Pelvic-floor height", "19.2", "19.1"}, /* the hips were lifted */
};

static const struct twice corrected[] = {{"Pelvic-floor height", "15.6", "157mm"}};

static const struct twice from_there[] = {
    {"Elbow height", "10.5", "10.6"},      {"Sternum height", "7.8", "78 mm"},
    {"Hock height", "5.4", "5.4"},         {"Trunk span", "31", "31.2"},
    {"Body length", "41,2 cm", "41.0"},    {"Stance length", "33", "13 in"},
    {"Chest width", "14.2", "14.1"},       {"Chest depth", "15.7", "15.7"},
    {"Fore-foot spacing", "10.6", "10.4"}, {"Chest girth", "46.8", "47"},
    {"Neck girth", "31.5", "31.5"},        {"Weight   ", "8.9", "19.6 lb"},
};

/* Both scales in one moment, three times. */
static const char *const scales[] = {"5.6", "3.3", "5.6", "3.2", "5.6", "3.3"};

static const struct step decision[] = {
    {"Consent of the owner", NULL, "to all"},
    {"Photographs", "n", NULL},
    {"Goals in the owner", NULL, "To the end of the garden, and back for supper."},
    {"live with incontinence", "1", NULL},
    {"Told plainly", "y", NULL},
    {"Told what else", "y", NULL},
    {"Accessories", "1 Enter", NULL},
    {"Plan until", NULL, "Sling on the stairs. The heart is looked at before the first walk."},
    {"Next visit", NULL, "15 Dec"},
};

/* ---- its parts ----------------------------------------------------------------------------- */

static void take_call(struct tty *t)
{
    tty_wait_text(t, "Nothing is due.");
    answer_line(t, "Name of the practitioner?", "Ines Varga");
    answer_line(t, "Initials, as they stand beside every entry?", "IV");
    tty_wait_text(t, "c takes a call");
    tty_keys(t, "c");
    tty_wait_text(t, "A new call");
    tty_wait_text(t, "Not yet known. Ask on.");
    play(t, flags, COUNT(flags));
    tty_wait_text(t, "No red flag in what was asked.");
    play(t, intake, COUNT(intake));
    tty_keys(t, "^V");
    answer_line(t, "Visit on which day and time?", "today 11:00");
    tty_wait_text(t, "Juniper");
    tty_wait_text(t, "Nora Lind  01632 960133  7 Weir Cottages, Fernhill");
}

static void fill_dog(struct tty *t)
{
    static const struct step dog[] = {
        {"Born", NULL, "2 Jun 2017"},
        {"Sex", "4", NULL},
        {"takes handling", "1", NULL},
    };
    tty_keys(t, "d");
    tty_wait_text(t, "v new visit");
    go_to_row(t, "the dog's details");
    tty_keys(t, "Enter");
    play(t, dog, COUNT(dog));
    tty_keys(t, "^Q");
    tty_wait_text(t, "v new visit");
    tty_keys(t, "^Q");
}

static void section(struct tty *t, const char *title, const struct step *steps, size_t count)
{
    open_section(t, title);
    play(t, steps, count);
    tty_keys(t, "^Q");
    tty_wait_text(t, "s sign");
}

static void measure(struct tty *t, const struct twice *all, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        go_to_row(t, all[i].measure);
        tty_type(t, all[i].first);
        tty_keys(t, "Enter");
        tty_type(t, all[i].second);
        tty_keys(t, "Enter");
        wait_row_left(t, all[i].measure);
    }
}

static void take_measures(struct tty *t)
{
    open_section(t, "Measures");
    tty_keys(t, "y y y y");
    wait_row(t, "Hip width");
    measure(t, to_the_suspect, COUNT(to_the_suspect));
    tty_wait_text(t, "Look again at Pelvic-floor height");
    tty_wait_text(t, "Usually the hips were lifted");
    tty_keys(t, "Up");
    wait_row(t, corrected[0].measure);
    measure(t, corrected, COUNT(corrected));
    tty_wait_gone(t, "Look again");
    measure(t, from_there, COUNT(from_there));
    for (size_t i = 0; i < COUNT(scales); i++) {
        wait_row(t, i % 2 == 0 ? "Weight, front" : "Weight, hind");
        tty_type(t, scales[i]);
        tty_keys(t, "Enter");
    }
    tty_wait_text(t, "On the fore feet 63.2 %, CV 0.7 % of 3");
    tty_keys(t, "^Q");
    tty_wait_text(t, "18 of 18 needed");
}

static void decide(struct tty *t)
{
    tty_wait_text(t, "proposed, with care: rear frame, stepped");
    open_section(t, "Support");
    go_to_row(t, "rear frame, stepped");
    tty_wait_text(t, "Settle what heart and airway bear");
    tty_keys(t, "Enter");
    answer_line(t, "This goes against a rule. Why is it right for this dog?",
                "Her vet heard the heart last week and lets her walk");
    tty_wait_text(t, "IV decided against a rule: Her vet heard");
    tty_keys(t, "^Q");
    open_section(t, "Fit");
    tty_wait_text(t, "step 1 of 7"); /* proposed; less relief is wanted here */
    tty_keys(t, "> >");
    tty_wait_text(t, "267 mm   step 3 of 7");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Kept: axle at 267 mm behind the fore feet");
    tty_keys(t, "^Q");
}

/* Every danger sign told, then what this caregiver was shown or did back. */
static void teach(struct tty *t)
{
    static const struct step rest[] = {
        {"Where the bladder lies", "d", NULL}, {"Flat hands", "d", NULL},
        {"How often, day", "t", NULL},         {"Never press hard", "s", NULL},
        {"Every day, every zone", "s", NULL},  {"Not before the fitting", "t", NULL},
        {"Never alone in a frame", "t", NULL}, {"Floors that grip", "t", NULL},
        {"A strap at the throat", "t", NULL},
    };
    open_section(t, "Teaching");
    wait_row(t, "Hard breath at rest");
    for (int i = 0; i < DANGER_SIGNS; i++)
        tty_keys(t, "t");
    wait_row(t, rest[0].at);
    play(t, rest, COUNT(rest));
    tty_keys(t, "^Q");
}

static void hand_out(struct tty *t)
{
    open_section(t, "Handout");
    tty_wait_text(t, "Care sheet for Juniper");
    tty_keys(t, "s");
    tty_wait_text(t, "Save as");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Saved as");
    tty_keys(t, "^Q");
    tty_wait_text(t, "handed over");
}

static void sign(struct tty *t)
{
    tty_keys(t, "s");
    tty_wait_text(t, "Sign this visit? y n");
    tty_keys(t, "y");
    tty_wait_text(t, "Signed by IV");
}

/* ---- the tests ----------------------------------------------------------------------------- */

static void play_whole_visit(struct practice *p, int rows, int cols)
{
    struct tty *t = practice_open(p, (struct stage){.rows = rows, .cols = cols});
    take_call(t);
    fill_dog(t);
    section(t, "History", history, COUNT(history));
    section(t, "Examination", examination, COUNT(examination));
    section(t, "Home", home, COUNT(home));
    take_measures(t);
    section(t, "Decision", decision, COUNT(decision));
    decide(t);
    teach(t);
    hand_out(t);
    sign(t);
    practice_leave(p);
}

/* That the sheet was handed over is a key on the screen and no line: it stands by itself. */
static void cut_part(char *record, const char *heading)
{
    char *at = strstr(record, heading);
    assert_non_null(at);
    char *end = strstr(at, "\n\n");
    assert_non_null(end);
    memmove(at, end + 2, strlen(end + 2) + 1);
}

/* What was piped in makes the sheet that was made on the screen, and that was saved there. */
static void compare_with_piped(struct practice *typed)
{
    void *other;
    practice_setup(&other);
    practice_feed(other, "tests/screens/visit.txt");
    char *saved = practice_file(typed, "care-sheet-2026-11-24.txt");
    char *from_screen = practice_says(typed, "sheet Juniper");
    char *from_lines = practice_says(other, "sheet Juniper");
    assert_string_equal(from_screen, saved);
    assert_string_equal(from_lines, from_screen);
    free(from_lines);
    from_lines = practice_says(other, "show Juniper");
    char *record = practice_says(typed, "show Juniper");
    cut_part(record, "Also recorded: visit");
    assert_string_equal(from_lines, record);
    free(record);
    free(saved);
    free(from_screen);
    free(from_lines);
    practice_teardown(&other);
}

static void at_80_by_24(void **state)
{
    play_whole_visit(*state, 24, 80);
    compare_with_piped(*state);
}

static void at_132_by_43(void **state)
{
    play_whole_visit(*state, 43, 132);
    compare_with_piped(*state);
}

#define T(f) cmocka_unit_test_setup_teardown(f, practice_setup, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {T(at_80_by_24), T(at_132_by_43)};
    return cmocka_run_group_tests_name("a whole visit", tests, NULL, NULL);
}
