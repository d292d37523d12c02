/* Printing through a stand-in for lp that writes down what it was given, and saving. */
#include "output/print.h"
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[64], old_path[4096];

static const char *in_folder(const char *name)
{
    static char path[128];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static char *slurp(const char *name, size_t *n)
{
    static char bytes[1 << 20];
    FILE *file = fopen(in_folder(name), "rb");
    assert_non_null(file);
    *n = fread(bytes, 1, sizeof bytes - 1, file);
    fclose(file);
    bytes[*n] = '\0';
    return bytes;
}

static void put_lp(const char *script)
{
    FILE *file = fopen(in_folder("lp"), "w");
    assert_non_null(file);
    fprintf(file, "#!/bin/sh\n%s\n", script);
    fclose(file);
    assert_int_equal(chmod(in_folder("lp"), 0700), 0);
}

static int begin(void **state)
{
    (void)state;
    snprintf(folder, sizeof folder, "/tmp/amble-print-XXXXXX");
    assert_non_null(mkdtemp(folder));
    snprintf(old_path, sizeof old_path, "%s", getenv("PATH"));
    char path[4200];
    snprintf(path, sizeof path, "%s:%s", folder, old_path);
    return setenv("PATH", path, 1) | setenv("FOLDER", folder, 1);
}

static size_t files_in_folder(void)
{
    size_t n = 0;
    DIR *dir = opendir(folder);
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;) {
        n += entry->d_name[0] != '.';
    }
    closedir(dir);
    return n;
}

static int end(void **state)
{
    (void)state;
    setenv("PATH", old_path, 1);
    static const char *const names[] = {"lp", "argv", "stdin", "sheet.txt"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        unlink(in_folder(names[i]));
    }
    return rmdir(folder);
}

static const char recorder[] = "for a in \"$@\"; do echo \"<$a>\"; done >$FOLDER/argv\n"
                               "cat >$FOLDER/stdin\n"
                               "echo 'request id is hall-7 (0 file(s))'";

static void the_job_and_its_words_arrive(void **state)
{
    (void)state;
    put_lp(recorder);
    static char job[300000]; /* more than any pipe holds */
    memset(job, 'x', sizeof job);
    job[7] = '\0';
    job[sizeof job - 1] = '\f';
    char said[64] = "";
    struct fault f = {0};
    assert_true(print_job("hall", "-o Biscuit; rm $HOME `x`\033[1m", false, job, sizeof job, said,
                          sizeof said, &f));
    assert_string_equal(said, "sent to queue hall");
    size_t n;
    assert_string_equal(slurp("argv", &n), "<-d>\n<hall>\n<-t>\n"
                                           "<-o Biscuit; rm $HOME `x`<U+001B>[1m>\n<-->\n<->\n");
    assert_memory_equal(slurp("stdin", &n), job, sizeof job);
    assert_int_equal(n, sizeof job);
}

static void no_queue_means_the_default_one(void **state)
{
    (void)state;
    put_lp(recorder);
    char said[64] = "";
    assert_true(print_job("", "Biscuit", false, "x", 1, said, sizeof said, NULL));
    assert_string_equal(said, "sent to the default queue");
    size_t n;
    assert_string_equal(slurp("argv", &n), "<-t>\n<Biscuit>\n<-->\n<->\n");
}

static void a_refusal_is_told_in_lps_own_words(void **state)
{
    (void)state;
    put_lp("echo 'lp: Error - No default destination.' >&2; printf '\\033[2J' >&2; exit 1");
    char said[64] = "untouched";
    struct fault f = {0};
    assert_false(print_job("", "Biscuit", false, "x", 1, said, sizeof said, &f));
    assert_int_equal(f.kind, FAULT_SYSTEM);
    assert_string_equal(f.text, "the printer refused the sheet: lp: Error - No default "
                                "destination. <U+001B>[2J");
    assert_string_equal(said, "untouched");
    put_lp("exit 3");
    assert_false(print_job("", "Biscuit", false, "x", 1, said, sizeof said, &f));
    assert_string_equal(f.text, "the printer refused the sheet: lp ended with status 3");
    put_lp("kill -9 $$");
    assert_false(print_job("", "Biscuit", false, "x", 1, said, sizeof said, &f));
    assert_string_equal(f.text, "the printer refused the sheet: lp was ended by signal 9");
}

static void no_lp_is_said_with_the_way_out(void **state)
{
    (void)state;
    setenv("PATH", folder, 1);
    char said[64] = "";
    struct fault f = {0};
    assert_false(print_job("hall", "Biscuit", false, "x", 1, said, sizeof said, &f));
    assert_int_equal(f.kind, FAULT_MISSING);
    assert_non_null(strstr(f.text, "save the sheet to a file"));
}

static void saving_is_whole_private_and_never_over(void **state)
{
    (void)state;
    const char *path = in_folder("sheet.txt");
    struct fault f = {0};
    assert_true(save_file(path, "first\n", 6, false, &f));
    struct stat st;
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0600);
    assert_false(save_file(path, "second", 6, false, &f));
    assert_int_equal(f.kind, FAULT_REFUSED);
    size_t n;
    assert_string_equal(slurp("sheet.txt", &n), "first\n");
    assert_true(save_file(in_folder("sheet.txt"), "second", 6, true, &f));
    assert_string_equal(slurp("sheet.txt", &n), "second");
    assert_int_equal(files_in_folder(), 1); /* no temporary file is left */
}

static void a_failed_save_leaves_nothing(void **state)
{
    (void)state;
    struct fault f = {0};
    assert_false(save_file(in_folder("none/sheet.txt"), "x", 1, true, &f));
    assert_int_equal(f.kind, FAULT_STORE);
    assert_non_null(strstr(f.text, "none/sheet.txt\": No such file"));
    assert_false(save_file("/dev/full/sheet.txt", "x", 1, true, &f));
    assert_int_equal(mkdir(in_folder("sheet.txt"), 0700), 0);
    assert_false(save_file(in_folder("sheet.txt"), "x", 1, true, &f));
    assert_int_equal(rmdir(in_folder("sheet.txt")), 0);
    assert_int_equal(files_in_folder(), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_job_and_its_words_arrive, begin, end),
        cmocka_unit_test_setup_teardown(no_queue_means_the_default_one, begin, end),
        cmocka_unit_test_setup_teardown(a_refusal_is_told_in_lps_own_words, begin, end),
        cmocka_unit_test_setup_teardown(no_lp_is_said_with_the_way_out, begin, end),
        cmocka_unit_test_setup_teardown(saving_is_whole_private_and_never_over, begin, end),
        cmocka_unit_test_setup_teardown(a_failed_save_leaves_nothing, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
