#include "base/disk.h"
#include <errno.h>
#include <fcntl.h>
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
