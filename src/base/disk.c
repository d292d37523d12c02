#include "base/disk.h"
#include <errno.h>
#include <fcntl.h>
#include <sys/statvfs.h>
#include <unistd.h>

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

uint64_t disk_room(const char *folder)
{
    struct statvfs at;
    if (statvfs(folder, &at) != 0 || at.f_blocks == 0) /* some that are not disks know no size */
        return UINT64_MAX;
    return (uint64_t)at.f_bavail * at.f_frsize / 1000000;
}
