/* Reading a command's arguments: one way for all of them. */
#ifndef AMBLE_COMMAND_ARGS_H
#define AMBLE_COMMAND_ARGS_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

/* An option: it either takes a value ("--save FILE" or "--save=FILE") or is set. */
struct arg_flag {
    const char *name;   /* "--save" */
    const char **value; /* where the value goes, or NULL ... */
    bool *set;          /* ... when the option only is or is not there */
};

/* Options that stand before the first other argument, from argv[1]; `*first` is its index. */
bool args_flags(int argc, char **argv, const struct arg_flag *flags, size_t flag_count, int *first,
                struct fault *f);

/* Options and other arguments in any order, from argv[1]; after "--" nothing is an option. At most
 * `most` others go to `words` (in their order), at least `least` of them named in `expected`
 * ("a dog, visit or call") must be there. */
struct args {
    const struct arg_flag *flags;
    size_t flag_count;
    const char **words;
    size_t least, most;
    const char *expected;
    size_t count; /* words found */
};
bool args_read(struct args *a, int argc, char **argv, struct fault *f);

#endif
