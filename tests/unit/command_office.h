/* A base and a laptop, each on a computer of its own, and a stick between them; by the shell. */
#ifndef AMBLE_TESTS_COMMAND_OFFICE_H
#define AMBLE_TESTS_COMMAND_OFFICE_H

#include "command_exits.h"

/* The same person at another computer: its records, templates and state are in a folder there. */
static inline void sit_at(const char *computer)
{
    char *slash = strchr(folder + strlen("/tmp/"), '/');
    size_t n = slash ? (size_t)(slash - folder) : strlen(folder);
    snprintf(folder + n, sizeof folder - n, "/%s", computer);
    mkdir(folder, 0700);
    mkdir(in_folder("overlay"), 0700);
    assert_int_equal(setenv("XDG_STATE_HOME", in_folder("state"), 1), 0);
}

static inline int end_both(void **state)
{
    *strchr(folder + strlen("/tmp/"), '/') = '\0';
    unsetenv("XDG_STATE_HOME");
    return end(state);
}

/* The numbers that the last command ended with, for the next one to compare. */
static inline const char *said_numbers(void)
{
    static char numbers[80];
    last.out[strlen(last.out) - 1] = '\0'; /* its line end */
    const char *line = strrchr(last.out, '\n');
    snprintf(numbers, sizeof numbers, "%s", line ? line + 1 : last.out);
    return numbers;
}

/* The base, and a laptop admitted there, whose keys we are at then. Its name is a door as well. */
static inline void enrol(void)
{
    char request[80], reply[96];
    sit_at("base");
    done(amble("", "base", "--name", "office", NULL));
    snprintf(request, sizeof request, "%s/../request", folder);
    snprintf(reply, sizeof reply, "%s.reply", request);
    sit_at("laptop");
    assert_int_equal(
        amble("", "device", "request", request, "--name", "Jo \x1b[2J\xe2\x80\xae", NULL),
        COMMAND_FAILED);
    has(last.err, "a device's name is a short text of one line");
    only_text("device request", last.err);
    done(amble("", "device", "request", request, "--name", "Jo's laptop", NULL));
    const char *numbers = said_numbers();
    sit_at("base");
    done(amble("", "device", "admit", request, "--fingerprint", numbers, NULL));
    only_text("device admit", last.out);
    numbers = said_numbers();
    sit_at("laptop");
    done(amble("", "device", "join", reply, "--fingerprint", numbers, NULL));
    only_text("device join", last.out);
}

static inline void exchange(void)
{
    char stick[80];
    snprintf(stick, sizeof stick, "%s/../stick", folder);
    mkdir(stick, 0700);
    done(amble("", "sync", stick, NULL));
    only_text("sync", last.out);
    only_text("sync", last.err);
}

#endif
