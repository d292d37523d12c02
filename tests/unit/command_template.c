/* amble template, as a shell sees it. */
#include "base/fault.h"
#include "command/command.h"
#include "command/template.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define GOOD "tests/unit/templates/good"

struct said {
    char *out, *err;
    size_t out_size, err_size;
    int status;
};

static struct said run(const char *overlay, const char *a, const char *b, const char *c)
{
    struct said s = {0};
    char words[4][64] = {"template"};
    char *argv[5] = {words[0]};
    const char *given[] = {a, b, c};
    int argc = 1;
    for (size_t i = 0; i < 3 && given[i] != NULL; i++, argc++) {
        (void)snprintf(words[argc], sizeof words[argc], "%s", given[i]);
        argv[argc] = words[argc];
    }
    FILE *out = open_memstream(&s.out, &s.out_size);
    FILE *err = open_memstream(&s.err, &s.err_size);
    assert_non_null(out);
    assert_non_null(err);
    s.status = command_template(argc, argv, GOOD, overlay, out, err);
    (void)fclose(out);
    (void)fclose(err);
    return s;
}

static void check(struct said s, int status, const char *out, const char *err)
{
    assert_string_equal(s.out, out);
    assert_string_equal(s.err, err);
    assert_int_equal(s.status, status);
    free(s.out);
    free(s.err);
}

static void check_counts_what_was_read(void **state)
{
    (void)state;
    check(run(NULL, "check", NULL, NULL), COMMAND_DONE,
          "1 form, 12 items, 2 measures, 2 body types, 1 breed, 1 relation, 2 supports, "
          "2 support rules, 1 triage rule, 1 frame, 1 checklist, 1 handout, 1 energy factor\n",
          "");
}

static void check_names_mistakes(void **state)
{
    (void)state;
    char folder[] = "/tmp/amble-template-XXXXXX";
    char path[64];
    assert_non_null(mkdtemp(folder));
    (void)snprintf(path, sizeof path, "%s/practice.yaml", folder);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    assert_true(fputs("nmae: P\nphone: 1\nemergency_phone: 2\n", f) >= 0);
    assert_int_equal(fclose(f), 0);
    const char *told = "practice.yaml:1:1: practice: unknown key \"nmae\"; did you mean \"name\"?\n"
                       "practice.yaml:1:1: practice: the key \"name\" is missing\n";
    check(run(folder, "check", NULL, NULL), COMMAND_FAILED, "", told);
    check(run(NULL, "check", folder, NULL), COMMAND_FAILED, "", told);
    assert_int_equal(remove(path), 0);
    assert_int_equal(remove(folder), 0);
}

static void show_lists_questions(void **state)
{
    (void)state;
    struct said s = run(NULL, "show", "history", NULL);
    assert_int_equal(s.status, COMMAND_DONE);
    assert_string_equal(s.err, "");
    const char *first = "History\nWalking\nwalking                      yesno    Does she walk ten "
                        "steps on her own?\n";
    assert_int_equal(strncmp(s.out, first, strlen(first)), 0);
    free(s.out);
    free(s.err);
    check(run(NULL, "show", "histroy", NULL), COMMAND_FAILED, "",
          "amble template: there is no form \"histroy\"; there are: history\n");
}

static void what_cannot_be_used_is_named(void **state)
{
    (void)state;
    check(run(NULL, NULL, NULL, NULL), COMMAND_USAGE, "",
          "amble template: check [FOLDER] or show FORM is missing\nMore: amble help template\n");
    check(run(NULL, "chekc", NULL, NULL), COMMAND_USAGE, "",
          "amble template: \"chekc\" is neither check nor show\nMore: amble help template\n");
    check(run(NULL, "show", NULL, NULL), COMMAND_USAGE, "",
          "amble template: show needs the name of a form\nMore: amble help template\n");
    check(run(NULL, "check", "a", "b"), COMMAND_USAGE, "",
          "amble template: \"b\" is one argument too many\nMore: amble help template\n");
}

/* Every shipped frame stands, and can be looked at. */
static void frames_are_drawn(void **state)
{
    (void)state;
    static char *const ids[] = {"small_shoulder_loaded", "rear_shoulder_loaded", "rear_level",
                                "rear_stepped",          "four_wheel_plain",     "front_plain"};
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        char *out = NULL, *err = NULL, *argv[] = {"template", "check", "--draw", ids[i]};
        size_t out_n, err_n;
        FILE *o = open_memstream(&out, &out_n), *e = open_memstream(&err, &err_n);
        int status = command_template(4, argv, "config", NULL, o, e);
        (void)fclose(o);
        (void)fclose(e);
        if (status != COMMAND_DONE || strstr(out, "kg") == NULL ||
            strstr(out, "on a dog of") == NULL)
            fail_msg("%s: %s%s", ids[i], out, err);
        free(out);
        free(err);
    }
    char *out = NULL, *err = NULL, *argv[] = {"template", "check", "--draw", "sledge"};
    size_t out_n, err_n;
    FILE *o = open_memstream(&out, &out_n), *e = open_memstream(&err, &err_n);
    assert_int_equal(command_template(4, argv, "config", NULL, o, e), COMMAND_FAILED);
    (void)fclose(o);
    (void)fclose(e);
    assert_non_null(strstr(err, "there is no frame"));
    assert_non_null(strstr(err, "rear_stepped"));
    free(out);
    free(err);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_are_drawn),
        cmocka_unit_test(check_counts_what_was_read),
        cmocka_unit_test(check_names_mistakes),
        cmocka_unit_test(show_lists_questions),
        cmocka_unit_test(what_cannot_be_used_is_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
