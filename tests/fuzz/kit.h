/* What the fuzz targets share: checks that hold in every build, and a folder that goes with the
 * program. */
#ifndef AMBLE_TESTS_FUZZ_KIT_H
#define AMBLE_TESTS_FUZZ_KIT_H

#include "base/fault.h"
#include "base/utf8.h"
#include <ftw.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static inline void must(bool holds)
{
    if (!holds)
        abort();
}

/* A refusal has words, and they act on nothing. */
static inline void must_say_why(const struct fault *f)
{
    must(f->kind != FAULT_NONE && f->text[0] != '\0' && utf8_valid(f->text, strlen(f->text), NULL));
}

static char scratch[64];

static inline int scratch_remove(const char *path, const struct stat *st, int type, struct FTW *at)
{
    (void)st, (void)type, (void)at;
    return remove(path);
}

static inline void scratch_end(void)
{
    (void)nftw(scratch, scratch_remove, 8, FTW_DEPTH | FTW_PHYS);
}

/* In memory where there is such a place; the same each time it is asked for. */
static inline const char *scratch_folder(void)
{
    if (scratch[0] != '\0')
        return scratch;
    (void)snprintf(scratch, sizeof scratch, "%s/amble-fuzz-XXXXXX",
                   access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
    must(mkdtemp(scratch) != NULL && atexit(scratch_end) == 0);
    return scratch;
}

#endif
