/* What the files of the kit tell one another, and nobody else. */
#ifndef AMBLE_KIT_INSIDE_H
#define AMBLE_KIT_INSIDE_H

#include "screens/kit/screen.h"

/* term.c and press.c */
void term_suspend(void);
void term_resized(void);    /* read the size again */
void term_repaint(void);    /* the next update sends everything */
int term_paste_begin(void); /* curses' code for the start of a bracketed paste */
void press_start(
    void); /* the keypad on now, not with the first key: that is after the first paint */
void press_stop(void);

/* draw.c */
void draw_start(void); /* the looks, once curses runs */

/* screen.c: everything but draw_end, so that a question can lie over it. */
void app_draw(struct app *a);
void app_draw_keys(const struct app *a, const struct key_help *keys, bool typing);
void app_save_drafts(struct app *a);
/* Wait for a press; PRESS_NONE after the idle time, when the lock has come and gone. */
struct press app_press(struct app *a);

/* help.c */
void help_open(struct app *a);

#endif
