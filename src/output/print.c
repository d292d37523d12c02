#include "output/print.h"
#include "base/disk.h"
#include "base/text.h"
#include "base/utf8.h"
#include <errno.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

/* ---- printing -------------------------------------------------------------------------------- */

/* The job as a file that exists in memory only, at its start: lp reads it at its own pace, a lp
 * that dies half-way cannot stop us, and nothing of a record touches a temporary folder. */
static int job_file(const char *bytes, size_t n)
{
    int fd = memfd_create("sheet", MFD_CLOEXEC);
    if (fd >= 0 && (!disk_write(fd, bytes, n) || lseek(fd, 0, SEEK_SET) != 0)) {
        close(fd);
        return -1;
    }
    return fd;
}

/* lp with the job as its standard input; what it says on either output goes to `said_fd`.
 * Returns 0 or an errno. */
static int spawn_lp(const char *queue, const char *title, bool large, int job_fd, int said_fd,
                    pid_t *pid)
{
    const char *argv[12];
    size_t n = 0;
    argv[n++] = "lp";
    if (*queue) {
        argv[n++] = "-d";
        argv[n++] = queue;
    }
    argv[n++] = "-t";
    argv[n++] = title;
    if (large) {
        argv[n++] = "-o";
        argv[n++] = "cpi=5";
        argv[n++] = "-o";
        argv[n++] = "lpi=3";
    }
    argv[n++] = "--";
    argv[n++] = "-";
    argv[n] = NULL;

    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_adddup2(&files, job_fd, STDIN_FILENO);
    posix_spawn_file_actions_adddup2(&files, said_fd, STDOUT_FILENO);
    posix_spawn_file_actions_adddup2(&files, said_fd, STDERR_FILENO);
    int why = posix_spawnp(pid, "lp", &files, NULL, (char *const *)argv, environ);
    posix_spawn_file_actions_destroy(&files);
    return why;
}

/* Everything lp says, on one line; more than the room of `said` is read and left out. */
static void hear(int fd, struct text *said)
{
    char buf[512];
    ssize_t n;
    while ((n = read(fd, buf, sizeof buf)) > 0 || (n < 0 && errno == EINTR))
        if (n > 0)
            text_addn(said, buf, (size_t)n);
    while (said->len > 0 && strchr("\n. ", said->s[said->len - 1]))
        said->s[--said->len] = '\0';
    for (char *c = said->s; (c = strchr(c, '\n')) != NULL;)
        *c = ' ';
}

static bool judge(int status, const char *heard, struct fault *f)
{
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0)
        return true;
    struct text shown;
    text_init(&shown, 400);
    utf8_show(&shown, heard, false);
    if (shown.len > 0) {
        fail(f, FAULT_SYSTEM, "the printer refused the sheet: %s", shown.s);
    } else if (WIFEXITED(status)) {
        fail(f, FAULT_SYSTEM, "the printer refused the sheet: lp ended with status %d",
             WEXITSTATUS(status));
    } else {
        fail(f, FAULT_SYSTEM, "the printer refused the sheet: lp was ended by signal %d",
             WTERMSIG(status));
    }
    text_free(&shown);
    return false;
}

static bool run_lp(const char *queue, const char *title, bool large, int job_fd, struct fault *f)
{
    int said_fds[2];
    if (pipe2(said_fds, O_CLOEXEC) != 0)
        return fail(f, FAULT_SYSTEM, "cannot start lp: %s", strerror(errno));
    pid_t pid = 0;
    int why = spawn_lp(queue, title, large, job_fd, said_fds[1], &pid);
    close(said_fds[1]);
    if (why != 0) {
        close(said_fds[0]);
        return why == ENOENT ? fail(f, FAULT_MISSING,
                                    "no \"lp\" on this computer: install a printing system "
                                    "(package cups-client) or save the sheet to a file")
                             : fail(f, FAULT_SYSTEM, "cannot start lp: %s", strerror(why));
    }
    struct text heard;
    text_init(&heard, 1024);
    hear(said_fds[0], &heard);
    close(said_fds[0]);
    int status = 0;
    while (waitpid(pid, &status, 0) < 0 && errno == EINTR) {
    }
    bool fine = judge(status, heard.s, f);
    text_free(&heard);
    return fine;
}

bool print_job(const char *queue, const char *title, bool large, const char *bytes, size_t n,
               char *said, size_t said_room, struct fault *f)
{
    int job_fd = job_file(bytes, n);
    if (job_fd < 0)
        return fail(f, FAULT_SYSTEM, "cannot hand the sheet to lp: %s", strerror(errno));
    struct text name;
    text_init(&name, 200);
    utf8_show(&name, title, false);
    bool sent = run_lp(queue, name.s, large, job_fd, f);
    text_free(&name);
    close(job_fd);
    if (sent && *queue)
        snprintf(said, said_room, "sent to queue %s", queue);
    else if (sent)
        snprintf(said, said_room, "sent to the default queue");
    return sent;
}

/* ---- saving ---------------------------------------------------------------------------------- */

/* Give the finished file its name. A file system that cannot refuse to replace is asked first. */
static bool give_name(const char *temporary, const char *path, bool replace, struct fault *f)
{
    int failed = renameat2(AT_FDCWD, temporary, AT_FDCWD, path, replace ? 0 : RENAME_NOREPLACE);
    if (failed && errno == EINVAL && !replace) {
        struct stat there;
        errno = EEXIST;
        failed = lstat(path, &there) == 0 || rename(temporary, path) != 0;
    }
    if (failed && errno == EEXIST)
        return fail(f, FAULT_REFUSED, "\"%s\" is already there and was left as it is", path);
    return !failed || fail(f, FAULT_STORE, "cannot save \"%s\": %s", path, strerror(errno));
}

/* The name itself is on the disk only once its folder is. */
static void flush_folder(const char *path)
{
    const char *slash = strrchr(path, '/');
    char *folder = slash ? strndup(path, (size_t)(slash - path) + 1) : strdup(".");
    if (folder)
        (void)disk_flush_folder(folder);
    free(folder);
}

bool save_file(const char *path, const char *bytes, size_t n, bool replace, struct fault *f)
{
    struct text temporary;
    text_init(&temporary, 4096);
    text_addf(&temporary, "%s.XXXXXX", path);
    int fd = temporary.cut ? -1 : mkostemp(temporary.s, O_CLOEXEC);
    if (fd < 0) {
        fail(f, FAULT_STORE, "cannot save \"%s\": %s", path,
             temporary.cut ? "the name is too long" : strerror(errno));
        text_free(&temporary);
        return false;
    }
    bool wrote = disk_write(fd, bytes, n) && fsync(fd) == 0;
    int why = errno;
    close(fd);
    bool fine = wrote ? give_name(temporary.s, path, replace, f)
                      : fail(f, FAULT_STORE, "cannot save \"%s\": %s", path, strerror(why));
    if (fine)
        flush_folder(path);
    else
        unlink(temporary.s);
    text_free(&temporary);
    return fine;
}
