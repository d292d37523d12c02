/* The picture is to scale: what is measured in it is what went in. */
#include "base/text.h"
#include "output/picture.h"
#include "tests/reference/oracle_dog.h"
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void near(double got, double wanted, double within)
{
    if (!(fabs(got - wanted) <= within))
        fail_msg("%.9g is not %.9g", got, wanted);
}

struct drawn {
    struct balance_in in;
    struct balance_out out;
    struct figure figure;
};

/* `grid` 0: exactly where it is; else the axle goes from 260 to 440 mm, on that grid. */
static void draw_axle_on(struct drawn *d, double axle, double grid)
{
    struct fault f = {0};
    d->in = oracle_dog(axle);
    assert_true(balance_solve(&d->in, &d->out, &f));
    struct figure_in what = {.in = &d->in,
                             .out = &d->out,
                             .withers_mm = 420,
                             .normal_n = 70.608,
                             .front_axle_mm = NAN,
                             .loads = true,
                             .axle_low_mm = grid > 0 ? 260 : 0,
                             .axle_high_mm = grid > 0 ? 440 : 0,
                             .grid_mm = grid};
    figure_side(&what, &d->figure);
}

static void draw_axle(struct drawn *d, double axle)
{
    draw_axle_on(d, axle, 0);
}

/* The box around the strokes of a kind; the first `most` of them. */
static void box(const struct figure *f, enum stroke_kind kind, size_t most,
                struct figure_point *low, struct figure_point *high)
{
    *low = (struct figure_point){INFINITY, INFINITY};
    *high = (struct figure_point){-INFINITY, -INFINITY};
    for (size_t i = 0; i < f->stroke_count && most > 0; i++) {
        if (f->strokes[i].kind != kind)
            continue;
        most--;
        for (size_t k = 0; k < f->strokes[i].count; k++) {
            const struct figure_point *p = &f->points[f->strokes[i].first + k];
            *low = (struct figure_point){fmin(low->x, p->x), fmin(low->z, p->z)};
            *high = (struct figure_point){fmax(high->x, p->x), fmax(high->z, p->z)};
        }
    }
    assert_int_equal(most, 0);
}

static void wheel_and_mass_stand_where_they_are(void **state)
{
    (void)state;
    struct drawn d;
    struct figure_point low, high;
    draw_axle(&d, 340);
    box(&d.figure, STROKE_WHEEL, 1, &low, &high);
    near(low.x, 240, 0.5);
    near(high.x, 440, 0.5);
    near(low.z, 0, 0.5);
    near(high.z, 200, 0.5);
    box(&d.figure, STROKE_MASS, 1, &low, &high);
    near((low.x + high.x) / 2, d.out.cg_mm, 0.5);
    near((low.z + high.z) / 2, d.out.cg_height_mm, 0.5);
}

static void arrows_are_as_long_as_loads_are_heavy(void **state)
{
    (void)state;
    static const double axles[] = {300, 340, 420};
    for (size_t i = 0; i < 3; i++) {
        struct drawn d;
        struct figure_point low, high;
        draw_axle(&d, axles[i]);
        box(&d.figure, STROKE_LOAD, 1, &low, &high); /* fore feet */
        double fore = high.z - low.z;
        near(fore / 210, d.out.fore_load_n / (12 * STANDARD_GRAVITY), 1e-9);
        near(high.z, 0, 1e-9); /* its head touches the ground */
    }
}

static void the_tip_line_has_the_angle_of_the_limit(void **state)
{
    (void)state;
    struct drawn d;
    struct figure_point low, high;
    draw_axle(&d, 340);
    box(&d.figure, STROKE_TIP, 1, &low, &high);
    double angle = atan2(high.x - low.x, high.z - low.z) * (180 / M_PI);
    near(angle, d.out.uphill_limit_deg, 1e-6);
}

/* ---- as characters --------------------------------------------------------------------------- */

static char *characters(const struct figure *f, int rows, int columns, bool braille)
{
    struct text t;
    text_init(&t, 100000);
    picture_draw(f, &(struct picture_style){rows, columns, braille}, &t);
    char *all = strdup(t.s);
    assert_non_null(all);
    text_free(&t);
    return all;
}

static void check_lines(char *all, int rows, int columns, bool braille)
{
    int n = 0;
    for (char *rest = all, *line; (line = strsep(&rest, "\n")) != NULL && rest != NULL; n++) {
        int wide = 0;
        for (const unsigned char *p = (const unsigned char *)line; *p != '\0'; p++) {
            if (!braille)
                assert_in_range(*p, ' ', '~');
            wide += (*p & 0xC0) != 0x80;
        }
        assert_in_range(wide, 0, columns);
        assert_true(wide == 0 || line[strlen(line) - 1] != ' ');
    }
    assert_int_equal(n, rows);
}

static void every_size_is_filled_and_kept(void **state)
{
    (void)state;
    static const int sizes[][2] = {{8, 30}, {12, 32}, {14, 46}, {26, 80}, {48, 160}};
    struct drawn d;
    draw_axle(&d, 340);
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
        for (int braille = 0; braille <= 1; braille++) {
            char *all = characters(&d.figure, sizes[i][0], sizes[i][1], braille);
            assert_non_null(strstr(all, "kg"));
            check_lines(all, sizes[i][0], sizes[i][1], braille);
            free(all);
        }
}

static void words_are_never_written_over_each_other(void **state)
{
    (void)state;
    struct drawn d;
    for (double axle = 260; axle < 440; axle += 10) {
        draw_axle(&d, axle);
        for (size_t i = 0; i < d.figure.label_count; i++) {
            char *all = characters(&d.figure, 12, 40, false);
            if (!strstr(all, d.figure.labels[i].words))
                fail_msg("\"%s\" is not whole at %g mm in\n%s", d.figure.labels[i].words, axle,
                         all);
            free(all);
        }
    }
}

static void a_moved_axle_moves_in_the_picture(void **state)
{
    (void)state;
    struct drawn a, b;
    draw_axle(&a, 300);
    draw_axle(&b, 420);
    char *one = characters(&a.figure, 14, 46, true), *two = characters(&b.figure, 14, 46, true);
    assert_string_not_equal(one, two);
    free(one);
    free(two);
}

/* What does not move with the axle stays where it is, to the dot; what does keeps to the grid. */
static void the_rest_of_the_picture_is_still(void **state)
{
    (void)state;
    struct drawn a, b;
    struct figure_point low, high;
    draw_axle_on(&a, 260, 15);
    for (double axle = 265; axle <= 440; axle += 5) {
        draw_axle_on(&b, axle, 15);
        near(b.figure.low.x, a.figure.low.x, 1e-9);
        near(b.figure.low.z, a.figure.low.z, 1e-6);
        near(b.figure.high.x, a.figure.high.x, 1e-9);
        near(b.figure.high.z, a.figure.high.z, 1e-9);
        box(&b.figure, STROKE_WHEEL, 1, &low, &high);
        near((low.x + high.x) / 2, 15 * round(axle / 15), 1e-6);
    }
    const struct picture_style style = {14, 28, true};
    near(picture_column_mm(&a.figure, &style), picture_column_mm(&b.figure, &style), 1e-9);
}

static void nonsense_is_not_drawn(void **state)
{
    (void)state;
    struct drawn d;
    struct figure f;
    draw_axle(&d, 340);
    d.in.stance_length_mm = 0;
    struct figure_in what = {
        .in = &d.in, .out = &d.out, .withers_mm = 420, .front_axle_mm = NAN, .loads = true};
    figure_side(&what, &f);
    assert_int_equal(f.stroke_count, 0);
    char *none = characters(&f, 12, 40, true);
    assert_string_equal(none, "");
    free(none);
    none = characters(&d.figure, 3, 40, true);
    assert_string_equal(none, "");
    free(none);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wheel_and_mass_stand_where_they_are),
        cmocka_unit_test(arrows_are_as_long_as_loads_are_heavy),
        cmocka_unit_test(the_tip_line_has_the_angle_of_the_limit),
        cmocka_unit_test(every_size_is_filled_and_kept),
        cmocka_unit_test(words_are_never_written_over_each_other),
        cmocka_unit_test(a_moved_axle_moves_in_the_picture),
        cmocka_unit_test(the_rest_of_the_picture_is_still),
        cmocka_unit_test(nonsense_is_not_drawn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
