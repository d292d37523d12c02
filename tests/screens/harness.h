/* A terminal for tests: a program on a pseudo-terminal, and libvterm that looks at what it draws.
 *
 * Nothing here sleeps: every wait is for a text, a state or the end, and fails the test (cmocka)
 * with the screen as it stands when it does not come within WAIT_MS.
 */
#ifndef AMBLE_TESTS_HARNESS_H
#define AMBLE_TESTS_HARNESS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

enum { TTY_WAIT_MS = 10000 };

struct tty;

struct tty_options {
    const char *const *argv; /* ends with NULL */
    const char *const *env;  /* "NAME=value", or "NAME" to unset it; NULL-terminated; may be NULL */
    const char *term;        /* NULL: xterm-256color */
    int rows, cols;          /* 0: 24 x 80 */
    bool job;                /* under a small parent with job control: needed to suspend */
};

/* Base environment: LC_ALL=C.UTF-8, TERM, no LINES, COLUMNS, NO_COLOR, ESCDELAY. */
struct tty *tty_start(const struct tty_options *o);
/* Ends the program when it still runs; NULL is allowed. For teardowns. */
void tty_stop(struct tty *t);

/* ---- keys ---- */
void tty_type(struct tty *t, const char *utf8); /* one key press a character */
/* By name, blank-separated: "Enter", "Tab", "S-Tab", "Up", "S-Left", "Home", "PageDown",
 * "Backspace", "Delete", "F1", "Esc", "^Q", or a single character. */
void tty_keys(struct tty *t, const char *names);
void tty_paste(struct tty *t, const char *utf8); /* bracketed when the program asked for it */
void tty_bytes(struct tty *t, const char *bytes, size_t n); /* exactly these */

/* ---- looking ---- */
void tty_wait_text(struct tty *t, const char *text); /* until some row holds it */
void tty_wait_gone(struct tty *t, const char *text); /* until no row does */
void tty_wait_still(struct tty *t); /* until the program has been silent for a moment */
void tty_wait_cursor(struct tty *t, int row, int col);
bool tty_has(struct tty *t, const char *text);
/* Until `holds` says so of the screen; `what` names it in the failure. */
void tty_wait_that(struct tty *t, bool (*holds)(struct tty *t, const void *of), const void *of,
                   const char *what);
/* Rows as text, trailing blanks cut, then "cursor r,c". The caller frees it. */
char *tty_dump(struct tty *t);
/* Until the screen is that of tests/screens/golden/NAME.txt. UPDATE_GOLDEN=1 writes the file once
 * the screen has been still for a while. */
void tty_golden(struct tty *t, const char *name);

struct tty_cell {
    char text[32];
    bool bold, underline, reverse, colored;
    int width;
};
struct tty_cell tty_cell(struct tty *t, int row, int col);
bool tty_alternate(struct tty *t);                     /* the alternate screen is shown */
bool tty_pastes(struct tty *t);                        /* bracketed paste is on */
bool tty_cooked(struct tty *t);                        /* lines and echo, as a shell wants them */
size_t tty_received(const struct tty *t);              /* bytes the program sent so far */
bool tty_sent(const struct tty *t, const char *bytes); /* it ever sent these in a row */
void tty_wait_more(struct tty *t, size_t received);    /* until it sent more than that */
pid_t tty_pid(struct tty *t);                          /* of the program itself */

/* ---- the rest of the world ---- */
void tty_resize(struct tty *t, int rows, int cols);
void tty_signal(struct tty *t, int sig);
void tty_wait_stopped(struct tty *t); /* job: the parent has the terminal */
void tty_continue(struct tty *t);     /* job: what a shell does for "fg" */
/* Wait for the end: as waitpid(2) reports it. */
int tty_wait_exit(struct tty *t);
void tty_hang_up(struct tty *t); /* close the terminal under the program */

#endif
