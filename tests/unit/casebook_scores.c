/* Totals of scales: kept whole, judged by their own published cut-offs, at the boundaries.
 *
 * Check values: Glasgow short form, intervene at 6 of 24 or 5 of 20, never a fraction (ava.eu.com);
 * burden, 18 items: normal 0 to 17, meaningful above 18, severe above 31, short form normal 0 to 8
 * (PMC6524077); seven-item quality of life: above 35 acceptable (2007 book). */
#include "casebook/scores.h"
#include "casebook_practice.h"

struct cut_case {
    const char *item, *typed, *kept, *words;
    bool alert;
};

static void each_total_is_judged_by_its_own_cut_offs(void **state)
{
    static const struct cut_case cases[] = {
        {"pain_score", "5/20", "5 of 20 glasgow_still short_form", "at or above", true},
        {"pain_score", "5/24", "5 of 24 glasgow_walk short_form", "below", false},
        {"pain_score", "4/20", "4 of 20 glasgow_still short_form", "below", false},
        {"pain_score", "6/24", "6 of 24 glasgow_walk short_form", "at or above", true},
        {"pain_score", "9/10", "9 of 10 pain_plain own", NULL, false},
        {"burden", "17/72", "17 of 72 burden_18 pet_adapted", "normal", false},
        {"burden", "18/72", "18 of 72 burden_18 pet_adapted", "18, between", false},
        {"burden", "19/72", "19 of 72 burden_18 pet_adapted", "meaningful", true},
        {"burden", "31/72", "31 of 72 burden_18 pet_adapted", "meaningful", true},
        {"burden", "32/72", "32 of 72 burden_18 pet_adapted", "severe", true},
        {"burden", "8/28", "8 of 28 burden_7 pet_adapted_short", "normal", false},
        {"burden", "9/28", "9 of 28 burden_7 pet_adapted_short", "above normal", true},
        {"life_quality", "34/70", "34 of 70 quality_7 book_2007", "not above", false},
        {"life_quality", "35/70", "35 of 70 quality_7 book_2007", "35 itself", false},
        {"life_quality", "36/70", "36 of 70 quality_7 book_2007", "acceptable", false},
        {"finfun", "14", "14 of 44 finfun v2018", NULL, false},
    };
    struct world *w = *state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct cut_case *k = &cases[i];
        const struct item *item = template_item(w->set, k->item);
        const char *kept;
        struct score_kept score;
        OK(answer_read(w->set, item, k->typed, 0, w->arena, &kept, f));
        assert_string_equal(kept, k->kept);
        assert_true(score_parse(w->set, kept, &score));
        const struct score_cut *cut = score_cut_of(&score);
        assert_true((cut == NULL) == (k->words == NULL));
        if (cut != NULL && strstr(cut->words, k->words) != cut->words)
            fail_msg("%s is \"%s\"", k->typed, cut->words);
        assert_true((cut != NULL && cut->alert) == k->alert);
        OK(answer_read(w->set, item, answer_edit(w->set, item, kept, w->arena), 0, w->arena, &kept,
                       f));
        assert_string_equal(kept, k->kept);
    }
}

static void a_bare_number_is_no_score_where_scales_differ(void **state)
{
    struct world *w = *state;
    const struct item *pain = template_item(w->set, "pain_score");
    const char *kept;
    REFUSED(answer_read(w->set, pain, "5", 0, w->arena, &kept, f), FAULT_INPUT,
            "say what it is out of: /24, /20, /10");
    REFUSED(answer_read(w->set, pain, "5/22", 0, w->arena, &kept, f), FAULT_INPUT, "out of");
    REFUSED(answer_read(w->set, pain, "21/20", 0, w->arena, &kept, f), FAULT_INPUT,
            "above the greatest total, 20");
    static const char *const nonsense[] = {"a",   "-1/20",   "5.5/20", "5/",
                                           "/20", "5/20/24", "999999"};
    for (size_t i = 0; i < sizeof nonsense / sizeof *nonsense; i++)
        REFUSED(answer_read(w->set, pain, nonsense[i], 0, w->arena, &kept, f), FAULT_INPUT, "");
}

/* The scale a practice no longer has, or has in another version, is not judged by today's. */
static void another_version_is_shown_as_it_was_kept(void **state)
{
    struct world *w = *state;
    struct score_kept score;
    static const char *const others[] = {"5 of 20 glasgow_still older",
                                         "5 of 22 glasgow_still short_form",
                                         "5 of 20 unheard_of v1",
                                         "5",
                                         "5 of 20",
                                         "",
                                         "5 of 20 glasgow_still short_form and more"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        assert_false(score_parse(w->set, others[i], &score));
        assert_string_equal(score_show(w->set, others[i], w->arena), others[i]);
    }
    assert_string_equal(score_show(w->set, "5 of 20 glasgow_still short_form", w->arena),
                        "5 of 20, Glasgow short-form pain score, dog not walked: at or above the "
                        "published alert of 5 of 20");
}

static void the_alert_is_a_fact_for_rules(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    assert_null(chart_fact(&c, "pain_alert"));
    put(w, &c.visit, "pain_score", "5 of 24 glasgow_walk short_form");
    assert_string_equal(chart_fact(&c, "pain_alert"), "no");
    put(w, &c.visit, "pain_score", "5 of 20 glasgow_still short_form");
    assert_string_equal(chart_fact(&c, "pain_alert"), "yes");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHIPPED(each_total_is_judged_by_its_own_cut_offs),
        SHIPPED(a_bare_number_is_no_score_where_scales_differ),
        SHIPPED(another_version_is_shown_as_it_was_kept),
        SHIPPED(the_alert_is_a_fact_for_rules),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
