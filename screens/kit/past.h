/* The past of a finding: its history, taking back, "entered in error", and the reason that a change
 * to what is signed needs. The same keys and words on every screen. */
#ifndef AMBLE_KIT_PAST_H
#define AMBLE_KIT_PAST_H

#include "screens/kit/screen.h"

/* h (where letters are commands) or F2 open the history of the finding under the cursor, ^R takes
 * back the last entry made here, ^E says that the finding was entered in error; what was written is
 * on the screen at once (its refresh is called). True when the press was one of them. `r` is the
 * record as the screen shows it. */
bool past_press(struct screen *s, const struct press *p, struct record *r, const char *item);
#define PAST_KEYS                                                                                  \
    {"h", "history", "Who entered it, when, what it was before and why; F2 does the same.", true}, \
        {"^R", "take back", "Take back the last entry made here.", false},                         \
    {                                                                                              \
        "^E", "in error", "Say that it was entered in error, and why.", false                      \
    }
bool history_key(const struct press *p); /* h or F2, where letters are commands */

/* Why the finding is changed: "" of a record that is not signed; else asked for. NULL: given up. In
 * `a`. */
const char *past_reason(struct app *app, struct arena *a, const struct record *r,
                        const char *label);
/* Ask why it was entered in error, and strike it. False when nothing was written: the message says
 * why. */
bool past_strike(struct app *app, struct arena *a, struct record *r, const char *item);
/* Take back the last entry made here. `*entity` and `*item` (in `a`) tell what changed. */
bool past_undo(struct app *app, struct arena *a, const char **entity, const char **item);

#endif
