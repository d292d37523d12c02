/* A sealed backup from anywhere: opened whole, or refused with nothing left behind. */
#include "journal/vault.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* What a header may ask of Argon2id takes seconds and a gigabyte; the fuzzer has neither. */
static bool cheap(const uint8_t *data, size_t size)
{
    enum { SLOTS = 13 + 32 };
    for (size_t slot = 0; slot < 2; slot++) {
        size_t at = SLOTS + slot * VAULT_SLOT;
        if (size < at + 8)
            return true;
        bool greedy = data[at] > 2 || data[at + 4] > 64;
        for (size_t i = 1; i < 4 && !greedy; i++)
            greedy = data[at + i] != 0 || data[at + 4 + i] != 0;
        if (greedy && data[at + 3] == 0 && data[at + 7] < 1)
            return false;
    }
    return true;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char from[64], to[64];
    struct fault f = {0};
    if (!cheap(data, size))
        return 0;
    int fd = memfd_create("sealed", 0);
    if (fd < 0 || write(fd, data, size) != (ssize_t)size)
        abort();
    snprintf(from, sizeof from, "/proc/self/fd/%d", fd);
    snprintf(to, sizeof to, "/dev/shm/amble-fuzz-%ld", (long)getpid());
    bool opened = vault_open(from, to, "xxxxxxxx", &f);
    if (opened != (access(to, F_OK) == 0) || (!opened && f.kind == FAULT_NONE))
        abort();
    unlink(to);
    close(fd);
    return 0;
}
