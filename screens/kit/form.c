#include "screens/kit/form_inside.h"

#include "screens/kit/past.h"

#include <string.h>

enum { PAGE_STEP = 8 };

/* ---- what is known about a field ------------------------------------------------------------- */

struct field *form_focused(struct form_view *v)
{
    return v->at < v->count ? &v->fields[v->at] : NULL;
}

static struct record *record_of(const struct form_view *v, const struct field *field)
{
    return chart_record(v->chart, field->form->about);
}

const struct finding *form_finding(const struct form_view *v, const struct field *field)
{
    const struct record *r = record_of(v, field);
    return r ? record_find(r, field->item->id) : NULL;
}

const char *form_answer(const struct form_view *v, const struct field *field)
{
    const struct record *r = record_of(v, field);
    return r ? record_text(r, field->item->id) : "";
}

bool form_in_conflict(const struct form_view *v, const struct field *field)
{
    const struct finding *found = form_finding(v, field);
    return found && found->other_count > 0;
}

bool form_edited(const struct item *item)
{
    return item->kind != ITEM_YESNO && item->kind != ITEM_CHOICE && item->kind != ITEM_MANY;
}

bool form_prose(const struct item *item)
{
    return item->kind == ITEM_TEXT || item->kind == ITEM_NOTE;
}

/* Which questions are asked and which are needed, now. */
static void look_again(struct form_view *v)
{
    for (size_t i = 0; i < v->count; i++) {
        struct field *field = &v->fields[i];
        field->shown = item_shown(v->chart, field->item);
        field->required = field->shown && item_required(v->chart, field->item);
    }
}

/* Whose hand it was is read from the record: not to be done while drawing. */
static void look_before(struct form_view *v)
{
    struct field *field = form_focused(v);
    struct chart lasting = *v->chart; /* a page that is read again must not take the words away */
    lasting.arena = v->arena;
    if (!v->before || !field || field->looked)
        return;
    field->looked = true;
    if (!v->before(&lasting, field->item, &field->before))
        field->before = (struct form_before){0};
}

void form_view_before(struct form_view *v, form_before_look *look)
{
    v->before = look;
    for (size_t i = 0; i < v->count; i++) {
        v->fields[i].looked = false;
        v->fields[i].before = (struct form_before){0};
    }
    look_before(v);
}

/* ---- moving ---------------------------------------------------------------------------------- */

void form_load_field(struct form_view *v)
{
    struct field *field = form_focused(v);
    v->pick = -1;
    v->typed[0] = '\0';
    v->insisted = v->unread = false;
    if (!field || !form_edited(field->item))
        return;
    if (field->pending) {
        editor_set(&v->editor, field->pending);
        v->editor.touched = true;
        v->editor.whole = false;
        return;
    }
    const struct template_set *set = v->chart->cb->set;
    editor_set(&v->editor, answer_edit(set, field->item, form_answer(v, field), v->scratch));
    v->unread = field->item->kind == ITEM_NOTE;
    if (v->unread) /* a note is added to, not typed over */
        v->editor.whole = false;
}

static void focus(struct form_view *v, size_t at)
{
    v->at = at;
    form_load_field(v);
}

bool form_step(struct form_view *v, int by)
{
    for (size_t i = v->at;;) {
        if (by < 0 ? i == 0 : i + 1 >= v->count)
            return false;
        i = by < 0 ? i - 1 : i + 1;
        if (v->fields[i].shown) {
            focus(v, i);
            return true;
        }
    }
}

/* The focused question may just have gone: then the next one asked, else the one before. */
static void focus_shown(struct form_view *v)
{
    if (v->at < v->count && v->fields[v->at].shown)
        return;
    if (v->count > 0 && v->at >= v->count)
        v->at = v->count - 1;
    if (!form_step(v, 1) && !form_step(v, -1))
        v->at = v->count; /* nothing is asked */
}

/* ---- keeping --------------------------------------------------------------------------------- */

/* A signed record changes only with a reason. NULL: given up. */
static const char *reason_for(struct form_view *v, const struct record *r,
                              const struct field *field, const char *canonical)
{
    const struct finding *found = record_find(r, field->item->id);
    bool stands =
        found ? !found->in_error && found->other_count == 0 && strcmp(found->text, canonical) == 0
              : !*canonical;
    return stands ? "" : past_reason(v->app, v->scratch, r, field->item->label);
}

void form_forget_typed(struct form_view *v, struct field *field)
{
    const struct record *r = record_of(v, field);
    field->pending = NULL;
    if (field->drafted && r &&
        journal_draft_drop(v->chart->cb->journal, r->entity, field->item->id, NULL))
        field->drafted = false;
}

bool form_write(struct form_view *v, struct field *field, const char *canonical, struct fault *f)
{
    struct record *r = record_of(v, field);
    if (!r)
        return fail(f, FAULT_MISSING, "there is no %s yet to keep this with", field->form->about);
    const char *reason = reason_for(v, r, field, canonical);
    if (!reason)
        return fail(f, FAULT_REFUSED, "not kept: a signed %s is changed only with a reason",
                    r->kind);
    if (!record_put(v->chart->cb, r, field->item->id, canonical, reason, f))
        return false;
    form_forget_typed(v, field);
    look_again(v);
    if (v->saved)
        v->saved(v->of);
    return true;
}

static const char *unkept_text(const struct form_view *v, const struct field *field)
{
    if (form_edited(field->item))
        return v->editor.touched ? v->editor.text.s : NULL;
    return v->pick >= 0 ? field->item->choices[v->pick].label : NULL;
}

static bool put_draft(struct form_view *v, struct field *field, const char *text, struct fault *f)
{
    const struct record *r = record_of(v, field);
    if (!r || journal_read_only(v->chart->cb->journal))
        return true;
    field->drafted = true;
    return journal_draft_put(v->chart->cb->journal, r->entity, field->item->id, text, f);
}

/* Keep what is typed in the focused field; when that cannot be, it stays as typed, with words. */
static bool keep(struct form_view *v, struct fault *f)
{
    struct field *field = form_focused(v);
    const char *typed = field ? unkept_text(v, field) : NULL;
    if (!typed)
        return true;
    const char *canonical;
    if (answer_read(v->chart->cb->set, field->item, typed, v->chart->now, v->scratch, &canonical,
                    f) &&
        form_write(v, field, canonical, f)) {
        form_load_field(v);
        return true;
    }
    field->pending = arena_str(v->arena, typed);
    field->why = arena_str(v->arena, f->text);
    put_draft(v, field, typed, NULL);
    return false;
}

/* ---- presses --------------------------------------------------------------------------------- */

/* Why stands with the question; the message names it. */
static void say_unkept(struct form_view *v)
{
    const struct field *field = form_focused(v);
    if (field)
        app_say(v->app, LOOK_WARN, "Not kept yet, marked !: %s", field->item->label);
}

/* Up, Down, Tab and pages go on in any case: what cannot be read is marked and waits. */
static void move(struct form_view *v, int by)
{
    struct fault f = {0};
    if (!keep(v, &f))
        say_unkept(v);
    focus_shown(v);
    for (int step = by < 0 ? -1 : 1; by != 0 && form_step(v, step); by -= step)
        continue;
}

static void say_end(struct form_view *v)
{
    size_t missing = 0;
    for (size_t i = 0; i < v->count; i++)
        missing += v->fields[i].required && !*form_answer(v, &v->fields[i]);
    if (missing > 0)
        app_say(v->app, LOOK_WARN, "The last question. Still needed: %zu, marked *", missing);
    else
        app_say(v->app, LOOK_PLAIN, "The last question. Nothing needed is missing");
}

/* Enter goes on only when the answer is kept. */
static void enter(struct form_view *v)
{
    struct fault f = {0};
    struct field *field = form_focused(v);
    if (!unkept_text(v, field) && form_in_conflict(v, field) && !form_settle(v))
        return;
    if (!keep(v, &f)) {
        say_unkept(v);
        return;
    }
    focus_shown(v);
    if (form_focused(v) && !form_step(v, 1))
        say_end(v);
}

static bool press_control(struct form_view *v, int letter)
{
    if (letter == 'r')
        form_undo(v);
    else if (letter == 'e')
        form_strike(v);
    else
        return false;
    return true;
}

static bool press_key(struct form_view *v, int key)
{
    static const struct {
        int key, by;
    } moves[] = {{PK_UP, -1},
                 {PK_DOWN, 1},
                 {PK_TAB, 1},
                 {PK_BACK_TAB, -1},
                 {PK_PAGE_UP, -PAGE_STEP},
                 {PK_PAGE_DOWN, PAGE_STEP}};
    for (size_t i = 0; i < sizeof moves / sizeof *moves; i++) {
        if (moves[i].key == key) {
            move(v, moves[i].by);
            return true;
        }
    }
    if (key == PK_ENTER)
        enter(v);
    else if (key == PK_F2)
        form_history(v);
    else
        return false;
    return true;
}

static bool press_field(struct form_view *v, const struct press *p)
{
    arena_reset(v->scratch);
    struct field *field = form_focused(v);
    if (!field)
        return false;
    v->unread = false;
    bool vertical = p->kind == PRESS_KEY && (p->code == PK_UP || p->code == PK_DOWN);
    if (vertical && form_prose(field->item) &&
        editor_line_move(&v->editor, v->field_width, p->code == PK_UP ? -1 : 1))
        return true;
    if (p->kind == PRESS_CTRL && press_control(v, p->code))
        return true;
    if (p->kind == PRESS_KEY && press_key(v, p->code))
        return true;
    bool taken = form_take(v, p);
    if (taken)
        v->insisted = false;
    else if (!form_view_typing(v) && history_key(p)) {
        form_history(v);
        return true;
    }
    focus_shown(v);
    return taken;
}

bool form_view_press(struct form_view *v, const struct press *p)
{
    bool taken = press_field(v, p);
    look_before(v);
    return taken;
}

bool form_view_typing(const struct form_view *v)
{
    if (v->at >= v->count)
        return false;
    switch (v->fields[v->at].item->kind) {
    case ITEM_YESNO:
    case ITEM_MANY:
        return false;
    case ITEM_NUMBER:
    case ITEM_LENGTH:
    case ITEM_SCORE:
    case ITEM_MASS: /* a unit comes after its number: before it, letters are commands */
        return v->editor.touched && strpbrk(v->editor.text.s, "0123456789");
    default:
        return true;
    }
}

const struct item *form_view_item(const struct form_view *v)
{
    return v->at < v->count ? v->fields[v->at].item : NULL;
}

bool form_view_leave(struct form_view *v, struct fault *f)
{
    arena_reset(v->scratch);
    if (keep(v, f))
        return true;
    if (v->insisted)
        return true; /* said once: it stays as a draft and is offered again */
    v->insisted = true;
    const struct field *field = form_focused(v);
    return fail(f, FAULT_INPUT, "Not kept yet, marked !: %s. Once more leaves it as it is typed",
                field ? field->item->label : "");
}

void form_view_draft(struct form_view *v)
{
    struct fault f = {0};
    struct field *field = form_focused(v);
    const char *typed = field ? unkept_text(v, field) : NULL;
    if (typed && !put_draft(v, field, typed, &f))
        app_fault(v->app, &f);
}

void form_view_refresh(struct form_view *v)
{
    struct field *field = form_focused(v);
    bool busy = field && unkept_text(v, field);
    look_again(v);
    focus_shown(v);
    if (!busy)
        form_load_field(v);
}

/* ---- life ------------------------------------------------------------------------------------ */

static void offer_drafts(struct form_view *v)
{
    const struct draft *drafts;
    size_t count;
    if (!journal_drafts(v->chart->cb->journal, v->arena, &drafts, &count, NULL))
        return;
    for (size_t d = 0; d < count; d++) {
        for (size_t i = 0; i < v->count; i++) {
            struct field *field = &v->fields[i];
            const struct record *r = record_of(v, field);
            if (!r || strcmp(drafts[d].item, field->item->id) != 0 ||
                strcmp(drafts[d].entity, r->entity) != 0)
                continue;
            field->drafted = true;
            if (!*drafts[d].typed && !*form_answer(v, field))
                continue; /* nothing was typed, and nothing stands */
            field->pending = drafts[d].typed;
            field->why = "typed before, and not yet kept: Enter keeps it";
        }
    }
}

struct form_view *form_view_new(struct app *app, struct arena *a, struct chart *chart,
                                const struct form *const *forms, size_t count)
{
    struct form_view *v = arena_alloc(a, sizeof *v);
    *v = (struct form_view){
        .app = app, .arena = a, .scratch = arena_new(), .paper = arena_new(), .chart = chart};
    for (size_t i = 0; i < count; i++)
        v->count += forms[i]->item_count;
    v->fields = arena_array(a, v->count, sizeof *v->fields);
    size_t at = 0;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < forms[i]->item_count; k++)
            v->fields[at++] = (struct field){.form = forms[i],
                                             .item = &forms[i]->items[k],
                                             .label_width = draw_width(forms[i]->items[k].label)};
    editor_init(&v->editor, JOURNAL_VALUE_MAX);
    offer_drafts(v);
    look_again(v);
    focus_shown(v);
    form_load_field(v);
    return v;
}

void form_view_free(struct form_view *v)
{
    editor_free(&v->editor);
    arena_free(v->scratch);
    arena_free(v->paper);
}

void form_view_on_saved(struct form_view *v, void (*saved)(void *of), void *of)
{
    v->saved = saved;
    v->of = of;
}
