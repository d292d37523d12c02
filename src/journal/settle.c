/* Storing an entry, and what follows from it: which entries are current, which items are in
 * conflict, what can be found. The same function for own and for foreign entries. */
#include "journal/internal.h"
#include "journal/keyed.h"
#include <string.h>

bool journal_keyed(const char *item)
{
    static const char *const items[] = {
#define X(name) name,
        KEYED_ITEMS(X)
#undef X
    };
    for (size_t i = 0; i < sizeof items / sizeof items[0]; i++)
        if (strcmp(items[i], item) == 0)
            return true;
    return false;
}

struct arg head_key(const struct far_entry *e)
{
    return txt(e->kind == ENTRY_SET && journal_keyed(e->item) ? e->value : NULL);
}

static bool conflict_settle(struct journal *j, int64_t entity, int64_t item, bool replaces,
                            struct fault *f)
{
    int64_t many = 0, differ = 0;
    if (!ask_number(j, HEADS_MANY, &many, ARGS(num(entity), num(item)), f) ||
        (many && !ask_number(j, HEADS_DIFFER, &differ, ARGS(num(entity), num(item)), f)))
        return false;
    if (differ)
        return run(j, CONFLICT_ADD, ARGS(num(entity), num(item)), f);
    return !replaces || run(j, CONFLICT_DROP, ARGS(num(entity), num(item)), f);
}

/* Entries come in thousands, most of them the first for their item of a visit made just now, and
 * replaced by nothing: both are known without asking. */
static bool first_of_item(struct journal *j, int64_t entity, int64_t item)
{
    if (entity != j->memo.fresh.entity || item < 0 || item >= FRESH_ITEMS)
        return false;
    uint64_t *word = &j->memo.fresh.items[item / 64], bit = UINT64_C(1) << (item % 64);
    bool first = (*word & bit) == 0;
    *word |= bit;
    return first;
}

static bool awaited_load(struct journal *j, int64_t id, struct fault *f)
{
    int64_t device = id >> NUMBER_BITS;
    if (device == j->memo.awaited.device)
        return true;
    j->memo.awaited.device = device;
    return ask_number(j, AWAITED, &j->memo.awaited.last,
                      ARGS(num(row_id(device, 0)), num(row_id(device, NUMBER_MAX))), f);
}

bool entry_settle(struct journal *j, int64_t id, int64_t entity, int64_t item,
                  const struct far_entry *e, struct fault *f)
{
    bool first = first_of_item(j, entity, item) && e->replaces_count == 0;
    bool branch = device_is_branch(e->id.device), replaced = false;
    if (!awaited_load(j, id, f) || !edges_settle(j, id, entity, item, e, f) ||
        ((branch || id <= j->memo.awaited.last) &&
         !entry_replaced(j, id, entity, item, e, &replaced, f)))
        return false;
    if (branch && !run(j, BRANCHED_ADD, ARGS(num(entity), num(item), num(id)), f))
        return false;
    if (!replaced && !run(j, HEAD_ADD, ARGS(num(entity), num(item), num(id), head_key(e)), f))
        return false;
    return (first || conflict_settle(j, entity, item, e->replaces_count > 0, f)) &&
           (!item_searched(e->item) || index_entity(j, entity, f));
}

bool entry_store(struct journal *j, const struct far_entry *e, struct fault *f)
{
    int64_t device = 0, entity = 0, item = 0, author = 0;
    if (!device_number(j, e->id.device, true, &device, f) ||
        !entity_number(j, e->entity, &entity, f) || !item_number(j, e->item, true, &item, f) ||
        !author_number(j, e->has_author ? e->author : NULL, &author, f))
        return false;
    bool made = entity == 0;
    if (made && !entity_add(j, e->entity, e->entity_kind, &entity, f))
        return false;
    if (made) {
        memset(&j->memo.fresh, 0, sizeof j->memo.fresh);
        j->memo.fresh.entity = entity;
    }
    int64_t id = row_id(device, e->id.number);
    return run(j, ENTRY_ADD,
               ARGS(num(id), num((int64_t)e->kind), num(entity), num(item), num(author),
                    num(e->claimed_at), num((int64_t)e->lamport), num((int64_t)e->replaces_count),
                    txt(e->value), txt(e->reason),
                    blob(e->salt, e->value ? SALT_BYTES : HASH_BYTES), blob(e->hash, HASH_BYTES)),
               f) &&
           entry_settle(j, id, entity, item, e, f);
}
