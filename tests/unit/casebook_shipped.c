/* The shipped templates and the demo practice, tried as a vet would: does a red flag send the dog
 * away, does a rule forbid what would hurt, does the demo hold what it promises?
 *
 * Check values: the project's clinical and practice references, named beside each. */
#include "casebook/past.h"
#include "casebook_practice.h"

/* ---- calls ----------------------------------------------------------------------------------- */

static const char calm_call[] = "practitioner MK Mara Kell\n"
                                "call\n"
                                "flag.breathing = no\nflag.gums = no\nflag.collapse = no\n"
                                "flag.trauma = no\nflag.sudden = no\nflag.walks = yes\n"
                                "flag.deep_pain_lost = no\nflag.worse_hours = no\n"
                                "flag.creeping = no\nflag.four_limbs = no\nflag.cold_limb = no\n"
                                "flag.passes_urine = yes\nflag.hard_bladder = no\n"
                                "flag.dark_urine = no\nflag.severe_pain = no\n"
                                "flag.neck_pain = no\nflag.back_pain = no\nflag.fever = no\n"
                                "flag.swallow = no\nflag.sore = no\nflag.vet_has_seen = yes\n";

struct told {
    const char *answers; /* over those of the calm call */
    enum urgency urgency;
    const char *gravest; /* the rule that speaks first, or NULL */
};

static void check_call(struct world *w, const struct told *t)
{
    struct chart c;
    struct verdict v;
    fed(w, &c, arena_printf(w->arena, "%s%s\n", calm_call, t->answers));
    triage_judge(&c, &v);
    if (v.urgency != t->urgency)
        fail_msg("\"%s\" is %s", t->answers, urgency_word(v.urgency));
    if (t->gravest == NULL)
        assert_int_equal(v.reason_count, 0);
    else
        assert_string_equal(v.reasons[0].rule->id, t->gravest);
}

/* Clinical reference, topic 6: any red flag stops the way to a fitting. */
static void red_flags_send_the_dog_away(void **state)
{
    static const struct told calls[] = {
        {"", URGENCY_BOOK, NULL},
        {"flag.breathing = yes", URGENCY_EMERGENCY, "breathing"},
        {"flag.gums = yes", URGENCY_EMERGENCY, "gums"},
        {"flag.collapse = yes", URGENCY_EMERGENCY, "collapse"},
        {"flag.trauma = yes", URGENCY_EMERGENCY, "trauma"},
        {"flag.worse_hours = yes", URGENCY_EMERGENCY, "worse_hours"},
        {"flag.creeping = yes", URGENCY_EMERGENCY, "creeping"},
        {"flag.cold_limb = yes", URGENCY_EMERGENCY, "cold_limb"},
        {"flag.passes_urine = no", URGENCY_EMERGENCY, "no_urine"},
        {"flag.hard_bladder = yes", URGENCY_EMERGENCY, "hard_bladder"},
        {"flag.severe_pain = yes", URGENCY_EMERGENCY, "severe_pain"},
        {"flag.neck_pain = yes", URGENCY_EMERGENCY, "neck_pain"},
        {"flag.fever = yes\nflag.back_pain = yes", URGENCY_EMERGENCY, "fever_sore_spine"},
        {"flag.fever = yes", URGENCY_SAME_DAY, "fever"},
        {"flag.back_pain = yes", URGENCY_BOOK, NULL},
        {"flag.four_limbs = yes", URGENCY_SAME_DAY, "four_limbs"},
        {"flag.four_limbs = yes\nflag.sudden = yes", URGENCY_EMERGENCY, "four_limbs_recent"},
        {"flag.sudden = yes", URGENCY_SAME_DAY, "sudden_walking"},
        {"flag.dark_urine = yes", URGENCY_SAME_DAY, "dark_urine"},
        {"flag.swallow = yes", URGENCY_SAME_DAY, "swallow"},
        {"flag.sore = yes", URGENCY_SAME_DAY, "sore"},
        {"flag.vet_has_seen = no", URGENCY_BOOK, NULL},
        {"flag.vet_has_seen = no\nflag.sudden = yes", URGENCY_SAME_DAY, "not_seen_recent"},
    };
    for (size_t i = 0; i < sizeof calls / sizeof calls[0]; i++)
        check_call(*state, &calls[i]);
}

/* Lost walking or lost deep pain within 72 hours is always an emergency; not knowing since when is
 * no comfort, and three months are none of it. */
static void seventy_two_hours(void **state)
{
    static const struct told calls[] = {
        {"flag.walks = no\ncall.onset = 71 h ago", URGENCY_EMERGENCY, "sudden_not_walking"},
        {"flag.walks = no\ncall.onset = 73 h ago", URGENCY_BOOK, NULL},
        {"flag.walks = no\nflag.sudden = yes", URGENCY_EMERGENCY, "sudden_not_walking"},
        {"flag.walks = no\nflag.sudden = not known", URGENCY_EMERGENCY, "sudden_not_walking"},
        {"flag.walks = no\ncall.onset = 90 days ago", URGENCY_BOOK, NULL},
        {"flag.deep_pain_lost = yes\ncall.onset = 71 h ago", URGENCY_EMERGENCY,
         "deep_pain_lost_recent"},
        {"flag.deep_pain_lost = yes\ncall.onset = 90 days ago", URGENCY_BOOK, NULL},
    };
    for (size_t i = 0; i < sizeof calls / sizeof calls[0]; i++)
        check_call(*state, &calls[i]);
}

/* One red flag left open keeps "book a visit" back. */
static void nothing_is_booked_on_an_open_flag(void **state)
{
    struct world *w = *state;
    for (size_t i = 0; i < w->set->triage.asked_count; i++) {
        struct chart c;
        struct verdict v;
        fed(w, &c, arena_printf(w->arena, "%s%s =\n", calm_call, w->set->triage.asked_first[i]));
        triage_judge(&c, &v);
        assert_int_equal(v.urgency, URGENCY_UNKNOWN);
        assert_int_equal(v.open_count, 1);
    }
}

/* ---- support --------------------------------------------------------------------------------- */

static const char sound_dog[] = "practitioner MK Mara Kell\n"
                                "caregiver Ann Petrie\n"
                                "dog Biscuit\n"
                                "dog.temper = calm\n"
                                "visit today\n"
                                "course = steady\naffected = hind\nlife_stage = young_quick\n"
                                "cause = disc_back\nprogressive = no\nspine_unstable = no\n"
                                "neck_lesion = no\ntires = no\nheart = sound\nairway = clear\n"
                                "pain_controlled = yes\nten_steps = no\nhind_movement = some\n"
                                "frankel = f3\nplacing_fore = normal\nspinal_pain = none\n"
                                "balance = sound\nfore_strength = sound\nfore_knuckling = no\n"
                                "fore_joints = no\nfore_missing = no\nskin_seen = yes\n"
                                "skin_red = none\nskin_open = none\nwho_lifts = one\n"
                                "can_empty = yes_now\nlive_with = yes\n";

struct ruled {
    const char *findings; /* over those of a dog fit for a shoulder-loaded frame */
    const char *support;
    int standing;
};

static int standing_of(struct world *w, const char *findings, const char *support)
{
    struct chart c;
    struct deciding d;
    fed(w, &c, arena_printf(w->arena, "%s%s\n", sound_dog, findings));
    deciding_look(&c, &d);
    for (size_t i = 0; i < d.count; i++)
        if (strcmp(d.views[i].support->id, support) == 0)
            return (int)d.views[i].standing;
    fail_msg("no support %s", support);
    return -1;
}

static void rules_spare_the_dog(void **state)
{
    static const struct ruled rules[] = {
        {"", "shoulder_loaded", SUPPORT_PROPOSED},
        {"", "level_balanced", SUPPORT_PROPOSED},
        {"", "stepped", SUPPORT_SILENT},
        {"", "none", SUPPORT_SILENT},
        /* never load the shoulders of a dog with a neck lesion */
        {"neck_lesion = yes", "shoulder_loaded", SUPPORT_FORBIDDEN},
        {"neck_lesion = yes", "stepped", SUPPORT_PROPOSED},
        {"spinal_pain = neck", "shoulder_loaded", SUPPORT_FORBIDDEN},
        {"cause = neck", "shoulder_loaded", SUPPORT_FORBIDDEN},
        /* old, arthritic or progressive: do not load the front end */
        {"life_stage = old_stiff", "shoulder_loaded", SUPPORT_FORBIDDEN},
        {"life_stage = old_stiff", "stepped", SUPPORT_PROPOSED},
        {"progressive = yes", "shoulder_loaded", SUPPORT_FORBIDDEN},
        {"progressive = yes", "level_balanced", SUPPORT_WARNED},
        {"progressive = yes", "stepped", SUPPORT_PROPOSED},
        /* a knuckling or failing front end: two wheels no longer suffice */
        {"fore_knuckling = yes", "stepped", SUPPORT_FORBIDDEN},
        {"fore_strength = failing", "level_balanced", SUPPORT_FORBIDDEN},
        {"fore_strength = failing", "four_wheel", SUPPORT_PROPOSED},
        {"fore_strength = weak", "stepped", SUPPORT_WARNED},
        {"balance = poor", "four_wheel", SUPPORT_PROPOSED},
        /* hold: topic 10 */
        {"spine_unstable = yes", "four_wheel", SUPPORT_FORBIDDEN},
        {"spine_unstable = yes", "sling_harness", SUPPORT_FORBIDDEN},
        {"spine_unstable = yes", "wait", SUPPORT_PROPOSED},
        {"pain_controlled = no", "stepped", SUPPORT_FORBIDDEN},
        {"skin_open = armpit", "level_balanced", SUPPORT_FORBIDDEN},
        {"skin_open = toes", "level_balanced", SUPPORT_WARNED},
        {"heart = failing", "stepped", SUPPORT_FORBIDDEN},
        {"airway = laboured", "stepped", SUPPORT_FORBIDDEN},
        {"can_empty = no", "level_balanced", SUPPORT_WARNED},
        {"live_with = no", "level_balanced", SUPPORT_WARNED},
        /* pain scores are never turned into a fraction: 5 of 20 alerts, 5 of 24 does not */
        {"pain_score = 5/20", "level_balanced", SUPPORT_WARNED},
        {"pain_score = 4/20", "level_balanced", SUPPORT_PROPOSED},
        {"pain_score = 5/24", "level_balanced", SUPPORT_PROPOSED},
        {"pain_score = 6/24", "level_balanced", SUPPORT_WARNED},
        /* what else stands against a frame, or for less than one */
        {"onset = 71 h ago", "level_balanced", SUPPORT_FORBIDDEN},
        {"onset = 71 h ago\nsurgical_advice = yes", "level_balanced", SUPPORT_PROPOSED},
        {"heart = murmur", "level_balanced", SUPPORT_WARNED},
        {"tires = yes", "level_balanced", SUPPORT_WARNED},
        {"skin_red = groin", "level_balanced", SUPPORT_WARNED},
        {"skin_seen = no", "level_balanced", SUPPORT_WARNED},
        {"course = fast_worse", "sling_harness", SUPPORT_WARNED},
        {"course = better", "level_balanced", SUPPORT_WARNED},
        {"course = better", "sling_harness", SUPPORT_PROPOSED},
        {"who_lifts = nobody", "level_balanced", SUPPORT_WARNED},
        {"dog.temper = bites", "level_balanced", SUPPORT_WARNED},
        {"hind_movement = none\ndeep_pain = felt", "none", SUPPORT_WARNED},
        {"ten_steps = yes\nhind_movement = walks_poorly", "sling_harness", SUPPORT_PROPOSED},
        /* front legs only */
        {"affected = front\nten_steps = yes\nhind_movement = walks_well", "front_frame",
         SUPPORT_PROPOSED},
        {"", "front_frame", SUPPORT_WARNED},
        {"frankel = f6\nten_steps = yes\nhind_movement = walks_well", "none", SUPPORT_PROPOSED},
    };
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        /* Each on a record of its own: what the last one found must not linger. */
        int seen = standing_of(*state, rules[i].findings, rules[i].support);
        if (seen != rules[i].standing)
            fail_msg("\"%s\": %s stands at %d, not %d", rules[i].findings, rules[i].support, seen,
                     rules[i].standing);
        (void)world_down(state);
        (void)shipped_up(state);
    }
}

/* ---- the fitting visit ----------------------------------------------------------------------- */

/* Delivery: back, straps, room, feet, voiding, skin three times, the scale; none before the frame
 * is on the dog, none forgotten once it is. */
static void the_fitting_asks_every_point(void **state)
{
    struct world *w = *state;
    struct chart c;
    static const char *const points[] = {"fit.skin_before", "fit.level_back", "fit.breast_loose",
                                         "fit.clearance",   "fit.feet",       "fit.voids",
                                         "fit.fore_scale",  "fit.skin_after", "fit.skin_half_hour"};
    a_visit(w, &c);
    put(w, &c.visit, ID_SUPPORT, "stepped");
    for (int tried = 0; tried <= 1; tried++) {
        put(w, &c.visit, ID_FIT_TRIED, tried ? "yes" : "no");
        for (size_t i = 0; i < sizeof points / sizeof *points; i++) {
            const struct item *item = template_item(w->cb.set, points[i]);
            if (item == NULL)
                fail_msg("the fitting does not ask %s", points[i]);
            assert_int_equal(item_shown(&c, item), tried);
            if (tried && !item_required(&c, item))
                fail_msg("the fitting lets %s go unanswered", points[i]);
        }
    }
    const struct item *later = template_item(w->cb.set, "fit.skin_half_hour");
    assert_non_null(strstr(later->label, "30 minutes"));
}

/* ---- the demo practice ----------------------------------------------------------------------- */

static void the_demo_tells_the_truth(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct verdict v;
    struct measuring m;
    struct deciding d;
    struct fitting fit;

    fed(w, &c, slurped(w, "contrib/demo/e-biscuit.txt"));
    triage_judge(&c, &v);
    assert_int_equal(v.urgency, URGENCY_BOOK);
    measuring_look(&c, &m);
    assert_true(m.posture_done);
    assert_int_equal(m.suspect, m.count);
    for (size_t i = 0; i < m.count; i++) {
        /* angles are for following a joint: no frame is cut by them */
        assert_int_equal(m.rows[i].count, m.rows[i].measure->dimension == DIM_ANGLE ? 0 : 2);
        assert_false(m.rows[i].third_wanted);
    }
    deciding_look(&c, &d);
    assert_non_null(d.decided);
    assert_string_equal(d.decided->id, "stepped");
    assert_false(d.override);
    fitting_look(&c, &fit);
    assert_true(fit.chosen < fit.count);
    assert_false(fit.rows[fit.chosen].grip_short);
    assert_true(fit.rows[0].grip_short); /* the home's ramp is too steep for the last step */
    assert_true(record_signed(&c.visit));

    fed(w, &c, slurped(w, "contrib/demo/f-pepper.txt"));
    triage_judge(&c, &v);
    assert_int_equal(v.urgency, URGENCY_EMERGENCY);

    fed(w, &c, slurped(w, "contrib/demo/3-rolf.txt"));
    struct past past;
    OK(past_load(&c, &past, f));
    assert_string_equal(past_value(&past, "progressive"), "yes");
    assert_int_equal(past.count, 6);

    fed(w, &c, slurped(w, "contrib/demo/4-tansy.txt"));
    measuring_look(&c, &m);
    assert_int_equal(m.suspect, m.count);
    fitting_look(&c, &fit);
    assert_true(fit.chosen < fit.count);
    assert_true(fit.rows[fit.chosen].out.bar_load_n < 0); /* lifts: nothing on the shoulders */

    fed(w, &c, slurped(w, "contrib/demo/g-olive.txt"));
    triage_judge(&c, &v);
    assert_int_equal(v.urgency, URGENCY_UNKNOWN);
}

/* Biscuit's first pelvic-floor readings, taken with the hips lifted. */
static void the_lifted_hips_are_named(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct measuring m;
    fed(w, NULL, slurped(w, "contrib/demo/e-biscuit.txt"));
    fed(w, &c,
        "dog Biscuit\nvisit today\nreason trying the wrong number\n"
        "pelvic_floor_height = 18.6 cm, 18.5 cm\n");
    measuring_look(&c, &m);
    assert_true(m.suspect < m.count);
    assert_string_equal(m.rows[m.suspect].measure->id, "pelvic_floor_height");
    assert_true(m.suspect_share > 0.9);
    assert_non_null(m.cause);
    assert_int_equal(m.cause->direction, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHIPPED(red_flags_send_the_dog_away),       SHIPPED(seventy_two_hours),
        SHIPPED(nothing_is_booked_on_an_open_flag), SHIPPED(rules_spare_the_dog),
        SHIPPED(the_demo_tells_the_truth),          SHIPPED(the_lifted_hips_are_named),
        SHIPPED(the_fitting_asks_every_point),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
