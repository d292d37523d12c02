/* What protects a folder when the laptop is stolen: the disk's encryption, or the folder's own. */
#ifndef AMBLE_BASE_SHELTER_H
#define AMBLE_BASE_SHELTER_H

#include <stdbool.h>
#include <sys/types.h>

enum shelter {
    SHELTER_NONE,    /* a disk that anybody can read who has it */
    SHELTER_DISK,    /* every disk below is encrypted by dm-crypt (LUKS) */
    SHELTER_FOLDER,  /* the folder is encrypted: fscrypt, gocryptfs, cryfs, ecryptfs */
    SHELTER_MEMORY,  /* a file system in memory */
    SHELTER_NETWORK, /* another computer's disk, reached over a network */
    SHELTER_UNKNOWN, /* a file system whose disks cannot be asked: zfs, bcachefs, encfs */
    SHELTER_COUNT
};
/* `sysfs` is "/sys", or a folder that looks like it, whose file "mountinfo" then stands for
 * /proc/self/mountinfo. An overlay is as safe as the folder that takes what is written, a btrfs as
 * the worst of its disks. Faults give SHELTER_UNKNOWN. */
enum shelter shelter_of(const char *folder, const char *sysfs);
enum shelter shelter_of_device(dev_t device, const char *sysfs); /* DISK, NONE or UNKNOWN */
enum shelter shelter_of_btrfs(const unsigned char fsid[16], const char *sysfs); /* the same */
bool shelter_network(unsigned long file_system); /* f_type of statfs(2) */
/* A thief of the switched-off computer reads nothing. */
bool shelter_safe(enum shelter s);
const char *shelter_words(enum shelter s);
const char *shelter_id(enum shelter s); /* "none", "disk", ...: what is recorded */

/* Whether a folder here could be encrypted by the file system itself. */
enum shelter_offer {
    OFFER_CANNOT,  /* not this file system, or not this kernel */
    OFFER_ZFS,     /* what only the tools of zfs can tell */
    OFFER_FEATURE, /* ext4 or f2fs, once its "encrypt" feature is switched on */
    OFFER_FOLDER,  /* at once */
};
enum shelter_offer shelter_offer(const char *folder);
/* What asking the kernel for the folder's policy came to, 0 or an errno; f_type of statfs(2). */
enum shelter_offer shelter_offer_of(int policy_errno, unsigned long file_system);
/* What to run, in words. */
const char *shelter_offer_words(enum shelter_offer o);

/* Others than the owner can open the folder or a file in it. */
bool shelter_open_to_others(const char *folder);
/* Memory may be written to a swap that is not encrypted. `swaps` is "/proc/swaps". zram counts as
 * memory. */
bool shelter_swaps_open(const char *swaps, const char *sysfs);
/* No core dumps, and no other process of this user looks into memory. */
void shelter_memory(void);

#endif
