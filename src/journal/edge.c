/* Which entries an entry replaces: see struct far_edge. Whether an edge counts follows from the two
 * entries alone, so it does not matter which of them came first, nor when a branch was moved. */
#include "base/arena.h"
#include "journal/internal.h"
#include <string.h>

bool device_is_branch(const uint8_t device[UUID_BYTES])
{
    return device[6] >> 4 == 8; /* its version: those of devices are random, version 4 */
}

int far_id_order(const struct far_id *a, const struct far_id *b)
{
    int order = memcmp(a->device, b->device, UUID_BYTES);
    return order != 0 ? order : (a->number > b->number) - (a->number < b->number);
}

bool edge_means(const struct far_edge *edge, const struct far_id *at, uint64_t tag)
{
    bool there = far_id_order(&edge->at, at) == 0;
    if (edge->tag == 0)
        return there;
    return edge->tag == tag && (there || device_is_branch(at->device));
}

bool entry_replaced(struct journal *j, int64_t id, int64_t entity, int64_t item,
                    const struct far_entry *e, bool *out, struct fault *f)
{
    int64_t found = 0;
    struct arg tag = num((int64_t)chain_tag(e));
    if (!ask_number(j, IS_REPLACED, &found,
                    ARGS(num(id), num(entity), num(item), num((int64_t)e->lamport), tag,
                         device_is_branch(e->id.device) ? tag : txt(NULL)),
                    f))
        return false;
    *out = found != 0;
    return true;
}

/* ---- storing --------------------------------------------------------------------------------- */

static bool edge_add(struct journal *j, const struct far_edge *edge, int64_t later, struct fault *f)
{
    int64_t device = 0;
    if (!device_number(j, edge->at.device, true, &device, f))
        return false;
    int64_t earlier = row_id(device, edge->at.number);
    if (device == j->memo.awaited.device && earlier > j->memo.awaited.last)
        j->memo.awaited.last = earlier;
    return run(j, REPLACED_ADD,
               ARGS(num(earlier), num(later), edge->tag ? num((int64_t)edge->tag) : txt(NULL)), f);
}

static bool means_any(const struct far_entry *e, const struct far_entry *earlier)
{
    uint64_t tag = chain_tag(earlier);
    for (size_t i = 0; i < e->replaces_count; i++)
        if (edge_means(&e->replaces[i], &earlier->id, tag))
            return true;
    return false;
}

static bool heads_drop(struct journal *j, struct arena *a, int64_t entity, int64_t item,
                       const struct far_entry *e, struct fault *f)
{
    int64_t *gone = NULL;
    size_t count = 0, room = 0;
    struct rows r = ask(j, HEADS_BELOW, ARGS(num(entity), num(item), num((int64_t)e->lamport)), f);
    while (next(&r)) {
        struct far_entry head = far_content(r.s, a);
        if (!means_any(e, &head))
            continue;
        gone = arena_grow(a, gone, count, &room, sizeof *gone);
        gone[count++] = sqlite3_column_int64(r.s, 0);
    }
    for (size_t i = 0; r.ok && i < count; i++)
        r.ok = run(j, HEAD_DROP, ARGS(num(entity), num(item), num(gone[i])), f);
    return r.ok;
}

bool edges_settle(struct journal *j, int64_t id, int64_t entity, int64_t item,
                  const struct far_entry *e, struct fault *f)
{
    if (e->replaces_count == 0)
        return true;
    for (size_t i = 0; i < e->replaces_count; i++)
        if (!edge_add(j, &e->replaces[i], id, f))
            return false;
    struct arena *a = arena_new();
    bool ok = heads_drop(j, a, entity, item, e, f);
    arena_free(a);
    return ok;
}

/* ---- reading --------------------------------------------------------------------------------- */

/* Is it this entry that the edge means? */
static bool found_at(struct journal *j, struct arena *a, const struct far_edge *edge, int64_t row,
                     bool *found, bool *there, struct fault *f)
{
    struct placed p;
    if (!entry_at(j, a, row, &p, there, f))
        return false;
    *found = *there && edge_means(edge, &p.content.id, chain_tag(&p.content));
    return true;
}

static bool found_in_branch(struct journal *j, struct arena *a, const struct far_edge *edge,
                            int64_t entity, int64_t item, int64_t *row, struct fault *f)
{
    bool found = false, there = false;
    struct rows r = ask(j, BRANCHED, ARGS(num(entity), num(item)), f);
    while (!found && next(&r)) {
        *row = sqlite3_column_int64(r.s, 0);
        if (!found_at(j, a, edge, *row, &found, &there, f)) {
            done(&r);
            return false;
        }
    }
    done(&r);
    *row = found ? *row : 0;
    return r.ok;
}

/* Where what an edge means is now. Not held: where it stood, with number 0 when another entry has
 * that number here. */
static bool edge_find(struct journal *j, struct arena *a, int64_t entity, int64_t item,
                      int64_t named, const struct far_edge *edge, struct entry_id *out,
                      struct fault *f)
{
    bool found = false, there = false;
    int64_t row = 0;
    *out = entry_id_of(named);
    if (edge->tag == 0)
        return true;
    if (!found_at(j, a, edge, named, &found, &there, f) ||
        (!found && !found_in_branch(j, a, edge, entity, item, &row, f)))
        return false;
    if (row != 0)
        *out = entry_id_of(row);
    else if (there && !found)
        out->number = 0;
    return true;
}

bool entry_replaces(struct journal *j, struct arena *a, int64_t entity, int64_t item,
                    struct entry *e, struct fault *f)
{
    struct entry_id *ids = NULL;
    size_t count = 0, room = 0;
    if (e->replaces_count == 0)
        return true;
    struct rows r = ask(j, REPLACED_BY, ARGS(num(row_id(e->id.device, e->id.number))), f);
    while (next(&r)) {
        int64_t named = sqlite3_column_int64(r.s, 0);
        struct far_edge edge = edge_read(r.s);
        ids = arena_grow(a, ids, count, &room, sizeof *ids);
        if (!edge_find(j, a, entity, item, named, &edge, &ids[count++], f)) {
            done(&r);
            return false;
        }
    }
    e->replaces = ids;
    e->replaces_count = count;
    return r.ok;
}
