#include "base/text.h"
#include "casebook_world.h"
#include "template/facts.h"

static void type(struct world *w, struct chart *c, const char *id, const char *typed)
{
    const char *about, *canonical;
    const struct item *i = casebook_item(w->set, id, &about);
    if (i == NULL)
        fail_msg("no item %s", id);
    OK(answer_read(w->set, i, typed, c->now, w->arena, &canonical, f));
    OK(record_put(&w->cb, chart_record(c, about), id, canonical, "", f));
}

/* A call with the answers that a booking carries on. */
static void a_call(struct world *w, struct chart *c)
{
    OK(call_new(&w->cb, w->arena, c, f));
    type(w, c, "call.caregiver_name", "Ann Petrie");
    type(w, c, "call.phone", "01632 960111");
    type(w, c, "call.address", "12 Quarry Lane");
    type(w, c, "call.dog_name", "Biscuit");
    type(w, c, "call.breed", "Dachshund");
    type(w, c, "call.age_years", "6");
    type(w, c, "call.mass", "9.4");
}

static void a_call_is_on_disk_before_anything_is_typed(void **state)
{
    struct world *w = *state;
    struct chart c, again;
    OK(call_new(&w->cb, w->arena, &c, f));
    assert_null(c.visit.entity);
    assert_null(c.dog.entity);
    assert_null(chart_record(&c, "dog"));
    OK(chart_load(&w->cb, w->arena, c.call.entity, &again, f));
    assert_string_equal(record_text(&again.call, ID_CALL_AT), "2026-11-24T09:30");
    assert_string_equal(record_text(&again.call, ID_OPEN), "yes");
    assert_string_equal(chart_signalment(&again), "");
}

static void booking_makes_dog_caregiver_and_visit(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_call(w, &c);
    const char *call = c.call.entity;
    assert_string_equal(chart_signalment(&c), "Dachshund, 6 y, 9.4 kg");
    OK(call_book(&c, "2026-11-25T14:00", f));
    assert_string_equal(record_text(&c.visit, ID_VISIT_DAY), "2026-11-25T14:00");
    assert_string_equal(record_text(&c.visit, ID_OPEN), "yes");
    assert_string_equal(record_text(&c.visit, ID_VISIT_CALL), call);
    assert_string_equal(record_text(&c.dog, ID_DOG_NAME), "Biscuit");
    assert_string_equal(record_text(&c.dog, ID_DOG_BREED), "Dachshund");
    assert_string_equal(record_text(&c.dog, ID_CAREGIVER), c.caregiver.entity);
    assert_string_equal(record_text(&c.caregiver, ID_CAREGIVER_NAME), "Ann Petrie");
    assert_string_equal(record_text(&c.caregiver, ID_CAREGIVER_PHONE), "01632 960111");
    assert_string_equal(record_text(&c.caregiver, ID_CAREGIVER_ADDRESS), "12 Quarry Lane");
    assert_string_equal(c.call.entity, call);
    assert_string_equal(record_text(&c.call, ID_OUTCOME), "booked");
    assert_string_equal(record_text(&c.call, ID_OPEN), "no");
    assert_string_equal(record_text(&c.call, ID_CALL_DOG), c.dog.entity);
    assert_int_equal(c.visit_count, 1);
    assert_null(c.before.entity);
    assert_string_equal(chart_signalment(&c),
                        "Dachshund, 6 y, 9.4 kg"); /* age and weight by call */
}

static void booking_for_a_known_dog_makes_no_second_one(void **state)
{
    struct world *w = *state;
    struct chart first, c;
    struct journal_counts before, after;
    a_call(w, &first);
    OK(call_book(&first, "2026-11-25", f));
    OK(call_new(&w->cb, w->arena, &c, f));
    type(w, &c, "call.caregiver_name", "A. Petrie"); /* not written over what is known */
    put(w, &c.call, ID_CALL_DOG, first.dog.entity);
    OK(journal_count(w->cb.journal, &before, f));
    OK(call_book(&c, "2026-12-09", f));
    OK(journal_count(w->cb.journal, &after, f));
    assert_int_equal(after.entities, before.entities + 1); /* the visit */
    assert_string_equal(c.dog.entity, first.dog.entity);
    assert_string_equal(c.caregiver.entity, first.caregiver.entity);
    assert_string_equal(record_text(&c.caregiver, ID_CAREGIVER_NAME), "Ann Petrie");
    assert_int_equal(c.visit_count, 2);
    assert_string_equal(c.before.entity, first.visit.entity);
}

static void booking_needs_a_dog_and_leaves_nothing_when_refused(void **state)
{
    struct world *w = *state;
    struct chart c, empty = {.cb = &w->cb, .arena = w->arena};
    OK(call_new(&w->cb, w->arena, &c, f));
    uint64_t before = entries(w);
    REFUSED(call_book(&c, "2026-11-25", f), FAULT_INPUT, "dog's name");
    REFUSED(call_book(&empty, "2026-11-25", f), FAULT_MISSING, "no call");
    assert_int_equal(entries(w), before);
}

static void a_booking_that_fails_half_way_is_undone_in_memory_too(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_call(w, &c);
    uint64_t before = entries(w);
    REFUSED(call_book(&c, "\xff", f), FAULT_INPUT, "UTF-8"); /* the visit's day, written last */
    assert_int_equal(entries(w), before);
    assert_string_equal(record_text(&c.call, ID_CALL_DOG), "");
    OK(call_book(&c, "2026-11-25", f));
}

static void an_emergency_is_not_booked_without_a_reason(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_call(w, &c);
    type(w, &c, "flag.breath", "y");
    uint64_t before = entries(w);
    REFUSED(call_book(&c, "2026-11-25", f), FAULT_REFUSED, "Cannot breathe");
    assert_int_equal(entries(w), before);
    type(w, &c, ID_CALL_OVERRIDE, "seen by the emergency clinic this morning");
    OK(call_book(&c, "2026-11-25", f));
}

static void a_chart_is_found_from_any_of_its_records(void **state)
{
    struct world *w = *state;
    struct chart c, from;
    a_call(w, &c);
    OK(call_book(&c, "2026-11-25", f));
    const char *const ends[] = {c.visit.entity, c.call.entity, c.dog.entity, c.caregiver.entity};
    for (size_t i = 0; i < 4; i++) {
        OK(chart_load(&w->cb, w->arena, ends[i], &from, f));
        assert_string_equal(from.dog.entity, c.dog.entity);
        assert_string_equal(from.caregiver.entity, c.caregiver.entity);
        assert_string_equal(from.call.entity, c.call.entity);
        assert_int_equal(from.visit_count, 1);
        if (i != 1) /* a call's chart stays with the call */
            assert_string_equal(from.visit.entity, c.visit.entity);
    }
    const char *who = somebody(w, "MK", "Mara Kell");
    OK(chart_load(&w->cb, w->arena, who, &from, f));
    assert_ptr_equal(chart_record(&from, "practitioner"), &from.practitioner);
    REFUSED(chart_load(&w->cb, w->arena, "00000000-0000-4000-8000-000000000000", &from, f),
            FAULT_MISSING, "no record");
}

static void visits_stand_in_order_of_their_days(void **state)
{
    struct world *w = *state;
    struct chart late, early, middle, c;
    a_visit(w, &late);
    OK(visit_new(&w->cb, w->arena, late.dog.entity, "2026-09-01", &early, f));
    OK(visit_new(&w->cb, w->arena, late.dog.entity, "2026-10-05T10:00", &middle, f));
    OK(chart_load(&w->cb, w->arena, late.dog.entity, &c, f));
    assert_int_equal(c.visit_count, 3);
    assert_string_equal(c.visits[0], early.visit.entity);
    assert_string_equal(c.visits[1], middle.visit.entity);
    assert_string_equal(c.visits[2], late.visit.entity);
    assert_string_equal(c.visit.entity, late.visit.entity);
    assert_string_equal(c.before.entity, middle.visit.entity);
    REFUSED(visit_new(&w->cb, w->arena, late.visit.entity, "2026-09-01", &c, f), FAULT_MISSING,
            "no dog");
}

static void what_has_not_arrived_is_left_out(void **state)
{
    struct world *w = *state;
    struct record visit;
    struct chart c;
    OK(record_new(&w->cb, w->arena, "visit", &visit, f));
    put(w, &visit, ID_VISIT_DOG, "00000000-0000-4000-8000-000000000000");
    OK(chart_load(&w->cb, w->arena, visit.entity, &c, f));
    assert_null(c.dog.entity);
    assert_null(chart_record(&c, "dog"));
}

static void of_two_dogs_a_caregiver_has_none_is_guessed(void **state)
{
    struct world *w = *state;
    struct chart c, from;
    struct record second;
    a_call(w, &c);
    OK(call_book(&c, "2026-11-25", f));
    OK(record_new(&w->cb, w->arena, "dog", &second, f));
    put(w, &second, ID_CAREGIVER, c.caregiver.entity);
    OK(chart_load(&w->cb, w->arena, c.caregiver.entity, &from, f));
    assert_null(from.dog.entity);
}

/* ---- facts ---------------------------------------------------------------------------------- */

static void facts_come_from_visit_dog_caregiver_call_in_that_order(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_call(w, &c);
    OK(call_book(&c, "2026-11-25", f));
    struct record *const order[] = {&c.call, &c.caregiver, &c.dog, &c.visit};
    static const char *const said[] = {"call", "caregiver", "dog", "visit"};
    assert_null(chart_fact(&c, "somewhere"));
    for (size_t i = 0; i < 4; i++) {
        put(w, order[i], "somewhere", said[i]);
        assert_string_equal(chart_fact(&c, "somewhere"), said[i]);
    }
    OK(record_strike(&w->cb, &c.visit, "somewhere", "wrong", f));
    assert_string_equal(chart_fact(&c, "somewhere"), "dog");
    put(w, &c.dog, "somewhere", "");
    assert_string_equal(chart_fact(&c, "somewhere"), "caregiver");
    struct facts facts = chart_facts(&c);
    assert_string_equal(facts.value(facts.of, "somewhere"), "caregiver");
}

static void derived(struct chart *c, const char *name, const char *wanted)
{
    const char *got = chart_fact(c, name);
    if (wanted == NULL)
        assert_null(got);
    else if (got == NULL || strcmp(got, wanted) != 0)
        fail_msg("%s is %s, not %s", name, got == NULL ? "not known" : got, wanted);
}

static void nothing_is_derived_from_nothing(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    static const char *const names[] = {
#define X(name, told) #name,
        DERIVED_FACTS(X)
#undef X
    };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        derived(&c, names[i], NULL);
}

static void facts_are_derived(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_call(w, &c);
    OK(call_book(&c, "2026-11-25", f));
    derived(&c, "age_years", "6");
    put(w, &c.dog, ID_DOG_BORN, "2020-11-24");
    derived(&c, "age_years", "6"); /* the birthday itself */
    put(w, &c.dog, ID_DOG_BORN, "2020-11-25");
    derived(&c, "age_years", "5");

    type(w, &c, "call.onset", "20 h ago");
    derived(&c, "hours_since_onset", "20");

    derived(&c, "body_type", "long_low"); /* by the breed */
    put(w, &c.dog, ID_DOG_BODY, "square");
    derived(&c, "body_type", "square");

    derived(&c, "mass_kg", "9.4 kg");
    put(w, &c.dog, ID_DOG_MASS, "9.8 kg");
    derived(&c, "mass_kg", "9.8 kg");
    put(w, &c.visit, "body_mass.1", "10.1 kg");
    derived(&c, "mass_kg", "10.1 kg");

    derived(&c, "support_fitted", NULL);
    put(w, &c.visit, ID_SUPPORT, "nothing");
    derived(&c, "support", "nothing");
    derived(&c, "support_fitted", "no");
    put(w, &c.visit, ID_SUPPORT, "level");
    derived(&c, "support_fitted", "yes");

    put(w, &c.visit, "fore_scale.1", "6.3 kg");
    derived(&c, "fore_share", NULL);
    put(w, &c.visit, "hind_scale.1", "3.7 kg");
    derived(&c, "fore_share", "63");

    put(w, &c.visit, "body_condition", "7");
    derived(&c, "overweight_points", "2");
    put(w, &c.visit, "body_condition", "4");
    derived(&c, "overweight_points", "0");

    put(w, &c.visit, "ramp_rise", "100 mm");
    derived(&c, "ramp_deg", NULL);
    put(w, &c.visit, "ramp_run", "1200 mm"); /* 1 in 12: atan(1/12) = 4.7636 deg */
    derived(&c, "ramp_deg", "4.76");
    put(w, &c.visit, "ramp_rise", "0 mm");
    derived(&c, "ramp_deg", "0");
}

static void the_last_visits_weight_counts_until_this_one_has_its_own(void **state)
{
    struct world *w = *state;
    struct chart first, c;
    a_visit(w, &first);
    put(w, &first.visit, "body_mass.1", "9.9 kg");
    OK(visit_new(&w->cb, w->arena, first.dog.entity, "2026-12-01", &c, f));
    derived(&c, "mass_kg", "9.9 kg");
}

static void a_measure_is_a_fact(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    assert_null(chart_fact(&c, "hip_width"));
    put(w, &c.visit, "hip_width.1", "131 mm");
    put(w, &c.visit, "hip_width.2", "132 mm");
    assert_string_equal(chart_fact(&c, "hip_width"), "131.5 mm");
}

/* ---- forms ---------------------------------------------------------------------------------- */

static void questions_are_shown_and_required_as_declared(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    const struct item *culture = template_item(w->set, "culture");
    const struct item *front = template_item(w->set, "front_legs");
    assert_false(item_shown(&c, culture));
    type(w, &c, "skin", "toes");
    assert_true(item_shown(&c, culture));
    assert_false(item_required(&c, culture)); /* never: it does not say when */
    assert_false(item_required(&c, front));
    type(w, &c, "walking", "n");
    assert_true(item_required(&c, front));
    assert_true(item_required(&c, template_item(w->set, "walking")));
}

static void a_form_says_how_far_it_is(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    const struct form *exam = template_form(w->set, "exam"), *home = template_form(w->set, "home");
    struct section_state s = form_state(&c, exam);
    assert_int_equal(s.progress, PROGRESS_NOT_ASKED);
    assert_int_equal(s.missing, 1);
    size_t shown = s.shown;
    type(w, &c, "walking", "n");
    s = form_state(&c, exam);
    assert_int_equal(s.progress, PROGRESS_NEEDED);
    assert_non_null(strstr(s.summary, "still needed: Front legs"));
    assert_true(text_starts(s.open, "Front legs; ")); /* what is needed comes first */
    assert_null(strstr(s.open, "Walk"));
    type(w, &c, "front_legs", "sound");
    s = form_state(&c, exam);
    assert_int_equal(s.progress, PROGRESS_DONE);
    assert_int_equal(s.answered, 2);
    type(w, &c, "skin", "toes");
    assert_int_equal(form_state(&c, exam).shown, shown + 1); /* culture is asked now */

    assert_int_equal(form_state(&c, home).progress, PROGRESS_NOT_ASKED);
    type(w, &c, "threshold", "15 mm");
    assert_int_equal(form_state(&c, home).progress, PROGRESS_BEGUN); /* nothing there is required */
    type(w, &c, "ramp_rise", "0");
    type(w, &c, "ramp_run", "0");
    type(w, &c, "hind_support_share", "0");
    assert_int_equal(form_state(&c, home).progress, PROGRESS_DONE);
    assert_null(form_state(&c, home).open);
    assert_string_equal(progress_word(PROGRESS_NEEDED), "needed");
    assert_string_equal(progress_word(PROGRESS_NOT_ASKED), "not asked");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_call_is_on_disk_before_anything_is_typed),
        TEST(booking_makes_dog_caregiver_and_visit),
        TEST(booking_for_a_known_dog_makes_no_second_one),
        TEST(booking_needs_a_dog_and_leaves_nothing_when_refused),
        TEST(a_booking_that_fails_half_way_is_undone_in_memory_too),
        TEST(an_emergency_is_not_booked_without_a_reason),
        TEST(a_chart_is_found_from_any_of_its_records),
        TEST(visits_stand_in_order_of_their_days),
        TEST(what_has_not_arrived_is_left_out),
        TEST(of_two_dogs_a_caregiver_has_none_is_guessed),
        TEST(facts_come_from_visit_dog_caregiver_call_in_that_order),
        TEST(nothing_is_derived_from_nothing),
        TEST(facts_are_derived),
        TEST(the_last_visits_weight_counts_until_this_one_has_its_own),
        TEST(a_measure_is_a_fact),
        TEST(questions_are_shown_and_required_as_declared),
        TEST(a_form_says_how_far_it_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
