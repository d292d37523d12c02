/* The past of an answer: its history, taking back, "entered in error", settling a conflict. */
#include "screens/kit/ask.h"
#include "screens/kit/form_inside.h"
#include "screens/kit/history.h"
#include "screens/kit/past.h"

#include <string.h>

static struct record *focused_record(struct form_view *v)
{
    return chart_record(v->chart, form_focused(v)->form->about);
}

void form_history(struct form_view *v)
{
    const struct record *r = focused_record(v);
    if (r)
        history_show(v->app, r->entity, form_focused(v)->item->id);
}

/* An entry was written behind the view's back: read what it changed again. */
static bool reload(struct form_view *v, const char *entity, struct fault *f)
{
    struct chart *c = v->chart;
    enum { RECORDS = 5 };
    struct record *const all[RECORDS] = {&c->dog, &c->caregiver, &c->call, &c->visit,
                                         &c->practitioner};
    for (size_t i = 0; i < RECORDS; i++)
        if (all[i]->entity && strcmp(all[i]->entity, entity) == 0)
            return record_load(c->cb, c->arena, arena_str(v->scratch, entity), all[i], f);
    return true;
}

/* First what is typed and not kept, then the last entry. */
void form_undo(struct form_view *v)
{
    struct field *field = form_focused(v);
    struct fault f = {0};
    const char *entity, *item;
    if (v->pick >= 0 || (form_edited(field->item) && v->editor.touched)) {
        form_forget_typed(v, field);
        form_load_field(v);
        app_say(v->app, LOOK_PLAIN, "What was typed is taken back");
        return;
    }
    if (!past_undo(v->app, v->scratch, &entity, &item))
        return;
    if (!reload(v, entity, &f)) {
        app_fault(v->app, &f);
        return;
    }
    for (size_t i = 0; i < v->count; i++)
        if (strcmp(v->fields[i].item->id, item) == 0 && v->fields[i].shown)
            v->at = i;
    form_view_refresh(v);
    if (v->saved)
        v->saved(v->of);
}

void form_strike(struct form_view *v)
{
    struct field *field = form_focused(v);
    struct record *r = focused_record(v);
    if (!r || !past_strike(v->app, v->scratch, r, field->item->id))
        return;
    form_forget_typed(v, field);
    form_load_field(v);
    form_view_refresh(v);
    if (v->saved)
        v->saved(v->of);
}

bool form_settle(struct form_view *v)
{
    struct field *field = form_focused(v);
    const struct finding *found = form_finding(v, field);
    const struct template_set *set = v->chart->cb->set;
    struct fault f = {0};
    size_t count = found->other_count + 1;
    const char **values = arena_array(v->scratch, count, sizeof *values);
    const char **labels = arena_array(v->scratch, count, sizeof *labels);
    for (size_t i = 0; i < count; i++) {
        const char *text = i == 0 ? found->text : found->others[i - 1];
        values[i] = arena_str(v->scratch, text);
        labels[i] = *text ? answer_show(set, field->item, text, v->scratch) : "entered in error";
    }
    const char *question =
        arena_printf(v->scratch, "%s: two people, two answers. Which stands?", field->item->label);
    int taken = ask_choice(v->app, question, labels, count, 0);
    if (taken < 0)
        return false;
    if (!form_write(v, field, values[taken], &f)) {
        app_fault(v->app, &f);
        return false;
    }
    form_load_field(v);
    return true;
}
