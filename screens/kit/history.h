/* The whole story of one finding: who, when, what it was before and why it was changed. */
#ifndef AMBLE_KIT_HISTORY_H
#define AMBLE_KIT_HISTORY_H

#include "screens/kit/screen.h"

/* Open the history of `item` of `entity` as a screen of its own. Says so when nothing was entered.
 */
void history_show(struct app *app, const char *entity, const char *item);

#endif
