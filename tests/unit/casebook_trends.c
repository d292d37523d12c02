/* Trends over the visits. The line itself is checked in tests/reference; here: which values go into
 * it, what counts as real, and that a time is a range. */
#include "casebook/experience.h"
#include "casebook/review.h"
#include "casebook/trends.h"
#include "casebook_practice.h"

static const struct trend_view *trend(struct world *w, struct chart *c, const char *id)
{
    struct past past;
    const struct trend_view *all;
    (void)w;
    OK(past_load(c, &past, f));
    size_t n = trends_look(&past, &all);
    for (size_t i = 0; i < n; i++)
        if (strcmp(all[i].of->id, id) == 0)
            return &all[i];
    return NULL;
}

static void visits(struct world *w, struct chart *c, const char *item, const char *const *values,
                   size_t n)
{
    const char *lines = "practitioner MK Mara Kell\ndog Rolf\n";
    for (size_t i = 0; i < n; i++)
        lines = arena_printf(w->arena, "%svisit 2026-%02zu-10\n%s = %s\n", lines, i + 1, item,
                             values[i]);
    fed(w, c, lines);
}

/* Nobody's error is known yet, so that the template's tolerance stands: 1 % of 20.1 kg. */
static void what_the_readings_cannot_tell_is_no_change(void **state)
{
    static const char *const values[] = {"20.0, 20.2", "20.1, 20.3", "20.2, 20.4"};
    struct world *w = *state;
    struct chart c;
    visits(w, &c, "body_mass", values, 3);
    const struct trend_view *t = trend(w, &c, "weight");
    assert_true(t->solved);
    NEAR(t->credible, 0.01 * 20.1, 1e-9);
    assert_int_equal(t->verdict, TREND_NO_REAL_CHANGE);
    assert_true(text_starts(t->words, "No real change: +0.2 kg over 59 days"));
}

/* The same three values: noise for one whose doubles part by 0.6 kg, a real rise for one whose
 * doubles part by 0.04 kg (credible change 1.96 of what they part by). */
static void the_verdict_depends_on_who_measured(void **state)
{
    struct world *w = *state;
    for (int steady = 0; steady < 2; steady++) {
        struct chart c;
        struct experience known;
        const char *lines = arena_printf(w->arena, "practitioner %s\n",
                                         steady ? "SH Steady Hand" : "HH Hasty Hand");
        for (int i = 0; i < 12; i++)
            lines =
                arena_printf(w->arena, "%sdog Dog%d%d\nvisit 2026-01-%02d\nbody_mass = 20.0, %s\n",
                             lines, steady, i, i + 1, steady ? "20.04" : "20.6");
        for (int i = 0; i < 3; i++)
            lines = arena_printf(w->arena, "%s%svisit 2026-%02d-10\nbody_mass = %.1f, %.1f\n",
                                 lines, i == 0 ? (steady ? "dog Rolf\n" : "dog Ralf\n") : "", i + 1,
                                 20 + 0.3 * i, 20 + 0.3 * i);
        fed(w, &c, lines);
        OK(experience_renew(&w->cb, w->arena, &known, f));
        const struct trend_view *t = trend(w, &c, "weight");
        assert_int_equal(t->verdict, steady ? TREND_RISES : TREND_NO_REAL_CHANGE);
        assert_true(steady ? t->credible < 0.2 : t->credible > 0.8);
    }
}

static void a_clear_fall_is_real_and_has_its_speed(void **state)
{
    static const char *const values[] = {"24.0, 24.1", "23.1, 23.1", "22.0, 22.1", "21.0, 21.0"};
    struct world *w = *state;
    struct chart c;
    visits(w, &c, "body_mass", values, 4);
    const struct trend_view *t = trend(w, &c, "weight");
    assert_int_equal(t->verdict, TREND_FALLS);
    assert_non_null(strstr(t->words, "that is real"));
    assert_string_equal(trend_word(t), "down");
    assert_string_equal(trend_ends(t, w->arena), "24.1 -> 21 kg"); /* 24.05: the mean of two */
    assert_non_null(strstr(trend_speed(t, w->arena), "kg a month"));
    assert_string_equal(trend_crossing(t, t->first, w->arena), "");
}

/* Least 1 cm for a thigh girth (Bascunan et al. 2016), however well one person repeats it. */
static void a_source_may_ask_for_more_than_the_readings(void **state)
{
    static const char *const values[] = {"30.0, 30.0", "29.7, 29.7", "29.4, 29.4"};
    struct world *w = *state;
    struct chart c;
    visits(w, &c, "thigh_girth", values, 3);
    const struct trend_view *t = trend(w, &c, "girth");
    NEAR(t->credible, 10, 1e-9);
    assert_int_equal(t->verdict, TREND_NO_REAL_CHANGE);
}

static void the_time_to_a_threshold_is_a_range(void **state)
{
    static const char *const values[] = {"60/70", "55/70", "52/70", "46/70", "42/70"};
    struct world *w = *state;
    struct chart c;
    visits(w, &c, "life_quality", values, 5);
    const struct trend_view *t = trend(w, &c, "quality");
    assert_string_equal(t->unit_name, "of 70");
    const char *words = trend_crossing(t, t->first + (day_number)t->line.last_day, w->arena);
    double from = 0, to = 0;
    assert_int_equal(
        sscanf(words, "the published cut-off of 35 of 70: in %lf to %lf days", &from, &to), 2);
    assert_true(from < to);
    assert_non_null(strstr(words, "if it goes on so; a line through 5 values"));
    fed(w, &c,
        "dog Rolf\nvisit 2026-01-10\nlife_quality = 50/70\nvisit 2026-02-10\n"
        "life_quality = 52/70\nvisit 2026-03-10\nlife_quality = 49/70\n"
        "visit 2026-04-10\nlife_quality = 51/70\nvisit 2026-05-10\nlife_quality = 50/70\n");
    t = trend(w, &c, "quality");
    assert_int_equal(t->verdict, TREND_NO_REAL_CHANGE);
    assert_non_null(strstr(trend_crossing(t, t->first, w->arena), "no time can be given"));
}

/* 41 of 70 and 41 of 75 are not the same thing. */
static void totals_of_another_scale_are_not_joined(void **state)
{
    static const char *const values[] = {"60/70", "55/70", "52/75", "46/70", "42/70"};
    struct world *w = *state;
    struct chart c;
    visits(w, &c, "life_quality", values, 5);
    const struct trend_view *t = trend(w, &c, "quality");
    assert_int_equal(t->count, 4);
    assert_int_equal(t->passed_over, 1);
}

static void two_visits_are_no_trend(void **state)
{
    static const char *const values[] = {"24.0, 24.1", "23.1, 23.1"};
    struct world *w = *state;
    struct chart c;
    visits(w, &c, "body_mass", values, 2);
    const struct trend_view *t = trend(w, &c, "weight");
    assert_false(t->solved);
    assert_string_equal(t->words, "2 of 3 visits that a trend needs");
    assert_null(trend(w, &c, "wear"));
}

/* The next stage is planned when a value really moves the way that opens it, of a dog it is about.
 */
static void a_real_change_opens_the_next_stage(void **state)
{
    static const char *const burden[] = {"12/72", "15/72", "17/72", "21/72"};
    static const char *const below[] = {"10/72", "12/72", "15/72", "18/72"};
    struct world *w = *state;
    struct chart c;
    visits(w, &c, "burden", below, 4);
    assert_string_equal(trend(w, &c, "burden")->plan, ""); /* 18 itself is not beyond it */
    visits(w, &c, "burden", burden, 4);
    assert_true(text_starts(trend(w, &c, "burden")->plan, "Ask who else can"));
    assert_string_equal(trend_opened(trend(w, &c, "burden"), w->arena),
                        "Caregiver burden has passed its cut-off");

    const char *lines = "practitioner MK Mara Kell\ndog Otto\n";
    for (int i = 1; i <= 4; i++)
        lines =
            arena_printf(w->arena, "%svisit 2026-%02d-10\nfore_scale = %d kg\nhind_scale = %d kg\n",
                         lines, i, 20 + 2 * i, 14 - 2 * i);
    fed(w, &c, lines);
    assert_int_equal(trend(w, &c, "fore_share")->verdict, TREND_RISES);
    assert_string_equal(trend(w, &c, "fore_share")->plan, ""); /* nothing is fitted */
    fed(w, &c, "dog Otto\nvisit 2026-04-10\nsupport stepped because a test\n");
    assert_true(text_starts(trend(w, &c, "fore_share")->plan, "Next axle step forward"));
    assert_string_equal(trend_opened(trend(w, &c, "fore_share"), w->arena),
                        "Share on the fore feet really rises");
}

/* More than the readings' noise, and yet up and down: the words do not blame the noise. */
static void scatter_is_no_change_and_says_so(void **state)
{
    static const char *const values[] = {"20.0, 20.0", "21.4, 21.4", "20.0, 20.0", "21.4, 21.4"};
    struct world *w = *state;
    struct chart c;
    visits(w, &c, "body_mass", values, 4);
    const struct trend_view *t = trend(w, &c, "weight");
    assert_int_equal(t->verdict, TREND_NO_REAL_CHANGE);
    assert_non_null(strstr(t->words, "kg over 90 days; the values scatter too much to tell"));
}

/* A burden that falls below the cut-off is good news, and a closed case has no next stage. */
static void only_what_gets_worse_opens_a_stage(void **state)
{
    static const char *const eased[] = {"21/72", "17/72", "12/72"};
    static const char *const grown[] = {"12/72", "17/72", "21/72"};
    struct world *w = *state;
    struct chart c;
    visits(w, &c, "burden", eased, 3);
    assert_string_equal(trend(w, &c, "burden")->plan, "");
    fed(w, NULL, "practitioner MK Mara Kell\ncaregiver Tom Okafor\ndog Moss\n");
    for (size_t i = 0; i < 3; i++)
        fed(w, &c,
            arena_printf(w->arena, "practitioner MK\ndog Moss\nvisit 2026-%02zu-10\nburden = %s\n",
                         i + 1, grown[i]));
    assert_true(text_starts(trend(w, &c, "burden")->plan, "Ask who else can lift"));
    OK(case_close(&c, f));
    assert_string_equal(trend(w, &c, "burden")->plan, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHIPPED(only_what_gets_worse_opens_a_stage),
        SHIPPED(scatter_is_no_change_and_says_so),
        SHIPPED(what_the_readings_cannot_tell_is_no_change),
        SHIPPED(the_verdict_depends_on_who_measured),
        SHIPPED(a_clear_fall_is_real_and_has_its_speed),
        SHIPPED(a_source_may_ask_for_more_than_the_readings),
        SHIPPED(the_time_to_a_threshold_is_a_range),
        SHIPPED(totals_of_another_scale_are_not_joined),
        SHIPPED(two_visits_are_no_trend),
        SHIPPED(a_real_change_opens_the_next_stage),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
