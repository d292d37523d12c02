#include "casebook/deciding.h"
#include "base/arena.h"
#include "casebook/because.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include <string.h>

static bool speaks_of(const struct support_rule *rule, const struct support *s)
{
    for (size_t i = 0; i < rule->support_count; i++)
        if (rule->supports[i] == s)
            return true;
    return false;
}

struct held {
    bool holds;
    const char *because;
};

/* What the rules that hold say about one support, gravest first. */
static struct support_view view_of(const struct chart *c, const struct support *s,
                                   const struct held *held)
{
    static const enum effect gravest_first[] = {EFFECT_FORBIDS, EFFECT_WARNS, EFFECT_PROPOSES};
    const struct template_set *set = c->cb->set;
    struct support_reason *reasons =
        arena_array(c->arena, set->support_rule_count, sizeof *reasons);
    struct support_view view = {.support = s, .standing = SUPPORT_SILENT, .reasons = reasons};
    for (size_t g = 0; g < 3; g++)
        for (size_t i = 0; i < set->support_rule_count; i++) {
            const struct support_rule *rule = &set->support_rules[i];
            if (rule->effect == gravest_first[g] && held[i].holds && speaks_of(rule, s))
                reasons[view.reason_count++] = (struct support_reason){rule, held[i].because};
        }
    if (view.reason_count > 0)
        view.standing = reasons[0].rule->effect == EFFECT_FORBIDS ? SUPPORT_FORBIDDEN
                        : reasons[0].rule->effect == EFFECT_WARNS ? SUPPORT_WARNED
                                                                  : SUPPORT_PROPOSED;
    return view;
}

/* Of this visit, else of the latest before it in which something was decided. */
static const struct finding *decision(const struct chart *c)
{
    const struct finding *f = record_find(&c->visit, ID_SUPPORT);
    for (size_t i = c->earlier_count;
         i-- > 0 && (f == NULL || (f->text[0] == '\0' && f->other_count == 0));)
        f = record_find(&c->earlier[i], ID_SUPPORT);
    return f;
}

static void read_decision(const struct chart *c, struct deciding *out)
{
    const struct finding *f = record_find(&c->visit, ID_SUPPORT);
    const char *id = record_text(&c->visit, ID_SUPPORT);
    out->override_reason = record_text(&c->visit, ID_SUPPORT_REASON);
    out->signed_by = "";
    out->finding = decision(c);
    bool disputed_before = out->finding != NULL && out->finding->other_count > 0;
    out->mark = finding_mark(c->cb, c->arena, disputed_before ? out->finding : f);
    for (size_t i = c->earlier_count; i-- > 0 && out->stands == NULL;)
        out->stands = template_support(c->cb->set, record_text(&c->earlier[i], ID_SUPPORT));
    if (id[0] == '\0')
        return;
    out->stands = out->decided = template_support(c->cb->set, id);
    out->signed_by = author_initials(c->cb, c->arena, f->author);
}

void deciding_look(const struct chart *c, struct deciding *out)
{
    const struct template_set *set = c->cb->set;
    if (c->decided != NULL) {
        *out = *c->decided;
        return;
    }
    struct held *held = arena_array(c->arena, set->support_rule_count, sizeof *held);
    *out = (struct deciding){.count = set->support_count};
    read_decision(c, out);
    for (size_t i = 0; i < set->support_rule_count; i++)
        held[i].holds =
            rule_stands(c, set->support_rules[i].when,
                        set->support_rules[i].effect != EFFECT_PROPOSES, &held[i].because);
    struct support_view *all = arena_array(c->arena, out->count, sizeof *all);
    for (size_t i = 0; i < out->count; i++) {
        all[i] = view_of(c, &set->supports[i], held);
        all[i].decided = all[i].support == out->decided;
        if (all[i].decided)
            out->override = all[i].standing >= SUPPORT_WARNED;
    }
    static const int shown_order[] = {SUPPORT_PROPOSED, SUPPORT_SILENT, SUPPORT_WARNED,
                                      SUPPORT_FORBIDDEN};
    out->views = arena_array(c->arena, out->count, sizeof *out->views);
    size_t n = 0;
    for (size_t g = 0; g < 4; g++)
        for (size_t i = 0; i < out->count; i++)
            if ((int)all[i].standing == shown_order[g])
                out->views[n++] = all[i];
}

const struct support *support_in_mind(const struct chart *c)
{
    const struct support *decided =
        template_support(c->cb->set, record_text(&c->visit, ID_SUPPORT));
    struct deciding d;
    if (decided != NULL)
        return decided;
    deciding_look(c, &d);
    for (size_t i = 0; i < d.count; i++)
        if (d.views[i].standing == SUPPORT_PROPOSED && d.views[i].support->fitted)
            return d.views[i].support;
    return NULL;
}

bool deciding_put(struct chart *c, const struct support *s, const char *reason, struct fault *f)
{
    struct deciding d;
    if (c->visit.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no visit to decide in");
    deciding_look(c, &d);
    for (size_t i = 0; i < d.count; i++) {
        const struct support_view *v = &d.views[i];
        if (v->support == s && v->standing >= SUPPORT_WARNED && reason[0] == '\0')
            return fail(f, FAULT_REFUSED, "%s: %s (%s). Going against that needs a reason",
                        s->label, v->standing == SUPPORT_FORBIDDEN ? "forbidden" : "warned of",
                        v->reasons[0].rule->reason);
    }
    if (!casebook_begin(c->cb, f))
        return false;
    const char *why = reason[0] != '\0' ? reason : reason_of(c);
    bool ok = record_put(c->cb, &c->visit, ID_SUPPORT, s->id, why, f) &&
              record_put(c->cb, &c->visit, ID_SUPPORT_REASON, reason, why, f);
    return end_with(c->cb, ok, &c->visit, f);
}

/* The first one that a rule speaks for although another asks for care; NULL when there is none. */
static const struct support *proposed_with_care(const struct deciding *d)
{
    for (size_t i = 0; i < d->count; i++)
        for (size_t k = 0; d->views[i].standing == SUPPORT_WARNED && k < d->views[i].reason_count;
             k++)
            if (d->views[i].reasons[k].rule->effect == EFFECT_PROPOSES)
                return d->views[i].support;
    return NULL;
}

struct section_state deciding_state(const struct chart *c)
{
    struct deciding d;
    deciding_look(c, &d);
    struct section_state s = {
        .shown = 1, .answered = d.decided != NULL, .missing = d.decided == NULL};
    s.progress = d.decided != NULL ? PROGRESS_DONE : PROGRESS_NOT_ASKED;
    size_t proposed = 0;
    while (proposed < d.count && d.views[proposed].standing == SUPPORT_PROPOSED)
        proposed++;
    if (d.decided != NULL)
        s.summary = arena_printf(c->arena, "%s%s, %s", d.decided->label,
                                 d.override ? " against a rule" : "", d.signed_by);
    else if (proposed > 0)
        s.summary = arena_printf(c->arena, "proposed: %s", d.views[0].support->label);
    else if (proposed_with_care(&d) != NULL)
        s.summary =
            arena_printf(c->arena, "proposed, with care: %s", proposed_with_care(&d)->label);
    else
        s.summary = "nothing is proposed";
    return s;
}
