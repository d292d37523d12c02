/* Memory for passphrases and secret keys: left out of the swap and of core dumps, guarded at both
 * ends, wiped when it is given back.
 *
 * Where the system locks no memory (locked_holds) it is still wiped and left out of dumps: who may
 * not lock memory must be able to open the record all the same, and `amble verify` says so.
 */
#ifndef AMBLE_BASE_LOCKED_H
#define AMBLE_BASE_LOCKED_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

/* `size` zeros. NULL: FAULT_SYSTEM. */
void *locked_new(size_t size, struct fault *f);
void locked_free(void *p); /* wipes; NULL is allowed */
/* The same wiping for what lies elsewhere, which no compiler leaves out. */
void locked_wipe(void *p, size_t size);
/* Whether the system does keep it out of the swap: it may not (ulimit -l). */
bool locked_holds(void);

#endif
