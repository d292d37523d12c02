/* Faults: one readable line of UTF-8, whatever was quoted. */
#include "base/fault.h"
#include "base/utf8.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#undef fail /* cmocka's; ours is meant here */

static void fills_and_returns_false(void **state)
{
    (void)state;
    struct fault f = {0};
    assert_false(fail(&f, FAULT_MISSING, "no dog called \"%s\"", "Biscuit"));
    assert_int_equal(f.kind, FAULT_MISSING);
    assert_string_equal(f.text, "no dog called \"Biscuit\"");
    assert_false(fail(NULL, FAULT_INPUT, "nobody listens"));
}

static void is_never_without_words(void **state)
{
    (void)state;
    struct fault f = {0};
    (void)fail(&f, FAULT_SYSTEM, "%s", "");
    assert_true(strlen(f.text) > 0);
}

static void puts_words_before(void **state)
{
    (void)state;
    struct fault f = {0};
    (void)fail(&f, FAULT_STORE, "the disk is full");
    assert_false(fail_within(&f, "cannot save \"%s\"", "hip width"));
    assert_string_equal(f.text, "cannot save \"hip width\": the disk is full");
    assert_int_equal(f.kind, FAULT_STORE);
    assert_false(fail_within(NULL, "nobody listens"));

    struct fault silent = {0};
    (void)fail_within(&silent, "cannot open the record");
    assert_string_equal(silent.text, "cannot open the record");
}

static void cuts_at_a_character(void **state)
{
    (void)state;
    char many[2000];
    for (size_t lead = 0; lead < 4; lead++) { /* each place a 4-byte character may be cut in */
        memset(many, 'x', lead);
        size_t n = lead;
        for (; n + 4 < sizeof many; n += 4)
            memcpy(many + n, "\xF0\x9F\x90\x95", 4);
        many[n] = '\0';
        struct fault f = {0};
        (void)fail(&f, FAULT_INPUT, "%s", many);
        size_t kept = strlen(f.text);
        assert_true(kept < sizeof f.text && kept > sizeof f.text - 5);
        assert_true(utf8_valid(f.text, kept, NULL));
        assert_null(strchr(f.text, '?'));
        assert_memory_equal(f.text, many, kept);

        (void)fail_within(&f, "%s", many);
        assert_true(utf8_valid(f.text, strlen(f.text), NULL));
        (void)fail(&f, FAULT_INPUT, "inner");
        (void)fail_within(&f, "%.*s", 509, many);
        assert_true(utf8_valid(f.text, strlen(f.text), NULL));
        assert_true(strlen(f.text) < sizeof f.text);
    }
}

static void quotes_nothing_that_acts(void **state)
{
    (void)state;
    struct fault f = {0};
    (void)fail(&f, FAULT_INPUT, "\"%s\" is not a day", "a\033[2J\n\x7F\xFF\xC2\x9B\xE2\x80\xAE");
    assert_string_equal(f.text, "\"a?[2J??????\?\?\" is not a day");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fills_and_returns_false),  cmocka_unit_test(is_never_without_words),
        cmocka_unit_test(puts_words_before),        cmocka_unit_test(cuts_at_a_character),
        cmocka_unit_test(quotes_nothing_that_acts),
    };
    return cmocka_run_group_tests_name("fault", tests, NULL, NULL);
}
