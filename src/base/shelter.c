#include "base/shelter.h"
#include <dirent.h>
#include <fcntl.h>
#include <linux/fscrypt.h>
#include <linux/magic.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/vfs.h>
#include <unistd.h>

enum { PATH_ROOM = 4096, DEPTH_MOST = 8 };

static bool starts(const char *path, const char *with)
{
    char line[64] = "";
    FILE *in = fopen(path, "re");
    bool read = in && fgets(line, sizeof line, in);
    if (in)
        fclose(in);
    return read && strncmp(line, with, strlen(with)) == 0;
}

/* This device is dm-crypt, or stands on others that all are. */
static bool encrypted(const char *device, int depth)
{
    char path[PATH_ROOM];
    size_t below = 0;
    bool all = true;
    if (snprintf(path, sizeof path, "%s/dm/uuid", device) >= (int)sizeof path || depth > DEPTH_MOST)
        return false;
    if (starts(path, "CRYPT-"))
        return true;
    snprintf(path, sizeof path, "%.3900s/slaves", device);
    DIR *d = opendir(path);
    for (struct dirent *e; d && all && (e = readdir(d));) {
        char slave[PATH_ROOM];
        if (e->d_name[0] == '.')
            continue;
        below++;
        all = snprintf(slave, sizeof slave, "%s/%s", path, e->d_name) < (int)sizeof slave &&
              encrypted(slave, depth + 1);
    }
    if (d)
        closedir(d);
    return all && below > 0;
}

enum shelter shelter_of_device(dev_t device, const char *sysfs)
{
    char path[PATH_ROOM];
    struct stat st;
    int n = snprintf(path, sizeof path, "%s/dev/block/%u:%u", sysfs, major(device), minor(device));
    if (n >= (int)sizeof path || major(device) == 0 || stat(path, &st) != 0)
        return SHELTER_UNKNOWN;
    return encrypted(path, 0) ? SHELTER_DISK : SHELTER_NONE;
}

static bool folder_encrypted(int fd)
{
    struct fscrypt_get_policy_ex_arg policy = {.policy_size = sizeof policy.policy};
    return ioctl(fd, FS_IOC_GET_ENCRYPTION_POLICY_EX, &policy) == 0;
}

enum shelter shelter_of(const char *folder, const char *sysfs)
{
    struct stat st;
    struct statfs fs;
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    enum shelter found = SHELTER_UNKNOWN;
    if (fd < 0)
        return found;
    if (folder_encrypted(fd))
        found = SHELTER_FOLDER;
    else if (fstatfs(fd, &fs) == 0 && (fs.f_type == TMPFS_MAGIC || fs.f_type == RAMFS_MAGIC))
        found = SHELTER_MEMORY;
    else if (fstat(fd, &st) == 0)
        found = shelter_of_device(st.st_dev, sysfs);
    close(fd);
    return found;
}

const char *shelter_words(enum shelter s)
{
    static const char *const words[] = {
        [SHELTER_NONE] =
            ("NOT ENCRYPTED: who steals this computer can read every record; encrypt the disk "
             "(LUKS), or move the records to a folder that is"),
        [SHELTER_DISK] = "encrypted (LUKS)",
        [SHELTER_FOLDER] = "an encrypted folder (fscrypt)",
        [SHELTER_MEMORY] = "in memory only: gone when the computer is switched off",
        [SHELTER_UNKNOWN] = "cannot be told: look whether the disk is encrypted",
    };
    return words[s];
}

bool shelter_swaps_open(const char *swaps, const char *sysfs)
{
    char line[PATH_ROOM], name[1024];
    bool open_one = false;
    FILE *in = fopen(swaps, "re");
    while (in && fgets(line, sizeof line, in)) {
        struct stat st;
        if (line[0] != '/' || sscanf(line, "%1023s", name) != 1 ||
            strncmp(name, "/dev/zram", 9) == 0)
            continue;
        dev_t device = stat(name, &st) != 0 ? 0 : S_ISBLK(st.st_mode) ? st.st_rdev : st.st_dev;
        open_one = open_one || shelter_of_device(device, sysfs) != SHELTER_DISK;
    }
    if (in)
        fclose(in);
    return open_one;
}

void shelter_memory(void)
{
    setrlimit(RLIMIT_CORE, &(struct rlimit){0});
#ifndef __SANITIZE_ADDRESS__ /* whose leak check looks into the process */
    prctl(PR_SET_DUMPABLE, 0);
#endif
}
