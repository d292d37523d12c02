/* Whole files, written so that they are there or not. */
#ifndef AMBLE_SHARE_FILES_H
#define AMBLE_SHARE_FILES_H

#include "base/fault.h"
#include <stddef.h>
#include <stdint.h>

struct arena;

enum { FILE_PATH_ROOM = 4096 };

/* Temporary name, flush, rename, flush the folder; mode 0600. */
bool file_put(const char *folder, const char *name, const void *bytes, size_t size,
              struct fault *f);
/* The whole file in `a`; FAULT_LIMIT beyond `most`, before anything is allocated. */
bool file_get(const char *path, size_t most, struct arena *a, const uint8_t **bytes, size_t *size,
              struct fault *f);
bool folder_need(const char *path, struct fault *f); /* made when missing, for this person only */

#endif
