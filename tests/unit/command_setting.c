/* Where records and templates are looked for, and what wins. */
#include "command/setting.h"
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const variables[] = {"AMBLE_DATA", "AMBLE_TEMPLATES", "XDG_DATA_HOME",
                                        "XDG_CONFIG_HOME"};

static int begin(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof variables / sizeof variables[0]; i++)
        unsetenv(variables[i]);
    return setenv("HOME", "/home/vet", 1);
}

static void read_as(int argc, char **argv, const char *data, const char *overlay)
{
    struct setting s;
    struct fault f = {0};
    int first = 0;
    assert_true(setting_read(&s, argc, argv, &first, &f));
    assert_int_equal(first, argc);
    assert_string_equal(s.data, data);
    assert_string_equal(s.overlay, overlay);
    setting_close(&s);
}

static void options_win_over_environment_over_home(void **state)
{
    (void)state;
    char *none[] = {"amble"};
    char *given[] = {"amble", "--data", "/d", "--config=/c"};
    read_as(1, none, "/home/vet/.local/share/amble", "/home/vet/.config/amble");
    setenv("XDG_DATA_HOME", "/xdg", 1);
    setenv("XDG_CONFIG_HOME", "relative", 1); /* the specification says: ignore */
    read_as(1, none, "/xdg/amble", "/home/vet/.config/amble");
    setenv("AMBLE_DATA", "/from/env", 1);
    setenv("AMBLE_TEMPLATES", "/their/templates", 1);
    read_as(1, none, "/from/env", "/their/templates");
    read_as(4, given, "/d", "/c");
}

static void a_program_in_its_source_tree_uses_what_lies_beside_it(void **state)
{
    (void)state;
    struct setting s;
    int first = 0;
    char *none[] = {"amble"};
    assert_true(setting_read(&s, 1, none, &first, NULL));
    size_t n = strlen(s.shipped);
    assert_true(n > 7 && strcmp(s.shipped + n - 7, "/config") == 0);
    assert_string_not_equal(s.shipped, AMBLE_CONFIG);
    setting_close(&s);
}

static void what_is_missing_is_a_fault_with_its_place(void **state)
{
    (void)state;
    struct setting s;
    struct casebook cb;
    struct fault f = {0};
    int first = 0;
    char *nowhere[] = {"amble", "--data", "/nowhere/at/all", "--shipped", "config"};
    assert_true(setting_read(&s, 5, nowhere, &first, &f));
    assert_false(setting_open(&s, JOURNAL_READ, &cb, &f));
    assert_non_null(strstr(f.text, "/nowhere/at/all"));
    setting_close(&s);
    char *no_templates[] = {"amble", "--shipped", "/nowhere/at/all"};
    assert_true(setting_read(&s, 3, no_templates, &first, &f));
    assert_false(setting_open(&s, JOURNAL_READ, &cb, &f));
    assert_non_null(strstr(f.text, "the templates in /nowhere/at/all cannot be used"));
    setting_close(&s);
}

/* The screens paint before the forms are read, and have them all before the first key. */
static void the_screens_know_the_practice_before_the_rest(void **state)
{
    (void)state;
    struct setting s;
    struct casebook cb;
    struct fault f = {0};
    char folder[] = "/tmp/amble-setting-XXXXXX";
    int first = 0;
    assert_non_null(mkdtemp(folder));
    char *argv[] = {"amble", "--data", folder, "--shipped", "config"};
    assert_true(setting_read(&s, 5, argv, &first, &f));
    assert_true(setting_open_soon(&s, JOURNAL_WRITE, &cb, &f));
    assert_true(strlen(cb.set->practice.name) > 0);
    assert_int_equal(cb.set->form_count, 0);
    assert_true(setting_complete(&s, &cb, &f));
    assert_true(strlen(cb.set->practice.name) > 0);
    assert_true(cb.set->form_count > 0);
    assert_ptr_equal(cb.set, s.set);
    setting_close(&s);
    const char *const left[] = {"journal.db", "journal.lock"};
    for (size_t i = 0; i < sizeof left / sizeof left[0]; i++) {
        char path[64];
        (void)snprintf(path, sizeof path, "%s/%s", folder, left[i]);
        assert_int_equal(unlink(path), 0);
    }
    assert_int_equal(rmdir(folder), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(options_win_over_environment_over_home, begin),
        cmocka_unit_test_setup(a_program_in_its_source_tree_uses_what_lies_beside_it, begin),
        cmocka_unit_test_setup(the_screens_know_the_practice_before_the_rest, begin),
        cmocka_unit_test_setup(what_is_missing_is_a_fault_with_its_place, begin),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
