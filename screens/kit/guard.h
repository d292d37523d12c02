/* Signals, and giving the terminal back whatever happens.
 *
 * What ends the program at once (a crash, SIGINT, SIGQUIT) is met by a handler that only writes the
 * exit strings captured beforehand, resets the modes and dies of the same signal. SIGTERM and
 * SIGHUP are told to the loop that waits for keys, so that drafts are kept; a program that does not
 * come back to that loop within two seconds is ended as by a crash. Part of the terminal (term.c).
 */
#ifndef AMBLE_KIT_GUARD_H
#define AMBLE_KIT_GUARD_H

#include "base/fault.h"

enum guard_event {
    GUARD_NONE,
    GUARD_SIZE, /* the window changed */
    GUARD_STOP, /* somebody asks the program to stop for a while */
    GUARD_CONT, /* it was stopped without being asked, and goes on */
    GUARD_END,  /* SIGTERM or SIGHUP; told again at every call */
};

/* Before curses starts: remember the modes of `fd` and install the handlers. */
bool guard_start(int fd, struct fault *f);
/* Once curses knows the terminal, and after each change of size: capture the exit strings.
 * `paste_off` may be NULL. */
void guard_capture(const char *paste_off, int rows);
void guard_stop(void);
int guard_fd(void); /* readable when guard_next has something to tell */
enum guard_event guard_next(void);
int guard_signal(void);   /* the signal behind GUARD_END, else 0 */
void guard_suspend(void); /* stop the process group; returns when it goes on */

#endif
