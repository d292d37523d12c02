/* The day sheet, the report, the whole record, blank forms: what must be on them is on them. */
#include "base/arena.h"
#include "base/text.h"
#include "casebook/review.h"
#include "casebook_practice.h"
#include "output/care.h"
#include "output/given.h"
#include "output/papers.h"

static const char *text_wide(struct world *w, const struct sheet *s, int columns)
{
    struct text out;
    text_init(&out, 8 << 20);
    sheet_render(s, &(struct sheet_style){.columns = columns}, &out, NULL, NULL);
    const char *text = arena_str(w->arena, out.s);
    text_free(&out);
    return text;
}

static const char *text_of(struct world *w, const struct sheet *s)
{
    return text_wide(w, s, 80);
}

static void holds(const char *text, const char *part)
{
    if (strstr(text, part) == NULL)
        fail_msg("\"%s\" is missing from:\n%s", part, text);
}

static void the_day_has_addresses_and_what_to_bring(void **state)
{
    struct world *w = *state;
    struct sheet *sheet;
    fed(w, NULL, slurped(w, "contrib/demo/3-rolf.txt"));
    fed(w, NULL, slurped(w, "contrib/demo/4-tansy.txt"));
    fed(w, NULL, "dog Tansy\nvisit tomorrow 9:00\n");
    OK(day_sheet(&w->cb, w->arena, clock_today() + 1, &sheet, f));
    const char *text = text_of(w, sheet);
    holds(text, "Wednesday 25 November 2026");
    holds(text, "The Old Forge, Mill Row, Fernhill");
    holds(text, "to bring: callipers");
    holds(text, "In the car");
    holds(text, "[ ] two scales");
    holds(text, "CAUTION: Neck lesion");
    assert_true(strstr(text, "09:00  Tansy") < strstr(text, "11:00  Rolf"));
    fed(w, NULL, "practitioner MK\ndog Tansy\nvisit tomorrow\nsign\n");
    OK(day_sheet(&w->cb, w->arena, clock_today() + 1, &sheet, f));
    assert_null(strstr(text_of(w, sheet), "Tansy, Terrier"));
    OK(day_sheet(&w->cb, w->arena, clock_today(), &sheet, f));
    holds(text_of(w, sheet), "No visit is booked.");
    struct chart c;
    fed(w, &c, "dog Rolf\n");
    beside(w, c.caregiver.entity, ID_CAREGIVER_ADDRESS, "4 Mill Row");
    OK(day_sheet(&w->cb, w->arena, clock_today() + 1, &sheet, f));
    holds(text_of(w, sheet), "or 4 Mill Row (2 answers, not");
}

static void the_report_says_what_moved_and_what_is_next(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c, slurped(w, "contrib/demo/7-bruno.txt"));
    OK(report_sheet(&c, &sheet, f));
    const char *text = text_of(w, sheet);
    holds(text, "To: Coldharbour Vets 01632 960190");
    holds(text, "Thigh girth: Falls, and that is real");
    holds(text, "review on Saturday 21 November 2026");
    holds(text, "41 of 70");
    holds(text, "front feet knuckle (Share on the fore feet really\n     rises)");
    holds(text, "stands here"); /* the row of the axle that was kept at the fitting */
    holds(text, "axle from step 2 of 7 (362 mm) to step 1 (333 mm), 29 mm forward");
    holds(text, "relief 6 -> 12 %");
    holds(text, "FORBIDDEN, rear frame, shoulder-loaded");
    holds(text, "points were not taught at this visit");
    assert_null(strstr(text, "not yet")); /* what was not taught is no news to a colleague */
    holds(text, "Mara Kell, Fernhill Mobile Rehabilitation, telephone 01632 960120");
    struct chart none = {.cb = &w->cb, .arena = w->arena};
    REFUSED(report_sheet(&none, &sheet, f), FAULT_MISSING, "no visit");
    REFUSED(whole_sheet(&none, &sheet, f), FAULT_MISSING, "no dog");
}

/* "2026-11-24" is for programs. */
static void no_iso_day(const char *text)
{
    for (const char *p = text; (p = strstr(p, "20")) != NULL; p += 2)
        if (strspn(p, "0123456789") == 4 && p[4] == '-' && strspn(p + 5, "0123456789") == 2 &&
            p[7] == '-')
            fail_msg("a day not in words: %.60s", p);
}

static void days_on_paper_have_one_form(void **state)
{
    static const char *const dogs[] = {"7-bruno", "9-pip", "e-biscuit"};
    struct world *w = *state;
    fed(w, NULL, slurped(w, "contrib/demo/0-frames.txt"));
    for (size_t i = 0; i < sizeof dogs / sizeof *dogs; i++) {
        struct chart c;
        struct sheet *sheet;
        fed(w, &c, slurped(w, arena_printf(w->arena, "contrib/demo/%s.txt", dogs[i])));
        OK(report_sheet(&c, &sheet, f));
        no_iso_day(text_of(w, sheet));
        OK(whole_sheet(&c, &sheet, f));
        no_iso_day(text_of(w, sheet));
        OK(care_sheet(&c, "", &sheet, f));
        no_iso_day(text_of(w, sheet));
    }
}

/* What was left out of the teaching is no matter when the dog is gone. */
static void the_record_of_a_closed_case_counts_nothing_missing(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, NULL, slurped(w, "contrib/demo/0-frames.txt"));
    fed(w, &c, slurped(w, "contrib/demo/a-hazel.txt"));
    OK(whole_sheet(&c, &sheet, f));
    const char *text = text_of(w, sheet);
    holds(text, "How it ended: put to sleep");
    assert_null(strstr(text, "not taught"));
    assert_null(strstr(text, "Nothing was taught"));
    OK(case_open_again(&c, f));
    OK(whole_sheet(&c, &sheet, f));
    holds(text_of(w, sheet), "Nothing was taught at this visit");
}

static void the_whole_record_has_every_visit_and_what_was_handed_over(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c, slurped(w, "contrib/demo/7-bruno.txt"));
    OK(care_sheet(&c, "", &sheet, f));
    OK(given_put(&c, "care", sheet, f));
    OK(whole_sheet(&c, &sheet, f));
    const char *text = text_of(w, sheet);
    for (size_t i = 1; i <= c.visit_count; i++)
        holds(text, arena_printf(w->arena, "VISIT %zu, ", i));
    holds(text, "30 mm, right groin");
    holds(text, "as it was kept");
    holds(text, "Hoja de cuidados para Bruno");
}

static void every_question_is_on_the_blank_forms(void **state)
{
    struct world *w = *state;
    struct sheet *sheet;
    OK(blank_sheet(&w->cb, w->arena, "review", &sheet, f));
    const struct form *form = template_form(w->set, "review");
    const char *text = text_of(w, sheet);
    for (size_t i = 0; i < form->item_count; i++)
        holds(text, form->items[i].label);
    holds(text, "Glad to go?  [_] yes  [_] no");
    OK(blank_sheet(&w->cb, w->arena, "", &sheet, f));
    text = text_of(w, sheet);
    holds(text, w->set->measures[0].label);
    holds(text, "Weight, kg ");
    holds(text, "Not a home visit: to a clinic now"); /* nobody else weighs the answers */
    holds(text, "[ ] Fights for breath. Go to the emergency clinic now");
    holds(text, "(told, shown, done back)");
    holds(text, "[_] [_] [_]  Nails and tops of toes, every day");
    for (int columns = 40; columns <= 80; columns++) { /* a box stands with its label */
        text = text_wide(w, sheet, columns);
        for (const char *p = text; (p = strstr(p, "[_]")) != NULL; p += 3)
            if (p[3 + strspn(p + 3, " ")] == '\n')
                fail_msg("at %d columns a box is parted from: %.60s", columns, p);
    }
    REFUSED(blank_sheet(&w->cb, w->arena, "unheard", &sheet, f), FAULT_MISSING, "no form");
}

/* A visit that is booked, or was made since, does not move the day of the call. */
static void a_referral_has_the_day_of_its_call(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c, slurped(w, "contrib/demo/3-rolf.txt"));
    OK(chart_load(&w->cb, w->arena, c.dog.entity, &c, f));
    assert_non_null(c.visit.entity);
    OK(referral_sheet(&c, &sheet, f));
    const char *text = text_of(w, sheet);
    holds(text, " Monday 23 November 2026\n");
    holds(text, "The call came on Monday 23 November 2026 at 18:10.");
    assert_null(strstr(text, "Wednesday 25 November"));
}

/* The clinic reads whom to ring and what is there before what is not. */
static void a_referral_says_first_what_counts(void **state)
{
    static const char *const order[] = {"The owner: Idris Vaughan, telephone 01632 960162",
                                        "at 09:30",
                                        "EMERGENCY",
                                        "Answered yes",
                                        "Is it worse from hour to hour?",
                                        "Not known",
                                        "Is urine coming out?",
                                        "Answered no",
                                        "Has there been a fall or a blow?",
                                        "Mara Kell, Fernhill"};
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c, slurped(w, "contrib/demo/f-pepper.txt"));
    OK(referral_sheet(&c, &sheet, f));
    const char *at = text_of(w, sheet);
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        at = strstr(at, order[i]);
        if (at == NULL)
            fail_msg("\"%s\" is not there, or too early", order[i]);
    }
}

/* A visit that MK made and signed. */
#define SIGNED                                                                                     \
    "practitioner IV Ines Varga\npractitioner MK Mara Kell\ncaregiver Nora Lind\n"                 \
    "caregiver.phone = 01632 960133\ndog Juniper\ndog.caregiver = Nora Lind\nvisit today\n"        \
    "practitioner MK\nwithers_height = 22.8 cm, 22.8 cm\ntoday_plan = ten minutes\n"               \
    "support stepped because her vet lets her walk\nteach danger_signs.breath told\nsign\n"

/* What was signed by one and changed or struck by another is marked on every sheet, where it
 * stands.
 */
static void every_sheet_marks_what_came_after_signing(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c, SIGNED);
    OK(whole_sheet(&c, &sheet, f));
    assert_null(strstr(text_wide(w, sheet, 200), "after signing"));
    OK(changes_sheet(&c, &sheet, f));
    holds(text_wide(w, sheet, 200), "Nothing was changed, and nothing is disputed.");
    fed(w, &c,
        SIGNED "practitioner IV\nreason read once more\nwithers_height = 22.8 cm, 23.0 cm\n"
               "today_plan = five minutes\nteach danger_signs.breath shown\n"
               "support level_balanced because her shoulders bear it\n");
    OK(whole_sheet(&c, &sheet, f));
    const char *text = text_wide(w, sheet, 200);
    holds(text, "2nd after signing, by IV: read once more");
    holds(text, "shown, IV; after signing, by IV: read once more");
    holds(text, "the decision: after signing, by IV: her shoulders bear it");
    holds(text, "five minutes  [IV");
    holds(text, "amended after signing");
    OK(report_sheet(&c, &sheet, f));
    holds(text_wide(w, sheet, 200), "; after signing, by IV: her shoulders");
    OK(care_sheet(&c, "care", &sheet, f));
    text = text_wide(w, sheet, 200);
    holds(text, "five minutes (changed after signing)");
    OK(record_strike(&w->cb, &c.visit, "withers_height.1", "the other dog's", f));
    OK(record_strike(&w->cb, &c.visit, "support", "not for this dog", f));
    OK(visit_sheet(&c, &sheet, f));
    text = text_wide(w, sheet, 200);
    holds(text, "1st entered in error, after signing, by IV: the other dog's");
    holds(text, "the decision: entered in error, after signing, by IV: not for this dog");
}

/* The parts follow one another. */
static void holds_in_order(const char *text, const char *const *parts, size_t count)
{
    const char *at = text;
    for (size_t i = 0; i < count; i++) {
        at = strstr(at, parts[i]);
        if (at == NULL)
            fail_msg("\"%s\" is not there, or too early, in:\n%s", parts[i], text);
    }
}

/* Whoever cares for the dog next reads what stood before, who wrote it and why it was changed. */
static void the_whole_record_tells_what_stood_before(void **state)
{
    static const char *const parts[] = {
        "five minutes  [IV, Tue 24 Nov 2026 09:30, amended after signing] because: read once more",
        "\n       before: an hour  [IV, Tue 24 Nov 2026 09:30, after signing] because: read",
        "\n       before that: ten minutes  [MK, Tue 24 Nov 2026 09:30]\n",
        "Reasons and changes",
        "Support: rear frame, level-balanced  [IV,",
        "before: rear frame, stepped  [MK, Tue 24 Nov 2026 09:30] because: her vet lets her walk",
        "shown  [IV, Tue 24 Nov 2026 09:30, amended after signing] because: read once more",
        "before: told  [MK,",
        "reading 1: entered in error  [IV, Tue 24 Nov 2026 09:30, amended after signing] because:",
        "before: 22.8 cm  [MK,",
        "CONFLICT Withers height, reading 2: 22.8 cm or 24.0 cm (2 answers, not settled)",
        "one answer: 22.8 cm  [MK,",
        "another: 24.0 cm  [?,", /* from a device that has not sent who it is */
    };
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c,
        SIGNED "practitioner IV\nreason read once more\ntoday_plan = an hour\n"
               "today_plan = five minutes\nteach danger_signs.breath shown\n"
               "support level_balanced because her shoulders bear it\n");
    OK(record_strike(&w->cb, &c.visit, "withers_height.1", "the other dog's", f));
    beside(w, c.visit.entity, "withers_height.2", "240 mm");
    put(w, &c.dog, ID_REVIEW_DUE, "2027-01-01"); /* planned again, and nobody's change */
    look_again(w, &c);
    OK(whole_sheet(&c, &sheet, f));
    const char *text = text_wide(w, sheet, 200);
    holds_in_order(text, parts, sizeof parts / sizeof *parts);
    assert_null(strstr(text, "Reason for the support")); /* it stands beside the decision */
    OK(changes_sheet(&c, &sheet, f));
    text = text_wide(w, sheet, 200);
    holds(text, "before that: ten minutes  [MK,");
    holds(text, "another: 24.0 cm");
    assert_null(strstr(text, "Caregiver")); /* nothing of it was changed */
    assert_null(strstr(text, "Review due"));
    OK(story_sheet(&c, "today_plan", &sheet, f));
    static const char *const oldest_first[] = {
        "History of one finding", "ten minutes  [MK", "an hour",
        "five minutes  [IV, Tue 24 Nov 2026 09:30, after signing]"};
    holds_in_order(text_wide(w, sheet, 200), oldest_first, 4);
    OK(story_sheet(&c, "withers_height.2", &sheet, f));
    holds(text_wide(w, sheet, 200), "nobody has settled which");
    REFUSED(story_sheet(&c, "goals", &sheet, f), FAULT_MISSING, "goals");
}

/* Two answers that nobody has settled are both on every sheet, each with who gave it; the owner is
 * told that it is not settled. */
static void a_dispute_is_on_every_sheet(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c, SIGNED);
    beside(w, c.visit.entity, "withers_height.2", "240 mm");
    beside(w, c.visit.entity, "today_plan", "an hour");
    beside(w, c.visit.entity, "support", "level_balanced");
    beside(w, c.visit.entity, "teach.danger_signs.breath", "shown");
    look_again(w, &c);
    OK(whole_sheet(&c, &sheet, f));
    const char *text = text_wide(w, sheet, 200);
    holds(text,
          "CONFLICT Plan until the next visit: ten minutes or an hour (2 answers, not settled)");
    holds(text, "one answer: ten minutes  [MK,");
    holds(text, "another: an hour  [?, Tue 24 Nov 2026 09:30, after signing]");
    holds(text, "2nd CONFLICT: 22.8 cm by MK, or 24.0 cm by ?");
    holds(text, "Not settled: rear frame, stepped or rear frame, level-balanced. A veterinarian");
    assert_null(strstr(text, "Decided: "));
    holds(text, "the decision: CONFLICT: rear frame, stepped by MK, or rear frame, level-balanced");
    holds(text, "told, MK; CONFLICT: told by MK, or shown by ?");
    OK(report_sheet(&c, &sheet, f));
    holds(text_wide(w, sheet, 200), "rear frame, stepped; CONFLICT: rear frame, stepped by MK, or");
    OK(care_sheet(&c, "care", &sheet, f));
    text = text_wide(w, sheet, 200);
    holds(text, "ten minutes or an hour (");
    assert_null(strstr(text, "changed after signing")); /* which of them stands is open */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHIPPED(the_day_has_addresses_and_what_to_bring),
        SHIPPED(every_sheet_marks_what_came_after_signing),
        SHIPPED(the_whole_record_tells_what_stood_before),
        SHIPPED(a_dispute_is_on_every_sheet),
        SHIPPED(a_referral_says_first_what_counts),
        SHIPPED(the_report_says_what_moved_and_what_is_next),
        SHIPPED(the_whole_record_has_every_visit_and_what_was_handed_over),
        SHIPPED(a_referral_has_the_day_of_its_call),
        SHIPPED(days_on_paper_have_one_form),
        SHIPPED(the_record_of_a_closed_case_counts_nothing_missing),
        SHIPPED(every_question_is_on_the_blank_forms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
