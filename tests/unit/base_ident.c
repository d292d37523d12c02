/* Identifiers: shaped as RFC 4122 version 4 says, and never twice. */
#include "base/ident.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void new_ones_are_version_4(void **state)
{
    (void)state;
    for (int i = 0; i < 1000; i++) {
        char id[IDENT_ROOM];
        ident_new(id);
        assert_int_equal(strlen(id), 36);
        assert_true(ident_valid(id));
        assert_int_equal(id[14], '4');
        assert_non_null(strchr("89ab", id[19]));
    }
}

static int by_text(const void *a, const void *b)
{
    return strcmp(a, b);
}

static void new_ones_differ(void **state)
{
    (void)state;
    enum { MANY = 5000 };
    static char ids[MANY][IDENT_ROOM];
    for (int i = 0; i < MANY; i++)
        ident_new(ids[i]);
    qsort(ids, MANY, IDENT_ROOM, by_text);
    for (int i = 1; i < MANY; i++)
        assert_string_not_equal(ids[i - 1], ids[i]);
}

static void the_same_text_has_the_same(void **state)
{
    (void)state;
    char a[IDENT_ROOM], b[IDENT_ROOM], c[IDENT_ROOM];
    ident_of("visit 1", a);
    ident_of("visit 1", b);
    ident_of("visit 2", c);
    assert_true(ident_valid(a));
    assert_int_equal(a[14], '8');
    assert_string_equal(a, b);
    assert_string_not_equal(a, c);
}

static void others_are_refused(void **state)
{
    (void)state;
    assert_true(ident_valid("123e4567-e89b-12d3-a456-426614174000"));
    static const char *const bad[] = {
        "",
        "123e4567",
        "123e4567-e89b-12d3-a456-42661417400",
        "123e4567-e89b-12d3-a456-4266141740000",
        "123E4567-e89b-12d3-a456-426614174000",
        "123e4567-e89b-12d3-a456-42661417400g",
        "123e4567ae89b-12d3-a456-426614174000",
        "123e4567-e89b-12d3-a456-42661417-000",
        " 23e4567-e89b-12d3-a456-426614174000",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_false(ident_valid(bad[i]));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(new_ones_are_version_4),
        cmocka_unit_test(new_ones_differ),
        cmocka_unit_test(the_same_text_has_the_same),
        cmocka_unit_test(others_are_refused),
    };
    return cmocka_run_group_tests_name("ident", tests, NULL, NULL);
}
