/* What the commands share: where they run, and how they speak. */
#ifndef AMBLE_COMMAND_RUN_H
#define AMBLE_COMMAND_RUN_H

#include "command/command.h"
#include "command/setting.h"
#include <stddef.h>
#include <stdio.h>

struct sheet;

/* One run of one command. The dispatcher makes it and closes what the command opened. */
struct run {
    struct setting setting;
    struct casebook cb; /* after run_open */
    struct arena *arena;
    FILE *in, *out, *err;
    const char *command; /* its name, for messages */
    bool copied;         /* records were written beside what `cb` has open */
};

/* argv[0] is the command's name. Returns one of command.h's numbers. */
typedef int command_function(struct run *run, int argc, char **argv);
#define X(name, function, args, help, text) command_function function;
#include "command/commands.def"
#undef X

struct command {
    const char *name;
    command_function *function;
    const char *args, *help, *text; /* as in command/commands.def */
};
/* The table, in the order of the help. */
const struct command *command_table(size_t *count);
const struct command *command_find(const char *name); /* NULL: none */
/* As command_main, with streams: for the tests. */
int command_run(int argc, char **argv, FILE *in, FILE *out, FILE *err);

/* ---- speaking -------------------------------------------------------------------------------- */

/* Formatted text with its newlines; whatever else in it could act on a terminal is made visible. */
void say(FILE *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* "amble: what failed", on the error stream. Returns COMMAND_FAILED. */
int say_fault(const struct run *run, const struct fault *f);
/* The same about arguments, with where to read on. Returns COMMAND_USAGE. */
int say_usage(const struct run *run, const struct fault *f);
/* Bytes that are safe already (a rendered sheet, JSON). Returns COMMAND_DONE, or says why they
 * could not be written. */
int say_bytes(const struct run *run, const char *bytes, size_t n);

/* The same into a new file when `path` is not NULL, and then says so on the error stream. */
int say_or_save(const struct run *run, const char *path, bool replace, const char *bytes, size_t n);

/* ---- records --------------------------------------------------------------------------------- */

/* Open journal and templates, telling what is wrong. False: return COMMAND_FAILED. */
bool run_open(struct run *run, enum journal_mode mode);
/* The record somebody means: the name of a dog that no other dog has, an id, the start of one (4
 * characters or more) that no other has, or the dog's name in a call not booked yet. In run->arena.
 */
bool run_resolve(struct run *run, const char *said, const char **entity, struct fault *f);
/* The chart of the record somebody means. */
bool run_chart(struct run *run, const char *said, struct chart *out, struct fault *f);

enum { SHORT_ID = 8 }; /* characters of an id in a list */

#endif
