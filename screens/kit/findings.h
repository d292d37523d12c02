/* All that was entered in a record and those it belongs to: the way to the history of any finding
 * from screens that have none under the cursor. */
#ifndef AMBLE_KIT_FINDINGS_H
#define AMBLE_KIT_FINDINGS_H

#include "screens/kit/screen.h"

/* Of a visit, a call, a dog, a caregiver, a frame or a practitioner: its own findings first. */
void findings_open(struct app *app, const char *entity);
/* For the key table of a screen that sets screen->about: the kit opens them. */
#define FINDINGS_KEY                                                                               \
    {                                                                                              \
        "h", "history", "All that was entered here, and the history of each; F2 too.", true        \
    }

#endif
