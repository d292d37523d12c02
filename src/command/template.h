#ifndef AMBLE_COMMAND_TEMPLATE_H
#define AMBLE_COMMAND_TEMPLATE_H

#include <stdio.h>

/* "check [FOLDER]": every mistake on `err`, or on `out` how much was read; FOLDER is laid over the
 * shipped templates in place of `overlay`. "show FORM": the questions of a form, a line each.
 * argv[0] is the command's name. Returns one of command.h's numbers. */
int command_template(int argc, char **argv, const char *shipped, const char *overlay, FILE *out,
                     FILE *err);

#endif
