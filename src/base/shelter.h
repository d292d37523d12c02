/* What protects a folder when the laptop is stolen: the disk's encryption, or the folder's own. */
#ifndef AMBLE_BASE_SHELTER_H
#define AMBLE_BASE_SHELTER_H

#include <stdbool.h>
#include <sys/types.h>

enum shelter {
    SHELTER_NONE,    /* a disk that anybody can read who has it */
    SHELTER_DISK,    /* every disk below is encrypted by dm-crypt (LUKS) */
    SHELTER_FOLDER,  /* the folder is encrypted by fscrypt */
    SHELTER_MEMORY,  /* a file system in memory */
    SHELTER_UNKNOWN, /* a file system without a block device that can be asked */
};
/* `sysfs` is "/sys", or a folder that looks like it. FAULTS give SHELTER_UNKNOWN. */
enum shelter shelter_of(const char *folder, const char *sysfs);
enum shelter shelter_of_device(dev_t device, const char *sysfs); /* DISK, NONE or UNKNOWN */
const char *shelter_words(enum shelter s);
/* Memory may be written to a swap that is not encrypted. `swaps` is "/proc/swaps". zram counts as
 * memory. */
bool shelter_swaps_open(const char *swaps, const char *sysfs);
/* No core dumps, and no other process of this user looks into memory. */
void shelter_memory(void);

#endif
