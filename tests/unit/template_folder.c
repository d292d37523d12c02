/* Two folders laid over one another, and what a folder may hold besides templates. */
#include "templates/cases.h"
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

struct place {
    struct arena *arena;
    char root[64];
};

static int make_place(void **state)
{
    struct place *p = calloc(1, sizeof *p);
    if (p == NULL)
        return 1;
    p->arena = arena_new();
    (void)snprintf(p->root, sizeof p->root, "/tmp/amble-template-XXXXXX");
    *state = p;
    return mkdtemp(p->root) == NULL;
}

static const char *made[32];
static size_t made_count;

static int remove_place(void **state)
{
    struct place *p = *state;
    while (made_count > 0)
        (void)remove(made[--made_count]);
    (void)rmdir(p->root);
    arena_free(p->arena);
    free(p);
    return 0;
}

static const char *inside(struct place *p, const char *path)
{
    const char *whole = arena_printf(p->arena, "%s/%s", p->root, path);
    assert_true(made_count < sizeof made / sizeof *made);
    made[made_count++] = whole;
    return whole;
}

static void folder(struct place *p, const char *path)
{
    assert_int_equal(mkdir(inside(p, path), 0700), 0);
}

static void put(struct place *p, const char *path, const char *text)
{
    FILE *f = fopen(inside(p, path), "w");
    assert_non_null(f);
    assert_int_equal(fwrite(text, 1, strlen(text), f), strlen(text));
    assert_int_equal(fclose(f), 0);
}

static struct loaded load_over(const char *shipped, const char *overlay)
{
    struct loaded l = {.set = NULL};
    text_init(&l.lines, 64 * 1024);
    struct template_report report = {.lines = &l.lines};
    l.set = template_load(shipped, overlay, &report);
    l.count = report.count;
    return l;
}

static void check_said(struct place *p, const char *expected)
{
    struct loaded l = load_over(GOOD, p->root);
    assert_string_equal(l.lines.s, expected);
    assert_int_equal(l.set == NULL, *expected != '\0');
    loaded_free(&l);
}

static const char practice[] = "name: Other\nphone: 1\nemergency_phone: 2\nlength_unit: in\n";

static void a_missing_overlay_is_nothing_to_lay(void **state)
{
    (void)state;
    struct loaded l = load_over(GOOD, "/nowhere/at/all");
    assert_string_equal(l.lines.s, "");
    assert_non_null(l.set);
    loaded_free(&l);
}

static void a_missing_shipped_folder_is_told(void **state)
{
    (void)state;
    struct loaded l = load_over("/nowhere/at/all", NULL);
    assert_null(l.set);
    assert_string_equal(l.lines.s, "/nowhere/at/all: the folder cannot be read: No such file or "
                                   "directory\n");
    loaded_free(&l);
}

static void the_same_path_replaces_and_another_adds(void **state)
{
    struct place *p = *state;
    put(p, "practice.yaml", practice);
    folder(p, "forms");
    put(p, "forms/own.yaml",
        "add_to: history\nitems:\n  - {id: stairs, label: Stairs, kind: yesno}\n");
    folder(p, "handouts");
    folder(p, "handouts/de");
    put(p, "handouts/de/care.yaml", "handout: care\ntitle: Blatt\nparts: [{kind: danger}]\n");
    struct loaded l = load_over(GOOD, p->root);
    assert_string_equal(l.lines.s, "");
    assert_non_null(l.set);
    assert_string_equal(l.set->practice.name, "Other");
    assert_string_equal(l.set->practice.address, ""); /* replaced whole, not key by key */
    assert_non_null(template_item(l.set, "stairs"));
    assert_non_null(template_item(l.set, "walking"));
    assert_string_equal(template_handout(l.set, "care", "de")->title, "Blatt");
    assert_string_equal(template_handout(l.set, "care", "fr")->language, "en");
    loaded_free(&l);
}

static void what_is_not_a_template_is_left_alone(void **state)
{
    struct place *p = *state;
    put(p, "README", "not YAML: [\n");
    put(p, ".practice.yaml.swp", "not YAML: [\n");
    put(p, ".hidden.yaml", "not YAML: [\n");
    folder(p, ".git");
    put(p, ".git/config.yaml", "not YAML: [\n");
    check_said(p, "");
}

static void strangers_are_told(void **state)
{
    struct place *p = *state;
    put(p, "measure.yaml", "measures: []\n");
    put(p, "weather.yaml", "rain: yes\n");
    folder(p, "handouts");
    put(p, "handouts/care.yaml", "handout: care\n");
    folder(p, "forms");
    folder(p, "forms/old");
    put(p, "forms/old/a.yaml", "form: a\n");
    check_said(p, "forms/old/a.yaml: in this folder files are called forms/NAME.yaml\n"
                  "handouts/care.yaml: in this folder files are called "
                  "handouts/LANGUAGE/NAME.yaml\n"
                  "measure.yaml: no template has this name; did you mean \"measures.yaml\"?\n"
                  "weather.yaml: no template has this name\n");
}

static void yml_is_told_and_not_passed_over(void **state)
{
    struct place *p = *state;
    put(p, "practice.yml", practice);
    check_said(p, "practice.yml: the name must end in .yaml\n");
}

static void a_folder_that_is_closed_is_told(void **state)
{
    struct place *p = *state;
    if (geteuid() == 0)
        skip(); /* nothing is closed to root */
    folder(p, "forms");
    assert_int_equal(chmod(made[made_count - 1], 0), 0);
    check_said(p, "forms: the folder cannot be read: Permission denied\n");
}

static void a_pipe_does_not_hang(void **state)
{
    struct place *p = *state;
    assert_int_equal(mkfifo(inside(p, "practice.yaml"), 0600), 0);
    check_said(p, "practice.yaml: this is not a file\n");
}

static void a_dangling_link_is_told(void **state)
{
    struct place *p = *state;
    assert_int_equal(symlink("gone", inside(p, "practice.yaml")), 0);
    check_said(p, "practice.yaml: cannot be opened: No such file or directory\n");
}

static void a_file_of_50_MB_is_not_read(void **state)
{
    struct place *p = *state;
    put(p, "practice.yaml", practice);
    assert_int_equal(truncate(made[made_count - 1], 50L * 1000 * 1000), 0);
    check_said(p, "practice.yaml: the file is larger than 1 MiB\n");
}

static void a_set_without_triage_is_no_set(void **state)
{
    struct place *p = *state;
    put(p, "practice.yaml", practice);
    struct loaded l = load_over(p->root, NULL);
    assert_null(l.set);
    assert_string_equal(l.lines.s, "triage.yaml: the file is missing\n");
    loaded_free(&l);
}

static void the_practice_alone_comes_from_the_overlay_if_it_is_there(void **state)
{
    struct place *p = *state;
    struct template_set *set = template_load_practice(GOOD, p->root);
    struct loaded whole = load_over(GOOD, NULL);
    assert_string_equal(set->practice.name, whole.set->practice.name);
    assert_int_equal(set->form_count + set->measure_count + set->support_count, 0);
    template_free(set);
    loaded_free(&whole);
    put(p, "practice.yaml", practice);
    put(p, "strange.yaml", "is: not read");
    set = template_load_practice(GOOD, p->root);
    assert_string_equal(set->practice.name, "Other");
    template_free(set);
    put(p, "practice.yaml", "nmae: Other\n");
    assert_null(template_load_practice(GOOD, p->root));
    assert_null(template_load_practice("/nowhere/at/all", NULL));
}

int main(void)
{
#define IN_PLACE(test) cmocka_unit_test_setup_teardown(test, make_place, remove_place)
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_missing_overlay_is_nothing_to_lay),
        cmocka_unit_test(a_missing_shipped_folder_is_told),
        IN_PLACE(the_same_path_replaces_and_another_adds),
        IN_PLACE(what_is_not_a_template_is_left_alone),
        IN_PLACE(strangers_are_told),
        IN_PLACE(yml_is_told_and_not_passed_over),
        IN_PLACE(a_folder_that_is_closed_is_told),
        IN_PLACE(a_pipe_does_not_hang),
        IN_PLACE(a_dangling_link_is_told),
        IN_PLACE(a_file_of_50_MB_is_not_read),
        IN_PLACE(the_practice_alone_comes_from_the_overlay_if_it_is_there),
        IN_PLACE(a_set_without_triage_is_no_set),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
