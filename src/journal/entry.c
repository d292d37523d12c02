/* From rows of ENTRY_COLUMNS to entries, as the rooms above see them and as they travel. */
#include "base/arena.h"
#include "journal/internal.h"
#include <string.h>

enum { /* in the order of ENTRY_COLUMNS */
       COL_ID,
       COL_KIND,
       COL_ENTITY,
       COL_ENTITY_KIND,
       COL_ITEM,
       COL_VALUE,
       COL_AUTHOR,
       COL_REASON,
       COL_CLAIMED_AT,
       COL_LAMPORT,
       COL_REPLACES,
       COL_SALT,
       COL_HASH,
       COL_DEVICE,
       COL_ENTITY_NUMBER,
       COL_ITEM_NUMBER,
};

void local_numbers(sqlite3_stmt *s, int64_t *entity, int64_t *item)
{
    *entity = sqlite3_column_int64(s, COL_ENTITY_NUMBER);
    *item = sqlite3_column_int64(s, COL_ITEM_NUMBER);
}

struct entry_id entry_id_of(int64_t row)
{
    return (struct entry_id){.device = (uint32_t)(row >> NUMBER_BITS),
                             .number = (uint64_t)(row & NUMBER_MAX)};
}

void uuid_column(sqlite3_stmt *s, int column, char out[37])
{
    uint8_t uuid[UUID_BYTES];
    column_bytes(s, column, uuid, sizeof uuid);
    uuid_write(uuid, out);
    if (sqlite3_column_bytes(s, column) != UUID_BYTES)
        out[0] = '\0';
}

static const char *uuid_text(sqlite3_stmt *s, int column, struct arena *a)
{
    char *text = arena_alloc(a, 37);
    uuid_column(s, column, text);
    return text;
}

struct entry entry_read(sqlite3_stmt *s, struct arena *a)
{
    return (struct entry){
        .id = entry_id_of(sqlite3_column_int64(s, COL_ID)),
        .kind = (enum entry_kind)sqlite3_column_int(s, COL_KIND),
        .entity = uuid_text(s, COL_ENTITY, a),
        .entity_kind = arena_str(a, column_text(s, COL_ENTITY_KIND)),
        .item = arena_str(a, column_text(s, COL_ITEM)),
        .value = arena_str(a, column_text(s, COL_VALUE)),
        .author = uuid_text(s, COL_AUTHOR, a),
        .reason = arena_str(a, column_text(s, COL_REASON)),
        .claimed_at = sqlite3_column_int64(s, COL_CLAIMED_AT),
        .lamport = (uint64_t)sqlite3_column_int64(s, COL_LAMPORT),
        .replaces_count = (size_t)sqlite3_column_int64(s, COL_REPLACES),
    };
}

struct far_edge edge_read(sqlite3_stmt *s)
{
    struct far_edge edge = {.at.number = entry_id_of(sqlite3_column_int64(s, 0)).number,
                            .tag = (uint64_t)sqlite3_column_int64(s, 2)};
    column_bytes(s, 1, edge.at.device, UUID_BYTES);
    return edge;
}

static bool far_replaces(struct journal *j, struct arena *a, int64_t row, struct far_entry *e,
                         struct fault *f)
{
    struct far_edge *edges = NULL;
    size_t count = 0, room = 0;
    struct rows r = ask(j, REPLACED_BY, ARGS(num(row)), f);
    while (next(&r)) {
        edges = arena_grow(a, edges, count, &room, sizeof *edges);
        edges[count++] = edge_read(r.s);
    }
    e->replaces = edges;
    e->replaces_count = count;
    return r.ok;
}

struct far_entry far_content(sqlite3_stmt *s, struct arena *a)
{
    bool erased = sqlite3_column_type(s, COL_VALUE) == SQLITE_NULL;
    struct far_entry e = {
        .id.number = entry_id_of(sqlite3_column_int64(s, COL_ID)).number,
        .kind = (enum entry_kind)sqlite3_column_int(s, COL_KIND),
        .entity_kind = arena_str(a, column_text(s, COL_ENTITY_KIND)),
        .item = arena_str(a, column_text(s, COL_ITEM)),
        .value = erased ? NULL : arena_str(a, column_text(s, COL_VALUE)),
        .has_author = sqlite3_column_bytes(s, COL_AUTHOR) == UUID_BYTES,
        .reason = arena_str(a, column_text(s, COL_REASON)),
        .claimed_at = sqlite3_column_int64(s, COL_CLAIMED_AT),
        .lamport = (uint64_t)sqlite3_column_int64(s, COL_LAMPORT),
    };
    column_bytes(s, COL_DEVICE, e.id.device, UUID_BYTES);
    column_bytes(s, COL_ENTITY, e.entity, UUID_BYTES);
    column_bytes(s, COL_AUTHOR, e.author, UUID_BYTES);
    column_bytes(s, COL_SALT, e.salt, HASH_BYTES);
    column_bytes(s, COL_HASH, e.hash, HASH_BYTES);
    return e;
}

bool far_read(struct journal *j, struct arena *a, sqlite3_stmt *s, struct far_entry *out,
              struct fault *f)
{
    *out = far_content(s, a);
    return sqlite3_column_int64(s, COL_REPLACES) == 0 ||
           far_replaces(j, a, sqlite3_column_int64(s, COL_ID), out, f);
}

bool entry_at(struct journal *j, struct arena *a, int64_t row, struct placed *out, bool *there,
              struct fault *f)
{
    struct rows r = ask(j, ENTRY_AT, ARGS(num(row)), f);
    *there = next(&r);
    if (*there) {
        out->content = far_content(r.s, a);
        local_numbers(r.s, &out->entity, &out->item);
    }
    done(&r);
    return r.ok;
}

bool row_sound(sqlite3_stmt *s, const struct far_entry *e)
{
    int64_t kind = sqlite3_column_int64(s, COL_KIND);
    return kind > 0 && kind <= UINT8_MAX &&
           (uint64_t)sqlite3_column_int64(s, COL_REPLACES) == e->replaces_count;
}

bool tip_of(struct journal *j, int64_t device, struct tip *out, struct fault *f)
{
    *out = (struct tip){0};
    struct rows r =
        ask(j, ENTRY_TIP, ARGS(num(row_id(device, 0)), num(row_id(device, NUMBER_MAX))), f);
    if (next(&r)) {
        out->number = entry_id_of(sqlite3_column_int64(r.s, 0)).number;
        out->lamport = (uint64_t)sqlite3_column_int64(r.s, 1);
        column_bytes(r.s, 2, out->hash, HASH_BYTES);
    }
    done(&r);
    return r.ok;
}

/* The end of this device's chain, and the highest lamport number seen anywhere: along each chain
 * they only rise, so the ends tell. */
bool tip_load(struct journal *j, struct fault *f)
{
    if (j->tip_known)
        return true;
    struct tip own = {0};
    uint64_t highest = 0;
    struct rows r = ask(j, DEVICES, NO_ARGS, f);
    while (next(&r)) {
        struct tip tip;
        int64_t device = sqlite3_column_int64(r.s, 0);
        if (!tip_of(j, device, &tip, f)) {
            done(&r);
            return false;
        }
        highest = tip.lamport > highest ? tip.lamport : highest;
        if (device == j->self)
            own = tip;
    }
    own.lamport = highest;
    j->tip = own;
    j->tip_known = r.ok;
    return r.ok;
}
