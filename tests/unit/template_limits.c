/* What runs away is stopped early, and said so. Times are generous: a bound of seconds where the
 * unbounded reading takes minutes. */
#include "templates/cases.h"
#include <stdlib.h>
#include <time.h>

static double seconds(void)
{
    struct timespec t;
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* Lay `bytes` as one more form over the good set: the one message it must give, in good time. */
static void check_stopped(const char *bytes, size_t size, const char *expected)
{
    struct arena *a = arena_new();
    struct files files = good_files(a);
    files_lay(a, &files, "forms/x.yaml", bytes, size);
    double began = seconds();
    struct loaded l = load(&files);
    double took = seconds() - began;
    assert_null(l.set);
    assert_string_equal(l.lines.s, expected);
    assert_true(took < 5);
    loaded_free(&l);
    arena_free(a);
}

static char *repeated(const char *piece, size_t count, size_t *size)
{
    size_t n = strlen(piece);
    char *all = malloc(n * count + 1);
    assert_non_null(all);
    for (size_t i = 0; i < count; i++)
        memcpy(all + i * n, piece, n);
    all[n * count] = '\0';
    *size = n * count;
    return all;
}

static void check_repeated(const char *piece, size_t count, const char *expected)
{
    size_t size;
    char *all = repeated(piece, count, &size);
    check_stopped(all, size, expected);
    free(all);
}

static void flow_nesting(void **state)
{
    (void)state;
    check_repeated("[", 200000, "forms/x.yaml:1:25: more than 24 structures inside one another\n");
    check_repeated("{a: ", 200000,
                   "forms/x.yaml:1:97: more than 24 structures inside one another\n");
    check_repeated("- ", 200000, "forms/x.yaml:1:49: more than 24 structures inside one another\n");
}

static void a_scalar_of_50_MB(void **state)
{
    (void)state;
    check_repeated("xxxxxxxxxx", 5 * 1000 * 1000, "forms/x.yaml: the file is larger than 1 MiB\n");
}

static void a_scalar_of_a_whole_file(void **state)
{
    (void)state;
    check_repeated("xxxxxxxxxx", 100 * 1000,
                   "forms/x.yaml:1:1: a text of 1000000 bytes; at most 8192 are allowed\n");
}

static void many_values(void **state)
{
    (void)state;
    check_repeated("- a\n", 1001, "forms/x.yaml:1001:3: a list of more than 1000 values\n");
    check_repeated("- [a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a]\n", 999,
                   "forms/x.yaml:834:22: the file holds more than 20000 values\n");
}

static void many_keys(void **state)
{
    (void)state;
    struct text all;
    text_init(&all, 1 << 20);
    for (int i = 0; i < 1001; i++)
        text_addf(&all, "k%d: a\n", i);
    check_stopped(all.s, all.len, "forms/x.yaml:1001:8: a mapping of more than 1000 values\n");
    text_free(&all);
}

static void a_bomb_of_aliases(void **state)
{
    (void)state;
    struct text all;
    text_init(&all, 1 << 20);
    text_add(&all, "items:\n  - &a0 [lol, lol, lol]\n");
    for (int i = 1; i < 30; i++)
        text_addf(&all, "  - &a%d [*a%d, *a%d, *a%d]\n", i, i - 1, i - 1, i - 1);
    check_stopped(all.s, all.len,
                  "forms/x.yaml:2:5: anchors (&) are not allowed; write the value out\n");
    text_free(&all);
}

/* As many mistakes as a file can hold: 20 are said, and all are counted. */
static void many_mistakes(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct files files = good_files(a);
    struct text all;
    text_init(&all, 1 << 20);
    text_add(&all, "add_to: history\nitems:\n");
    for (int i = 0; i < 900; i++)
        text_addf(&all, "  - {id: x%d, label: X, kind: text, shown_when: {item: y, is: a}}\n", i);
    files_lay(a, &files, "forms/x.yaml", all.s, all.len);
    double began = seconds();
    struct loaded l = load(&files);
    assert_true(seconds() - began < 5);
    assert_null(l.set);
    assert_int_equal(l.count, 900);
    size_t lines = 0;
    for (const char *p = l.lines.s; *p != '\0'; p++)
        lines += *p == '\n';
    assert_int_equal(lines, 21);
    assert_non_null(strstr(l.lines.s, "\nand 880 more\n"));
    loaded_free(&l);
    text_free(&all);
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flow_nesting),
        cmocka_unit_test(a_scalar_of_50_MB),
        cmocka_unit_test(a_scalar_of_a_whole_file),
        cmocka_unit_test(many_values),
        cmocka_unit_test(many_keys),
        cmocka_unit_test(a_bomb_of_aliases),
        cmocka_unit_test(many_mistakes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
