#include "casebook/merging.h"
#include "base/arena.h"
#include "base/text.h"
#include "base/utf8.h"
#include "casebook/ids.h"
#include <stdlib.h>
#include <string.h>

enum {
    CHAIN_MOST = 32,
    FAMILY_MOST = 64,
    LIKE_MOST = 20,
    DOGS_MOST = 20,
    PHONE_TELLS = 7,
    NAME_MAX_BYTES = 400
};

/* ---- who stands for whom --------------------------------------------------------------------- */

/* Where a chain of merges ends. One that runs into itself ends at the smallest of its ring. */
const char *merge_survivor(struct casebook *cb, struct arena *a, const char *entity)
{
    const char *way[CHAIN_MOST];
    size_t n = 0;
    way[n++] = arena_str(a, entity);
    while (n < CHAIN_MOST) {
        const char *into = journal_value(cb->journal, a, way[n - 1], ID_MERGED);
        if (!ident_valid(into) || journal_kind(cb->journal, a, into) == NULL)
            return way[n - 1];
        for (size_t i = 0; i < n; i++) {
            if (strcmp(way[i], into) != 0)
                continue;
            const char *smallest = way[i];
            for (size_t k = i + 1; k < n; k++)
                if (strcmp(way[k], smallest) < 0)
                    smallest = way[k];
            return smallest;
        }
        way[n++] = into;
    }
    return way[n - 1];
}

static bool holds(const char *const *list, size_t n, const char *entity)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(list[i], entity) == 0)
            return true;
    return false;
}

bool merge_family(struct casebook *cb, struct arena *a, const char *entity, struct ids *out,
                  struct fault *f)
{
    const char **all = arena_array(a, FAMILY_MOST, sizeof *all);
    size_t n = 0;
    all[n++] = merge_survivor(cb, a, entity);
    for (size_t i = 0; i < n; i++) {
        struct ids merged;
        if (!journal_by_value(cb->journal, a, ID_MERGED, all[i], FAMILY_MOST, &merged, f))
            return false;
        for (size_t k = 0; k < merged.count && n < FAMILY_MOST; k++)
            if (!holds(all, n, merged.uuids[k]))
                all[n++] = merged.uuids[k];
    }
    *out = (struct ids){.uuids = all, .count = n};
    return true;
}

bool merge_by_value(struct casebook *cb, struct arena *a, const char *item, const char *entity,
                    size_t limit, struct ids *out, struct fault *f)
{
    struct ids family;
    return merge_family(cb, a, entity, &family, f) &&
           merge_by_family(cb, a, item, &family, limit, out, f);
}

bool merge_by_family(struct casebook *cb, struct arena *a, const char *item,
                     const struct ids *family, size_t limit, struct ids *out, struct fault *f)
{
    const char **all = NULL;
    size_t n = 0, room = 0;
    for (size_t i = 0; i < family->count; i++) {
        struct ids some;
        if (!journal_by_value(cb->journal, a, item, family->uuids[i], limit, &some, f))
            return false;
        for (size_t k = 0; k < some.count && n < limit; k++) {
            if (holds(all, n, some.uuids[k]))
                continue;
            all = arena_grow(a, (void *)all, n, &room, sizeof *all);
            all[n++] = some.uuids[k];
        }
    }
    *out = (struct ids){.uuids = all, .count = n};
    return true;
}

bool dogs_of(struct casebook *cb, struct arena *a, const char *caregiver, struct ids *out,
             struct fault *f)
{
    struct ids all;
    size_t n = 0;
    if (!merge_by_value(cb, a, ID_CAREGIVER, caregiver, DOGS_MOST, &all, f))
        return false;
    const char **dogs = arena_array(a, all.count, sizeof *dogs);
    for (size_t i = 0; i < all.count; i++) {
        const char *dog = merge_survivor(cb, a, all.uuids[i]);
        if (!holds(dogs, n, dog))
            dogs[n++] = dog;
    }
    *out = (struct ids){.uuids = dogs, .count = n};
    return true;
}

/* ---- joining and parting --------------------------------------------------------------------- */

static bool mergeable(const char *kind)
{
    return strcmp(kind, "dog") == 0 || strcmp(kind, "caregiver") == 0;
}

static bool join(struct casebook *cb, struct arena *a, const char *duplicate, const char *survivor,
                 struct fault *f)
{
    struct record one, other;
    if (!record_load(cb, a, duplicate, &one, f) || !record_load(cb, a, survivor, &other, f))
        return false;
    if (strcmp(one.kind, other.kind) != 0 || !mergeable(one.kind))
        return fail(f, FAULT_REFUSED,
                    "a %s and a %s cannot be one: only two dogs or two caregivers", one.kind,
                    other.kind);
    const char *into = merge_survivor(cb, a, survivor);
    if (strcmp(merge_survivor(cb, a, duplicate), into) == 0)
        return fail(f, FAULT_REFUSED, "these two are one record already");
    return record_put(cb, &one, ID_MERGED, into, "the same one, entered twice", f);
}

bool merge_join(struct casebook *cb, const char *duplicate, const char *survivor, struct fault *f)
{
    struct arena *a = arena_new();
    bool ok = join(cb, a, duplicate, survivor, f);
    arena_free(a);
    return ok;
}

bool merge_part(struct casebook *cb, struct arena *a, const char *entity, const char **parted,
                struct fault *f)
{
    struct ids family;
    struct record last = {0};
    int64_t latest = 0;
    if (!merge_family(cb, a, entity, &family, f))
        return false;
    for (size_t i = 0; i < family.count; i++) {
        struct record r;
        if (!record_load(cb, a, family.uuids[i], &r, f))
            return false;
        const struct finding *merged = record_find(&r, ID_MERGED);
        if (merged == NULL || merged->in_error || merged->claimed_at < latest)
            continue;
        latest = merged->claimed_at;
        last = r;
    }
    if (last.entity == NULL)
        return fail(f, FAULT_MISSING, "nothing was joined with this one");
    *parted = last.entity;
    return record_strike(cb, &last, ID_MERGED, "not the same after all", f);
}

/* ---- looking alike --------------------------------------------------------------------------- */

/* What is compared of a record. */
struct features {
    const char *name;  /* folded: the dog's, or the caregiver's when it is one */
    const char *owner; /* folded name of a dog's caregiver */
    const char *phone; /* last digits */
    const char *shown;
};

static const char *folded(struct arena *a, const char *s)
{
    struct text out;
    text_init(&out, NAME_MAX_BYTES);
    utf8_fold(&out, s);
    const char *copy = arena_str(a, out.s);
    text_free(&out);
    return copy;
}

static const char *last_digits(struct arena *a, const char *phone)
{
    char digits[PHONE_TELLS + 1] = "";
    size_t n = 0;
    for (size_t i = strlen(phone); i > 0 && n < PHONE_TELLS; i--)
        if (phone[i - 1] >= '0' && phone[i - 1] <= '9')
            digits[PHONE_TELLS - ++n] = phone[i - 1];
    return n == PHONE_TELLS ? arena_str(a, digits) : "";
}

static const char *value(struct casebook *cb, struct arena *a, const char *entity, const char *item)
{
    return *entity != '\0' ? journal_value(cb->journal, a, entity, item) : "";
}

static struct features look(struct casebook *cb, struct arena *a, const char *entity,
                            const char *kind)
{
    const char *name, *owner = "", *phone;
    if (strcmp(kind, "call") == 0) {
        name = value(cb, a, entity, ID_CALL_DOG_NAME);
        owner = value(cb, a, entity, ID_CALL_NAME);
        phone = value(cb, a, entity, ID_CALL_PHONE);
    } else if (strcmp(kind, "dog") == 0) {
        const char *caregiver = value(cb, a, entity, ID_CAREGIVER);
        if (*caregiver != '\0')
            caregiver = merge_survivor(cb, a, caregiver);
        name = value(cb, a, entity, ID_DOG_NAME);
        owner = value(cb, a, caregiver, ID_CAREGIVER_NAME);
        phone = value(cb, a, caregiver, ID_CAREGIVER_PHONE);
    } else {
        name = value(cb, a, entity, ID_CAREGIVER_NAME);
        phone = value(cb, a, entity, ID_CAREGIVER_PHONE);
    }
    return (struct features){.name = folded(a, name),
                             .owner = folded(a, owner),
                             .phone = last_digits(a, phone),
                             .shown =
                                 *owner != '\0' ? arena_printf(a, "%s, %s", name, owner) : name};
}

static bool similar(const char *a, const char *b)
{
    int most = strlen(a) <= 4 ? 1 : 2;
    return *a != '\0' && *b != '\0' && text_distance(a, b, most) <= most;
}

/* Why two may be one, or NULL. A name alone tells nothing: there are many of the same. */
static const char *why_alike(const struct features *x, const struct features *y)
{
    bool phone = *x->phone != '\0' && strcmp(x->phone, y->phone) == 0;
    bool name = similar(x->name, y->name);
    bool owner = similar(x->owner, y->owner);
    if (phone && name)
        return strcmp(x->name, y->name) == 0 ? "same phone, same name" : "same phone, similar name";
    if (name && owner)
        return "similar names of dog and caregiver";
    return NULL;
}

struct alike {
    struct casebook *cb;
    struct arena *a;
    const char *self, *kind; /* the record itself, and of what kind they must be */
    struct features mine;
    struct lookalike *list;
    size_t count;
};

static void consider(struct alike *l, const char *entity)
{
    const char *survivor = merge_survivor(l->cb, l->a, entity);
    for (size_t i = 0; i < l->count; i++)
        if (strcmp(l->list[i].entity, survivor) == 0)
            return;
    if (l->count == LIKE_MOST || strcmp(survivor, l->self) == 0)
        return;
    struct features other = look(l->cb, l->a, survivor, l->kind);
    const char *why = why_alike(&l->mine, &other);
    if (why != NULL)
        l->list[l->count++] =
            (struct lookalike){.entity = survivor, .text = other.shown, .why = why};
}

/* Whoever a search finds; of a caregiver also the dogs, when dogs are looked for. */
static bool consider_found(struct alike *l, const char *typed, struct fault *f)
{
    const struct hit *hits;
    size_t count;
    if (*typed == '\0')
        return true;
    if (!journal_search(l->cb->journal, l->a, typed, LIKE_MOST, &hits, &count, f))
        return false;
    for (size_t i = 0; i < count; i++) {
        struct ids dogs;
        if (strcmp(hits[i].entity_kind, l->kind) == 0)
            consider(l, hits[i].entity);
        if (strcmp(l->kind, "dog") != 0 || strcmp(hits[i].entity_kind, "caregiver") != 0)
            continue;
        if (!dogs_of(l->cb, l->a, hits[i].entity, &dogs, f))
            return false;
        for (size_t k = 0; k < dogs.count; k++)
            consider(l, dogs.uuids[k]);
    }
    return true;
}

bool merge_lookalikes(struct casebook *cb, struct arena *a, const char *entity,
                      const struct lookalike **out, size_t *count, struct fault *f)
{
    struct alike l = {.cb = cb, .a = a, .list = arena_array(a, LIKE_MOST, sizeof *l.list)};
    *out = l.list;
    *count = 0;
    const char *kind = journal_kind(cb->journal, a, entity);
    if (kind == NULL)
        return fail(f, FAULT_MISSING, "there is no record %s here", entity);
    bool call = strcmp(kind, "call") == 0;
    if (!call && !mergeable(kind))
        return true;
    l.self = call ? entity : merge_survivor(cb, a, entity);
    l.kind = call ? "dog" : kind;
    l.mine = look(cb, a, l.self, kind);
    bool dogs = strcmp(l.kind, "dog") == 0;
    if (!consider_found(&l, l.mine.phone, f) ||
        !consider_found(&l, dogs ? l.mine.owner : l.mine.name, f))
        return false;
    *count = l.count;
    return true;
}

/* Each once, under who stands for them; at most `limit`. */
static bool survivors(struct casebook *cb, struct arena *a, const struct hit *hits, size_t found,
                      size_t limit, const struct hit **out, size_t *count, struct fault *f)
{
    struct hit *kept = arena_array(a, found, sizeof *kept);
    size_t n = 0;
    for (size_t i = 0; i < found && n < limit; i++) {
        struct hit h = hits[i];
        h.entity = merge_survivor(cb, a, h.entity);
        bool known = false;
        for (size_t k = 0; k < n && !known; k++)
            known = strcmp(kept[k].entity, h.entity) == 0;
        if (known)
            continue;
        if (strcmp(h.entity, hits[i].entity) != 0 && !journal_hit_texts(cb->journal, a, &h, f))
            return false;
        kept[n++] = h;
    }
    *out = kept;
    *count = n;
    return true;
}

/* Where some are one, more are asked for until there are as many as there can be. */
static bool search(struct casebook *cb, struct arena *a, const char *typed, size_t limit,
                   const struct hit **out, size_t *count, struct fault *f)
{
    struct ids merged; /* mostly nothing was ever merged, and then nobody need be looked up */
    *out = NULL;
    *count = 0;
    if (!journal_by_range(cb->journal, a, ID_MERGED, "0", "g", 1, &merged, f))
        return false;
    for (size_t most = limit;; most *= 2) {
        const struct hit *hits;
        size_t found;
        if (!journal_search(cb->journal, a, typed, most, &hits, &found, f))
            return false;
        if (merged.count == 0) {
            *out = hits;
            *count = found;
            return true;
        }
        if (!survivors(cb, a, hits, found, limit, out, count, f))
            return false;
        if (*count == limit || found < most)
            return true;
    }
}

bool merge_search(struct casebook *cb, struct arena *a, const char *typed, size_t limit,
                  const struct hit **out, size_t *count, struct fault *f)
{
    bool looking = journal_look_begin(cb->journal);
    bool ok = search(cb, a, typed, limit, out, count, f);
    journal_look_end(cb->journal, looking);
    return ok;
}
