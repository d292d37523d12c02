/* Handing a job to the printer, or to a file. */
#ifndef AMBLE_OUTPUT_PRINT_H
#define AMBLE_OUTPUT_PRINT_H

#include "base/fault.h"
#include <stddef.h>

/* Send bytes to `lp -d queue -t title -- -`, with `large` also `-o cpi=5 -o lpi=3`, on its standard
 * input; no shell in between. `said` gets one line: "sent to queue hall" - queued, which is not yet
 * printed. FAULT_MISSING when there is no lp, FAULT_SYSTEM with lp's own words when it refuses. */
bool print_job(const char *queue, const char *title, bool large, const char *bytes, size_t n,
               char *said, size_t said_room, struct fault *f);
/* Write whole or not at all: temporary name, flush, rename; never over an existing file unless
 * `replace`. Mode 0600. */
bool save_file(const char *path, const char *bytes, size_t n, bool replace, struct fault *f);

#endif
