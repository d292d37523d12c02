/* Memory for secrets: locked where the system agrees, and wiped before it is given back. */
#include "base/locked.h"
#include "base/text.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

enum { FLAGS_ROOM = 512 };

/* What the kernel says of the region this address is in: "rd wr mr mw me lo dd ". */
static const char *region_flags(const void *address, char line[FLAGS_ROOM])
{
    FILE *maps = fopen("/proc/self/smaps", "r");
    uintptr_t from, to;
    bool inside = false, found = false;
    assert_non_null(maps);
    while (!found && fgets(line, FLAGS_ROOM, maps)) {
        if (sscanf(line, "%lx-%lx ", &from, &to) == 2)
            inside = (uintptr_t)address >= from && (uintptr_t)address < to;
        found = inside && strncmp(line, "VmFlags:", 8) == 0;
    }
    fclose(maps);
    assert_true(found);
    return line;
}

/* Under AddressSanitizer every lock is said to hold and none does. */
static void need_locks(void)
{
#ifdef __SANITIZE_ADDRESS__
    skip();
#endif
}

static void is_locked_zero_and_left_out_of_dumps(void **state)
{
    (void)state;
    need_locks();
    char line[FLAGS_ROOM];
    uint8_t none[64] = {0}, *p = locked_new(sizeof none, NULL);
    assert_non_null(p);
    assert_memory_equal(p, none, sizeof none);
    const char *flags = region_flags(p, line);
    assert_non_null(strstr(flags, " dd")); /* not in a core dump */
    if (locked_holds())
        assert_non_null(strstr(flags, " lo"));
    locked_free(p);
    locked_free(NULL);
}

static void says_when_the_system_does_not_lock(void **state)
{
    (void)state;
    need_locks();
    int status = 0;
    pid_t child = fork();
    if (child == 0) {
        struct rlimit none = {0};
        bool limited = setrlimit(RLIMIT_MEMLOCK, &none) == 0 && (getuid() != 0 || setuid(1) == 0);
        char *p = locked_new(8, NULL); /* there all the same */
        _exit(limited && p != NULL && !locked_holds() ? 0 : 1);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
}

/* A passphrase that grows moves from room to room, each of them locked, and is wiped when cleared.
 */
static void a_text_can_live_there(void **state)
{
    (void)state;
    char line[FLAGS_ROOM];
    static const char none[256];
    struct text t;
    text_init(&t, 1000);
    t.locked = true;
    for (int i = 0; i < 100; i++)
        text_add(&t, "ab");
    assert_int_equal(strlen(t.s), 200);
    assert_memory_equal(t.s + 196, "abab", 5);
    assert_non_null(strstr(region_flags(t.s, line), " dd"));
    text_clear(&t);
    assert_string_equal(t.s, "");
    assert_memory_equal(t.s, none, 201);
    text_add(&t, "again");
    text_free(&t);
    assert_true(t.locked);
    text_add(&t, "and again");
    assert_non_null(strstr(region_flags(t.s, line), " dd"));
    text_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(is_locked_zero_and_left_out_of_dumps),
        cmocka_unit_test(says_when_the_system_does_not_lock),
        cmocka_unit_test(a_text_can_live_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
