/* What must hold for any list of readings, points or measures: drawn at random, the seed fixed. */
#include "base/fault.h"
#include "calc/care.h"
#include "calc/energy.h"
#include "calc/interval.h"
#include "calc/proportion.h"
#include "calc/repeat.h"
#include "calc/robust.h"
#include "calc/trend.h"
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#undef fail /* cmocka's; ours is meant here */

enum { TRIES = 100000, FEWER = 20000, MEASURES = 8, RELATIONS = 10 };

/* SplitMix64 (Steele, Lea and Flood 2014, from memory): the same draws on every machine. */
static double draw(uint64_t *seed, double low, double high)
{
    uint64_t z = *seed += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    z ^= z >> 31;
    return low + (high - low) * (double)(z >> 11) * 0x1p-53;
}

static size_t pick(uint64_t *seed, size_t n)
{
    return (size_t)draw(seed, 0, (double)n);
}

static double anything(uint64_t *seed)
{
    static const double odd[] = {0, -0.0, 1, 1, 2, -1, 1e-300, 1e300, -1e300, 5e-324, 1e9, 1e-9};
    double kind = draw(seed, 0, 1);
    if (kind < 0.4)
        return odd[pick(seed, sizeof odd / sizeof odd[0])];
    return kind < 0.6 ? exp(draw(seed, -300, 300)) : draw(seed, -100, 1000);
}

#define close_to(a, b, scale)                                                                      \
    do {                                                                                           \
        if (!(fabs((a) - (b)) <= 1e-9 * (scale))) {                                                \
            print_error("try %d: %s = %.17g, %s = %.17g\n", i, #a, (double)(a), #b, (double)(b));  \
            _fail(__FILE__, __LINE__);                                                             \
        }                                                                                          \
    } while (0)

static void answers_or_words(bool solved, const struct calc_key *keys, size_t count,
                             const void *out, const struct fault *f)
{
    assert_true(solved || (f->kind != FAULT_NONE && f->text[0]));
    for (size_t k = 0; solved && k < count; k++) {
        double v = calc_get(&keys[k], out);
        bool crossing = strncmp(keys[k].name, "cross_", 6) == 0; /* NaN where there is none */
        crossing = crossing || keys[k].need == KEY_OPTIONAL;
        if (!isfinite(v) && !(isnan(v) && crossing)) {
            print_error("%s = %g\n", keys[k].name, v);
            _fail(__FILE__, __LINE__);
        }
    }
}

static void never_nan(void **state)
{
    (void)state;
    uint64_t seed = 20260201;
    for (int i = 0; i < TRIES; i++) {
        struct fault f = {FAULT_NONE, ""};
        double a[6], b[6];
        struct trend_point p[6];
        for (size_t k = 0; k < 6; k++) {
            a[k] = anything(&seed);
            b[k] = anything(&seed);
            p[k] = (struct trend_point){anything(&seed), anything(&seed),
                                        i % 2 ? fabs(anything(&seed)) : 0};
        }
        struct trend_out t;
        struct repeat_out r;
        struct agreement_out ag;
        struct robust_out ro;
        struct interval_out n;
        struct bladder_out bl;
        struct contact_out c;
        struct energy_out e = {0};
        struct fore_share_out s = {0};
        answers_or_words(trend_solve(p, 3 + pick(&seed, 4), anything(&seed), &t, &f),
                         trend_keys_out, trend_keys_out_count, &t, &f);
        const struct repeat_subject subjects[] = {{a, 2 + pick(&seed, 5)}, {b, 2 + pick(&seed, 5)}};
        answers_or_words(repeat_solve(subjects, 2, &r, &f), repeat_keys_out, repeat_keys_out_count,
                         &r, &f);
        const struct repeat_subject table[] = {{a, 3}, {a + 3, 3}, {b, 3}, {b + 3, 3}};
        answers_or_words(agreement_solve(table, 4, &ag, &f), agreement_keys_out,
                         agreement_keys_out_count, &ag, &f);
        if (robust_solve(a, 1 + pick(&seed, 6), 1e-3, &ro, &f))
            assert_true(isfinite(robust_z(&ro, fmin(fabs(b[0]), 1e9))) && ro.spread >= 1e-3);
        answers_or_words(interval_solve(&(struct interval_in){a[0], b[0]}, &n, &f),
                         interval_keys_out, interval_keys_out_count, &n, &f);
        answers_or_words(bladder_solve(&(struct bladder_in){a[1], a[2], b[1]}, &bl, &f),
                         bladder_keys_out, bladder_keys_out_count, &bl, &f);
        answers_or_words(contact_solve(&(struct contact_in){a[3], b[2]}, &c, &f), contact_keys_out,
                         contact_keys_out_count, &c, &f);
        answers_or_words(energy_solve(&(struct energy_in){a[4], b[3], ENERGY_BOTH}, &e, &f),
                         energy_keys_out, energy_keys_out_count, &e, &f);
        if (fore_share_solve(a, b, 1 + pick(&seed, 6), &s, &f))
            assert_true(isfinite(s.share) && isfinite(s.cv_percent) && isfinite(s.mass_kg));
        double weeks;
        if (energy_weeks(a[5], b[5], 0.01, &weeks, &f))
            assert_true(isfinite(weeks) && weeks >= 0);
    }
}

static void a_trend_moves_with_its_points(void **state)
{
    (void)state;
    uint64_t seed = 20260202;
    for (int i = 0; i < FEWER; i++) {
        enum { N = 9 };
        struct trend_point p[N], moved[N];
        struct trend_out one, other;
        double shift = draw(&seed, -500, 500), scale = draw(&seed, 0.5, 3);
        double tilt = draw(&seed, -1, 1), lift = draw(&seed, -50, 50);
        for (size_t k = 0; k < N; k++) {
            p[k] = (struct trend_point){10.0 * (double)k + draw(&seed, 0, 9),
                                        draw(&seed, 0, 4) + tilt * 10 * (double)k,
                                        i % 2 ? draw(&seed, 0.5, 3) : 0};
            moved[N - 1 - k] =
                (struct trend_point){p[k].day + shift, p[k].value * scale + lift, p[k].u * scale};
        }
        assert_true(trend_solve(p, N, 20, &one, NULL));
        assert_true(trend_solve(moved, N, 20 * scale + lift, &other, NULL));
        close_to(other.slope_per_day, scale * one.slope_per_day, 1);
        close_to(other.slope_high, scale * one.slope_high, 1);
        close_to(other.theil_slope, scale * one.theil_slope, 1);
        close_to(other.kendall_s, one.kendall_s, 0);
        assert_int_equal(isnan(one.cross_low), isnan(other.cross_low));
        if (!isnan(one.cross_low) && fabs(one.cross_high) < 1e4) {
            close_to(other.cross_day, one.cross_day + shift, 1e5);
            close_to(other.cross_high, one.cross_high + shift, 1e5);
            assert_true(one.cross_low <= one.cross_day && one.cross_day <= one.cross_high);
        }
        /* an interval that leaves 0 out and a crossing that is known are one thing */
        bool sure = one.slope_low > 0 || one.slope_high < 0;
        if (fabs(one.slope_low) > 1e-6 && fabs(one.slope_high) > 1e-6)
            assert_int_equal(sure, !isnan(one.cross_low));
    }
}

static const char *const ids[MEASURES] = {"a", "b", "c", "d", "e", "f", "g", "h"};

/* Relations that tie all measures together, some of them closing circles. */
static size_t web(uint64_t *seed, struct proportion_relation *r)
{
    size_t count = MEASURES - 1 + pick(seed, RELATIONS - MEASURES + 2);
    for (size_t k = 0; k < count; k++) {
        size_t of = k < MEASURES - 1 ? k + 1 : 1 + pick(seed, MEASURES - 1);
        size_t to = pick(seed, of);
        double middle = exp(draw(seed, -1, 1)), width = draw(seed, 1.05, 1.4);
        r[k] = (struct proportion_relation){
            .of = ids[of], .to = ids[to], .low = middle / width, .high = middle * width};
    }
    return count;
}

static void a_suspect_does_not_depend_on_size_or_order(void **state)
{
    (void)state;
    uint64_t seed = 20260203;
    int suspected = 0;
    for (int i = 0; i < FEWER; i++) {
        struct proportion_measure m[MEASURES], big[MEASURES];
        struct proportion_relation r[RELATIONS];
        struct proportion_check checks[RELATIONS];
        struct proportion_out one, other;
        size_t count = web(&seed, r);
        double size = exp(draw(&seed, -1, 1));
        for (size_t k = 0; k < MEASURES; k++) {
            m[k] = (struct proportion_measure){ids[k], exp(draw(&seed, 4, 6))};
            big[MEASURES - 1 - k] = (struct proportion_measure){ids[k], m[k].value * size};
        }
        assert_true(proportion_solve(m, MEASURES, r, count, checks, &one, NULL));
        assert_true(proportion_solve(big, MEASURES, r, count, checks, &other, NULL));
        close_to(other.misfit, one.misfit, fmax(one.misfit, 1));
        assert_int_equal(one.misfits, other.misfits);
        assert_int_equal(one.count, other.count);
        assert_int_equal(one.freedom, MEASURES - 1);
        if (!one.misfits || fabs(fabs(one.ranked[0].z) - fabs(one.ranked[1].z)) < 1e-6)
            continue;
        suspected++;
        assert_int_equal(one.ranked[0].measure, MEASURES - 1 - other.ranked[0].measure);
        close_to(other.ranked[0].corrected, size * one.ranked[0].corrected,
                 other.ranked[0].corrected);
        double sum = 0;
        for (size_t k = 0; k < one.count; k++) {
            sum += one.ranked[k].share;
            assert_true(k == 0 || one.ranked[k].share <= one.ranked[k - 1].share);
        }
        close_to(sum, 1, 1);
    }
    assert_true(suspected > FEWER / 2);
}

/* With the suspect put right by its corrected value the misfit falls by z squared, exactly. */
static void the_corrected_value_is_the_best(void **state)
{
    (void)state;
    uint64_t seed = 20260204;
    for (int i = 0; i < FEWER; i++) {
        struct proportion_measure m[MEASURES];
        struct proportion_relation r[RELATIONS];
        struct proportion_check checks[RELATIONS];
        struct proportion_out before, after;
        size_t count = web(&seed, r);
        for (size_t k = 0; k < MEASURES; k++)
            m[k] = (struct proportion_measure){ids[k], exp(draw(&seed, 4, 6))};
        assert_true(proportion_solve(m, MEASURES, r, count, checks, &before, NULL));
        if (!before.misfits || before.ranked[0].corrected > 1e5)
            continue;
        const struct proportion_suspect *s = &before.ranked[0];
        m[s->measure].value = s->corrected;
        assert_true(proportion_solve(m, MEASURES, r, count, checks, &after, NULL));
        close_to(after.misfit, before.misfit - s->z * s->z, before.misfit);
        m[s->measure].value = s->corrected * 1.01;
        double best = after.misfit;
        assert_true(proportion_solve(m, MEASURES, r, count, checks, &after, NULL));
        assert_true(after.misfit > best);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(never_nan),
        cmocka_unit_test(a_trend_moves_with_its_points),
        cmocka_unit_test(a_suspect_does_not_depend_on_size_or_order),
        cmocka_unit_test(the_corrected_value_is_the_best),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
