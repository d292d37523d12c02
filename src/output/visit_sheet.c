/* The visit for a colleague, and the referral note: every finding with who and when. */
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "base/units.h"
#include "casebook/cautions.h"
#include "casebook/deciding.h"
#include "casebook/fitting.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/review.h"
#include "casebook/teaching.h"
#include "casebook/triage.h"
#include "output/care.h"
#include "output/findings.h"
#include "output/letter.h"
#include "output/papers.h"
#include <math.h>
#include <string.h>

/* ---- what follows from them ------------------------------------------------------------------ */

static void put_verdict(const struct chart *c, struct sheet *s)
{
    struct verdict v;
    triage_judge(c, &v);
    sheet_addf(s, SHEET_HEADING, "Call: %s", urgency_word(v.urgency));
    sheet_add(s, SHEET_TEXT, v.words);
    for (size_t i = 0; i < v.reason_count; i++) {
        const struct triage_reason *r = &v.reasons[i];
        sheet_addf(s, SHEET_BULLET, "%s (%s)", r->rule->reason, r->because);
        if (*r->rule->advice)
            sheet_addf(s, SHEET_TEXT, "Told to the caller: %s", r->rule->advice);
    }
    for (size_t i = 0; i < v.open_count; i++)
        sheet_addf(s, SHEET_BULLET, "not asked: %s", v.open[i]);
}

static const char *verdict_word(enum beside b)
{
    static const char *const words[] = {
        [BESIDE_NONE] = "", [BESIDE_USUAL] = "usual", [BESIDE_LOW] = "low", [BESIDE_HIGH] = "high"};
    return words[b];
}

/* Initials of who read last; "both" when a reading is disputed: who and what stand below it. */
static const char *reader(const struct chart *c, const struct measure *m)
{
    const char *who = "";
    for (int i = 1; i <= READINGS_MOST; i++) {
        const struct finding *f = record_find(&c->visit, reading_item(c->arena, m, i));
        if (f && f->other_count > 0)
            return "both";
        if (f)
            who = author_initials(c->cb, c->arena, f->author);
    }
    return who;
}

static void put_measure(const struct chart *c, struct sheet *s, const struct measure_row *row)
{
    const struct template_set *set = c->cb->set;
    const char *cells[READINGS_MOST];
    for (int i = 0; i < READINGS_MOST; i++)
        cells[i] = row->have[i] ? reading_show(set, row->measure, row->readings[i], c->arena)
                   : row->third_wanted && i == READINGS_MOST - 1 ? "wanted"
                                                                 : "";
    struct text line;
    text_init(&line, 400);
    text_addf(&line, "%s, %s", row->measure->label, measure_unit(set, row->measure)->name);
    text_pad(&line, 30);
    text_addf(&line, " %6s %6s %6s  %6s  %-5s %s%s", cells[0], cells[1], cells[2],
              row->third_wanted ? "waits" : reading_show(set, row->measure, row->used, c->arena),
              verdict_word(row->verdict), reader(c, row->measure),
              row->accepted ? ", checked" : "");
    sheet_add(s, SHEET_PLAIN, line.s);
    text_free(&line);
    const char *mark = measure_mark(c, row->measure);
    if (*mark != '\0')
        sheet_add(s, SHEET_BULLET, mark);
}

static void put_measures(const struct chart *c, struct sheet *s)
{
    struct measuring m;
    measuring_look(c, &m);
    bool headed = false;
    for (size_t i = 0; i < m.count; i++) {
        if (m.rows[i].count == 0)
            continue;
        if (!headed) {
            sheet_add(s, SHEET_HEADING, "Measures");
            sheet_addf(s, SHEET_PLAIN, "%-30s %6s %6s %6s  %6s  %-5s %s", "", "1st", "2nd", "3rd",
                       "used", "ratio", "by");
        }
        headed = true;
        put_measure(c, s, &m.rows[i]);
    }
    if (headed && m.suspect < m.count)
        sheet_addf(s, SHEET_TEXT, "Most likely wrong: %s (%.0f in 100)%s%s.",
                   m.rows[m.suspect].measure->label, 100 * m.suspect_share,
                   m.cause ? "; usually " : "", m.cause ? m.cause->text : "");
}

static const char *support_named(const struct chart *c, const char *id)
{
    const struct support *s = template_support(c->cb->set, id);
    return s ? s->label : "none";
}

/* Two people decided apart, and neither is told as the decision. */
static bool put_disputed(const struct chart *c, const struct deciding *d, struct sheet *s)
{
    const struct finding *f = d->finding;
    if (!f || f->other_count == 0)
        return false;
    const char *said = support_named(c, f->text);
    for (size_t i = 0; i < f->other_count; i++)
        said = arena_printf(c->arena, "%s or %s", said, support_named(c, f->others[i]));
    sheet_addf(s, SHEET_TEXT, "Not settled: %s. A veterinarian decides.", said);
    return true;
}

/* What speaks for and against the one decided on, then what is forbidden; each rule once. */
static void put_support(const struct chart *c, struct sheet *s)
{
    static const char *const effects[] = {
        [EFFECT_PROPOSES] = "for", [EFFECT_WARNS] = "with care", [EFFECT_FORBIDS] = "against"};
    struct deciding d;
    const struct caution *cautions;
    deciding_look(c, &d);
    sheet_add(s, SHEET_HEADING, "Support");
    bool disputed = put_disputed(c, &d, s);
    if (d.decided && !disputed)
        sheet_addf(s, SHEET_TEXT, "Decided: %s%s%s. A veterinarian decides; decided by %s.",
                   d.decided->label, d.override ? ", against a rule, because: " : "",
                   d.override ? d.override_reason : "", *d.signed_by ? d.signed_by : "?");
    else if (d.stands && !disputed)
        sheet_addf(s, SHEET_TEXT, "As decided at an earlier visit: %s. A veterinarian decides.",
                   d.stands->label);
    else if (!disputed)
        sheet_add(s, SHEET_TEXT, "Not decided. A veterinarian decides.");
    if (*d.mark != '\0')
        sheet_addf(s, SHEET_BULLET, "the decision: %s", d.mark);
    for (size_t i = 0; i < d.count; i++)
        for (size_t k = 0; d.views[i].support == d.stands && k < d.views[i].reason_count; k++) {
            const struct support_reason *r = &d.views[i].reasons[k];
            sheet_addf(s, SHEET_BULLET, "%s: %s (%s)", effects[r->rule->effect], r->rule->reason,
                       r->because);
        }
    size_t n = cautions_look(c, &cautions);
    for (size_t i = 0; i < n && cautions[i].forbids; i++)
        sheet_addf(s, SHEET_BULLET, "FORBIDDEN, %s: %s (%s)", cautions[i].supports,
                   cautions[i].reason, cautions[i].because);
}

static const char *fit_remark(const struct fitting *fit, size_t i)
{
    const struct fit_row *row = &fit->rows[i];
    return i == fit->chosen           ? "chosen"
           : i == fitting_stands(fit) ? "stands here"
           : row->tip_short           ? "tips on the ramp"
           : row->grip_short          ? "slips on the ramp"
           : row->over_relief         ? "over the ceiling"
           : i == fit->proposed       ? "proposed"
                                      : "";
}

static void put_fit_row(const struct fitting *fit, size_t i, struct sheet *s)
{
    enum { COLUMNS = 6 };
    const struct fit_row *row = &fit->rows[i];
    const struct balance_out *b = &row->out;
    const struct {
        double value;
        int decimals;
    } columns[COLUMNS] = {
        {row->axle_mm, 0},          {b->fore_load_n / STANDARD_GRAVITY, 1},
        {100 * b->relief, 0},       {b->bar_load_n / STANDARD_GRAVITY, 1},
        {b->traction_limit_deg, 0}, {b->uphill_limit_deg, 0},
    };
    struct text line;
    char number[32];
    text_init(&line, 200);
    for (size_t k = 0; k < (row->refused ? 1 : COLUMNS); k++)
        text_addf(
            &line, "%10s",
            number_format(columns[k].value, columns[k].decimals, true, number, sizeof number));
    text_addf(&line, "  %s", row->refused ? row->why : fit_remark(fit, i));
    sheet_add(s, SHEET_PLAIN, line.s);
    text_free(&line);
}

static void put_fit(const struct chart *c, struct sheet *s)
{
    struct fitting fit;
    fitting_look(c, &fit);
    if (fit.frame == NULL || fit.count == 0)
        return;
    sheet_addf(s, SHEET_HEADING, "Fit: %s", fit.frame->label);
    sheet_addf(
        s, SHEET_TEXT,
        "Worked out, not measured; share on the fore feet: %s. Forward-set wheels "
        "unload the shoulders and cost grip and tip margin. Bar: + presses on the shoulders, "
        "- lifts.",
        fit.fore_share_from);
    sheet_addf(s, SHEET_PLAIN, "%10s%10s%10s%10s%10s%10s", "axle mm", "fore kg", "relief %",
               "bar kg", "grips deg", "tips deg");
    for (size_t i = 0; i < fit.count; i++)
        put_fit_row(&fit, i, s);
}

/* What was taught, list by list; what was not is counted, and named where it is a danger sign. */
static void put_teaching(const struct chart *c, struct sheet *s)
{
    struct teaching t;
    teaching_look(c, &t);
    const struct checklist *list = NULL;
    size_t danger = 0;
    for (size_t i = 0; i < t.count; i++) {
        const struct teach_row *row = &t.rows[i];
        danger += row->item->danger && row->state == TAUGHT_NOT && row->before == TAUGHT_NOT;
        if (row->state == TAUGHT_NOT && *row->mark == '\0')
            continue;
        if (row->list != list)
            sheet_addf(s, SHEET_HEADING, "Taught: %s", row->list->title);
        list = row->list;
        sheet_addf(s, SHEET_BULLET, "%s: %s%s%s%s%s", row->item->label,
                   row->state == TAUGHT_NOT ? "not taught" : taught_word(row->state),
                   *row->by ? ", " : "", row->by, *row->mark ? "; " : "", row->mark);
    }
    if (t.done == t.count || case_closed(c)) /* who mourns reads no list of what was left out */
        return;
    const char *untold =
        danger > 0 ? arena_printf(c->arena, "; no visit has taught %zu of the danger signs", danger)
                   : "";
    if (t.done == 0)
        sheet_addf(s, SHEET_TEXT, "Nothing was taught at this visit%s.", untold);
    else
        sheet_addf(s, SHEET_TEXT, "%zu of %zu points were not taught at this visit%s.",
                   t.count - t.done, t.count, untold);
}

/* ---- the sheets ------------------------------------------------------------------------------ */

void visit_body(const struct chart *c, enum past_told past, struct sheet *s)
{
    struct writing w = {.c = c, .s = s, .past = past};
    write_forms(&w, "visit");
    put_measures(c, s);
    put_support(c, s);
    put_fit(c, s);
    put_teaching(c, s);
    write_others(&w, &c->visit);
}

void who_body(const struct chart *c, enum past_told past, struct sheet *s)
{
    struct writing w = {.c = c, .s = s, .past = past};
    if (c->call.entity) {
        put_verdict(c, s);
        write_forms(&w, "call");
    }
    write_forms(&w, "caregiver");
    write_forms(&w, "dog");
    const struct record *all[] = {&c->call, &c->caregiver, &c->dog};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        write_others(&w, all[i]);
}

bool visit_sheet(const struct chart *c, struct sheet **out, struct fault *f)
{
    (void)f;
    struct sheet *s = letter_begin(c, c->visit.entity  ? "Visit"
                                      : c->call.entity ? "Call"
                                                       : "Record");
    if (c->visit.entity)
        sheet_addf(s, SHEET_TEXT, "The visit is %s.", letter_signed(c));
    who_body(c, PAST_AFTER_SIGNING, s);
    if (c->visit.entity)
        visit_body(c, PAST_AFTER_SIGNING, s);
    *out = s;
    return true;
}

/* Flags by their answer: what is there first. */
static void put_flags(const struct chart *c, struct sheet *s)
{
    static const struct {
        const char *value, *heading;
    } groups[] = {{"yes", "Answered yes"}, {"unknown", "Not known"}, {"no", "Answered no"}};
    const struct template_set *set = c->cb->set;
    for (size_t g = 0; g < sizeof groups / sizeof *groups; g++) {
        bool headed = false;
        for (size_t i = 0; i < set->form_count; i++)
            for (size_t k = 0;
                 set->forms[i].place == PLACE_CALL_FLAGS && k < set->forms[i].item_count; k++) {
                const struct finding *f = record_find(&c->call, set->forms[i].items[k].id);
                if (f == NULL || f->other_count > 0 || strcmp(f->text, groups[g].value) != 0)
                    continue;
                if (!headed)
                    sheet_add(s, SHEET_HEADING, groups[g].heading);
                headed = true;
                sheet_add(s, SHEET_BULLET, set->forms[i].items[k].label);
            }
    }
}

/* Whom the clinic rings, and when the call came: above all else. */
static void put_caller(const struct chart *c, struct sheet *s)
{
    const struct practice *p = &c->cb->set->practice;
    const char *at = record_text(&c->call, ID_CALL_AT), *hour = strchr(at, 'T');
    const char *name = record_text(&c->call, ID_CALL_NAME);
    const char *phone = record_text(&c->call, ID_CALL_PHONE);
    sheet_addf(s, SHEET_TEXT, "The owner: %s, telephone %s.", *name ? name : "__________",
               *phone ? phone : "__________");
    sheet_addf(s, SHEET_TEXT, "The call came on %s%s%s. Questions to us: %s.",
               letter_iso_day(c->arena, at), hour != NULL ? " at " : "",
               hour != NULL ? hour + 1 : "", p->phone);
}

bool referral_sheet(const struct chart *c, struct sheet **out, struct fault *f)
{
    if (c->call.entity == NULL)
        return fail(f, FAULT_MISSING,
                    "no call belongs to this record: there is nothing to refer from");
    struct sheet *s = letter_begin_on(c, "Referral note", record_text(&c->call, ID_CALL_AT));
    struct writing w = {.c = c, .s = s};
    sheet_add(
        s, SHEET_TEXT,
        "Answers given on the telephone; nobody of this practice has examined the dog for this "
        "note. A veterinarian decides what is to be done.");
    put_caller(c, s);
    put_verdict(c, s);
    put_flags(c, s);
    write_forms_but(&w, "call", PLACE_CALL_FLAGS);
    write_forms(&w, "caregiver");
    write_forms(&w, "dog");
    letter_end(c, s);
    *out = s;
    return true;
}
