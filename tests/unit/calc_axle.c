/* The stepped axle: a table of positions, and the position for a target or why there is none. */
#include "calc/axle.h"
#include "tests/reference/oracle_dog.h"
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#undef fail /* cmocka's; ours is meant here */

enum { STEPS = 8 };

static void table(struct axle_row rows[STEPS])
{
    struct balance_in in = oracle_dog(NAN);
    struct fault f;
    if (!axle_table(&in, 300, 440, STEPS, rows, &f)) {
        print_error("%s\n", f.text);
        _fail(__FILE__, __LINE__);
    }
}

static void positions_in_steps(void **state)
{
    (void)state;
    struct axle_row rows[STEPS];
    table(rows);
    for (size_t i = 0; i < STEPS; i++) {
        struct balance_in in = oracle_dog(NAN);
        struct balance_out out;
        in.axle_mm = 300 + 20.0 * (double)i;
        assert_true(balance_solve(&in, &out, NULL));
        assert_true(fabs(rows[i].axle_mm - in.axle_mm) < 1e-9 && rows[i].stands);
        assert_true(fabs(rows[i].out.fore_load_n - out.fore_load_n) < 1e-9);
    }
}

static void some_do_not_stand(void **state)
{
    (void)state;
    struct axle_row rows[3];
    struct balance_in in = oracle_dog(NAN);
    struct fault f;
    assert_true(axle_table(&in, 100, 300, 3, rows, &f));
    assert_false(rows[0].stands);
    assert_true(rows[2].stands);
    in.dog_mass_kg = -1;
    assert_false(axle_table(&in, 100, 300, 3, rows, &f));
    assert_non_null(strstr(f.text, "dog_mass_kg"));
    assert_false(axle_table(&in, 300, 100, 3, rows, &f));
    assert_false(axle_table(&in, 100, 300, 0, rows, &f));
}

static struct axle_want want(double relief, double uphill)
{
    return (struct axle_want){.relief = relief,
                              .relief_within = INFINITY,
                              .uphill_deg = uphill,
                              .may_press = true,
                              .may_lift = true};
}

static void nearest_to_the_target(void **state)
{
    (void)state;
    struct axle_row rows[STEPS];
    size_t chosen;
    struct axle_want w = want(0.19, 0);
    table(rows);
    assert_true(axle_target(rows, STEPS, &w, &chosen, NULL));
    assert_true(rows[chosen].axle_mm == 300);
    w = want(0.08, 0);
    assert_true(axle_target(rows, STEPS, &w, &chosen, NULL));
    assert_true(rows[chosen].axle_mm == 340);
    w = want(0.19, 9); /* 8.4 deg of grip at 300 mm, 9.2 at 320 */
    assert_true(axle_target(rows, STEPS, &w, &chosen, NULL));
    assert_true(rows[chosen].axle_mm == 320);
    w.may_lift = false; /* no chest sling */
    assert_true(axle_target(rows, STEPS, &w, &chosen, NULL));
    assert_true(rows[chosen].axle_mm == 360);
    w = want(-0.2, 0);
    w.may_press = false; /* a neck lesion: 0.545 N at 360 mm is too much already */
    assert_true(axle_target(rows, STEPS, &w, &chosen, NULL));
    assert_true(rows[chosen].axle_mm == 340);
}

static void no_position_and_why(void **state)
{
    (void)state;
    struct axle_row rows[STEPS];
    struct fault f;
    size_t chosen;
    struct axle_want w = want(0.2, 15);
    table(rows);
    assert_false(axle_target(rows, STEPS, &w, &chosen, &f));
    assert_string_equal(f.text, "no position does this, because the best of them grips to 12.9 deg "
                                "uphill (440 mm)");
    w = want(0.2, 50);
    assert_false(axle_target(rows, STEPS, &w, &chosen, &f));
    assert_non_null(strstr(f.text, "the steadiest of them tips at 46.9 deg uphill (440 mm)"));
    w = want(0.3, 0);
    w.relief_within = 0.02;
    assert_false(axle_target(rows, STEPS, &w, &chosen, &f));
    assert_non_null(strstr(f.text, "the nearest of them gives a relief of 20 % (300 mm)"));
    w = want(0.2, 12); /* only the rearmost two grip, and there the bar presses */
    w.may_press = false;
    assert_false(axle_target(rows, STEPS, &w, &chosen, &f));
    assert_non_null(strstr(f.text, "presses on the shoulders with 9.7 N (420 mm)"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(positions_in_steps),
        cmocka_unit_test(some_do_not_stand),
        cmocka_unit_test(nearest_to_the_target),
        cmocka_unit_test(no_position_and_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
