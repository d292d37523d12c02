#include "casebook/experience.h"
#include "casebook_world.h"

/* A dog read twice by whoever is at the keys, the readings `apart` mm. */
static void doubles(struct world *w, double apart)
{
    struct chart c;
    a_visit(w, &c);
    put(w, &c.visit, "withers_height.1", "250 mm");
    put(w, &c.visit, "withers_height.2", arena_printf(w->arena, "%.1f mm", 250 + apart));
}

static void each_person_has_an_error_of_their_own(void **state)
{
    struct world *w = *state;
    struct experience known;
    const char *steady = arena_str(w->arena, somebody(w, "ST", "Steady Hand"));
    OK(casebook_become(&w->cb, steady, f));
    for (int i = 0; i < 12; i++)
        doubles(w, i % 2 == 0 ? 1 : -1);
    const char *hasty = arena_str(w->arena, somebody(w, "HA", "Hasty Hand"));
    OK(casebook_become(&w->cb, hasty, f));
    for (int i = 0; i < 3; i++)
        doubles(w, 6);
    OK(experience_renew(&w->cb, w->arena, &known, f));
    const struct observed *one =
        observed_find(known.observers, known.observer_count, steady, "withers_height");
    const struct observed *two =
        observed_find(known.observers, known.observer_count, hasty, "withers_height");
    assert_non_null(one);
    assert_non_null(two);
    assert_int_equal(one->n, 12);
    NEAR(one->tem, sqrt(0.5), 1e-6); /* sqrt(sum d^2 / 2n) with every d 1 mm */
    NEAR(one->credible, 1.96, 1e-6); /* 1.96 sqrt(2) TEM */
    assert_int_equal(two->n, 3);
    NEAR(two->tem, 6 / sqrt(2), 1e-6);
    assert_null(observed_find(known.observers, known.observer_count, steady, "hip_width"));
}

static const char *person(struct world *w, const char *initials, const char *name, double apart)
{
    const char *who = arena_str(w->arena, somebody(w, initials, name));
    OK(casebook_become(&w->cb, who, f));
    for (int i = 0; i < 12; i++)
        doubles(w, i % 2 == 0 ? apart : -apart);
    return who;
}

/* A visit of the dog, its withers height read twice alike by `who`. */
static void seen_by(struct world *w, struct chart *c, const char *who, const char *day, double mm)
{
    OK(casebook_become(&w->cb, who, f));
    if (c->dog.entity == NULL)
        a_visit(w, c);
    else
        OK(visit_new(&w->cb, w->arena, c->dog.entity, day, c, f));
    put(w, &c->visit, ID_VISIT_DAY, day);
    for (int k = 1; k <= 2; k++)
        put(w, &c->visit, arena_printf(w->arena, "withers_height.%d", k),
            arena_printf(w->arena, "%.0f mm", mm));
}

static struct measure_row since_of(struct chart *c)
{
    struct measuring m;
    measuring_look(c, &m);
    for (size_t i = 0; i < m.count; i++)
        if (strcmp(m.rows[i].measure->id, "withers_height") == 0)
            return m.rows[i];
    fail_msg("no withers height");
    return (struct measure_row){0};
}

/* 4 mm: beyond what the steady hand's doubles differ (1 mm apart, 1.96 mm), within the hasty one's
 * (6 mm, 11.8 mm); whoever reads it later. Of both, the root of the mean square. */
static void the_same_change_is_real_for_one_and_noise_for_another(void **state)
{
    struct world *w = *state;
    struct experience known;
    const char *steady = person(w, "ST", "Steady Hand", 1),
               *hasty = person(w, "HA", "Hasty Hand", 6);
    OK(experience_renew(&w->cb, w->arena, &known, f));
    struct chart a = {0}, b = {0}, both = {0};
    seen_by(w, &a, steady, "2026-06-27", 250);
    seen_by(w, &a, steady, "2026-11-24", 254);
    seen_by(w, &b, hasty, "2026-06-27", 250);
    seen_by(w, &b, hasty, "2026-11-24", 254);
    seen_by(w, &both, hasty, "2026-06-27", 250);
    seen_by(w, &both, steady, "2026-11-24", 254);
    struct measure_row row = since_of(&a);
    assert_true(measure_moved(&row));
    NEAR(row.credible.change, 1.96, 1e-4);
    assert_non_null(strstr(measure_since_words(&a, &row), "beyond what"));
    row = since_of(&b);
    assert_false(measure_moved(&row));
    NEAR(row.credible.change, 6 * 1.96, 1e-3);
    assert_non_null(strstr(measure_since_words(&b, &row), "within what"));
    row = since_of(&both);
    NEAR(row.credible.change, 1.96 * sqrt((1 + 36) / 2.0), 1e-3);
    /* a third person, of whom nothing is known: the template's tolerance */
    struct chart c = {0};
    const char *new = arena_str(w->arena, somebody(w, "NE", "New Hand"));
    seen_by(w, &c, new, "2026-06-27", 250);
    seen_by(w, &c, new, "2026-11-24", 254);
    row = since_of(&c);
    NEAR(row.credible.change, fmax(row.measure->tolerance, row.measure->tolerance_share * 250),
         1e-9);
    assert_string_equal(row.credible.whose, "two readings");
}

/* Nobody is better than the published floor of girths and angles, however alike the doubles are. */
static void a_noise_floor_stands_below_everybody(void **state)
{
    struct world *w = *state;
    const struct observed calm = {"me", "angle", 40, 90, 0.3, 1};
    struct measure angle = {.id = "angle", .dimension = DIM_ANGLE, .tolerance = 6};
    (void)w;
    NEAR(observed_change(&calm, 1, &angle, 90, "me", "me", "me").change, 6, 1e-12);
    angle.dimension = DIM_LENGTH;
    NEAR(observed_change(&calm, 1, &angle, 90, "me", "me", "me").change, 1, 1e-12);
    angle.girth = true;
    NEAR(observed_change(&calm, 1, &angle, 90, "me", "me", "me").change, 6, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(each_person_has_an_error_of_their_own),
        TEST(the_same_change_is_real_for_one_and_noise_for_another),
        TEST(a_noise_floor_stands_below_everybody),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
