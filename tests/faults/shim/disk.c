/* Loaded in front of a program: the Nth write or flush of a regular file fails, once.
 *
 * AMBLE_FAULT_AT=N, AMBLE_FAULT=EIO or ENOSPC; AMBLE_FAULT_LOG=FILE is told at the end how many
 * there were. AMBLE_FAULT_ROOM=FILE holds the megabytes ("0.6") that every disk has free, while the
 * file is there. While AMBLE_FAULT_READS=FILE is there nothing can be read, with
 * AMBLE_FAULT_FLUSHES every flush fails, with AMBLE_FAULT_SLOW none comes back. */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

static _Atomic long count; /* the program flushes in a thread of its own */

static bool fails(int fd)
{
    struct stat st;
    if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode))
        return false;
    const char *at = getenv("AMBLE_FAULT_AT"), *what = getenv("AMBLE_FAULT");
    count++;
    if (!at || count != strtol(at, NULL, 10))
        return false;
    errno = what && strcmp(what, "ENOSPC") == 0 ? ENOSPC : EIO;
    return true;
}

ssize_t write(int fd, const void *bytes, size_t n)
{
    return fails(fd) ? -1 : syscall(SYS_write, fd, bytes, n);
}

ssize_t pwrite(int fd, const void *bytes, size_t n, off_t at)
{
    return fails(fd) ? -1 : syscall(SYS_pwrite64, fd, bytes, n, at);
}

ssize_t pwrite64(int fd, const void *bytes, size_t n, off64_t at)
{
    return fails(fd) ? -1 : syscall(SYS_pwrite64, fd, bytes, n, at);
}

/* Is the file there that this variable names? Then the call fails. */
static bool flagged(const char *variable)
{
    const char *name = getenv(variable);
    struct stat st;
    if (!name || stat(name, &st) != 0)
        return false;
    errno = EIO;
    return true;
}

static bool blind(void)
{
    return flagged("AMBLE_FAULT_READS");
}

ssize_t pread(int fd, void *bytes, size_t n, off_t at)
{
    return blind() ? -1 : syscall(SYS_pread64, fd, bytes, n, at);
}

ssize_t pread64(int fd, void *bytes, size_t n, off64_t at)
{
    return blind() ? -1 : syscall(SYS_pread64, fd, bytes, n, at);
}

static bool flush_fails(int fd)
{
    struct timespec ms = {.tv_nsec = 1000000};
    while (flagged("AMBLE_FAULT_SLOW"))
        nanosleep(&ms, NULL);
    return fails(fd) || flagged("AMBLE_FAULT_FLUSHES");
}

int fsync(int fd)
{
    return flush_fails(fd) ? -1 : (int)syscall(SYS_fsync, fd);
}

int fdatasync(int fd)
{
    return flush_fails(fd) ? -1 : (int)syscall(SYS_fdatasync, fd);
}

int ftruncate64(int fd, off64_t size)
{
    return fails(fd) ? -1 : (int)syscall(SYS_ftruncate, fd, size);
}

int statvfs(const char *path, struct statvfs *out)
{
    static int (*real)(const char *, struct statvfs *);
    const char *said = getenv("AMBLE_FAULT_ROOM");
    char text[24] = "";
    if (!real)
        *(void **)&real = dlsym(RTLD_NEXT, "statvfs");
    int done = real(path, out), fd = said ? open(said, O_RDONLY) : -1;
    if (fd >= 0 && read(fd, text, sizeof text - 1) > 0)
        out->f_bavail =
            ((unsigned long)(strtod(text, NULL) * 1e6) + out->f_frsize - 1) / out->f_frsize;
    if (fd >= 0)
        close(fd);
    return done;
}

__attribute__((destructor)) static void tell(void)
{
    const char *log = getenv("AMBLE_FAULT_LOG");
    char text[24];
    int fd = log ? open(log, O_WRONLY | O_CREAT | O_TRUNC, 0600) : -1;
    if (fd >= 0) {
        int n = snprintf(text, sizeof text, "%ld\n", count);
        (void)!syscall(SYS_write, fd, text, n);
        close(fd);
    }
}
