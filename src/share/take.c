/* Taking bundles in: every entry is looked at against what is held of its device. */
#include "base/arena.h"
#include "share/exchange_inside.h"
#include <sodium.h>
#include <string.h>

/* What happens to the entries of one run, decided at its first entry. */
struct stretch_plan {
    uint64_t have; /* of its device, growing */
    uint64_t cut;  /* entries after this one are held back */
    uint64_t held_first, held;
    const char *why;
    bool started, own;
};

struct taking {
    struct share *s;
    const struct device *author; /* NULL: what was held back is looked at again */
    const struct pack *pack;
    const struct run *runs;
    struct stretch_plan *plans;
    struct report *report;
    struct fault *f;
    uint64_t fresh, known;
    bool failed, renewed;
};

static const char *run_name(const struct taking *t, const struct run *run)
{
    return share_name(t->s, run->device);
}

/* ---- a run begins ---------------------------------------------------------------------------- */

static bool comes_too_early(struct taking *t, const struct run *run, uint64_t have)
{
    return fail(t->f, FAULT_MISSING, "entries %llu to %llu of %s have not come yet",
                (unsigned long long)have + 1, (unsigned long long)run->first - 1, run_name(t, run));
}

/* Its entries must go on from what is held. */
static bool goes_on(struct taking *t, const struct run *run, uint64_t have)
{
    uint8_t hash[HASH_BYTES] = {0};
    bool there = false;
    if (run->first > have + 1)
        return comes_too_early(t, run, have);
    if (run->first == 1)
        return true;
    if (!journal_hash(t->s->journal, run->device, run->first - 1, hash, &there, t->f))
        return false;
    if (there && memcmp(hash, run->before, HASH_BYTES) != 0)
        return fail(t->f, FAULT_MISSING,
                    "%s was copied or put back: its entries from the first on are needed",
                    run_name(t, run));
    return true;
}

static bool retired_cut(struct taking *t, const struct run *run, struct stretch_plan *p)
{
    const struct device *d = device_find(&t->s->devices, run->device);
    p->cut = UINT64_MAX;
    if (d != NULL && d->retired) {
        p->cut = d->cut;
        p->why = HELD_RETIRED;
    } else if (t->author != NULL && t->author->retired) {
        p->cut = p->have; /* what a retired device says of others proves nothing */
        p->why = "brought by a retired device";
    }
    return true;
}

/* What is written from now on is somebody else's. */
static bool becomes_new(struct taking *t, struct stretch_plan *p)
{
    p->own = false;
    t->renewed = true;
    return journal_renew_identity(t->s->journal, t->f);
}

/* Entries under this device's own name that it does not have: it was put back to an earlier state.
 */
static bool is_somebody_new(struct taking *t, const struct run *run, struct stretch_plan *p)
{
    uint8_t self[UUID_BYTES];
    journal_self(t->s->journal, self);
    p->own = memcmp(self, run->device, UUID_BYTES) == 0;
    return !p->own || run->first + run->count - 1 <= p->have || becomes_new(t, p);
}

static bool run_begins(struct taking *t, size_t at)
{
    const struct run *run = &t->runs[at];
    struct stretch_plan *p = &t->plans[at];
    p->started = true;
    return journal_have(t->s->journal, run->device, &p->have, t->f) && retired_cut(t, run, p) &&
           (run->first > p->cut || goes_on(t, run, p->have)) && is_somebody_new(t, run, p);
}

/* ---- one entry ------------------------------------------------------------------------------- */

/* Two entries of one number. The base's branch stands: whoever holds another moves it to a name of
 * its own. Between laptops it is the branch that comes second that waits, also when the other is
 * this device's own: moved now, and taken by the base under the old name from a third, its entries
 * would stand twice. */
static bool forked(struct taking *t, size_t at, uint64_t number)
{
    struct stretch_plan *p = &t->plans[at];
    uint8_t moved[UUID_BYTES];
    if (t->author == NULL || !t->author->base) {
        p->cut = number - 1;
        p->why = "copied or put back";
        return !p->own || becomes_new(t, p);
    }
    if (!journal_branch(t->s->journal, t->runs[at].device, number - 1, moved, t->f))
        return false;
    t->renewed = t->renewed || p->own;
    p->own = false;
    p->have = number - 1;
    return true;
}

static bool same_as_held(struct taking *t, const struct far_entry *e, bool *same)
{
    uint8_t hash[HASH_BYTES];
    bool there = false;
    if (!journal_hash(t->s->journal, e->id.device, e->id.number, hash, &there, t->f))
        return false;
    *same = there && memcmp(hash, e->hash, HASH_BYTES) == 0;
    return true;
}

static bool take_entry(struct taking *t, size_t at, const struct far_entry *e)
{
    struct stretch_plan *p = &t->plans[at];
    enum applied how;
    if (!p->started && !run_begins(t, at))
        return false;
    if (e->id.number <= p->have && e->id.number <= p->cut) {
        bool same = true;
        if (!same_as_held(t, e, &same))
            return false;
        if (same) {
            t->known++;
            return true;
        }
        if (!forked(t, at, e->id.number))
            return false;
    }
    if (e->id.number > p->cut) {
        if (p->held++ == 0)
            p->held_first = e->id.number;
        return true;
    }
    if (!journal_apply(t->s->journal, e, &how, t->f))
        return false;
    p->have = e->id.number;
    t->fresh++;
    return true;
}

static bool each_entry(void *of, size_t run, const struct far_entry *e)
{
    struct taking *t = of;
    t->failed = !take_entry(t, run, e);
    return !t->failed;
}

/* ---- a whole pack ---------------------------------------------------------------------------- */

struct seeding {
    struct taking *t;
    const struct run *run;
};

static bool each_seed(void *of, uint64_t block, const uint8_t seed[SEED_BYTES])
{
    struct seeding *s = of;
    return journal_seed_put(s->t->s->journal, s->run->device, block, seed, s->t->f);
}

static bool keep_seeds(struct taking *t, size_t run_count)
{
    for (size_t i = 0; i < run_count; i++) {
        struct seeding s = {.t = t, .run = &t->runs[i]};
        if (t->plans[i].held == 0 && !pack_seeds(t->pack, i, each_seed, &s))
            return false;
    }
    return true;
}

static bool keep_held(struct taking *t, size_t run_count, const uint8_t *packed, size_t size)
{
    for (size_t i = 0; i < run_count; i++) {
        const struct stretch_plan *p = &t->plans[i];
        if (p->held > 0 && !held_keep(t->s->journal, t->runs[i].device, p->held_first, p->held,
                                      p->why, packed, size, t->f))
            return false;
    }
    return true;
}

static void report_held(struct taking *t, size_t run_count)
{
    for (size_t i = 0; i < run_count; i++) {
        const struct stretch_plan *p = &t->plans[i];
        if (p->held == 0)
            continue;
        t->report->held += p->held;
        report_line(&t->report->person, "%llu entries of %s are held back (%s)",
                    (unsigned long long)p->held, run_name(t, &t->runs[i]), p->why);
    }
}

/* What cannot be read came to no harm on its way, says the signature: the program that made it is
 * broken, or means harm. */
static bool made_by(struct taking *t)
{
    if (t->author == NULL || t->f->kind == FAULT_REFUSED)
        return false;
    return fail_within(t->f, "nothing was taken of what %s made (update amble there)",
                       t->author->name);
}

/* Everything of it within the transaction that is open. */
static bool take_pack(struct taking *t, struct arena *a, const uint8_t *packed, size_t size)
{
    struct pack *pack;
    size_t count;
    if (!pack_open(&pack, packed, size, a, t->f))
        return made_by(t);
    t->pack = pack;
    t->runs = pack_runs(pack, &count);
    t->plans = arena_array(a, count, sizeof *t->plans);
    if (!pack_each(pack, each_entry, t, t->f))
        return made_by(t);
    if (t->failed) /* FAULT_INPUT: an entry that makes no sense whatever is held here */
        return t->f->kind == FAULT_INPUT ? made_by(t) : false;
    if (!keep_seeds(t, count) || !keep_held(t, count, packed, size))
        return false;
    report_held(t, count);
    return true;
}

/* ---- a whole bundle -------------------------------------------------------------------------- */

/* What the author was known to hold. A base that was put back speaks under a new name, and numbers
 * its bundles anew: it is compared with the base it was. */
static bool heard_of(struct share *s, struct arena *a, const uint8_t author[UUID_BYTES],
                     struct vector *before, struct fault *f)
{
    const struct device *d = device_find(&s->devices, author);
    bool ok = vector_of(s, a, author, before, f);
    for (size_t i = s->devices.count;
         ok && i-- > 0 && d != NULL && d->base && before->count == 0;) {
        const struct device *former = &s->devices.list[i];
        ok = !former->base || vector_of(s, a, former->uuid, before, f);
        before->serial = 0;
    }
    return ok;
}

static bool learn_vector(struct share *s, const struct bundle *b, struct vector *v,
                         struct report *r, struct fault *f)
{
    struct arena *a = arena_new();
    struct vector before;
    uint8_t self[UUID_BYTES];
    journal_self(s->journal, self);
    bool ok = heard_of(s, a, b->author, &before, f);
    v->serial = b->serial;
    if (ok && b->serial >= before.serial && memcmp(b->author, self, UUID_BYTES) != 0) {
        const struct has *then = has_find(&before, self), *now = has_find(v, self);
        uint64_t had = then != NULL ? then->have : 0, has = now != NULL ? now->have : 0;
        if (has < had)
            report_line(&r->person,
                        "%s has fewer of this device's entries than before (%llu, not %llu): it "
                        "was put back to an earlier state; they are sent again",
                        share_name(s, b->author), (unsigned long long)has, (unsigned long long)had);
        ok = vector_keep(s, b->author, v, f) && journal_holds(s->journal, b->author, has, f);
    }
    arena_free(a);
    return ok;
}

static bool was_read_before(struct share *s, const struct bundle *b, struct fault *f)
{
    struct arena *a = arena_new();
    struct vector before = {0};
    bool ok = vector_of(s, a, b->author, &before, f);
    arena_free(a);
    if (ok && b->serial <= before.serial)
        return fail(f, FAULT_REFUSED, "it was read before: bundle %llu of %s brings nothing new",
                    (unsigned long long)b->serial, share_name(s, b->author));
    return ok;
}

static bool take_opened(struct share *s, const struct bundle *b, struct arena *a, struct taking *t,
                        struct fault *f)
{
    struct reader r = reader_of(b->payload, b->payload_size);
    struct vector v;
    vector_take(&v, a, &r);
    if (r.bad)
        return fail(f, FAULT_DAMAGE, "what %s says of itself makes no sense: update amble there",
                    share_name(s, b->author));
    if (!journal_begin(s->journal, f))
        return false;
    bool ok = r.left == 0 || take_pack(t, a, r.at, r.left);
    if (ok && t->fresh == 0 && t->report->held == 0 && !was_read_before(s, b, f))
        ok = false;
    ok = ok && learn_vector(s, b, &v, t->report, f);
    if (!ok) {
        journal_rollback(s->journal);
        return false;
    }
    return journal_commit(s->journal, f);
}

bool exchange_take(struct share *s, const uint8_t *bytes, size_t size, const uint8_t *answer,
                   struct report *r, struct fault *f)
{
    struct bundle b;
    struct arena *a = arena_new();
    struct report mine;
    report_init(&mine);
    bool ok = bundle_open(&b, bytes, size, &s->devices, s->keys, a, f);
    if (ok && b.kind != BUNDLE_ENTRIES)
        ok = fail(f, FAULT_INPUT, "it holds no entries");
    if (ok && answer != NULL && sodium_memcmp(b.answer, answer, ANSWER_BYTES) != 0)
        ok = fail(f, FAULT_REFUSED, "it was made for another conversation");
    struct taking t = {.s = s, .report = &mine, .f = f};
    t.author = ok ? device_find(&s->devices, b.author) : NULL;
    ok = ok && take_opened(s, &b, a, &t, f);
    if (ok) {
        r->came += t.fresh;
        r->known += t.known;
        r->held += mine.held;
        r->renewed = r->renewed || t.renewed;
        text_add(&r->person, mine.person.s);
        journal_self(s->journal, s->self);
    }
    report_free(&mine);
    arena_free(a);
    return ok;
}

bool exchange_take_held(struct share *s, const uint8_t *packed, size_t size, struct report *r,
                        struct fault *f)
{
    struct arena *a = arena_new();
    struct taking t = {.s = s, .report = r, .f = f};
    bool ok = take_pack(&t, a, packed, size);
    r->came += ok ? t.fresh : 0;
    arena_free(a);
    return ok;
}

/* ---- headers --------------------------------------------------------------------------------- */

bool exchange_stretches(const struct bundle *b, struct arena *a, const struct stretch **out,
                        size_t *count)
{
    struct reader r = reader_of(b->holds, b->holds_size);
    *count = take_count(&r, UUID_BYTES + 2, RUNS_MOST);
    struct stretch *list = arena_array(a, *count, sizeof *list);
    for (size_t i = 0; i < *count; i++) {
        take_copy(&r, list[i].device, UUID_BYTES);
        list[i].first = take_varint(&r);
        list[i].last = take_varint(&r);
    }
    *out = list;
    return !r.bad && r.left == 0;
}

bool exchange_known(struct share *s, const struct bundle *b)
{
    const struct stretch *list;
    size_t count;
    struct vector v;
    struct arena *a = arena_new();
    bool own = memcmp(b->author, s->self, UUID_BYTES) == 0;
    bool known = b->kind == BUNDLE_ENTRIES && exchange_stretches(b, a, &list, &count) &&
                 vector_of(s, a, b->author, &v, NULL) && (own || b->serial <= v.serial);
    for (size_t i = 0; known && i < count; i++) {
        uint64_t have = 0;
        known = journal_have(s->journal, list[i].device, &have, NULL) && have >= list[i].last;
    }
    arena_free(a);
    return known;
}
