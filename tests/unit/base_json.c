/* JSON out: read back by another library, and misuse noticed. */
#include "base/json.h"
#include "base/text.h"
#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <jansson.h>

struct writing {
    struct text text;
    struct json json;
};

static int begin(void **state)
{
    static struct writing w;
    text_init(&w.text, 1 << 16);
    json_begin(&w.json, &w.text, 0);
    *state = &w;
    return 0;
}

static int end(void **state)
{
    struct writing *w = *state;
    text_free(&w->text);
    return 0;
}

static void writes_one_line(void **state)
{
    struct writing *w = *state;
    struct json *j = &w->json;
    json_open_object(j);
    json_member(j, "name", "Biscuit");
    json_key(j, "readings");
    json_open_array(j);
    json_put_decimal(j, "5.50");
    json_put_decimal(j, "0.010");
    json_end(j);
    json_key(j, "walks");
    json_put_bool(j, false);
    json_key(j, "none");
    json_open_array(j);
    json_end(j);
    json_member(j, "chip", NULL);
    json_key(j, "empty");
    json_open_object(j);
    json_end(j);
    json_end(j);
    assert_true(json_done(j));
    assert_string_equal(w->text.s, "{\"name\":\"Biscuit\",\"readings\":[5.50,0.010],"
                                   "\"walks\":false,\"none\":[],\"chip\":null,\"empty\":{}}");
}

static void writes_indented(void **state)
{
    struct writing *w = *state;
    struct json *j = &w->json;
    json_begin(j, &w->text, 2);
    json_open_object(j);
    json_key(j, "a");
    json_open_array(j);
    json_put_bool(j, true);
    json_put_null(j);
    json_end(j);
    json_key(j, "b");
    json_open_array(j);
    json_end(j);
    json_end(j);
    assert_true(json_done(j));
    assert_string_equal(w->text.s, "{\n  \"a\": [\n    true,\n    null\n  ],\n  \"b\": []\n}");
}

static void is_read_back_the_same(void **state)
{
    struct writing *w = *state;
    struct json *j = &w->json;
    static const char *const texts[] = {
        "",
        "plain",
        "quote \" back \\ slash / tab \t line \n return \r bell \a escape \033 del \x7F",
        "Zo\u00EB \u65E5\u672C \U0001F415 e\u0301",
        "\xC2\x85\xC2\x9B C1, \u2028 and \u2029",
        "</script> & <b>",
    };
    static const double numbers[] = {
        0,       1,     -1,     0.1,     9.4,     1.0 / 3, 5e-324, 1e21,
        DBL_MAX, -1e-7, 123456, 1234567, 4.0 / 7, 100000,  1e100,  0.30000000000000004};
    json_open_array(j);
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        json_put_string(j, texts[i]);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
        json_put_number(j, numbers[i]);
    json_put_number(j, NAN);
    json_put_number(j, -INFINITY);
    json_end(j);
    assert_true(json_done(j));

    json_error_t error;
    json_t *array = json_loads(w->text.s, JSON_REJECT_DUPLICATES | JSON_DECODE_INT_AS_REAL, &error);
    if (array == NULL)
        fail_msg("%s at %d: %s", error.text, error.position, w->text.s);
    size_t at = 0;
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        assert_string_equal(json_string_value(json_array_get(array, at++)), texts[i]);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
        assert_true(json_real_value(json_array_get(array, at++)) == numbers[i]);
    assert_true(json_is_null(json_array_get(array, at)));
    assert_true(json_is_null(json_array_get(array, at + 1)));
    assert_int_equal(json_array_size(array), at + 2);
    json_decref(array);
}

static void hides_no_control_character(void **state)
{
    struct writing *w = *state;
    json_put_string(&w->json, "a\033\x7F\xC2\x9B\xE2\x80\xA8\t\n\"\\");
    assert_string_equal(w->text.s, "\"a\\u001b\\u007f\\u009b\\u2028\\u0009\\n\\\"\\\\\"");
}

static void replaces_bad_bytes(void **state)
{
    struct writing *w = *state;
    json_put_string(&w->json, "a\xFF\xC3");
    assert_string_equal(w->text.s, "\"a\\ufffd\\ufffd\"");
    assert_true(json_done(&w->json));
}

static void writes_numbers_short(void **state)
{
    struct writing *w = *state;
    json_open_array(&w->json);
    json_put_number(&w->json, 0.1);
    json_put_number(&w->json, 9.4);
    json_put_number(&w->json, 42);
    json_put_number(&w->json, 1234567);
    json_end(&w->json);
    assert_string_equal(w->text.s, "[0.1,9.4,42,1234567]");
}

static void takes_decimals_of_the_grammar_only(void **state)
{
    (void)state;
    static const struct {
        const char *s;
        bool good;
    } rows[] = {
        {"0", true},     {"-0", true},     {"5.50", true}, {"10", true},  {"-1.5e+10", true},
        {"1E5", true},   {"0.010", true},  {"", false},    {"-", false},  {"012", false},
        {".5", false},   {"5.", false},    {"+5", false},  {"1e", false}, {"1e+", false},
        {"0x10", false}, {"NaN", false},   {"5,5", false}, {"5 ", false}, {" 5", false},
        {"5\n", false},  {"1.5.2", false}, {"--1", false}, {"1]", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct text t;
        struct json j;
        text_init(&t, 100);
        json_begin(&j, &t, 0);
        json_put_decimal(&j, rows[i].s);
        assert_int_equal(json_done(&j), rows[i].good);
        if (rows[i].good)
            assert_string_equal(t.s, rows[i].s);
        text_free(&t);
    }
}

/* Each letter is a call: { [ open, . ends, k a key, v a value, m a member. */
static bool misused(const char *calls)
{
    struct text t;
    struct json j;
    text_init(&t, 10000);
    json_begin(&j, &t, 0);
    for (const char *c = calls; *c != '\0'; c++) {
        switch (*c) {
        case '{':
            json_open_object(&j);
            break;
        case '[':
            json_open_array(&j);
            break;
        case '.':
            json_end(&j);
            break;
        case 'k':
            json_key(&j, "k");
            break;
        case 'v':
            json_put_bool(&j, true);
            break;
        default:
            json_member(&j, "k", "v");
        }
    }
    bool done = json_done(&j);
    json_t *read = json_loads(t.s, JSON_DECODE_ANY, NULL);
    if (done)
        assert_non_null(read); /* what is called done is JSON */
    json_decref(read);
    text_free(&t);
    return !done;
}

static void notices_misuse(void **state)
{
    (void)state;
    static const char *const good[] = {"v",   "{.",   "[.",     "{kv.",
                                       "{m.", "[vv.", "[{.[..", "{k{k[v..."};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        assert_false(misused(good[i]));
    static const char *const bad[] = {
        "",                             /* nothing */
        "vv",                           /* two documents */
        "{.{.",                         /* two documents */
        "{",                            /* left open */
        "[v",    "{kv",   "[[.", ".",   /* closed more than opened */
        "[..",   "v.",    "{v.",        /* a value without a key */
        "{[..",  "{kvv.", "[k.",        /* a key where none belongs */
        "[m.",   "k",     "m",   "{k.", /* a key without a value */
        "{kkv.",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        if (!misused(bad[i]))
            fail_msg("\"%s\" passed", bad[i]);
}

static void stops_at_its_depth(void **state)
{
    (void)state;
    char calls[2 * JSON_DEPTH + 1];
    const int deepest = JSON_DEPTH - 1;
    memset(calls, '[', (size_t)deepest);
    memset(calls + deepest, '.', (size_t)deepest);
    calls[2 * deepest] = '\0';
    assert_false(misused(calls));
    memset(calls, '[', JSON_DEPTH);
    memset(calls + JSON_DEPTH, '.', JSON_DEPTH);
    calls[2 * JSON_DEPTH] = '\0';
    assert_true(misused(calls));
}

static void a_cut_text_is_not_done(void **state)
{
    (void)state;
    struct text t;
    struct json j;
    text_init(&t, 8);
    json_begin(&j, &t, 0);
    json_put_string(&j, "longer than eight");
    assert_false(json_done(&j));
    text_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(writes_one_line, begin, end),
        cmocka_unit_test_setup_teardown(writes_indented, begin, end),
        cmocka_unit_test_setup_teardown(is_read_back_the_same, begin, end),
        cmocka_unit_test_setup_teardown(hides_no_control_character, begin, end),
        cmocka_unit_test_setup_teardown(replaces_bad_bytes, begin, end),
        cmocka_unit_test_setup_teardown(writes_numbers_short, begin, end),
        cmocka_unit_test(takes_decimals_of_the_grammar_only),
        cmocka_unit_test(notices_misuse),
        cmocka_unit_test(stops_at_its_depth),
        cmocka_unit_test(a_cut_text_is_not_done),
    };
    return cmocka_run_group_tests_name("json", tests, NULL, NULL);
}
