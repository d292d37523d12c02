/* Reading conditions, and checking each leaf against the item it asks about. */
#include "base/arena.h"
#include "base/text.h"
#include "template/condition_tests.h"
#include "template/facts.h"
#include "template/loading.h"
#include <string.h>

struct test {
    const char *key;
    enum condition_kind kind;
    unsigned kinds; /* of items, a bit each */
};
static const struct test tests[] = {
#define X(key, kind, kinds, help) {#key, kind, kinds},
    CONDITION_TESTS(X)
#undef X
};
enum { TEST_COUNT = sizeof tests / sizeof *tests };

static const struct {
    const char *key;
    enum condition_kind kind;
} groups[] = {{"all", WHEN_ALL}, {"any", WHEN_ANY}, {"not", WHEN_NOT}};
enum { GROUP_COUNT = sizeof groups / sizeof *groups };

static const struct test *test_of_key(const char *key)
{
    for (size_t i = 0; i < TEST_COUNT; i++)
        if (strcmp(tests[i].key, key) == 0)
            return &tests[i];
    return NULL;
}

/* ---- reading ------------------------------------------------------------------------------ */

static void read_group(struct loading *l, const struct node *n, enum condition_kind kind,
                       struct condition *out)
{
    bool list = kind != WHEN_NOT;
    if (list && (n->kind != NODE_LIST || n->count == 0)) {
        complain(&l->complaints, n->mark, "%s: expected a list of conditions, not %s", n->key,
                 n->kind == NODE_LIST ? "an empty one" : node_word(n));
        return;
    }
    size_t count = list ? n->count : 1;
    struct condition *parts = arena_array(l->arena, count, sizeof *parts);
    const struct node *part = list ? n->first : n;
    for (size_t i = 0; i < count; i++, part = part->next)
        condition_read(l, part, &parts[i]);
    *out = (struct condition){.kind = kind, .parts = parts, .part_count = count};
}

static void read_leaf(struct loading *l, const struct node *n, const struct node *item,
                      struct condition *out)
{
    const struct node *found = NULL;
    for (const struct node *k = n->first; k != NULL; k = k->next) {
        if (k == item)
            continue;
        if (found != NULL) {
            complain(&l->complaints, k->key_mark,
                     "condition: expected one test beside item; use all for several");
            return;
        }
        found = k;
    }
    const struct test *asks = found == NULL ? NULL : test_of_key(found->key);
    if (item->kind != NODE_SCALAR || *item->text == '\0') {
        complain(&l->complaints, item->mark, "item: expected the name of an item");
    } else if (asks == NULL) {
        complain(&l->complaints, n->mark,
                 "condition: a test is missing beside item, such as \"is\" or \"answered\"");
    } else {
        out->kind = asks->kind;
        out->item = arena_str(l->arena, item->text);
        struct leaf *leaf = growing_add(l->scratch, &l->leaves, sizeof *leaf);
        *leaf = (struct leaf){out, node_copy(l->scratch, item), node_copy(l->scratch, found),
                              asks->kinds};
    }
}

static bool known_key(const char *key)
{
    for (size_t i = 0; i < GROUP_COUNT; i++)
        if (strcmp(groups[i].key, key) == 0)
            return true;
    return strcmp(key, "item") == 0 || test_of_key(key) != NULL;
}

static void complain_key(struct loading *l, const struct node *n)
{
    struct names names = {0};
    names_add(l, &names, "item");
    for (size_t i = 0; i < GROUP_COUNT; i++)
        names_add(l, &names, groups[i].key);
    for (size_t i = 0; i < TEST_COUNT; i++)
        names_add(l, &names, tests[i].key);
    complain(&l->complaints, n->key_mark, "condition: unknown key %s%s", quoted(l->scratch, n->key),
             names_told(l, &names, n->key));
}

/* Every key must be known; the kind of the condition follows from one of them. */
static bool check_keys(struct loading *l, const struct node *n)
{
    bool good = true;
    for (const struct node *k = n->first; k != NULL; k = k->next)
        if (!known_key(k->key)) {
            complain_key(l, k);
            good = false;
        }
    return good;
}

void condition_read(struct loading *l, const struct node *n, struct condition *out)
{
    if (n->kind == NODE_SCALAR && strcmp(n->text, "always") == 0)
        return; /* zeroed: WHEN_ALWAYS */
    if (n->kind != NODE_MAP) {
        complain(&l->complaints, n->mark,
                 "condition: expected all, any, not, or item with a test, not %s",
                 n->kind == NODE_SCALAR ? quoted(l->scratch, n->text) : node_word(n));
        return;
    }
    if (!check_keys(l, n))
        return;
    const struct node *item = node_get(n, "item");
    if (item != NULL) {
        for (size_t i = 0; i < GROUP_COUNT; i++)
            if (node_get(n, groups[i].key) != NULL) {
                complain(&l->complaints, node_get(n, groups[i].key)->key_mark,
                         "condition: %s cannot stand beside item", groups[i].key);
                return;
            }
        read_leaf(l, n, item, out);
        return;
    }
    if (n->count == 1)
        for (size_t i = 0; i < GROUP_COUNT; i++)
            if (strcmp(n->first->key, groups[i].key) == 0) {
                read_group(l, n->first, groups[i].kind, out);
                return;
            }
    complain(&l->complaints, n->mark, "condition: expected all, any, not, or item with a test%s",
             n->count > 1 ? ", and one of them only" : "");
}

/* ---- what an item is ---------------------------------------------------------------------- */

/* Whatever a condition may ask about: a question, a measure, a derived fact, something taught. */
struct subject {
    enum item_kind kind;
    const struct unit *unit; /* what a number without a unit means */
    bool bare;               /* a fact: its number is kept in that unit, not in the base unit */
    struct names words;      /* what it can be; none: anything */
};

/* The kinds of the derived facts. X-macro names in facts.h have their row here. */
static const struct {
    const char *name;
    enum item_kind kind;
    const char *unit;
} fact_kinds[] = {
    {"age_years", ITEM_NUMBER, NULL}, {"hours_since_onset", ITEM_NUMBER, "h"},
    {"body_type", ITEM_CHOICE, NULL}, {"mass_kg", ITEM_NUMBER, "kg"},
    {"support", ITEM_CHOICE, NULL},   {"support_fitted", ITEM_YESNO, NULL},
    {"fore_share", ITEM_NUMBER, "%"}, {"overweight_points", ITEM_NUMBER, NULL},
    {"ramp_deg", ITEM_NUMBER, "deg"}, {"pain_alert", ITEM_YESNO, NULL},
};
enum { FACT_COUNT = sizeof fact_kinds / sizeof *fact_kinds };
enum {
#define X(name, told) NUMBER_OF_##name,
    DERIVED_FACTS(X)
#undef X
        DERIVED_FACT_COUNT
};
_Static_assert(FACT_COUNT == (int)DERIVED_FACT_COUNT, "every derived fact has a kind");

static bool fact_subject(struct loading *l, const char *name, struct subject *out)
{
    const struct template_set *set = l->set;
    size_t i = 0;
    while (i < FACT_COUNT && strcmp(fact_kinds[i].name, name) != 0)
        i++;
    if (i == FACT_COUNT)
        return false;
    out->kind = fact_kinds[i].kind;
    out->bare = true;
    if (fact_kinds[i].unit != NULL)
        out->unit = unit_find(fact_kinds[i].unit);
    if (strcmp(name, "support") == 0)
        for (size_t s = 0; s < set->support_count; s++)
            names_add(l, &out->words, set->supports[s].id);
    if (strcmp(name, "body_type") == 0)
        for (size_t b = 0; b < set->body_type_count; b++)
            names_add(l, &out->words, set->body_types[b].id);
    return true;
}

static bool taught_subject(struct loading *l, const char *name, struct subject *out)
{
    static const char *const states[] = {"told", "shown", "done_back"};
    for (size_t c = 0; text_starts(name, "teach.") && c < l->set->checklist_count; c++) {
        const struct checklist *list = &l->set->checklists[c];
        for (size_t i = 0; i < list->item_count; i++) {
            if (strcmp(name,
                       arena_printf(l->scratch, "teach.%s.%s", list->id, list->items[i].id)) != 0)
                continue;
            out->kind = ITEM_CHOICE;
            for (size_t s = 0; s < sizeof states / sizeof *states; s++)
                names_add(l, &out->words, states[s]);
            return true;
        }
    }
    return false;
}

static bool subject_of(struct loading *l, const char *name, struct subject *out)
{
    *out = (struct subject){.kind = ITEM_TEXT};
    const struct item *item = template_item(l->set, name);
    const struct measure *measure = template_measure(l->set, name);
    if (item != NULL) {
        out->kind = item->kind;
        out->unit = item->unit;
        for (size_t i = 0; i < item->choice_count; i++)
            names_add(l, &out->words, item->choices[i].id);
    } else if (measure != NULL) {
        out->kind = measure->dimension == DIM_LENGTH ? ITEM_LENGTH
                    : measure->dimension == DIM_MASS ? ITEM_MASS
                                                     : ITEM_NUMBER;
        out->unit = measure->unit;
    } else if (!fact_subject(l, name, out) && !taught_subject(l, name, out)) {
        return false;
    }
    if (out->kind == ITEM_YESNO) {
        names_add(l, &out->words, "yes");
        names_add(l, &out->words, "no");
        names_add(l, &out->words, "unknown");
    }
    return true;
}

static void complain_unknown(struct loading *l, const struct leaf *leaf)
{
    struct names names = {0};
    const struct template_set *set = l->set;
    for (size_t f = 0; f < set->form_count && !complaints_full(&l->complaints); f++)
        for (size_t i = 0; i < set->forms[f].item_count; i++)
            names_add(l, &names, set->forms[f].items[i].id);
    for (size_t m = 0; m < set->measure_count; m++)
        names_add(l, &names, set->measures[m].id);
    for (size_t f = 0; f < FACT_COUNT; f++)
        names_add(l, &names, fact_kinds[f].name);
    for (size_t c = 0; c < set->checklist_count; c++)
        for (size_t i = 0; i < set->checklists[c].item_count; i++)
            names_add(l, &names,
                      arena_printf(l->scratch, "teach.%s.%s", set->checklists[c].id,
                                   set->checklists[c].items[i].id));
    complain(&l->complaints, leaf->item->mark, "item: nothing is called %s%s",
             quoted(l->scratch, leaf->item->text), names_told(l, &names, leaf->item->text));
}

/* ---- resolving ---------------------------------------------------------------------------- */

static const char *check_word(struct loading *l, const struct leaf *leaf, const struct node *n,
                              const struct subject *subject)
{
    if (n->kind != NODE_SCALAR || *n->text == '\0') {
        complain(&l->complaints, n->mark, "%s: expected a word", leaf->test->key);
        return "";
    }
    bool known = subject->words.count == 0;
    for (size_t i = 0; i < subject->words.count && !known; i++)
        known = strcmp(subject->words.list[i], n->text) == 0;
    if (!known)
        complain(&l->complaints, n->mark, "%s: \"%s\" cannot be %s%s", leaf->test->key,
                 leaf->condition->item, quoted(l->scratch, n->text),
                 names_told(l, &subject->words, n->text));
    return arena_str(l->arena, n->text);
}

static void resolve_words(struct loading *l, const struct leaf *leaf, const struct subject *subject)
{
    struct condition *c = leaf->condition;
    const struct node *n = leaf->test;
    bool list = c->kind == WHEN_IS_ONE_OF;
    if (list && (n->kind != NODE_LIST || n->count == 0)) {
        complain(&l->complaints, n->mark, "is_one_of: expected a list of words, not %s",
                 n->kind == NODE_LIST ? "an empty one" : node_word(n));
        return;
    }
    c->word_count = list ? n->count : 1;
    const char **words = arena_array(l->arena, c->word_count, sizeof *words);
    const struct node *word = list ? n->first : n;
    for (size_t i = 0; i < c->word_count; i++, word = word->next)
        words[i] = check_word(l, leaf, word, subject);
    c->words = words;
}

static void resolve_number(struct loading *l, const struct leaf *leaf,
                           const struct subject *subject)
{
    struct fault f = {0};
    const struct node *n = leaf->test;
    double value;
    if (n->kind != NODE_SCALAR)
        complain(&l->complaints, n->mark, "%s: expected a number, not %s", n->key, node_word(n));
    else if (!quantity_parse(n->text, subject->unit, &value, NULL, &f))
        complain(&l->complaints, n->mark, "%s: %s", n->key, f.text);
    else
        leaf->condition->number =
            subject->bare && subject->unit != NULL ? unit_from_base(subject->unit, value) : value;
}

static void resolve_answered(struct loading *l, const struct leaf *leaf)
{
    const char *text = leaf->test->text;
    leaf->condition->answered = strcmp(text, "yes") == 0;
    if (!leaf->condition->answered && strcmp(text, "no") != 0)
        complain(&l->complaints, leaf->test->mark, "answered: expected yes or no");
}

static void complain_kind(struct loading *l, const struct leaf *leaf, enum item_kind kind)
{
    const char *possible = "";
    for (size_t i = 0; i < TEST_COUNT; i++)
        if (tests[i].kinds & 1u << kind)
            possible = arena_printf(l->scratch, "%s%s%s", possible, *possible == '\0' ? "" : ", ",
                                    tests[i].key);
    complain(&l->complaints, leaf->test->key_mark, "%s: \"%s\" is of kind %s; it can be asked: %s",
             leaf->test->key, leaf->condition->item, item_kind_name(kind), possible);
}

void conditions_resolve(struct loading *l)
{
    const struct leaf *leaves = l->leaves.items;
    for (size_t i = 0; i < l->leaves.count; i++) {
        const struct leaf *leaf = &leaves[i];
        struct subject subject;
        if (!subject_of(l, leaf->condition->item, &subject))
            complain_unknown(l, leaf);
        else if (!(leaf->kinds & 1u << subject.kind))
            complain_kind(l, leaf, subject.kind);
        else if (leaf->condition->kind == WHEN_ANSWERED)
            resolve_answered(l, leaf);
        else if (leaf->condition->kind <= WHEN_HAS)
            resolve_words(l, leaf, &subject);
        else
            resolve_number(l, leaf, &subject);
    }
}
