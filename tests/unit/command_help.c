/* One table of commands: help, manual and completion say the same. */
#include "command/run.h"
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on
#include <stdlib.h>
#include <string.h>

struct ran {
    int status;
    char *out, *err;
};

/* "help show" and so on, words parted by one blank. */
static struct ran run(const char *line)
{
    static char copy[256];
    char *argv[16] = {"amble"}, *rest = copy;
    int argc = 1;
    struct ran r = {0};
    size_t out_n, err_n;
    FILE *in = fopen("/dev/null", "r"), *out = open_memstream(&r.out, &out_n);
    FILE *err = open_memstream(&r.err, &err_n);
    snprintf(copy, sizeof copy, "%s", line);
    for (char *word; *line && (word = strsep(&rest, " ")) != NULL;)
        argv[argc++] = word;
    r.status = command_run(argc, argv, in, out, err);
    fclose(in);
    fclose(out);
    fclose(err);
    return r;
}

static void forget(struct ran *r)
{
    free(r->out);
    free(r->err);
}

static void check(const char *line, int status, const char *in_out, const char *in_err)
{
    struct ran r = run(line);
    if (r.status != status || !strstr(r.out, in_out) || !strstr(r.err, in_err))
        fail_msg("amble %s: status %d\n%s%s", line, r.status, r.out, r.err);
    forget(&r);
}

static char *slurp(const char *path)
{
    static char bytes[200000];
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    bytes[fread(bytes, 1, sizeof bytes - 1, file)] = '\0';
    fclose(file);
    return bytes;
}

static void every_command_is_told_everywhere(void **state)
{
    (void)state;
    size_t count;
    const struct command *c = command_table(&count);
    struct ran all = run("--help");
    assert_int_equal(all.status, COMMAND_DONE);
    for (size_t i = 0; i < count; i++) {
        char line[64];
        snprintf(line, sizeof line, "help %s", c[i].name);
        check(line, COMMAND_DONE, c[i].help, "");
        assert_non_null(strstr(all.out, c[i].help));
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(c[i].name, c[k].name);
    }
    forget(&all);
    check("show --help", COMMAND_DONE, "amble show ID", "");
    check("help", COMMAND_DONE, "amble help COMMAND", "");
}

static void help_fits_eighty_columns(void **state)
{
    (void)state;
    size_t count;
    const struct command *c = command_table(&count);
    for (size_t i = 0; i <= count; i++) {
        char line[64];
        snprintf(line, sizeof line, "help %s", i < count ? c[i].name : "help");
        struct ran r = run(i < count ? line : "--help");
        char *rest = r.out;
        for (char *row; (row = strsep(&rest, "\n")) != NULL;)
            assert_in_range(strlen(row), 0, 80);
        forget(&r);
    }
}

static void the_manual_has_the_same_commands(void **state)
{
    (void)state;
    struct ran r = run("help --mdoc");
    assert_int_equal(r.status, COMMAND_DONE);
    if (!strstr(slurp("man/amble.1"), r.out))
        fail_msg("man/amble.1 differs; put this between DESCRIPTION and ENVIRONMENT:\n%s", r.out);
    forget(&r);
}

static void the_completion_has_the_same_commands(void **state)
{
    (void)state;
    struct ran r = run("help --bash");
    assert_string_equal(slurp("contrib/completions/amble.bash"), r.out);
    forget(&r);
}

static void bad_arguments_are_named(void **state)
{
    (void)state;
    check("shwo", COMMAND_USAGE, "", "there is no command \"shwo\" (did you mean \"show\"?)");
    check("--dat x", COMMAND_USAGE, "", "there is no option \"--dat\" (did you mean \"--data\"?)");
    check("--data", COMMAND_USAGE, "", "\"--data\" needs a value after it");
    check("--read-only=x list", COMMAND_USAGE, "", "\"--read-only\" takes no value");
    check("show", COMMAND_USAGE, "", "amble show: a dog, call or visit is missing");
    check("show a b", COMMAND_USAGE, "", "\"b\" is one argument too many");
    check("show --jsn a", COMMAND_USAGE, "", "did you mean \"--json\"?");
    check("list cats", COMMAND_USAGE, "", "\"cats\" cannot be listed");
    check("list --limit 0", COMMAND_USAGE, "", "\"--limit 0\" is not a number");
    check("sheet a --replace", COMMAND_USAGE, "", "\"--replace\" goes with \"--save\" only");
    check("verify now then", COMMAND_USAGE, "", "\"then\" is one argument too many");
    check("backup", COMMAND_USAGE, "", "expected the file to write");
    check("help shwo", COMMAND_USAGE, "", "there is no command \"shwo\"");
    check("find", COMMAND_USAGE, "", "what to find is missing");
    check("bad\033[2J", COMMAND_USAGE, "", "\"bad?[2J\"");
}

static void no_command_means_the_screens(void **state)
{
    (void)state;
    check("", COMMAND_SCREENS, "", "");
    check("--read-only", COMMAND_SCREENS, "", "");
    check("--version", COMMAND_DONE, "amble " AMBLE_VERSION "\n", "");
    check("version", COMMAND_DONE, "amble " AMBLE_VERSION "\n", "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_command_is_told_everywhere),
        cmocka_unit_test(help_fits_eighty_columns),
        cmocka_unit_test(the_manual_has_the_same_commands),
        cmocka_unit_test(the_completion_has_the_same_commands),
        cmocka_unit_test(bad_arguments_are_named),
        cmocka_unit_test(no_command_means_the_screens),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
