/* Exchanging through a folder: a stick, a shared drive, anything that carries files.
 *
 * In FOLDER/amble: UUID-SERIAL.bundle are sealed entries, UUID.bundle says what that device holds,
 * UUID.photos which photographs it has, HASH-BYTE.piece is a piece of one, and
 * devices-VERSION.list is the list of devices. A file is whole or it is not there under its name;
 * one that was cut all the same is refused by its seal. Reading goes round until nothing more can
 * be taken, so that order does not matter; files that everybody has are cleared away.
 */
#ifndef AMBLE_SHARE_FOLDER_H
#define AMBLE_SHARE_FOLDER_H

#include "share/share.h"

bool folder_sync(struct share *s, const char *path, const struct watch *w, struct report *r,
                 struct fault *f);
/* Lines about what others have and this device lacks. */
bool report_missing(struct share *s, struct report *r, struct fault *f);

#endif
