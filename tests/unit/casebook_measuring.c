#include "casebook_world.h"

static struct measuring look(const struct chart *c)
{
    struct measuring m;
    measuring_look(c, &m);
    return m;
}

static const struct measure_row *row(const struct measuring *m, const char *id)
{
    for (size_t i = 0; i < m->count; i++)
        if (strcmp(m->rows[i].measure->id, id) == 0)
            return &m->rows[i];
    fail_msg("no row %s", id);
    return NULL;
}

static void reading(struct world *w, struct chart *c, const char *id, int n, const char *typed)
{
    const struct measure *m = template_measure(w->set, id);
    const char *canonical;
    OK(reading_read(w->set, m, typed, w->arena, &canonical, f));
    OK(record_put(&w->cb, &c->visit, reading_item(w->arena, m, n), canonical, "", f));
}

static void twice(struct world *w, struct chart *c, const char *id, const char *typed)
{
    reading(w, c, id, 1, typed);
    reading(w, c, id, 2, typed);
}

/* A Dachshund whose numbers fit one another. */
static void a_dachshund(struct world *w, struct chart *c)
{
    a_visit(w, c);
    put(w, &c->dog, ID_DOG_BREED, "Dachshund");
    twice(w, c, "hip_width", "13.2");
    twice(w, c, "withers_height", "22.8");
    twice(w, c, "thigh_depth", "7.1");
}

/* ---- readings ------------------------------------------------------------------------------- */

static void readings_are_kept_in_mm_and_kg(void **state)
{
    struct world *w = *state;
    static const struct {
        const char *measure, *typed, *canonical;
    } cases[] = {
        {"hip_width", "13.1", "131 mm"},
        {"hip_width", "131 mm", "131 mm"},
        {"hip_width", "5 1/4 in", "133.35 mm"},
        {"hip_width", "13,15", "131.5 mm"},
        {"body_mass", "9.4", "9.4 kg"},
        {"body_mass", "20 lb", "9.0718 kg"},
        {"hip_width", "", ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *canonical;
        OK(reading_read(w->set, template_measure(w->set, cases[i].measure), cases[i].typed,
                        w->arena, &canonical, f));
        assert_string_equal(canonical, cases[i].canonical);
    }
    const struct measure *m = template_measure(w->set, "hip_width");
    assert_string_equal(reading_item(w->arena, m, 2), "hip_width.2");
    assert_string_equal(reading_show(w->set, m, 131, w->arena), "13.1");
    assert_string_equal(measure_unit(w->set, m)->name, "cm");
    w->set->practice.length_unit = unit_find("in");
    assert_string_equal(reading_show(w->set, m, 133.35, w->arena), "5.25");
    assert_string_equal(measure_unit(w->set, m)->name, "in");
}

static void what_no_dog_measures_is_refused_and_the_slip_named(void **state)
{
    struct world *w = *state;
    const struct measure *hip = template_measure(w->set, "hip_width");
    const struct measure *withers = template_measure(w->set, "withers_height");
    const char *canonical;
    REFUSED(reading_read(w->set, hip, "131", w->arena, &canonical, f), FAULT_INPUT,
            "hip width is from 3.0 to 50.0 cm; was it 131 mm?");
    REFUSED(reading_read(w->set, withers, "4.5", w->arena, &canonical, f), FAULT_INPUT,
            "was it 4.5 in?");
    REFUSED(reading_read(w->set, hip, "131 cm", w->arena, &canonical, f), FAULT_INPUT,
            "no dog measures that");
    REFUSED(reading_read(w->set, hip, "3 kg", w->arena, &canonical, f), FAULT_INPUT, "length");
    REFUSED(reading_read(w->set, hip, "wide", w->arena, &canonical, f), FAULT_INPUT, "wide");
}

static void two_readings_give_the_mean_three_the_median(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    struct measuring m = look(&c);
    assert_int_equal(row(&m, "hip_width")->count, 0);
    reading(w, &c, "hip_width", 1, "13.1");
    m = look(&c);
    NEAR(row(&m, "hip_width")->used, 131, 1e-9);
    assert_false(row(&m, "hip_width")->third_wanted);
    reading(w, &c, "hip_width", 2, "13.9");
    m = look(&c);
    const struct measure_row *hip = row(&m, "hip_width");
    NEAR(hip->used, 135, 1e-9);
    NEAR(hip->spread, 8, 1e-9);
    NEAR(hip->limit, 3, 1e-9); /* 2 % of 135 is 2.7: the 3 mm are the larger */
    assert_true(hip->third_wanted);
    reading(w, &c, "hip_width", 3, "13.2");
    m = look(&c);
    NEAR(row(&m, "hip_width")->used, 132, 1e-9);
    assert_false(row(&m, "hip_width")->third_wanted);
    assert_int_equal(row(&m, "hip_width")->count, 3);
}

static void a_third_is_wanted_beyond_the_limit_only(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    reading(w, &c, "hip_width", 1, "13.1");
    reading(w, &c, "hip_width", 2, "13.4"); /* exactly the 3 mm */
    struct measuring m = look(&c);
    assert_false(row(&m, "hip_width")->third_wanted);
    reading(w, &c, "hip_width", 2, "134.1 mm");
    m = look(&c);
    assert_true(row(&m, "hip_width")->third_wanted);
    reading(w, &c, "hip_width", 1, "40.0");
    reading(w, &c, "hip_width", 2, "40.8"); /* 2 % of 404 mm is 8.08 mm */
    m = look(&c);
    assert_false(row(&m, "hip_width")->third_wanted);
}

static void a_reading_struck_out_does_not_count(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    reading(w, &c, "hip_width", 1, "13.1");
    reading(w, &c, "hip_width", 2, "13.9");
    OK(record_strike(&w->cb, &c.visit, "hip_width.2", "the tape slipped", f));
    struct measuring m = look(&c);
    assert_int_equal(row(&m, "hip_width")->count, 1);
    NEAR(row(&m, "hip_width")->used, 131, 1e-9);
}

/* ---- proportions ---------------------------------------------------------------------------- */

static void the_band_is_the_body_types_else_the_one_for_any_dog(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dachshund(w, &c);
    struct measuring m = look(&c);
    const struct measure_row *hip = row(&m, "hip_width");
    assert_string_equal(m.body_type->id, "long_low");
    assert_int_equal(hip->check_count, 1);
    NEAR(hip->checks[0].ratio, 132.0 / 228.0, 1e-9);
    NEAR(hip->checks[0].band->low, 0.52, 1e-9);
    assert_int_equal(hip->verdict, BESIDE_USUAL);
    assert_int_equal(row(&m, "thigh_depth")->verdict, BESIDE_USUAL);
    assert_int_equal(row(&m, "pelvic_floor_height")->verdict, BESIDE_NONE);

    put(w, &c.dog, ID_DOG_BODY, "square");
    m = look(&c);
    NEAR(row(&m, "hip_width")->checks[0].band->high, 0.50, 1e-9);
    assert_int_equal(row(&m, "hip_width")->verdict, BESIDE_HIGH);
    assert_int_equal(row(&m, "thigh_depth")->check_count,
                     0); /* no band for this type, none for all */
}

static void numbers_that_fit_name_no_suspect(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dachshund(w, &c);
    twice(w, &c, "pelvic_floor_height", "15.2");
    struct measuring m = look(&c);
    assert_int_equal(m.suspect, m.count);
    assert_null(m.cause);
}

static void the_misfit_is_named_with_its_usual_cause(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dachshund(w, &c);
    twice(w, &c, "pelvic_floor_height", "18.6"); /* 0.82 of withers height */
    struct measuring m = look(&c);
    assert_int_equal(row(&m, "pelvic_floor_height")->verdict, BESIDE_HIGH);
    assert_in_range(m.suspect, 0, m.count - 1);
    assert_string_equal(m.rows[m.suspect].measure->id, "pelvic_floor_height");
    assert_true(m.suspect_share > 0.5 && m.suspect_share <= 1);
    assert_string_equal(m.cause->text, "the hips were lifted");
}

static void what_was_looked_at_again_is_not_named(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dachshund(w, &c);
    twice(w, &c, "pelvic_floor_height", "18.6");
    put(w, &c.visit, "pelvic_floor_height.so", "yes");
    struct measuring m = look(&c);
    assert_true(row(&m, "pelvic_floor_height")->accepted);
    assert_int_equal(m.suspect, m.count); /* the dog is built so: nothing else is blamed for it */
}

static void a_slip_of_the_hand_is_named(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dachshund(w, &c);
    twice(w, &c, "pelvic_floor_height", "6.0"); /* 15.2 cm read off in inches */
    struct measuring m = look(&c);
    assert_string_equal(m.rows[m.suspect].measure->id, "pelvic_floor_height");
    assert_non_null(strstr(m.slip, "inches"));
}

static void two_that_cannot_be_told_apart_are_both_named(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    put(w, &c.dog, ID_DOG_BREED, "Dachshund");
    twice(w, &c, "withers_height", "22.8");
    twice(w, &c, "hip_width", "22.0"); /* one ratio alone: either of the two */
    struct measuring m = look(&c);
    assert_true(m.suspect < m.count && m.rival < m.count && m.suspect != m.rival);
}

static void one_ratio_a_little_out_is_told_in_its_row_only(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    put(w, &c.dog, ID_DOG_BREED, "Dachshund");
    twice(w, &c, "withers_height", "22.8");
    twice(w, &c, "hip_width", "11.7"); /* 0.513 of withers height: just low */
    struct measuring m = look(&c);
    assert_int_equal(row(&m, "hip_width")->verdict, BESIDE_LOW);
    assert_int_equal(m.suspect, m.count);
    twice(w, &c, "hip_width", "9.5"); /* 0.42: far off, and two numbers cannot tell which it is */
    m = look(&c);
    assert_true(m.suspect < m.count && m.rival < m.count);
}

/* ---- the keystroke that ends a number -------------------------------------------------------- */

static const char *slip_of(const struct chart *c, const char *id, int n, double base)
{
    struct measuring m = look(c);
    return reading_slip(c, &m, (size_t)(row(&m, id) - m.rows), n, base, false);
}

static void a_slip_is_answered_at_the_keystroke(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dachshund(w, &c);
    static const struct {
        double mm;
        const char *words; /* NULL: nothing is said */
    } cases[] = {
        {152, NULL},
        {186, NULL}, /* lifted hips are no slip of the hand */
        {1520, "ten times too much"},
        {15.2, "ten times too little"},
        {60, "inches for centimetres"}, /* 6.0 typed */
        {386, "centimetres for inches"},
        {700, NULL}, /* explained by nothing usual */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *said = slip_of(&c, "pelvic_floor_height", 1, cases[i].mm);
        if (cases[i].words == NULL)
            assert_null(said);
        else if (said == NULL || strstr(said, cases[i].words) == NULL)
            fail_msg("%g mm: \"%s\"", cases[i].mm, said == NULL ? "" : said);
    }
    assert_non_null(strstr(slip_of(&c, "pelvic_floor_height", 1, 1520), "It would be 15.2."));
}

static void the_other_reading_says_more_than_any_proportion(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    reading(w, &c, "hip_width", 1, "13.1"); /* nothing else is known of the dog */
    assert_null(slip_of(&c, "hip_width", 2, 134));
    const char *said = slip_of(&c, "hip_width", 2, 1320);
    assert_non_null(said);
    assert_non_null(strstr(said, "Beside the other reading"));
    struct measuring m = look(&c);
    said = reading_slip(&c, &m, 0, 2, 1320, true);
    assert_non_null(said);
    assert_null(strstr(said, "It would be")); /* a blind second pass is told no number */
}

static void a_weight_in_pounds_is_seen(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    assert_null(slip_of(&c, "body_mass", 1, 20.7)); /* nobody knows better */
    put(w, &c.dog, ID_DOG_MASS, "9.4 kg");
    assert_non_null(strstr(slip_of(&c, "body_mass", 1, 20.7), "pounds for kilograms"));
    assert_null(slip_of(&c, "body_mass", 1, 11));
}

/* ---- the same dog again ---------------------------------------------------------------------- */

/* A visit with these numbers, and one a day later. */
static void a_second_visit(struct world *w, struct chart *c)
{
    a_dachshund(w, c);
    twice(w, c, "pelvic_floor_height", "17.6"); /* 0.77 of withers height: this dog is so */
    put(w, &c->visit, "pelvic_floor_height.so", "yes");
    put(w, &c->visit, ID_VISIT_DAY, "2026-06-27");
    OK(visit_new(&w->cb, w->arena, c->dog.entity, "2026-11-24", c, f));
    assert_non_null(c->before.entity);
}

static void a_dog_is_held_against_itself(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_second_visit(w, &c);
    twice(w, &c, "hip_width", "13.2");
    twice(w, &c, "withers_height", "22.8");
    twice(w, &c, "pelvic_floor_height", "17.5");
    struct measuring m = look(&c);
    const struct measure_row *floor = row(&m, "pelvic_floor_height");
    assert_int_equal(floor->checks[0].reference, BY_DOG);
    assert_int_equal(floor->verdict, BESIDE_USUAL); /* outside the published band, as last time */
    assert_int_equal(m.suspect, m.count);
    twice(w, &c, "pelvic_floor_height", "15.2"); /* usual for dogs, not for this one */
    m = look(&c);
    assert_int_equal(row(&m, "pelvic_floor_height")->verdict, BESIDE_LOW);
    assert_string_equal(m.rows[m.suspect].measure->id, "pelvic_floor_height");
}

static void a_change_is_told_from_noise(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_second_visit(w, &c);
    twice(w, &c, "hip_width", "13.4");
    struct measuring m = look(&c);
    const char *said = measure_since_words(&c, row(&m, "hip_width"));
    assert_non_null(strstr(said, "As last time (Sat 27 Jun): 2 mm more, within"));
    twice(w, &c, "hip_width", "14.4");
    m = look(&c);
    said = measure_since_words(&c, row(&m, "hip_width"));
    assert_non_null(strstr(said, "Grew 12 mm since last time (Sat 27 Jun), beyond"));
    assert_string_equal(measure_since_words(&c, row(&m, "stance_length")), "");
    /* what the last visit lacks is taken from the one before */
    struct chart third;
    OK(visit_new(&w->cb, w->arena, c.dog.entity, "2026-11-25", &third, f));
    twice(w, &third, "withers_height", "22.8");
    m = look(&third);
    assert_true(row(&m, "withers_height")->has_before);
    NEAR(row(&m, "withers_height")->before, 228, 1e-9);
}

static void posture_is_asked_again_for_the_suspect(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dachshund(w, &c);
    assert_false(look(&c).posture_again);
    twice(w, &c, "pelvic_floor_height", "18.6");
    assert_true(look(&c).posture_again);
    put(w, &c.visit, "pelvic_floor_height.posture", "yes");
    assert_false(look(&c).posture_again);
    assert_string_equal(finding_label(w->set, "pelvic_floor_height.posture", w->arena),
                        "pelvic-floor height, posture again");
}

static void the_scales_say_share_and_spread(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dachshund(w, &c);
    struct measuring m = look(&c);
    assert_string_equal(measure_share_words(&c, &m), "");
    static const char *const fore[] = {"5.9", "5.8", "6.0"}, *const hind[] = {"3.5", "3.5", "3.4"};
    for (int k = 0; k < 3; k++) {
        reading(w, &c, "fore_scale", k + 1, fore[k]);
        reading(w, &c, "hind_scale", k + 1, hind[k]);
    }
    twice(w, &c, "body_mass", "9.4");
    m = look(&c);
    /* 0.6277, 0.6237, 0.6383: mean 0.6299, sd 0.0075 */
    assert_string_equal(measure_share_words(&c, &m),
                        "On the fore feet 63.0 %, CV 1.2 % of 3; usual 63 +- 3 % (long and low); "
                        "sum 9.4 of 9.4 kg.");
}

/* ---- what is needed ------------------------------------------------------------------------- */

static void what_is_needed_follows_the_support(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    struct measuring m = look(&c);
    assert_true(row(&m, "hip_width")->needed); /* nothing in mind yet: what any support needs */
    put(w, &c.visit, "walking", "no");
    put(w, &c.visit, "neck_lesion", "yes"); /* leaves the level-balanced frame proposed */
    m = look(&c);
    assert_true(row(&m, "stance_length")->needed);
    assert_false(row(&m, "thigh_depth")->needed);
    put(w, &c.visit, ID_SUPPORT, "four");
    m = look(&c);
    assert_true(row(&m, "hip_width")->needed);
    assert_false(row(&m, "stance_length")->needed);
    put(w, &c.visit, ID_SUPPORT, "nothing");
    m = look(&c);
    assert_false(row(&m, "hip_width")->needed);
}

static void the_section_says_how_far_the_measures_are(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dachshund(w, &c);
    put(w, &c.visit, ID_SUPPORT, "level");
    struct section_state s = measuring_state(&c);
    assert_int_equal(s.progress, PROGRESS_NEEDED);
    assert_string_equal(s.summary, "2 of 4 needed");
    assert_string_equal(s.open, "pelvic-floor height; stance length");
    twice(w, &c, "pelvic_floor_height", "18.6");
    assert_string_equal(measuring_state(&c).summary,
                        "3 of 4 needed, look again at pelvic-floor height");
    twice(w, &c, "pelvic_floor_height", "15.2");
    reading(w, &c, "stance_length", 1, "38");
    assert_int_equal(measuring_state(&c).progress, PROGRESS_NEEDED); /* once is not enough */
    reading(w, &c, "stance_length", 2, "38.2");
    s = measuring_state(&c);
    assert_int_equal(s.progress, PROGRESS_DONE);
    assert_string_equal(s.summary, "4 of 4 needed");
    assert_null(s.open);
}

static void posture_is_done_when_every_tick_is_yes(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    assert_false(look(&c).posture_done);
    put(w, &c.visit, "posture.flat", "yes");
    put(w, &c.visit, "posture.level", "no");
    assert_false(look(&c).posture_done);
    put(w, &c.visit, "posture.level", "yes");
    assert_true(look(&c).posture_done);
}

static void rows_stand_in_the_sets_order_fixed_first(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    struct measuring m = look(&c);
    assert_int_equal(m.count, w->set->measure_count);
    assert_true(m.rows[0].measure->fixed);
    for (size_t i = 0; i < m.count; i++)
        assert_ptr_equal(m.rows[i].measure, &w->set->measures[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(readings_are_kept_in_mm_and_kg),
        TEST(what_no_dog_measures_is_refused_and_the_slip_named),
        TEST(two_readings_give_the_mean_three_the_median),
        TEST(a_third_is_wanted_beyond_the_limit_only),
        TEST(a_reading_struck_out_does_not_count),
        TEST(the_band_is_the_body_types_else_the_one_for_any_dog),
        TEST(numbers_that_fit_name_no_suspect),
        TEST(the_misfit_is_named_with_its_usual_cause),
        TEST(what_was_looked_at_again_is_not_named),
        TEST(a_slip_of_the_hand_is_named),
        TEST(two_that_cannot_be_told_apart_are_both_named),
        TEST(one_ratio_a_little_out_is_told_in_its_row_only),
        TEST(a_slip_is_answered_at_the_keystroke),
        TEST(the_other_reading_says_more_than_any_proportion),
        TEST(a_weight_in_pounds_is_seen),
        TEST(a_dog_is_held_against_itself),
        TEST(a_change_is_told_from_noise),
        TEST(posture_is_asked_again_for_the_suspect),
        TEST(the_scales_say_share_and_spread),
        TEST(what_is_needed_follows_the_support),
        TEST(the_section_says_how_far_the_measures_are),
        TEST(posture_is_done_when_every_tick_is_yes),
        TEST(rows_stand_in_the_sets_order_fixed_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
