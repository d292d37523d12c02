/* Sheets and JSON from a chart: what is in doubt must look so, and every placeholder is filled. */
#include "base/arena.h"
#include "base/text.h"
#include "casebook/ids.h"
#include "output/care.h"
#include "output/record_json.h"
#include "output/tongue.h"
#include "template/placeholders.h"
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const struct sheet_style screen = {.columns = 200};

struct practice_room {
    char folder[64];
    struct arena *arena;
    struct journal *journal;
    struct template_set *set;
    struct casebook cb;
    struct chart chart;
    struct text out;
};

static void must(bool fine, const struct fault *f)
{
    if (!fine)
        fail_msg("%s", f->text);
}

static void has(const struct practice_room *p, const char *part)
{
    if (!strstr(p->out.s, part))
        fail_msg("\"%s\" is not in:\n%s", part, p->out.s);
}

static void lacks(const struct practice_room *p, const char *part)
{
    if (strstr(p->out.s, part))
        fail_msg("\"%s\" is in:\n%s", part, p->out.s);
}

static void put_overlay(const struct practice_room *p)
{
    char path[160];
    const char *const folders[] = {"t", "t/handouts", "t/handouts/en", "t/forms", "t/languages"};
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        snprintf(path, sizeof path, "%s/%s", p->folder, folders[i]);
        assert_int_equal(mkdir(path, 0700), 0);
    }
    snprintf(path, sizeof path, "%s/t/handouts/en/all.yaml", p->folder);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs("handout: all\ntitle: Everything\nparts:\n  - kind: text\n    lines:\n", file);
#define X(name, told) fputs("      - \"" name " is {" name "}\"\n", file);
    PLACEHOLDERS(X)
#undef X
    fputs("      - \"weight {item:dog.mass} none {item:home_colour}\"\n"
          "  - kind: findings\n    heading: Found\n",
          file);
    fclose(file);
    snprintf(path, sizeof path, "%s/t/forms/extra.yaml", p->folder);
    file = fopen(path, "w");
    assert_non_null(file);
    fputs("add_to: home\nitems:\n  - id: home_colour\n    label: Colour\n    kind: text\n"
          "    on_sheet: yes\n"
          "  - {id: home_walks, label: Walks, kind: many, on_sheet: yes,\n"
          "     choices: {wood: the wood, river: the river, town: the town}}\n"
          "  - {id: home_since, label: Since, kind: time, on_sheet: yes}\n"
          "  - {id: home_quiet, label: Quiet, kind: yesno, on_sheet: yes}\n",
          file);
    fclose(file);
    snprintf(path, sizeof path, "%s/t/languages/eo.yaml", p->folder);
    file = fopen(path, "w");
    assert_non_null(file);
    fputs("language: eo\nname: Esperanto\nphrases:\n"
          "  - {of: choice.home_walks.wood, text: la arbaro}\n"
          "  - {of: choice.home_walks.river, text: la rivero}\n"
          "  - {of: phrase.or, text: aux}\n"
          "  - {of: phrase.not_settled, text: demandu nin}\n"
          "  - {of: phrase.yes, text: jes}\n"
          "  - {of: phrase.date, text: \"{year}, {month} {day}\"}\n"
          "  - {of: phrase.month_11, text: novembro}\n",
          file);
    fclose(file);
}

/* A practitioner, a caregiver's dog and a visit with a reading. */
static void put_visit(struct practice_room *p)
{
    struct casebook *cb = &p->cb;
    struct arena *a = p->arena;
    struct record who, caregiver, dog;
    struct fault f = {0};
    must(record_new(cb, a, "practitioner", &who, &f), &f);
    must(record_put(cb, &who, ID_PRACTITIONER_NAME, "Mara Kell", "", &f), &f);
    must(record_put(cb, &who, ID_PRACTITIONER_INITIALS, "MK", "", &f), &f);
    must(casebook_become(cb, who.entity, &f), &f);
    must(record_new(cb, a, "caregiver", &caregiver, &f), &f);
    must(record_put(cb, &caregiver, ID_CAREGIVER_NAME, "Ann Petrie", "", &f), &f);
    must(record_new(cb, a, "dog", &dog, &f), &f);
    must(record_put(cb, &dog, ID_DOG_NAME, "Biscuit", "", &f), &f);
    must(record_put(cb, &dog, ID_DOG_BREED, "Dachshund", "", &f), &f);
    must(record_put(cb, &dog, ID_DOG_MASS, "9.4 kg", "", &f), &f);
    must(record_put(cb, &dog, ID_CAREGIVER, caregiver.entity, "", &f), &f);
    must(visit_new(cb, a, dog.entity, "2026-11-24", &p->chart, &f), &f);
    must(record_put(cb, &p->chart.visit, "hip_width.1", "131 mm", "", &f), &f);
    must(record_put(cb, &p->chart.visit, ID_SUPPORT, p->set->supports[0].id, "", &f), &f);
}

static int begin(void **state)
{
    static struct practice_room room;
    struct practice_room *p = &room;
    struct fault f = {0};
    char overlay[160];
    *p = (struct practice_room){.folder = "/tmp/amble-care-XXXXXX", .arena = arena_new()};
    setenv("AMBLE_NOW", "2026-11-24T09:30", 1);
    assert_non_null(mkdtemp(p->folder));
    put_overlay(p);
    text_init(&p->out, 1 << 20);
    struct template_report report = {.lines = &p->out};
    snprintf(overlay, sizeof overlay, "%s/t", p->folder);
    p->set = template_load("config", overlay, &report);
    if (!p->set)
        fail_msg("%s", p->out.s);
    snprintf(overlay, sizeof overlay, "%s/data", p->folder);
    must(journal_open(&p->journal, overlay, JOURNAL_WRITE, &f), &f);
    p->cb = (struct casebook){.journal = p->journal, .set = p->set};
    put_visit(p);
    *state = p;
    return 0;
}

static int end(void **state)
{
    struct practice_room *p = *state;
    char path[200];
    static const char *const names[] = {"t/handouts/en/all.yaml",
                                        "t/handouts/en",
                                        "t/handouts",
                                        "t/forms/extra.yaml",
                                        "t/languages/eo.yaml",
                                        "t/languages",
                                        "t/forms",
                                        "t",
                                        "data/journal.db",
                                        "data/journal.db-wal",
                                        "data/journal.db-shm",
                                        "data/journal.lock",
                                        "data/incarnation",
                                        "data"};
    journal_close(p->journal);
    template_free(p->set);
    text_free(&p->out);
    arena_free(p->arena);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        snprintf(path, sizeof path, "%s/%s", p->folder, names[i]);
        remove(path);
    }
    remove(p->folder);
    return 0;
}

static void reload(struct practice_room *p)
{
    struct fault f = {0};
    must(chart_load(&p->cb, p->arena, p->chart.visit.entity, &p->chart, &f), &f);
}

typedef bool sheet_maker(const struct chart *c, struct sheet **out, struct fault *f);

static bool make_care(const struct chart *c, struct sheet **out, struct fault *f)
{
    return care_sheet(c, "care", out, f);
}

static bool make_all(const struct chart *c, struct sheet **out, struct fault *f)
{
    return care_sheet(c, "all", out, f);
}

static void render(struct practice_room *p, sheet_maker *make)
{
    struct sheet *sheet = NULL;
    struct fault f = {0};
    must(make(&p->chart, &sheet, &f), &f);
    text_clear(&p->out);
    sheet_render(sheet, &screen, &p->out, NULL, NULL);
}

static void json(struct practice_room *p)
{
    struct fault f = {0};
    text_clear(&p->out);
    must(chart_json(&p->chart, &p->out, &f), &f);
}

/* Two people changed the same answer, neither having seen the other's. */
static void put_conflict(struct practice_room *p)
{
    struct record other;
    struct fault f = {0};
    must(record_load(&p->cb, p->arena, p->chart.visit.entity, &other, &f), &f);
    must(record_put(&p->cb, &p->chart.visit, "home_colour", "red", "", &f), &f);
    must(record_put(&p->cb, &other, "home_colour", "blue", "", &f), &f);
    reload(p);
}

static void every_placeholder_is_filled(void **state)
{
    struct practice_room *p = *state;
    render(p, make_all);
    has(p, "dog.name is Biscuit\n");
    has(p, "dog.signalment is Dachshund, 9.4 kg\n");
    has(p, "caregiver.name is Ann Petrie\n");
    has(p, "visit.date is Tuesday 24 November 2026\n");
    has(p, "practitioner.name is Mara Kell\n");
    has(p, "weight 9.4 kg none __________\n");
#define X(name, told)                                                                              \
    has(p, name " is ");                                                                           \
    assert_null(strstr(p->out.s, name " is _"));
    PLACEHOLDERS(X)
#undef X
    assert_null(strchr(p->out.s, '{'));
}

static void a_handout_without_stop_signs_gets_them(void **state)
{
    struct practice_room *p = *state;
    render(p, make_all);
    const char *stop = strstr(p->out.s, "Stop, and ring us\n");
    assert_non_null(stop);
    assert_true(stop < strstr(p->out.s, "dog.name is")); /* first */
    has(p, "This sheet does not replace the vet.");
}

static void a_conflict_is_never_one_of_its_values(void **state)
{
    struct practice_room *p = *state;
    put_conflict(p);
    render(p, make_all);
    has(p, "Colour: red or blue (2 answers, not settled)");
    render(p, visit_sheet);
    has(p, "CONFLICT Colour: red or blue (2 answers, not settled)\n"
           "       one answer: red  [MK, Tue 24 Nov 2026 09:30]\n"
           "       another: blue  [MK, Tue 24 Nov 2026 09:30]\n");
    json(p);
    has(p, "\"conflict\": true");
    has(p, "\"value\": \"red\"");
    has(p, "\"value\": \"blue\"");
    has(p, "\"label\": \"Hip width, reading 1\"");
    has(p, "\"number\": 131,\n            \"unit\": \"mm\"");
}

static void says(const struct practice_room *p, const char *language, const char *id,
                 const struct finding *f, const char *expected, bool own)
{
    const struct tongue t = {&p->chart, language};
    bool left;
    assert_string_equal(tongue_answer(&t, template_item(p->set, id), f, &left), expected);
    assert_int_equal(left, own);
}

/* On paper alone, and there only the numbers: a breed and a version stay as they were typed. */
static void a_language_writes_numbers_and_ages_its_own_way(void **state)
{
    static const struct {
        const char *born, *en, *es;
    } ages[] = {
        {"2026-10-24", "1 mo", "1 mes"},     {"2026-06-24", "5 mo", "5 meses"},
        {"2024-11-25", "23 mo", "23 meses"}, {"2024-11-24", "2 y", "2 años"},
        {"2020-11-24", "6 y", "6 años"},     {"2026-11-25", "not yet born", "aún no ha nacido"},
    };
    struct practice_room *p = *state;
    struct fault f = {0};
    const struct finding weight = {.item = "dog.mass", .text = "9.4 kg"};
    must(record_put(&p->cb, &p->chart.dog, ID_DOG_BREED, "Terrier 2.5", "", &f), &f);
    for (size_t i = 0; i < sizeof ages / sizeof *ages; i++) {
        must(record_put(&p->cb, &p->chart.dog, ID_DOG_BORN, ages[i].born, "", &f), &f);
        assert_string_equal(chart_signalment_in(&p->chart, "es"),
                            arena_printf(p->arena, "Terrier 2.5, %s, 9,4 kg", ages[i].es));
        assert_string_equal(chart_signalment(&p->chart),
                            arena_printf(p->arena, "Terrier 2.5, %s, 9.4 kg", ages[i].en));
    }
    says(p, "es", "dog.mass", &weight, "9,4 kg", false);
    says(p, "eo", "dog.mass", &weight, "9.4 kg", false); /* says nothing of its mark */
    says(p, "en", "dog.mass", &weight, "9.4 kg", false);
    must(record_put(&p->cb, &p->chart.caregiver, "caregiver.language", "es", "", &f), &f);
    reload(p);
    render(p, make_care);
    has(p, "Terrier 2.5, aún no ha nacido, 9,4 kg\n");
    render(p, make_all); /* there is no such handout in Spanish: all of it is English */
    has(p, "dog.signalment is Terrier 2.5, not yet born, 9.4 kg\n");
    has(p, "weight 9.4 kg");
    render(p, visit_sheet);
    lacks(p, "9,4");
    json(p);
    has(p, "9.4");
    lacks(p, "9,4");
}

/* Two people decided, neither having seen what the other did; `one` was written first. */
static void put_decisions(struct practice_room *p, const char *one, const char *two)
{
    struct record other;
    struct fault f = {0};
    must(record_load(&p->cb, p->arena, p->chart.visit.entity, &other, &f), &f);
    must(record_put(&p->cb, &p->chart.visit, ID_SUPPORT, one, "", &f), &f);
    must(record_put(&p->cb, &other, ID_SUPPORT, two, "", &f), &f);
    reload(p);
}

static void teach(struct practice_room *p, const char *point)
{
    struct fault f = {0};
    must(record_put(&p->cb, &p->chart.visit, point, "shown", "", &f), &f);
}

/* Nobody told the owner which: whoever wrote first, both are named, and nothing is told that holds
 * for one of them only. What to watch for is told for either. */
static void both_supports_in_dispute_are_named(void **state)
{
    static const char *const orders[][2] = {{"sling_harness", "four_wheel"},
                                            {"four_wheel", "sling_harness"}};
    struct practice_room *p = *state;
    teach(p, "teach.wear.first_steps");
    teach(p, "teach.in_and_out.sling");
    teach(p, "teach.skin.every_day");
    for (size_t i = 0; i < 2; i++) {
        put_decisions(p, orders[i][0], orders[i][1]);
        render(p, make_care);
        has(p, "The vets have not agreed on a support yet. Ask us before you use any of these:\n");
        has(p, "- sling or harness: ");
        has(p, "- four-wheel frame: ");
        lacks(p, "The ladder");
        lacks(p, "Before the frame comes");
        lacks(p, "With the sling");
        lacks(p, "5 to 10 minutes");                  /* taught, and only right in a frame */
        lacks(p, "Hold the sling");                   /* taught, and only right in a sling */
        has(p, "Look at all the skin");               /* taught, and right in any case */
        has(p, "STOP, no frame: the skin is broken"); /* a warning that only a frame needs */
        render(p, make_all);
        const char *named = strstr(p->out.s, "support.label is ");
        assert_non_null(named);
        assert_non_null(strstr(named, "(answers differ, ask us)\n"));
        has(p, orders[i][0][0] == 's' ? "sling or harness, or four-wheel frame"
                                      : "four-wheel frame, or sling or harness");
    }
}

/* Both need a frame: what holds for any frame is told; and a later visit rests on the same two. */
static void what_holds_for_both_supports_is_told(void **state)
{
    struct practice_room *p = *state;
    struct fault f = {0};
    const char *dog = p->chart.dog.entity;
    put_decisions(p, "stepped", "four_wheel");
    render(p, make_care);
    has(p, "The vets have not agreed");
    has(p, "The ladder");
    must(visit_new(&p->cb, p->arena, dog, "2026-11-25", &p->chart, &f), &f);
    reload(p);
    render(p, make_care);
    has(p, "- rear frame, stepped: ");
    has(p, "- four-wheel frame: ");
    render(p, visit_sheet);
    has(p, "Not settled: rear frame, stepped or four-wheel frame. A veterinarian decides.");
    lacks(p, "As decided at an earlier visit");
    has(p, "the decision: CONFLICT: rear frame, stepped by MK, or four-wheel frame by MK");
    must(record_put(&p->cb, &p->chart.visit, ID_SUPPORT, "stepped", "", &f), &f);
    reload(p);
    render(p, make_care);
    lacks(p, "have not agreed");
    lacks(p, "four-wheel frame");
}

/* One decided, the other took the decision back: neither is what was agreed. */
static void a_decision_taken_back_by_one_is_in_dispute(void **state)
{
    struct practice_room *p = *state;
    put_decisions(p, "", "four_wheel");
    render(p, make_care);
    has(p, "The vets have not agreed");
    has(p, "- four-wheel frame: ");
    has(p, "- No support has been decided on yet.\n");
    lacks(p, "The ladder");
}

static void amendments_and_errors_are_marked(void **state)
{
    struct practice_room *p = *state;
    struct fault f = {0};
    must(record_put(&p->cb, &p->chart.visit, "home_colour", "red", "", &f), &f);
    must(record_sign(&p->cb, &p->chart.visit, &f), &f);
    render(p, visit_sheet);
    has(p, "The visit is signed by MK, Tue 24 Nov 2026 09:30.");
    has(p, "Colour: red\n");
    must(record_put(&p->cb, &p->chart.visit, "home_colour", "green", "misheard", &f), &f);
    reload(p);
    render(p, visit_sheet);
    has(p, "Colour: green  [MK, Tue 24 Nov 2026 09:30, amended after signing] because: misheard\n");
    must(record_strike(&p->cb, &p->chart.visit, "home_colour", "another house", &f), &f);
    reload(p);
    render(p, visit_sheet);
    has(p, "Colour: entered in error  [MK");
    has(p, "because: another house\n");
    json(p);
    has(p, "\"entered_in_error\": true");
    has(p, "\"amended\": true");
    render(p, make_all); /* the caregiver never reads what was an error */
    assert_null(strstr(p->out.s, "Colour"));
}

static void what_no_form_asks_for_is_shown_all_the_same(void **state)
{
    struct practice_room *p = *state;
    struct fault f = {0};
    must(record_put(&p->cb, &p->chart.visit, "old.question", "still here", "", &f), &f);
    render(p, visit_sheet);
    has(p, "Also recorded: visit");
    has(p, "old.question: still here\n");
    assert_false(referral_sheet(&p->chart, &(struct sheet *){NULL}, &f));
    assert_int_equal(f.kind, FAULT_MISSING);
}

static void words_that_look_like_quantities_stay_words(void **state)
{
    static const char *const words[] = {"5-6 cm", "007 kg",   "5. cm", "-",
                                        ".5 cm",  "1.2.3 cm", "5 cm "};
    struct practice_room *p = *state;
    struct fault f = {0};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        must(record_put(&p->cb, &p->chart.visit, "home_colour", words[i], "", &f), &f);
        json(p);
        const char *value = strstr(p->out.s, arena_printf(p->arena, "\"value\": \"%s\"", words[i]));
        assert_non_null(value);
        assert_true(strncmp(strchr(value, '\n') + 1 + strspn(strchr(value, '\n') + 1, " "),
                            "\"shown\"", 7) == 0);
    }
}

/* Choices, yes and no, days and what joins two answers; what has no words is said to have none. */
static void answers_are_in_the_language_of_the_sheet(void **state)
{
    const struct practice_room *p = *state;
    static const char *const others[] = {"river"};
    const struct finding both = {.text = "wood river"},
                         left = {.item = "home_walks", .text = "wood town"},
                         quiet = {.text = "yes"}, since = {.text = "2026-11-04T14:00"},
                         winter = {.text = "2026-12-04"},
                         dispute = {.text = "wood", .others = others, .other_count = 1};
    says(p, "eo", "home_walks", &both, "la arbaro, la rivero", false);
    says(p, "eo", "home_walks", &left, "la arbaro, the town", true);
    says(p, "eo", "home_walks", &dispute, "la arbaro aux la rivero (demandu nin)", false);
    says(p, "eo", "home_quiet", &quiet, "jes", false);
    says(p, "eo", "home_since", &since, "2026, novembro 4, 14:00", false);
    says(p, "eo", "home_since", &winter, "2026-12-04", false); /* a month without a name */
    says(p, "es", "home_since", &winter, "4 de diciembre de 2026", false);
    says(p, "en", "home_walks", &left, "the wood, the town", false);
    p->set->practice.language = "es"; /* its forms are in Spanish, yes and no are the program's */
    says(p, "es", "home_walks", &left, "the wood, the town", false);
    says(p, "es", "home_quiet", &quiet, "sí", false);
    says(p, "es", "home_since", &winter, "4 de diciembre de 2026", false);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_placeholder_is_filled, begin, end),
        cmocka_unit_test_setup_teardown(answers_are_in_the_language_of_the_sheet, begin, end),
        cmocka_unit_test_setup_teardown(a_language_writes_numbers_and_ages_its_own_way, begin, end),
        cmocka_unit_test_setup_teardown(a_handout_without_stop_signs_gets_them, begin, end),
        cmocka_unit_test_setup_teardown(a_conflict_is_never_one_of_its_values, begin, end),
        cmocka_unit_test_setup_teardown(both_supports_in_dispute_are_named, begin, end),
        cmocka_unit_test_setup_teardown(what_holds_for_both_supports_is_told, begin, end),
        cmocka_unit_test_setup_teardown(a_decision_taken_back_by_one_is_in_dispute, begin, end),
        cmocka_unit_test_setup_teardown(amendments_and_errors_are_marked, begin, end),
        cmocka_unit_test_setup_teardown(words_that_look_like_quantities_stay_words, begin, end),
        cmocka_unit_test_setup_teardown(what_no_form_asks_for_is_shown_all_the_same, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
