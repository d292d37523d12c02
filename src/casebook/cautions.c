#include "casebook/cautions.h"
#include "base/arena.h"
#include "casebook/because.h"

static const char *labels_of(const struct support_rule *rule, struct arena *a)
{
    const char *list = "";
    for (size_t i = 0; i < rule->support_count; i++)
        list = arena_printf(a, "%s%s%s", list, i > 0 ? "; " : "", rule->supports[i]->label);
    return list;
}

size_t cautions_look(const struct chart *c, const struct caution **out)
{
    static const enum effect gravest_first[] = {EFFECT_FORBIDS, EFFECT_WARNS};
    const struct template_set *set = c->cb->set;
    struct caution *list = arena_array(c->arena, set->support_rule_count, sizeof *list);
    size_t n = 0;
    for (size_t g = 0; g < 2 && c->visit.entity != NULL; g++)
        for (size_t i = 0; i < set->support_rule_count; i++) {
            const struct support_rule *rule = &set->support_rules[i];
            const char *because;
            if (rule->effect == gravest_first[g] && rule_stands(c, rule->when, true, &because))
                list[n++] = (struct caution){.forbids = g == 0,
                                             .reason = rule->reason,
                                             .because = because,
                                             .source = rule->source,
                                             .supports = labels_of(rule, c->arena)};
        }
    *out = list;
    return n;
}
