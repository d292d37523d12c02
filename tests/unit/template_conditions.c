/* When a condition holds, and what its verdict rests on. */
#include "templates/cases.h"

struct known {
    const char *item, *value;
};

static const char *value_of(const void *of, const char *item)
{
    for (const struct known *k = of; k->item != NULL; k++)
        if (strcmp(k->item, item) == 0)
            return k->value;
    return NULL;
}

static bool holds(const struct condition *c, const struct known *known)
{
    const struct facts facts = {value_of, known};
    return condition_holds(c, &facts, NULL);
}

#define KNOWN(...) ((const struct known[]){__VA_ARGS__, {NULL, NULL}})
#define WORD(k, i, ...)                                                                            \
    {                                                                                              \
        .kind = (k), .item = (i), .words = (const char *const[]){__VA_ARGS__},                     \
        .word_count = sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *)                  \
    }

static void no_condition_always_holds(void **state)
{
    (void)state;
    const struct condition always = {.kind = WHEN_ALWAYS};
    assert_true(holds(NULL, KNOWN({"a", "b"})));
    assert_true(holds(&always, KNOWN({"a", "b"})));
}

static void words(void **state)
{
    (void)state;
    const struct condition is = WORD(WHEN_IS, "walking", "no");
    const struct condition one = WORD(WHEN_IS_ONE_OF, "legs", "weak", "gone");
    const struct condition has = WORD(WHEN_HAS, "signs", "scrapes");
    assert_true(holds(&is, KNOWN({"walking", "no"})));
    assert_false(holds(&is, KNOWN({"walking", "not"})));
    assert_true(holds(&one, KNOWN({"legs", "gone"})));
    assert_false(holds(&one, KNOWN({"legs", "sound"})));
    assert_true(holds(&has, KNOWN({"signs", "knuckles scrapes"})));
    assert_true(holds(&has, KNOWN({"signs", "scrapes"})));
    assert_false(holds(&has, KNOWN({"signs", "scrapes_hard knuckles"})));
    assert_false(holds(&has, KNOWN({"signs", ""})));
}

static void numbers_at_their_edges(void **state)
{
    (void)state;
    static const struct {
        enum condition_kind kind;
        bool below, at, above;
    } rows[] = {
        {WHEN_AT_LEAST, false, true, true},
        {WHEN_AT_MOST, true, true, false},
        {WHEN_ABOVE, false, false, true},
        {WHEN_BELOW, true, false, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct condition c = {.kind = rows[i].kind, .item = "step", .number = 30};
        assert_int_equal(holds(&c, KNOWN({"step", "29.9 mm"})), rows[i].below);
        assert_int_equal(holds(&c, KNOWN({"step", "30 mm"})), rows[i].at);
        assert_int_equal(holds(&c, KNOWN({"step", "30.1"})), rows[i].above);
        assert_false(holds(&c, KNOWN({"step", "high"})));
        assert_false(holds(&c, KNOWN({"other", "30"})));
    }
}

static void units_of_the_value_count(void **state)
{
    (void)state;
    const struct condition c = {.kind = WHEN_ABOVE, .item = "step", .number = 30};
    assert_true(holds(&c, KNOWN({"step", "4 cm"})));
    assert_false(holds(&c, KNOWN({"step", "2 cm"})));
}

static void not_recorded_is_false_and_its_not_is_true(void **state)
{
    (void)state;
    const struct condition is = WORD(WHEN_IS, "walking", "no");
    const struct condition not_is = {.kind = WHEN_NOT, .parts = &is, .part_count = 1};
    const struct condition known = {.kind = WHEN_ANSWERED, .item = "walking", .answered = true};
    const struct condition open = {.kind = WHEN_ANSWERED, .item = "walking", .answered = false};
    const struct known *nothing = KNOWN({"other", "no"});
    assert_false(holds(&is, nothing));
    assert_true(holds(&not_is, nothing));
    assert_false(holds(&known, nothing));
    assert_true(holds(&open, nothing));
    assert_true(holds(&known, KNOWN({"walking", "yes"})));
    assert_true(holds(&open, KNOWN({"walking", ""}))); /* taken back */
}

static void groups(void **state)
{
    (void)state;
    const struct condition parts[] = {WORD(WHEN_IS, "a", "yes"), WORD(WHEN_IS, "b", "yes")};
    const struct condition all = {.kind = WHEN_ALL, .parts = parts, .part_count = 2};
    const struct condition any = {.kind = WHEN_ANY, .parts = parts, .part_count = 2};
    assert_true(holds(&all, KNOWN({"a", "yes"}, {"b", "yes"})));
    assert_false(holds(&all, KNOWN({"a", "yes"}, {"b", "no"})));
    assert_true(holds(&any, KNOWN({"a", "no"}, {"b", "yes"})));
    assert_false(holds(&any, KNOWN({"a", "no"}, {"b", "no"})));
}

static void check_use(const struct condition *c, const struct known *known, const char *expected)
{
    const char *items[2];
    struct condition_use used = {items, 0, 2};
    const struct facts facts = {value_of, known};
    (void)condition_holds(c, &facts, &used);
    struct text got;
    text_init(&got, 100);
    for (size_t i = 0; i < used.count; i++)
        text_addf(&got, "%s ", items[i]);
    assert_string_equal(got.s, expected);
    text_free(&got);
}

static void a_verdict_rests_on_what_decided_it(void **state)
{
    (void)state;
    const struct condition parts[] = {WORD(WHEN_IS, "a", "yes"), WORD(WHEN_IS, "b", "yes"),
                                      WORD(WHEN_IS, "a", "yes")};
    const struct condition all = {.kind = WHEN_ALL, .parts = parts, .part_count = 3};
    const struct condition any = {.kind = WHEN_ANY, .parts = parts, .part_count = 3};
    check_use(&any, KNOWN({"a", "no"}, {"b", "yes"}), "b ");
    check_use(&any, KNOWN({"a", "no"}, {"b", "no"}), "a b ");
    check_use(&all, KNOWN({"a", "yes"}, {"b", "no"}), "b ");
    check_use(&all, KNOWN({"a", "yes"}, {"b", "yes"}), "a b "); /* once each */
    const struct condition three[] = {WORD(WHEN_IS, "a", "yes"), WORD(WHEN_IS, "b", "yes"),
                                      WORD(WHEN_IS, "c", "yes")};
    const struct condition wide = {.kind = WHEN_ALL, .parts = three, .part_count = 3};
    check_use(&wide, KNOWN({"a", "yes"}, {"b", "yes"}, {"c", "yes"}), "a b "); /* room for two */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_condition_always_holds),
        cmocka_unit_test(words),
        cmocka_unit_test(numbers_at_their_edges),
        cmocka_unit_test(units_of_the_value_count),
        cmocka_unit_test(not_recorded_is_false_and_its_not_is_true),
        cmocka_unit_test(groups),
        cmocka_unit_test(a_verdict_rests_on_what_decided_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
