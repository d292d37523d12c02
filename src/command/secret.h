/* Passphrases from the keyboard, or from a pipe: never shown. */
#ifndef AMBLE_COMMAND_SECRET_H
#define AMBLE_COMMAND_SECRET_H

#include "command/run.h"

enum { SECRET_ROOM = 1024 };
/* A line of the standard input, in locked memory (locked_free); NULL when this fails. On a terminal
 * the question is asked and nothing echoed. */
bool ask_secret(struct run *run, const char *question, char **out, struct fault *f);

#endif
