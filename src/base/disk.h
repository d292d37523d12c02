/* Bytes to a file, all of them, and names that outlive a power cut. */
#ifndef AMBLE_BASE_DISK_H
#define AMBLE_BASE_DISK_H

#include "base/fault.h"
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
/* Before much is written: does the folder's disk have room for so many bytes? What is short by less
 * than a tenth is let try: a copy of a record came out 1 to 3 % smaller. True as well where it
 * cannot be told. False: FAULT_STORE, with what it takes and what is free. */
bool disk_holds(const char *folder, uint64_t bytes, struct fault *f);

#endif
