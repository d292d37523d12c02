/* Finding by typing, and that what is found follows the current values. */
#include "journal_kit.h"

struct person {
    const char *name, *phone, *address;
    char id[IDENT_ROOM];
    struct entry_id entry;
};

static void add_person(struct kit *k, struct person *p)
{
    kit_new(k, "caregiver", p->id);
    p->entry = kit_set(k, p->id, "caregiver.name", p->name);
    if (p->phone)
        kit_set(k, p->id, "caregiver.phone", p->phone);
    if (p->address)
        kit_set(k, p->id, "caregiver.address", p->address);
}

static struct person *some_people(struct kit *k)
{
    static struct person people[] = {
        {.name = "Ada Müller", .phone = "01632 960 123", .address = "12 Mill Lane"},
        {.name = "Bo Quindor", .phone = "+44 1632 960456", .address = "Miller's Yard"},
        {.name = "Bob Fenwyn", .phone = "(01632) 960-789"},
        {.name = "Mia Rossvel"},
    };
    for (size_t i = 0; i < 4; i++)
        add_person(k, &people[i]);
    return people;
}

static const struct hit *find(struct kit *k, const char *typed, size_t limit, size_t *count)
{
    const struct hit *hits = NULL;
    *count = 99;
    assert_ok(journal_search(k->j, k->a, typed, limit, &hits, count, &k->f), &k->f);
    return hits;
}

static void assert_first(struct kit *k, const char *typed, const char *entity, const char *text,
                         int distance)
{
    size_t count;
    const struct hit *hits = find(k, typed, 20, &count);
    if (count == 0 || strcmp(hits[0].entity, entity) != 0)
        fail_msg("\"%s\" does not find %s first", typed, text);
    assert_string_equal(hits[0].text, text);
    assert_int_equal(hits[0].distance, distance);
}

static void as_typed(void **state)
{
    struct kit *k = *state;
    struct person *p = some_people(k);
    size_t count;
    assert_first(k, "mul", p[0].id, "Ada Müller", 0);
    assert_first(k, "MÜLLER", p[0].id, "Ada Müller", 0);
    assert_first(k, "muller ada", p[0].id, "Ada Müller", 0);
    assert_first(k, "mill l", p[0].id, "12 Mill Lane", 0);
    assert_first(k, "millers", p[1].id, "Miller's Yard", 0);
    /* A whole word stands before a beginning, though it is younger. */
    assert_string_equal(find(k, "bo", 20, &count)[0].entity, p[1].id);
    assert_int_equal(count, 2);
    assert_string_equal(find(k, "bo", 1, &count)[0].entity, p[1].id);
    assert_int_equal(count, 1);
    find(k, "", 20, &count);
    assert_int_equal(count, 0);
    find(k, " ... ", 20, &count);
    assert_int_equal(count, 0);
    find(k, "mul", 0, &count);
    assert_int_equal(count, 0);
}

static void the_typed_text_is_no_query_language(void **state)
{
    struct kit *k = *state;
    struct person *p = some_people(k);
    static const char *const typed[] = {
        "\"",   "mul\"", "mul*",   "-mul",  "NEAR(mul)", "a AND",  "words:mul",
        "^mul", "(",     "mul OR", "{a b}", "+",         "'; --x", "\xf0\x9f\x90\x95"};
    size_t count;
    for (size_t i = 0; i < sizeof typed / sizeof typed[0]; i++)
        find(k, typed[i], 20, &count);
    assert_first(k, "mul\"*", p[0].id, "Ada Müller", 0);
    char *large = calloc(1, 20001);
    memset(large, 'q', 20000);
    find(k, large, 20, &count);
    for (size_t i = 1; i < 20000; i += 2)
        large[i] = ' ';
    find(k, large, 20, &count);
    free(large);
}

static void phones_by_their_end(void **state)
{
    struct kit *k = *state;
    struct person *p = some_people(k);
    size_t count;
    assert_first(k, "123", p[0].id, "01632 960 123", 0);
    assert_first(k, "960456", p[1].id, "+44 1632 960456", 0);
    assert_first(k, "01632 960456", p[1].id, "+44 1632 960456", 0); /* without the country code */
    assert_first(k, "+44 1632 960-789", p[2].id, "(01632) 960-789", 0);
    assert_first(k, "01632960", p[0].id, "01632 960 123", 0); /* as it is typed from the front */
    find(k, "960999", 20, &count);
    assert_int_equal(count, 0);
}

/* Everybody of a town: more than are looked through for the beginning of a number. */
static void numbers_of_one_town_by_their_beginning(void **state)
{
    struct kit *k = *state;
    struct person town[90];
    char phones[90][20];
    size_t count;
    for (int i = 0; i < 90; i++) {
        snprintf(phones[i], sizeof phones[i], "01632 9%05d", i * 1009);
        town[i] = (struct person){.name = "Ada", .phone = phones[i]};
        if (i == 3) /* only the index itself knows that a number begins there */
            town[i] = (struct person){.name = "Ada", .address = "№0163295"};
        add_person(k, &town[i]);
    }
    const struct hit *hits = find(k, "016329", 7, &count);
    assert_int_equal(count, 7);
    for (int i = 0; i < 7; i++) /* in the order in which they came */
        assert_string_equal(hits[i].entity, town[i].id);
    find(k, "016329", 100, &count);
    assert_int_equal(count, 90);
    find(k, "0163 9", 100, &count);
    assert_int_equal(count, 89);
    assert_first(k, "01632989", town[89].id, phones[89], 0); /* the last of them */
    assert_first(k, phones[88], town[88].id, phones[88], 0);
    for (int i = 4; i < 90; i++) { /* all but the last digit, from the front */
        char typed[20];
        snprintf(typed, sizeof typed, "%.11s", phones[i]);
        assert_first(k, typed, town[i].id, phones[i], 0);
    }
    find(k, "016328", 7, &count);
    assert_int_equal(count, 0);
    find(k, "01632 8", 7, &count);
    assert_int_equal(count, 0);
}

static void fewer_asked_for_are_the_first_of_all(void **state)
{
    static const char *const typed[] = {"m", "mi", "bo", "01", "0163", "960", "mill l", "quindro"};
    struct kit *k = *state;
    size_t all, few;
    some_people(k);
    some_people(k);
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
        const struct hit *every = find(k, typed[i], 20, &all);
        assert_true(all > 1);
        for (size_t most = 1; most < all; most++) {
            const struct hit *hits = find(k, typed[i], most, &few);
            assert_int_equal(few, most);
            for (size_t n = 0; n < few; n++)
                assert_string_equal(hits[n].entity, every[n].entity);
        }
    }
}

static void a_hit_tells_all_it_is_found_by(void **state)
{
    struct kit *k = *state;
    some_people(k);
    size_t count;
    const struct hit *hits = find(k, "mill l", 1, &count);
    assert_int_equal(hits[0].text_count, 3);
    assert_string_equal(hits[0].texts[0], "Ada Müller");
    assert_string_equal(hits[0].texts[1], "12 Mill Lane");
    assert_string_equal(hits[0].texts[2], "01632 960 123");
}

static void misspelt_names(void **state)
{
    struct kit *k = *state;
    struct person *p = some_people(k);
    size_t count;
    assert_first(k, "quindro", p[1].id, "Bo Quindor", 1);
    assert_first(k, "kuindro", p[1].id, "Bo Quindor", 2);
    assert_first(k, "kuimdor", p[1].id, "Bo Quindor", 2); /* four letters come or go */
    assert_first(k, "mulller", p[0].id, "Ada Müller", 1);
    assert_first(k, "roswel", p[3].id, "Mia Rossvel", 2);
    assert_first(k, "bo quinodr", p[1].id, "Bo Quindor", 1);
    find(k, "kuintro", 20, &count); /* three letters away */
    assert_int_equal(count, 0);
    /* Exact ones stand first. */
    struct person other = {.name = "Quindro Bell"};
    add_person(k, &other);
    const struct hit *hits = find(k, "quindro", 20, &count);
    assert_int_equal(count, 2);
    assert_string_equal(hits[0].entity, other.id);
    assert_int_equal(hits[0].distance, 0);
    assert_int_equal(hits[1].distance, 1);
}

static void of_two_as_near_the_one_that_sounds_alike_stands_first(void **state)
{
    struct kit *k = *state;
    struct person other = {.name = "Lo Fenvin"}, alike = {.name = "Lo Fenwyn"};
    size_t count;
    add_person(k, &other);
    add_person(k, &alike);
    const struct hit *hits = find(k, "fenwin", 20, &count);
    assert_int_equal(count, 2);
    assert_int_equal(hits[0].distance, hits[1].distance);
    assert_string_equal(hits[0].entity, alike.id);
}

static void five_exact_hits_need_no_guesses(void **state)
{
    struct kit *k = *state;
    struct person p = {.name = "Jormar"};
    size_t count;
    for (int i = 0; i < 5; i++)
        add_person(k, &p);
    p.name = "Jorman";
    add_person(k, &p);
    find(k, "jormar", 20, &count);
    assert_int_equal(count, 5);
    find(k, "jorman", 20, &count);
    assert_int_equal(count, 6);
}

static void what_is_found_follows_the_current_value(void **state)
{
    struct kit *k = *state;
    struct person *p = some_people(k);
    size_t count;
    struct entry_id id = kit_set_over(k, p[0].id, "caregiver.name", "Ada Tanholm", &p[0].entry, 1);
    find(k, "muller", 20, &count);
    assert_int_equal(count, 0); /* no longer, not even as a near name */
    assert_first(k, "tanh", p[0].id, "Ada Tanholm", 0);
    id = kit_set_over(k, p[0].id, "caregiver.name", "Ada TANHOLM", &id, 1); /* folds to the same */
    assert_first(k, "tanh", p[0].id, "Ada TANHOLM", 0);
    struct edit e = {.kind = ENTRY_ERROR,
                     .entity = p[0].id,
                     .item = "caregiver.name",
                     .reason = "slip",
                     .replaces = &id,
                     .replaces_count = 1};
    assert_ok(journal_append(k->j, &e, NULL, &k->f), &k->f);
    find(k, "tanholm", 20, &count);
    assert_int_equal(count, 0);
    assert_first(k, "mill l", p[0].id, "12 Mill Lane", 0);
    kit_reopen(k, JOURNAL_WRITE);
    assert_first(k, "mill l", p[0].id, "12 Mill Lane", 0);
}

static void what_is_rolled_back_is_not_found(void **state)
{
    struct kit *k = *state;
    struct person p = {.name = "Pelgar"};
    size_t count;
    assert_ok(journal_begin(k->j, &k->f), &k->f);
    add_person(k, &p);
    find(k, "pelgar", 20, &count);
    assert_int_equal(count, 1);
    journal_rollback(k->j);
    find(k, "pelgar", 20, &count);
    assert_int_equal(count, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        kit_test(as_typed),
        kit_test(the_typed_text_is_no_query_language),
        kit_test(phones_by_their_end),
        kit_test(numbers_of_one_town_by_their_beginning),
        kit_test(fewer_asked_for_are_the_first_of_all),
        kit_test(a_hit_tells_all_it_is_found_by),
        kit_test(misspelt_names),
        kit_test(of_two_as_near_the_one_that_sounds_alike_stands_first),
        kit_test(five_exact_hits_need_no_guesses),
        kit_test(what_is_found_follows_the_current_value),
        kit_test(what_is_rolled_back_is_not_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
