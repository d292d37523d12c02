/* Small questions above the key line: one line of text, or one key out of a few. */
#ifndef AMBLE_KIT_ASK_H
#define AMBLE_KIT_ASK_H

#include "screens/kit/screen.h"

/* One line typed in answer; in `a`. NULL when given up (^Q). Runs its own small loop. */
const char *ask_line(struct app *app, struct arena *a, const char *question, const char *given);
enum { PASSPHRASE_MAX = 200 }; /* bytes */
/* The same for a passphrase: shown as stars, the answer in locked memory (locked_free). */
char *ask_hidden(struct app *app, const char *question);
/* One key out of `keys` ("yn"); 0 when given up. */
int ask_key(struct app *app, const char *question, const char *keys);
/* Choose from a list in a box; index, or -1 when given up. `at` is selected first. */
int ask_choice(struct app *app, const char *question, const char *const *labels, size_t count,
               size_t at);
/* Tick any of a list in a box; `ticked` (one bool a label) changes only when true is returned. */
bool ask_many(struct app *app, const char *question, const char *const *labels, size_t count,
              bool *ticked);
/* Show lines in a box until a key; for histories and what is too long for the message. */
void ask_read(struct app *app, const char *title, const char *const *lines, size_t count);
/* The first label that starts with what was typed, without regard to case; -1 when none does. */
int ask_find(const char *const *labels, size_t count, const char *typed);

/* Choices are numbered from 1 unless a label begins with a digit: in "0 of 6", "1 of 6" the digit
 * typed means the label's own. */
bool ask_numbered(const char *const *labels, size_t count);

#endif
