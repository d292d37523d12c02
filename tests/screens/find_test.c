/* Find as it is typed in: few rows at a key, all of them on Down or to choose from, and who it is
 * beside what was found. */
#include "tests/screens/visit_kit.h"
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

static struct tty *find(struct practice *p, const char *typed)
{
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    tty_keys(t, "f");
    tty_wait_text(t, "Dog, caregiver");
    tty_type(t, typed);
    return t;
}

static void found_by_the_street_it_says_who_lives_there(void **state)
{
    struct practice *p = *state;
    struct tty *t = find(p, "mill row");
    tty_wait_text(t, "> The Old Forge, Mill Row");
    tty_wait_text(t, " 01632 960183, Sunita Hale");
    practice_leave(p);
}

static void found_by_the_name_it_says_how_to_reach_them(void **state)
{
    struct practice *p = *state;
    struct tty *t = find(p, "sunita");
    tty_wait_text(t, "> Sunita Hale");
    tty_wait_text(t, " 01632 960183, The Old Forge, Mill Row");
    practice_leave(p);
}

static void names_spelt_nearly_so_are_announced_and_keep_their_room(void **state)
{
    struct practice *p = *state;
    struct tty *t = find(p, "rolv");
    tty_wait_text(t, "Nobody is spelt so");
    tty_wait_text(t, " dog with Sunita Hale, German Shepherd Dog");
    practice_leave(p);
}

static int rows_found(struct tty *t)
{
    char *screen = tty_dump(t);
    int n = 0;
    for (const char *at = screen; (at = strstr(at, " 01632 960")) != NULL; at++)
        n++;
    free(screen);
    return n;
}

static void a_key_draws_few_rows_and_down_shows_them_all(void **state)
{
    struct practice *p = *state;
    struct tty *t = find(p, "f"); /* everybody of Fernhill */
    tty_wait_text(t, "and more: type on");
    assert_int_equal(rows_found(t), 5);
    tty_keys(t, "Down");
    tty_wait_gone(t, "and more: type on");
    assert_int_equal(rows_found(t), 9);
    tty_type(t, "e");
    tty_wait_text(t, "and more: type on");
    assert_int_equal(rows_found(t), 5);
    practice_leave(p);
}

static void who_was_entered_twice_is_chosen_among_all_of_them(void **state)
{
    struct practice *p = *state;
    struct tty *t = find(p, "f");
    tty_wait_text(t, "and more: type on");
    assert_false(tty_has(t, "Quarry Lane"));
    tty_keys(t, "^D");
    tty_wait_text(t, "was entered twice. It is:");
    tty_wait_text(t, "12 Quarry Lane, Fernhill, 01632 960147, Ann Petrie");
    tty_keys(t, "^Q");
    practice_leave(p);
}

int main(void)
{
#define IN_DEMO(test) cmocka_unit_test_setup_teardown(test, practice_setup_demo, practice_teardown)
    const struct CMUnitTest tests[] = {
        IN_DEMO(found_by_the_street_it_says_who_lives_there),
        IN_DEMO(found_by_the_name_it_says_how_to_reach_them),
        IN_DEMO(names_spelt_nearly_so_are_announced_and_keep_their_room),
        IN_DEMO(a_key_draws_few_rows_and_down_shows_them_all),
        IN_DEMO(who_was_entered_twice_is_chosen_among_all_of_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
