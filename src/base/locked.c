#include "base/locked.h"
#include <sodium.h>

void *locked_new(size_t size, struct fault *f)
{
    void *p = sodium_init() < 0 ? NULL : sodium_malloc(size);
    if (p == NULL)
        fail(f, FAULT_SYSTEM, "no memory for passphrases and keys");
    else
        sodium_memzero(p, size);
    return p;
}

void locked_free(void *p)
{
    sodium_free(p);
}

void locked_wipe(void *p, size_t size)
{
    sodium_memzero(p, size);
}

bool locked_holds(void)
{
    char *p = locked_new(1, NULL);
    bool holds = p != NULL && sodium_mlock(p, 1) == 0; /* sodium_malloc does not tell */
    sodium_free(p);
    return holds;
}
