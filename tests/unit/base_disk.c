/* Writing all of it though each call takes a little, and flushing folders. */
#include "base/disk.h"
#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

enum { MUCH = 1 << 20, LITTLE = 1000 };

/* Ours stand before those of the C library. A write takes a little, and is interrupted before each
 * third. */
static int writes, flushes;
ssize_t write(int fd, const void *bytes, size_t n)
{
    if (writes++ % 3 == 2) {
        errno = EINTR;
        return -1;
    }
    return syscall(SYS_write, fd, bytes, n < LITTLE ? n : LITTLE);
}
int fsync(int fd)
{
    flushes++;
    return (int)syscall(SYS_fsync, fd);
}

static void what_is_taken_bit_by_bit_arrives_whole(void **state)
{
    (void)state;
    static char sent[MUCH], got[MUCH];
    int ends[2];
    for (size_t i = 0; i < MUCH; i++)
        sent[i] = (char)(i * 2654435761u >> 13);
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        _exit(!disk_write(ends[1], sent, MUCH));
    }
    close(ends[1]);
    size_t n = 0;
    for (ssize_t more; n < MUCH && (more = read(ends[0], got + n, MUCH - n)) > 0;)
        n += (size_t)more;
    close(ends[0]);
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    assert_int_equal(n, MUCH);
    assert_memory_equal(sent, got, MUCH);
}

static void what_cannot_be_written_is_said(void **state)
{
    (void)state;
    int full = open("/dev/full", O_WRONLY | O_CLOEXEC);
    assert_false(disk_write(full, "word", 4));
    assert_int_equal(errno, ENOSPC);
    assert_true(disk_write(full, "", 0));
    close(full);
    assert_false(disk_write(-1, "word", 4));
    assert_int_equal(errno, EBADF);
}

static void a_folder_is_flushed_or_missed(void **state)
{
    (void)state;
    char folder[] = "/tmp/amble-disk-XXXXXX";
    assert_non_null(mkdtemp(folder));
    flushes = 0;
    assert_true(disk_flush_folder(folder));
    assert_int_equal(flushes, 1);
    assert_int_equal(rmdir(folder), 0);
    assert_false(disk_flush_folder(folder));
    assert_int_equal(errno, ENOENT);
}

static void what_clearly_has_no_room_is_told_beforehand(void **state)
{
    (void)state;
    struct fault f = {0};
    assert_true(disk_holds("/", 0, &f));
    assert_true(disk_holds("/nowhere/at/all", UINT64_MAX, &f));
    assert_true(disk_holds("/proc", UINT64_MAX, &f)); /* no disk */
    assert_false(disk_holds("/", UINT64_C(1) << 62, &f));
    assert_int_equal(f.kind, FAULT_STORE);
    assert_non_null(strstr(f.text, "this takes 4611686018428 MB, and only "));
    assert_non_null(strstr(f.text, " MB are free in /: make room there"));
    assert_int_equal(disk_room("/proc"), UINT64_MAX);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_taken_bit_by_bit_arrives_whole),
        cmocka_unit_test(what_cannot_be_written_is_said),
        cmocka_unit_test(a_folder_is_flushed_or_missed),
        cmocka_unit_test(what_clearly_has_no_room_is_told_beforehand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
