#include "casebook_world.h"

/* ---- triage --------------------------------------------------------------------------------- */

static struct verdict judged(struct chart *c)
{
    struct verdict v;
    triage_judge(c, &v);
    return v;
}

static void nothing_asked_is_not_yet_known(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    struct verdict v = judged(&c);
    assert_int_equal(v.urgency, URGENCY_UNKNOWN);
    assert_string_equal(v.words, "Not yet known");
    assert_int_equal(v.open_count, 3); /* whether it moves its legs is not shown yet */
    assert_string_equal(v.open[0], "Fighting for breath?");
    assert_int_equal(v.reason_count, 0);
}

static void a_visit_is_offered_only_when_every_flag_was_asked(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    put(w, &c.call, "flag.breath", "no");
    put(w, &c.call, "flag.walks", "yes"); /* a rule of the kind "book" holds already */
    assert_int_equal(judged(&c).urgency, URGENCY_UNKNOWN);
    put(w, &c.call, "flag.urine", "unknown"); /* "not known" is an answer */
    struct verdict v = judged(&c);
    assert_int_equal(v.urgency, URGENCY_BOOK);
    assert_int_equal(v.open_count, 0);
    assert_string_equal(v.words, "Book a visit");
}

static void a_question_that_comes_up_must_be_answered_too(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    put(w, &c.call, "flag.breath", "no");
    put(w, &c.call, "flag.urine", "yes");
    put(w, &c.call, "flag.walks", "no");
    struct verdict v = judged(&c);
    assert_int_equal(v.urgency, URGENCY_UNKNOWN);
    assert_int_equal(v.open_count, 1);
    assert_string_equal(v.open[0], "Moves the hind legs at all?");
    put(w, &c.call, "flag.moves", "yes");
    assert_int_equal(judged(&c).urgency, URGENCY_BOOK);
}

static void the_gravest_rule_wins_and_stands_first(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    put(w, &c.call, "flag.urine", "no");
    assert_int_equal(judged(&c).urgency, URGENCY_SAME_DAY);
    put(w, &c.call, "flag.walks", "no");
    put(w, &c.call, "call.onset", "2026-11-23T13:30");
    struct verdict v = judged(&c);
    assert_int_equal(v.urgency, URGENCY_EMERGENCY);
    assert_string_equal(v.words, "EMERGENCY");
    assert_int_equal(v.reason_count, 2);
    assert_string_equal(v.reasons[0].rule->id, "sudden");
    assert_string_equal(v.reasons[0].because, "Walks ten steps alone: no; onset: 20 h ago");
    assert_string_equal(v.reasons[1].rule->id, "urine");
    put(w, &c.call, "flag.breath", "no"); /* what would calm cancels nothing */
    assert_int_equal(judged(&c).urgency, URGENCY_EMERGENCY);
}

static void hours_count_to_the_edge_of_the_rule(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    put(w, &c.call, "flag.walks", "no");
    put(w, &c.call, "call.onset", "2026-11-21T09:31"); /* 71 h 59 min */
    assert_int_equal(judged(&c).urgency, URGENCY_EMERGENCY);
    put(w, &c.call, "call.onset", "2026-11-21T09:30"); /* 72 h */
    assert_int_equal(judged(&c).urgency, URGENCY_UNKNOWN);
}

static void of_answers_in_conflict_the_graver_counts(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    put(w, &c.call, "flag.breath", "no");
    beside(w, c.call.entity, "flag.breath", "yes");
    look_again(w, &c);
    struct verdict v = judged(&c);
    assert_int_equal(v.urgency, URGENCY_EMERGENCY);
    assert_non_null(strstr(v.reasons[0].because, "in conflict"));
    put(w, &c.call, "flag.breath", "no"); /* settled by a person */
    assert_int_equal(judged(&c).urgency, URGENCY_UNKNOWN);
}

static void urgencies_have_words(void **state)
{
    (void)state;
    assert_string_equal(urgency_word(URGENCY_EMERGENCY), "emergency");
    assert_string_equal(urgency_word(URGENCY_SAME_DAY), "same day");
    assert_string_equal(urgency_word(URGENCY_BOOK), "book a visit");
    assert_string_equal(urgency_word(URGENCY_UNKNOWN), "not yet known");
}

/* ---- support -------------------------------------------------------------------------------- */

static struct deciding decision(const struct chart *c)
{
    struct deciding d;
    deciding_look(c, &d);
    return d;
}

static const struct support_view *view(const struct deciding *d, const char *id)
{
    for (size_t i = 0; i < d->count; i++)
        if (strcmp(d->views[i].support->id, id) == 0)
            return &d->views[i];
    fail_msg("no view of %s", id);
    return NULL;
}

static void silent_supports_stand_in_template_order(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    struct deciding d = decision(&c);
    assert_int_equal(d.count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_string_equal(d.views[i].support->id, w->set->supports[i].id);
        assert_int_equal(d.views[i].standing, SUPPORT_SILENT);
    }
    assert_null(d.decided);
    assert_string_equal(d.signed_by, "");
    assert_int_equal(deciding_state(&c).progress, PROGRESS_NOT_ASKED);
}

static void what_forbids_outweighs_what_warns_and_proposes(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    put(w, &c.visit, "walking", "no");
    struct deciding d = decision(&c);
    assert_string_equal(d.views[0].support->id, "shoulder");
    assert_string_equal(d.views[1].support->id, "level");
    assert_int_equal(d.views[1].standing, SUPPORT_PROPOSED);
    assert_string_equal(d.views[1].reasons[0].because, "Walks alone: no; Front legs: not recorded");

    put(w, &c.visit, "neck_lesion", "yes");
    put(w, &c.visit, "body_condition", "7");
    d = decision(&c);
    static const char *const order[] = {"nothing", "four", "level", "shoulder"};
    for (size_t i = 0; i < 4; i++)
        assert_string_equal(d.views[i].support->id, order[i]);
    const struct support_view *shoulder = view(&d, "shoulder");
    assert_int_equal(shoulder->standing, SUPPORT_FORBIDDEN);
    assert_int_equal(shoulder->reason_count, 3);
    assert_string_equal(shoulder->reasons[0].rule->id, "neck");
    assert_string_equal(shoulder->reasons[0].because, "Lesion of the neck: yes");
    assert_string_equal(shoulder->reasons[1].rule->id, "heavy");
    assert_string_equal(shoulder->reasons[1].because, "body condition: 7 of 9");
    assert_string_equal(shoulder->reasons[2].rule->id, "hind_gone");
    assert_int_equal(view(&d, "level")->standing, SUPPORT_WARNED);
}

static void a_conflict_forbids_but_never_proposes(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    put(w, &c.visit, "neck_lesion", "no");
    beside(w, c.visit.entity, "neck_lesion", "yes");
    put(w, &c.visit, "walking", "yes");
    beside(w, c.visit.entity, "walking", "no");
    look_again(w, &c);
    struct deciding d = decision(&c);
    assert_int_equal(view(&d, "shoulder")->standing, SUPPORT_FORBIDDEN);
    assert_string_equal(record_text(&c.visit, "walking"), "yes"); /* the first of the two */
    assert_int_equal(view(&d, "level")->standing, SUPPORT_SILENT);
}

static void against_a_rule_only_with_a_reason(void **state)
{
    struct world *w = *state;
    struct chart c;
    somebody(w, "MK", "Mara Kell");
    a_visit(w, &c);
    put(w, &c.visit, "walking", "no");
    put(w, &c.visit, "neck_lesion", "yes");
    const struct support *shoulder = template_support(w->set, "shoulder");
    REFUSED(deciding_put(&c, shoulder, "", f), FAULT_REFUSED, "Nothing may press on the shoulders");
    assert_null(decision(&c).decided);
    OK(deciding_put(&c, shoulder, "the lesion is old and healed", f));
    struct deciding d = decision(&c);
    assert_ptr_equal(d.decided, shoulder);
    assert_true(d.override);
    assert_string_equal(d.override_reason, "the lesion is old and healed");
    assert_string_equal(d.signed_by, "MK");
    assert_true(view(&d, "shoulder")->decided);
    assert_int_equal(deciding_state(&c).progress, PROGRESS_DONE);

    OK(deciding_put(&c, template_support(w->set, "level"), "", f));
    d = decision(&c);
    assert_false(d.override);
    assert_string_equal(d.override_reason, ""); /* it was for the other one */
    look_again(w, &c);
    assert_string_equal(decision(&c).decided->id, "level");
}

static void no_visit_no_decision(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    REFUSED(deciding_put(&c, &w->set->supports[0], "", f), FAULT_MISSING, "no visit");
}

/* ---- teaching ------------------------------------------------------------------------------- */

static void what_is_taught_depends_on_the_dog(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct teaching t;
    a_visit(w, &c);
    teaching_look(&c, &t);
    assert_int_equal(t.count, 1); /* skin is for every dog */
    assert_string_equal(t.rows[0].key, "teach.skin.look");
    put(w, &c.visit, "walking", "no");
    teaching_look(&c, &t);
    assert_int_equal(t.count, 3);
    assert_string_equal(t.rows[0].key, "teach.bladder.often");
    put(w, &c.visit, "support", "level");
    teaching_look(&c, &t);
    assert_int_equal(t.count, 4);
    assert_string_equal(t.rows[1].item->id, "turn");
}

static void teaching_is_kept_with_who_taught(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct teaching t;
    somebody(w, "MK", "Mara Kell");
    a_visit(w, &c);
    put(w, &c.visit, "walking", "no");
    teaching_look(&c, &t);
    assert_int_equal(teaching_state(&c).progress, PROGRESS_NOT_ASKED);
    OK(teaching_put(&c, &t.rows[0], TAUGHT_DONE_BACK, f));
    assert_string_equal(record_text(&c.visit, "teach.bladder.often"), "done_back");
    struct section_state s = teaching_state(&c);
    assert_int_equal(s.progress, PROGRESS_NEEDED); /* a danger sign was not taught */
    assert_true(text_starts(s.open, "Blood in the urine; "));
    assert_string_equal(s.summary, "1 of 3, 1 done back, danger signs open");
    OK(teaching_put(&c, &t.rows[1], TAUGHT_TOLD, f));
    assert_int_equal(teaching_state(&c).progress, PROGRESS_BEGUN);
    OK(teaching_put(&c, &t.rows[2], TAUGHT_SHOWN, f));
    assert_int_equal(teaching_state(&c).progress, PROGRESS_DONE);
    look_again(w, &c);
    teaching_look(&c, &t);
    assert_int_equal(t.done, 3);
    assert_int_equal(t.rows[0].state, TAUGHT_DONE_BACK);
    assert_int_equal(t.rows[1].state, TAUGHT_TOLD);
    assert_int_equal(t.rows[2].state, TAUGHT_SHOWN);
    assert_string_equal(t.rows[0].by, "MK");
    OK(teaching_put(&c, &t.rows[0], TAUGHT_NOT, f));
    teaching_look(&c, &t);
    assert_int_equal(t.done, 2);
    assert_string_equal(t.rows[0].by, "");
    OK(record_sign(&w->cb, &c.visit, f));
    REFUSED(teaching_put(&c, &t.rows[0], TAUGHT_TOLD, f), FAULT_REFUSED, "reason");
    c.reason = "told on the telephone afterwards";
    OK(teaching_put(&c, &t.rows[0], TAUGHT_TOLD, f));
    assert_string_equal(record_find(&c.visit, t.rows[0].key)->reason, c.reason);
    OK(visit_new(&w->cb, w->arena, c.dog.entity, "2026-12-08", &c, f));
    put(w, &c.visit, "walking", "no");
    assert_string_equal(teaching_state(&c).summary, "3 points, 3 of them taught before");
    assert_null(teaching_state(&c).open);
    assert_string_equal(taught_word(TAUGHT_DONE_BACK), "done back");
    assert_string_equal(taught_word(TAUGHT_NOT), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(nothing_asked_is_not_yet_known),
        TEST(a_visit_is_offered_only_when_every_flag_was_asked),
        TEST(a_question_that_comes_up_must_be_answered_too),
        TEST(the_gravest_rule_wins_and_stands_first),
        TEST(hours_count_to_the_edge_of_the_rule),
        TEST(of_answers_in_conflict_the_graver_counts),
        TEST(urgencies_have_words),
        TEST(silent_supports_stand_in_template_order),
        TEST(what_forbids_outweighs_what_warns_and_proposes),
        TEST(a_conflict_forbids_but_never_proposes),
        TEST(against_a_rule_only_with_a_reason),
        TEST(no_visit_no_decision),
        TEST(what_is_taught_depends_on_the_dog),
        TEST(teaching_is_kept_with_who_taught),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
