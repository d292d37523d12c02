/* One dog entered twice: noticed, joined by one entry, parted again; crosswise on two laptops. */
#include "casebook/merging.h"
#include "casebook_world.h"

struct known {
    char dog[IDENT_ROOM], caregiver[IDENT_ROOM], visit[IDENT_ROOM];
};

/* A dog with a caregiver and a visit of that day. */
static struct known enter(struct world *w, const char *name, const char *owner, const char *phone,
                          const char *day)
{
    struct known k;
    struct record dog, caregiver;
    struct chart chart;
    OK(record_new(&w->cb, w->arena, "caregiver", &caregiver, f));
    OK(record_put(&w->cb, &caregiver, ID_CAREGIVER_NAME, owner, "", f));
    OK(record_put(&w->cb, &caregiver, ID_CAREGIVER_PHONE, phone, "", f));
    OK(record_new(&w->cb, w->arena, "dog", &dog, f));
    OK(record_put(&w->cb, &dog, ID_DOG_NAME, name, "", f));
    OK(record_put(&w->cb, &dog, ID_CAREGIVER, caregiver.entity, "", f));
    OK(visit_new(&w->cb, w->arena, dog.entity, day, &chart, f));
    memcpy(k.dog, dog.entity, IDENT_ROOM);
    memcpy(k.caregiver, caregiver.entity, IDENT_ROOM);
    memcpy(k.visit, chart.visit.entity, IDENT_ROOM);
    return k;
}

static size_t alike(struct world *w, const char *entity, const struct lookalike **list)
{
    size_t count;
    OK(merge_lookalikes(&w->cb, w->arena, entity, list, &count, f));
    return count;
}

static void the_same_phone_and_a_similar_name_are_noticed(void **state)
{
    struct world *w = *state;
    const struct lookalike *list;
    struct known one = enter(w, "Biscuit", "Ada Marsh", "01632 960 001", "2026-11-20");
    struct known two = enter(w, "Biskuit", "A. Marsh", "+44 1632 960001", "2026-11-23");
    enter(w, "Biscuit", "Tom Fell", "01632 960 777", "2026-11-21"); /* a name alone is nothing */
    enter(w, "Otis", "Ada Marsh", "01632 960 001", "2026-11-22");   /* her other dog */
    assert_int_equal(alike(w, two.dog, &list), 1);
    assert_string_equal(list[0].entity, one.dog);
    assert_string_equal(list[0].text, "Biscuit, Ada Marsh");
    assert_string_equal(list[0].why, "same phone, similar name");
    assert_true(alike(w, two.caregiver, &list) >= 1);
}

static void a_call_about_a_known_dog_is_noticed(void **state)
{
    struct world *w = *state;
    const struct lookalike *list;
    struct chart c;
    struct known one = enter(w, "Biscuit", "Ada Marsh", "01632 960 001", "2026-11-20");
    OK(call_new(&w->cb, w->arena, &c, f));
    assert_int_equal(alike(w, c.call.entity, &list), 0);
    OK(record_put(&w->cb, &c.call, ID_CALL_DOG_NAME, "biscuit", "", f));
    OK(record_put(&w->cb, &c.call, ID_CALL_PHONE, "960001", "", f));
    assert_int_equal(alike(w, c.call.entity, &list), 0); /* six digits are too few to tell */
    OK(record_put(&w->cb, &c.call, ID_CALL_PHONE, "1632960001", "", f));
    assert_int_equal(alike(w, c.call.entity, &list), 1);
    assert_string_equal(list[0].entity, one.dog);
    assert_string_equal(list[0].why, "same phone, same name");
}

static void joined_dogs_share_their_visits_until_parted(void **state)
{
    struct world *w = *state;
    const struct lookalike *list;
    const struct hit *hits;
    const char *parted;
    size_t count;
    struct chart c;
    struct known one = enter(w, "Biscuit", "Ada Marsh", "01632 960 001", "2026-11-20");
    struct known two = enter(w, "Biskuit", "A. Marsh", "01632 960 001", "2026-11-23");
    OK(merge_join(&w->cb, two.dog, one.dog, f));
    OK(chart_load(&w->cb, w->arena, two.dog, &c, f)); /* either name leads to both visits */
    assert_string_equal(c.dog.entity, one.dog);
    assert_int_equal(c.visit_count, 2);
    assert_string_equal(c.visit.entity, two.visit);
    assert_string_equal(c.before.entity, one.visit);
    OK(chart_load(&w->cb, w->arena, two.visit, &c, f));
    assert_string_equal(c.dog.entity, one.dog);
    assert_string_equal(record_text(&c.caregiver, ID_CAREGIVER_NAME), "Ada Marsh");
    OK(merge_search(&w->cb, w->arena, "biskuit", 10, &hits, &count, f));
    assert_int_equal(count, 1);
    assert_string_equal(hits[0].entity, one.dog);
    assert_int_equal(alike(w, one.dog, &list), 0);
    OK(merge_part(&w->cb, w->arena, one.dog, &parted, f));
    assert_string_equal(parted, two.dog);
    OK(chart_load(&w->cb, w->arena, two.dog, &c, f));
    assert_string_equal(c.dog.entity, two.dog);
    assert_int_equal(c.visit_count, 1);
    REFUSED(merge_part(&w->cb, w->arena, one.dog, &parted, f), FAULT_MISSING, "joined");
    OK(merge_join(&w->cb, two.dog, one.dog, f)); /* and again */
    OK(chart_load(&w->cb, w->arena, one.dog, &c, f));
    assert_int_equal(c.visit_count, 2);
}

static void undo_parts_too(void **state)
{
    struct world *w = *state;
    const char *entity, *item;
    struct known one = enter(w, "Biscuit", "Ada Marsh", "01632 960 001", "2026-11-20");
    struct known two = enter(w, "Biskuit", "A. Marsh", "01632 960 001", "2026-11-23");
    OK(merge_join(&w->cb, two.dog, one.dog, f));
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    assert_string_equal(item, ID_MERGED);
    assert_string_equal(merge_survivor(&w->cb, w->arena, two.dog), two.dog);
}

static void joined_caregivers_share_their_dogs(void **state)
{
    struct world *w = *state;
    struct ids dogs;
    struct known one = enter(w, "Biscuit", "Ada Marsh", "01632 960 001", "2026-11-20");
    struct known two = enter(w, "Otis", "Ada March", "01632 960 001", "2026-11-23");
    OK(merge_join(&w->cb, one.caregiver, two.caregiver, f));
    OK(dogs_of(&w->cb, w->arena, two.caregiver, &dogs, f));
    assert_int_equal(dogs.count, 2);
    struct chart c;
    OK(chart_load(&w->cb, w->arena, one.visit, &c, f));
    assert_string_equal(c.caregiver.entity, two.caregiver);
}

static void who_was_joined_is_found_once_and_as_the_survivor_is(void **state)
{
    struct world *w = *state;
    const struct hit *hits;
    size_t count;
    struct known k[4] = {enter(w, "Otis", "Ada Marsh", "01632 960 001", "2026-11-20"),
                         enter(w, "Mo", "Ada Marshe", "01632 960 002", "2026-11-21"),
                         enter(w, "Bo", "Ada Marshes", "01632 960 003", "2026-11-22"),
                         enter(w, "Zed", "Ada Marshall", "01632 960 004", "2026-11-23")};
    OK(merge_join(&w->cb, k[0].caregiver, k[1].caregiver, f));
    OK(merge_join(&w->cb, k[2].caregiver, k[1].caregiver, f));
    OK(merge_search(&w->cb, w->arena, "marsh", 2, &hits, &count, f));
    assert_int_equal(count, 2); /* the first three are one */
    assert_string_equal(hits[0].entity, k[1].caregiver);
    assert_string_equal(hits[0].text, "Ada Marsh");
    assert_int_equal(hits[0].text_count, 2);
    assert_string_equal(hits[0].texts[0], "Ada Marshe");
    assert_string_equal(hits[0].texts[1], "01632 960 002");
    assert_string_equal(hits[1].entity, k[3].caregiver);
    OK(merge_search(&w->cb, w->arena, "marsh", 9, &hits, &count, f));
    assert_int_equal(count, 2);
}

static void what_cannot_be_one_is_refused(void **state)
{
    struct world *w = *state;
    struct known one = enter(w, "Biscuit", "Ada Marsh", "01632 960 001", "2026-11-20");
    struct known two = enter(w, "Biskuit", "A. Marsh", "01632 960 001", "2026-11-23");
    REFUSED(merge_join(&w->cb, one.dog, two.caregiver, f), FAULT_REFUSED, "cannot be one");
    REFUSED(merge_join(&w->cb, one.visit, two.visit, f), FAULT_REFUSED, "cannot be one");
    REFUSED(merge_join(&w->cb, one.dog, one.dog, f), FAULT_REFUSED, "already");
    OK(merge_join(&w->cb, one.dog, two.dog, f));
    REFUSED(merge_join(&w->cb, two.dog, one.dog, f), FAULT_REFUSED, "already");
}

/* Two laptops each made the other one the survivor: the ring has one survivor for everybody. */
static void a_ring_has_one_survivor(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct record r;
    struct known k[3] = {enter(w, "Biscuit", "Ada Marsh", "01632 960 001", "2026-11-20"),
                         enter(w, "Biskuit", "A. Marsh", "01632 960 001", "2026-11-21"),
                         enter(w, "Bisquit", "A. Marsh", "01632 960 001", "2026-11-22")};
    for (int i = 0; i < 3; i++) { /* past the guard, as entries from elsewhere come */
        OK(record_load(&w->cb, w->arena, k[i].dog, &r, f));
        OK(record_put(&w->cb, &r, ID_MERGED, k[(i + 1) % 3].dog, "", f));
    }
    const char *smallest = k[0].dog;
    for (int i = 1; i < 3; i++)
        smallest = strcmp(k[i].dog, smallest) < 0 ? k[i].dog : smallest;
    for (int i = 0; i < 3; i++) {
        assert_string_equal(merge_survivor(&w->cb, w->arena, k[i].dog), smallest);
        OK(chart_load(&w->cb, w->arena, k[i].visit, &c, f));
        assert_int_equal(c.visit_count, 3);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(the_same_phone_and_a_similar_name_are_noticed),
        TEST(a_call_about_a_known_dog_is_noticed),
        TEST(joined_dogs_share_their_visits_until_parted),
        TEST(undo_parts_too),
        TEST(joined_caregivers_share_their_dogs),
        TEST(who_was_joined_is_found_once_and_as_the_survivor_is),
        TEST(what_cannot_be_one_is_refused),
        TEST(a_ring_has_one_survivor),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
