/* Standing by: while nobody is at the keys of the base, laptops may write into its record. */
#ifndef AMBLE_SCREENS_STANDBY_H
#define AMBLE_SCREENS_STANDBY_H

#include "screens/kit/screen.h"

enum { STANDBY_MS = 5 * 60000 }; /* a base stands by after so long without a key */

/* Is this the base, with a record that can be lent? */
bool standby_may(const struct app *app);
/* Keep the field that is being typed and lend the record. False, with nothing changed, when that
 * cannot be. */
bool standby_begin(struct app *app);
/* Take the record back, waiting for an exchange under way; ends the program when the terminal is
 * gone. */
void standby_end(struct app *app);
/* Both, and in between a screen that waits for a key. */
void standby(struct app *app);

#endif
