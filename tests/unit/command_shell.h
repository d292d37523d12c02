/* Commands run in this process, on a folder that is thrown away. */
#ifndef AMBLE_TESTS_COMMAND_SHELL_H
#define AMBLE_TESTS_COMMAND_SHELL_H

#include "command/run.h"
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on
#include <dirent.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[64];

struct ran {
    int status;
    char *out, *err;
};
static struct ran last;

static inline const char *in_folder(const char *name)
{
    static char path[4][160];
    static unsigned next;
    char *s = path[next++ % 4];
    snprintf(s, sizeof path[0], "%s/%s", folder, name);
    return s;
}

static inline void write_file(const char *name, const char *bytes)
{
    FILE *file = fopen(in_folder(name), "wb");
    assert_non_null(file);
    fputs(bytes, file);
    fclose(file);
}

static inline char *slurp(const char *name)
{
    static char bytes[400000];
    FILE *file = fopen(in_folder(name), "rb");
    assert_non_null(file);
    bytes[fread(bytes, 1, sizeof bytes - 1, file)] = '\0';
    fclose(file);
    return bytes;
}

static inline void forget(void)
{
    free(last.out);
    free(last.err);
    last = (struct ran){0};
}

/* Run with `stdin_text`; the arguments end with NULL. Streams are kept in `last`. */
static inline int amble(const char *stdin_text, ...)
{
    char *argv[24] = {"amble", "--data", NULL, "--config", NULL, "--shipped", "config"};
    int argc = 7;
    size_t out_n, err_n;
    va_list args;
    argv[2] = (char *)(uintptr_t)in_folder("data");
    argv[4] = (char *)(uintptr_t)in_folder("overlay");
    va_start(args, stdin_text);
    for (char *word; (word = va_arg(args, char *)) != NULL;)
        argv[argc++] = word;
    va_end(args);
    forget();
    FILE *in = *stdin_text ? fmemopen((void *)(uintptr_t)stdin_text, strlen(stdin_text), "r")
                           : fopen("/dev/null", "r");
    FILE *out = open_memstream(&last.out, &out_n), *err = open_memstream(&last.err, &err_n);
    last.status = command_run(argc, argv, in, out, err);
    fclose(in);
    fclose(out);
    fclose(err);
    return last.status;
}

static inline void has(const char *all, const char *part)
{
    if (!strstr(all, part))
        fail_msg("\"%s\" is not in:\n%s\nstatus %d, errors:\n%s", part, all, last.status, last.err);
}

static inline void has_not(const char *all, const char *part)
{
    if (strstr(all, part))
        fail_msg("\"%s\" is in:\n%s", part, all);
}

static inline void done(int status)
{
    if (status != COMMAND_DONE)
        fail_msg("status %d\n%s%s", status, last.out, last.err);
}

static inline int begin(void **state)
{
    (void)state;
    snprintf(folder, sizeof folder, "/tmp/amble-command-XXXXXX");
    assert_non_null(mkdtemp(folder));
    assert_int_equal(mkdir(in_folder("overlay"), 0700), 0);
    assert_int_equal(mkdir(in_folder("overlay/forms"), 0700), 0);
    return setenv("AMBLE_NOW", "2026-11-24T09:30", 1) | setenv("FOLDER", folder, 1) |
           setenv("AMBLE_ROOM", "0", 1); /* it says the same on a small disk */
}

static inline void remove_tree(const char *path)
{
    DIR *dir = opendir(path);
    for (struct dirent *entry; dir && (entry = readdir(dir)) != NULL;) {
        char name[512];
        snprintf(name, sizeof name, "%.250s/%s", path, entry->d_name);
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0 &&
            unlink(name) != 0)
            remove_tree(name);
    }
    if (dir)
        closedir(dir);
    rmdir(path);
}

static inline int end(void **state)
{
    (void)state;
    forget();
    remove_tree(folder);
    return 0;
}

#endif
