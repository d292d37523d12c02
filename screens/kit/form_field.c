/* How each kind of answer takes a press. */
#include "screens/kit/ask.h"
#include "screens/kit/form_inside.h"

#include <ctype.h>
#include <string.h>

/* ---- answers that are kept at once ----------------------------------------------------------- */

/* Keep, and go on when `on`; what goes wrong is said and the focus stays. */
static void answer(struct form_view *v, const char *canonical, bool on)
{
    struct fault f = {0};
    if (!form_write(v, form_focused(v), canonical, &f)) {
        app_fault(v->app, &f);
        return;
    }
    form_load_field(v);
    if (on)
        form_step(v, 1);
}

static bool erases(const struct press *p)
{
    return p->kind == PRESS_KEY && (p->code == PK_BACKSPACE || p->code == PK_DELETE);
}

static bool take_yesno(struct form_view *v, const struct press *p)
{
    static const struct {
        char key;
        const char *canonical;
    } keys[] = {{'y', "yes"}, {'n', "no"}, {'u', "unknown"}};
    if (erases(p)) {
        answer(v, "", false);
        return true;
    }
    for (size_t i = 0; i < sizeof keys / sizeof *keys && p->kind == PRESS_CHAR; i++) {
        if (tolower((unsigned char)p->text[0]) == keys[i].key) {
            answer(v, keys[i].canonical, true);
            return true;
        }
    }
    return false;
}

/* ---- choices --------------------------------------------------------------------------------- */

static const char **labels_of(struct form_view *v, const struct item *item)
{
    const char **labels = arena_array(v->scratch, item->choice_count, sizeof *labels);
    for (size_t i = 0; i < item->choice_count; i++) {
        const struct choice *c = &item->choices[i];
        labels[i] = *c->help ? arena_printf(v->scratch, "%s  (%s)", c->label, c->help) : c->label;
    }
    return labels;
}

static int chosen(const struct form_view *v, const struct field *field)
{
    if (v->pick >= 0)
        return v->pick;
    const char *id = form_answer(v, field);
    for (size_t i = 0; i < field->item->choice_count; i++)
        if (strcmp(field->item->choices[i].id, id) == 0)
            return (int)i;
    return -1;
}

static void open_choice(struct form_view *v, struct field *field)
{
    const struct item *item = field->item;
    int at = chosen(v, field);
    int taken = ask_choice(v->app, item->label, labels_of(v, item), item->choice_count,
                           at < 0 ? 0 : (size_t)at);
    if (taken >= 0)
        answer(v, item->choices[taken].id, true);
}

static void cycle(struct form_view *v, const struct field *field, int by)
{
    int count = (int)field->item->choice_count, at = chosen(v, field);
    if (at < 0)
        v->pick = by > 0 ? 0 : count - 1;
    else
        v->pick = (at + by + count) % count;
    v->typed[0] = '\0';
}

/* More letters of a label: true when a label begins so. */
static bool narrow(struct form_view *v, const struct field *field, const char *text)
{
    char typed[FORM_TYPED_ROOM];
    size_t len = strlen(v->typed), more = strlen(text);
    if (len + more >= sizeof typed)
        return false;
    memcpy(typed, v->typed, len);
    memcpy(typed + len, text, more + 1);
    int at = ask_find(labels_of(v, field->item), field->item->choice_count, typed);
    if (at < 0)
        return false;
    memcpy(v->typed, typed, sizeof typed);
    v->pick = at;
    return true;
}

/* A digit that names a choice by its place takes it, as long as no second digit could follow. */
static bool take_number(struct form_view *v, const struct field *field, const char *text)
{
    const char *canonical;
    const char *const *labels = labels_of(v, field->item);
    if (!isdigit((unsigned char)text[0]) || *v->typed || field->item->choice_count > 9 ||
        !ask_numbered(labels, field->item->choice_count) ||
        !answer_read(v->chart->cb->set, field->item, text, v->chart->now, v->scratch, &canonical,
                     NULL))
        return false;
    answer(v, canonical, true);
    return true;
}

static void type_choice(struct form_view *v, struct field *field, const char *text)
{
    if (take_number(v, field, text) || (!(*text == ' ' && !*v->typed) && narrow(v, field, text)))
        return;
    if (*text == ' ') {
        open_choice(v, field);
        return;
    }
    v->typed[0] = '\0';
    if (!narrow(v, field, text))
        app_say(v->app, LOOK_WARN, "No choice begins with \"%s\": Space shows them", text);
}

static bool take_choice(struct form_view *v, const struct press *p)
{
    struct field *field = form_focused(v);
    if (p->kind == PRESS_CHAR) {
        type_choice(v, field, p->text);
    } else if (erases(p)) {
        bool picked = v->pick >= 0;
        form_load_field(v);
        if (!picked)
            answer(v, "", false);
    } else if (p->kind == PRESS_KEY && (p->code == PK_LEFT || p->code == PK_RIGHT)) {
        cycle(v, field, p->code == PK_LEFT ? -1 : 1);
    } else {
        return false;
    }
    return true;
}

/* ---- any of many ----------------------------------------------------------------------------- */

static bool has_word(const char *words, const char *word)
{
    size_t n = strlen(word);
    for (const char *p = words; *p; p += strcspn(p, " "), p += strspn(p, " "))
        if (strncmp(p, word, n) == 0 && (p[n] == ' ' || p[n] == '\0'))
            return true;
    return false;
}

static bool *ticks_of(struct form_view *v, const struct field *field)
{
    const struct item *item = field->item;
    bool *ticked = arena_array(v->scratch, item->choice_count, sizeof *ticked);
    for (size_t i = 0; i < item->choice_count; i++)
        ticked[i] = has_word(form_answer(v, field), item->choices[i].id);
    return ticked;
}

static void keep_ticks(struct form_view *v, const struct field *field, const bool *ticked, bool on)
{
    struct text ids;
    text_init(&ids, JOURNAL_VALUE_MAX);
    for (size_t i = 0; i < field->item->choice_count; i++)
        if (ticked[i])
            text_addf(&ids, "%s%s", ids.len > 0 ? " " : "", field->item->choices[i].id);
    answer(v, ids.s, on);
    text_free(&ids);
}

static bool take_many(struct form_view *v, const struct press *p)
{
    struct field *field = form_focused(v);
    const struct item *item = field->item;
    if (p->kind != PRESS_CHAR)
        return false;
    bool *ticked = ticks_of(v, field);
    size_t number = (size_t)(p->text[0] - '1');
    if (p->text[0] == ' ') {
        if (ask_many(v->app, item->label, labels_of(v, item), item->choice_count, ticked))
            keep_ticks(v, field, ticked, true);
        return true;
    }
    if (p->text[0] < '1' || p->text[0] > '9' || number >= item->choice_count ||
        !ask_numbered(labels_of(v, item), item->choice_count))
        return false;
    ticked[number] = !ticked[number];
    keep_ticks(v, field, ticked, false);
    return true;
}

/* ---- text ------------------------------------------------------------------------------------ */

static bool take_text(struct form_view *v, const struct press *p)
{
    return editor_press(&v->editor, p);
}

/* A number begins with a digit, a sign or a mark; letters before that are nobody's text. */
static bool take_number_text(struct form_view *v, const struct press *p)
{
    if (p->kind == PRESS_CHAR && !form_view_typing(v) && isalpha((unsigned char)p->text[0]))
        return false;
    if (p->kind == PRESS_CHAR && !form_view_typing(v) && strchr("?/", p->text[0]))
        return false;
    return editor_press(&v->editor, p);
}

bool form_take(struct form_view *v, const struct press *p)
{
    static bool (*const takes[ITEM_KIND_COUNT])(struct form_view *, const struct press *) = {
        [ITEM_TEXT] = take_text,          [ITEM_NOTE] = take_text,
        [ITEM_NUMBER] = take_number_text, [ITEM_LENGTH] = take_number_text,
        [ITEM_MASS] = take_number_text,   [ITEM_CHOICE] = take_choice,
        [ITEM_MANY] = take_many,          [ITEM_YESNO] = take_yesno,
        [ITEM_DATE] = take_text,          [ITEM_TIME] = take_text,
        [ITEM_SCORE] = take_number_text,
    };
    return takes[form_focused(v)->item->kind](v, p);
}
