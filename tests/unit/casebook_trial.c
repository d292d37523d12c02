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
    enum { DOGS = 30 };
    for (size_t i = 0; i < set->body_type_count; i++) {
        struct trial first = trial_run(set, &set->body_types[i], TRIAL_FIRST, DOGS);
        struct trial learned = trial_run(set, &set->body_types[i], TRIAL_LEARNED, DOGS);
        struct trial again = trial_run(set, &set->body_types[i], TRIAL_RETURN, DOGS);
        assert_true(first.clean == DOGS && first.odd_clean == DOGS && again.clean == DOGS);
        assert_true(first.wolf == 0 && learned.wolf <= 2 && again.wolf <= 1);
        for (size_t s = 0; s < 4; s++) { /* unit slips */
            assert_int_equal(first.slips[s].told, first.slips[s].tried);
            assert_int_equal(first.slips[s].first, first.slips[s].tried);
            assert_int_equal(learned.slips[s].first, learned.slips[s].tried);
            assert_int_equal(again.slips[s].first, again.slips[s].tried);
        }
        for (size_t s = 4; s < 6; s++) { /* 20 % */
            assert_true(share(first.slips[s].first, first.slips[s].tried) > 0.5);
            assert_true(share(learned.slips[s].first, learned.slips[s].tried) > 0.85);
            assert_true(share(again.slips[s].told, again.slips[s].tried) > 0.95);
            assert_true(share(first.slips[s].third, first.slips[s].tried) > 0.95);
        }
        assert_true(share(again.slips[6].first, again.slips[6].tried) > 0.95);
        for (size_t s = 4; s < TRIAL_SLIPS; s++) /* nobody betters the oracle, by more than luck */
            assert_true(first.slips[s].first <= first.slips[s].oracle + DOGS / 5);
    }
    template_free(set);
    text_free(&lines);
}

int main(void)
{
    const struct CMUnitTest tests[] = {TEST(rates_do_not_fall)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
