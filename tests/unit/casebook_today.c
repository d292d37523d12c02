#include "casebook_world.h"

static struct today look(struct world *w)
{
    struct today t;
    OK(today_look(&w->cb, w->arena, &t, f));
    return t;
}

static struct chart a_call(struct world *w, const char *dog)
{
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    put(w, &c.call, ID_CALL_DOG_NAME, dog);
    put(w, &c.call, ID_CALL_BREED, "Dachshund");
    put(w, &c.call, ID_CALL_NAME, "Ann Petrie");
    put(w, &c.call, ID_CALL_PHONE, "01632 960111");
    put(w, &c.call, ID_CALL_ADDRESS, "12 Quarry Lane");
    return c;
}

static struct chart a_booking(struct world *w, const char *dog, const char *day)
{
    struct chart c = a_call(w, dog);
    OK(call_book(&c, day, f));
    return c;
}

static void an_empty_practice_has_nothing_due(void **state)
{
    struct world *w = *state;
    struct today t = look(w);
    assert_int_equal(t.count, 0);
    assert_string_equal(t.unsent, "");
    assert_int_equal(t.counts.entries, 0);
}

static void visits_stand_in_order_with_their_words(void **state)
{
    struct world *w = *state;
    struct chart later = a_booking(w, "Moss", "2026-11-26");
    struct chart soon = a_booking(w, "Biscuit", "2026-11-24T14:00");
    struct chart past = a_booking(w, "Tansy", "2026-11-21");
    struct chart missed = a_booking(w, "Otto", "2026-11-24T08:00");
    (void)a_booking(w, "Far", "2027-03-01");  /* beyond the days ahead */
    (void)a_booking(w, "Long", "2026-10-01"); /* more than 30 days back */
    struct today t = look(w);
    assert_true(t.count >= 4);
    static const char *const who[] = {"Tansy, Dachshund", "Otto, Dachshund", "Biscuit, Dachshund",
                                      "Moss, Dachshund"};
    static const char *const when[] = {"3 days late", "08:00", "14:00", "Thu 26 Nov"};
    const bool late[] = {true, true, false, false};
    const char *const entity[] = {past.visit.entity, missed.visit.entity, soon.visit.entity,
                                  later.visit.entity};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(t.rows[i].kind, DUE_VISIT);
        assert_string_equal(t.rows[i].who, who[i]);
        assert_string_equal(t.rows[i].when, when[i]);
        assert_int_equal(t.rows[i].late, late[i]);
        assert_string_equal(t.rows[i].entity, entity[i]);
        assert_string_equal(t.rows[i].what, "first visit, 12 Quarry Lane");
    }
    for (size_t i = 4; i < t.count; i++)
        assert_int_not_equal(t.rows[i].kind, DUE_VISIT);
}

static void a_signed_visit_is_no_longer_due(void **state)
{
    struct world *w = *state;
    somebody(w, "MK", "Mara Kell");
    struct chart c = a_booking(w, "Biscuit", "2026-11-24T08:00");
    OK(record_sign(&w->cb, &c.visit, f));
    struct today t = look(w);
    assert_int_equal(t.count, 1);
    assert_int_equal(t.rows[0].kind, DUE_RECENT); /* but it is among the last dogs seen */
    assert_string_equal(t.rows[0].entity, c.dog.entity);
    assert_string_equal(t.rows[0].when, "Tue 24 Nov");
}

/* Somebody comes anyway: the review says so, and the dog is not among those seen last. */
static void a_review_with_a_booked_visit_says_so(void **state)
{
    struct world *w = *state;
    struct chart c = a_booking(w, "Biscuit", "2026-11-24T16:00");
    put(w, &c.dog, ID_REVIEW_DUE, "2026-11-22");
    struct today t = look(w);
    assert_int_equal(t.count, 2);
    assert_int_equal(t.rows[1].kind, DUE_REVIEW);
    assert_string_equal(t.rows[1].what, "booked for 16:00, 01632 960111, Ann Petrie");
}

static void a_second_visit_says_which_it_is(void **state)
{
    struct world *w = *state;
    struct chart c = a_booking(w, "Biscuit", "2026-11-01"), second;
    OK(visit_new(&w->cb, w->arena, c.dog.entity, "2026-11-24T16:00", &second, f));
    struct today t = look(w);
    assert_string_equal(t.rows[0].what, "first visit, 12 Quarry Lane");
    assert_string_equal(t.rows[1].what, "visit 2, 12 Quarry Lane");
}

static void calls_wait_to_be_rung_back_or_finished(void **state)
{
    struct world *w = *state;
    struct chart open = a_call(w, "Biscuit");
    struct chart ring = a_call(w, "Moss"), rung = a_call(w, "Otto");
    put(w, &ring.call, ID_RING_BACK, "2026-11-24T09:00");
    put(w, &rung.call, ID_RING_BACK, "done");
    put(w, &rung.call, ID_OUTCOME, "advised");
    struct today t = look(w);
    assert_int_equal(t.count, 2);
    assert_int_equal(t.rows[0].kind, DUE_RING_BACK);
    assert_string_equal(t.rows[0].entity, ring.call.entity);
    assert_string_equal(t.rows[0].when, "09:00");
    assert_true(t.rows[0].late);
    assert_string_equal(t.rows[0].what, "01632 960111, Ann Petrie");
    assert_int_equal(t.rows[1].kind, DUE_OPEN_CALL);
    assert_string_equal(t.rows[1].entity, open.call.entity);
    assert_string_equal(t.rows[1].when, "since 09:30");
    at_time("2026-11-25T09:30");
    t = look(w);
    assert_string_equal(t.rows[0].when, "1 day late");
    assert_string_equal(t.rows[1].when, "since Tue 24 Nov");
}

static void a_call_from_which_nothing_is_known_still_has_a_row(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    struct today t = look(w);
    assert_int_equal(t.count, 1);
    assert_string_equal(t.rows[0].who, "not yet named");
    assert_string_equal(t.rows[0].what, "");
}

static void a_loan_is_due_while_it_is_out(void **state)
{
    struct world *w = *state;
    struct record r;
    OK(record_new(&w->cb, w->arena, "equipment", &r, f));
    put(w, &r, "equipment.name", "Blue frame");
    put(w, &r, "equipment.state", "out");
    put(w, &r, "equipment.with", "Moss");
    put(w, &r, "equipment.due", "2026-11-22");
    struct today t = look(w);
    assert_int_equal(t.count, 1);
    assert_int_equal(t.rows[0].kind, DUE_LOAN);
    assert_string_equal(t.rows[0].who, "Blue frame");
    assert_string_equal(t.rows[0].what, "with Moss");
    assert_true(t.rows[0].late);
    put(w, &r, "equipment.state", "back");
    t = look(w);
    assert_int_equal(t.count, 0);
}

static void reviews_are_due_until_done(void **state)
{
    struct world *w = *state;
    struct chart c = a_booking(w, "Biscuit", "2026-10-01");
    put(w, &c.visit, ID_REVIEW_DUE, "2026-11-22");
    struct today t = look(w);
    assert_int_equal(t.rows[0].kind, DUE_REVIEW);
    assert_string_equal(t.rows[0].when, "2 days late");
    assert_true(t.rows[0].late);
    put(w, &c.visit, ID_REVIEW_DUE, "2027-01-20"); /* not yet */
    assert_int_equal(look(w).count, 0);
    put(w, &c.visit, ID_REVIEW_DUE, "done");
    assert_int_equal(look(w).count, 0);
}

static void conflicts_are_shown_until_a_person_settles_them(void **state)
{
    struct world *w = *state;
    somebody(w, "MK", "Mara Kell");
    struct chart c = a_booking(w, "Biscuit", "2026-11-20");
    put(w, &c.visit, "walking", "no");
    OK(record_sign(&w->cb, &c.visit, f));
    beside(w, c.visit.entity, "walking", "yes");
    struct today t = look(w);
    assert_int_equal(t.rows[0].kind, DUE_CONFLICT);
    assert_string_equal(t.rows[0].entity, c.visit.entity);
    assert_string_equal(t.rows[0].who, "Biscuit, Dachshund");
    assert_string_equal(t.rows[0].what, "Walks alone?: two values stand");
    look_again(w, &c);
    OK(record_put(&w->cb, &c.visit, "walking", "no", "seen on the film", f));
    assert_int_equal(look(w).rows[0].kind, DUE_RECENT);
    beside(w, c.dog.entity, "dog.name", "Biskit"); /* and neither name hides the other */
    assert_string_equal(look(w).rows[0].who, "Biscuit or Biskit, Dachshund");
}

static void the_last_dogs_seen_fill_a_quiet_day_latest_first(void **state)
{
    struct world *w = *state;
    static const char *const days[] = {"2026-05-01", "2026-11-02", "2026-11-20", "2026-11-22"};
    static const char *const dogs[] = {"Old", "Moss", "Otto", "Biscuit"};
    somebody(w, "MK", "Mara Kell");
    for (size_t i = 0; i < 4; i++) {
        struct chart c = a_booking(w, dogs[i], days[i]);
        OK(record_sign(&w->cb, &c.visit, f));
    }
    struct chart c = a_booking(w, "Twice", "2026-11-18"), again;
    OK(record_sign(&w->cb, &c.visit, f));
    for (int i = 0; i < 12; i++) { /* more visits than the page has rows, and all of one dog */
        OK(visit_new(&w->cb, w->arena, c.dog.entity, "2026-11-19", &again, f));
        OK(record_sign(&w->cb, &again.visit, f));
    }
    struct today t = look(w);
    static const char *const order[] = {"Biscuit", "Otto", "Twice", "Moss", "Old"};
    assert_int_equal(t.count, 5);
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(t.rows[i].kind, DUE_RECENT);
        assert_true(text_starts(t.rows[i].who, order[i]));
    }
}

static void after_a_long_holiday_the_last_dog_still_stands_first(void **state)
{
    enum { BEFORE = 210 };
    struct world *w = *state;
    char day[16];
    struct chart last = a_booking(w, "Biscuit", "2026-10-02");
    struct chart often = a_booking(w, "Old", "2026-01-02");
    put(w, &last.visit, ID_OPEN, "no");
    put(w, &often.visit, ID_OPEN, "no");
    for (int i = 0; i < BEFORE; i++) {
        struct chart old;
        (void)snprintf(day, sizeof day, "2026-%02d-%02d", 2 + i / 28, 1 + i % 28);
        OK(visit_new(&w->cb, w->arena, often.dog.entity, day, &old, f));
        put(w, &old.visit, ID_OPEN, "no");
    }
    struct today t = look(w);
    assert_int_equal(t.count, 2);
    assert_string_equal(t.rows[0].who, "Biscuit, Dachshund");
    assert_string_equal(t.rows[0].when, "Fri 2 Oct");
    assert_string_equal(t.rows[1].who, "Old, Dachshund");
    at_time("2027-09-30T09:30"); /* "Fri 2 Oct" would be the day after tomorrow */
    assert_string_equal(look(w).rows[0].when, "2026-10-02");
}

/* Nothing else of that dog comes back: no visit, no review, no conflict; and the call only once. */
static void the_call_agreed_at_the_end_stands_among_the_calls(void **state)
{
    struct world *w = *state;
    struct chart c = a_booking(w, "Hazel", "2026-11-24");
    put(w, &c.dog, ID_REVIEW_DUE, "2026-11-25");
    put(w, &c.dog, ID_CLOSED_CALL, "2026-11-29");
    assert_int_equal(look(w).count, 2); /* the case is still open: visit and review */
    put(w, &c.dog, ID_DOG_CLOSED, "2026-11-20");
    struct today t = look(w);
    assert_int_equal(t.count, 1);
    assert_int_equal(t.rows[0].kind, DUE_RING_BACK);
    assert_string_equal(t.rows[0].entity, c.dog.entity);
    assert_string_equal(t.rows[0].when, "Sun 29 Nov");
    assert_string_equal(t.rows[0].who, "Hazel, Dachshund");
    assert_string_equal(t.rows[0].what, "as agreed, 01632 960111, Ann Petrie");
    put(w, &c.dog, ID_CLOSED_RUNG, "yes");
    assert_int_equal(look(w).count, 0);
}

static void what_waits_to_be_sent_is_counted(void **state)
{
    struct world *w = *state;
    struct chart c;
    OK(call_new(&w->cb, w->arena, &c, f));
    struct today t = look(w);
    assert_int_equal(t.counts.unsent, t.counts.entries);
    assert_string_equal(t.unsent, "2 entries wait to be sent, the oldest from today");
    at_time("2026-11-26T09:30");
    assert_string_equal(look(w).unsent, "2 entries wait to be sent, the oldest 2 days old");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(an_empty_practice_has_nothing_due),
        TEST(visits_stand_in_order_with_their_words),
        TEST(a_signed_visit_is_no_longer_due),
        TEST(a_review_with_a_booked_visit_says_so),
        TEST(a_second_visit_says_which_it_is),
        TEST(calls_wait_to_be_rung_back_or_finished),
        TEST(a_call_from_which_nothing_is_known_still_has_a_row),
        TEST(a_loan_is_due_while_it_is_out),
        TEST(reviews_are_due_until_done),
        TEST(conflicts_are_shown_until_a_person_settles_them),
        TEST(the_last_dogs_seen_fill_a_quiet_day_latest_first),
        TEST(after_a_long_holiday_the_last_dog_still_stands_first),
        TEST(the_call_agreed_at_the_end_stands_among_the_calls),
        TEST(what_waits_to_be_sent_is_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
