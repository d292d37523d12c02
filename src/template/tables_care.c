/* supports.yaml, triage.yaml, checklists, handouts, energy.yaml. */
#include "base/arena.h"
#include "template/tables.h"
#include <string.h>

/* ---- supports.yaml ------------------------------------------------------------------------ */

static const struct field support_fields[] = {
    {"id", FIELD_ID, AT(support, id), .required = true, .help = "Name of the support"},
    {"label", FIELD_LINE, AT(support, label), .required = true, .help = "What is shown"},
    {"summary", FIELD_LINE, AT(support, summary), .help = "What it is, in a line"},
    {"fitted", FIELD_YESNO, AT(support, fitted), .help = "Whether it is built from measurements"},
};
const struct schema support_schema = {"support", ROWS(support_fields), sizeof(struct support),
                                      .mark_offset = offsetof(struct support, mark)};

static const struct word effects[] = {
    {"proposes", EFFECT_PROPOSES}, {"warns", EFFECT_WARNS}, {"forbids", EFFECT_FORBIDS}, {NULL, 0}};

static const struct field support_rule_fields[] = {
    {"id", FIELD_ID, AT(support_rule, id), .required = true, .help = "Name of the rule"},
    {"effect", FIELD_WORD, AT(support_rule, effect), .required = true, .words = effects,
     .help = "What it does when its condition holds"},
    {"supports", FIELD_REFS, LISTED(support_rule, supports, support_count), .required = true,
     .to = TO_SUPPORT, .help = "The supports it speaks of"},
    {"when", FIELD_CONDITION, AT(support_rule, when), .required = true, .help = "When it holds"},
    {"reason", FIELD_LINE, AT(support_rule, reason), .required = true,
     .help = "Why; shown beside the proposal and kept with an override"},
    {"source", FIELD_LINE, AT(support_rule, source), .required = true,
     .help = "Who says so; common practice, no source, where that is so"},
};
const struct schema support_rule_schema = {"rule", ROWS(support_rule_fields),
                                           sizeof(struct support_rule),
                                           .mark_offset = offsetof(struct support_rule, mark)};

static const struct field accessory_rule_fields[] = {
    {"id", FIELD_ID, AT(accessory_rule, id), .required = true, .help = "Name of the rule"},
    {"accessories", FIELD_IDS, LISTED(accessory_rule, accessories, accessory_count),
     .required = true, .help = "Choices of the item accessories that it speaks for"},
    {"when", FIELD_CONDITION, AT(accessory_rule, when), .required = true, .help = "When it holds"},
    {"reason", FIELD_LINE, AT(accessory_rule, reason), .required = true,
     .help = "Why; shown with the findings that it rests on"},
    {"source", FIELD_LINE, AT(accessory_rule, source), .required = true, .help = "Who says so"},
};
const struct schema accessory_rule_schema = {"accessory rule", ROWS(accessory_rule_fields),
                                             sizeof(struct accessory_rule),
                                             .mark_offset = offsetof(struct accessory_rule, mark)};

static const struct field supports_fields[] = {
    {"supports", FIELD_LIST, LISTED(template_set, supports, support_count), .required = true,
     .of = &support_schema, .unique = "id", .help = "Kinds of support"},
    {"rules", FIELD_LIST, LISTED(template_set, support_rules, support_rule_count),
     .of = &support_rule_schema, .unique = "id", .help = "What proposes, warns of or forbids them"},
    {"accessory_rules", FIELD_LIST, LISTED(template_set, accessory_rules, accessory_rule_count),
     .of = &accessory_rule_schema, .unique = "id", .help = "What speaks for which accessory"},
};
const struct schema supports_schema = {"supports", ROWS(supports_fields),
                                       sizeof(struct template_set)};

/* ---- triage.yaml -------------------------------------------------------------------------- */

static const struct word urgencies[] = {{"emergency", URGENCY_EMERGENCY},
                                        {"same_day", URGENCY_SAME_DAY},
                                        {"book", URGENCY_BOOK},
                                        {NULL, 0}};

static const struct field triage_rule_fields[] = {
    {"id", FIELD_ID, AT(triage_rule, id), .required = true, .help = "Name of the rule"},
    {"urgency", FIELD_WORD, AT(triage_rule, urgency), .required = true, .words = urgencies,
     .help = "What holds when its condition does"},
    {"when", FIELD_CONDITION, AT(triage_rule, when), .required = true, .help = "When it holds"},
    {"reason", FIELD_LINE, AT(triage_rule, reason), .required = true,
     .help = "Why; shown beside the verdict"},
    {"advice", FIELD_TEXT, AT(triage_rule, advice), .help = "What to say to the caller now"},
    {"source", FIELD_LINE, AT(triage_rule, source), .required = true, .help = "Who says so"},
};
const struct schema triage_rule_schema = {"rule", ROWS(triage_rule_fields),
                                          sizeof(struct triage_rule),
                                          .mark_offset = offsetof(struct triage_rule, mark)};

static const struct field triage_fields[] = {
    {"asked_first", FIELD_IDS, LISTED(triage, asked_first, asked_count), .required = true,
     .checked = true, .to = TO_ITEM,
     .help = "Items that must be answered before it is said that a visit may be booked"},
    {"rules", FIELD_LIST, LISTED(triage, rules, rule_count), .required = true,
     .of = &triage_rule_schema, .unique = "id",
     .help = "The rules; the gravest that holds decides"},
    {"emergency_words", FIELD_LINE, AT(triage, emergency_words), .required = true,
     .help = "The line that stands on the screen for an emergency"},
    {"same_day_words", FIELD_LINE, AT(triage, same_day_words), .required = true,
     .help = "The same for a dog that must be seen today"},
    {"book_words", FIELD_LINE, AT(triage, book_words), .required = true,
     .help = "The same for a home visit"},
    {"unknown_words", FIELD_LINE, AT(triage, unknown_words), .required = true,
     .help = "The same while questions are open"},
};
const struct schema triage_schema = {"triage", ROWS(triage_fields), sizeof(struct triage)};

/* ---- checklists/NAME.yaml ----------------------------------------------------------------- */

static void finish_checklist(struct loading *l, const struct node *n, void *owner)
{
    (void)n;
    struct checklist *c = growing_add(l->arena, &l->checklists, sizeof *c);
    *c = *(const struct checklist *)owner;
}

static const struct field teach_item_fields[] = {
    {"id", FIELD_ID, AT(teach_item, id), .required = true, .help = "Name within the checklist"},
    {"label", FIELD_LINE, AT(teach_item, label), .required = true,
     .help = "What to teach, in the vet's words"},
    {"why", FIELD_LINE, AT(teach_item, why), .help = "Why it matters"},
    {"sheet", FIELD_TEXT, AT(teach_item, sheet),
     .help = "Its line on the care sheet; not printed when left out"},
    {"shown_when", FIELD_CONDITION, AT(teach_item, shown_when),
     .help = "When it applies; always when left out"},
    {"danger", FIELD_YESNO, AT(teach_item, danger),
     .help = "Whether it is a sign of danger: always printed, and first"},
};
const struct schema teach_item_schema = {"item", ROWS(teach_item_fields), sizeof(struct teach_item),
                                         .mark_offset = offsetof(struct teach_item, mark)};

static const struct field checklist_fields[] = {
    {"checklist", FIELD_ID, AT(checklist, id), .required = true, .help = "Name of the checklist"},
    {"title", FIELD_LINE, AT(checklist, title), .required = true, .help = "Title"},
    {"intro", FIELD_TEXT, AT(checklist, intro), .help = "Shown above the first item"},
    {"source", FIELD_LINE, AT(checklist, source), .help = "Where it comes from"},
    {"order", FIELD_NUMBER, AT(checklist, order), .help = "Smaller numbers come first"},
    {"shown_when", FIELD_CONDITION, AT(checklist, shown_when),
     .help = "When it applies; always when left out"},
    {"items", FIELD_LIST, LISTED(checklist, items, item_count), .required = true,
     .of = &teach_item_schema, .unique = "id", .help = "What is taught, in its order"},
};
const struct schema checklist_schema = {
    "checklist", ROWS(checklist_fields), sizeof(struct checklist),
    .mark_offset = offsetof(struct checklist, mark), .finish = finish_checklist};

/* ---- handouts/LANGUAGE/NAME.yaml ---------------------------------------------------------- */

static void finish_line(struct loading *l, const struct node *n, void *owner)
{
    const struct handout_line *line = owner;
    placeholders_check(l, mark_at(n, "text"), line->text);
}

static const struct field handout_line_fields[] = {
    {"text", FIELD_TEXT, AT(handout_line, text), .required = true,
     .help = "The line, with placeholders; a line that is only text may stand in place of the "
             "mapping"},
    {"bullet", FIELD_YESNO, AT(handout_line, bullet), .help = "Whether a dash stands before it"},
    {"when", FIELD_CONDITION, AT(handout_line, when),
     .help = "When it is printed; always when left out"},
};
const struct schema handout_line_schema = {"line", ROWS(handout_line_fields),
                                           sizeof(struct handout_line), .short_key = "text",
                                           .finish = finish_line};

static const struct word part_kinds[] = {{"text", PART_TEXT},       {"findings", PART_FINDINGS},
                                         {"taught", PART_TAUGHT},   {"danger", PART_DANGER},
                                         {"support", PART_SUPPORT}, {NULL, 0}};

static void finish_part(struct loading *l, const struct node *n, void *owner)
{
    const struct handout_part *p = owner;
    if (p->kind == PART_TEXT && p->line_count == 0)
        complain(&l->complaints, n->mark, "part: a part of kind text needs lines");
    if (p->kind != PART_TAUGHT && node_get(n, "only") != NULL)
        complain(&l->complaints, node_get(n, "only")->key_mark,
                 "only: for parts of kind taught alone");
    placeholders_check(l, mark_at(n, "heading"), p->heading);
}

static const struct field handout_part_fields[] = {
    {"kind", FIELD_WORD, AT(handout_part, kind), .required = true, .words = part_kinds,
     .help = "What is printed: lines as they are; answers to items with on_sheet; what was taught; "
             "the signs of danger; the support decided on"},
    {"heading", FIELD_LINE, AT(handout_part, heading), .help = "Its heading"},
    {"when", FIELD_CONDITION, AT(handout_part, when),
     .help = "When it is printed; always when left out"},
    {"lines", FIELD_LIST, LISTED(handout_part, lines, line_count), .of = &handout_line_schema,
     .help = "Lines before what the part brings by itself; the whole of a part of kind text"},
    {"only", FIELD_IDS, LISTED(handout_part, only, only_count), .checked = true, .to = TO_CHECKLIST,
     .help = "For taught: these checklists; all when left out"},
};
const struct schema handout_part_schema = {"part", ROWS(handout_part_fields),
                                           sizeof(struct handout_part), .finish = finish_part};

static void finish_handout(struct loading *l, const struct node *n, void *owner)
{
    struct handout *h = growing_add(l->arena, &l->handouts, sizeof *h);
    *h = *(const struct handout *)owner;
    /* handouts/LANGUAGE/NAME.yaml */
    const char *language = n->mark.file + strlen("handouts/");
    h->language = arena_strn(l->arena, language, strcspn(language, "/"));
    placeholders_check(l, mark_at(n, "title"), h->title);
}

static const struct field handout_fields[] = {
    {"handout", FIELD_ID, AT(handout, id), .required = true, .help = "Name of the handout"},
    {"title", FIELD_LINE, AT(handout, title), .required = true, .help = "Title, with placeholders"},
    {"parts", FIELD_LIST, LISTED(handout, parts, part_count), .required = true,
     .of = &handout_part_schema, .help = "What is printed, in its order"},
};
const struct schema handout_schema = {"handout", ROWS(handout_fields), sizeof(struct handout),
                                      .mark_offset = offsetof(struct handout, mark),
                                      .finish = finish_handout};

/* ---- energy.yaml -------------------------------------------------------------------------- */

static const struct field energy_factor_fields[] = {
    {"id", FIELD_ID, AT(energy_factor, id), .required = true, .help = "Name of the factor"},
    {"label", FIELD_LINE, AT(energy_factor, label), .required = true, .help = "What is shown"},
    {"factor", FIELD_NUMBER, AT(energy_factor, factor), .required = true, .low = 0.1, .high = 10,
     .help = "Times the resting energy"},
    {"source", FIELD_LINE, AT(energy_factor, source), .required = true, .help = "Who says so"},
};
const struct schema energy_factor_schema = {"energy factor", ROWS(energy_factor_fields),
                                            sizeof(struct energy_factor)};

static const struct field energy_fields[] = {
    {"energy_factors", FIELD_LIST, LISTED(template_set, energy_factors, energy_factor_count),
     .required = true, .of = &energy_factor_schema, .unique = "id", .help = "The factors"},
};
const struct schema energy_schema = {"energy", ROWS(energy_fields), sizeof(struct template_set)};
