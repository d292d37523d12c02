/* The wrong-number trial may not fall below what it reached when it was last looked at. */
#include "casebook_world.h"
#include "tests/bench/trial.h"

static double share(int hits, int of)
{
    return (double)hits / of;
}

static void rates_do_not_fall(void **state)
{
    struct world *w = *state;
    static const char *const shipped = "config";
    struct text lines;
    text_init(&lines, 10000);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load(shipped, NULL, &report);
    assert_non_null(set);
    assert_non_null(w->set);
    for (size_t i = 0; i < set->body_type_count; i++) {
        struct trial first = trial_run(set, &set->body_types[i], false);
        struct trial again = trial_run(set, &set->body_types[i], true);
        assert_true(first.clean == TRIAL_DOGS && again.clean == TRIAL_DOGS);
        assert_true(share(first.wolf, first.clean) < 0.03);
        assert_true(share(again.wolf, again.clean) < 0.03);
        for (size_t s = 0; s < 4; s++) { /* unit slips */
            assert_true(share(first.slips[s].first, first.slips[s].tried) > 0.99);
            assert_int_equal(again.slips[s].first, again.slips[s].tried);
        }
        for (size_t s = 4; s < 6; s++) { /* 20 % */
            assert_true(share(first.slips[s].first, first.slips[s].tried) > 0.25);
            assert_true(share(again.slips[s].first, again.slips[s].tried) > 0.95);
        }
        assert_true(share(again.slips[6].first, again.slips[6].tried) > 0.85);
    }
    template_free(set);
    text_free(&lines);
}

int main(void)
{
    const struct CMUnitTest tests[] = {TEST(rates_do_not_fall)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
