/* Conflicts: what is told of them, and what a decision does. */
#include "casebook/settling.h"
#include "casebook_world.h"

static struct dispute only(struct world *w)
{
    const struct dispute *list;
    size_t n;
    OK(disputes(&w->cb, w->arena, 10, &list, &n, f));
    assert_int_equal(n, 1);
    return list[0];
}

static size_t left(struct world *w)
{
    const struct dispute *list;
    size_t n;
    OK(disputes(&w->cb, w->arena, 10, &list, &n, f));
    return n;
}

/* Two weights of one dog. */
static struct record two_weights(struct world *w)
{
    struct record dog;
    somebody(w, "MK", "Mara Kell");
    OK(record_new(&w->cb, w->arena, "dog", &dog, f));
    put(w, &dog, ID_DOG_NAME, "Biscuit");
    put(w, &dog, ID_DOG_MASS, "9.4 kg");
    beside(w, dog.entity, ID_DOG_MASS, "9.9 kg");
    return dog;
}

static void both_answers_are_told(void **state)
{
    struct world *w = *state;
    two_weights(w);
    struct dispute d = only(w);
    assert_string_equal(d.item, ID_DOG_MASS);
    assert_string_equal(d.whose, "Biscuit, dog");
    assert_int_equal(d.count, 2);
    assert_int_equal(d.head_count, 2);
    assert_string_equal(d.stands[0].value, "9.4 kg");
    assert_string_equal(d.stands[0].who, "MK");
    assert_string_equal(d.stands[1].value, "9.9 kg");
    assert_string_equal(d.stands[1].who, "?");
    assert_string_equal(d.stands[1].shown, "9.9 kg");
}

static void one_is_kept_with_a_reason(void **state)
{
    struct world *w = *state;
    struct record dog = two_weights(w);
    struct dispute d = only(w);
    uint64_t before = entries(w);
    REFUSED(conflict_settle(&w->cb, &d, 1, NULL, "", f), FAULT_REFUSED, "needs a reason");
    assert_int_equal(entries(w), before);
    OK(conflict_settle(&w->cb, &d, 1, NULL, "weighed at the desk", f));
    assert_int_equal(left(w), 0);
    reload(w, &dog);
    const struct finding *mass = record_find(&dog, ID_DOG_MASS);
    assert_string_equal(mass->text, "9.9 kg");
    assert_string_equal(mass->reason, "weighed at the desk");
    assert_int_equal(mass->other_count, 0);
    assert_int_equal(entries(w), before + 1); /* nothing is gone */
}

static void or_a_third_is_written(void **state)
{
    struct world *w = *state;
    struct record dog = two_weights(w);
    struct dispute d = only(w);
    const char *third;
    OK(dispute_read(&w->cb, w->arena, &d, "9,65", &third, f));
    assert_string_equal(third, "9.65 kg");
    REFUSED(dispute_read(&w->cb, w->arena, &d, "heavy", &third, f), FAULT_INPUT, "heavy");
    OK(conflict_settle(&w->cb, &d, d.count, "9.65 kg", "weighed again", f));
    reload(w, &dog);
    assert_string_equal(record_text(&dog, ID_DOG_MASS), "9.65 kg");
    assert_int_equal(left(w), 0);
}

static void what_came_meanwhile_is_not_replaced(void **state)
{
    struct world *w = *state;
    struct record dog = two_weights(w);
    struct dispute d = only(w);
    beside(w, dog.entity, ID_DOG_MASS, "12 kg");
    OK(conflict_settle(&w->cb, &d, 0, NULL, "the better scale", f));
    d = only(w);
    assert_int_equal(d.count, 2);
    assert_string_equal(d.stands[0].value, "12 kg");
    assert_string_equal(d.stands[1].value, "9.4 kg");
}

static void equal_answers_are_told_once(void **state)
{
    struct world *w = *state;
    struct record dog = two_weights(w);
    beside(w, dog.entity, ID_DOG_MASS, "9.9 kg");
    struct dispute d = only(w);
    assert_int_equal(d.count, 2);
    assert_int_equal(d.head_count, 3);
    OK(conflict_settle(&w->cb, &d, 0, NULL, "read off wrongly", f));
    assert_int_equal(left(w), 0);
}

static void an_error_may_be_what_stands(void **state)
{
    struct world *w = *state;
    struct record dog = two_weights(w);
    struct dispute d = only(w);
    OK(conflict_settle(&w->cb, &d, 0, NULL, "mine", f));
    reload(w, &dog);
    OK(record_strike(&w->cb, &dog, ID_DOG_MASS, "another dog was on the scale", f));
    beside(w, dog.entity, ID_DOG_MASS, "9.5 kg");
    d = only(w);
    assert_int_equal(d.count, 2);
    assert_string_equal(d.stands[0].shown, "entered in error");
    OK(conflict_settle(&w->cb, &d, 0, NULL, "the scale was wrong", f));
    reload(w, &dog);
    assert_true(record_find(&dog, ID_DOG_MASS)->in_error);
    assert_int_equal(left(w), 0);
}

static void nobody_at_the_keys_decides_nothing(void **state)
{
    struct world *w = *state;
    two_weights(w);
    struct dispute d = only(w);
    w->cb.author[0] = '\0';
    REFUSED(conflict_settle(&w->cb, &d, 0, NULL, "so", f), FAULT_REFUSED, "nobody is named");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(both_answers_are_told),
        TEST(one_is_kept_with_a_reason),
        TEST(or_a_third_is_written),
        TEST(what_came_meanwhile_is_not_replaced),
        TEST(equal_answers_are_told_once),
        TEST(an_error_may_be_what_stands),
        TEST(nobody_at_the_keys_decides_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
