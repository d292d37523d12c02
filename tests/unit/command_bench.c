/* What the bench shows is what `amble calc` says, to the last digit shown. */
#include "calc/balance.h"
#include "calc/key.h"
#include "calc/stability.h"
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
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[64];
static char *out, *err;

static int amble(int argc, char **words)
{
    static char shipped[] = "config", data_flag[] = "--data", shipped_flag[] = "--shipped",
                name[] = "amble";
    char *argv[40] = {name, data_flag, folder, shipped_flag, shipped};
    size_t out_n, err_n;
    for (int i = 0; i < argc; i++)
        argv[5 + i] = words[i];
    free(out);
    free(err);
    FILE *in = fopen("/dev/null", "r"), *o = open_memstream(&out, &out_n),
         *e = open_memstream(&err, &err_n);
    int status = command_run(5 + argc, argv, in, o, e);
    (void)fclose(in);
    (void)fclose(o);
    (void)fclose(e);
    return status;
}

/* Words parted by blanks. */
static void run(const char *line)
{
    char *copy = strdup(line), *words[34];
    int n = 0;
    for (char *save = NULL, *w = strtok_r(copy, " ", &save); w != NULL && n < 34;
         w = strtok_r(NULL, " ", &save))
        words[n++] = w;
    if (amble(n, words) != COMMAND_DONE)
        fail_msg("amble %s: %s", line, err);
    free(copy);
}

static int begin(void **state)
{
    (void)state;
    (void)snprintf(folder, sizeof folder, "/tmp/amble-bench-XXXXXX");
    assert_non_null(mkdtemp(folder));
    assert_int_equal(setenv("AMBLE_NOW", "2026-11-24T09:30", 1), 0);
    run("demo contrib/demo/e-biscuit.txt");
    return 0;
}

static int end(void **state)
{
    (void)state;
    DIR *all = opendir(folder);
    for (struct dirent *e; all != NULL && (e = readdir(all)) != NULL;) {
        char path[400];
        (void)snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        (void)unlink(path);
    }
    (void)closedir(all);
    (void)rmdir(folder);
    free(out);
    free(err);
    out = err = NULL;
    return 0;
}

static json_t *parsed(void)
{
    json_error_t e;
    json_t *root = json_loads(out, 0, &e);
    if (root == NULL)
        fail_msg("%s in\n%s", e.text, out);
    return root;
}

/* "key=value" for every key of the bench's input that calc takes, with all its digits. */
static size_t put_inputs(char *line, size_t room, const json_t *bench)
{
    size_t n = 0;
    for (size_t i = 0; i < balance_keys_in_count; i++) {
        const json_t *v = json_object_get(json_object_get(bench, "in"), balance_keys_in[i].name);
        if (json_is_number(v))
            n += (size_t)snprintf(line + n, room - n, " %s=%.17g", balance_keys_in[i].name,
                                  json_number_value(v));
    }
    return n;
}

static double calculated(const char *key)
{
    char wanted[64];
    (void)snprintf(wanted, sizeof wanted, "%s ", key);
    const char *at = strstr(out, wanted);
    if (at == NULL)
        fail_msg("calc does not say %s in\n%s", key, out);
    return strtod(at + strlen(wanted), NULL);
}

/* The number as shown, rounded from calc's as the bench rounds. */
static void same(const json_t *bench, const char *label, double value, int decimals)
{
    size_t i;
    json_t *n;
    json_array_foreach(json_object_get(bench, "shown"), i, n)
    {
        const char *shown = json_string_value(json_object_get(n, "value"));
        char wanted[64];
        if (strncmp(json_string_value(json_object_get(n, "label")), label, strlen(label)) != 0)
            continue;
        double scale = pow(10, decimals), rounded = rint(value * scale) / scale;
        (void)snprintf(wanted, sizeof wanted, "%.*f ", decimals, rounded == 0 ? 0.0 : value);
        if (strncmp(shown, wanted, strlen(wanted)) != 0)
            fail_msg("%s is shown as \"%s\", and calc says %.9g", label, shown, value);
        return;
    }
    fail_msg("the bench does not show %s", label);
}

static void check_axle(int axle)
{
    char line[2000];
    (void)snprintf(line, sizeof line, "bench Biscuit --axle %dmm --json", axle);
    run(line);
    json_t *bench = parsed();
    size_t n = (size_t)snprintf(line, sizeof line, "calc balance");
    (void)put_inputs(line + n, sizeof line - n, bench);
    run(line);
    double g = STANDARD_GRAVITY;
    same(bench, "fore feet", calculated("fore_load_n") / g, 1);
    same(bench, "relief", 100 * calculated("relief"), 0);
    same(bench, "bar", fabs(calculated("bar_load_n")) / g, 1);
    same(bench, "tips up", calculated("uphill_limit_deg"), 0);
    same(bench, "grips up", calculated("traction_limit_deg"), 1);
    (void)snprintf(line, sizeof line,
                   "calc stability cg_mm=%.17g cg_height_mm=%.17g axle_mm=%d wheel_track_mm=%.17g "
                   "turn_radius_m=2",
                   calculated("cg_mm"), calculated("cg_height_mm"), axle,
                   json_number_value(json_object_get(bench, "wheel_track_mm")));
    run(line);
    same(bench, "leans", calculated("side_slope_limit_deg"), 0);
    same(bench, "turns", calculated("turn_speed_limit_mps"), 1);
    json_decref(bench);
}

static void what_is_shown_is_what_calc_says(void **state)
{
    (void)state;
    for (int axle = 221; axle <= 337; axle += 4)
        check_axle(axle);
}

static void sheet_and_drawing_come_from_the_shell(void **state)
{
    (void)state;
    run("build Biscuit");
    assert_non_null(strstr(out, "DRAFT: not frozen, do not cut"));
    run("draw Biscuit --ascii");
    assert_non_null(strstr(out, "bar lifts"));
    run("draw Biscuit --svg");
    assert_memory_equal(out, "<svg xmlns=", 11);
    run("build Biscuit --json");
    json_t *build = parsed();
    assert_string_equal(json_string_value(json_object_get(build, "dog")), "Biscuit");
    json_decref(build);
    char *freeze[] = {(char[]){"build"}, (char[]){"Biscuit"}, (char[]){"--freeze"}};
    assert_int_equal(amble(3, freeze), COMMAND_FAILED); /* the visit is signed */
    assert_non_null(strstr(err, "reason"));
    run("build Biscuit --freeze --because ordered");
    assert_non_null(strstr(out, "Build sheet, version 1"));
    run("show Biscuit"); /* which tells of it, and does not print it */
    assert_null(strstr(out, "amble build sheet"));
    char *words[] = {(char[]){"bench"}, (char[]){"Biscuit"}, (char[]){"--axle"}, (char[]){"80 mm"}};
    assert_int_equal(amble(4, words), COMMAND_FAILED);
    assert_non_null(strstr(err, "tips the frame backwards"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_is_shown_is_what_calc_says, begin, end),
        cmocka_unit_test_setup_teardown(sheet_and_drawing_come_from_the_shell, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
