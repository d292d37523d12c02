/* The drawing: well-formed, inside its page, and right when it is looked at as pixels. */
#include "base/text.h"
#include "output/drawing_svg.h"
#include "tests/reference/oracle_dog.h"
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void near(double got, double wanted, double within)
{
    if (!(fabs(got - wanted) <= within))
        fail_msg("%.9g is not %.9g", got, wanted);
}

static struct build example(void)
{
    static struct build_dimension dimensions[] = {
        {.id = "inside_width", .label = "inside width", .build_mm = 230},
        {.id = "rest_height", .label = "rest", .build_mm = 270},
    };
    struct fault f = {0};
    struct build b = {.version = 3,
                      .day = "2026-11-24",
                      .by = "MK",
                      .dog = "Bisc<uit> & \"Co\"",
                      .frame = "rear frame",
                      .model = "rear",
                      .withers_mm = 420,
                      .normal_n = 70.6,
                      .axle_mm = 340,
                      .ahead_mm = 40,
                      .wheel_mm = 200,
                      .track_mm = 360,
                      .width_mm = 400,
                      .length_mm = 420,
                      .front_axle_mm = NAN,
                      .dimensions = dimensions,
                      .dimension_count = 2};
    b.in = oracle_dog(340);
    assert_true(balance_solve(&b.in, &b.out, &f));
    return b;
}

static char *drawing(const struct build *b, bool frozen)
{
    struct text t;
    text_init(&t, 1 << 20);
    drawing_svg(b, frozen, &t);
    assert_false(t.cut);
    char *all = strdup(t.s);
    assert_non_null(all);
    text_free(&t);
    return all;
}

/* Every element closed in its order, every attribute quoted, no bare ampersand. */
static void well_formed(void **state)
{
    (void)state;
    struct build b = example();
    char *svg = drawing(&b, true);
    const char *open[16];
    size_t depth = 0, elements = 0;
    for (char *p = svg; *p != '\0'; p++) {
        assert_in_range((unsigned char)*p == '\n' ? ' ' : (unsigned char)*p, ' ', '~');
        if (*p == '&')
            assert_true(strncmp(p, "&lt;", 4) == 0 || strncmp(p, "&gt;", 4) == 0 ||
                        strncmp(p, "&amp;", 5) == 0);
        if (*p != '<')
            continue;
        char *end = strchr(p, '>');
        assert_non_null(end);
        elements++;
        size_t quotes = 0;
        for (char *q = p; q < end; q++)
            quotes += *q == '"';
        assert_int_equal(quotes % 2, 0);
        if (p[1] == '/') {
            size_t n = (size_t)(end - p - 2);
            assert_true(depth > 0);
            assert_memory_equal(open[--depth], p + 2, n);
        } else if (end[-1] != '/') {
            assert_true(depth < 16);
            open[depth++] = p + 1;
        }
        p = end;
    }
    assert_int_equal(depth, 0);
    assert_true(elements > 60);
    assert_non_null(strstr(svg, "Bisc&lt;uit&gt; &amp; \"Co\""));
    free(svg);
}

static void says_what_it_is(void **state)
{
    (void)state;
    struct build b = example();
    char *svg = drawing(&b, true), *draft = drawing(&b, false);
    static const char *const words[] = {"version 3",   "track 360",  "axle 340", "ahead of rest 40",
                                        "overall 400", "inside 230", "rest 270", "wheel 200",
                                        ">side<",      ">rear<",     ">top<",    "stance 400"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (!strstr(svg, words[i]))
            fail_msg("the drawing does not say \"%s\"", words[i]);
    assert_null(strstr(svg, "DRAFT"));
    assert_non_null(strstr(draft, "DRAFT, do not cut"));
    free(svg);
    free(draft);
}

/* ---- as pixels ------------------------------------------------------------------------------- */

enum { ACROSS = 297 * 4, DOWN = 210 * 4 };
static unsigned char pixels[DOWN][ACROSS];

static void line_of_pixels(double x0, double y0, double x1, double y1)
{
    double far = fmax(fabs(x1 - x0), fabs(y1 - y0)) * 4;
    for (int i = 0; i <= (int)ceil(far); i++) {
        double t = far > 0 ? i / ceil(far) : 0;
        long x = lround((x0 + t * (x1 - x0)) * 4), y = lround((y0 + t * (y1 - y0)) * 4);
        assert_in_range(x, 0, ACROSS - 1); /* all of it lies on the page */
        assert_in_range(y, 0, DOWN - 1);
        pixels[y][x] = 1;
    }
}

/* Draw the paths of a class (NULL: all) as lines; returns how many. */
static int rasterise(const char *svg, const char *class)
{
    int paths = 0;
    char wanted[40];
    memset(pixels, 0, sizeof pixels);
    snprintf(wanted, sizeof wanted, "<path class=\"%s", class != NULL ? class : "");
    for (const char *p = svg; (p = strstr(p, wanted)) != NULL; p++) {
        const char *d = strstr(p, " d=\"");
        double x = 0, y = 0, at_x = 0, at_y = 0;
        assert_non_null(d);
        paths++;
        for (d += 4; *d != '"';) {
            char what = *d;
            int n = 0;
            assert_int_equal(sscanf(d + 1, "%lf %lf%n", &x, &y, &n), 2);
            assert_true(what == 'M' || what == 'L');
            if (what == 'L')
                line_of_pixels(at_x, at_y, x, y);
            at_x = x;
            at_y = y;
            for (d += 1 + n; *d == ' ';)
                d++;
        }
    }
    return paths;
}

static size_t lit(void)
{
    size_t n = 0;
    for (size_t y = 0; y < DOWN; y++)
        for (size_t x = 0; x < ACROSS; x++)
            n += pixels[y][x];
    return n;
}

static void looked_at_as_pixels(void **state)
{
    (void)state;
    struct build b = example();
    char *svg = drawing(&b, true);
    assert_true(rasterise(svg, NULL) > 60);
    size_t all = lit();
    assert_true(all > 5000 && all < (size_t)ACROSS * DOWN / 10);
    /* the wheel of the side view is a circle of the wheel's size: as wide as it is high, and in
     * proportion to the stance that is drawn beside it */
    const char *path = strstr(svg, "<path class=\"wheel\"");
    assert_non_null(path);
    char *first = strndup(path, (size_t)(strchr(path, '>') - path));
    assert_int_equal(rasterise(first, "wheel"), 1);
    size_t left = ACROSS, right = 0, top = DOWN, bottom = 0;
    for (size_t y = 0; y < DOWN; y++)
        for (size_t x = 0; x < ACROSS; x++)
            if (pixels[y][x]) {
                left = x < left ? x : left;
                right = x > right ? x : right;
                top = y < top ? y : top;
                bottom = y > bottom ? y : bottom;
            }
    double wide = (double)(right - left), high = (double)(bottom - top);
    near(wide, high, 2.5);
    double axle = (double)(left + right) / 2;
    assert_int_equal(rasterise(svg, "ground"), 2);
    double ground = 0;
    for (size_t y = 0; y < DOWN && ground == 0; y++)
        if (pixels[y][(size_t)axle])
            ground = (double)y;
    near(ground, (double)bottom, 2.5); /* the wheel stands on the ground */
    free(first);
    free(svg);
}

static void larger_dogs_fit_the_same_page(void **state)
{
    (void)state;
    for (double scale = 0.3; scale < 3; scale += 0.3) {
        struct build b = example();
        b.withers_mm *= scale;
        b.axle_mm *= scale;
        b.wheel_mm *= scale;
        b.track_mm *= scale;
        b.width_mm *= scale;
        struct build_dimension cut[] = {b.dimensions[0], b.dimensions[1]};
        cut[0].build_mm *= scale;
        cut[1].build_mm *= scale;
        b.dimensions = cut;
        double *lengths[] = {&b.in.stance_length_mm, &b.in.axle_mm,           &b.in.rest_mm,
                             &b.in.bar_mm,           &b.in.wheel_diameter_mm, &b.out.axle_mm,
                             &b.out.cg_mm,           &b.out.cg_height_mm};
        for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++)
            *lengths[i] *= scale;
        char *svg = drawing(&b, true);
        assert_true(rasterise(svg, NULL) > 60);
        free(svg);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(well_formed),
        cmocka_unit_test(says_what_it_is),
        cmocka_unit_test(looked_at_as_pixels),
        cmocka_unit_test(larger_dogs_fit_the_same_page),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
