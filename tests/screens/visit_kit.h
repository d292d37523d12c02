/* A practice of its own for each test: a throw-away folder with records, templates and home in it,
 * the program on a terminal or in a shell there, and steps of a visit that find their question by
 * its words. The clock stands at 24 November 2026, 9:30.
 */
#ifndef AMBLE_TESTS_VISIT_KIT_H
#define AMBLE_TESTS_VISIT_KIT_H

#include "tests/screens/harness.h"

struct practice {
    char folder[64]; /* records/, templates/ and what is saved are in it */
    struct tty *tty; /* started last */
};

int practice_setup(void **state); /* an empty one, in *state */
int practice_setup_demo(void **state);
int practice_teardown(void **state);
/* The disk under it, as the program is told: encrypted (what practice_setup says), or plain. */
void practice_disk(struct practice *p, bool encrypted);

struct stage {
    int rows, cols;           /* 0: 24 x 80 */
    const char *term;         /* NULL: xterm-256color */
    const char *extra;        /* one more "NAME=value", or NULL */
    bool job;                 /* suspended and continued later */
    const char *const *words; /* a command of the shell, NULL at its end; NULL: the screens */
    bool inside; /* in the folder, named by what is in it: it looks the same each time */
};
/* Start the screens; a terminal still open from before is closed. Waits for nothing. */
struct tty *practice_open(struct practice *p, struct stage stage);
/* ^Q until the program ends, which must be with status 0. */
void practice_leave(struct practice *p);

/* What `amble WORDS` says on both outputs; words are parted by one blank. `input` (a path from the
 * top of the source tree) is its standard input, or NULL. The caller frees. */
char *practice_shell(struct practice *p, const char *words, const char *input, int *status);
/* The same, which must end with status 0. */
char *practice_says(struct practice *p, const char *words);
void practice_feed(struct practice *p, const char *input); /* amble enter <input */
char *practice_file(struct practice *p, const char *name); /* must be there; the caller frees */
/* Write `name`, a path inside the folder; its own folders are made. */
void practice_write(struct practice *p, const char *name, const char *text);
/* Write templates/`name`. */
void practice_template(struct practice *p, const char *name, const char *text);

/* ---- steps ---- */
struct step {
    const char *at;    /* how the label of the question begins */
    const char *keys;  /* as tty_keys; NULL: none */
    const char *typed; /* and then this, and Enter; NULL: neither */
};
bool at_row(struct tty *t, const char *words); /* the row marked > holds the words */
void wait_row(struct tty *t, const char *words);
void wait_row_left(struct tty *t, const char *words); /* until another row is marked */
void go_to_row(struct tty *t, const char *words);     /* Down until there; the row may be reached */
void play(struct tty *t, const struct step *steps, size_t count);
void answer_line(struct tty *t, const char *question, const char *typed); /* ^U, typed, Enter */
/* From Today to the visit listed there, or from it into a section, whose name the frame shows. */
void open_visit(struct tty *t, const char *dog);
void open_section(struct tty *t, const char *title);

#endif
