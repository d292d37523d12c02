/* Names and uuids appear in millions of entries: each is kept once and called by a small number. */
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

static size_t item_slot(const char *name)
{
    uint32_t h = 2166136261; /* FNV-1a */
    for (; *name; name++)
        h = (h ^ (uint8_t)*name) * 16777619;
    return (h ^ h >> 16) % ITEM_SLOTS;
}

bool item_number(struct journal *j, const char *name, bool make, int64_t *out, struct fault *f)
{
    size_t slot = item_slot(name), size = strlen(name) + 1;
    if (j->memo.items[slot].number != 0 && strcmp(j->memo.items[slot].name, name) == 0) {
        *out = j->memo.items[slot].number;
        return true;
    }
    if (!number_of(j, ITEM_ID, ITEM_ADD, txt(name), make, out, f))
        return false;
    if (*out != 0 && size <= ITEM_SLOT_ROOM) {
        memcpy(j->memo.items[slot].name, name, size);
        j->memo.items[slot].number = *out;
    }
    return true;
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

static void entity_remember(struct journal *j, const uint8_t uuid[UUID_BYTES], int64_t number,
                            const char *kind)
{
    memcpy(j->memo.entity.uuid, uuid, UUID_BYTES);
    j->memo.entity.number = number;
    snprintf(j->memo.entity_kind, sizeof j->memo.entity_kind, "%s", kind);
}

static bool entity_remembered(const struct journal *j, const uint8_t uuid[UUID_BYTES])
{
    return j->memo.entity.number != 0 && memcmp(uuid, j->memo.entity.uuid, UUID_BYTES) == 0;
}

bool entity_number(struct journal *j, const uint8_t uuid[UUID_BYTES], int64_t *out, struct fault *f)
{
    *out = j->memo.entity.number;
    if (entity_remembered(j, uuid))
        return true;
    struct rows r = ask(j, ENTITY_ID, ARGS(blob(uuid, UUID_BYTES)), f);
    *out = next(&r) ? sqlite3_column_int64(r.s, 0) : 0;
    if (*out != 0)
        entity_remember(j, uuid, *out, column_text(r.s, 1));
    done(&r);
    return r.ok;
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
    if (entity_remembered(j, uuid)) {
        memcpy(kind, j->memo.entity_kind, sizeof j->memo.entity_kind);
        return true;
    }
    struct rows r = ask(j, ENTITY_ID, ARGS(blob(uuid, UUID_BYTES)), NULL);
    bool found = next(&r);
    if (found)
        snprintf(kind, 40, "%s", column_text(r.s, 1));
    done(&r);
    const struct made *made = found ? NULL : made_find(j, uuid);
    if (made)
        snprintf(kind, 40, "%s", made->kind);
    if (found || made)
        return true;
    /* Begun before a crash: only its draft is left to know it. */
    r = ask(j, DRAFT_KIND, ARGS(blob(uuid, UUID_BYTES)), NULL);
    found = next(&r);
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
