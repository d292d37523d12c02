/* What is mounted where a folder lies, from /proc/self/mountinfo (proc_pid_mountinfo(5)). */
#ifndef AMBLE_BASE_MOUNTS_H
#define AMBLE_BASE_MOUNTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { MOUNT_LINE = 16 * 1024 }; /* a longer line is passed over */

struct mount {
    char line[MOUNT_LINE]; /* holds the rest */
    uint64_t id;
    const char *root;    /* the folder of the file system that is seen at `point`; mostly "/" */
    const char *point;   /* where it is mounted */
    const char *type;    /* "ext4", "overlay", "fuse.gocryptfs" */
    const char *options; /* of the file system, as the kernel writes them */
};
/* Take `line` apart in place, which then holds what the pointers of `out` name. */
bool mount_parse(char *line, struct mount *out);
/* The mount of an open folder; false when the kernel does not say (before 5.8) or `mountinfo`, a
 * path, has no such line. */
bool mount_of(int fd, const char *mountinfo, struct mount *out);
/* The value of an option, "" when it has none; false when it is not there or longer than `room`. */
bool mount_option(const struct mount *m, const char *name, char *value, size_t room);
/* Open the folder to which an overlay writes what is written to the open folder `fd`, or -1. That
 * it is there also shows that the path means here what it meant where the overlay was mounted. */
int mount_open_upper(int fd, const struct mount *m);

#endif
