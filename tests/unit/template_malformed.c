/* Every malformed file in templates/bad, laid over the good set, with its exact messages.
 *
 * bad/KIND-what.yaml stands in for KIND.yaml of the good set, or is added to the folder KIND; what
 * must be said stands in bad/KIND-what.expect. A new case is two files and no C. */
#include "templates/cases.h"
#include <dirent.h>
#include <stdlib.h>

#define FOLDER "tests/unit/templates/bad/"

/* Where a file called "forms-what.yaml" is laid. */
static const char *path_for(struct arena *a, const char *name)
{
    const char *kind = arena_strn(a, name, strcspn(name, "-"));
    if (strcmp(kind, "handouts") == 0)
        return "handouts/en/x.yaml";
    if (strcmp(kind, "forms") == 0 || strcmp(kind, "checklists") == 0)
        return arena_printf(a, "%s/x.yaml", kind);
    return arena_printf(a, "%s.yaml", kind);
}

static bool check_case(const char *name)
{
    struct arena *a = arena_new();
    struct files files = good_files(a);
    size_t size;
    const char *stem = arena_strn(a, name, strlen(name) - strlen(".yaml"));
    const char *bytes = read_whole(a, arena_printf(a, FOLDER "%s", name), &size);
    const char *expected = read_whole(a, arena_printf(a, FOLDER "%s.expect", stem), NULL);
    files_lay(a, &files, path_for(a, name), bytes, size);
    struct loaded got = load(&files);
    bool same = got.set == NULL && strcmp(got.lines.s, expected) == 0;
    if (!same)
        print_error("%s: expected\n%sbut it says\n%s\n", name, expected,
                    got.set != NULL ? "nothing\n" : got.lines.s);
    loaded_free(&got);
    arena_free(a);
    return same;
}

static int only_yaml(const struct dirent *d)
{
    size_t n = strlen(d->d_name);
    return n > 5 && strcmp(d->d_name + n - 5, ".yaml") == 0;
}

static void every_malformed_file_is_told_apart(void **state)
{
    (void)state;
    struct dirent **entries;
    int n = scandir(FOLDER, &entries, only_yaml, alphasort);
    int wrong = 0;
    assert_true(n >= 40); /* a folder that is not found must not pass */
    for (int i = 0; i < n; i++) {
        wrong += !check_case(entries[i]->d_name);
        free(entries[i]);
    }
    free(entries);
    assert_int_equal(wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_malformed_file_is_told_apart)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
