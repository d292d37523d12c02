/* What can only be checked when every file has been read: names that point to one another, names
 * used twice, order. */
#include "base/arena.h"
#include "base/text.h"
#include "template/facts.h"
#include "template/loading.h"
#include "template/placeholders.h"
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* ---- joining files ------------------------------------------------------------------------ */

static struct form *form_called(struct loading *l, const char *id)
{
    struct form *forms = l->forms.items;
    for (size_t i = 0; i < l->forms.count; i++)
        if (strcmp(forms[i].id, id) == 0)
            return &forms[i];
    return NULL;
}

static void add_items(struct loading *l)
{
    const struct addition *additions = l->additions.items;
    const struct form *forms = l->forms.items;
    for (size_t i = 0; i < l->additions.count; i++) {
        const struct addition *more = &additions[i];
        struct form *form = form_called(l, more->to);
        if (form == NULL) {
            struct names names = {0};
            for (size_t k = 0; k < l->forms.count; k++)
                names_add(l, &names, forms[k].id);
            complain(&l->complaints, more->mark, "add_to: there is no form \"%s\"%s", more->to,
                     names_told(l, &names, more->to));
            continue;
        }
        size_t count = form->item_count + more->item_count;
        struct item *items = arena_array(l->arena, count, sizeof *items);
        if (form->item_count > 0)
            memcpy(items, form->items, form->item_count * sizeof *items);
        if (more->item_count > 0)
            memcpy(items + form->item_count, more->items, more->item_count * sizeof *items);
        form->items = items;
        form->item_count = count;
    }
}

static int by_number(double a, double b)
{
    return a < b ? -1 : a > b;
}

static int form_order(const void *x, const void *y)
{
    const struct form *a = x, *b = y;
    if (a->place != b->place)
        return a->place < b->place ? -1 : 1;
    int order = by_number(a->order, b->order);
    return order != 0 ? order : strcmp(a->id, b->id);
}

static int measure_order(const void *x, const void *y)
{
    const struct measure *a = x, *b = y;
    if (a->fixed != b->fixed)
        return a->fixed ? -1 : 1;
    int order = by_number(a->order, b->order);
    return order != 0 ? order : strcmp(a->id, b->id);
}

static int checklist_order(const void *x, const void *y)
{
    const struct checklist *a = x, *b = y;
    int order = by_number(a->order, b->order);
    return order != 0 ? order : strcmp(a->id, b->id);
}

static int breed_order(const void *x, const void *y)
{
    const struct breed *a = x, *b = y;
    return strcmp(a->name, b->name);
}

static void sort(const void *items, size_t count, size_t size,
                 int (*order)(const void *, const void *))
{
    /* The set shows its lists as const; here they are still being made. */
    if (count > 1)
        qsort((void *)(uintptr_t)items, count, size, order);
}

/* ---- names used twice, in whatever files ----------------------------------------------------- */

struct declared {
    const char *space; /* names are told apart within one space only */
    const char *name;
    const char *what;
    struct mark mark;
};

static void declare(struct loading *l, struct growing *all, const char *space, const char *what,
                    const char *name, struct mark mark)
{
    if (*name == '\0')
        return;
    struct declared *d = growing_add(l->scratch, all, sizeof *d);
    *d = (struct declared){space, name, what, mark};
}

static int declared_order(const void *x, const void *y)
{
    const struct declared *a = x, *b = y;
    int order = strcmp(a->space, b->space);
    if (order == 0)
        order = strcmp(a->name, b->name);
    if (order == 0)
        order = strcmp(a->mark.file, b->mark.file);
    if (order == 0)
        order = a->mark.line - b->mark.line;
    return order != 0 ? order : a->mark.column - b->mark.column;
}

static void declare_answers(struct loading *l, struct growing *all)
{
    const struct template_set *set = l->set;
    static const char *const facts[] = {
#define X(name, told) #name,
        DERIVED_FACTS(X)
#undef X
    };
    for (size_t i = 0; i < sizeof facts / sizeof *facts; i++)
        declare(l, all, "answers", "fact", facts[i], (struct mark){"", 0, 0});
    for (size_t f = 0; f < set->form_count; f++)
        for (size_t i = 0; i < set->forms[f].item_count; i++)
            declare(l, all, "answers", "item", set->forms[f].items[i].id,
                    set->forms[f].items[i].mark);
    for (size_t m = 0; m < set->measure_count; m++)
        declare(l, all, "answers", "measure", set->measures[m].id, set->measures[m].mark);
}

static void declare_rest(struct loading *l, struct growing *all)
{
    const struct template_set *s = l->set;
    for (size_t i = 0; i < s->form_count; i++)
        declare(l, all, "forms", "form", s->forms[i].id, s->forms[i].mark);
    for (size_t i = 0; i < s->checklist_count; i++)
        declare(l, all, "checklists", "checklist", s->checklists[i].id, s->checklists[i].mark);
    for (size_t i = 0; i < s->handout_count; i++)
        declare(l, all, s->handouts[i].language, "handout", s->handouts[i].id, s->handouts[i].mark);
    for (size_t i = 0; i < s->language_count; i++)
        declare(l, all, "languages", "language", s->languages[i].id, s->languages[i].mark);
}

static void check_twins(struct loading *l)
{
    struct growing all = {0};
    declare_answers(l, &all);
    declare_rest(l, &all);
    struct declared *d = all.items;
    qsort(d, all.count, sizeof *d, declared_order);
    for (size_t i = 1; i < all.count; i++) {
        const struct declared *first = &d[i - 1], *again = &d[i];
        if (strcmp(first->space, again->space) != 0 || strcmp(first->name, again->name) != 0)
            continue;
        if (first->mark.line == 0)
            complain(&l->complaints, again->mark,
                     "%s: the name \"%s\" is a fact the program derives; choose another",
                     again->what, again->name);
        else
            complain(&l->complaints, again->mark, "%s: the name \"%s\" is taken by the %s at %s:%d",
                     again->what, again->name, first->what, first->mark.file, first->mark.line);
    }
}

/* ---- references --------------------------------------------------------------------------- */

static const void *look_up(const struct template_set *s, enum reference_kind kind, const char *name)
{
    switch (kind) {
    case TO_SUPPORT:
        return template_support(s, name);
    case TO_MEASURE:
        return template_measure(s, name);
    case TO_BODY_TYPE:
        return template_body_type(s, name);
    case TO_CHECKLIST:
        return template_checklist(s, name);
    case TO_ITEM:
        return template_item(s, name);
    case TO_SCORE:
        return template_score(s, name);
    }
    return NULL;
}

static void names_of(struct loading *l, enum reference_kind kind, struct names *names)
{
    const struct template_set *s = l->set;
    for (size_t i = 0; kind == TO_SUPPORT && i < s->support_count; i++)
        names_add(l, names, s->supports[i].id);
    for (size_t i = 0; kind == TO_MEASURE && i < s->measure_count; i++)
        names_add(l, names, s->measures[i].id);
    for (size_t i = 0; kind == TO_BODY_TYPE && i < s->body_type_count; i++)
        names_add(l, names, s->body_types[i].id);
    for (size_t i = 0; kind == TO_CHECKLIST && i < s->checklist_count; i++)
        names_add(l, names, s->checklists[i].id);
    for (size_t i = 0; kind == TO_SCORE && i < s->score_count; i++)
        names_add(l, names, s->scores[i].id);
    for (size_t f = 0; kind == TO_ITEM && f < s->form_count; f++)
        for (size_t i = 0; i < s->forms[f].item_count; i++)
            names_add(l, names, s->forms[f].items[i].id);
}

static void resolve_references(struct loading *l)
{
    static const char *const words[] = {"support",   "measure", "body type",
                                        "checklist", "item",    "score"};
    const struct reference *all = l->references.items;
    for (size_t i = 0; i < l->references.count; i++) {
        const struct reference *r = &all[i];
        const void *found = look_up(l->set, r->kind, r->name);
        if (found != NULL && r->target != NULL)
            memcpy(r->target, &found, sizeof found);
        if (found != NULL)
            continue;
        struct names names = {0};
        if (!complaints_full(&l->complaints))
            names_of(l, r->kind, &names);
        complain(&l->complaints, r->mark, "there is no %s %s%s", words[r->kind],
                 quoted(l->scratch, r->name), names_told(l, &names, r->name));
    }
}

/* ---- what must agree ---------------------------------------------------------------------- */

static void check_relations(struct loading *l)
{
    for (size_t i = 0; i < l->set->relation_count; i++) {
        const struct relation *r = &l->set->relations[i];
        if (r->of == NULL || r->to == NULL)
            continue;
        const struct measure *sides[] = {r->of, r->to, r->plus, r->across};
        bool lengths = true, same = false;
        for (size_t a = 0; a < sizeof sides / sizeof *sides; a++) {
            lengths = lengths && (sides[a] == NULL || sides[a]->dimension == DIM_LENGTH ||
                                  sides[a]->dimension == DIM_NONE);
            for (size_t b = 0; b < a; b++)
                same = same || (sides[a] != NULL && sides[a] == sides[b]);
        }
        if (same)
            complain(&l->complaints, r->mark, "relation: two of its measures are the same");
        if (!lengths)
            complain(&l->complaints, r->mark, "relation: all its measures must be lengths");
        for (size_t a = 0; a < r->band_count; a++)
            for (size_t b = 0; b < a; b++)
                if (r->bands[a].body_type == r->bands[b].body_type)
                    complain(&l->complaints, r->mark, "relation: two bands for %s",
                             r->bands[a].body_type == NULL ? "any dog"
                                                           : r->bands[a].body_type->label);
    }
}

static void check_frames(struct loading *l)
{
    for (size_t i = 0; i < l->set->frame_count; i++) {
        const struct frame *f = &l->set->frames[i];
        if (f->support != NULL && !f->support->fitted)
            complain(&l->complaints, f->mark,
                     "frame: the support \"%s\" does not say fitted: yes, so it has no frame",
                     f->support->id);
    }
}

static bool mentions(const struct condition *c, const char *item)
{
    if (c == NULL)
        return false;
    if (c->item != NULL && strcmp(c->item, item) == 0)
        return true;
    for (size_t i = 0; i < c->part_count; i++)
        if (mentions(&c->parts[i], item))
            return true;
    return false;
}

/* A question that is shown only once it is answered is never shown. */
static void check_items(struct loading *l)
{
    for (size_t f = 0; f < l->set->form_count; f++)
        for (size_t i = 0; i < l->set->forms[f].item_count; i++) {
            const struct item *item = &l->set->forms[f].items[i];
            if (mentions(item->shown_when, item->id))
                complain(&l->complaints, item->mark,
                         "item: shown_when asks about the item itself, \"%s\"", item->id);
        }
}

/* ---- placeholders ------------------------------------------------------------------------- */

static const char *const placeholders[] = {
#define X(name, told) name,
    PLACEHOLDERS(X)
#undef X
};
enum { PLACEHOLDER_COUNT = sizeof placeholders / sizeof *placeholders };

static void check_placeholder(struct loading *l, struct mark at, const char *name)
{
    struct names all = {0};
    for (size_t i = 0; i < PLACEHOLDER_COUNT; i++) {
        if (strcmp(placeholders[i], name) == 0)
            return;
        names_add(l, &all, placeholders[i]);
    }
    complain(&l->complaints, at, "there is no placeholder %s%s",
             quoted(l->scratch, arena_printf(l->scratch, "{%s}", name)), names_told(l, &all, name));
}

void placeholders_check(struct loading *l, struct mark at, const char *text)
{
    for (const char *open = strpbrk(text, "{}"); open != NULL; open = strpbrk(open, "{}")) {
        size_t n = strcspn(open + 1, "{}");
        if (*open == '}' || open[n + 1] != '}') {
            complain(&l->complaints, at, "a brace without its partner in %s",
                     quoted(l->scratch, text));
            return;
        }
        const char *name = arena_strn(l->scratch, open + 1, n);
        open += n + 2;
        if (text_starts(name, "item:")) {
            struct reference *r = growing_add(l->scratch, &l->references, sizeof *r);
            *r = (struct reference){TO_ITEM, at, name + strlen("item:"), NULL};
        } else {
            check_placeholder(l, at, name);
        }
    }
}

/* ---- all of it ---------------------------------------------------------------------------- */

void loading_resolve(struct loading *l)
{
    struct template_set *s = l->set;
    add_items(l);
    s->forms = l->forms.items;
    s->form_count = l->forms.count;
    s->checklists = l->checklists.items;
    s->checklist_count = l->checklists.count;
    s->handouts = l->handouts.items;
    s->handout_count = l->handouts.count;
    s->languages = l->languages.items;
    s->language_count = l->languages.count;
    sort(s->forms, s->form_count, sizeof *s->forms, form_order);
    sort(s->checklists, s->checklist_count, sizeof *s->checklists, checklist_order);
    sort(s->measures, s->measure_count, sizeof *s->measures, measure_order);
    resolve_references(l); /* pointers into the sorted lists */
    conditions_resolve(l);
    sort(s->breeds, s->breed_count, sizeof *s->breeds, breed_order); /* they hold such pointers */
    check_twins(l);
    check_relations(l);
    check_frames(l);
    check_items(l);
}
