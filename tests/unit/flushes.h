/* Watches flushes and names given, in place of the C library's own: what was said to be kept must
 * outlive a power cut. */
#ifndef AMBLE_TESTS_FLUSHES_H
#define AMBLE_TESTS_FLUSHES_H

#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <string.h>
#include <sys/syscall.h>
#include <unistd.h>

/* "flush PATH\n", "data PATH\n" and "name OLD NEW\n", in their order. The second is SQLite's: not
 * every SQLite flushes what VACUUM INTO makes, so it does not count. */
static char flushes_log[65536];

static void flushes_forget(void)
{
    flushes_log[0] = '\0';
}

static void flushes_add(const char *what, const char *one, const char *two)
{
    size_t n = strlen(flushes_log);
    snprintf(flushes_log + n, sizeof flushes_log - n, "%s %s%s%s\n", what, one, *two ? " " : "",
             two);
}

static int flushes_one(const char *what, long call, int fd)
{
    char link[64], path[512];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = readlink(link, path, sizeof path - 1);
    path[n > 0 ? n : 0] = '\0';
    flushes_add(what, path, "");
    return (int)syscall(call, fd);
}

int fsync(int fd)
{
    return flushes_one("flush", SYS_fsync, fd);
}

int fdatasync(int fd)
{
    return flushes_one("data", SYS_fdatasync, fd);
}

int rename(const char *from, const char *to)
{
    flushes_add("name", from, to);
    return (int)syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0);
}

/* `path` was flushed as `part` before it got its name; what came next was the flush of its folder.
 */
static void assert_flushed(const char *part, const char *path)
{
    char before[600], name[1100], after[600], folder[512];
    snprintf(folder, sizeof folder, "%s", path);
    snprintf(before, sizeof before, "flush %s\n", part);
    snprintf(name, sizeof name, "name %s %s\n", part, path);
    snprintf(after, sizeof after, "flush %s\n", dirname(folder));
    const char *flushed = strstr(flushes_log, before), *named = strstr(flushes_log, name);
    if (!flushed || !named || flushed > named ||
        strncmp(named + strlen(name), after, strlen(after)) != 0)
        fail_msg("%s would not outlive a power cut:\n%s", path, flushes_log);
}

#endif
