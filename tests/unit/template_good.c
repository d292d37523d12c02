/* What the good set says is what the structures hold. */
#include "templates/cases.h"

static struct arena *arena;
static struct template_set *set;

static int load_good(void **state)
{
    (void)state;
    arena = arena_new();
    struct files files = good_files(arena);
    struct loaded l = load(&files);
    if (l.set == NULL)
        print_error("%s", l.lines.s);
    set = l.set;
    text_free(&l.lines);
    return set == NULL;
}

static int free_good(void **state)
{
    (void)state;
    template_free(set);
    arena_free(arena);
    return 0;
}

static void practice(void **state)
{
    (void)state;
    const struct practice *p = &set->practice;
    assert_string_equal(p->name, "Quarry Lane Mobile Rehabilitation");
    assert_string_equal(p->emergency_phone, "01632 960199");
    assert_string_equal(p->language, "en");
    assert_ptr_equal(p->length_unit, unit_find("cm"));
    assert_ptr_equal(p->mass_unit, unit_find("kg"));
    assert_string_equal(p->printer, "");
    assert_false(p->ascii_sheets);
    assert_int_equal(p->sheet_lines, 60);
}

static void items_of_a_form(void **state)
{
    (void)state;
    const struct form *f = template_form(set, "history");
    assert_non_null(f);
    assert_int_equal(f->place, PLACE_VISIT);
    assert_string_equal(f->about, "visit");
    assert_string_equal(f->items[0].id, "walking");
    assert_string_equal(f->items[0].heading, "Walking");
    assert_int_equal(f->items[0].required_when->kind, WHEN_ALWAYS);
    assert_null(f->items[0].shown_when);
    assert_string_equal(f->items[0].mark.file, "forms/history.yaml");
    assert_int_equal(f->items[0].mark.line, 7);
    assert_int_equal(f->items[0].mark.column, 5);
    assert_string_equal(f->items[f->item_count - 1].id, "ramp"); /* added by another file */
    assert_string_equal(f->items[f->item_count - 1].mark.file, "forms/history_more.yaml");
}

static void numbers_and_units(void **state)
{
    (void)state;
    const struct item *i = template_item(set, "condition");
    assert_true(i->has_range);
    assert_float_equal(i->low, 1, 0);
    assert_float_equal(i->high, 9, 0);
    assert_null(i->unit);
    assert_int_equal(i->decimals, 0);
    i = template_item(set, "threshold");
    assert_ptr_equal(i->unit, unit_find("mm"));
    assert_int_equal(i->decimals, -1);
    assert_true(i->on_sheet);
    assert_string_equal(i->sheet_label, "Highest doorstep");
    assert_string_equal(template_item(set, "ramp")->sheet_label, "Is there a ramp?");
    assert_ptr_equal(template_item(set, "food")->unit, unit_find("g"));
    assert_false(template_item(set, "food")->has_range);
    assert_null(template_item(set, "nothing"));
}

static void choices(void **state)
{
    (void)state;
    const struct item *brief = template_item(set, "front_legs");
    const struct item *full = template_item(set, "signs");
    assert_int_equal(brief->choice_count, 3);
    assert_string_equal(brief->choices[1].id, "knuckles");
    assert_string_equal(brief->choices[1].label, "knuckles over");
    assert_string_equal(brief->choices[1].help, "");
    assert_int_equal(full->choice_count, 2);
    assert_string_equal(full->choices[0].help, "Look at the nails");
    assert_int_equal(full->shown_when->kind, WHEN_ANY);
    assert_int_equal(full->shown_when->parts[1].word_count, 2);
    assert_string_equal(full->shown_when->parts[1].words[1], "failing");
}

static void measures_and_relations(void **state)
{
    (void)state;
    assert_int_equal(set->measure_count, 2);
    const struct measure *hips = &set->measures[0]; /* fixed comes first whatever its order */
    assert_string_equal(hips->id, "hip_width");
    assert_true(hips->fixed && hips->coat && !hips->girth);
    assert_float_equal(hips->tolerance, 3, 0);
    assert_float_equal(hips->tolerance_share, 0.01, 1e-12);
    assert_float_equal(hips->high, 500, 0);
    assert_string_equal(hips->needed_for[0], "rear_level");
    assert_int_equal(hips->causes[0].direction, -1);
    const struct relation *r = &set->relations[0];
    assert_ptr_equal(r->of, hips);
    assert_ptr_equal(r->to, template_measure(set, "withers_height"));
    assert_null(r->bands[0].body_type);
    assert_ptr_equal(r->bands[1].body_type, template_body_type(set, "long_low"));
    assert_float_equal(r->bands[1].high, 0.7, 0);
    assert_true(r->bands[1].body_type->has_fore_share);
    assert_float_equal(r->bands[1].body_type->fore_share, 0.63, 1e-12);
    assert_false(template_body_type(set, "square")->has_fore_share);
    assert_string_equal(r->bands[1].body_type->picture, " ________\n/|      |\\");
    assert_ptr_equal(template_breed(set, "  DACHSHUND ")->body_type, r->bands[1].body_type);
    assert_null(template_breed(set, "Dachs"));
}

static void supports_triage_frames(void **state)
{
    (void)state;
    const struct support *rear = template_support(set, "rear_level");
    assert_true(rear->fitted);
    assert_ptr_equal(set->support_rules[0].supports[0], rear);
    assert_int_equal(set->support_rules[0].effect, EFFECT_FORBIDS);
    const struct condition *when = set->support_rules[1].when;
    assert_float_equal(when->parts[1].number, 2, 0);   /* mass_kg, above: 2 kg */
    assert_float_equal(when->parts[2].number, 150, 0); /* withers_height, at_least: 15 cm */
    assert_string_equal(set->triage.asked_first[1], "onset");
    assert_int_equal(set->triage.rules[0].urgency, URGENCY_EMERGENCY);
    assert_float_equal(set->triage.rules[0].when->parts[1].number, 72, 0); /* hours, as the fact */
    assert_ptr_equal(set->frames[0].support, rear);
    assert_int_equal(set->frames[0].axle_steps, 7);
    assert_float_equal(set->frames[0].relief_most, 0.3, 1e-12);
    assert_float_equal(set->energy_factors[0].factor, 1.4, 0);
}

static void teaching_and_handout(void **state)
{
    (void)state;
    const struct checklist *c = template_checklist(set, "bladder");
    assert_int_equal(c->item_count, 2);
    assert_true(c->items[1].danger && !c->items[0].danger);
    assert_string_equal(c->items[1].shown_when->item, "teach.bladder.how_often");
    const struct handout *h = template_handout(set, "care", "de"); /* none: the practice's */
    assert_string_equal(h->language, "en");
    assert_int_equal(h->parts[0].kind, PART_DANGER);
    assert_string_equal(h->parts[1].lines[0].text,
                        "Ring {practice.phone}; at night {practice.emergency_phone}.");
    assert_false(h->parts[1].lines[0].bullet);
    assert_true(h->parts[1].lines[1].bullet);
    assert_string_equal(h->parts[2].only[0], "bladder");
    assert_null(template_handout(set, "other", "en"));
}

static void kinds_are_named(void **state)
{
    (void)state;
    assert_string_equal(item_kind_name(ITEM_YESNO), "yesno");
    assert_string_equal(item_kind_told(ITEM_MASS), "a weight such as 9.4 kg or 20 lb 11 oz");
}

/* A unit other than the fact's own is converted to what the fact is counted in. */
static void days_become_the_hours_of_a_fact(void **state)
{
    (void)state;
    struct files files = good_files(arena);
    size_t size;
    char *triage = read_whole(arena, GOOD "/triage.yaml", &size);
    char *at = strstr(triage, "below: 72}");
    assert_non_null(at);
    memcpy(at, "below: 3d}", strlen("below: 3d}")); /* of the same length */
    files_lay(arena, &files, "triage.yaml", triage, size);
    struct loaded l = load(&files);
    assert_non_null(l.set);
    assert_float_equal(l.set->triage.rules[0].when->parts[1].number, 72, 1e-9);
    loaded_free(&l);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(practice),
        cmocka_unit_test(items_of_a_form),
        cmocka_unit_test(numbers_and_units),
        cmocka_unit_test(choices),
        cmocka_unit_test(measures_and_relations),
        cmocka_unit_test(supports_triage_frames),
        cmocka_unit_test(teaching_and_handout),
        cmocka_unit_test(kinds_are_named),
        cmocka_unit_test(days_become_the_hours_of_a_fact),
    };
    return cmocka_run_group_tests(tests, load_good, free_good);
}
