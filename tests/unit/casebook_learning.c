#include "casebook/experience.h"
#include "casebook_world.h"

static void readings(struct world *w, struct chart *c, const char *id, double mm)
{
    for (int k = 1; k <= 2; k++)
        put(w, &c->visit, arena_printf(w->arena, "%s.%d", id, k),
            arena_printf(w->arena, "%.1f mm", mm + k % 2));
}

/* A Dachshund measured, and signed when told to be. */
static void a_dog(struct world *w, double ratio, bool sign)
{
    struct chart c;
    a_visit(w, &c);
    put(w, &c.dog, ID_DOG_BREED, "Dachshund");
    readings(w, &c, "withers_height", 250);
    readings(w, &c, "hip_width", 250 * ratio);
    if (sign)
        OK(record_sign(&w->cb, &c.visit, f));
}

static void what_is_signed_teaches_and_what_is_not_does_not(void **state)
{
    struct world *w = *state;
    struct experience known;
    (void)somebody(w, "IV", "Ines Varga");
    for (int i = 0; i < 7; i++)
        a_dog(w, 0.60 + 0.005 * i, true);
    a_dog(w, 0.20, false);
    OK(experience_renew(&w->cb, w->arena, &known, f));
    const struct learned *hips = learning_find(known.ratios, known.ratio_count, "long_low", "hips");
    assert_non_null(hips);
    assert_int_equal(hips->n, 7);
    NEAR(hips->centre, 0.615, 0.002);
    assert_null(learning_find(known.ratios, known.ratio_count, "square", "hips"));
    /* kept: read again without the visits */
    struct experience again;
    experience_read(&w->cb, w->arena, &again);
    assert_string_equal(again.day, "2026-11-24");
    assert_int_equal(again.ratio_count, known.ratio_count);
    NEAR(again.ratios[0].centre, known.ratios[0].centre, 1e-6);
    /* the band moves, and says so */
    struct chart c;
    struct measuring m;
    a_visit(w, &c);
    put(w, &c.dog, ID_DOG_BREED, "Dachshund");
    readings(w, &c, "withers_height", 250);
    readings(w, &c, "hip_width", 150);
    w->set->practice.learn = true;
    measuring_look(&c, &m);
    assert_int_equal(m.rows[0].checks[0].reference, BY_PRACTICE);
    assert_true(m.rows[0].checks[0].low > 0.52);
    assert_non_null(strstr(measure_beside_words(&c, &m.rows[0].checks[0]), ", n 7; usual 0.52"));
    w->set->practice.learn = false;
    measuring_look(&c, &m);
    assert_int_equal(m.rows[0].checks[0].reference, BY_PUBLISHED);
    NEAR(m.rows[0].checks[0].low, 0.52, 1e-9);
}

static void a_band_shrinks_towards_what_is_published_by_count(void **state)
{
    (void)state;
    const struct band published = {.low = 0.52, .high = 0.66};
    double low, high, before = 0;
    bool own;
    assert_true(learning_band(&published, NULL, &low, &high, &own));
    assert_false(own);
    for (size_t n = 5; n < 2000; n *= 2) {
        struct learned dogs = {"long_low", "hips", 0.70, 0.03, n};
        assert_true(learning_band(&published, &dogs, &low, &high, &own));
        assert_true(own);
        double middle = sqrt(low * high);
        assert_true(middle > before && middle < 0.70);
        before = middle;
    }
    NEAR(before, 0.70, 0.003);
    struct learned few = {"long_low", "hips", 0.70, 0.03, 4};
    assert_true(learning_band(&published, &few, &low, &high, &own));
    assert_false(own);
    assert_false(learning_band(NULL, &few, &low, &high, &own)); /* four dogs make no band */
    /* a band that only catches slips is outweighed sooner */
    const struct band wide = {.low = 0.35, .high = 1.0},
                      slips = {.low = 0.35, .high = 1.0, .limits = true};
    struct learned forty = {"long_low", "hips", 0.60, 0.04, 40};
    double wide_low, wide_high;
    assert_true(learning_band(&wide, &forty, &wide_low, &wide_high, &own));
    assert_true(learning_band(&slips, &forty, &low, &high, &own));
    assert_true(low > wide_low && high < wide_high && high / low < 1.4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(what_is_signed_teaches_and_what_is_not_does_not),
        TEST(a_band_shrinks_towards_what_is_published_by_count),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
