#include "share/files.h"
#include "base/arena.h"
#include "base/disk.h"
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool path_of(char out[FILE_PATH_ROOM], const char *folder, const char *name,
                    const char *tail, struct fault *f)
{
    int n = snprintf(out, FILE_PATH_ROOM, "%s/%s%s", folder, name, tail);
    return (n > 0 && n < FILE_PATH_ROOM) || fail(f, FAULT_INPUT, "the name of a file is too long");
}

bool file_put(const char *folder, const char *name, const void *bytes, size_t size, struct fault *f)
{
    char part[FILE_PATH_ROOM], whole[FILE_PATH_ROOM];
    if (!path_of(part, folder, name, ".part", f) || !path_of(whole, folder, name, "", f))
        return false;
    int fd = open(part, O_CREAT | O_TRUNC | O_WRONLY | O_CLOEXEC | O_NOFOLLOW, 0600);
    bool ok = fd >= 0 && disk_write(fd, bytes, size) && fsync(fd) == 0;
    int why = errno;
    if (fd >= 0 && close(fd) != 0 && ok) {
        ok = false;
        why = errno;
    }
    if (ok && (rename(part, whole) != 0 || !disk_flush_folder(folder))) {
        ok = false;
        why = errno;
    }
    if (!ok) {
        unlink(part);
        return fail(f, FAULT_STORE, "cannot write %s: %s", whole, strerror(why));
    }
    return true;
}

static bool read_all(int fd, uint8_t *to, size_t size)
{
    while (size > 0) {
        ssize_t n = read(fd, to, size);
        if (n == 0 || (n < 0 && errno != EINTR))
            return false;
        if (n > 0) {
            to += n;
            size -= (size_t)n;
        }
    }
    return true;
}

bool file_get(const char *path, size_t most, struct arena *a, const uint8_t **bytes, size_t *size,
              struct fault *f)
{
    struct stat st;
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0)
        return fail(f, errno == ENOENT ? FAULT_MISSING : FAULT_SYSTEM, "cannot read %s: %s", path,
                    strerror(errno));
    bool ok = fstat(fd, &st) == 0 && S_ISREG(st.st_mode);
    if (!ok)
        fail(f, FAULT_INPUT, "%s is no file", path);
    else if (st.st_size < 0 || (uint64_t)st.st_size > most)
        ok = fail(f, FAULT_LIMIT, "%s is larger than the %zu bytes that are read", path, most);
    if (ok) {
        uint8_t *to = arena_alloc(a, (size_t)st.st_size);
        ok = read_all(fd, to, (size_t)st.st_size) ||
             fail(f, FAULT_SYSTEM, "cannot read %s: %s", path, strerror(errno));
        *bytes = to;
        *size = (size_t)st.st_size;
    }
    close(fd);
    return ok;
}

bool folder_need(const char *path, struct fault *f)
{
    if (mkdir(path, 0700) != 0 && errno != EEXIST)
        return fail(f, FAULT_SYSTEM, "cannot make the folder %s: %s", path, strerror(errno));
    return true;
}
