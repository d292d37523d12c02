#include "command/command.h"
#include "base/arena.h"
#include "base/disk.h"
#include "base/shelter.h"
#include "command/run.h"
#include <inttypes.h>
#include <string.h>
#include <sys/stat.h>

static const struct command commands[] = {
#define X(name, function, args, help, text) {#name, function, args, help, text},
#include "command/commands.def"
#undef X
};

const struct command *command_table(size_t *count)
{
    *count = sizeof commands / sizeof commands[0];
    return commands;
}

const struct command *command_find(const char *name)
{
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++)
        if (strcmp(commands[i].name, name) == 0)
            return &commands[i];
    return NULL;
}

static int no_such(struct run *run, const char *name)
{
    const char *names[sizeof commands / sizeof commands[0]];
    struct fault f = {0};
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++)
        names[i] = commands[i].name;
    const char *near = text_nearest(name, names, sizeof names / sizeof names[0]);
    fail(&f, FAULT_INPUT, "there is no command \"%s\"%s%s%s", name, near ? " (did you mean \"" : "",
         near ? near : "", near ? "\"?)" : "");
    return say_usage(run, &f);
}

/* "amble show --help" asks what "amble help show" tells; "amble calc NAME --help" is calc's own. */
static bool asks_help(int argc, char **argv)
{
    if (argc > 2 && strcmp(argv[0], "calc") == 0)
        return false;
    for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++)
        if (strcmp(argv[i], "--help") == 0)
            return true;
    return false;
}

/* After the work of a command that wrote, because it is done all the same. Nothing is open in `cb`
 * when it served another device over ssh: whoever reads this line sits elsewhere. */
static void say_room(const struct run *run)
{
    bool wrote = run->copied || (run->cb.journal && journal_writes(run->cb.journal) > 0);
    uint64_t room = wrote ? disk_room(run->setting.data) : UINT64_MAX;
    if (room < run->setting.room_least)
        say(run->err,
            "amble: only %" PRIu64 " MB are free for the records: make room on the disk\n", room);
}

static int dispatch(struct run *run, int argc, char **argv)
{
    struct fault f = {0};
    int first = argc;
    char *help[] = {"help", NULL, NULL};
    if (!setting_read(&run->setting, argc, argv, &first, &f))
        return say_usage(run, &f);
    if (run->setting.help)
        return run_help(run, 1, help);
    if (run->setting.version)
        return run_version(run, 1, help);
    if (first == argc)
        return COMMAND_SCREENS;
    const struct command *c = command_find(argv[first]);
    if (c == NULL)
        return no_such(run, argv[first]);
    run->command = c->name;
    if (asks_help(argc - first, argv + first)) {
        help[1] = argv[first];
        return run_help(run, 2, help);
    }
    int status = c->function(run, argc - first, argv + first);
    say_room(run);
    return status;
}

int command_run(int argc, char **argv, FILE *in, FILE *out, FILE *err)
{
    struct run run = {.arena = arena_new(), .in = in, .out = out, .err = err};
    int status = dispatch(&run, argc, argv);
    setting_close(&run.setting);
    arena_free(run.arena);
    if (fflush(out) != 0 && status == COMMAND_DONE)
        status = COMMAND_FAILED;
    return status;
}

int command_main(int argc, char **argv)
{
    umask(077);
    shelter_memory();
    return command_run(argc, argv, stdin, stdout, stderr);
}
