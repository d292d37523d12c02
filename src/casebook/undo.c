/* Undo: entries that put back what earlier entries replaced. An undo says in its reason which entry
 * it answers ("undo 123"), so that the next undo goes one further back. */
#include "base/arena.h"
#include "casebook/casebook.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { LOOK_BACK = 500 };

uint64_t undoes(const struct entry *e)
{
    uint64_t number = 0;
    bool may = e->reason[0] == 'u'; /* asked of every entry that is read, and hardly one is */
    return may && sscanf(e->reason, "undo %" SCNu64, &number) == 1 ? number : 0;
}

const char *reason_words(const char *reason)
{
    return undoes(&(struct entry){.reason = reason}) != 0 ? "taken back" : reason;
}

/* The newest entry at or after `from` that is no undo and not undone; count when there is none. */
static size_t next_standing(const struct heads *recent, size_t from)
{
    for (size_t i = from; i < recent->count; i++) {
        bool undone = undoes(&recent->entries[i]) != 0;
        for (size_t k = 0; k < i && !undone; k++)
            undone = undoes(&recent->entries[k]) == recent->entries[i].id.number;
        if (!undone)
            return i;
    }
    return recent->count;
}

static bool same_id(struct entry_id a, struct entry_id b)
{
    return a.device == b.device && a.number == b.number;
}

static const struct entry *in_history(const struct heads *h, struct entry_id id)
{
    for (size_t i = 0; i < h->count; i++)
        if (same_id(h->entries[i].id, id))
            return &h->entries[i];
    return NULL;
}

static bool replaces(const struct entry *e, struct entry_id id)
{
    for (size_t i = 0; i < e->replaces_count; i++)
        if (same_id(e->replaces[i], id))
            return true;
    return false;
}

static const struct entry *replacer(const struct heads *h, struct entry_id id)
{
    for (size_t i = 0; i < h->count; i++)
        if (replaces(&h->entries[i], id))
            return &h->entries[i];
    return NULL;
}

/* The entry that put `e` back when `over`, which had replaced it, was undone. */
static const struct entry *put_back(const struct heads *h, const struct entry *e,
                                    const struct entry *over)
{
    for (size_t i = 0; i < h->count; i++) {
        const struct entry *u = &h->entries[i];
        if (u->id.device == over->id.device && undoes(u) == over->id.number && u->kind == e->kind &&
            strcmp(u->value, e->value) == 0)
            return u;
    }
    return NULL;
}

/* The current entry that says what `e` said: itself, or what an undo put back. NULL: neither. */
static const struct entry *standing(const struct heads *history, const struct entry *e)
{
    const struct entry *over;
    while (e != NULL && (over = replacer(history, e->id)) != NULL)
        e = put_back(history, e, over);
    return e;
}

/* Write what `e` replaced back over it. Where it settled a conflict, the conflict stands again. */
static bool undo_entry(struct casebook *cb, struct arena *a, const struct entry *e, struct fault *f)
{
    struct heads history;
    if (!journal_history(cb->journal, a, e->entity, e->item, &history, f))
        return false;
    const struct entry *now = standing(&history, e);
    if (now == NULL)
        return fail(f, FAULT_REFUSED,
                    "\"%s\" was changed again since, by somebody else: see its history", e->item);
    const char *reason = arena_printf(a, "undo %" PRIu64, e->id.number);
    struct edit edit = {.kind = ENTRY_ERROR,
                        .entity = e->entity,
                        .item = e->item,
                        .value = "",
                        .author = cb->author,
                        .reason = reason,
                        .replaces = &now->id,
                        .replaces_count = 1};
    struct entry_id id;
    if (e->replaces_count == 0)
        return journal_append(cb->journal, &edit, &id, f);
    for (size_t i = 0; i < e->replaces_count; i++) {
        const struct entry *old = in_history(&history, e->replaces[i]);
        if (old == NULL)
            return fail(f, FAULT_MISSING, "what \"%s\" was before has not arrived here yet",
                        e->item);
        edit.kind = old->kind;
        edit.value = old->value;
        if (!journal_append(cb->journal, &edit, &id, f))
            return false;
        edit.replaces_count = 0;
    }
    return true;
}

/* record.open is written with the outcome or the signature that closes a record, and goes back with
 * it; a support with the reason that its screen asked for. */
static bool belong_together(const struct entry *later, const struct entry *earlier)
{
    bool outcome = strcmp(later->item, ID_OPEN) == 0 && strcmp(earlier->item, ID_OUTCOME) == 0;
    bool signature = later->kind == ENTRY_SIGN && strcmp(earlier->item, ID_OPEN) == 0;
    bool support = strcmp(later->item, ID_SUPPORT_REASON) == 0 &&
                   strcmp(earlier->item, ID_SUPPORT) == 0 &&
                   strcmp(later->reason, earlier->reason) == 0;
    return strcmp(later->entity, earlier->entity) == 0 && (outcome || signature || support);
}

bool casebook_undo(struct casebook *cb, struct arena *a, const char **entity, const char **item,
                   struct fault *f)
{
    struct heads recent;
    if (!journal_recent(cb->journal, a, cb->author, LOOK_BACK, &recent, f))
        return false;
    size_t at = next_standing(&recent, 0);
    if (at == recent.count)
        return fail(f, FAULT_MISSING, "there is nothing to undo");
    if (!casebook_begin(cb, f))
        return false;
    bool ok = true, more = true;
    while (ok && more) {
        const struct entry *e = &recent.entries[at];
        ok = undo_entry(cb, a, e, f);
        *entity = e->entity;
        *item = e->item;
        at = next_standing(&recent, at + 1);
        more = at < recent.count && belong_together(e, &recent.entries[at]);
    }
    return casebook_end(cb, ok, f);
}
