/* practice.yaml and forms/NAME.yaml. */
#include "base/arena.h"
#include "base/units.h"
#include "template/tables.h"
#include <string.h>

/* ---- practice.yaml ------------------------------------------------------------------------ */

static void finish_practice(struct loading *l, const struct node *n, void *owner)
{
    struct practice *p = owner;
    if (*p->language == '\0')
        p->language = "en";
    if (p->length_unit == NULL)
        p->length_unit = unit_find("cm");
    if (p->mass_unit == NULL)
        p->mass_unit = unit_find("kg");
    if (p->sheet_lines == 0)
        p->sheet_lines = 60;
    if (node_get(n, "learn") == NULL)
        p->learn = true;
    if (p->length_unit->dimension != DIM_LENGTH)
        complain(&l->complaints, mark_at(n, "length_unit"), "length_unit: %s is no unit of length",
                 p->length_unit->name);
    if (p->mass_unit->dimension != DIM_MASS)
        complain(&l->complaints, mark_at(n, "mass_unit"), "mass_unit: %s is no unit of weight",
                 p->mass_unit->name);
}

static const struct field practice_fields[] = {
    {"name", FIELD_LINE, AT(practice, name), .required = true, .help = "Name of the practice"},
    {"address", FIELD_TEXT, AT(practice, address), .help = "Its address, as printed"},
    {"phone", FIELD_LINE, AT(practice, phone), .required = true,
     .help = "Telephone by day; on every sheet"},
    {"emergency_phone", FIELD_LINE, AT(practice, emergency_phone), .required = true,
     .help = "Whom to ring at night and in an emergency; on every sheet"},
    {"email", FIELD_LINE, AT(practice, email), .help = "Mail address"},
    {"language", FIELD_LINE, AT(practice, language),
     .help = "Folder of handouts used first; en when left out"},
    {"length_unit", FIELD_UNIT, AT(practice, length_unit),
     .help = "Unit that lengths are shown in; cm when left out"},
    {"mass_unit", FIELD_UNIT, AT(practice, mass_unit),
     .help = "Unit that weights are shown in; kg when left out"},
    {"printer", FIELD_LINE, AT(practice, printer),
     .help = "Queue for printing; the default printer when left out"},
    {"ascii_sheets", FIELD_YESNO, AT(practice, ascii_sheets),
     .help = "Whether the printer knows no letters beyond ASCII"},
    {"sheet_lines", FIELD_WHOLE, AT(practice, sheet_lines), .low = 20, .high = 200,
     .help = "Lines on a page; 60 when left out"},
    {"learn", FIELD_YESNO, AT(practice, learn),
     .help = "Whether the practice's own measured dogs move the usual proportions; yes when left "
             "out"},
    {"sync", FIELD_LINE, AT(practice, sync),
     .help = "Folder or ssh://user@host/ that entries are exchanged with"},
    {"scope_note", FIELD_TEXT, AT(practice, scope_note),
     .help = "Local rules on who may do what; printed where it matters"},
};
const struct schema practice_schema = {"practice", ROWS(practice_fields), sizeof(struct practice),
                                       .finish = finish_practice};

/* ---- items -------------------------------------------------------------------------------- */

static const struct field choice_fields[] = {
    {"id", FIELD_ID, AT(choice, id), .required = true, .help = "What the record holds"},
    {"label", FIELD_LINE, AT(choice, label), .required = true, .help = "What is shown"},
    {"help", FIELD_LINE, AT(choice, help), .help = "A line under it"},
};
const struct schema choice_schema = {"choice", ROWS(choice_fields), sizeof(struct choice)};

static const struct unit *item_unit(const void *owner)
{
    const struct item *i = owner;
    if (i->unit != NULL)
        return i->unit;
    return i->kind == ITEM_LENGTH ? unit_find("mm") : i->kind == ITEM_MASS ? unit_find("kg") : NULL;
}

static bool is_number(enum item_kind k)
{
    return k == ITEM_NUMBER || k == ITEM_LENGTH || k == ITEM_MASS;
}

static void refuse_key(struct loading *l, const struct node *n, const char *key, const char *kind)
{
    if (node_get(n, key) != NULL)
        complain(&l->complaints, node_get(n, key)->key_mark, "%s: not for an item of kind %s", key,
                 kind);
}

static void check_choices(struct loading *l, const struct node *n, const struct item *i)
{
    if (i->kind != ITEM_CHOICE && i->kind != ITEM_MANY) {
        refuse_key(l, n, "choices", item_kind_name(i->kind));
        return;
    }
    if (i->choice_count == 0)
        complain(&l->complaints, mark_at(n, "choices"),
                 "choices: an item of kind %s needs at least one", item_kind_name(i->kind));
}

static void finish_item(struct loading *l, const struct node *n, void *owner)
{
    struct item *i = owner;
    const char *kind = item_kind_name(i->kind);
    i->has_range = node_get(n, "range") != NULL;
    if (*i->sheet_label == '\0')
        i->sheet_label = i->label;
    if (node_get(n, "decimals") == NULL)
        i->decimals = -1;
    check_choices(l, n, i);
    if (i->kind != ITEM_SCORE)
        refuse_key(l, n, "scales", kind);
    else if (i->scale_count == 0)
        complain(&l->complaints, mark_at(n, "scales"),
                 "scales: an item of kind %s needs at least one", kind);
    if (!is_number(i->kind)) {
        refuse_key(l, n, "unit", kind);
        refuse_key(l, n, "range", kind);
        refuse_key(l, n, "decimals", kind);
    }
    enum dimension wanted = i->kind == ITEM_LENGTH ? DIM_LENGTH
                            : i->kind == ITEM_MASS ? DIM_MASS
                                                   : DIM_NONE;
    if (wanted != DIM_NONE && i->unit != NULL && i->unit->dimension != wanted)
        complain(&l->complaints, mark_at(n, "unit"), "unit: %s is no unit for a %s", i->unit->name,
                 kind);
    if (i->unit == NULL)
        i->unit = item_unit(i);
}

static const struct word item_kinds[] = {
#define X(id, name, told) {name, ITEM_##id},
    ITEM_KINDS(X)
#undef X
        {NULL, 0}};

static const struct field item_fields[] = {
    {"id", FIELD_DOTTED, AT(item, id), .required = true,
     .help = "Name under which the answer is kept; never change it once answers exist"},
    {"label", FIELD_LINE, AT(item, label), .required = true, .help = "The question"},
    {"help", FIELD_LINE, AT(item, help), .help = "A line under the field"},
    {"source", FIELD_LINE, AT(item, source), .help = "Where the question or its values come from"},
    {"kind", FIELD_WORD, AT(item, kind), .required = true, .words = item_kinds,
     .help = "What may be answered"},
    {"unit", FIELD_UNIT, AT(item, unit),
     .help = "For number, length and mass: what a number without a unit means"},
    {"decimals", FIELD_WHOLE, AT(item, decimals), .low = -1, .high = 6,
     .help = "Places shown after the point; -1, or left out, as typed"},
    {"range", FIELD_RANGE, AT(item, low),
     .help = "What is outside is refused as a slip of the hand"},
    {"choices", FIELD_CHOICES, LISTED(item, choices, choice_count), .of = &choice_schema,
     .unique = "id",
     .help = "For choice and many: a list of choices, or in short one mapping of id: label"},
    {"scales", FIELD_REFS, LISTED(item, scales, scale_count), .to = TO_SCORE,
     .help =
         "For score: the scales whose total may be answered, told apart by what they are out of"},
    {"shown_when", FIELD_CONDITION, AT(item, shown_when),
     .help = "When it is asked; always when left out"},
    {"required_when", FIELD_CONDITION, AT(item, required_when),
     .help = "When it must be answered; never when left out"},
    {"heading", FIELD_LINE, AT(item, heading), .help = "Begins a new group with this heading"},
    {"on_sheet", FIELD_YESNO, AT(item, on_sheet),
     .help = "Whether the answer is printed on the care sheet"},
    {"sheet_label", FIELD_LINE, AT(item, sheet_label),
     .help = "Words for the caregiver; the label when left out"},
};
const struct schema item_schema = {"item",
                                   ROWS(item_fields),
                                   sizeof(struct item),
                                   .mark_offset = offsetof(struct item, mark),
                                   .unit_of = item_unit,
                                   .finish = finish_item};

/* ---- forms -------------------------------------------------------------------------------- */

struct form_file {
    struct form form;
    const char *add_to;
};

static const struct word form_places[] = {
#define X(id, name, about) {name, PLACE_##id},
    FORM_PLACES(X)
#undef X
        {NULL, 0}};

static void finish_form(struct loading *l, const struct node *n, void *owner)
{
    static const char *const abouts[FORM_PLACE_COUNT] = {
#define X(id, name, about) [PLACE_##id] = (about),
        FORM_PLACES(X)
#undef X
    };
    static const char *const own[] = {"title", "place"};
    struct form_file *file = owner;
    if (*file->add_to != '\0') {
        for (const struct node *k = n->first; k != NULL; k = k->next)
            if (strcmp(k->key, "add_to") != 0 && strcmp(k->key, "items") != 0)
                complain(&l->complaints, k->key_mark,
                         "%s: a file with add_to has no other key than items",
                         quoted(l->scratch, k->key));
        struct addition *more = growing_add(l->scratch, &l->additions, sizeof *more);
        *more = (struct addition){file->add_to, mark_at(n, "add_to"), file->form.items,
                                  file->form.item_count};
        return;
    }
    if (node_get(n, "form") == NULL) {
        complain(&l->complaints, n->mark,
                 "form: one of the keys \"form\" and \"add_to\" is needed");
        return;
    }
    for (size_t i = 0; i < COUNT_OF(own); i++)
        if (node_get(n, own[i]) == NULL)
            complain(&l->complaints, n->mark, "form: the key \"%s\" is missing", own[i]);
    file->form.about = abouts[file->form.place];
    struct form *form = growing_add(l->arena, &l->forms, sizeof *form);
    *form = file->form;
}

static const struct field form_fields[] = {
    {"form", FIELD_ID, AT(form_file, form.id), .help = "Name of the form; required, or add_to"},
    {"add_to", FIELD_ID, AT(form_file, add_to),
     .help = "Instead of form: the form whose end these items are added to"},
    {"title", FIELD_LINE, AT(form_file, form.title), .help = "Title; required with form"},
    {"place", FIELD_WORD, AT(form_file, form.place), .words = form_places,
     .help = "Where it is shown; required with form"},
    {"order", FIELD_NUMBER, AT(form_file, form.order), .help = "Smaller numbers come first"},
    {"intro", FIELD_TEXT, AT(form_file, form.intro), .help = "Shown above the first question"},
    {"items", FIELD_LIST, LISTED(form_file, form.items, form.item_count), .required = true,
     .of = &item_schema, .help = "The questions, in their order"},
};
const struct schema form_schema = {"form", ROWS(form_fields), sizeof(struct form_file),
                                   .mark_offset = offsetof(struct form_file, form.mark),
                                   .finish = finish_form};
