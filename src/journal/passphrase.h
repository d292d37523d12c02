/* The passphrase that unlocks idle screens: kept as an Argon2id hash in this device's settings. It
 * keeps eyes off, not disks: what lies on the disk is the disk encryption's to keep. */
#ifndef AMBLE_JOURNAL_PASSPHRASE_H
#define AMBLE_JOURNAL_PASSPHRASE_H

#include "base/fault.h"
#include <stdbool.h>
#include <stdint.h>

struct journal;

enum { LOCK_MINUTES_MOST = 240, LOCK_WAIT_MOST_S = 60 };
/* Lock after so many minutes without a key, 1 to LOCK_MINUTES_MOST. "" takes the lock away. */
bool lock_set(struct journal *j, const char *passphrase, int minutes, struct fault *f);
int lock_minutes(struct journal *j); /* 0: there is no lock */
/* Takes about half a second. Wrong tries are counted on disk, so that starting again forgets none;
 * while lock_wait says so none is looked at. FAULT_REFUSED: wrong, or too soon. */
bool lock_try(struct journal *j, const char *typed, int64_t now_ms, struct fault *f);
int lock_wait(struct journal *j,
              int64_t now_ms); /* seconds until the next try counts: 0, 1, 2, 4 ... */

#endif
