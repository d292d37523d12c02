/* The terminal: opened once, given back however the program ends.
 *
 * Raw mode (^C, ^Z, ^S, ^Q are keys), bracketed paste, UTF-8 or ASCII, resize by KEY_RESIZE, a
 * signal handler that only writes the terminal's own exit strings. The terminal is the one thing in
 * the program that is global, because the terminal is.
 */
#ifndef AMBLE_KIT_TERM_H
#define AMBLE_KIT_TERM_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

/* Refuses (FAULT_REFUSED, words for the user) TERM unset, dumb or unknown, and no terminal. */
bool term_start(struct fault *f);
void term_stop(void);
/* The signal behind PRESS_END, 0 when there was none. Once everything is closed the program raises
 * it again, so that whoever sent it sees it obeyed. Stays after term_stop. */
int term_signal(void);
bool term_utf8(void);  /* false: draw ASCII only */
bool term_color(void); /* false with NO_COLOR or a terminal without colours */
int term_rows(void);
int term_columns(void);
bool term_too_small(void); /* below 80 x 24 */

/* One thing a person did. */
enum press_kind {
    PRESS_NONE,  /* the wait ended without a key (only when asked to wait so long) */
    PRESS_CHAR,  /* a printable character: text */
    PRESS_KEY,   /* code: a PK_* below */
    PRESS_CTRL,  /* code: the letter, 'a' to 'z' */
    PRESS_PASTE, /* text: the whole paste, controls swallowed, newlines kept as '\n' */
    PRESS_SIZE,  /* the window changed */
    PRESS_END,   /* the terminal went away or SIGTERM came: leave quietly */
};
enum {
    PK_UP = 1,
    PK_DOWN,
    PK_LEFT,
    PK_RIGHT,
    PK_HOME,
    PK_END,
    PK_PAGE_UP,
    PK_PAGE_DOWN,
    PK_ENTER,
    PK_TAB,
    PK_BACK_TAB,
    PK_BACKSPACE,
    PK_DELETE,
    PK_INSERT,
    PK_F1,
    PK_F2,
    PK_F3,
    PK_F4,
    PK_SHIFT_LEFT,
    PK_SHIFT_RIGHT,
};
struct press {
    enum press_kind kind;
    int code;
    const char *text; /* UTF-8, valid until the next call */
};
/* Wait for the next press; wait_ms < 0 for ever (no wake-ups), else PRESS_NONE after so long.
 * ^Z is handled inside: the program stops and, brought back, repaints. */
struct press term_press(int wait_ms);
/* Wipe what the way from the keys still holds of what was typed: after a passphrase. Keys not yet
 * taken stay. */
void term_forget(void);

#endif
