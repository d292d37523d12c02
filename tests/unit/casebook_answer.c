#include "casebook_world.h"

static int64_t now(void)
{
    return clock_now();
}

static const struct item *item(struct world *w, const char *id)
{
    const struct item *i = template_item(w->set, id);
    if (i == NULL)
        fail_msg("no item %s", id);
    return i;
}

static const char *kept(struct world *w, const char *id, const char *typed)
{
    const char *canonical = NULL;
    OK(answer_read(w->set, item(w, id), typed, now(), w->arena, &canonical, f));
    return canonical;
}

static const char *shown(struct world *w, const char *id, const char *canonical)
{
    return answer_show(w->set, item(w, id), canonical, w->arena);
}

struct pair {
    const char *item, *typed, *canonical;
};

static void what_is_typed_becomes_canonical(void **state)
{
    struct world *w = *state;
    static const struct pair pairs[] = {
        {"threshold", "9 1/4 in", "234.95 mm"},
        {"threshold", "23.5 cm", "235 mm"},
        {"threshold", "23,5 cm", "235 mm"},
        {"threshold", "23.50 cm", "235.0 mm"},
        {"threshold", "235mm", "235 mm"},
        {"threshold", "23,5", "235 mm"}, /* the practice's unit is cm */
        {"threshold", "4.75\"", "120.65 mm"},
        {"threshold", "9 1/2 mm", "9.5 mm"},
        {"threshold", "0.2 m", "200 mm"},
        {"threshold", "  15 mm ", "15 mm"},
        {"call.mass", "9.4", "9.4 kg"},
        {"call.mass", "9.40 kg", "9.40 kg"},
        {"call.mass", "9400 g", "9.400 kg"},
        {"call.mass", "20 lb 11 oz", "9.3837 kg"},
        {"temperature", "39.2", "39.2 degC"},
        {"temperature", "102.5 degF", "39.1667 degC"},
        {"body_condition", "3", "3"},
        {"call.age_years", "6.5", "6.5"},
        {"walking", "y", "yes"},
        {"walking", "N", "no"},
        {"walking", "u", "unknown"},
        {"walking", "?", "unknown"},
        {"front_legs", "sound", "sound"},
        {"front_legs", "Knuckle over", "knuckles"},
        {"front_legs", "3", "failing"},
        {"front_legs", "kn", "knuckles"},
        {"front_legs", "give", "failing"},
        {"grade", "0", "g0"}, /* the first word of the label before the number from 1 */
        {"grade", "1", "g1"},
        {"grade", "g2", "g2"},
        {"skin", "toes, hip", "hip toes"},
        {"skin", "hip bone, tail base", "hip tail"},
        {"skin", "toes hip", "hip toes"},
        {"skin", "hip, hip", "hip"},
        {"dog.born", "24.11.2020", "2020-11-24"},
        {"dog.born", "yesterday", "2026-11-23"},
        {"call.onset", "3 h ago", "2026-11-24T06:30"},
        {"call.onset", "9:15", "2026-11-24T09:15"},
        {"call.onset", "22 Nov 18:00", "2026-11-22T18:00"},
        {"remark", "  two\nlines ", "two lines"},
        {"story", "two\n\nlines\n", "two\n\nlines"},
        {"story", "   ", ""},
        {"walking", "", ""},
        {"threshold", "", ""},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        const char *got = kept(w, pairs[i].item, pairs[i].typed);
        if (strcmp(got, pairs[i].canonical) != 0)
            fail_msg("%s: \"%s\" became \"%s\", not \"%s\"", pairs[i].item, pairs[i].typed, got,
                     pairs[i].canonical);
    }
}

static void what_is_not_understood_is_refused_in_words(void **state)
{
    struct world *w = *state;
    static const struct {
        const char *item, *typed, *said;
    } wrong[] = {
        {"threshold", "50 cm", "0 to 40 cm is expected"},
        {"threshold", "3 kg", "a length is expected"},
        {"threshold", "high", "not a number"},
        {"body_condition", "10", "1 to 9 is expected"},
        {"body_condition", "4 kg", "without a unit"},
        {"temperature", "393", "30 to 44 degC"},
        {"walking", "maybe", "yes, no or not known"},
        {"front_legs", "f", "could be \"give way\" or \"fixed in a splint\""},
        {"front_legs", "knuckels", "did you mean"},
        {"front_legs", "9", "none of the choices: sound, knuckle over"},
        {"grade", "3", "none of the choices: 0  no feeling"}, /* a grade, never the third */
        {"skin", "hip, nose", "none of the choices"},
        {"dog.born", "when young", "is not a day"},
        {"call.onset", "a while ago", "is not a time"},
        {"remark", "\xff", "UTF-8"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        const char *canonical;
        struct fault f = {0};
        if (answer_read(w->set, item(w, wrong[i].item), wrong[i].typed, now(), w->arena, &canonical,
                        &f))
            fail_msg("%s took \"%s\" as \"%s\"", wrong[i].item, wrong[i].typed, canonical);
        assert_int_equal(f.kind, FAULT_INPUT);
        if (strstr(f.text, wrong[i].said) == NULL)
            fail_msg("%s: \"%s\" does not say \"%s\"", wrong[i].item, f.text, wrong[i].said);
    }
}

static void a_start_that_fits_two_names_both(void **state)
{
    struct world *w = *state;
    const char *canonical;
    struct fault f = {0};
    assert_false(answer_read(w->set, item(w, "skin"), "t", now(), w->arena, &canonical, &f));
    assert_non_null(strstr(f.text, "toes, between"));
    assert_non_null(strstr(f.text, "tail base"));
}

static void values_are_shown_for_people(void **state)
{
    struct world *w = *state;
    assert_string_equal(shown(w, "threshold", "235 mm"), "23.5 cm");
    assert_string_equal(shown(w, "threshold", "234.95 mm"),
                        "23.5 cm"); /* whole mm were asked for */
    assert_string_equal(shown(w, "call.mass", "9.4 kg"), "9.4 kg");
    assert_string_equal(shown(w, "temperature", "39.1667 degC"), "39.2 degC");
    assert_string_equal(shown(w, "body_condition", "3"), "3");
    assert_string_equal(shown(w, "front_legs", "knuckles"), "knuckle over");
    assert_string_equal(shown(w, "front_legs", "long_gone"), "long_gone"); /* an older template's */
    assert_string_equal(shown(w, "skin", "hip tail"), "hip bone, tail base");
    assert_string_equal(shown(w, "walking", "unknown"), "not known");
    assert_string_equal(shown(w, "dog.born", "2020-11-24"), "Tue 24 Nov 2020");
    assert_string_equal(shown(w, "call.onset", "2026-11-24T06:30"), "Tue 24 Nov 2026, 06:30");
    assert_string_equal(shown(w, "remark", "as it is"), "as it is");
    assert_string_equal(shown(w, "walking", ""), "");
}

static void in_inches_no_false_precision_is_shown(void **state)
{
    struct world *w = *state;
    w->set->practice.length_unit = unit_find("in");
    assert_string_equal(shown(w, "threshold", "234.95 mm"), "9.25 in");
    assert_string_equal(kept(w, "threshold", "9.25"), "234.95 mm");
}

static void editing_gives_the_same_value_again(void **state)
{
    struct world *w = *state;
    static const struct pair pairs[] = {
        {"threshold", "", "235 mm"},
        {"threshold", "", "235.0 mm"},
        {"threshold", "", "234.95 mm"},
        {"threshold", "", "9.3837 mm"},
        {"call.mass", "", "9.3837 kg"},
        {"call.mass", "", "9.40 kg"},
        {"temperature", "", "39.2 degC"},
        {"temperature", "", "39.1667 degC"},
        {"body_condition", "", "3"},
        {"call.age_years", "", "6.5"},
        {"walking", "", "yes"},
        {"walking", "", "unknown"},
        {"front_legs", "", "failing"},
        {"grade", "", "g0"},
        {"grade", "", "g2"},
        {"skin", "", "hip tail"},
        {"skin", "", "hip toes"}, /* a label with a comma in it */
        {"dog.born", "", "2020-02-29"},
        {"call.onset", "", "2026-11-24T06:30"},
        {"remark", "", "as it is"},
        {"story", "", "two\n\nlines"},
    };
    static const char *const lengths[] = {"cm", "mm", "in", "m"}, *const masses[] = {"kg", "lb",
                                                                                     "g", "kg"};
    for (size_t u = 0; u < 4; u++) {
        w->set->practice.length_unit = unit_find(lengths[u]);
        w->set->practice.mass_unit = unit_find(masses[u]);
        for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
            const struct item *it = item(w, pairs[i].item);
            const char *typed = answer_edit(w->set, it, pairs[i].canonical, w->arena);
            const char *again = kept(w, pairs[i].item, typed);
            if (strcmp(again, pairs[i].canonical) != 0)
                fail_msg("%s: \"%s\" edits as \"%s\" and reads \"%s\"", pairs[i].item,
                         pairs[i].canonical, typed, again);
        }
    }
    w->set->practice.length_unit = unit_find("cm");
    assert_string_equal(answer_edit(w->set, item(w, "threshold"), "235 mm", w->arena), "23.5");
    assert_string_equal(answer_edit(w->set, item(w, "front_legs"), "failing", w->arena),
                        "give way");
}

static void every_finding_has_words(void **state)
{
    struct world *w = *state;
    struct arena *a = w->arena;
    assert_string_equal(finding_label(w->set, "walking", a), "Walks alone?");
    assert_string_equal(finding_label(w->set, "hip_width", a), "hip width");
    assert_string_equal(finding_label(w->set, "hip_width.2", a), "hip width, reading 2");
    assert_string_equal(finding_label(w->set, "teach.bladder.blood", a), "Blood in the urine");
    assert_string_equal(finding_label(w->set, "support", a), "Support");
    assert_string_equal(finding_label(w->set, "of.nothing", a), "of.nothing");
    assert_string_equal(finding_show(w->set, "walking", "unknown", a), "not known");
    assert_string_equal(finding_show(w->set, "hip_width.2", "132 mm", a), "13.2 cm");
    assert_string_equal(finding_show(w->set, "hip_width.so", "yes", a), "yes");
    assert_string_equal(finding_show(w->set, "teach.bladder.blood", "done_back", a), "done back");
    assert_string_equal(finding_show(w->set, "support", "four", a), "four-wheel frame");
    assert_string_equal(finding_show(w->set, "fit.frame", "level_small", a),
                        "level-balanced, small");
    assert_string_equal(finding_show(w->set, "visit.day", "2026-11-24", a), "Tue 24 Nov 2026");
    assert_string_equal(finding_show(w->set, "call.outcome", "advice", a),
                        "advice given, no visit");
    assert_string_equal(finding_show(w->set, "of.nothing", "x", a), "x");
}

static void a_question_is_kept_with_what_it_is_about(void **state)
{
    struct world *w = *state;
    const char *about;
    assert_ptr_equal(casebook_item(w->set, "walking", &about), item(w, "walking"));
    assert_string_equal(about, "visit");
    assert_non_null(casebook_item(w->set, "call.outcome", &about)); /* no form here asks for it */
    assert_string_equal(about, "call");
    assert_null(casebook_item(w->set, "of.nothing", &about));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(what_is_typed_becomes_canonical),
        TEST(what_is_not_understood_is_refused_in_words),
        TEST(a_start_that_fits_two_names_both),
        TEST(values_are_shown_for_people),
        TEST(in_inches_no_false_precision_is_shown),
        TEST(editing_gives_the_same_value_again),
        TEST(every_finding_has_words),
        TEST(a_question_is_kept_with_what_it_is_about),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
