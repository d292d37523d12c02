#include "base/shelter.h"
#include "base/mounts.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <linux/btrfs.h>
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
#define ZFS_MAGIC 0x2fc12fc1u /* which is no part of Linux */

/* What dm says of a device. Not every "CRYPT-" is encrypted: cryptsetup also names so what only
 * checks (VERITY, INTEGRITY), and its helpers (SUBDEV, TEMP). */
static bool dm_crypt(const char *path)
{
    static const char *const kinds[] = {"LUKS", "PLAIN-", "TCRYPT-", "BITLK-", "FVAULT2-"};
    char line[64] = "";
    bool crypt = false;
    FILE *in = fopen(path, "re");
    bool read = in && fgets(line, sizeof line, in) && strncmp(line, "CRYPT-", 6) == 0;
    for (size_t i = 0; read && i < sizeof kinds / sizeof kinds[0]; i++)
        crypt = crypt || strncmp(line + 6, kinds[i], strlen(kinds[i])) == 0;
    if (in)
        fclose(in);
    return crypt;
}

static enum shelter listed(const char *folder, int depth);

/* This device is dm-crypt, or stands on others that all are. */
static bool encrypted(const char *device, int depth)
{
    char path[PATH_ROOM];
    if (snprintf(path, sizeof path, "%s/dm/uuid", device) >= (int)sizeof path || depth > DEPTH_MOST)
        return false;
    if (dm_crypt(path))
        return true;
    snprintf(path, sizeof path, "%.3900s/slaves", device);
    return listed(path, depth + 1) == SHELTER_DISK;
}

/* The devices that a folder of sysfs lists, together. */
static enum shelter listed(const char *folder, int depth)
{
    size_t count = 0;
    bool all = true;
    DIR *d = opendir(folder);
    for (struct dirent *e; d && all && (e = readdir(d));) {
        char device[PATH_ROOM];
        if (e->d_name[0] == '.')
            continue;
        count++;
        all = snprintf(device, sizeof device, "%s/%s", folder, e->d_name) < (int)sizeof device &&
              encrypted(device, depth);
    }
    if (d)
        closedir(d);
    return count == 0 ? SHELTER_UNKNOWN : all ? SHELTER_DISK : SHELTER_NONE;
}

enum shelter shelter_of_device(dev_t device, const char *sysfs)
{
    char path[PATH_ROOM];
    struct stat st;
    int n = snprintf(path, sizeof path, "%s/dev/block/%u:%u", sysfs, major(device), minor(device));
    if (n >= (int)sizeof path || stat(path, &st) != 0)
        return SHELTER_UNKNOWN;
    return encrypted(path, 0) ? SHELTER_DISK : SHELTER_NONE;
}

enum shelter shelter_of_btrfs(const unsigned char fsid[16], const char *sysfs)
{
    char path[PATH_ROOM], uuid[40] = "";
    for (size_t i = 0, n = 0; i < 16; i++)
        n += (size_t)snprintf(uuid + n, sizeof uuid - n, "%s%02x",
                              i == 4 || i == 6 || i == 8 || i == 10 ? "-" : "", fsid[i]);
    int n = snprintf(path, sizeof path, "%s/fs/btrfs/%s/devices", sysfs, uuid);
    return n >= (int)sizeof path ? SHELTER_UNKNOWN : listed(path, 0);
}

/* A btrfs has no device number of its own, and each subvolume another; it knows its name. */
static enum shelter shelter_of_open_btrfs(int fd, const char *sysfs)
{
    struct btrfs_ioctl_fs_info_args info = {0};
    return ioctl(fd, BTRFS_IOC_FS_INFO, &info) == 0 ? shelter_of_btrfs(info.fsid, sysfs)
                                                    : SHELTER_UNKNOWN;
}

/* 0, or why the kernel gives no policy for this folder. */
static int policy_errno(int fd)
{
    struct fscrypt_get_policy_ex_arg policy = {.policy_size = sizeof policy.policy};
    return ioctl(fd, FS_IOC_GET_ENCRYPTION_POLICY_EX, &policy) == 0 ? 0 : errno;
}

bool shelter_network(unsigned long file_system)
{
    static const unsigned long far[] = {
        NFS_SUPER_MAGIC, SMB_SUPER_MAGIC,  SMB2_SUPER_MAGIC, CIFS_SUPER_MAGIC, AFS_SUPER_MAGIC,
        AFS_FS_MAGIC,    CODA_SUPER_MAGIC, V9FS_MAGIC,       CEPH_SUPER_MAGIC, OCFS2_SUPER_MAGIC,
    };
    for (size_t i = 0; i < sizeof far / sizeof far[0]; i++)
        if ((unsigned)file_system == (unsigned)far[i])
            return true;
    return false;
}

/* A file system that always encrypts what is written through it. fuse.encfs is none: it can also
 * be the encrypted view of a plain folder, into which what is written goes (--reversewrite). */
static bool encrypts(const struct mount *m)
{
    char value[8];
    if (strcmp(m->type, "ecryptfs") == 0)
        return !mount_option(m, "ecryptfs_passthrough", value, sizeof value) &&
               !mount_option(m, "ecryptfs_encrypted_view", value, sizeof value);
    return strcmp(m->type, "fuse.gocryptfs") == 0 || strcmp(m->type, "fuse.cryfs") == 0;
}

static enum shelter shelter_of_open(int fd, const char *sysfs, bool upper);

/* Of a file system that is known only by what the table of mounts says. */
static enum shelter shelter_of_mount(int fd, const char *sysfs)
{
    struct mount m;
    char mountinfo[PATH_ROOM] = "/proc/self/mountinfo";
    if (strcmp(sysfs, "/sys") != 0)
        snprintf(mountinfo, sizeof mountinfo, "%.4000s/mountinfo", sysfs);
    if (!mount_of(fd, mountinfo, &m))
        return SHELTER_UNKNOWN;
    if (strcmp(m.type, "overlay") != 0)
        return encrypts(&m) ? SHELTER_FOLDER : SHELTER_UNKNOWN;
    int upper = mount_open_upper(fd, &m);
    enum shelter found = upper < 0 ? SHELTER_UNKNOWN : shelter_of_open(upper, sysfs, true);
    if (upper >= 0)
        close(upper);
    return found;
}

/* `upper`: reached through an overlay, which does not lie on another. */
static enum shelter shelter_of_open(int fd, const char *sysfs, bool upper)
{
    struct stat st;
    struct statfs fs;
    if (policy_errno(fd) == 0)
        return SHELTER_FOLDER;
    if (fstatfs(fd, &fs) != 0 || fstat(fd, &st) != 0)
        return SHELTER_UNKNOWN;
    if (shelter_network((unsigned long)fs.f_type))
        return SHELTER_NETWORK;
    enum shelter disk = shelter_of_device(st.st_dev, sysfs);
    if (disk == SHELTER_UNKNOWN && (fs.f_type == TMPFS_MAGIC || fs.f_type == RAMFS_MAGIC))
        return SHELTER_MEMORY;
    if (disk == SHELTER_UNKNOWN && (unsigned long)fs.f_type == BTRFS_SUPER_MAGIC)
        disk = shelter_of_open_btrfs(fd, sysfs);
    return disk == SHELTER_UNKNOWN && !upper ? shelter_of_mount(fd, sysfs) : disk;
}

enum shelter shelter_of(const char *folder, const char *sysfs)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return SHELTER_UNKNOWN;
    enum shelter found = shelter_of_open(fd, sysfs, false);
    close(fd);
    return found;
}

static const struct {
    const char *id, *words;
    bool safe;
} shelters[SHELTER_COUNT] = {
    [SHELTER_NONE] = {"none",
                      "NOT ENCRYPTED: who steals this computer can read every record; encrypt the "
                      "disk (LUKS), or move the records to a folder that is",
                      false},
    [SHELTER_DISK] = {"disk", "on an encrypted disk (LUKS)", true},
    [SHELTER_FOLDER] = {"folder", "in an encrypted folder", true},
    [SHELTER_MEMORY] = {"memory", "in memory only: gone when the computer is switched off", true},
    [SHELTER_NETWORK] =
        {"network",
         "ON A NETWORK: records can be damaged there, and be read on the way and at "
         "the other end; keep them on a disk of this computer",
         false},
    [SHELTER_UNKNOWN] = {"unknown",
                         "cannot be told: look whether the disk or the folder is encrypted", false},
};

bool shelter_safe(enum shelter s)
{
    return shelters[s].safe;
}

const char *shelter_words(enum shelter s)
{
    return shelters[s].words;
}

const char *shelter_id(enum shelter s)
{
    return shelters[s].id;
}

/* ---- what could be done ---------------------------------------------------------------------- */

enum shelter_offer shelter_offer_of(int policy_errno, unsigned long file_system)
{
    switch (policy_errno) {
    case 0:
    case ENODATA: /* none is set, but one could be */
        return OFFER_FOLDER;
    case EOPNOTSUPP:
        return OFFER_FEATURE;
    default:
        return (unsigned)file_system == ZFS_MAGIC ? OFFER_ZFS : OFFER_CANNOT;
    }
}

enum shelter_offer shelter_offer(const char *folder)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    struct statfs fs;
    enum shelter_offer o = fd < 0 || fstatfs(fd, &fs) != 0
                               ? OFFER_CANNOT
                               : shelter_offer_of(policy_errno(fd), (unsigned long)fs.f_type);
    if (fd >= 0)
        close(fd);
    return o;
}

#define INTO_A_NEW_FOLDER                                                                          \
    "amble backup COPY, put this folder aside, make it anew, fscrypt encrypt FOLDER (package "     \
    "fscrypt), amble restore COPY"

const char *shelter_offer_words(enum shelter_offer o)
{
    static const char *const words[] = {
        [OFFER_CANNOT] = "this file system cannot encrypt a folder; the disk can be encrypted "
                         "(LUKS) when the system is set up",
        [OFFER_ZFS] = "zfs get encryption says whether zfs encrypts this folder, lsblk whether its "
                      "disks are encrypted; where one is so, say it on Practice (d)",
        [OFFER_FEATURE] = "this file system can encrypt a folder once root has run tune2fs -O "
                          "encrypt DEVICE; then: " INTO_A_NEW_FOLDER,
        [OFFER_FOLDER] = "this file system can encrypt a folder: " INTO_A_NEW_FOLDER,
    };
    return words[o];
}

bool shelter_open_to_others(const char *folder)
{
    char path[PATH_ROOM];
    struct stat st;
    bool is_open = stat(folder, &st) == 0 && (st.st_mode & 077) != 0;
    DIR *d = opendir(folder);
    for (struct dirent *e; d && !is_open && (e = readdir(d));)
        is_open = strcmp(e->d_name, "..") != 0 &&
                  snprintf(path, sizeof path, "%s/%s", folder, e->d_name) < (int)sizeof path &&
                  lstat(path, &st) == 0 && !S_ISLNK(st.st_mode) && (st.st_mode & 077) != 0;
    if (d)
        closedir(d);
    return is_open;
}

/* ---- memory ---------------------------------------------------------------------------------- */

/* The folder of a file; `path` is cut to it. */
static enum shelter shelter_of_file(char *path, const char *sysfs)
{
    char *slash = strrchr(path, '/');
    slash[slash == path] = '\0';
    return shelter_of(path, sysfs);
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
        enum shelter kept = stat(name, &st) != 0  ? SHELTER_UNKNOWN
                            : S_ISBLK(st.st_mode) ? shelter_of_device(st.st_rdev, sysfs)
                                                  : shelter_of_file(name, sysfs);
        open_one = open_one || kept != SHELTER_DISK;
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
