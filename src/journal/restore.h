/* A copy of the record, looked over and put back. */
#ifndef AMBLE_JOURNAL_RESTORE_H
#define AMBLE_JOURNAL_RESTORE_H

#include "base/fault.h"
#include <stdint.h>

/* Everything a copy can be asked without opening it for writing: is it ours, whole, every entry
 * what was written. Entries of a copy that an older amble made (*older) are not read here: that
 * takes bringing it up to date, which restoring it does. */
bool journal_verify_file(const char *path, uint64_t *checked, bool *older, struct fault *f);
/* Verify a plain copy and make it the record of `folder`; of an older amble's, the entries are read
 * once it is that. What was there is set aside, never
 * written over. The restored record goes on under a new identity: numbers that left this device
 * after the copy was made are not given twice. `aside` tells where what was there lies now, ""
 * when nothing was. FAULT_BUSY while another amble writes there. */
enum { RESTORE_PATH_ROOM = 4096 };
bool journal_restore(const char *folder, const char *copy, char aside[RESTORE_PATH_ROOM],
                     uint64_t *checked, struct fault *f);

#endif
