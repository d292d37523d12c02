/* Reviews, the ladder, closing, accessories: with the shipped templates. */
#include "casebook/accessories.h"
#include "casebook/review.h"
#include "casebook_practice.h"

static const char first_visit[] = "practitioner MK Mara Kell\n"
                                  "caregiver Ann Petrie\ndog Biscuit\ndog.breed = Dachshund\n"
                                  "visit 2026-10-01\n"
                                  "progressive = PROGRESSIVE\nhind_movement = none\n"
                                  "toe_scraping = 2026-01-05\ncause = degenerative\n"
                                  "gait_signs = knuckles\nmuscle_condition = normal\n"
                                  "support none because a test\n";

static const char *with(struct world *w, const char *progressive)
{
    const char *at = strstr(first_visit, "PROGRESSIVE");
    return arena_printf(w->arena, "%.*s%s%s", (int)(at - first_visit), first_visit, progressive,
                        at + strlen("PROGRESSIVE"));
}

static const char *due(struct world *w, struct chart *c, const char *item)
{
    const char *dog = c->dog.entity;
    OK(record_load(&w->cb, w->arena, dog, &c->dog, f));
    return record_text(&c->dog, item);
}

/* 48 h, 2 weeks, 6 weeks, 3 months after the first visit; then by the disease. */
static void reviews_follow_one_another(void **state)
{
    static const struct {
        const char *day, *slow, *steady;
    } steps[] = {
        {"2026-10-03", "2026-10-15", "2026-10-15"}, {"2026-10-16", "2026-11-12", "2026-11-12"},
        {"2026-11-12", "2026-12-31", "2026-12-31"}, {"2027-01-02", "2027-02-01", "2027-07-03"},
        {"2027-02-01", "2027-03-03", "2027-08-02"},
    };
    struct world *w = *state;
    for (int slow = 0; slow < 2; slow++) {
        struct chart c;
        const char *lines = arena_printf(w->arena, "%s", with(w, slow ? "yes" : "no"));
        if (slow)
            lines = arena_printf(w->arena, "practitioner MK Mara Kell\ncaregiver Tom\n%s",
                                 strstr(lines, "dog Biscuit"));
        fed(w, &c, arena_printf(w->arena, "%ssign\n", lines));
        assert_string_equal(due(w, &c, ID_REVIEW_DUE), "2026-10-03");
        for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
            fed(w, &c,
                arena_printf(w->arena,
                             "practitioner MK\ncaregiver %s\ndog Biscuit\nvisit %s\nappetite = "
                             "normal\nsign\n",
                             slow ? "Tom" : "Ann Petrie", steps[i].day));
            assert_string_equal(record_text(&c.visit, ID_VISIT_KIND), "review");
            assert_string_equal(due(w, &c, ID_REVIEW_DUE), slow ? steps[i].slow : steps[i].steady);
        }
    }
}

static void the_day_of_the_frame_starts_them_again(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct past past;
    struct review_plan plan;
    fed(w, &c, arena_printf(w->arena, "%ssign\n", with(w, "no")));
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-10-20\nframe_handed_over = yes\nsign\n");
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "2026-10-22");
    OK(past_load(&c, &past, f));
    review_plan(&past, &plan);
    assert_string_equal(plan.counted_from, "the day the frame was handed over");
    assert_string_equal(plan.step->id, "hours_48");
}

/* Fitted but not yet handed over counts too; the hand-over, once there is one, outweighs it. */
static void a_fitting_starts_them_and_the_hand_over_outweighs_it(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct past past;
    struct review_plan plan;
    fed(w, &c, arena_printf(w->arena, "%ssign\n", with(w, "no")));
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-10-20\nfit.tried = yes\nsign\n");
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "2026-10-22");
    OK(past_load(&c, &past, f));
    review_plan(&past, &plan);
    assert_string_equal(plan.counted_from, "the day the frame was fitted");
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-10-23\nframe_handed_over = yes\nsign\n");
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-10-25\nfit.tried = yes\nsign\n");
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "2026-11-06"); /* 14 days from the 23rd */
}

/* Written down after the signature, the hand-over still moves what is due. */
static void an_amended_hand_over_moves_the_review(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, &c, arena_printf(w->arena, "%ssign\n", with(w, "no")));
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-10-20\nappetite = normal\nsign\n");
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "2026-11-12");
    OK(record_put(&w->cb, &c.visit, ID_HANDED_OVER, "yes", "forgotten on the day", f));
    OK(visit_plan_again(&c, f));
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "2026-10-22");
    uint64_t before = entries(w);
    OK(visit_plan_again(&c, f));
    assert_int_equal(entries(w), before);
}

/* The next visit is booked before this one is signed: that must not keep the review from coming. */
static void a_booked_visit_does_not_stand_in_the_way(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, &c, with(w, "no"));
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-12-15\n");
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-10-01\nsign\n");
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "2026-10-03");
}

/* An old visit that is signed late must not put the clock back. */
static void a_late_signature_plans_nothing(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, &c, with(w, "no")); /* not signed */
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-11-12\nappetite = normal\nsign\n");
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "2026-12-31");
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-10-01\nsign\n");
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "2026-12-31");
}

/* Monthly three times, then half-yearly (Vet360 2017); only while the bladder is not its own. */
static void cultures_are_due_while_the_bladder_leaks(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, &c, arena_printf(w->arena, "%sbladder_type = tight\nsign\n", with(w, "no")));
    assert_string_equal(due(w, &c, ID_CULTURE_DUE), "2026-10-31");
    static const struct {
        const char *taken, *next;
    } steps[] = {
        {"2026-10-31", "2026-11-30"}, {"2026-11-30", "2026-12-30"}, {"2026-12-30", "2027-06-30"}};
    for (size_t i = 0; i < 3; i++) {
        fed(w, &c,
            arena_printf(w->arena,
                         "practitioner MK\ndog Biscuit\nvisit %s\nculture_date = %s\nsign\n",
                         steps[i].taken, steps[i].taken));
        assert_string_equal(due(w, &c, ID_CULTURE_DUE), steps[i].next);
    }
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2027-01-05\nbladder_type = controls\nsign\n");
    assert_string_equal(due(w, &c, ID_CULTURE_DUE), "done");
}

static struct ladder_view ladder(struct world *w, const char *answers)
{
    struct chart c;
    struct ladder_view l;
    fed(w, &c,
        arena_printf(w->arena, "practitioner MK Mara Kell\ndog Otto\nvisit today\n%s", answers));
    ladder_look(&c, &l);
    return l;
}

/* The gravest rule wins: clear skin and a willing dog do not outweigh a refusal. */
static void the_ladder_moves_by_the_gravest_rule(void **state)
{
    struct world *w = *state;
    struct ladder_view l = ladder(w, "review.step = 2\n");
    assert_false(l.judged);
    assert_int_equal(l.next, 2);
    l = ladder(w, "review.skin_worst = clear\nreview.willing = yes\n");
    assert_int_equal(l.move, LADDER_UP);
    assert_int_equal(l.next, 3);
    l = ladder(w, "review.worn_days = 3\n");
    assert_string_equal(l.rule->id, "not_worn");
    assert_int_equal(l.next, 2);
    l = ladder(w, "review.worn_days = 4\n");
    assert_int_equal(l.move, LADDER_UP);
    l = ladder(w, "review.tires = yes\n");
    assert_int_equal(l.move, LADDER_HOLD);
    l = ladder(w, "review.skin_worst = red_stays\n");
    assert_string_equal(l.rule->id, "red_stays");
    assert_int_equal(l.next, 1);
    l = ladder(w, "review.skin_worst = clear\nreview.tires = no\nreview.refuses = yes\n");
    assert_int_equal(l.move, LADDER_DOWN);
    assert_non_null(strstr(l.because, "Refuses"));
    l = ladder(w, "review.step = 0\n");
    assert_int_equal(l.next, 0); /* no step below the lowest */
}

static void a_published_range_opens_and_names_its_study(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct past past;
    const struct course_view *views;
    fed(w, &c, arena_printf(w->arena, "%ssign\n", with(w, "yes")));
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-11-24\nappetite = normal\n");
    OK(past_load(&c, &past, f));
    size_t n = courses_look(&past, &views);
    assert_int_equal(n, 3); /* the cause was written down at the visit before */
    assert_string_equal(views[0].course->id, "dm_walking");
    assert_int_equal(views[0].days, 323);
    assert_true(views[0].open);
    assert_false(views[1].open);
    for (size_t i = 0; i < n; i++) {
        assert_true(views[i].course->source[0] != '\0');
        assert_true(views[i].course->n[0] != '\0');
    }
}

static void a_closed_case_is_never_due_again(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct today t;
    fed(w, &c, arena_printf(w->arena, "%sbladder_type = tight\nsign\n", with(w, "no")));
    fed(w, &c, "practitioner MK\ndog Biscuit\nvisit 2026-11-25\n");
    OK(today_look(&w->cb, w->arena, &t, f));
    assert_int_equal(t.rows[0].kind, DUE_VISIT);
    assert_int_equal(t.rows[1].kind, DUE_REVIEW);
    assert_true(t.rows[1].late);
    assert_int_equal(t.rows[2].kind, DUE_CULTURE);
    fed(w, &c, "practitioner MK\ndog Biscuit\nclose\n");
    assert_true(case_closed(&c));
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "done");
    assert_string_equal(due(w, &c, ID_CULTURE_DUE), "done");
    OK(today_look(&w->cb, w->arena, &t, f));
    for (size_t i = 0; i < t.count; i++)
        assert_int_equal(t.rows[i].kind, DUE_RECENT);
    uint64_t before = entries(w);
    OK(case_close(&c, f));
    assert_int_equal(entries(w), before);
    fed(w, &c,
        "practitioner MK\ndog Biscuit\nvisit 2026-11-25\nsign\n"); /* the last one, written up */
    assert_string_equal(due(w, &c, ID_REVIEW_DUE), "done");
    OK(case_open_again(&c, f));
    assert_false(case_closed(&c));
}

static const struct support_view *view(const struct deciding *d, const char *id)
{
    for (size_t i = 0; i < d->count; i++)
        if (strcmp(d->views[i].support->id, id) == 0)
            return &d->views[i];
    fail_msg("no support %s", id);
    return NULL;
}

/* Nobody asks about the neck again at the third visit: it still must not be loaded. */
static void what_was_found_still_forbids(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct deciding d;
    fed(w, &c,
        "practitioner MK Mara Kell\ncaregiver Ann\ndog Tansy\nvisit 2026-10-01\n"
        "neck_lesion = yes\nsupport none because a test\nsign\n"
        "visit 2026-10-15\nappetite = normal\nsign\nvisit 2026-11-24\n");
    deciding_look(&c, &d);
    assert_int_equal(view(&d, "shoulder_loaded")->standing, SUPPORT_FORBIDDEN);
    assert_non_null(strstr(view(&d, "shoulder_loaded")->reasons[0].because, "neck: yes"));
    REFUSED(deciding_put(&c, view(&d, "shoulder_loaded")->support, "", f), FAULT_REFUSED,
            "forbidden");
    assert_null(d.decided);
    assert_string_equal(d.stands->id, "none");
    put(w, &c.visit, "neck_lesion", "no"); /* asked again: the new answer speaks */
    deciding_look(&c, &d);
    assert_int_not_equal(view(&d, "shoulder_loaded")->standing, SUPPORT_FORBIDDEN);
}

static void accessories_are_proposed_with_their_reason(void **state)
{
    struct world *w = *state;
    struct chart c;
    const struct accessory_view *all;
    fed(w, &c, with(w, "no"));
    size_t n = accessories_look(&c, &all), boots = n;
    for (size_t i = 0; i < n; i++) {
        assert_false(all[i].picked);
        if (strcmp(all[i].choice->id, "boots") == 0)
            boots = i;
        else
            assert_null(all[i].rule); /* the others want a fitted frame */
    }
    assert_true(boots < n);
    assert_string_equal(all[boots].rule->id, "knuckling");
    assert_non_null(strstr(all[boots].because, "hind feet knuckle"));
    OK(accessory_turn(&c, &all[boots], f));
    assert_string_equal(record_text(&c.visit, "accessories"), "boots");
    OK(accessory_turn(&c, &all[0], f));
    assert_string_equal(record_text(&c.visit, "accessories"), "belly_band boots");
    n = accessories_look(&c, &all);
    OK(accessory_turn(&c, &all[0], f));
    assert_string_equal(record_text(&c.visit, "accessories"), "boots");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHIPPED(reviews_follow_one_another),
        SHIPPED(the_day_of_the_frame_starts_them_again),
        SHIPPED(a_fitting_starts_them_and_the_hand_over_outweighs_it),
        SHIPPED(an_amended_hand_over_moves_the_review),
        SHIPPED(a_booked_visit_does_not_stand_in_the_way),
        SHIPPED(a_late_signature_plans_nothing),
        SHIPPED(cultures_are_due_while_the_bladder_leaks),
        SHIPPED(the_ladder_moves_by_the_gravest_rule),
        SHIPPED(a_published_range_opens_and_names_its_study),
        SHIPPED(a_closed_case_is_never_due_again),
        SHIPPED(what_was_found_still_forbids),
        SHIPPED(accessories_are_proposed_with_their_reason),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
