#include "output/care.h"
#include "base/arena.h"
#include "base/text.h"
#include "casebook/because.h"
#include "casebook/deciding.h"
#include "casebook/ids.h"
#include "casebook/past.h"
#include "casebook/teaching.h"
#include "output/letter.h"
#include "output/tongue.h"
#include "template/placeholders.h"
#include <string.h>

struct maker {
    const struct chart *c;
    const struct handout *handout;
    struct tongue tongue;
    struct past past;
    struct facts facts;
    struct teaching taught;
    struct deciding deciding;
    struct sheet *sheet;
};

/* What the sheet says in its language: of = "support.stepped". */
static const char *words(const struct maker *m, const char *space, const char *id,
                         const char *english)
{
    return template_say(m->c->cb->set, m->tongue.language,
                        arena_printf(m->c->arena, "%s.%s", space, id), english);
}

/* To be filled in by hand: what nobody recorded must not read as if it were empty. */
static const char blank_line[] = "__________";

/* ---- what was decided ------------------------------------------------------------------------ */

/* Two people decided differently, and nobody has settled it. */
static bool vets_differ(const struct maker *m)
{
    return m->deciding.finding != NULL && m->deciding.finding->other_count > 0;
}

/* The answers that stand, from 0; NULL after the last. "" is an answer that was taken back. */
static const char *decision(const struct maker *m, size_t i)
{
    const struct finding *f = m->deciding.finding;
    return i == 0 ? f->text : i <= f->other_count ? f->others[i - 1] : NULL;
}

static const char *decision_label(const struct maker *m, const char *id)
{
    const struct support *s = template_support(m->c->cb->set, id);
    return *id == '\0' ? tongue_phrase(&m->tongue, PHRASE_NO_SUPPORT)
                       : words(m, "support", id, s != NULL ? s->label : id);
}

/* The findings, read as if one of the answers had been decided on. */
struct supposed {
    const struct maker *m;
    const struct support *support; /* NULL: none */
};

static const char *supposed_fact(const void *of, const char *item)
{
    const struct supposed *x = of;
    if (strcmp(item, ID_SUPPORT) == 0)
        return x->support != NULL ? x->support->id : NULL;
    if (strcmp(item, "support_fitted") == 0)
        return x->support == NULL ? NULL : x->support->fitted ? "yes" : "no";
    return past_value(&x->m->past, item);
}

/* While the vets differ, what is told holds whichever of them is right; what is warned of (`any`)
 * holds for one of them at least. */
static bool holds(const struct maker *m, const struct condition *when, bool any)
{
    if (!vets_differ(m))
        return condition_holds(when, &m->facts, NULL);
    const char *id;
    for (size_t i = 0; (id = decision(m, i)) != NULL; i++) {
        struct supposed x = {m, template_support(m->c->cb->set, id)};
        if (condition_holds(when, &(struct facts){supposed_fact, &x}, NULL) == any)
            return any;
    }
    return !any;
}

/* ---- placeholders ---------------------------------------------------------------------------- */

static const char *support_label(const struct maker *m)
{
    const struct support *s = m->deciding.stands;
    if (!vets_differ(m))
        return s != NULL ? words(m, "support", s->id, s->label) : "";
    const char *all = decision_label(m, decision(m, 0)), *id;
    for (size_t i = 1; (id = decision(m, i)) != NULL; i++)
        all = arena_printf(m->c->arena, "%s, %s %s", all, tongue_phrase(&m->tongue, PHRASE_OR),
                           decision_label(m, id));
    return arena_printf(m->c->arena, "%s (%s)", all, tongue_phrase(&m->tongue, PHRASE_NOT_SETTLED));
}

static const char *text_of(const struct record *r, const char *item)
{
    return r->entity ? record_text(r, item) : "";
}

static const char *named_value(const struct maker *m, const char *name)
{
    const struct chart *c = m->c;
    const struct practice *p = &c->cb->set->practice;
    const struct {
        const char *name, *value;
    } known[] = {
        {"practice.name", p->name},
        {"practice.address", p->address},
        {"practice.phone", p->phone},
        {"practice.emergency_phone", p->emergency_phone},
        {"practice.email", p->email},
        {"practice.scope_note", p->scope_note},
        {"dog.name", letter_dog_in(c, m->tongue.language)},
        {"dog.signalment", chart_signalment_in(c, m->tongue.language)},
        {"caregiver.name", text_of(&c->caregiver, ID_CAREGIVER_NAME)},
        {"visit.date", letter_day_in(c, m->tongue.language)},
        {"practitioner.name", letter_author(c)},
        {"support.label", support_label(m)},
    };
#define X(placeholder, told) placeholder,
    static const char *const declared[] = {PLACEHOLDERS(X)};
    _Static_assert(sizeof known / sizeof known[0] == sizeof declared / sizeof declared[0],
                   "each placeholder has its value");
#undef X
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strcmp(known[i].name, name) == 0)
            return known[i].value;
    return "";
}

static const char *item_value(const struct maker *m, const char *id)
{
    const struct chart *c = m->c;
    const struct item *item = template_item(c->cb->set, id);
    const struct chart *at = past_visit(&m->past, id);
    const struct finding *found = chart_finding(at != NULL ? at : c, id);
    const char *value = past_value(&m->past, id);
    bool own = false;
    if (item != NULL && found != NULL && found->other_count > 0)
        return tongue_answer(&m->tongue, item, found, &own);
    return item && value && *value ? tongue_value(&m->tongue, item, value, &own) : "";
}

static const char *fill(const struct maker *m, const char *s)
{
    static const char item_prefix[] = "item:";
    struct text out;
    text_init(&out, 64 * 1024);
    for (const char *open; (open = strchr(s, '{')) != NULL;) {
        size_t n = strcspn(open + 1, "{}");
        text_addn(&out, s, (size_t)(open - s));
        if (open[1 + n] != '}') { /* no placeholder: a brace */
            text_addc(&out, '{');
            s = open + 1;
            continue;
        }
        const char *name = arena_strn(m->c->arena, open + 1, n);
        const char *value = text_starts(name, item_prefix)
                                ? item_value(m, name + sizeof item_prefix - 1)
                                : named_value(m, name);
        text_add(&out, *value ? value : blank_line);
        s = open + n + 2;
    }
    text_add(&out, s);
    const char *filled = arena_str(m->c->arena, out.s);
    text_free(&out);
    return filled;
}

/* ---- the parts of a handout ------------------------------------------------------------------ */

/* A heading is only written once something stands under it. */
static void heading_once(struct maker *m, const char **heading)
{
    if (*heading && **heading)
        sheet_add(m->sheet, SHEET_HEADING, fill(m, *heading));
    *heading = NULL;
}

static void put_line(struct maker *m, const struct handout_line *line)
{
    static const char box[] = "[ ] ";
    if (*line->text == '\0')
        sheet_add(m->sheet, SHEET_BLANK, "");
    else if (text_starts(line->text, box))
        sheet_add(m->sheet, SHEET_BOX, fill(m, line->text + sizeof box - 1));
    else
        sheet_add(m->sheet, line->bullet ? SHEET_BULLET : SHEET_TEXT, fill(m, line->text));
}

static void put_lines(struct maker *m, const struct handout_part *part)
{
    const char *heading = part->heading;
    for (size_t i = 0; i < part->line_count; i++) {
        const struct handout_line *line = &part->lines[i];
        if (!holds(m, line->when, false))
            continue;
        heading_once(m, &heading);
        put_line(m, line);
    }
}

/* What is not in the sheet's language says so. */
static const char *own_words(const struct maker *m, bool own)
{
    return own ? arena_printf(m->c->arena, " (%s)", tongue_phrase(&m->tongue, PHRASE_OWN_WORDS))
               : "";
}

/* Who and why stand in the record; whoever has an older sheet sees here that this is not the same,
 * and nobody takes one of two answers for what was agreed. */
static const char *changed(const struct maker *m, const char *item)
{
    const struct finding *f = record_find(&m->c->visit, item);
    if (f == NULL || (!f->amended && f->other_count == 0))
        return "";
    return arena_printf(
        m->c->arena, " (%s)",
        tongue_phrase(&m->tongue, f->other_count > 0 ? PHRASE_NOT_SETTLED : PHRASE_CHANGED));
}

static void put_findings(struct maker *m, const char *heading)
{
    const struct template_set *set = m->c->cb->set;
    for (size_t i = 0; i < set->form_count; i++) {
        const struct record *r = letter_record(m->c, &set->forms[i]);
        for (size_t k = 0; r && k < set->forms[i].item_count; k++) {
            const struct item *item = &set->forms[i].items[k];
            const struct finding *f = item->on_sheet ? record_find(r, item->id) : NULL;
            if (f == NULL || (*f->text == '\0' && f->other_count == 0))
                continue;
            heading_once(m, &heading);
            bool own;
            const char *answer = tongue_answer(&m->tongue, item, f, &own);
            sheet_addf(m->sheet, SHEET_BULLET, "%s%s: %s%s",
                       words(m, "item", item->id, item->sheet_label), own_words(m, own), answer,
                       f->other_count > 0 ? "" : changed(m, item->id));
        }
    }
}

/* The line of a point that is taught. */
static const char *taught_line(const struct maker *m, const struct checklist *list,
                               const struct teach_item *item)
{
    return fill(m, words(m, list->id, item->id, item->sheet));
}

static void put_danger(struct maker *m, const char *heading)
{
    const struct template_set *set = m->c->cb->set;
    for (size_t i = 0; i < set->checklist_count; i++) {
        const struct checklist *list = &set->checklists[i];
        for (size_t k = 0; holds(m, list->shown_when, true) && k < list->item_count; k++) {
            const struct teach_item *item = &list->items[k];
            if (!item->danger || *item->sheet == '\0' || !holds(m, item->shown_when, true))
                continue;
            heading_once(m, &heading);
            sheet_add(m->sheet, SHEET_BULLET, taught_line(m, list, item));
        }
    }
}

static bool wanted(const struct handout_part *part, const struct checklist *list)
{
    for (size_t i = 0; i < part->only_count; i++)
        if (strcmp(part->only[i], list->id) == 0)
            return true;
    return part->only_count == 0;
}

/* Checklist by checklist; a part for one checklist has the part's own heading, others get that of
 * each list. */
static void put_taught(struct maker *m, const struct handout_part *part)
{
    const char *heading = part->heading;
    const struct checklist *list = NULL;
    for (size_t i = 0; i < m->taught.count; i++) {
        const struct teach_row *row = &m->taught.rows[i];
        bool taught = row->state != TAUGHT_NOT || row->before != TAUGHT_NOT;
        if (!taught || row->item->danger || *row->item->sheet == '\0' || !wanted(part, row->list) ||
            !holds(m, row->list->shown_when, false) || !holds(m, row->item->shown_when, false))
            continue;
        heading_once(m, &heading);
        if (row->list != list && (part->only_count != 1 || *part->heading == '\0'))
            sheet_add(
                m->sheet, SHEET_HEADING,
                template_say(m->c->cb->set, m->tongue.language, row->list->id, row->list->title));
        list = row->list;
        sheet_addf(m->sheet, SHEET_BULLET, "%s%s", taught_line(m, row->list, row->item),
                   changed(m, row->key));
    }
}

/* What speaks against a support, or asks for care with it. */
static void put_cautions(struct maker *m, const struct support *s, enum sheet_line kind)
{
    const struct deciding *d = &m->deciding;
    for (size_t i = 0; i < d->count; i++)
        for (size_t k = 0; d->views[i].support == s && k < d->views[i].reason_count; k++)
            if (d->views[i].reasons[k].rule->effect != EFFECT_PROPOSES)
                sheet_addf(m->sheet, kind, "%s: %s", tongue_phrase(&m->tongue, PHRASE_CARE),
                           words(m, "rule", d->views[i].reasons[k].rule->id,
                                 d->views[i].reasons[k].rule->reason));
}

/* None of them is what was agreed; each with what speaks against it. */
static void put_both(struct maker *m)
{
    sheet_add(m->sheet, SHEET_TEXT, tongue_phrase(&m->tongue, PHRASE_VETS_DIFFER));
    const char *id;
    for (size_t i = 0; (id = decision(m, i)) != NULL; i++) {
        const struct support *s = template_support(m->c->cb->set, id);
        const char *summary = s != NULL ? words(m, "summary", s->id, s->summary) : "";
        sheet_addf(m->sheet, SHEET_BULLET, "%s%s%s", decision_label(m, id),
                   *summary != '\0' ? ": " : "", summary);
        put_cautions(m, s, SHEET_UNDER);
    }
}

/* What was decided, and everything that speaks against it or asks for care. */
static void put_support(struct maker *m, const char *heading)
{
    const struct support *s = m->deciding.stands;
    heading_once(m, &heading);
    if (vets_differ(m)) {
        put_both(m);
        return;
    }
    if (s == NULL) {
        sheet_add(m->sheet, SHEET_TEXT, tongue_phrase(&m->tongue, PHRASE_NO_SUPPORT));
        return;
    }
    sheet_addf(m->sheet, SHEET_TEXT, "%s%s%s%s", words(m, "support", s->id, s->label),
               changed(m, ID_SUPPORT), *s->summary ? ": " : "",
               words(m, "summary", s->id, s->summary));
    put_cautions(m, s, SHEET_BULLET);
}

static void put_part(struct maker *m, const struct handout_part *part)
{
    if (!holds(m, part->when, part->kind == PART_DANGER || part->kind == PART_SUPPORT))
        return;
    switch (part->kind) {
    case PART_TEXT:
        put_lines(m, part);
        break;
    case PART_FINDINGS:
        put_findings(m, part->heading);
        break;
    case PART_TAUGHT:
        put_taught(m, part);
        break;
    case PART_DANGER:
        put_danger(m, part->heading);
        break;
    case PART_SUPPORT:
        put_support(m, part->heading);
        break;
    }
}

/* A practice may word its handouts as it likes, but none goes out without the stop signs ... */
static bool has_danger(const struct maker *m)
{
    for (size_t i = 0; i < m->handout->part_count; i++)
        if (m->handout->parts[i].kind == PART_DANGER && holds(m, m->handout->parts[i].when, true))
            return true;
    return false;
}

/* ... and whom to ring. */
static void put_whom_to_ring(struct maker *m)
{
    const struct practice *p = &m->c->cb->set->practice;
    sheet_add(m->sheet, SHEET_BLANK, "");
    const char *night = tongue_phrase(&m->tongue, PHRASE_CLOSING_NIGHT);
    sheet_addf(m->sheet, SHEET_TEXT, "%s %s%s%s%s%s.", tongue_phrase(&m->tongue, PHRASE_CLOSING),
               p->phone, *p->emergency_phone ? "; " : "", *p->emergency_phone ? night : "",
               *p->emergency_phone ? " " : "", p->emergency_phone);
}

bool care_sheet(const struct chart *c, const char *handout, struct sheet **out, struct fault *f)
{
    const char *id = handout && *handout ? handout : "care";
    struct maker m = {.c = c};
    m.handout = template_handout(c->cb->set, id, text_of(&c->caregiver, "caregiver.language"));
    if (m.handout == NULL)
        return fail(f, FAULT_MISSING, "the practice has no handout \"%s\"", id);
    if (!past_load(c, &m.past, f))
        return false;
    m.tongue = (struct tongue){c, m.handout->language}; /* all of the sheet is in one */
    m.facts = past_facts(&m.past);
    teaching_look(c, &m.taught);
    deciding_look(c, &m.deciding);
    m.sheet = letter_begin_in(c, m.tongue.language, fill(&m, m.handout->title));
    if (strcmp(text_of(&c->caregiver, "caregiver.large_type"), "yes") == 0)
        sheet_enlarge(m.sheet);
    if (!has_danger(&m))
        put_danger(&m, tongue_phrase(&m.tongue, PHRASE_STOP));
    for (size_t i = 0; i < m.handout->part_count; i++)
        put_part(&m, &m.handout->parts[i]);
    put_whom_to_ring(&m);
    *out = m.sheet;
    return true;
}
