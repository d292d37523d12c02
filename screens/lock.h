/* Who is at the keys, and the lock that hides the record while nobody is. */
#ifndef AMBLE_SCREENS_LOCK_H
#define AMBLE_SCREENS_LOCK_H

#include "screens/kit/screen.h"

/* Hang the lock and the switch of practitioners into the app. Locked from the start where a lock is
 * set. False: the passphrase was not given; the program ends. */
bool lock_start(struct app *app);
/* Ask for a passphrase and minutes, and lock from now on; an empty passphrase takes the lock away.
 */
void lock_ask(struct app *app);

#endif
