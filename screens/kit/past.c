#include "screens/kit/past.h"
#include "screens/kit/ask.h"
#include "screens/kit/history.h"

bool history_key(const struct press *p)
{
    return (p->kind == PRESS_KEY && p->code == PK_F2) ||
           (p->kind == PRESS_CHAR && p->text[0] == 'h');
}

const char *past_reason(struct app *app, struct arena *a, const struct record *r, const char *label)
{
    if (!record_signed(r))
        return "";
    const char *question =
        arena_printf(a, "The %s is signed. Why is \"%s\" changed?", r->kind, label);
    return ask_line(app, a, question, "");
}

bool past_strike(struct app *app, struct arena *a, struct record *r, const char *item)
{
    struct fault f = {0};
    const struct finding *found = record_find(r, item);
    const char *label = finding_label(app->cb->set, item, a);
    if (found == NULL || (*found->text == '\0' && found->other_count == 0)) {
        app_say(app, LOOK_PLAIN, "\"%s\" has no answer", label);
        return false;
    }
    const char *question = arena_printf(a, "\"%s\" was entered in error because", label);
    const char *reason = ask_line(app, a, question, "");
    if (reason == NULL || *reason == '\0') {
        app_say(app, LOOK_PLAIN, "It stands as it was: without a reason nothing is struck");
        return false;
    }
    if (!record_strike(app->cb, r, item, reason, &f)) {
        app_fault(app, &f);
        return false;
    }
    return true;
}

bool past_undo(struct app *app, struct arena *a, const char **entity, const char **item)
{
    struct fault f = {0};
    if (!casebook_undo(app->cb, a, entity, item, &f)) {
        app_fault(app, &f);
        return false;
    }
    app_say(app, LOOK_PLAIN, "Taken back: %s", finding_label(app->cb->set, *item, a));
    return true;
}

bool past_press(struct screen *s, const struct press *p, struct record *r, const char *item)
{
    if (history_key(p)) {
        history_show(s->app, r->entity, item);
        return true;
    }
    if (p->kind != PRESS_CTRL || (p->code != 'r' && p->code != 'e'))
        return false;
    struct arena *a = arena_new();
    const char *changed[2];
    if (p->code == 'r' ? past_undo(s->app, a, &changed[0], &changed[1])
                       : past_strike(s->app, a, r, item))
        s->class->refresh(s);
    arena_free(a);
    return true;
}
