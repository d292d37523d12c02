#include "template/schema.h"
#include "base/arena.h"
#include "base/text.h"
#include "base/units.h"
#include <string.h>

const char *field_type_told(enum field_type t)
{
    static const char *const told[FIELD_TYPE_COUNT] = {
#define X(id, words) [FIELD_##id] = (words),
        FIELD_TYPES(X)
#undef X
    };
    return told[t];
}

/* One key of one structure: what every reader below is given. */
struct spot {
    struct loading *l;
    const struct schema *schema;
    const struct field *field;
    const struct node *node; /* the value */
    char *owner;
};

static void *member(const struct spot *s)
{
    return s->owner + s->field->offset;
}

static void put_count(const struct spot *s, size_t count)
{
    memcpy(s->owner + s->field->count_offset, &count, sizeof count);
}

static void put_pointer(void *at, const void *p)
{
    memcpy(at, &p, sizeof p); /* whatever it points to, the member is a pointer */
}

/* ---- saying what was expected ------------------------------------------------------------- */

static const char *seen(struct loading *l, const struct node *n)
{
    if (n->kind != NODE_SCALAR)
        return node_word(n);
    return *n->text == '\0' ? "nothing" : quoted(l->scratch, n->text);
}

static void expected(const struct spot *s, const struct node *n, const char *what)
{
    complain(&s->l->complaints, n->mark, "%s: expected %s, not %s", s->field->key, what,
             seen(s->l, n));
}

static void expected_field(const struct spot *s)
{
    const struct field *f = s->field;
    const char *told = field_type_told(f->type);
    if (f->low < f->high)
        told = arena_printf(s->l->scratch, "%s, from %g to %g", told, f->low, f->high);
    expected(s, s->node, told);
}

void names_add(struct loading *l, struct names *names, const char *name)
{
    names->list =
        arena_grow(l->scratch, names->list, names->count, &names->cap, sizeof *names->list);
    names->list[names->count++] = name;
}

const char *names_hint(struct loading *l, const struct names *names, const char *word)
{
    const char *nearest = text_nearest(word, names->list, names->count);
    return nearest == NULL ? "" : arena_printf(l->scratch, "; did you mean \"%s\"?", nearest);
}

static const char *names_joined(struct loading *l, const struct names *names)
{
    const char *all = "";
    for (size_t i = 0; i < names->count; i++)
        all = arena_printf(l->scratch, "%s%s%s", all, i == 0 ? "" : ", ", names->list[i]);
    return all;
}

const char *names_told(struct loading *l, const struct names *names, const char *word)
{
    enum { FEW = 16 };
    const char *hint = names_hint(l, names, word);
    if (*hint != '\0' || names->count == 0 || names->count > FEW)
        return hint;
    return arena_printf(l->scratch, "; it can be %s", names_joined(l, names));
}

/* ---- readers of scalars ------------------------------------------------------------------- */

/* The text of a scalar; NULL (and a complaint) for a list, a mapping, or a bare ~ or null. */
static const char *scalar(const struct spot *s)
{
    const struct node *n = s->node;
    if (n->kind != NODE_SCALAR) {
        expected_field(s);
        return NULL;
    }
    if (n->plain && (strcmp(n->text, "~") == 0 || strcmp(n->text, "null") == 0)) {
        complain(&s->l->complaints, n->mark,
                 "%s: write \"\" for nothing, or put quotes round \"%s\"", s->field->key, n->text);
        return NULL;
    }
    return n->text;
}

/* Without the line ends that a block of text carries at its end. */
static const char *trimmed(struct arena *a, const char *s)
{
    size_t n = strlen(s);
    while (n > 0 && s[n - 1] == '\n')
        n--;
    return arena_strn(a, s, n);
}

static void read_text(const struct spot *s)
{
    const char *text = scalar(s);
    if (text == NULL)
        return;
    text = trimmed(s->l->arena, text);
    if (s->field->required && text[strspn(text, " \n")] == '\0')
        complain(&s->l->complaints, s->node->mark, "%s: must not be empty", s->field->key);
    else if (s->field->type == FIELD_LINE && strchr(text, '\n') != NULL)
        complain(&s->l->complaints, s->node->mark, "%s: expected one line of text, not several",
                 s->field->key);
    else
        put_pointer(member(s), text);
}

static bool is_id(const char *s, bool dots)
{
    enum { MOST = 64 };
    size_t n = strspn(s, "abcdefghijklmnopqrstuvwxyz0123456789_.");
    if (n == 0 || n > MOST || s[n] != '\0' || s[0] == '.' || s[n - 1] == '.')
        return false;
    return dots ? strstr(s, "..") == NULL : strchr(s, '.') == NULL;
}

static void read_id(const struct spot *s)
{
    const char *text = scalar(s);
    if (text == NULL)
        return;
    if (is_id(text, s->field->type == FIELD_DOTTED))
        put_pointer(member(s), arena_str(s->l->arena, text));
    else
        expected_field(s);
}

static void read_yesno(const struct spot *s)
{
    const char *text = scalar(s);
    if (text == NULL)
        return;
    bool yes = strcmp(text, "yes") == 0 || strcmp(text, "true") == 0;
    if (yes || strcmp(text, "no") == 0 || strcmp(text, "false") == 0)
        memcpy(member(s), &yes, sizeof yes);
    else
        expected_field(s);
}

static bool number_of(const struct spot *s, const char *text, double *value)
{
    const struct unit *percent = unit_find("%");
    const struct unit *written = NULL;
    bool share = s->field->type == FIELD_SHARE;
    if (!quantity_parse(text, share ? percent : NULL, value, &written, NULL))
        return false;
    if (written != NULL)
        *value /= 100;
    return !(s->field->low < s->field->high) ||
           (*value >= s->field->low && *value <= s->field->high);
}

static void read_number(const struct spot *s)
{
    double value;
    const char *text = scalar(s);
    if (text == NULL)
        return;
    if (!number_of(s, text, &value))
        expected_field(s);
    else
        memcpy(member(s), &value, sizeof value);
}

static void read_whole(const struct spot *s)
{
    double value;
    const char *text = scalar(s);
    if (text == NULL)
        return;
    if (!number_of(s, text, &value) || (double)(int)value < value || (double)(int)value > value) {
        expected_field(s);
        return;
    }
    int whole = (int)value;
    memcpy(member(s), &whole, sizeof whole);
}

static void read_word(const struct spot *s)
{
    const char *text = scalar(s);
    if (text == NULL)
        return;
    for (const struct word *w = s->field->words; w->name != NULL; w++)
        if (strcmp(w->name, text) == 0) {
            memcpy(member(s), &w->value, sizeof w->value);
            return;
        }
    struct names names = {0};
    for (const struct word *w = s->field->words; w->name != NULL; w++)
        names_add(s->l, &names, w->name);
    complain(&s->l->complaints, s->node->mark, "%s: expected one of %s, not %s%s", s->field->key,
             names_joined(s->l, &names), seen(s->l, s->node), names_hint(s->l, &names, text));
}

static void read_unit(const struct spot *s)
{
    const char *text = scalar(s);
    if (text == NULL)
        return;
    const struct unit *unit = unit_find(text);
    if (unit != NULL) {
        put_pointer(member(s), unit);
        return;
    }
    size_t count;
    const struct unit *all = unit_all(&count);
    struct names names = {0};
    for (size_t i = 0; i < count; i++)
        names_add(s->l, &names, all[i].name);
    complain(&s->l->complaints, s->node->mark, "%s: expected %s, not %s%s", s->field->key,
             field_type_told(FIELD_UNIT), seen(s->l, s->node), names_hint(s->l, &names, text));
}

/* ---- readers of quantities ---------------------------------------------------------------- */

static bool quantity(const struct spot *s, const struct node *n, double *value)
{
    const struct unit *unit = s->schema->unit_of == NULL ? NULL : s->schema->unit_of(s->owner);
    struct fault f = {0};
    if (n->kind != NODE_SCALAR) {
        expected_field(s);
        return false;
    }
    if (!quantity_parse(n->text, unit, value, NULL, &f)) {
        complain(&s->l->complaints, n->mark, "%s: %s", s->field->key, f.text);
        return false;
    }
    return true;
}

static void read_quantity(const struct spot *s)
{
    double value;
    if (!quantity(s, s->node, &value))
        return;
    if (value < 0)
        complain(&s->l->complaints, s->node->mark, "%s: must not be below zero", s->field->key);
    else
        memcpy(member(s), &value, sizeof value);
}

static void read_range(const struct spot *s)
{
    double ends[2];
    if (s->node->kind != NODE_LIST || s->node->count != 2) {
        expected(s, s->node, field_type_told(FIELD_RANGE));
        return;
    }
    const struct node *low = s->node->first;
    if (!quantity(s, low, &ends[0]) || !quantity(s, low->next, &ends[1]))
        return;
    if (ends[0] > ends[1])
        complain(&s->l->complaints, s->node->mark, "%s: %s is above %s; the lower comes first",
                 s->field->key, quoted(s->l->scratch, low->text),
                 quoted(s->l->scratch, low->next->text));
    else
        memcpy(member(s), ends, sizeof ends);
}

/* ---- readers of lists --------------------------------------------------------------------- */

static void read_condition(const struct spot *s)
{
    struct condition *c = arena_alloc(s->l->arena, sizeof *c);
    condition_read(s->l, s->node, c);
    put_pointer(member(s), c);
}

static void refer(const struct spot *s, const struct node *n, const char *name, void *target)
{
    struct reference *r = growing_add(s->l->scratch, &s->l->references, sizeof *r);
    *r = (struct reference){s->field->to, n->mark, arena_str(s->l->scratch, name), target};
}

static void read_ref(const struct spot *s)
{
    const char *name = scalar(s);
    if (name != NULL)
        refer(s, s->node, name, member(s));
}

/* Both a list of names (IDS) and of pointers to what they name (REFS). */
static void read_names(const struct spot *s)
{
    bool point = s->field->type == FIELD_REFS;
    if (s->node->kind != NODE_LIST) {
        expected_field(s);
        return;
    }
    if (s->field->required && s->node->count == 0)
        complain(&s->l->complaints, s->node->mark, "%s: must not be empty", s->field->key);
    const void **list = arena_array(s->l->arena, s->node->count, sizeof *list);
    size_t i = 0;
    for (const struct node *n = s->node->first; n != NULL; n = n->next, i++) {
        const char *name = n->kind == NODE_SCALAR && is_id(n->text, true) ? n->text : "";
        if (*name == '\0')
            expected(s, n, field_type_told(FIELD_ID));
        else if (point || s->field->checked)
            refer(s, n, name, point ? &list[i] : NULL);
        if (!point)
            list[i] = arena_str(s->l->arena, name);
    }
    put_pointer(member(s), list);
    put_count(s, s->node->count);
}

static void check_unique(const struct spot *s)
{
    const char *key = s->field->unique;
    for (const struct node *a = s->node->first; key != NULL && a != NULL; a = a->next) {
        const struct node *mine = node_get(a, key);
        const struct node *its = NULL;
        for (const struct node *b = s->node->first; mine != NULL && b != a; b = b->next) {
            its = node_get(b, key);
            if (its != NULL && mine->kind == NODE_SCALAR && strcmp(its->text, mine->text) == 0)
                break;
            its = NULL;
        }
        if (its != NULL)
            complain(&s->l->complaints, mine->mark, "%s: %s is there already, at line %d",
                     s->field->of->name, quoted(s->l->scratch, mine->text), its->mark.line);
    }
}

static void read_list(const struct spot *s)
{
    const struct schema *of = s->field->of;
    if (s->node->kind != NODE_LIST) {
        expected_field(s);
        return;
    }
    if (s->field->required && s->node->count == 0)
        complain(&s->l->complaints, s->node->mark, "%s: must not be empty", s->field->key);
    char *list = arena_array(s->l->arena, s->node->count, of->size);
    size_t i = 0;
    for (const struct node *n = s->node->first; n != NULL; n = n->next, i++)
        schema_read(s->l, of, n, list + i * of->size);
    check_unique(s);
    put_pointer(member(s), list);
    put_count(s, s->node->count);
}

/* A list of mappings, or in short one mapping of id: label. */
static void read_choices(const struct spot *s)
{
    if (s->node->kind != NODE_MAP) {
        read_list(s);
        return;
    }
    struct choice *list = arena_array(s->l->arena, s->node->count, sizeof *list);
    size_t i = 0;
    for (const struct node *n = s->node->first; n != NULL; n = n->next, i++) {
        list[i] = (struct choice){arena_str(s->l->arena, n->key),
                                  trimmed(s->l->arena, n->kind == NODE_SCALAR ? n->text : ""), ""};
        if (!is_id(n->key, false))
            complain(&s->l->complaints, n->key_mark, "%s: expected %s, not %s", s->field->key,
                     field_type_told(FIELD_ID), quoted(s->l->scratch, n->key));
        if (*list[i].label == '\0')
            expected(s, n, "the words of the choice");
    }
    put_pointer(member(s), list);
    put_count(s, s->node->count);
}

/* ---- the walk ----------------------------------------------------------------------------- */

static void read_field(const struct spot *s)
{
    static void (*const readers[FIELD_TYPE_COUNT])(const struct spot *) = {
        [FIELD_ID] = read_id,
        [FIELD_DOTTED] = read_id,
        [FIELD_LINE] = read_text,
        [FIELD_TEXT] = read_text,
        [FIELD_YESNO] = read_yesno,
        [FIELD_WHOLE] = read_whole,
        [FIELD_NUMBER] = read_number,
        [FIELD_SHARE] = read_number,
        [FIELD_WORD] = read_word,
        [FIELD_UNIT] = read_unit,
        [FIELD_QUANTITY] = read_quantity,
        [FIELD_RANGE] = read_range,
        [FIELD_CHOICES] = read_choices,
        [FIELD_CONDITION] = read_condition,
        [FIELD_IDS] = read_names,
        [FIELD_REF] = read_ref,
        [FIELD_REFS] = read_names,
        [FIELD_LIST] = read_list,
    };
    readers[s->field->type](s);
}

static bool is_text(enum field_type t)
{
    return t == FIELD_ID || t == FIELD_DOTTED || t == FIELD_LINE || t == FIELD_TEXT;
}

static const struct field *field_called(const struct schema *s, const char *key)
{
    for (size_t i = 0; i < s->field_count; i++)
        if (strcmp(s->fields[i].key, key) == 0)
            return &s->fields[i];
    return NULL;
}

static void complain_key(struct loading *l, const struct schema *s, const struct node *n)
{
    struct names names = {0};
    for (size_t i = 0; i < s->field_count; i++)
        names_add(l, &names, s->fields[i].key);
    const char *hint = names_hint(l, &names, n->key);
    if (*hint == '\0')
        hint = arena_printf(l->scratch, "; its keys are %s", names_joined(l, &names));
    complain(&l->complaints, n->key_mark, "%s: unknown key %s%s", s->name,
             quoted(l->scratch, n->key), hint);
}

/* Plain text where a mapping may stand: the value of the short key. */
static const struct node *spelt_out(struct loading *l, const struct schema *s, const struct node *n)
{
    if (n->kind != NODE_SCALAR || s->short_key == NULL)
        return n;
    struct node *map = arena_alloc(l->tree, sizeof *map);
    struct node *value = arena_alloc(l->tree, sizeof *value);
    *value = *n;
    value->key = s->short_key;
    value->key_mark = n->mark;
    value->next = NULL;
    *map = (struct node){NODE_MAP, n->mark, "", false, NULL, n->mark, value, NULL, 1};
    return map;
}

void schema_read(struct loading *l, const struct schema *s, const struct node *n, void *owner)
{
    struct spot spot = {.l = l, .schema = s, .owner = owner};
    for (size_t i = 0; i < s->field_count; i++)
        if (is_text(s->fields[i].type))
            put_pointer(spot.owner + s->fields[i].offset, "");
    if (s->mark_offset > 0)
        memcpy(spot.owner + s->mark_offset, &n->mark, sizeof n->mark);
    n = spelt_out(l, s, n);
    if (n->kind != NODE_MAP) {
        complain(&l->complaints, n->mark, "%s: expected a mapping of keys, not %s", s->name,
                 seen(l, n));
        return;
    }
    for (const struct node *k = n->first; k != NULL; k = k->next)
        if (field_called(s, k->key) == NULL)
            complain_key(l, s, k);
    for (size_t i = 0; i < s->field_count; i++) {
        spot.field = &s->fields[i];
        spot.node = node_get(n, spot.field->key);
        if (spot.node != NULL)
            read_field(&spot);
        else if (spot.field->required)
            complain(&l->complaints, n->mark, "%s: the key \"%s\" is missing", s->name,
                     spot.field->key);
    }
    if (s->finish != NULL)
        s->finish(l, n, owner);
}
