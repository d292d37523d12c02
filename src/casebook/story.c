#include "casebook/story.h"
#include "base/arena.h"
#include "base/clock.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include <string.h>

const char *entry_show(const struct template_set *set, const struct entry *e, struct arena *a)
{
    const char *shown =
        e->kind == ENTRY_ERROR ? "entered in error" : finding_show(set, e->item, e->value, a);
    return *shown != '\0' ? shown : "no answer";
}

static bool same_id(struct entry_id a, struct entry_id b)
{
    return a.device == b.device && a.number == b.number;
}

static const struct entry *replacer(const struct heads *h, const struct entry *e)
{
    for (size_t i = 0; i < h->count; i++)
        for (size_t k = 0; k < h->entries[i].replaces_count; k++)
            if (same_id(h->entries[i].replaces[k], e->id))
                return &h->entries[i];
    return NULL;
}

static bool signs_again(const struct heads *signs, const struct entry *e)
{
    for (size_t i = 0; i < signs->count; i++)
        if (signs->entries[i].kind == ENTRY_SIGN && replacer(signs, &signs->entries[i]) == e)
            return true;
    return false;
}

/* Sign-offs that were not made over an earlier one, nor taken back. */
static bool first_signs(struct casebook *cb, struct arena *a, const char *entity,
                        const struct heads *story, struct signs *out, struct fault *f)
{
    struct heads signs;
    if (!journal_history(cb->journal, a, entity, ID_SIGNED, &signs, f))
        return false;
    struct entry *both = arena_array(a, signs.count + story->count + 1, sizeof *both);
    struct heads all = {.entries = both};
    for (size_t i = 0; i < signs.count; i++) {
        const struct entry *over = replacer(&signs, &signs.entries[i]);
        bool taken_back = over != NULL && over->kind == ENTRY_ERROR;
        if (signs.entries[i].kind == ENTRY_SIGN && !taken_back &&
            !signs_again(&signs, &signs.entries[i]))
            both[all.count++] = signs.entries[i];
    }
    for (size_t i = 0; i < story->count; i++)
        if (story->entries[i].kind != ENTRY_SIGN)
            both[all.count++] = story->entries[i];
    return signs_find(cb, a, &all, out, f);
}

bool story_look(struct casebook *cb, struct arena *a, const char *entity, const char *item,
                struct story *out, struct fault *f)
{
    struct heads h;
    struct signs signs = {0};
    if (!journal_history(cb->journal, a, entity, item, &h, f) ||
        !first_signs(cb, a, entity, &h, &signs, f))
        return false;
    if (h.count == 0)
        return fail(f, FAULT_MISSING, "nothing has been entered here yet");
    struct telling *all = arena_array(a, h.count, sizeof *all);
    const struct entry *first = NULL;
    *out = (struct story){finding_label(cb->set, item, a), all, h.count, false};
    for (size_t i = 0; i < h.count; i++) {
        const struct entry *e = &h.entries[i];
        bool stands = replacer(&h, e) == NULL;
        all[i] = (struct telling){.entry = e,
                                  .value = entry_show(cb->set, e, a),
                                  .who = author_initials(cb, a, e->author),
                                  .why = reason_words(e->reason),
                                  .stands = stands,
                                  .after = signs_amended(&signs, e)};
        if (stands && first != NULL)
            out->conflict = out->conflict || !same_value(first, e);
        else if (stands)
            first = e;
    }
    return true;
}

const char *who_when(struct arena *a, const char *who, int64_t at)
{
    char day[CLOCK_ROOM], hour[CLOCK_ROOM];
    return arena_printf(a, "%s, %s %s", who, clock_dated(clock_day(at), day), clock_hour(at, hour));
}

const char *telling_words(struct arena *a, const struct telling *t)
{
    return arena_printf(a, "%s  [%s%s]%s%s", t->value, who_when(a, t->who, t->entry->claimed_at),
                        t->after ? ", after signing" : "", *t->why != '\0' ? " because: " : "",
                        t->why);
}
