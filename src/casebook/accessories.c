#include "casebook/accessories.h"
#include "base/arena.h"
#include "base/text.h"
#include "casebook/because.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include <string.h>

static bool among(const char *words, const char *word)
{
    size_t n = strlen(word);
    for (const char *p = words; *p != '\0'; p += strcspn(p, " "), p += strspn(p, " "))
        if (strncmp(p, word, n) == 0 && (p[n] == ' ' || p[n] == '\0'))
            return true;
    return false;
}

static void find_rule(const struct chart *c, struct accessory_view *view)
{
    const struct template_set *set = c->cb->set;
    for (size_t i = 0; i < set->accessory_rule_count && view->rule == NULL; i++) {
        const struct accessory_rule *rule = &set->accessory_rules[i];
        for (size_t k = 0; k < rule->accessory_count && view->rule == NULL; k++)
            if (strcmp(rule->accessories[k], view->choice->id) == 0 &&
                rule_stands(c, rule->when, false, &view->because))
                view->rule = rule;
    }
}

size_t accessories_look(const struct chart *c, const struct accessory_view **out)
{
    const struct item *item = template_item(c->cb->set, ID_ACCESSORIES);
    size_t count = item == NULL ? 0 : item->choice_count;
    const char *picked = record_text(&c->visit, ID_ACCESSORIES);
    struct accessory_view *views = arena_array(c->arena, count, sizeof *views);
    for (size_t i = 0; i < count; i++) {
        views[i] = (struct accessory_view){.choice = &item->choices[i], .because = ""};
        views[i].picked = among(picked, views[i].choice->id);
        find_rule(c, &views[i]);
    }
    *out = views;
    return count;
}

bool accessory_turn(struct chart *c, const struct accessory_view *view, struct fault *f)
{
    const struct accessory_view *all;
    struct text ids;
    if (c->visit.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no visit to pick for");
    size_t count = accessories_look(c, &all);
    text_init(&ids, JOURNAL_VALUE_MAX);
    for (size_t i = 0; i < count; i++)
        if (all[i].picked != (all[i].choice == view->choice))
            text_addf(&ids, "%s%s", ids.len > 0 ? " " : "", all[i].choice->id);
    bool ok = record_put(c->cb, &c->visit, ID_ACCESSORIES, ids.s, reason_of(c), f);
    text_free(&ids);
    return ok;
}

struct section_state accessories_state(const struct chart *c)
{
    const struct accessory_view *all;
    size_t count = accessories_look(c, &all), picked = 0, open = 0;
    for (size_t i = 0; i < count; i++) {
        picked += all[i].picked;
        open += all[i].rule != NULL && !all[i].picked;
    }
    struct section_state s = {.shown = count, .answered = picked};
    s.progress = picked == 0 ? PROGRESS_NOT_ASKED : open > 0 ? PROGRESS_BEGUN : PROGRESS_DONE;
    s.summary = open > 0 ? arena_printf(c->arena, "%zu picked, %zu more proposed", picked, open)
                         : arena_printf(c->arena, "%zu picked", picked);
    return s;
}
