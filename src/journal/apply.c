/* Entries of other devices. */
#include "base/arena.h"
#include "journal/internal.h"
#include <stdio.h>
#include <string.h>

enum { NAME_MOST = 200 }; /* of a device, in bytes */

/* For messages: its name, or its uuid. */
struct words {
    char s[NAME_MOST + 1];
};

static struct words device_words(struct journal *j, const struct far_entry *e)
{
    struct words out = {0};
    int64_t device = 0;
    uuid_write(e->id.device, out.s);
    if (device_number(j, e->id.device, false, &device, NULL) && device != 0) {
        struct rows r = ask(j, DEVICE_OF, ARGS(num(device)), NULL);
        if (next(&r) && *column_text(r.s, 1) != '\0')
            snprintf(out.s, sizeof out.s, "%s", column_text(r.s, 1));
        done(&r);
    }
    return out;
}

/* Sound in itself, whatever this device holds: what journal_append lets nobody write here is taken
 * from nobody either, and what cannot be said of an entry at all. */
static bool content_sound(const struct far_entry *e, struct fault *why)
{
    if (e->kind != ENTRY_SET && e->kind != ENTRY_ERROR && e->kind != ENTRY_SIGN)
        return fail(why, FAULT_INPUT, "it is of no kind that is known");
    if (e->id.number == 0 || e->id.number > (uint64_t)NUMBER_MAX || e->lamport == 0 ||
        e->lamport > (uint64_t)NUMBER_MAX)
        return fail(why, FAULT_INPUT, "its number cannot be");
    return id_check(e->entity_kind, KIND_MAX, "kind of record", why) &&
           id_check(e->item, ITEM_MAX, "item", why) &&
           text_check(e->value ? e->value : "", JOURNAL_VALUE_MAX, "value", why) &&
           text_check(e->reason, REASON_MAX, "reason", why);
}

static bool edges_sound(const struct far_entry *e, struct fault *why)
{
    for (size_t i = 0; i < e->replaces_count; i++) {
        const struct far_edge *edge = &e->replaces[i];
        if (edge->at.number == 0 || edge->at.number > (uint64_t)NUMBER_MAX ||
            (i > 0 && (far_id_order(&edge[-1].at, &edge->at) >= 0 ||
                       (edge[-1].tag == 0) != (edge->tag == 0))))
            return fail(why, FAULT_INPUT, "what it replaces cannot be");
    }
    return true;
}

enum place { PLACE_NEXT, PLACE_KNOWN, PLACE_WRONG };

/* Where the entry stands against what is held of its device. */
static enum place place_of(struct journal *j, int64_t device, const struct far_entry *e,
                           struct tip *tip, struct fault *f)
{
    unsigned long long number = e->id.number;
    *tip = (struct tip){0};
    if (device != 0 && device == j->memo.tip_device)
        *tip = j->memo.tip;
    else if (device != 0 && !tip_of(j, device, tip, f))
        return PLACE_WRONG;
    if (number <= tip->number) {
        uint8_t hash[HASH_BYTES] = {0};
        struct rows r = ask(j, ENTRY_BRIEF, ARGS(num(row_id(device, number))), f);
        if (next(&r))
            column_bytes(r.s, 4, hash, HASH_BYTES);
        done(&r);
        if (r.ok && memcmp(hash, e->hash, HASH_BYTES) == 0)
            return PLACE_KNOWN;
        if (r.ok) {
            fail(f, FAULT_DAMAGE,
                 "entry %llu of %s is held with other content: that device was copied or restored",
                 number, device_words(j, e).s);
        }
        return PLACE_WRONG;
    }
    if (device == j->self) {
        fail(
            f, FAULT_DAMAGE,
            "entry %llu was made under this device's name but is not here: this record is an older "
            "copy, or another one uses its name",
            number);
        return PLACE_WRONG;
    }
    if (number > tip->number + 1) {
        fail(f, FAULT_MISSING, "entry %llu of %s has not come yet",
             (unsigned long long)tip->number + 1, device_words(j, e).s);
        return PLACE_WRONG;
    }
    return PLACE_NEXT;
}

static bool hash_holds(const struct far_entry *e, const uint8_t before[HASH_BYTES])
{
    uint8_t hash[HASH_BYTES];
    if (e->after != NULL)
        return memcmp(e->after, before, HASH_BYTES) == 0;
    chain_hash(e, before, hash);
    return memcmp(hash, e->hash, HASH_BYTES) == 0;
}

static bool follows(struct journal *j, const struct tip *tip, const struct far_entry *e,
                    struct fault *f)
{
    char kind[40];
    int64_t entity = 0;
    if (!hash_holds(e, tip->hash)) {
        return fail(f, FAULT_DAMAGE, "entry %llu of %s is not what was written there",
                    (unsigned long long)e->id.number, device_words(j, e).s);
    }
    if (!entity_number(j, e->entity, &entity, f))
        return false;
    bool same = entity == 0 || (entity_kind(j, e->entity, kind) && !strcmp(kind, e->entity_kind));
    if (e->lamport <= tip->lamport || !same) {
        return fail(f, FAULT_DAMAGE, "entry %llu of %s contradicts what is known",
                    (unsigned long long)e->id.number, device_words(j, e).s);
    }
    return true;
}

bool journal_apply(struct journal *j, const struct far_entry *e, enum applied *how, struct fault *f)
{
    int64_t device = 0;
    struct tip tip;
    if (!writable(j, f))
        return false;
    struct fault why = {0};
    if (!content_sound(e, &why) || !edges_sound(e, &why))
        return fail(f, FAULT_INPUT, "entry %llu of %s makes no sense: %s",
                    (unsigned long long)e->id.number, device_words(j, e).s, why.text);
    if (!device_number(j, e->id.device, false, &device, f))
        return false;
    enum place place = place_of(j, device, e, &tip, f);
    if (place != PLACE_NEXT) {
        *how = APPLIED_KNOWN;
        return place == PLACE_KNOWN;
    }
    *how = APPLIED_NEW;
    if (!follows(j, &tip, e, f) || !tip_load(j, f) || !change_begin(j, f) ||
        !change_end(j, entry_store(j, e, f), f))
        return false;
    if (e->lamport > j->tip.lamport)
        j->tip.lamport = e->lamport;
    j->memo.tip_device = device; /* the next entry is likely the next of this device */
    j->memo.tip = (struct tip){.number = e->id.number, .lamport = e->lamport};
    memcpy(j->memo.tip.hash, e->hash, HASH_BYTES);
    return true;
}

bool journal_entries(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t after,
                     bool (*each)(void *of, const struct far_entry *e), void *of, struct fault *f)
{
    int64_t number = 0;
    if (!device_number(j, device, false, &number, f))
        return false;
    if (number == 0 || after > (uint64_t)NUMBER_MAX)
        return true;
    struct arena *a = arena_new();
    struct rows r =
        ask(j, ENTRIES_FROM, ARGS(num(row_id(number, after)), num(row_id(number, NUMBER_MAX))), f);
    while (next(&r)) {
        struct far_entry e;
        arena_reset(a);
        if (!far_read(j, a, r.s, &e, f)) {
            done(&r);
            r.ok = false;
        } else if (!each(of, &e)) {
            done(&r);
        }
    }
    arena_free(a);
    return r.ok;
}

/* ---- what is held ---------------------------------------------------------------------------- */

bool journal_vector(struct journal *j, struct arena *a, const struct device_state **out,
                    size_t *count, struct fault *f)
{
    struct device_state *all = NULL;
    size_t n = 0, room = 0;
    struct rows r = ask(j, DEVICES, NO_ARGS, f);
    while (next(&r)) {
        struct tip tip;
        int64_t device = sqlite3_column_int64(r.s, 0);
        all = arena_grow(a, all, n, &room, sizeof *all);
        struct device_state *state = &all[n++];
        state->device = (uint32_t)device;
        column_bytes(r.s, 1, state->uuid, UUID_BYTES);
        state->name = arena_str(a, column_text(r.s, 2));
        state->holds = (uint64_t)sqlite3_column_int64(r.s, 3);
        if (!tip_of(j, device, &tip, f)) {
            done(&r);
            return false;
        }
        state->have = tip.number;
    }
    *out = all;
    *count = n;
    return r.ok;
}

/* A known or new device's row, and one change to it. */
static bool device_change(struct journal *j, const uint8_t device[UUID_BYTES], enum statement what,
                          struct arg value, struct fault *f)
{
    int64_t number = 0;
    if (!writable(j, f) || !change_begin(j, f))
        return false;
    bool ok =
        device_number(j, device, true, &number, f) && run(j, what, ARGS(num(number), value), f);
    return change_end(j, ok, f);
}

bool journal_holds(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t number,
                   struct fault *f)
{
    return device_change(j, device, DEVICE_HOLDS, num((int64_t)number), f);
}

bool journal_device_name(struct journal *j, const uint8_t device[UUID_BYTES], const char *name,
                         struct fault *f)
{
    if (!name || !text_check(name, NAME_MOST, "name of a device", f))
        return false;
    return device_change(j, device, DEVICE_NAME, txt(name), f);
}
