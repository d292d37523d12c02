#include "casebook/inside.h"
#include <string.h>

bool item_shown(const struct chart *c, const struct item *i)
{
    struct facts facts = chart_facts(c);
    return condition_holds(i->shown_when, &facts, NULL);
}

bool item_required(const struct chart *c, const struct item *i)
{
    struct facts facts = chart_facts(c);
    return i->required_when != NULL && item_shown(c, i) &&
           condition_holds(i->required_when, &facts, NULL);
}

const char *progress_word(enum progress p)
{
    static const char *const words[] = {[PROGRESS_NOT_ASKED] = "not asked",
                                        [PROGRESS_BEGUN] = "begun",
                                        [PROGRESS_NEEDED] = "needed",
                                        [PROGRESS_DONE] = "done"};
    return words[p];
}

/* Begun, nothing missing: done when something was required, or all of it is answered. */
static enum progress judge(const struct section_state *s, size_t required)
{
    if (s->answered == 0)
        return PROGRESS_NOT_ASKED;
    if (s->missing > 0)
        return PROGRESS_NEEDED;
    return required > 0 || s->answered == s->shown ? PROGRESS_DONE : PROGRESS_BEGUN;
}

struct section_state form_state(const struct chart *c, const struct form *form)
{
    struct chart here = *c;
    const struct record *r = chart_record(&here, form->about);
    struct section_state s = {0};
    const char *first_missing = "", *needed_open = NULL, *other_open = NULL;
    size_t required = 0, disputes = 0;
    for (size_t i = 0; i < form->item_count; i++) {
        const struct item *item = &form->items[i];
        if (!item_shown(c, item))
            continue;
        bool answered = r != NULL && record_text(r, item->id)[0] != '\0';
        bool needed = item_required(c, item);
        s.shown++;
        s.answered += answered;
        required += needed;
        disputes += r != NULL && disputed(r, item->id);
        const char **open = needed ? &needed_open : &other_open;
        if (!answered)
            *open = listed(c->arena, *open, item->label);
        if (needed && !answered && s.missing++ == 0)
            first_missing = item->label;
    }
    s.progress = judge(&s, required);
    s.open = listed(c->arena, needed_open, other_open);
    if (s.answered == 0)
        s.summary =
            arena_printf(c->arena, "%zu %s", s.shown, s.shown == 1 ? "question" : "questions");
    else if (s.missing > 0)
        s.summary = arena_printf(c->arena, "%s%zu of %zu, still needed: %s%s",
                                 disputed_words(c->arena, disputes), s.answered, s.shown,
                                 first_missing, s.missing > 1 ? " and more" : "");
    else
        s.summary = arena_printf(c->arena, "%s%zu of %zu", disputed_words(c->arena, disputes),
                                 s.answered, s.shown);
    return s;
}
