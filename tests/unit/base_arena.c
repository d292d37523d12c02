/* Arenas: zeroed, aligned, whole after growth, all gone at once. */
#include "base/arena.h"
#include <setjmp.h>
#include <stdalign.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static int begin(void **state)
{
    *state = arena_new();
    return 0;
}

static int end(void **state)
{
    arena_free(*state);
    return 0;
}

static void gives_zeroed_aligned_memory(void **state)
{
    for (size_t size = 0; size < 300; size++) {
        unsigned char *p = arena_alloc(*state, size);
        assert_int_equal((uintptr_t)p % alignof(max_align_t), 0);
        for (size_t i = 0; i < size; i++)
            assert_int_equal(p[i], 0);
        memset(p, 0xA5, size); /* a neighbour that overlapped would show it */
    }
}

static void keeps_what_it_gave_when_it_grows(void **state)
{
    enum { PIECES = 500 };
    char *pieces[PIECES];
    for (int i = 0; i < PIECES; i++)
        pieces[i] = arena_printf(*state, "piece %d of %d", i, PIECES);
    char *large = arena_alloc(*state, 3 << 20); /* beyond any step */
    memset(large, 'x', 3 << 20);
    for (int i = 0; i < PIECES; i++) {
        char want[40];
        (void)snprintf(want, sizeof want, "piece %d of %d", i, PIECES);
        assert_string_equal(pieces[i], want);
    }
}

static void reset_zeroes_what_it_gives_again(void **state)
{
    memset(arena_alloc(*state, 64), 0xFF, 64);
    (void)arena_alloc(*state, 100000);
    assert_true(arena_used(*state) >= 100064);
    arena_reset(*state);
    assert_int_equal(arena_used(*state), 0);
    const unsigned char *p = arena_alloc(*state, 64);
    for (int i = 0; i < 64; i++)
        assert_int_equal(p[i], 0);
    assert_true(arena_used(*state) >= 64);
}

static void free_takes_null(void **state)
{
    (void)state;
    arena_free(NULL);
}

static void copies_text(void **state)
{
    const char word[] = "biscuit";
    char *copy = arena_str(*state, word);
    assert_string_equal(copy, word);
    assert_ptr_not_equal(copy, word);
    assert_string_equal(arena_str(*state, NULL), "");
    assert_string_equal(arena_strn(*state, word, 3), "bis");
    assert_string_equal(arena_strn(*state, word, 0), "");
    assert_string_equal(arena_printf(*state, "%s", ""), "");
    char *long_line = arena_printf(*state, "%*d", 9000, 7);
    assert_int_equal(strlen(long_line), 9000);
}

static void grows_an_array(void **state)
{
    int *items = NULL;
    size_t cap = 0;
    for (size_t count = 0; count < 1000; count++) {
        items = arena_grow(*state, items, count, &cap, sizeof *items);
        assert_true(cap > count);
        items[count] = (int)count;
    }
    for (size_t i = 0; i < 1000; i++)
        assert_int_equal(items[i], i);
    size_t same = cap;
    int *unmoved = arena_grow(*state, items, 3, &cap, sizeof *items);
    assert_ptr_equal(unmoved, items);
    assert_int_equal(cap, same);
}

/* A product that does not fit must not become a small block. */
static void stops_when_asked_for_the_impossible(void **state)
{
    (void)state;
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        (void)close(STDERR_FILENO);
        struct arena *a = arena_new();
        volatile size_t count = SIZE_MAX / 8 + 2;
        (void)arena_array(a, count, 8);
        _exit(0);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGABRT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(gives_zeroed_aligned_memory, begin, end),
        cmocka_unit_test_setup_teardown(keeps_what_it_gave_when_it_grows, begin, end),
        cmocka_unit_test_setup_teardown(reset_zeroes_what_it_gives_again, begin, end),
        cmocka_unit_test(free_takes_null),
        cmocka_unit_test_setup_teardown(copies_text, begin, end),
        cmocka_unit_test_setup_teardown(grows_an_array, begin, end),
        cmocka_unit_test(stops_when_asked_for_the_impossible),
    };
    return cmocka_run_group_tests_name("arena", tests, NULL, NULL);
}
