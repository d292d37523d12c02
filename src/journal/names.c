/* Names and uuids appear in millions of entries: each is kept once and called by a small number. */
#include "base/arena.h"
#include "base/ident.h"
#include "journal/internal.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    c = (char)(c | 0x20);
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

bool uuid_read(const char *s, uint8_t out[UUID_BYTES])
{
    size_t at = 0;
    for (size_t i = 0; i < UUID_BYTES; i++) {
        if (at == 8 || at == 13 || at == 18 || at == 23) {
            if (s[at++] != '-')
                return false;
        }
        int high = hex_digit(s[at]);
        int low = high < 0 ? -1 : hex_digit(s[at + 1]);
        if (low < 0)
            return false;
        out[i] = (uint8_t)(high << 4 | low);
        at += 2;
    }
    return s[at] == '\0';
}

void uuid_write(const uint8_t uuid[UUID_BYTES], char out[37])
{
    static const char digits[] = "0123456789abcdef";
    size_t at = 0;
    for (size_t i = 0; i < UUID_BYTES; i++) {
        if (at == 8 || at == 13 || at == 18 || at == 23)
            out[at++] = '-';
        out[at++] = digits[uuid[i] >> 4];
        out[at++] = digits[uuid[i] & 15];
    }
    out[at] = '\0';
}

bool uuid_need(const char *s, uint8_t out[UUID_BYTES], const char *what, struct fault *f)
{
    if (!s || !uuid_read(s, out))
        return fail(f, FAULT_INPUT, "\"%s\" does not identify a %s", s ? s : "", what);
    return true;
}

/* The number of a name in one table; made when asked to. */
static bool number_of(struct journal *j, enum statement find, enum statement add, struct arg name,
                      bool make, int64_t *out, struct fault *f)
{
    if (!ask_number(j, find, out, &name, 1, f))
        return false;
    if (*out == 0 && make) {
        if (!run(j, add, &name, 1, f))
            return false;
        *out = sqlite3_last_insert_rowid(j->db);
    }
    return true;
}

void names_forget(struct journal *j)
{
    memset(&j->memo, 0, sizeof j->memo);
}

static uint16_t *item_at(struct journal *j, const char *name)
{
    uint32_t h = 2166136261; /* FNV-1a */
    for (; *name; name++)
        h = (h ^ (uint8_t)*name) * 16777619;
    return &j->memo.items_at[(h ^ h >> 16) % ITEM_SLOTS];
}

static void item_remember(struct journal *j, const char *name, int64_t number)
{
    size_t slot = (uint64_t)number % ITEM_SLOTS, size = strlen(name) + 1;
    if (number == 0 || size > ITEM_SLOT_ROOM)
        return;
    memcpy(j->memo.items[slot].name, name, size);
    j->memo.items[slot].number = number;
    *item_at(j, name) = (uint16_t)slot;
}

bool item_number(struct journal *j, const char *name, bool make, int64_t *out, struct fault *f)
{
    size_t slot = *item_at(j, name);
    *out = j->memo.items[slot].number;
    if (*out != 0 && strcmp(j->memo.items[slot].name, name) == 0)
        return true;
    if (!number_of(j, ITEM_ID, ITEM_ADD, txt(name), make, out, f))
        return false;
    item_remember(j, name, *out);
    return true;
}

const char *item_name(struct journal *j, int64_t number, struct arena *a, struct fault *f)
{
    size_t slot = (uint64_t)number % ITEM_SLOTS;
    if (number != 0 && j->memo.items[slot].number == number)
        return arena_str(a, j->memo.items[slot].name);
    struct rows r = ask(j, ITEM_OF, ARGS(num(number)), f);
    const char *name = next(&r) ? arena_str(a, column_text(r.s, 0)) : NULL;
    done(&r);
    if (name)
        item_remember(j, name, number);
    return name;
}

/* Of those by number, the uuid of one; what is not a uuid is nobody's. */
static const char *uuid_of(struct journal *j, enum statement which,
                           struct uuid_text known[UUID_SLOTS], int64_t number, struct fault *f)
{
    struct uuid_text *k = &known[(uint64_t)number % UUID_SLOTS];
    if (number != 0 && k->number == number)
        return k->uuid;
    struct rows r = ask(j, which, ARGS(num(number)), f);
    bool there = next(&r);
    if (there) {
        uuid_column(r.s, 0, k->uuid);
        k->number = number;
    }
    done(&r);
    return there ? k->uuid : NULL;
}

const char *author_uuid(struct journal *j, int64_t number, struct fault *f)
{
    return uuid_of(j, AUTHOR_OF, j->memo.authors, number, f);
}

const char *device_uuid(struct journal *j, int64_t number, struct fault *f)
{
    return uuid_of(j, DEVICE_OF, j->memo.devices, number, f);
}

bool author_number(struct journal *j, const uint8_t *uuid, int64_t *out, struct fault *f)
{
    struct arg name = uuid ? blob(uuid, UUID_BYTES) : blob("", 0);
    *out = j->memo.author.number;
    if (uuid && *out != 0 && memcmp(uuid, j->memo.author.uuid, UUID_BYTES) == 0)
        return true;
    if (!number_of(j, AUTHOR_ID, AUTHOR_ADD, name, true, out, f))
        return false;
    if (uuid) {
        memcpy(j->memo.author.uuid, uuid, UUID_BYTES);
        j->memo.author.number = *out;
    }
    return true;
}

bool device_number(struct journal *j, const uint8_t uuid[UUID_BYTES], bool make, int64_t *out,
                   struct fault *f)
{
    *out = j->self;
    if (j->self && memcmp(uuid, j->self_uuid, UUID_BYTES) == 0)
        return true;
    *out = j->memo.device.number;
    if (*out != 0 && memcmp(uuid, j->memo.device.uuid, UUID_BYTES) == 0)
        return true;
    if (!ask_number(j, DEVICE_ID, out, ARGS(blob(uuid, UUID_BYTES)), f))
        return false;
    if (*out == 0 && make) {
        if (!run(j, DEVICE_ADD, ARGS(blob(uuid, UUID_BYTES), txt("")), f))
            return false;
        *out = sqlite3_last_insert_rowid(j->db);
        if (*out >= DEVICE_MAX)
            return fail(f, FAULT_LIMIT, "too many devices");
    }
    memcpy(j->memo.device.uuid, uuid, UUID_BYTES);
    j->memo.device.number = *out;
    return true;
}

/* ---- entities -------------------------------------------------------------------------------- */

bool entity_look(struct journal *j, const uint8_t uuid[UUID_BYTES], int64_t *out, char kind[40],
                 struct fault *f)
{
    size_t slot = uuid[UUID_BYTES - 1] % UUID_SLOTS;
    bool alone = j->lock >= 0;
    *out = j->memo.entities[slot].number;
    memcpy(kind, j->memo.entities[slot].kind, sizeof j->memo.entities[slot].kind);
    if (alone && *out != 0 && memcmp(uuid, j->memo.entities[slot].uuid, UUID_BYTES) == 0)
        return true;
    struct rows r = ask(j, ENTITY_ID, ARGS(blob(uuid, UUID_BYTES)), f);
    *out = next(&r) ? sqlite3_column_int64(r.s, 0) : 0;
    snprintf(kind, 40, "%s", *out != 0 ? column_text(r.s, 1) : "");
    done(&r);
    if (alone && *out != 0) {
        memcpy(j->memo.entities[slot].uuid, uuid, UUID_BYTES);
        memcpy(j->memo.entities[slot].kind, kind, sizeof j->memo.entities[slot].kind);
        j->memo.entities[slot].number = *out;
    }
    return r.ok;
}

bool entity_number(struct journal *j, const uint8_t uuid[UUID_BYTES], int64_t *out, struct fault *f)
{
    char kind[40];
    return entity_look(j, uuid, out, kind, f);
}

static struct made *made_find(struct journal *j, const uint8_t uuid[UUID_BYTES])
{
    for (size_t i = j->made_count; i > 0; i--)
        if (memcmp(j->made[i - 1].uuid, uuid, UUID_BYTES) == 0)
            return &j->made[i - 1];
    return NULL;
}

bool entity_kind(struct journal *j, const uint8_t uuid[UUID_BYTES], char kind[40])
{
    int64_t number;
    if (entity_look(j, uuid, &number, kind, NULL) && number != 0)
        return true;
    const struct made *made = made_find(j, uuid);
    if (made) {
        snprintf(kind, 40, "%s", made->kind);
        return true;
    }
    /* Begun before a crash: only its draft is left to know it. */
    struct rows r = ask(j, DRAFT_KIND, ARGS(blob(uuid, UUID_BYTES)), NULL);
    bool found = next(&r);
    if (found)
        snprintf(kind, 40, "%s", column_text(r.s, 0));
    done(&r);
    return found;
}

bool entity_add(struct journal *j, const uint8_t uuid[UUID_BYTES], const char *kind, int64_t *out,
                struct fault *f)
{
    int64_t kind_number = 0;
    if (!number_of(j, KIND_ID, KIND_ADD, txt(kind), true, &kind_number, f) ||
        !run(j, KIND_GROWS, ARGS(num(kind_number)), f) ||
        !run(j, ENTITY_ADD, ARGS(blob(uuid, UUID_BYTES), num(kind_number)), f))
        return false;
    *out = sqlite3_last_insert_rowid(j->db);
    struct made *made = made_find(j, uuid);
    if (made)
        made->written = true;
    return true;
}

bool journal_entity_new(struct journal *j, const char *kind, char *out, struct fault *f)
{
    if (!writable(j, f))
        return false;
    if (!id_check(kind, KIND_MAX, "kind of record", f))
        return false;
    if (j->made_count == j->made_room) {
        size_t room = j->made_room ? j->made_room * 2 : 16;
        struct made *more = realloc(j->made, room * sizeof *more);
        if (!more)
            return fail(f, FAULT_SYSTEM, "no memory for a new %s", kind);
        j->made = more;
        j->made_room = room;
    }
    struct made *made = &j->made[j->made_count++];
    *made = (struct made){0};
    ident_new(out);
    uuid_read(out, made->uuid);
    snprintf(made->kind, sizeof made->kind, "%s", kind);
    return true;
}
