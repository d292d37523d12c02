/* The shipped templates: complete, sourced, and readable by a twelve-year-old where the caregiver
 * reads them. */
#include "template/phrases.h"
#include "templates/cases.h"
#include <ctype.h>
#include <string.h>

static struct template_set *shipped(void)
{
    struct text lines;
    text_init(&lines, 10000);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load("config", NULL, &report);
    if (set == NULL)
        fail_msg("%s", lines.s);
    text_free(&lines);
    return set;
}

static void every_measurement_is_there(void **state)
{
    static const char *const ids[] = {
        "withers_height", "elbow_height", "sternum_height", "pelvic_floor_height",
        "hock_height",    "trunk_span",   "body_length",    "stance_length",
        "thigh_depth",    "chest_depth",  "chest_width",    "hip_width",
        "fore_spacing",   "chest_girth",  "neck_girth",     "thigh_girth",
        "body_mass",      "fore_scale",   "hind_scale",     "thigh_girth_level",
    };
    (void)state;
    struct template_set *set = shipped();
    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++)
        if (template_measure(set, ids[i]) == NULL)
            fail_msg("no measure %s", ids[i]);
    size_t angles = 0; /* hip, stifle and hock, bent and stretched, left and right */
    for (size_t i = 0; i < set->measure_count; i++)
        angles += set->measures[i].dimension == DIM_ANGLE;
    assert_int_equal(angles, 3 * 2 * 2);
    assert_int_equal(set->measure_count, sizeof ids / sizeof ids[0] + angles);
    /* what can never be adjusted on a finished frame comes first */
    assert_string_equal(set->measures[0].id, "hip_width");
    assert_string_equal(set->measures[1].id, "thigh_depth");
    assert_true(set->measures[0].fixed && set->measures[1].fixed && !set->measures[2].fixed);
    template_free(set);
}

static void has_source(const char *what, const char *id, const char *source)
{
    if (source[0] == '\0')
        fail_msg("%s %s names no source", what, id);
}

static void every_value_names_its_source(void **state)
{
    (void)state;
    struct template_set *set = shipped();
    for (size_t i = 0; i < set->measure_count; i++)
        has_source("measure", set->measures[i].id, set->measures[i].source);
    for (size_t i = 0; i < set->breed_count; i++)
        has_source("breed", set->breeds[i].name, set->breeds[i].source);
    for (size_t i = 0; i < set->body_type_count; i++)
        if (set->body_types[i].has_fore_share)
            has_source("body type", set->body_types[i].id, set->body_types[i].source);
    for (size_t i = 0; i < set->relation_count; i++)
        for (size_t k = 0; k < set->relations[i].band_count; k++)
            has_source("relation", set->relations[i].id, set->relations[i].bands[k].source);
    for (size_t i = 0; i < set->support_rule_count; i++)
        has_source("rule", set->support_rules[i].id, set->support_rules[i].source);
    for (size_t i = 0; i < set->triage.rule_count; i++)
        has_source("triage rule", set->triage.rules[i].id, set->triage.rules[i].source);
    for (size_t i = 0; i < set->frame_count; i++)
        has_source("frame", set->frames[i].id, set->frames[i].source);
    for (size_t i = 0; i < set->checklist_count; i++)
        has_source("checklist", set->checklists[i].id, set->checklists[i].source);
    for (size_t i = 0; i < set->energy_factor_count; i++)
        has_source("energy factor", set->energy_factors[i].id, set->energy_factors[i].source);
    template_free(set);
}

/* ---- reading age ----------------------------------------------------------------------------- */

/* Vowel groups, a silent final e left out: the usual estimate. */
static size_t syllables(const char *word, size_t n)
{
    size_t groups = 0;
    bool in_group = false;
    for (size_t i = 0; i < n; i++) {
        bool vowel = strchr("aeiouy", tolower((unsigned char)word[i])) != NULL;
        groups += vowel && !in_group;
        in_group = vowel;
    }
    if (n > 2 && tolower((unsigned char)word[n - 1]) == 'e' && groups > 1 && word[n - 2] != 'l')
        groups--;
    return groups > 0 ? groups : 1;
}

struct prose {
    size_t sentences, words, syllables;
};

static void read_prose(struct prose *p, const char *s)
{
    bool open = false;
    while (*s != '\0') {
        size_t n = 0;
        if (*s == '{') { /* a name or a number, one short word */
            n = strcspn(s, "}") + 1;
            p->words++;
            p->syllables += 2;
            open = true;
        } else if (isalnum((unsigned char)*s)) {
            while (isalnum((unsigned char)s[n]) || s[n] == '\'')
                n++;
            p->words++;
            p->syllables += syllables(s, n);
            open = true;
        } else {
            n = 1;
            if (strchr(".!?:;", *s) != NULL && open) {
                p->sentences++;
                open = false;
            }
        }
        s += n;
    }
    p->sentences += open;
}

/* Flesch-Kincaid grade (Kincaid et al. 1975). */
static double grade(const struct prose *p)
{
    return 0.39 * (double)p->words / (double)p->sentences +
           11.8 * (double)p->syllables / (double)p->words - 15.59;
}

static void readable(const char *line)
{
    enum { TOO_SHORT_TO_JUDGE = 6 };
    struct prose p = {0};
    read_prose(&p, line);
    if (p.words >= TOO_SHORT_TO_JUDGE && grade(&p) > 7.0)
        fail_msg("\"%s\" reads at grade %.1f", line, grade(&p));
}

static void the_measure_can_fail(void **state)
{
    struct prose easy = {0}, hard = {0};
    (void)state;
    read_prose(&easy, "The cat sat on the mat. It was warm.");
    read_prose(&hard, "Intermittent catheterisation necessitates meticulous aseptic preparation.");
    assert_int_equal(easy.sentences, 2);
    assert_int_equal(easy.words, 9);
    assert_true(grade(&easy) < 3.0);
    assert_true(grade(&hard) > 15.0);
}

static bool in_english(const struct handout *h)
{
    return strcmp(h->language, "en") == 0;
}

/* ---- other languages ------------------------------------------------------------------------- */

/* LIX (Björnsson 1968, from memory): words a sentence, and of a hundred words those longer than six
 * letters; counts letters of any alphabet, so it needs no syllables. Below 40 is called easy. */
static double lix(const char *s)
{
    size_t sentences = 0, words = 0, longer = 0, letters = 0;
    bool open = false;
    for (;; s++) {
        bool letter = isalnum((unsigned char)*s) || (unsigned char)*s >= 0xc3;
        letters += letter; /* a letter of two bytes counts once: its second is below 0xc0 */
        if (!letter && ((unsigned char)*s & 0xc0) != 0x80 && letters > 0) {
            words++;
            longer += letters > 6;
            letters = 0;
            open = true;
        }
        if ((*s == '\0' || strchr(".!?:;", *s) != NULL) && open) {
            sentences++;
            open = false;
        }
        if (*s == '\0')
            break;
    }
    return words == 0 ? 0
                      : (double)words / (double)sentences + 100 * (double)longer / (double)words;
}

static void lix_can_fail(void **state)
{
    (void)state;
    /* 9 words, 2 sentences, none long; 3 words, 1 sentence, all long */
    assert_true(lix("El gato come. El perro duerme en la cama.") < 5.1);
    assert_true(lix("Cateterismo intermitente necesario.") > 100);
}

/* Single sentences are too short to be judged strictly: the whole is, each of them loosely. */
static void easy(const char *text, struct text *whole)
{
    enum { TOO_SHORT_TO_JUDGE = 40 };
    if (strlen(text) >= TOO_SHORT_TO_JUDGE && lix(text) > 55)
        fail_msg("\"%s\" has a LIX of %.0f", text, lix(text));
    text_addf(whole, "%s ", text);
}

static void has_words(const struct template_set *set, const char *language, const char *space,
                      const char *id, const char *english)
{
    char of[200];
    (void)snprintf(of, sizeof of, "%s%s%s", space, *space && *id ? "." : "", id);
    if (*english == '\0')
        return;
    if (strcmp(template_say(set, language, of, ""), "") == 0)
        fail_msg("%s has no words for %s: %s", language, of, english);
}

/* Does a handout of that language print the answer in its lines: {item:ID}? */
static bool named_in_lines(const struct template_set *set, const char *language, const char *id)
{
    char mark[120];
    (void)snprintf(mark, sizeof mark, "{item:%s}", id);
    for (size_t i = 0; i < set->handout_count; i++)
        for (size_t k = 0; k < set->handouts[i].part_count; k++)
            for (size_t l = 0; l < set->handouts[i].parts[k].line_count; l++)
                if (strcmp(set->handouts[i].language, language) == 0 &&
                    strstr(set->handouts[i].parts[k].lines[l].text, mark) != NULL)
                    return true;
    return false;
}

/* Every choice that can reach a sheet in that language and has no words there, a line each. */
static void choices_without_words(const struct template_set *set, const char *language,
                                  struct text *out)
{
    for (size_t i = 0; i < set->form_count; i++)
        for (size_t k = 0; k < set->forms[i].item_count; k++) {
            const struct item *item = &set->forms[i].items[k];
            if (!item->on_sheet && !named_in_lines(set, language, item->id))
                continue;
            for (size_t n = 0; n < item->choice_count; n++) {
                char of[200];
                (void)snprintf(of, sizeof of, "choice.%s.%s", item->id, item->choices[n].id);
                if (*template_say(set, language, of, "") == '\0')
                    text_addf(out, "%s\n", of);
            }
        }
}

/* A practice's question without words is named, choice by choice; what has words is not. */
static void choices_without_words_are_named(void **state)
{
    (void)state;
    struct text lines, out;
    text_init(&lines, 10000);
    text_init(&out, 10000);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load("config", "tests/unit/templates/spoken", &report);
    if (set == NULL)
        fail_msg("%s", lines.s);
    choices_without_words(set, "xx", &out);
    assert_string_equal(out.s, "choice.appetite_sheet.less\nchoice.appetite_sheet.none\n"
                               "choice.harness_size.small\nchoice.harness_size.large\n");
    text_free(&lines);
    text_free(&out);
    template_free(set);
}

/* Whatever a care sheet can say is there in every language that ships. */
static void another_language_is_whole(void **state)
{
    (void)state;
    struct template_set *set = shipped();
    assert_true(set->language_count >= 1);
    for (size_t n = 0; n < set->language_count; n++) {
        const char *id = set->languages[n].id;
        const struct handout *care = template_handout(set, "care", id);
        struct text whole;
        text_init(&whole, 1 << 20);
        assert_string_equal(care->language, id);
        for (size_t i = 0; i < set->checklist_count; i++) {
            const struct checklist *list = &set->checklists[i];
            has_words(set, id, list->id, "", list->title);
            for (size_t k = 0; k < list->item_count; k++)
                has_words(set, id, list->id, list->items[k].id, list->items[k].sheet);
        }
        for (size_t i = 0; i < set->support_count; i++) {
            has_words(set, id, "support", set->supports[i].id, set->supports[i].label);
            has_words(set, id, "summary", set->supports[i].id, set->supports[i].summary);
        }
        for (size_t i = 0; i < set->support_rule_count; i++)
            if (set->support_rules[i].effect != EFFECT_PROPOSES)
                has_words(set, id, "rule", set->support_rules[i].id, set->support_rules[i].reason);
        for (size_t i = 0; i < set->form_count; i++)
            for (size_t k = 0; k < set->forms[i].item_count; k++)
                if (set->forms[i].items[k].on_sheet)
                    has_words(set, id, "item", set->forms[i].items[k].id,
                              set->forms[i].items[k].sheet_label);
#define X(phrase, name, english) has_words(set, id, "phrase", name, *(english) ? (english) : name);
        PHRASES(X)
#undef X
        struct text bare;
        text_init(&bare, 10000);
        choices_without_words(set, id, &bare);
        if (bare.len > 0)
            fail_msg("%s has no words for:\n%s", id, bare.s);
        text_free(&bare);
        for (size_t i = 0; i < set->languages[n].phrase_count; i++)
            easy(set->languages[n].phrases[i].text, &whole);
        for (size_t k = 0; k < care->part_count; k++)
            for (size_t i = 0; i < care->parts[k].line_count; i++)
                easy(care->parts[k].lines[i].text, &whole);
        if (lix(whole.s) > 35)
            fail_msg("%s has a LIX of %.1f", id, lix(whole.s));
        text_free(&whole);
    }
    template_free(set);
}

/* The two sheets have the same parts in the same order. */
static void languages_say_the_same(void **state)
{
    (void)state;
    struct template_set *set = shipped();
    const struct handout *en = template_handout(set, "care", "en");
    for (size_t n = 0; n < set->language_count; n++) {
        const struct handout *other = template_handout(set, "care", set->languages[n].id);
        size_t k = 0;
        for (size_t i = 0; i < other->part_count; i++, k++) {
            assert_true(k < en->part_count);
            assert_int_equal(other->parts[i].kind, en->parts[k].kind);
            assert_int_equal(other->parts[i].line_count, en->parts[k].line_count);
        }
    }
    template_free(set);
}

static void a_twelve_year_old_can_read_it(void **state)
{
    (void)state;
    struct template_set *set = shipped();
    for (size_t i = 0; i < set->checklist_count; i++)
        for (size_t k = 0; k < set->checklists[i].item_count; k++)
            readable(set->checklists[i].items[k].sheet);
    for (size_t i = 0; i < set->handout_count; i++)
        for (size_t k = 0; in_english(&set->handouts[i]) && k < set->handouts[i].part_count; k++)
            for (size_t l = 0; l < set->handouts[i].parts[k].line_count; l++)
                readable(set->handouts[i].parts[k].lines[l].text);
    for (size_t i = 0; i < set->support_count; i++)
        readable(set->supports[i].summary);
    readable(set->practice.scope_note);
    template_free(set);
}

/* Danger first, whom to ring with it, and the sheet says what it is not. */
static void the_care_sheet_warns_first(void **state)
{
    (void)state;
    struct template_set *set = shipped();
    const struct handout *care = template_handout(set, "care", "en");
    assert_non_null(care);
    size_t danger = 0, taught = 0;
    bool number = false, not_a_vet = false;
    for (size_t i = 0; i < care->part_count; i++) {
        const struct handout_part *part = &care->parts[i];
        danger = part->kind == PART_DANGER ? i : danger;
        taught = part->kind == PART_TAUGHT ? i : taught;
        for (size_t k = 0; k < part->line_count && danger == 0; k++) {
            number = number || strstr(part->lines[k].text, "{practice.emergency_phone}") != NULL;
            not_a_vet = not_a_vet || strstr(part->lines[k].text, "does not replace") != NULL;
        }
    }
    assert_true(number);
    assert_true(not_a_vet);
    assert_in_range(danger, 1, 2);
    assert_true(danger < taught);
    assert_string_equal(set->checklists[0].id, "danger_signs");
    for (size_t i = 0; i < set->checklists[0].item_count; i++)
        assert_true(set->checklists[0].items[i].danger);
    template_free(set);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_measurement_is_there),
        cmocka_unit_test(every_value_names_its_source),
        cmocka_unit_test(the_measure_can_fail),
        cmocka_unit_test(lix_can_fail),
        cmocka_unit_test(choices_without_words_are_named),
        cmocka_unit_test(another_language_is_whole),
        cmocka_unit_test(languages_say_the_same),
        cmocka_unit_test(a_twelve_year_old_can_read_it),
        cmocka_unit_test(the_care_sheet_warns_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
