/* Signatures: what one is made over, and which entries its signer had seen.
 *
 * A sign-off carries a hash, not a list. What it was made over is found by trying: the signer had
 * seen all the earlier entries of its own device, and of each other device its first so many. The
 * hash says which. Numbers and devices are not part of it, so that a branch that was moved to
 * another name (travel.h) keeps its signatures; the salt in each digest makes it one entry's own.
 */
#include "journal/signed.h"
#include "base/arena.h"
#include "journal/internal.h"
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

enum { TRIES_MOST = 2000, DEVICES_MOST = 16 };

struct line {
    const char *item;
    uint8_t digest[HASH_BYTES];
    int64_t row; /* its place in the record */
    struct far_id id;
    uint64_t tag;
    enum entry_kind kind;
    uint64_t lamport;
    const struct far_edge *replaces;
    size_t replaces_count;
    bool seen, replaced;
};

struct lines {
    struct line *all;
    size_t count, room;
};

static int by_item(const void *a, const void *b)
{
    const struct line *x = a, *y = b;
    int order = strcmp(x->item, y->item);
    return order != 0 ? order : memcmp(x->digest, y->digest, HASH_BYTES);
}

static void lines_sort(struct lines *l)
{
    if (l->count > 0)
        qsort(l->all, l->count, sizeof *l->all, by_item);
}

/* Every entry of a record. */
static bool lines_read(struct journal *j, struct arena *a, int64_t entity, struct lines *out,
                       struct fault *f)
{
    struct rows r = ask(j, ENTRIES_OF, ARGS(num(entity)), f);
    *out = (struct lines){0};
    while (next(&r)) {
        struct far_entry e;
        if (!far_read(j, a, r.s, &e, f)) {
            done(&r);
            return false;
        }
        out->all = arena_grow(a, out->all, out->count, &out->room, sizeof *out->all);
        struct line *l = &out->all[out->count++];
        *l = (struct line){.item = e.item,
                           .row = sqlite3_column_int64(r.s, 0),
                           .id = e.id,
                           .tag = chain_tag(&e),
                           .kind = e.kind,
                           .lamport = e.lamport,
                           .replaces = e.replaces,
                           .replaces_count = e.replaces_count,
                           .seen = true};
        chain_digest(&e, l->digest);
    }
    lines_sort(out);
    return r.ok;
}

/* Of what stands in a record, only what a hash over it needs. */
static bool standing_read(struct journal *j, struct arena *a, int64_t entity, struct lines *out,
                          struct fault *f)
{
    struct rows r = ask(j, SIGNABLE, ARGS(num(entity)), f);
    *out = (struct lines){0};
    while (next(&r)) {
        bool erased = sqlite3_column_type(r.s, 2) == SQLITE_NULL;
        struct far_entry e = {.value = erased ? NULL : column_text(r.s, 2)};
        column_bytes(r.s, 3, e.salt, HASH_BYTES);
        out->all = arena_grow(a, out->all, out->count, &out->room, sizeof *out->all);
        struct line *l = &out->all[out->count++];
        *l = (struct line){.item = arena_str(a, column_text(r.s, 1)),
                           .kind = (enum entry_kind)sqlite3_column_int(r.s, 0),
                           .lamport = (uint64_t)sqlite3_column_int64(r.s, 4),
                           .seen = true};
        chain_digest(&e, l->digest);
    }
    lines_sort(out);
    return r.ok;
}

/* Over the lines that were seen and not replaced by one that was. */
static void lines_hash(const struct lines *l, const uint8_t uuid[UUID_BYTES], char out[65])
{
    static const char what[] = "amble sign 2";
    uint8_t hash[HASH_BYTES];
    crypto_generichash_state h;
    crypto_generichash_init(&h, NULL, 0, HASH_BYTES);
    crypto_generichash_update(&h, (const uint8_t *)what, sizeof what);
    crypto_generichash_update(&h, uuid, UUID_BYTES);
    for (size_t i = 0; i < l->count; i++) {
        const struct line *x = &l->all[i];
        if (!x->seen || x->replaced || x->kind != ENTRY_SET)
            continue;
        crypto_generichash_update(&h, (const uint8_t *)x->item, strlen(x->item) + 1);
        crypto_generichash_update(&h, x->digest, HASH_BYTES);
    }
    crypto_generichash_final(&h, hash, HASH_BYTES);
    sodium_bin2hex(out, 65, hash, HASH_BYTES);
}

/* And whether all of it, sign-offs apart, was written before this one, by lamport. */
static bool standing_hash(struct journal *j, const char *entity, uint64_t lamport, char out[65],
                          bool *before, struct fault *f)
{
    uint8_t uuid[UUID_BYTES];
    int64_t number = 0;
    struct lines heads;
    if (!uuid_need(entity, uuid, "record", f) || !entity_number(j, uuid, &number, f))
        return false;
    if (number == 0)
        return fail(f, FAULT_MISSING, "there is nothing to sign yet");
    struct arena *a = arena_new();
    bool ok = standing_read(j, a, number, &heads, f);
    if (ok)
        lines_hash(&heads, uuid, out);
    *before = ok;
    for (size_t i = 0; i < heads.count; i++)
        *before = *before && (heads.all[i].kind == ENTRY_SIGN || heads.all[i].lamport < lamport);
    arena_free(a);
    return ok;
}

bool journal_sign_hash(struct journal *j, const char *entity, char out[65], struct fault *f)
{
    bool before;
    return standing_hash(j, entity, 0, out, &before, f);
}

bool journal_signed_whole(struct journal *j, const struct entry *sign, bool *whole, struct fault *f)
{
    char hash[65];
    if (!standing_hash(j, sign->entity, sign->lamport, hash, whole, f))
        return false;
    *whole = *whole && strcmp(hash, sign->value) == 0;
    return true;
}

/* ---- what was seen --------------------------------------------------------------------------- */

/* The entries of another device that may have been seen, ascending, and how many are taken to be.
 */
struct prefix {
    int64_t device;
    int64_t *rows;
    size_t count, seen;
};

struct search {
    struct arena *a;
    struct lines lines;
    int64_t sign; /* row of the sign-off */
    struct prefix others[DEVICES_MOST];
    size_t other_count;
};

static int by_row(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

/* False when more devices took part than are looked through. */
static bool prefixes(struct search *s)
{
    for (size_t i = 0; i < s->lines.count; i++) {
        int64_t row = s->lines.all[i].row, device = row >> NUMBER_BITS;
        size_t k = 0;
        if (device == s->sign >> NUMBER_BITS)
            continue;
        while (k < s->other_count && s->others[k].device != device)
            k++;
        if (k == DEVICES_MOST)
            return false;
        if (k == s->other_count) {
            s->others[s->other_count++] = (struct prefix){
                .device = device, .rows = arena_array(s->a, s->lines.count, sizeof(int64_t))};
        }
        s->others[k].rows[s->others[k].count++] = row;
    }
    for (size_t k = 0; k < s->other_count; k++) {
        qsort(s->others[k].rows, s->others[k].count, sizeof(int64_t), by_row);
        s->others[k].seen = s->others[k].count;
    }
    return true;
}

static bool is_seen(const struct search *s, int64_t row)
{
    if (row >> NUMBER_BITS == s->sign >> NUMBER_BITS)
        return row < s->sign;
    for (size_t k = 0; k < s->other_count; k++)
        if (s->others[k].device == row >> NUMBER_BITS)
            return s->others[k].seen > 0 && row <= s->others[k].rows[s->others[k].seen - 1];
    return false;
}

static void mark_replaced(struct lines *l, const struct line *later)
{
    for (size_t k = 0; k < l->count; k++) {
        struct line *x = &l->all[k];
        for (size_t i = 0; !x->replaced && i < later->replaces_count; i++)
            x->replaced = edge_means(&later->replaces[i], &x->id, x->tag) &&
                          strcmp(x->item, later->item) == 0;
    }
}

static void mark(struct search *s)
{
    for (size_t i = 0; i < s->lines.count; i++) {
        s->lines.all[i].seen = is_seen(s, s->lines.all[i].row);
        s->lines.all[i].replaced = false;
    }
    for (size_t i = 0; i < s->lines.count; i++)
        if (s->lines.all[i].seen)
            mark_replaced(&s->lines, &s->lines.all[i]);
}

/* The next combination of prefixes, fewer and fewer; false after the last. */
static bool fewer(struct search *s)
{
    for (size_t k = 0; k < s->other_count; k++) {
        if (s->others[k].seen > 0) {
            s->others[k].seen--;
            return true;
        }
        s->others[k].seen = s->others[k].count;
    }
    return false;
}

/* Entries made after it, by lamport, cannot have been seen; nor is a sign-off part of what is
 * signed. */
static void keep_earlier(struct lines *l, uint64_t lamport)
{
    size_t kept = 0;
    for (size_t i = 0; i < l->count; i++)
        if (l->all[i].kind != ENTRY_SIGN && l->all[i].lamport < lamport)
            l->all[kept++] = l->all[i];
    l->count = kept;
}

static void seen_write(struct search *s, struct signed_over *out)
{
    out->seen = arena_array(s->a, s->other_count + 1, sizeof *out->seen);
    for (size_t k = 0; k < s->other_count; k++)
        if (s->others[k].seen > 0) {
            int64_t row = s->others[k].rows[s->others[k].seen - 1];
            out->seen[out->count++] = (struct entry_id){.device = (uint32_t)(row >> NUMBER_BITS),
                                                        .number = (uint64_t)(row & NUMBER_MAX)};
        }
    out->seen[out->count++] = (struct entry_id){.device = (uint32_t)(s->sign >> NUMBER_BITS),
                                                .number = (uint64_t)(s->sign & NUMBER_MAX)};
}

bool journal_signed_over(struct journal *j, struct arena *a, const struct entry *sign,
                         struct signed_over *out, struct fault *f)
{
    uint8_t uuid[UUID_BYTES];
    int64_t number = 0;
    char hash[65] = "";
    struct search s = {.a = a, .sign = row_id(sign->id.device, sign->id.number)};
    *out = (struct signed_over){0};
    if (!uuid_need(sign->entity, uuid, "record", f) || !entity_number(j, uuid, &number, f) ||
        !lines_read(j, a, number, &s.lines, f))
        return false;
    keep_earlier(&s.lines, sign->lamport);
    if (!prefixes(&s))
        return true;
    for (int tries = 0; tries < TRIES_MOST && !out->fits; tries++) {
        mark(&s);
        lines_hash(&s.lines, uuid, hash);
        out->fits = strcmp(hash, sign->value) == 0;
        if (out->fits)
            seen_write(&s, out);
        else if (!fewer(&s))
            break;
    }
    return true;
}

bool signed_covers(const struct signed_over *s, struct entry_id id)
{
    for (size_t i = 0; i < s->count; i++)
        if (s->seen[i].device == id.device)
            return id.number <= s->seen[i].number;
    return false;
}

/* ---- all of them ----------------------------------------------------------------------------- */

bool journal_signatures(struct journal *j, struct signatures *out, struct fault *f)
{
    struct arena *a = arena_new(), *each = arena_new();
    struct entry *all = NULL;
    size_t count = 0, room = 0;
    *out = (struct signatures){0};
    struct rows r = ask(j, SIGNS, NO_ARGS, f);
    while (next(&r)) {
        all = arena_grow(a, all, count, &room, sizeof *all);
        all[count++] = entry_read(r.s, a);
    }
    bool ok = r.ok;
    for (size_t i = 0; ok && i < count; i++) {
        struct signed_over over;
        arena_reset(each);
        ok = journal_signed_over(j, each, &all[i], &over, f);
        out->fit += ok && over.fits;
        out->apart += ok && !over.fits;
    }
    arena_free(each);
    arena_free(a);
    return ok;
}
