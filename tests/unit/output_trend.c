/* The picture of a trend: to scale, within its room, in ASCII and in UTF-8. */
#include "base/text.h"
#include "output/trend_picture.h"
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static struct trend_view falling(struct trend_point *points, const struct trend_of *of)
{
    struct trend_view t = {.of = of, .unit_name = "", .scale = "", .points = points, .count = 5};
    for (int i = 0; i < 5; i++)
        points[i] = (struct trend_point){.day = 25 * i, .value = 50 - 5 * i + (i % 2)};
    t.solved = trend_solve(points, 5, of->has_threshold ? of->threshold : NAN, &t.line, NULL);
    assert_true(t.solved);
    return t;
}

static size_t lines(const char *s, size_t *widest)
{
    size_t n = 0;
    for (*widest = 0; *s != '\0'; n++) {
        size_t w = strcspn(s, "\n");
        *widest = w > *widest ? w : *widest;
        assert_true(w == 0 || s[w - 1] != ' ');
        s += w + 1;
    }
    return n;
}

static void it_is_drawn_to_scale(void **state)
{
    static const struct trend_of of = {.label = "Score", .has_threshold = true, .threshold = 35};
    (void)state;
    struct trend_point points[5];
    struct trend_view t = falling(points, &of);
    struct text out;
    size_t widest, values = 0;
    text_init(&out, 100000);
    trend_picture(&t, &(struct trend_style){.rows = 12, .columns = 60}, &out);
    assert_int_equal(lines(out.s, &widest), 12);
    assert_true(widest <= 60);
    for (const char *p = out.s; *p != '\0'; p++)
        values += *p == 'o';
    assert_int_equal(values, 5);
    /* the first value is the highest: it stands left of and above the last */
    const char *first = strchr(out.s, 'o'), *last = strrchr(out.s, 'o');
    assert_true(first < last);
    assert_non_null(strstr(out.s, "====")); /* the threshold */
    assert_non_null(strchr(out.s, ':'));    /* the band */
    assert_non_null(strstr(out.s, "Thu 1 Jan 1970"));
    assert_non_null(strstr(out.s, "Sat 11 Apr 1970")); /* 100 days on */
    text_free(&out);
}

static void every_size_is_kept_within(void **state)
{
    static const struct trend_of of = {.label = "Score"};
    (void)state;
    struct trend_point points[5];
    struct trend_view t = falling(points, &of);
    struct text out;
    text_init(&out, 1 << 20);
    for (int rows = 0; rows < 60; rows += 7)
        for (int columns = 0; columns < 260; columns += 13) {
            size_t widest;
            text_clear(&out);
            trend_picture(&t, &(struct trend_style){.rows = rows, .columns = columns}, &out);
            size_t n = lines(out.s, &widest);
            if (rows < 5 || columns < 30)
                assert_int_equal(n, 0);
            else
                assert_true(n <= (size_t)rows && widest <= (size_t)columns);
        }
    text_free(&out);
}

static void one_value_is_drawn_too(void **state)
{
    static const struct trend_of of = {.label = "Weight"};
    (void)state;
    struct trend_point point = {.day = 0, .value = 0};
    struct trend_view t = {.of = &of, .unit_name = "", .points = &point, .count = 1};
    struct text out;
    text_init(&out, 100000);
    trend_picture(&t, &(struct trend_style){.rows = 8, .columns = 40, .utf8 = true}, &out);
    assert_non_null(strstr(out.s, "\xe2\x97\x8f"));
    text_free(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_drawn_to_scale),
        cmocka_unit_test(every_size_is_kept_within),
        cmocka_unit_test(one_value_is_drawn_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
