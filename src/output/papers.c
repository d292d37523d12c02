#include "output/papers.h"
#include "base/arena.h"
#include "base/text.h"
#include "casebook/axle_plan.h"
#include "casebook/because.h"
#include "casebook/deciding.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/review.h"
#include "casebook/today.h"
#include "casebook/trends.h"
#include "output/given.h"
#include "output/letter.h"
#include <string.h>

enum { VISITS_MOST = 200, ITEM_CHOICES_MOST = 64 };

static struct sheet *begin(const struct template_set *set, struct arena *a, const char *title,
                           const char *footer)
{
    struct sheet *s = sheet_new(a, footer);
    sheet_add(s, SHEET_PLAIN, set->practice.name);
    sheet_add(s, SHEET_BLANK, "");
    sheet_add(s, SHEET_TITLE, title);
    sheet_add(s, SHEET_BLANK, "");
    return s;
}

/* ---- the day --------------------------------------------------------------------------------- */

/* One answer with its label; nothing when there is none. */
static void put_answer(const struct chart *c, struct sheet *s, const char *label, const char *item)
{
    const struct finding *found = chart_finding(c, item);
    if (found != NULL && (*found->text != '\0' || found->other_count > 0))
        sheet_addf(s, SHEET_BULLET, "%s: %s", label, letter_answer(c, found));
}

static void put_call_on(const struct chart *c, struct sheet *s)
{
    static const struct {
        const char *label, *item;
    } rows[] = {
        {"address", ID_CAREGIVER_ADDRESS},
        {"how to find it", "caregiver.directions"},
        {"telephone", ID_CAREGIVER_PHONE},
        {"CAUTION", "dog.cautions"},
        {"handling", "dog.temper"},
        {"other animals", "call.animals"},
        {"to bring", "call.take_along"},
        {"they have ready", "call.bring_reports"},
        {"language of the sheets", "caregiver.language"},
    };
    const char *at = record_text(&c->visit, ID_VISIT_DAY), *hour = strchr(at, 'T');
    const char *kind = record_text(&c->visit, ID_VISIT_KIND);
    sheet_addf(s, SHEET_HEADING, "%s  %s, %s%s", hour != NULL ? hour + 1 : "no hour", letter_dog(c),
               chart_signalment(c), strcmp(kind, "review") == 0 ? "  (review)" : "");
    const char *name = record_text(&c->caregiver, ID_CAREGIVER_NAME);
    if (*name)
        sheet_add(s, SHEET_TEXT, name);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        put_answer(c, s, rows[i].label, rows[i].item);
}

/* All that the day's visits want in the car, to be ticked once in the morning. */
struct car {
    const struct item *item; /* NULL: this practice does not ask */
    bool wanted[ITEM_CHOICES_MOST];
};

static void load_car(struct car *car, const char *ids)
{
    for (const char *p = ids != NULL ? ids : ""; *p != '\0'; p += strspn(p, " ")) {
        size_t n = strcspn(p, " ");
        for (size_t i = 0; car->item != NULL && i < car->item->choice_count; i++) {
            const char *id = car->item->choices[i].id;
            if (i < ITEM_CHOICES_MOST && strlen(id) == n && strncmp(id, p, n) == 0)
                car->wanted[i] = true;
        }
        p += n;
    }
}

static void put_car(const struct car *car, struct sheet *s)
{
    bool headed = false;
    for (size_t i = 0; car->item != NULL && i < car->item->choice_count && i < ITEM_CHOICES_MOST;
         i++) {
        if (!car->wanted[i])
            continue;
        if (!headed)
            sheet_add(s, SHEET_HEADING, "In the car");
        headed = true;
        sheet_add(s, SHEET_BOX, car->item->choices[i].label);
    }
}

static bool put_visits(struct casebook *cb, struct arena *a, day_number day, struct sheet *s,
                       struct fault *f)
{
    char from[CLOCK_ROOM], to[CLOCK_ROOM];
    struct ids found;
    struct car car = {.item = template_item(cb->set, "call.take_along")};
    size_t n = 0;
    if (!journal_by_range(cb->journal, a, ID_VISIT_DAY, clock_iso_day(day, from),
                          clock_iso_day(day + 1, to), VISITS_MOST, &found, f))
        return false;
    for (size_t i = 0; i < found.count; i++) {
        struct chart c;
        if (!chart_load(cb, a, found.uuids[i], &c, f))
            return false;
        if (record_signed(&c.visit) || case_closed(&c))
            continue;
        put_call_on(&c, s);
        load_car(&car, chart_fact(&c, "call.take_along"));
        n++;
    }
    if (n == 0)
        sheet_add(s, SHEET_TEXT, "No visit is booked.");
    put_car(&car, s);
    return true;
}

bool day_sheet(struct casebook *cb, struct arena *a, day_number day, struct sheet **out,
               struct fault *f)
{
    char words[CLOCK_ROOM];
    struct today today = {0};
    struct sheet *s =
        begin(cb->set, a, arena_printf(a, "Day sheet\n%s", clock_long(day, words)), "Day sheet");
    if (!put_visits(cb, a, day, s, f))
        return false;
    if (day == clock_today() && !today_look(cb, a, &today, f))
        return false;
    for (size_t i = 0; day == clock_today() && i < today.count; i++) {
        const struct due *d = &today.rows[i];
        if (d->kind == DUE_VISIT || d->kind == DUE_CONFLICT || d->kind == DUE_RECENT)
            continue; /* the visits stand above, the others are for the screen */
        if (i == 0 || today.rows[i - 1].kind != d->kind)
            sheet_add(s, SHEET_HEADING, due_heading(d->kind));
        sheet_addf(s, SHEET_BOX, "%s  %s, %s", d->when, d->who, d->what);
    }
    *out = s;
    return true;
}

/* ---- the report ------------------------------------------------------------------------------ */

static void put_trends(const struct past *p, struct sheet *s)
{
    const struct trend_view *views;
    size_t n = trends_look(p, &views);
    bool any = false;
    for (size_t i = 0; i < n; i++) {
        if (!views[i].solved)
            continue;
        if (!any)
            sheet_add(s, SHEET_HEADING, "Over the visits");
        any = true;
        sheet_addf(s, SHEET_BULLET, "%s: %s. %s.", views[i].of->label, views[i].words,
                   trend_speed(&views[i], p->chart->arena));
        if (*views[i].marks != '\0')
            sheet_add(s, SHEET_UNDER, views[i].marks);
    }
}

/* The stages that a value of this dog has opened, and what is planned. */
static void put_stages(const struct past *p, struct sheet *s)
{
    const struct trend_view *views;
    size_t n = trends_look(p, &views);
    for (size_t i = 0; i < n; i++)
        if (*views[i].plan)
            sheet_addf(s, SHEET_BULLET, "to plan: %s (%s)", views[i].plan,
                       trend_opened(&views[i], p->chart->arena));
    struct axle_plan axle;
    if (axle_plan_look(p, &axle))
        sheet_addf(s, SHEET_BULLET, "axle %s: %s (%s)", axle.step, axle.leads_to, axle.because);
    const char *planned = past_value(p, "next_stage");
    if (planned != NULL)
        sheet_addf(s, SHEET_BULLET, "planned with the owner: %s", planned);
}

static void put_plan(const struct past *p, struct sheet *s)
{
    struct review_plan plan;
    char day[CLOCK_ROOM];
    review_plan(p, &plan);
    if (!plan.planned && !plan.culture)
        return;
    sheet_add(s, SHEET_HEADING, "Next");
    if (plan.planned)
        sheet_addf(s, SHEET_BULLET, "review on %s (%s)", clock_long(plan.due, day),
                   plan.step->label);
    if (plan.culture)
        sheet_addf(s, SHEET_BULLET, "urine culture on %s", clock_long(plan.culture_due, day));
    put_stages(p, s);
}

bool report_sheet(const struct chart *c, struct sheet **out, struct fault *f)
{
    struct past past;
    struct deciding d;
    if (c->visit.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no visit to report on");
    if (!past_load(c, &past, f))
        return false;
    struct sheet *s = letter_begin(c, "Report to the vet of record");
    const char *vet = record_text(&c->dog, "dog.vet_of_record");
    sheet_addf(s, SHEET_TEXT, "To: %s %s", *vet ? vet : "__________",
               record_text(&c->dog, "dog.vet_phone"));
    sheet_addf(s, SHEET_TEXT, "The visit is %s. This report does not replace your own examination.",
               letter_signed(c));
    deciding_look(c, &d);
    if (d.stands != NULL)
        sheet_addf(s, SHEET_TEXT, "Support decided on%s: %s%s%s.",
                   d.decided == NULL ? " at an earlier visit" : "", d.stands->label,
                   *d.mark != '\0' ? "; " : "", d.mark);
    put_trends(&past, s);
    put_plan(&past, s);
    visit_body(c, PAST_AFTER_SIGNING, s);
    letter_end(c, s);
    *out = s;
    return true;
}

/* ---- the whole record ------------------------------------------------------------------------ */

bool whole_sheet(const struct chart *c, struct sheet **out, struct fault *f)
{
    if (c->dog.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no dog whose record could be written");
    char today[CLOCK_ROOM];
    struct sheet *s = letter_begin_on(c, "Whole record", clock_iso_day(clock_today(), today));
    sheet_add(
        s, SHEET_TEXT,
        "Everything that this practice holds about the dog, oldest visit first, for its owner "
        "and for whoever cares for it next.");
    who_body(c, PAST_ALL, s);
    for (size_t i = 0; i < c->visit_count; i++) {
        struct chart visit;
        struct given given;
        if (!chart_load(c->cb, c->arena, c->visits[i], &visit, f))
            return false;
        sheet_addf(s, SHEET_HEADING, "VISIT %zu, %s, %s", i + 1, letter_day(&visit),
                   letter_signed(&visit));
        visit_body(&visit, PAST_ALL, s);
        if (given_look(&visit, &given))
            sheet_addf(s, SHEET_PLAIN, "Handed over (%s, %s):\n%s", given.name,
                       given.whole ? "as it was kept" : "NOT as it was kept", given.text);
    }
    *out = s;
    return true;
}

/* ---- blank forms ----------------------------------------------------------------------------- */

static void put_blank(struct sheet *s, const struct item *i)
{
    static const char line[] = "______________________________";
    struct text row;
    if (*i->heading)
        sheet_add(s, SHEET_HEADING, i->heading);
    text_init(&row, 4000);
    text_addf(&row, "%s  ", i->label);
    if (i->kind == ITEM_YESNO)
        text_add(&row, "[_] yes  [_] no  [_] not known");
    else if (i->choice_count > 0)
        for (size_t k = 0; k < i->choice_count; k++)
            text_addf(&row, "[_] %s  ", i->choices[k].label);
    else if (i->kind == ITEM_SCORE)
        text_add(&row, "____ of ____");
    else
        text_addf(&row, "%s %s", line, i->unit != NULL ? i->unit->name : "");
    sheet_add(s, SHEET_BULLET, row.s);
    if (i->kind == ITEM_NOTE)
        sheet_addf(s, SHEET_TEXT, "%s%s\n%s%s", line, line, line, line);
    text_free(&row);
}

static void put_blank_measures(const struct template_set *set, struct sheet *s)
{
    sheet_add(s, SHEET_HEADING, "Measures");
    sheet_add(s, SHEET_TEXT,
              "[_] feet flat  [_] topline level  [_] head forward  [_] nobody lifting. Snug, "
              "straight lines; each twice, a third when two part.");
    sheet_addf(s, SHEET_PLAIN, "%-32s%12s%12s%12s", "", "1st", "2nd", "3rd");
    for (size_t i = 0; i < set->measure_count; i++) {
        struct text row;
        text_init(&row, 200);
        text_addf(&row, "%s, %s", set->measures[i].label,
                  measure_unit(set, &set->measures[i])->name);
        text_pad(&row, 32);
        text_addf(&row, "%12s%12s%12s", "________", "________", "________");
        sheet_add(s, SHEET_PLAIN, row.s);
        text_free(&row);
    }
}

/* Without the program nobody weighs the answers: what makes an emergency stands beside them. */
static void put_emergencies(const struct template_set *set, struct sheet *s)
{
    sheet_add(s, SHEET_HEADING, "Not a home visit: to a clinic now");
    for (size_t i = 0; i < set->triage.rule_count; i++) {
        const struct triage_rule *rule = &set->triage.rules[i];
        if (rule->urgency == URGENCY_EMERGENCY)
            sheet_addf(s, SHEET_BOX, "%s. %s", rule->reason, rule->advice);
    }
}

static void put_blank_teaching(const struct template_set *set, struct sheet *s)
{
    for (size_t i = 0; i < set->checklist_count; i++) {
        const struct checklist *list = &set->checklists[i];
        sheet_addf(s, SHEET_HEADING, "Teaching: %s  (told, shown, done back)", list->title);
        for (size_t k = 0; k < list->item_count; k++)
            sheet_addf(s, SHEET_BULLET, "[_] [_] [_]  %s", list->items[k].label);
    }
}

bool blank_sheet(struct casebook *cb, struct arena *a, const char *form, struct sheet **out,
                 struct fault *f)
{
    const struct template_set *set = cb->set;
    if (*form && template_form(set, form) == NULL)
        return fail(f, FAULT_MISSING, "the practice has no form \"%s\"", form);
    struct sheet *s =
        begin(set, a, "Forms to fill in by hand",
              arena_printf(a, "In an emergency ring %s", set->practice.emergency_phone));
    sheet_add(s, SHEET_PLAIN,
              "Dog ______________________  Caregiver ______________________  Day __________");
    for (size_t i = 0; i < set->form_count; i++) {
        if (*form && strcmp(set->forms[i].id, form) != 0)
            continue;
        sheet_add(s, SHEET_HEADING, set->forms[i].title);
        for (size_t k = 0; k < set->forms[i].item_count; k++)
            put_blank(s, &set->forms[i].items[k]);
        if (set->forms[i].place == PLACE_CALL_FLAGS)
            put_emergencies(set, s);
    }
    if (!*form) {
        put_blank_measures(set, s);
        put_blank_teaching(set, s);
    }
    *out = s;
    return true;
}
