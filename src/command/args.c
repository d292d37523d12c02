#include "command/args.h"
#include "base/text.h"
#include <string.h>

static bool unknown(const char *arg, const struct arg_flag *flags, size_t count, struct fault *f)
{
    const char *names[24];
    size_t n = 0;
    for (; n < count && n < sizeof names / sizeof names[0]; n++)
        names[n] = flags[n].name;
    const char *near = text_nearest(arg, names, n);
    return near
               ? fail(f, FAULT_INPUT, "there is no option \"%s\" (did you mean \"%s\"?)", arg, near)
               : fail(f, FAULT_INPUT, "there is no option \"%s\"", arg);
}

/* One option at argv[*at]; *at ends on the last argument used. */
static bool take(const struct arg_flag *flags, size_t count, int argc, char **argv, int *at,
                 struct fault *f)
{
    const char *arg = argv[*at];
    size_t n = strcspn(arg, "=");
    for (size_t i = 0; i < count; i++) {
        if (strlen(flags[i].name) != n || strncmp(flags[i].name, arg, n) != 0)
            continue;
        if (flags[i].set) {
            *flags[i].set = true;
            return !arg[n] || fail(f, FAULT_INPUT, "\"%s\" takes no value", flags[i].name);
        }
        if (!arg[n] && *at + 1 >= argc)
            return fail(f, FAULT_INPUT, "\"%s\" needs a value after it", arg);
        *flags[i].value = arg[n] ? arg + n + 1 : argv[++*at];
        return true;
    }
    return unknown(arg, flags, count, f);
}

static bool is_option(const char *arg)
{
    return arg[0] == '-' && arg[1] != '\0';
}

bool args_flags(int argc, char **argv, const struct arg_flag *flags, size_t flag_count, int *first,
                struct fault *f)
{
    int at = 1;
    for (; at < argc && is_option(argv[at]); at++)
        if (!take(flags, flag_count, argc, argv, &at, f))
            return false;
    *first = at;
    return true;
}

bool args_read(struct args *a, int argc, char **argv, struct fault *f)
{
    bool options = true;
    a->count = 0;
    for (int at = 1; at < argc; at++) {
        if (options && strcmp(argv[at], "--") == 0) {
            options = false;
        } else if (options && is_option(argv[at])) {
            if (!take(a->flags, a->flag_count, argc, argv, &at, f))
                return false;
        } else if (a->count == a->most) {
            return fail(f, FAULT_INPUT, "\"%s\" is one argument too many", argv[at]);
        } else {
            a->words[a->count++] = argv[at];
        }
    }
    return a->count >= a->least || fail(f, FAULT_INPUT, "%s is missing", a->expected);
}
