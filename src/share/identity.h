/* Noticing that this record is a copy, or was put back to an earlier state.
 *
 * A mark outside the data folder (in $XDG_STATE_HOME/amble, one for each data folder) says which
 * entries left this computer under which name, and on which computer. A record that has handed
 * entries out and finds no such mark, or a mark that does not fit, goes on under a new name: then
 * no two entries ever carry the same number.
 */
#ifndef AMBLE_SHARE_IDENTITY_H
#define AMBLE_SHARE_IDENTITY_H

#include "base/fault.h"
#include <stdbool.h>

struct journal;

/* Look, and take a new identity when it must be; *renewed tells, and `why` (NULL allowed, 160
 * bytes) says why. Nothing happens in a record open for reading. */
bool identity_check(struct journal *j, bool *renewed, char why[160], struct fault *f);
/* Before entries are handed out: everything made here so far counts as handed out. */
bool identity_mark(struct journal *j, struct fault *f);
/* This record is about to be thrown away: so is its mark. */
void identity_forget(struct journal *j);

#endif
