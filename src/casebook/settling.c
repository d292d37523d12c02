#include "casebook/settling.h"
#include "base/arena.h"
#include "base/clock.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/story.h"
#include "journal/apply.h"
#include <string.h>

struct gather {
    struct casebook *cb;
    struct arena *a;
    const struct device_state *devices;
    size_t device_count;
};

static const char *device_name(const struct gather *g, uint32_t device)
{
    for (size_t i = 0; i < g->device_count; i++)
        if (g->devices[i].device == device)
            return g->devices[i].name;
    return "";
}

static struct stand stand_of(const struct gather *g, const struct entry *e)
{
    return (struct stand){.kind = e->kind,
                          .value = e->value,
                          .shown = entry_show(g->cb->set, e, g->a),
                          .who = author_initials(g->cb, g->a, e->author),
                          .device = device_name(g, e->id.device),
                          .reason = reason_words(e->reason),
                          .claimed_at = e->claimed_at};
}

static const char *whose(const struct gather *g, const struct dispute *d)
{
    struct chart c = {0};
    int64_t at;
    char day[CLOCK_ROOM];
    if (!chart_load(g->cb, g->a, d->entity, &c, NULL))
        return d->entity_kind;
    const char *name = record_said(&c.dog, ID_DOG_NAME);
    if (strcmp(d->entity_kind, "caregiver") == 0)
        name = record_said(&c.caregiver, ID_CAREGIVER_NAME);
    if (name[0] == '\0')
        name = record_text(&c.call, ID_CALL_DOG_NAME);
    if (name[0] == '\0')
        name = "not yet named";
    if (strcmp(d->entity_kind, "visit") == 0 &&
        clock_parse_time(record_text(&c.visit, ID_VISIT_DAY), c.now, &at, NULL))
        return arena_printf(g->a, "%s, visit of %s", name, clock_short(clock_day(at), day));
    return arena_printf(g->a, "%s, %s", name, d->entity_kind);
}

static bool same_stand(const struct stand *x, const struct entry *e)
{
    return x->kind == e->kind && strcmp(x->value, e->value) == 0;
}

static bool dispute_fill(const struct gather *g, const struct conflict *c, struct dispute *out,
                         struct fault *f)
{
    struct heads h;
    if (!journal_heads(g->cb->journal, g->a, c->entity, &h, f))
        return false;
    struct stand *stands = arena_array(g->a, h.count, sizeof *stands);
    struct entry_id *heads = arena_array(g->a, h.count, sizeof *heads);
    *out = (struct dispute){.entity = c->entity,
                            .entity_kind = c->entity_kind,
                            .item = c->item,
                            .label = finding_label(g->cb->set, c->item, g->a),
                            .stands = stands,
                            .heads = heads};
    for (size_t i = 0; i < h.count; i++) {
        const struct entry *e = &h.entries[i];
        bool known = false;
        if (strcmp(e->item, c->item) != 0)
            continue;
        heads[out->head_count++] = e->id;
        for (size_t k = 0; k < out->count; k++)
            known = known || same_stand(&stands[k], e);
        if (!known)
            stands[out->count++] = stand_of(g, e);
    }
    out->whose = whose(g, out);
    return true;
}

bool disputes(struct casebook *cb, struct arena *a, size_t limit, const struct dispute **out,
              size_t *count, struct fault *f)
{
    const struct conflict *all;
    struct gather g = {.cb = cb, .a = a};
    if (!journal_conflicts(cb->journal, a, limit, &all, count, f) ||
        !journal_vector(cb->journal, a, &g.devices, &g.device_count, f))
        return false;
    struct dispute *list = arena_array(a, *count, sizeof *list);
    for (size_t i = 0; i < *count; i++)
        if (!dispute_fill(&g, &all[i], &list[i], f))
            return false;
    *out = list;
    return true;
}

bool conflict_settle(struct casebook *cb, const struct dispute *d, size_t keep,
                     const char *canonical, const char *reason, struct fault *f)
{
    const struct stand *kept = keep < d->count ? &d->stands[keep] : NULL;
    if (cb->author[0] == '\0')
        return fail(f, FAULT_REFUSED, "nobody is named at the keys: a practitioner decides");
    if (reason[0] == '\0')
        return fail(f, FAULT_REFUSED, "to settle what two people entered needs a reason");
    if (kept == NULL && d->stands[0].kind == ENTRY_SIGN)
        return fail(f, FAULT_REFUSED, "of two signatures one can be kept; a third is signed anew");
    struct edit e = {.kind = kept != NULL ? kept->kind : ENTRY_SET,
                     .entity = d->entity,
                     .item = d->item,
                     .value = kept != NULL ? kept->value : canonical,
                     .author = cb->author,
                     .reason = reason,
                     .replaces = d->heads,
                     .replaces_count = d->head_count};
    struct entry_id id;
    return journal_append(cb->journal, &e, &id, f);
}

/* "hip_width.2": a reading of that measure. */
static const struct measure *reading_measure(const struct template_set *set, struct arena *a,
                                             const char *item)
{
    const char *dot = strrchr(item, '.');
    if (dot == NULL || strchr("123", dot[1]) == NULL || dot[1] == '\0' || dot[2] != '\0')
        return NULL;
    return template_measure(set, arena_strn(a, item, (size_t)(dot - item)));
}

bool dispute_read(struct casebook *cb, struct arena *a, const struct dispute *d, const char *typed,
                  const char **canonical, struct fault *f)
{
    static const struct item any = {.kind = ITEM_NOTE, .decimals = -1};
    const char *about;
    const struct measure *m = reading_measure(cb->set, a, d->item);
    const struct item *asked = casebook_item(cb->set, d->item, &about);
    if (m != NULL)
        return reading_read(cb->set, m, typed, a, canonical, f);
    return answer_read(cb->set, asked != NULL ? asked : &any, typed, clock_now(), a, canonical, f);
}
