#include "base/disk.h"
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <sys/statvfs.h>
#include <unistd.h>

enum { MEGABYTE = 1000000 };

bool disk_write(int fd, const void *bytes, size_t size)
{
    const char *p = bytes;
    while (size > 0) {
        ssize_t n = write(fd, p, size);
        if (n < 0 && errno != EINTR)
            return false;
        if (n > 0) {
            p += n;
            size -= (size_t)n;
        }
    }
    return true;
}

bool disk_flush_folder(const char *folder)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return false;
    bool flushed = fsync(fd) == 0 || errno == EINVAL;
    int why = errno;
    close(fd);
    errno = why;
    return flushed;
}

/* Bytes; UINT64_MAX: it cannot be told, as of what is no disk and has no size. */
static uint64_t bytes_free(const char *folder)
{
    struct statvfs at;
    if (statvfs(folder, &at) != 0 || at.f_blocks == 0)
        return UINT64_MAX;
    return (uint64_t)at.f_bavail * at.f_frsize;
}

uint64_t disk_room(const char *folder)
{
    uint64_t bytes = bytes_free(folder);
    return bytes == UINT64_MAX ? bytes : bytes / MEGABYTE;
}

bool disk_holds(const char *folder, uint64_t bytes, struct fault *f)
{
    uint64_t room = bytes_free(folder);
    if (room >= bytes - bytes / 10)
        return true;
    return fail(f, FAULT_STORE,
                "this takes %" PRIu64 " MB, and only %" PRIu64
                " MB are free in %s: make room there",
                bytes / MEGABYTE + 1, room / MEGABYTE, folder);
}
