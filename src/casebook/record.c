#include "base/arena.h"
#include "base/clock.h"
#include "casebook/casebook.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include "journal/signed.h"
#include <string.h>

/* ---- transactions --------------------------------------------------------------------------- */

bool casebook_begin(struct casebook *cb, struct fault *f)
{
    if (cb->open == 0 && !journal_begin(cb->journal, f))
        return false;
    cb->open++;
    return true;
}

bool casebook_commit(struct casebook *cb, struct fault *f)
{
    if (cb->open == 1 && cb->spoilt) {
        casebook_rollback(cb);
        return fail(f, FAULT_REFUSED, "nothing was written, because a part of it was refused");
    }
    cb->open--;
    return cb->open > 0 || journal_commit(cb->journal, f);
}

void casebook_rollback(struct casebook *cb)
{
    cb->open--;
    cb->spoilt = cb->open > 0;
    if (cb->open == 0)
        journal_rollback(cb->journal);
}

bool casebook_end(struct casebook *cb, bool ok, struct fault *f)
{
    if (ok)
        return casebook_commit(cb, f);
    casebook_rollback(cb);
    return false;
}

/* ---- reading -------------------------------------------------------------------------------- */

bool same_value(const struct entry *a, const struct entry *b)
{
    return (a->kind == ENTRY_ERROR) == (b->kind == ENTRY_ERROR) && strcmp(a->value, b->value) == 0;
}

bool signs_amended(const struct signs *s, const struct entry *e)
{
    for (size_t i = 0; i < s->count; i++)
        if (s->over != NULL && s->over[i].fits ? signed_covers(&s->over[i], e->id)
                                               : e->lamport < s->all[i]->lamport)
            return false;
    return s->count > 0 && e->kind != ENTRY_SIGN;
}

/* Another device's entry with a lower number may still be one the signer had not seen. */
static bool doubtful(const struct heads *h, const struct signs *s)
{
    for (size_t i = 0; i < s->count; i++)
        for (size_t k = 0; k < h->count; k++)
            if (h->entries[k].id.device != s->all[i]->id.device &&
                h->entries[k].lamport < s->all[i]->lamport)
                return true;
    return false;
}

/* A sign-off that was put back, when the one over it was undone, was made when it was made first.
 * NULL with a fault. */
static const struct entry *sign_made(struct casebook *cb, struct arena *a, const struct entry *sign,
                                     struct fault *f)
{
    struct heads all;
    if (!undoes(sign))
        return sign;
    if (!journal_history(cb->journal, a, sign->entity, ID_SIGNED, &all, f))
        return NULL;
    const struct entry *e = all.entries;
    for (size_t i = 0; i < all.count; i++, e++)
        if (!undoes(e) && same_value(e, sign))
            return e;
    return sign; /* what it put back has not arrived here */
}

bool signs_find(struct casebook *cb, struct arena *a, const struct heads *h, struct signs *out,
                struct fault *f)
{
    *out = (struct signs){.all = arena_array(a, h->count, sizeof(const struct entry *))};
    for (size_t i = 0; i < h->count; i++) {
        if (h->entries[i].kind != ENTRY_SIGN)
            continue;
        const struct entry *sign = sign_made(cb, a, &h->entries[i], f);
        if (sign == NULL)
            return false;
        out->all[out->count++] = sign;
    }
    if (!doubtful(h, out))
        return true;
    out->over = arena_array(a, out->count, sizeof *out->over);
    for (size_t i = 0; i < out->count; i++) {
        bool whole;
        if (!journal_signed_whole(cb->journal, out->all[i], &whole, f) ||
            (!whole && !journal_signed_over(cb->journal, a, out->all[i], &out->over[i], f)))
            return false;
    }
    return true;
}

/* One finding from the heads of one item. What is shown first is a value, not an error. */
static struct finding gather(struct arena *a, const struct entry *heads, size_t n,
                             const struct signs *signs)
{
    struct entry_id *ids = arena_array(a, n, sizeof *ids);
    const char **others = n > 1 ? arena_array(a, n, sizeof *others) : NULL;
    const char **authors = n > 1 ? arena_array(a, n, sizeof *authors) : NULL;
    bool *after = arena_array(a, n, sizeof *after);
    size_t first = 0, other_count = 0;
    while (first + 1 < n && heads[first].kind == ENTRY_ERROR)
        first++;
    if (heads[first].kind == ENTRY_ERROR)
        first = 0;
    bool amended = false;
    for (size_t i = 0; i < n; i++) {
        ids[i] = heads[i].id;
        after[i] = signs_amended(signs, &heads[i]);
        amended = amended || after[i];
        bool known = same_value(&heads[i], &heads[first]);
        for (size_t k = 0; k < i && !known; k++)
            known = same_value(&heads[i], &heads[k]);
        if (known)
            continue;
        authors[other_count] = heads[i].author;
        others[other_count++] = heads[i].value;
    }
    const struct entry *e = &heads[first];
    return (struct finding){.item = e->item,
                            .text = e->value,
                            .others = others,
                            .other_authors = authors,
                            .other_count = other_count,
                            .heads = ids,
                            .after = after,
                            .head_count = n,
                            .author = e->author,
                            .reason = reason_words(e->reason),
                            .claimed_at = e->claimed_at,
                            .in_error = e->kind == ENTRY_ERROR,
                            .amended = amended && strcmp(e->item, ID_SIGNED) != 0};
}

/* It is not there, unless the disk cannot be read. */
static bool not_there(const struct fault *why, const char *entity, struct fault *f)
{
    if (why->kind == FAULT_STORE || why->kind == FAULT_DAMAGE || why->kind == FAULT_BUSY)
        return fail(f, why->kind, "%s", why->text);
    return fail(f, FAULT_MISSING, "there is no record %s here", entity);
}

bool record_load(struct casebook *cb, struct arena *a, const char *entity, struct record *out,
                 struct fault *f)
{
    struct heads h;
    struct signs signs = {0};
    struct fault why = {0};
    if (!journal_standing(cb->journal, a, entity, &h, &why))
        return not_there(&why, entity, f);
    const char *kind =
        h.count > 0 ? h.entries[0].entity_kind : journal_kind(cb->journal, a, entity);
    if (kind == NULL)
        return not_there(&why, entity, f);
    if (!signs_find(cb, a, &h, &signs, f))
        return false;
    *out = (struct record){.entity = arena_str(a, entity), .kind = kind, .arena = a};
    out->room = h.count;
    out->findings = arena_array(a, h.count, sizeof *out->findings);
    for (size_t i = 0; i < h.count;) {
        size_t n = 1;
        while (i + n < h.count && strcmp(h.entries[i + n].item, h.entries[i].item) == 0)
            n++;
        out->findings[out->count++] = gather(a, &h.entries[i], n, &signs);
        i += n;
    }
    return true;
}

bool record_new(struct casebook *cb, struct arena *a, const char *kind, struct record *out,
                struct fault *f)
{
    char uuid[IDENT_ROOM];
    if (!journal_entity_new(cb->journal, kind, uuid, f))
        return false;
    *out = (struct record){.entity = arena_str(a, uuid), .kind = arena_str(a, kind), .arena = a};
    return true;
}

/* Where the item is, or would be inserted. */
static size_t position(const struct record *r, const char *item)
{
    size_t low = 0, high = r->count;
    while (low < high) {
        size_t mid = low + (high - low) / 2;
        if (strcmp(r->findings[mid].item, item) < 0)
            low = mid + 1;
        else
            high = mid;
    }
    return low;
}

const struct finding *record_find(const struct record *r, const char *item)
{
    size_t at = position(r, item);
    return at < r->count && strcmp(r->findings[at].item, item) == 0 ? &r->findings[at] : NULL;
}

const char *record_text(const struct record *r, const char *item)
{
    const struct finding *found = record_find(r, item);
    return found == NULL || found->in_error ? "" : found->text;
}

const char *record_said(const struct record *r, const char *item)
{
    const struct finding *found = record_find(r, item);
    const char *said = record_text(r, item);
    for (size_t i = 0; found != NULL && i < found->other_count; i++)
        said = said[0] == '\0'
                   ? found->others[i]
                   : arena_printf(r->arena, "%s or %s", said,
                                  found->others[i][0] != '\0' ? found->others[i] : "none");
    return said;
}

bool record_signed(const struct record *r)
{
    return record_text(r, ID_SIGNED)[0] != '\0';
}

/* ---- writing -------------------------------------------------------------------------------- */

/* The record in memory after an entry was written: one head, shown alone. */
static void remember(struct casebook *cb, struct record *r, const struct edit *e,
                     struct entry_id id, bool amended)
{
    struct arena *a = r->arena;
    size_t at = position(r, e->item);
    if (at == r->count || strcmp(r->findings[at].item, e->item) != 0) {
        r->findings = arena_grow(a, r->findings, r->count, &r->room, sizeof *r->findings);
        memmove(&r->findings[at + 1], &r->findings[at], (r->count - at) * sizeof *r->findings);
        r->count++;
        r->findings[at] = (struct finding){.item = arena_str(a, e->item)};
    }
    struct entry_id *head = arena_alloc(a, sizeof *head);
    *head = id;
    bool *after = arena_alloc(a, sizeof *after);
    *after = amended;
    r->findings[at] = (struct finding){.item = r->findings[at].item,
                                       .text = arena_str(a, e->value),
                                       .heads = head,
                                       .after = after,
                                       .head_count = 1,
                                       .author = arena_str(a, cb->author),
                                       .reason = arena_str(a, e->reason),
                                       .claimed_at = journal_clock(cb->journal),
                                       .in_error = e->kind == ENTRY_ERROR,
                                       .amended = amended};
}

static bool write_entry(struct casebook *cb, struct record *r, enum entry_kind kind,
                        const char *item, const char *value, const char *reason, struct fault *f)
{
    const struct finding *shown = record_find(r, item);
    struct edit e = {.kind = kind,
                     .entity = r->entity,
                     .item = item,
                     .value = value,
                     .author = cb->author,
                     .reason = reason,
                     .replaces = shown == NULL ? NULL : shown->heads,
                     .replaces_count = shown == NULL ? 0 : shown->head_count};
    struct entry_id id;
    if (!journal_append(cb->journal, &e, &id, f))
        return false;
    remember(cb, r, &e, id, kind != ENTRY_SIGN && record_signed(r));
    return true;
}

bool end_with(struct casebook *cb, bool ok, struct record *r, struct fault *f)
{
    if (casebook_end(cb, ok, f))
        return true;
    (void)record_load(cb, r->arena, r->entity, r, NULL);
    return false;
}

/* A call is open until it has an outcome; the two entries stand or fall together. */
static bool write_outcome(struct casebook *cb, struct record *r, const char *value,
                          const char *reason, struct fault *f)
{
    if (!casebook_begin(cb, f))
        return false;
    bool ok = write_entry(cb, r, ENTRY_SET, ID_OUTCOME, value, reason, f) &&
              record_put(cb, r, ID_OPEN, value[0] == '\0' ? "yes" : "no", reason, f);
    return end_with(cb, ok, r, f);
}

bool record_put(struct casebook *cb, struct record *r, const char *item, const char *canonical,
                const char *reason, struct fault *f)
{
    const struct finding *shown = record_find(r, item);
    if (shown == NULL && canonical[0] == '\0')
        return true;
    if (shown != NULL && shown->other_count == 0 && !shown->in_error &&
        strcmp(shown->text, canonical) == 0)
        return true;
    if (record_signed(r) && reason[0] == '\0')
        return fail(f, FAULT_REFUSED, "the %s is signed: a change needs a reason", r->kind);
    if (strcmp(item, ID_OUTCOME) == 0)
        return write_outcome(cb, r, canonical, reason, f);
    return write_entry(cb, r, ENTRY_SET, item, canonical, reason, f);
}

bool record_strike(struct casebook *cb, struct record *r, const char *item, const char *reason,
                   struct fault *f)
{
    const struct finding *shown = record_find(r, item);
    if (shown == NULL)
        return fail(f, FAULT_MISSING, "\"%s\" was never entered", item);
    if (reason[0] == '\0')
        return fail(f, FAULT_REFUSED, "to say that it was entered in error needs a reason");
    if (shown->in_error && shown->other_count == 0)
        return true;
    return write_entry(cb, r, ENTRY_ERROR, item, "", reason, f);
}

/* Nothing was entered since the sign-off that stands. */
static bool signed_as_it_is(const struct record *r)
{
    if (!record_signed(r))
        return false;
    for (size_t i = 0; i < r->count; i++)
        if (r->findings[i].amended)
            return false;
    return true;
}

bool record_sign(struct casebook *cb, struct record *r, struct fault *f)
{
    if (cb->author[0] == '\0')
        return fail(f, FAULT_REFUSED, "nobody is named at the keys: a practitioner signs");
    if (signed_as_it_is(r))
        return true;
    if (!casebook_begin(cb, f))
        return false;
    char hash[65];
    const char *reason = record_signed(r) ? "signed again with its amendments" : "";
    bool ok = record_put(cb, r, ID_OPEN, "no", reason, f) &&
              journal_sign_hash(cb->journal, r->entity, hash, f) &&
              write_entry(cb, r, ENTRY_SIGN, ID_SIGNED, hash, reason, f);
    return end_with(cb, ok, r, f) && record_load(cb, r->arena, r->entity, r, f);
}
