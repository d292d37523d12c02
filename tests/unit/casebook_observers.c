#include "casebook/experience.h"
#include "casebook_world.h"

/* A dog read twice by whoever is at the keys, the readings `apart` mm. */
static void doubles(struct world *w, double apart)
{
    struct chart c;
    a_visit(w, &c);
    put(w, &c.visit, "withers_height.1", "250 mm");
    put(w, &c.visit, "withers_height.2", arena_printf(w->arena, "%.1f mm", 250 + apart));
}

static void each_person_has_an_error_of_their_own(void **state)
{
    struct world *w = *state;
    struct experience known;
    const char *steady = arena_str(w->arena, somebody(w, "ST", "Steady Hand"));
    OK(casebook_become(&w->cb, steady, f));
    for (int i = 0; i < 12; i++)
        doubles(w, i % 2 == 0 ? 1 : -1);
    const char *hasty = arena_str(w->arena, somebody(w, "HA", "Hasty Hand"));
    OK(casebook_become(&w->cb, hasty, f));
    for (int i = 0; i < 3; i++)
        doubles(w, 6);
    OK(experience_renew(&w->cb, w->arena, &known, f));
    const struct observed *one =
        observed_find(known.observers, known.observer_count, steady, "withers_height");
    const struct observed *two =
        observed_find(known.observers, known.observer_count, hasty, "withers_height");
    assert_non_null(one);
    assert_non_null(two);
    assert_int_equal(one->n, 12);
    NEAR(one->tem, sqrt(0.5), 1e-6); /* sqrt(sum d^2 / 2n) with every d 1 mm */
    NEAR(one->credible, 1.96, 1e-6); /* 1.96 sqrt(2) TEM */
    assert_int_equal(two->n, 3);
    NEAR(two->tem, 6 / sqrt(2), 1e-6);
    assert_null(observed_find(known.observers, known.observer_count, steady, "hip_width"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {TEST(each_person_has_an_error_of_their_own)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
