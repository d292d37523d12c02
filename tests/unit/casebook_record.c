#include "casebook_world.h"

#include "casebook/story.h"

static void new_record_is_empty_and_exists_with_its_first_finding(void **state)
{
    struct world *w = *state;
    struct record r, again;
    OK(record_new(&w->cb, w->arena, "dog", &r, f));
    assert_int_equal(r.count, 0);
    OK(record_load(&w->cb, w->arena, r.entity, &again, f));
    assert_int_equal(again.count, 0);
    assert_string_equal(record_text(&r, ID_DOG_NAME), "");
    assert_null(record_find(&r, ID_DOG_NAME));
    put(w, &r, ID_DOG_NAME, "Biscuit");
    assert_string_equal(record_text(&r, ID_DOG_NAME), "Biscuit");
    reload(w, &r);
    assert_string_equal(r.kind, "dog");
    assert_string_equal(record_text(&r, ID_DOG_NAME), "Biscuit");
}

static void unknown_entity_is_missing(void **state)
{
    struct world *w = *state;
    struct record r;
    REFUSED(record_load(&w->cb, w->arena, "00000000-0000-4000-8000-000000000000", &r, f),
            FAULT_MISSING, "no record");
}

static void findings_stay_sorted_in_memory(void **state)
{
    struct world *w = *state;
    struct record r;
    static const char *const items[] = {"m", "a", "z", "k", "b", "y", "c"};
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    for (size_t i = 0; i < 7; i++)
        put(w, &r, items[i], "1");
    for (size_t i = 1; i < r.count; i++)
        assert_true(strcmp(r.findings[i - 1].item, r.findings[i].item) < 0);
    for (size_t i = 0; i < 7; i++)
        assert_non_null(record_find(&r, items[i]));
}

static void the_same_value_is_no_entry(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "walking", "no");
    uint64_t before = entries(w);
    put(w, &r, "walking", "no");
    put(w, &r, "remark", ""); /* empty where nothing was */
    assert_int_equal(entries(w), before);
    put(w, &r, "walking", "");
    assert_int_equal(entries(w), before + 1);
    assert_string_equal(record_text(&r, "walking"), "");
}

static void an_edit_replaces_what_was_shown_and_nothing_else(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "walking", "no");
    beside(w, r.entity, "walking", "unknown"); /* arrives while the form is open */
    put(w, &r, "walking", "yes");
    reload(w, &r);
    const struct finding *found = record_find(&r, "walking");
    assert_int_equal(found->head_count, 2);
    assert_int_equal(found->other_count, 1);
    assert_true((strcmp(found->text, "yes") == 0 && strcmp(found->others[0], "unknown") == 0) ||
                (strcmp(found->text, "unknown") == 0 && strcmp(found->others[0], "yes") == 0));
    /* now both were shown, and the choice settles it: even for the value shown first */
    put(w, &r, "walking", found->text);
    reload(w, &r);
    assert_int_equal(record_find(&r, "walking")->head_count, 1);
    assert_int_equal(record_find(&r, "walking")->other_count, 0);
}

static void equal_values_side_by_side_are_no_conflict(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "walking", "no");
    beside(w, r.entity, "walking", "no");
    reload(w, &r);
    assert_int_equal(record_find(&r, "walking")->head_count, 2);
    assert_int_equal(record_find(&r, "walking")->other_count, 0);
    uint64_t before = entries(w);
    put(w, &r, "walking", "no");
    assert_int_equal(entries(w), before);
}

static void three_values_are_all_carried(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "remark", "a");
    beside(w, r.entity, "remark", "b");
    beside(w, r.entity, "remark", "c");
    beside(w, r.entity, "remark", "b");
    reload(w, &r);
    assert_int_equal(record_find(&r, "remark")->other_count, 2);
    const char *said = record_said(&r, "remark");
    assert_int_equal(strlen(said), strlen("a or b or c"));
    for (const char *each = "abc"; *each != '\0'; each++)
        assert_non_null(strchr(said, *each));
    assert_string_equal(said, journal_said(w->cb.journal, w->arena, r.entity, "remark"));
    assert_string_equal(record_said(&r, "walking"), "");
}

static void entered_in_error_has_no_value_and_keeps_its_reason(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    REFUSED(record_strike(&w->cb, &r, "walking", "wrong dog", f), FAULT_MISSING, "never entered");
    put(w, &r, "walking", "no");
    REFUSED(record_strike(&w->cb, &r, "walking", "", f), FAULT_REFUSED, "reason");
    OK(record_strike(&w->cb, &r, "walking", "wrong dog", f));
    reload(w, &r);
    const struct finding *found = record_find(&r, "walking");
    assert_true(found->in_error);
    assert_string_equal(record_text(&r, "walking"), "");
    assert_string_equal(found->reason, "wrong dog");
    put(w, &r, "walking", "yes");
    reload(w, &r);
    assert_string_equal(record_text(&r, "walking"), "yes");
}

static void a_value_beside_an_error_is_shown_first(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "walking", "no");
    OK(record_strike(&w->cb, &r, "walking", "wrong dog", f));
    beside(w, r.entity, "walking", "yes");
    reload(w, &r);
    assert_string_equal(record_text(&r, "walking"), "yes");
    assert_int_equal(record_find(&r, "walking")->other_count, 1);
}

static void a_single_value_is_what_the_record_shows(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    assert_string_equal(journal_value(w->cb.journal, w->arena, r.entity, "walking"), "");
    put(w, &r, "walking", "no");
    assert_string_equal(journal_value(w->cb.journal, w->arena, r.entity, "walking"), "no");
    beside(w, r.entity, "walking", "yes");
    reload(w, &r);
    assert_string_equal(journal_value(w->cb.journal, w->arena, r.entity, "walking"),
                        record_text(&r, "walking"));
    OK(record_strike(&w->cb, &r, "walking", "wrong dog", f));
    assert_string_equal(journal_value(w->cb.journal, w->arena, r.entity, "walking"), "");
    assert_string_equal(journal_value(w->cb.journal, w->arena, "nobody", "walking"), "");
}

static void only_a_practitioner_signs(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    REFUSED(record_sign(&w->cb, &c.visit, f), FAULT_REFUSED, "practitioner");
    assert_false(record_signed(&c.visit));
}

static void what_is_signed_changes_only_with_a_reason(void **state)
{
    struct world *w = *state;
    struct chart c;
    somebody(w, "MK", "Mara Kell");
    a_visit(w, &c);
    put(w, &c.visit, "walking", "no");
    OK(record_sign(&w->cb, &c.visit, f));
    assert_true(record_signed(&c.visit));
    assert_string_equal(record_text(&c.visit, ID_OPEN), "no");
    REFUSED(record_put(&w->cb, &c.visit, "walking", "yes", "", f), FAULT_REFUSED, "reason");
    REFUSED(record_put(&w->cb, &c.visit, "remark", "late", "", f), FAULT_REFUSED, "reason");
    OK(record_put(&w->cb, &c.visit, "walking", "no", "", f)); /* no change at all */
    OK(record_put(&w->cb, &c.visit, "walking", "yes", "misread", f));
    assert_true(record_find(&c.visit, "walking")->amended);
    reload(w, &c.visit);
    assert_true(record_signed(&c.visit));
    assert_true(record_find(&c.visit, "walking")->amended);
    assert_string_equal(record_find(&c.visit, "walking")->reason, "misread");
    assert_false(record_find(&c.visit, ID_VISIT_DAY)->amended);
    assert_false(record_find(&c.visit, ID_SIGNED)->amended);
}

static void signing_twice_is_one_entry_and_again_after_an_amendment(void **state)
{
    struct world *w = *state;
    struct chart c;
    somebody(w, "MK", "Mara Kell");
    a_visit(w, &c);
    OK(record_sign(&w->cb, &c.visit, f));
    uint64_t before = entries(w);
    OK(record_sign(&w->cb, &c.visit, f));
    assert_int_equal(entries(w), before);
    OK(record_put(&w->cb, &c.visit, "walking", "yes", "forgotten", f));
    OK(record_sign(&w->cb, &c.visit, f));
    reload(w, &c.visit);
    assert_false(record_find(&c.visit, "walking")->amended);
    assert_int_equal(record_find(&c.visit, ID_SIGNED)->other_count, 0);
}

static void the_signature_is_over_what_was_signed(void **state)
{
    struct world *w = *state;
    struct chart c;
    char hash[65];
    somebody(w, "MK", "Mara Kell");
    a_visit(w, &c);
    OK(record_sign(&w->cb, &c.visit, f));
    OK(journal_sign_hash(w->cb.journal, c.visit.entity, hash, f));
    assert_string_equal(record_text(&c.visit, ID_SIGNED), hash);
}

static void an_outcome_closes_a_call(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    assert_string_equal(record_text(&c.call, ID_OPEN), "yes");
    put(w, &c.call, ID_OUTCOME, "referred");
    reload(w, &c.call);
    assert_string_equal(record_text(&c.call, ID_OPEN), "no");
    put(w, &c.call, ID_OUTCOME, "");
    assert_string_equal(record_text(&c.call, ID_OPEN), "yes");
}

/* ---- undo ----------------------------------------------------------------------------------- */

static void undo_goes_back_step_by_step_and_is_an_entry(void **state)
{
    struct world *w = *state;
    struct record r;
    const char *entity, *item;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "remark", "one");
    put(w, &r, "remark", "two");
    put(w, &r, "walking", "no");
    uint64_t before = entries(w);

    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    assert_string_equal(entity, r.entity);
    assert_string_equal(item, "walking");
    assert_int_equal(entries(w), before + 1);
    reload(w, &r);
    assert_true(record_find(&r, "walking")->in_error);

    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    reload(w, &r);
    assert_string_equal(record_text(&r, "remark"), "one");
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    reload(w, &r);
    assert_string_equal(record_text(&r, "remark"), "");
    assert_int_equal(record_find(&r, "remark")->head_count, 1);
    REFUSED(casebook_undo(&w->cb, w->arena, &entity, &item, f), FAULT_MISSING, "nothing to undo");

    put(w, &r, "remark", "three"); /* and life goes on */
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    reload(w, &r);
    assert_string_equal(record_text(&r, "remark"), "");
    assert_int_equal(record_find(&r, "remark")->head_count, 1);
}

static void undo_lets_a_settled_conflict_stand_again(void **state)
{
    struct world *w = *state;
    struct record r;
    const char *entity, *item;
    somebody(w, "MK", "Mara Kell");
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "remark", "ours");
    beside(w, r.entity, "remark", "theirs");
    reload(w, &r);
    put(w, &r, "remark", "both");
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    reload(w, &r);
    assert_int_equal(record_find(&r, "remark")->head_count, 2);
    assert_int_equal(record_find(&r, "remark")->other_count, 1);
}

static void undo_does_not_reach_under_somebody_elses_change(void **state)
{
    struct world *w = *state;
    struct record r;
    const char *entity, *item;
    const char *second = somebody(w, "TO", "Tim Oates");
    const char *first = somebody(w, "MK", "Mara Kell");
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "remark", "first");
    OK(casebook_become(&w->cb, second, f));
    put(w, &r, "remark", "second");
    OK(casebook_become(&w->cb, first, f));
    REFUSED(casebook_undo(&w->cb, w->arena, &entity, &item, f), FAULT_REFUSED, "changed again");
    reload(w, &r);
    assert_string_equal(record_text(&r, "remark"), "second");
}

static void undo_of_an_outcome_opens_the_call_again(void **state)
{
    struct world *w = *state;
    struct chart c;
    const char *entity, *item;
    OK(call_new(&w->cb, w->arena, &c, f));
    put(w, &c.call, ID_OUTCOME, "referred");
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    assert_string_equal(item, ID_OUTCOME);
    reload(w, &c.call);
    assert_string_equal(record_text(&c.call, ID_OUTCOME), "");
    assert_string_equal(record_text(&c.call, ID_OPEN), "yes");
}

static void undo_of_a_signature_withdraws_it(void **state)
{
    struct world *w = *state;
    struct chart c;
    const char *entity, *item;
    somebody(w, "MK", "Mara Kell");
    a_visit(w, &c);
    OK(record_sign(&w->cb, &c.visit, f));
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    reload(w, &c.visit);
    assert_false(record_signed(&c.visit));
    assert_string_equal(record_text(&c.visit, ID_OPEN), "yes");
    put(w, &c.visit, "walking", "no"); /* needs no reason any more */
}

/* Of every entry: whether it came after the first signing. Signing again covers it from then on,
 * and takes nothing out of the story. */
static void a_story_tells_what_came_after_signing(void **state)
{
    struct world *w = *state;
    struct record r;
    struct story story;
    const char *entity, *item;
    const char *second = somebody(w, "TO", "Tim Oates");
    somebody(w, "MK", "Mara Kell");
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "remark", "one");
    OK(record_sign(&w->cb, &r, f));
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f)); /* too early: withdrawn */
    reload(w, &r);
    put(w, &r, "remark", "two");
    OK(record_sign(&w->cb, &r, f));
    OK(casebook_become(&w->cb, second, f));
    OK(record_put(&w->cb, &r, "remark", "three", "misheard", f));
    OK(record_strike(&w->cb, &r, "remark", "another dog", f));
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    reload(w, &r);
    OK(record_sign(&w->cb, &r, f));
    assert_false(record_find(&r, "remark")->amended);
    OK(story_look(&w->cb, w->arena, r.entity, "remark", &story, f));
    const struct {
        const char *value, *who, *why;
        bool stands, after;
    } told[] = {{"one", "MK", "", false, false},
                {"two", "MK", "", false, false},
                {"three", "TO", "misheard", false, true},
                {"entered in error", "TO", "another dog", false, true},
                {"three", "TO", "taken back", true, true}};
    assert_int_equal(story.count, sizeof told / sizeof *told);
    assert_false(story.conflict);
    for (size_t i = 0; i < story.count; i++) {
        assert_string_equal(story.all[i].value, told[i].value);
        assert_string_equal(story.all[i].who, told[i].who);
        assert_string_equal(story.all[i].why, told[i].why);
        assert_int_equal(story.all[i].stands, told[i].stands);
        assert_int_equal(story.all[i].after, told[i].after);
    }
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f)); /* the second signature */
    reload(w, &r);
    assert_true(record_signed(&r));
    assert_true(record_find(&r, "remark")->amended); /* the first one was not made over it */
    beside(w, r.entity, "remark", "four");
    OK(story_look(&w->cb, w->arena, r.entity, "remark", &story, f));
    assert_true(story.conflict);
    REFUSED(story_look(&w->cb, w->arena, r.entity, "walking", &story, f), FAULT_MISSING, "nothing");
}

/* ---- transactions --------------------------------------------------------------------------- */

static void a_rolled_back_sequence_leaves_nothing(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "remark", "kept");
    uint64_t before = entries(w);
    OK(casebook_begin(&w->cb, f));
    OK(casebook_begin(&w->cb, f));
    put(w, &r, "remark", "gone");
    OK(casebook_commit(&w->cb, f));
    casebook_rollback(&w->cb);
    assert_int_equal(entries(w), before);
    reload(w, &r);
    assert_string_equal(record_text(&r, "remark"), "kept");
}

static void what_an_inner_sequence_lost_is_not_half_kept(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "visit", &r, f));
    put(w, &r, "remark", "kept");
    uint64_t before = entries(w);
    OK(casebook_begin(&w->cb, f));
    OK(casebook_begin(&w->cb, f));
    put(w, &r, "remark", "half");
    casebook_rollback(&w->cb);
    REFUSED(casebook_commit(&w->cb, f), FAULT_REFUSED, "nothing was written");
    assert_int_equal(entries(w), before);
    reload(w, &r);
    put(w, &r, "remark", "after"); /* and the next one is its own */
    assert_int_equal(entries(w), before + 1);
    OK(casebook_begin(&w->cb, f));
    put(w, &r, "remark", "again");
    OK(casebook_commit(&w->cb, f));
}

/* ---- people --------------------------------------------------------------------------------- */

static void people_are_listed_and_remembered(void **state)
{
    struct world *w = *state;
    const struct practitioner *list;
    size_t n;
    OK(practitioners(&w->cb, w->arena, &list, &n, f));
    assert_int_equal(n, 0);
    const char *mk = somebody(w, "MK", "Mara Kell");
    OK(practitioners(&w->cb, w->arena, &list, &n, f));
    assert_int_equal(n, 1);
    assert_string_equal(list[0].name, "Mara Kell");
    assert_string_equal(list[0].initials, "MK");
    assert_string_equal(author_initials(&w->cb, w->arena, mk), "MK");
    assert_string_equal(author_initials(&w->cb, w->arena, ""), "?");
    assert_string_equal(author_initials(&w->cb, w->arena, "nobody"), "?");
    REFUSED(casebook_become(&w->cb, "nobody", f), FAULT_MISSING, "nobody");

    journal_close(w->cb.journal);
    memset(w->cb.author, 0, sizeof w->cb.author);
    world_open(w);
    casebook_wake(&w->cb);
    assert_string_equal(w->cb.author, mk);
}

static void findings_tell_who_wrote_them(void **state)
{
    struct world *w = *state;
    struct chart c;
    const char *mk = somebody(w, "MK", "Mara Kell");
    a_visit(w, &c);
    put(w, &c.visit, "walking", "no");
    assert_string_equal(record_find(&c.visit, "walking")->author, mk);
    reload(w, &c.visit);
    assert_string_equal(record_find(&c.visit, "walking")->author, mk);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(new_record_is_empty_and_exists_with_its_first_finding),
        TEST(unknown_entity_is_missing),
        TEST(findings_stay_sorted_in_memory),
        TEST(the_same_value_is_no_entry),
        TEST(an_edit_replaces_what_was_shown_and_nothing_else),
        TEST(equal_values_side_by_side_are_no_conflict),
        TEST(three_values_are_all_carried),
        TEST(entered_in_error_has_no_value_and_keeps_its_reason),
        TEST(a_value_beside_an_error_is_shown_first),
        TEST(a_single_value_is_what_the_record_shows),
        TEST(only_a_practitioner_signs),
        TEST(what_is_signed_changes_only_with_a_reason),
        TEST(signing_twice_is_one_entry_and_again_after_an_amendment),
        TEST(the_signature_is_over_what_was_signed),
        TEST(an_outcome_closes_a_call),
        TEST(undo_goes_back_step_by_step_and_is_an_entry),
        TEST(undo_lets_a_settled_conflict_stand_again),
        TEST(undo_does_not_reach_under_somebody_elses_change),
        TEST(undo_of_an_outcome_opens_the_call_again),
        TEST(undo_of_a_signature_withdraws_it),
        TEST(a_story_tells_what_came_after_signing),
        TEST(a_rolled_back_sequence_leaves_nothing),
        TEST(what_an_inner_sequence_lost_is_not_half_kept),
        TEST(people_are_listed_and_remembered),
        TEST(findings_tell_who_wrote_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
