/* Growing texts and the nearness of words. */
#include "base/text.h"
#include "base/utf8.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void is_a_string_from_the_start(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, 100);
    assert_string_equal(t.s, "");
    assert_int_equal(t.len, 0);
    text_add(&t, "");
    text_addn(&t, "ignored", 0);
    assert_string_equal(t.s, "");
    assert_false(t.cut);
    text_free(&t);
    assert_string_equal(t.s, "");
    text_add(&t, "again"); /* usable after free, with the same ceiling */
    assert_string_equal(t.s, "again");
    assert_int_equal(t.max, 100);
    text_free(&t);
}

static void grows_piece_by_piece(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, 1 << 20);
    for (int i = 0; i < 1000; i++) {
        text_add(&t, "ab");
        text_addc(&t, 'c');
        text_addf(&t, "%d", i % 10);
    }
    assert_int_equal(t.len, 4000);
    assert_int_equal(strlen(t.s), 4000);
    assert_memory_equal(t.s + 3996, "abc9", 4);
    text_clear(&t);
    assert_string_equal(t.s, "");
    assert_int_equal(t.len, 0);
    text_addf(&t, "%*s", 700, "x"); /* longer than any small buffer inside */
    assert_int_equal(t.len, 700);
    assert_int_equal(t.s[699], 'x');
    text_free(&t);
}

static void stops_at_its_ceiling(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, 5);
    text_add(&t, "abcde");
    assert_false(t.cut);
    text_addc(&t, 'f');
    assert_true(t.cut);
    assert_string_equal(t.s, "abcde");
    text_clear(&t);
    assert_false(t.cut);
    text_add(&t, "abcdef");
    assert_string_equal(t.s, "abcde");
    assert_true(t.cut);
    text_add(&t, "x"); /* nothing more joins what was cut, or the hole would not show */
    assert_string_equal(t.s, "abcde");
    text_free(&t);
}

static void cuts_at_a_character(void **state)
{
    (void)state;
    const char *dogs = "\U0001F415\u00E9\u65E5\U0001F415";
    for (size_t max = 0; max <= strlen(dogs); max++) {
        struct text t;
        text_init(&t, max);
        text_add(&t, dogs);
        assert_true(t.len <= max);
        assert_true(max - t.len < 4);
        assert_true(utf8_valid(t.s, t.len, NULL));
        assert_memory_equal(t.s, dogs, t.len);
        assert_int_equal(t.cut, max < strlen(dogs));
        text_free(&t);
    }
}

static void pads_the_last_line(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, 1000);
    text_add(&t, "a long first line\n\u65E5e\u0301"); /* three columns */
    text_pad(&t, 5);
    text_add(&t, "|");
    assert_string_equal(t.s, "a long first line\n\u65E5e\u0301  |");
    text_pad(&t, 2); /* already wider */
    assert_string_equal(t.s, "a long first line\n\u65E5e\u0301  |");
    text_free(&t);
    text_pad(&t, 3);
    assert_string_equal(t.s, "   ");
    text_free(&t);
}

static void compares_as_people_do(void **state)
{
    (void)state;
    assert_true(text_same("Biscuit", "bISCUIT"));
    assert_true(text_same("", ""));
    assert_false(text_same("Biscuit", "Biscui"));
    assert_false(text_same("Biscui", "Biscuit"));
    assert_false(text_same("[", "{")); /* 32 apart, and no letters */
    assert_true(text_starts("template", "temp"));
    assert_true(text_starts("template", ""));
    assert_false(text_starts("temp", "template"));
}

static void measures_distance(void **state)
{
    (void)state;
    static const struct {
        const char *a, *b;
        int limit, want;
    } rows[] = {
        {"", "", 2, 0},
        {"abc", "", 5, 3},
        {"", "abc", 5, 3},
        {"abc", "abc", 0, 0},
        {"tolerence", "tolerance", 2, 1},
        {"ab", "ba", 2, 1},  /* neighbours exchanged count once */
        {"ca", "abc", 5, 3}, /* and are not edited again: optimal string alignment */
        {"kitten", "sitting", 5, 3},
        {"kitten", "sitting", 2, 3}, /* limit + 1 means further */
        {"short", "a much longer word", 3, 4},
        {"caf\u00E9", "cafe", 2, 1}, /* characters, not bytes */
        {"\u65E5\u672C", "\u672C\u65E5", 2, 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(text_distance(rows[i].a, rows[i].b, rows[i].limit), rows[i].want);
    char long_a[400], long_b[400];
    memset(long_a, 'a', sizeof long_a - 1);
    memset(long_b, 'a', sizeof long_b - 1);
    long_a[399] = long_b[399] = '\0';
    long_b[0] = 'b';
    assert_int_equal(text_distance(long_a, long_b, 2), 1);
}

static void finds_the_nearest_name(void **state)
{
    (void)state;
    static const char *const names[] = {"tolerance", "name", "unit", "mm", "id", "units"};
    const size_t n = sizeof names / sizeof *names;
    assert_string_equal(text_nearest("tolerence", names, n), "tolerance");
    assert_string_equal(text_nearest("tolrnce", names, n), "tolerance");
    assert_null(text_nearest("tolrnc", names, n)); /* three away */
    assert_string_equal(text_nearest("nam", names, n), "name");
    assert_string_equal(text_nearest("mn", names, n), "mm");
    assert_string_equal(text_nearest("unitt", names, n), "unit"); /* the first of two as near */
    assert_null(text_nearest("nope", names, n)); /* two away is too far for four letters */
    assert_null(text_nearest("x", names, n));    /* any short name would be one away */
    assert_null(text_nearest("", names, n));
    assert_null(text_nearest("name", names, 0));

    /* A third of the characters, however many bytes they take. */
    static const char *const greek[] = {"\u03B1\u03B2\u03B3\u03B4"};
    assert_string_equal(text_nearest("\u03B1\u03B2\u03B3\u03B6", greek, 1), greek[0]);
    assert_null(text_nearest("\u03B1\u03B2\u03B6\u03B6", greek, 1));
}

/* Codes that every description of the method gives. */
static void names_that_sound_alike(void **state)
{
    (void)state;
    assert_true(text_sounds_same("robert", "rupert"));     /* R163 */
    assert_true(text_sounds_same("ashcraft", "ashcroft")); /* A261: h does not part s and c */
    assert_true(text_sounds_same("tymczak", "tymcsak"));   /* T522: a vowel parts them */
    assert_true(text_sounds_same("pfister", "pister"));    /* P236 */
    assert_true(text_sounds_same("o'hara", "ohara"));
    assert_false(text_sounds_same("robert", "rubin"));
    assert_false(text_sounds_same("honeyman", "honma")); /* H555, H550 */
    assert_false(text_sounds_same("kell", "cell"));
    assert_true(text_sounds_same("", ""));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_that_sound_alike), cmocka_unit_test(is_a_string_from_the_start),
        cmocka_unit_test(grows_piece_by_piece),   cmocka_unit_test(stops_at_its_ceiling),
        cmocka_unit_test(cuts_at_a_character),    cmocka_unit_test(pads_the_last_line),
        cmocka_unit_test(compares_as_people_do),  cmocka_unit_test(measures_distance),
        cmocka_unit_test(finds_the_nearest_name),
    };
    return cmocka_run_group_tests_name("text", tests, NULL, NULL);
}
