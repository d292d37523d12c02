/* Entries from other devices: any order, any number of times, one result. */
#include "journal/signed.h"
#include "journal_kit.h"

/* ---- one entry at a time --------------------------------------------------------------------- */

/* Far entries copied out of a journal, to be bent and applied elsewhere. */
struct bundle {
    struct arena *a;
    struct far_entry entries[16];
    size_t count;
};

static bool take(void *of, const struct far_entry *e)
{
    struct bundle *b = of;
    struct far_entry *x = &b->entries[b->count++];
    struct far_edge *edges = arena_array(b->a, e->replaces_count, sizeof *edges);
    for (size_t i = 0; i < e->replaces_count; i++)
        edges[i] = e->replaces[i];
    *x = *e;
    x->entity_kind = arena_str(b->a, e->entity_kind);
    x->item = arena_str(b->a, e->item);
    x->value = e->value ? arena_str(b->a, e->value) : NULL;
    x->reason = arena_str(b->a, e->reason);
    x->replaces = edges;
    return true;
}

struct two {
    struct kit here, there;
    struct bundle
        b; /* three entries made there: two names, the later replacing the earlier, a breed */
    char dog[IDENT_ROOM];
};

static int two_setup(void **state)
{
    struct two *t = calloc(1, sizeof *t);
    struct kit *kits[] = {&t->here, &t->there};
    for (size_t i = 0; i < 2; i++) {
        kit_folder(kits[i]->folder);
        kits[i]->a = arena_new();
        assert_ok(journal_open(&kits[i]->j, kits[i]->folder, JOURNAL_WRITE, &kits[i]->f),
                  &kits[i]->f);
    }
    kit_new(&t->there, "dog", t->dog);
    struct entry_id id = kit_set(&t->there, t->dog, "dog.name", "Biskit");
    kit_set_over(&t->there, t->dog, "dog.name", "Biscuit", &id, 1);
    kit_set(&t->there, t->dog, "dog.breed", "Dachshund");
    t->b.a = t->there.a;
    assert_ok(journal_entries(t->there.j, t->there.j->self_uuid, 0, take, &t->b, &t->there.f),
              &t->there.f);
    assert_int_equal(t->b.count, 3);
    *state = t;
    return 0;
}

static int two_teardown(void **state)
{
    struct two *t = *state;
    struct kit *kits[] = {&t->here, &t->there};
    for (size_t i = 0; i < 2; i++) {
        journal_close(kits[i]->j);
        arena_free(kits[i]->a);
        kit_remove(kits[i]->folder);
    }
    free(t);
    return 0;
}

static uint64_t entries_here(struct two *t)
{
    struct journal_counts c;
    assert_ok(journal_count(t->here.j, &c, &t->here.f), &t->here.f);
    return c.entries;
}

static void arrives_once(void **state)
{
    struct two *t = *state;
    struct fault *f = &t->here.f;
    enum applied how;
    for (int round = 0; round < 2; round++)
        for (size_t i = 0; i < 3; i++) {
            assert_ok(journal_apply(t->here.j, &t->b.entries[i], &how, f), f);
            assert_int_equal(how, round ? APPLIED_KNOWN : APPLIED_NEW);
        }
    struct heads h = kit_heads(&t->here, t->dog);
    assert_int_equal(h.count, 2);
    assert_string_equal(h.entries[0].value, "Dachshund");
    assert_string_equal(h.entries[1].value, "Biscuit");
    assert_string_equal(journal_kind(t->here.j, t->here.a, t->dog), "dog");
    assert_int_equal(entries_here(t), 3);
    const struct device_state *devices;
    size_t count;
    assert_ok(journal_vector(t->here.j, t->here.a, &devices, &count, f), f);
    assert_int_equal(count, 2);
    assert_int_equal(devices[0].have, 0);
    assert_int_equal(devices[1].have, 3);
    assert_memory_equal(devices[1].uuid, t->there.j->self_uuid, UUID_BYTES);
    /* What is made here afterwards is later than all that came. */
    kit_set(&t->here, t->dog, "dog.sex", "female");
    h = kit_heads(&t->here, t->dog);
    assert_int_equal(h.entries[2].lamport, 4);
}

static void an_entry_must_follow_its_device(void **state)
{
    struct two *t = *state;
    struct fault *f = &t->here.f;
    enum applied how;
    assert_fault(journal_apply(t->here.j, &t->b.entries[1], &how, f), f, FAULT_MISSING,
                 "entry 1 of ");
    assert_ok(journal_apply(t->here.j, &t->b.entries[0], &how, f), f);
    assert_fault(journal_apply(t->here.j, &t->b.entries[2], &how, f), f, FAULT_MISSING,
                 "entry 2 of ");
    assert_int_equal(entries_here(t), 1);
}

static void a_copied_device_is_noticed(void **state)
{
    struct two *t = *state;
    struct fault *f = &t->here.f;
    enum applied how;
    struct far_entry other = t->b.entries[0];
    static const uint8_t none[HASH_BYTES];
    assert_ok(journal_device_name(t->here.j, t->there.j->self_uuid, "laptop B", f), f);
    assert_ok(journal_apply(t->here.j, &t->b.entries[0], &how, f), f);
    other.value = "Waffles";
    chain_hash(&other, none, other.hash);
    assert_fault(journal_apply(t->here.j, &other, &how, f), f, FAULT_DAMAGE,
                 "entry 1 of laptop B is held with other content");
    /* Entries under this device's own name that it never made. */
    other = t->b.entries[0];
    memcpy(other.id.device, t->here.j->self_uuid, UUID_BYTES);
    chain_hash(&other, none, other.hash);
    assert_fault(journal_apply(t->here.j, &other, &how, f), f, FAULT_DAMAGE,
                 "entry 1 was made under this device's name");
    assert_int_equal(entries_here(t), 1);
    assert_string_equal(kit_heads(&t->here, t->dog).entries[0].value, "Biskit");
}

static void what_is_not_as_written_is_refused(void **state)
{
    struct two *t = *state;
    struct fault *f = &t->here.f;
    struct far_entry *e = &t->b.entries[1];
    enum applied how;
    assert_ok(journal_device_name(t->here.j, t->there.j->self_uuid, "laptop B", f), f);
    assert_ok(journal_apply(t->here.j, &t->b.entries[0], &how, f), f);
    struct far_edge other = e->replaces[0];
    struct far_entry bent[] = {*e, *e, *e, *e, *e, *e, *e, *e, *e, *e, *e, *e};
    bent[0].value = "Biscuis";
    bent[1].item = "dog.breed";
    bent[2].claimed_at++;
    bent[3].lamport++;
    bent[4].has_author = true;
    bent[5].reason = "x";
    bent[6].replaces_count = 0;
    bent[7].entity[3] ^= 1;
    bent[8].salt[0] ^= 1;
    bent[9].kind = ENTRY_ERROR;
    other.tag ^= 1;
    bent[10].replaces = &other;
    struct far_edge none = {.at = other.at};
    bent[11].replaces = &none;
    for (size_t i = 0; i < sizeof bent / sizeof bent[0]; i++)
        assert_fault(journal_apply(t->here.j, &bent[i], &how, f), f, FAULT_DAMAGE,
                     "entry 2 of laptop B is not what was written there");
    /* Unpacked as it was written, but after another entry than the one held. */
    static const uint8_t elsewhere[HASH_BYTES] = {1};
    bent[0] = *e;
    bent[0].after = elsewhere;
    assert_fault(journal_apply(t->here.j, &bent[0], &how, f), f, FAULT_DAMAGE,
                 "entry 2 of laptop B is not what was written there");
    assert_int_equal(entries_here(t), 1);
    bent[0].after = t->b.entries[0].hash;
    assert_ok(journal_apply(t->here.j, &bent[0], &how, f), f);
}

static void what_makes_no_sense_is_refused(void **state)
{
    struct two *t = *state;
    struct fault *f = &t->here.f;
    struct far_entry *e = &t->b.entries[0];
    static const uint8_t none[HASH_BYTES];
    enum applied how;
    struct far_edge twice[2] = {{.at = t->b.entries[0].id}, {.at = t->b.entries[0].id}};
    struct far_edge tags[2] = {{.at = t->b.entries[0].id, .tag = 1}, {.at = t->b.entries[1].id}};
    struct far_entry bent[] = {*e, *e, *e, *e, *e, *e, *e, *e, *e};
    bent[0].item = "";
    bent[1].value = "\xff";
    bent[2].kind = (enum entry_kind)7;
    bent[3].lamport = UINT64_MAX;
    bent[4].id.number = 0;
    bent[5].replaces = twice, bent[5].replaces_count = 2;
    bent[8].replaces = tags, bent[8].replaces_count = 2; /* one with a tag, one without */
    bent[6].entity_kind = "";
    bent[7].entity_kind = "a kind of record that is much too long to be one";
    for (size_t i = 0; i < sizeof bent / sizeof bent[0]; i++) {
        chain_hash(&bent[i], none, bent[i].hash);
        assert_fault(journal_apply(t->here.j, &bent[i], &how, f), f, FAULT_INPUT,
                     "makes no sense: ");
    }
    /* The kind of a known record and the order of a device's own entries cannot change. */
    assert_ok(journal_apply(t->here.j, e, &how, f), f);
    struct far_entry next = t->b.entries[1];
    next.entity_kind = "call";
    chain_hash(&next, e->hash, next.hash);
    assert_fault(journal_apply(t->here.j, &next, &how, f), f, FAULT_DAMAGE, "contradicts");
    next = t->b.entries[1];
    next.lamport = e->lamport;
    chain_hash(&next, e->hash, next.hash);
    assert_fault(journal_apply(t->here.j, &next, &how, f), f, FAULT_DAMAGE, "contradicts");
    assert_int_equal(entries_here(t), 1);
}

static void replaced_entries_may_come_later(void **state)
{
    struct two *t = *state;
    struct fault *f = &t->here.f;
    enum applied how;
    struct kit third = {0};
    kit_folder(third.folder);
    third.a = arena_new();
    assert_ok(journal_open(&third.j, third.folder, JOURNAL_WRITE, &third.f), &third.f);
    for (size_t i = 0; i < 3; i++)
        assert_ok(journal_apply(third.j, &t->b.entries[i], &how, &third.f), &third.f);
    struct heads h = kit_heads(&third, t->dog);
    kit_set_over(&third, t->dog, "dog.name", "Biscotto", &h.entries[1].id, 1);
    struct bundle b = {.a = third.a};
    assert_ok(journal_entries(third.j, third.j->self_uuid, 0, take, &b, &third.f), &third.f);

    /* First the third device's entry, then those it replaced. */
    assert_ok(journal_apply(t->here.j, &b.entries[0], &how, f), f);
    for (size_t i = 0; i < 3; i++)
        assert_ok(journal_apply(t->here.j, &t->b.entries[i], &how, f), f);
    h = kit_heads(&t->here, t->dog);
    assert_int_equal(h.count, 2);
    assert_string_equal(h.entries[1].value, "Biscotto");
    assert_ok(journal_history(t->here.j, t->here.a, t->dog, "dog.name", &h, f), f);
    assert_int_equal(h.count, 3);
    journal_close(third.j);
    arena_free(third.a);
    kit_remove(third.folder);
}

static void a_new_identity_keeps_the_old_entries(void **state)
{
    struct two *t = *state;
    struct fault *f = &t->there.f;
    enum applied how;
    assert_ok(journal_renew_identity(t->there.j, f), f);
    struct entry_id id = kit_set(&t->there, t->dog, "dog.sex", "female");
    assert_int_equal(id.number, 1);
    assert_int_not_equal(id.device, 1);
    assert_int_equal(id.device, journal_device(t->there.j));
    assert_int_equal(kit_heads(&t->there, t->dog).count, 3);
    /* What the old identity wrote elsewhere after the copy was made now simply arrives. */
    struct far_entry lost = t->b.entries[2];
    lost.id.number = 4;
    lost.lamport = 9;
    lost.value = "Mixed";
    chain_hash(&lost, t->b.entries[2].hash, lost.hash);
    assert_ok(journal_apply(t->there.j, &lost, &how, f), f);
    assert_int_equal(how, APPLIED_NEW);
    kit_reopen(&t->there, JOURNAL_WRITE);
    assert_int_equal(journal_device(t->there.j), id.device);
}

/* A bundle whose first half showed that this device was copied, and whose second half is refused.
 */
static void a_new_identity_taken_back_leaves_the_old_one(void **state)
{
    struct two *t = *state;
    struct fault *f = &t->there.f;
    uint8_t before[UUID_BYTES];
    memcpy(before, t->there.j->self_uuid, UUID_BYTES);
    assert_ok(journal_begin(t->there.j, f), f);
    assert_ok(journal_renew_identity(t->there.j, f), f);
    assert_memory_not_equal(before, t->there.j->self_uuid, UUID_BYTES);
    journal_rollback(t->there.j);
    assert_memory_equal(before, t->there.j->self_uuid, UUID_BYTES);
    struct entry_id id = kit_set(&t->there, t->dog, "dog.sex", "female");
    assert_int_equal(id.device, 1);
    assert_int_equal(id.number, 4);
}

/* ---- convergence ----------------------------------------------------------------------------- */

/* An independent account: what was written, and what each replica has been handed. Heads follow
 * from the definition, by brute force, without looking at a journal. */
enum { REPLICAS = 4, ITEMS = 6, OPS_MOST = 400, STEPS = 260, SCHEDULES = 20, HEADS_MOST = 64 };
enum { SIGNS_MOST = 16 };

struct op {
    int replica, item;
    uint64_t number;
    char value[12];
    int replaces[HEADS_MOST];
    size_t replaces_count;
};

struct world {
    struct kit kits[REPLICAS];
    struct op ops[OPS_MOST];
    size_t count;
    uint64_t made[REPLICAS], have[REPLICAS][REPLICAS]; /* [holder][maker] */
    struct shown { /* what an editor was shown, perhaps some time ago */
        int ops[HEADS_MOST];
        size_t count;
    } shown[REPLICAS][ITEMS];
    struct sign { /* one that would have been the maker's next entry */
        int maker;
        uint64_t number, lamport;
        char hash[65];
    } signs[SIGNS_MOST];
    size_t sign_count;
    char dog[IDENT_ROOM];
    uint64_t random;
    size_t replays, gaps, conflicts, whole, apart;
};

static const char *const items[ITEMS] = {"dog.name", "dog.sex",   "visit.day",
                                         "dog.born", "dog.breed", "x"};

static size_t chance(struct world *w, size_t below)
{
    w->random = w->random * 6364136223846793005u + 1442695040888963407u;
    return (size_t)(w->random >> 33) % below;
}

static bool holds(const struct world *w, int replica, const struct op *op)
{
    return op->number <= w->have[replica][op->replica];
}

static void oracle_heads(const struct world *w, int replica, int item, struct shown *out)
{
    out->count = 0;
    for (size_t i = 0; i < w->count; i++) {
        bool head = w->ops[i].item == item && holds(w, replica, &w->ops[i]);
        for (size_t n = 0; head && n < w->count; n++)
            for (size_t r = 0; holds(w, replica, &w->ops[n]) && r < w->ops[n].replaces_count; r++)
                if (w->ops[n].replaces[r] == (int)i)
                    head = false;
        if (head && out->count < HEADS_MOST)
            out->ops[out->count++] = (int)i;
    }
}

static uint32_t local_device(struct world *w, int replica, int maker)
{
    int64_t number = 0;
    struct kit *k = &w->kits[replica];
    assert_ok(device_number(k->j, w->kits[maker].j->self_uuid, false, &number, &k->f), &k->f);
    return (uint32_t)number;
}

static void world_edit(struct world *w, int replica, int item)
{
    struct op *op = &w->ops[w->count];
    const struct shown *s = &w->shown[replica][item];
    struct entry_id ids[HEADS_MOST];
    *op = (struct op){.replica = replica, .item = item};
    snprintf(op->value, sizeof op->value, "v%zu", chance(w, 5)); /* equal values happen */
    for (size_t i = 0; i < s->count; i++) {
        const struct op *old = &w->ops[s->ops[i]];
        op->replaces[op->replaces_count++] = s->ops[i];
        ids[i] = (struct entry_id){local_device(w, replica, old->replica), old->number};
    }
    setenv("AMBLE_NOW", replica == 1 ? "1970-01-02T00:00" : "2099-01-01T00:00", 1);
    struct entry_id id =
        kit_set_over(&w->kits[replica], w->dog, items[item], op->value, ids, s->count);
    unsetenv("AMBLE_NOW");
    op->number = ++w->made[replica];
    assert_int_equal(id.number, op->number);
    w->have[replica][replica] = op->number;
    w->count++;
    oracle_heads(w, replica, item, &w->shown[replica][item]);
}

struct delivery {
    struct world *w;
    int to, maker;
    size_t left;
};

static bool deliver_one(void *of, const struct far_entry *e)
{
    struct delivery *d = of;
    struct kit *k = &d->w->kits[d->to];
    uint64_t *have = &d->w->have[d->to][d->maker];
    enum applied how;
    if (e->id.number > *have + 1) {
        assert_fault(journal_apply(k->j, e, &how, &k->f), &k->f, FAULT_MISSING, "not come yet");
        d->w->gaps++;
        return false;
    }
    assert_ok(journal_apply(k->j, e, &how, &k->f), &k->f);
    assert_int_equal(how, e->id.number <= *have ? APPLIED_KNOWN : APPLIED_NEW);
    if (how == APPLIED_NEW)
        *have = e->id.number;
    else
        d->w->replays++;
    return d->left-- > 1;
}

/* Some entries of one maker, from any replica that holds them, from any place on. */
static void world_deliver(struct world *w, int from, int to, int maker, uint64_t after, size_t most)
{
    struct delivery d = {.w = w, .to = to, .maker = maker, .left = most};
    struct kit *k = &w->kits[from];
    uint64_t before = w->have[to][maker];
    bool batch = chance(w, 2) == 0 && after <= before; /* a fault would end the batch's use here */
    if (from == to || most == 0)
        return;
    if (batch)
        assert_ok(journal_begin(w->kits[to].j, &w->kits[to].f), &w->kits[to].f);
    assert_ok(journal_entries(k->j, w->kits[maker].j->self_uuid, after, deliver_one, &d, &k->f),
              &k->f);
    if (batch && chance(w, 4) == 0) { /* cut off before the end: nothing of it arrived */
        journal_rollback(w->kits[to].j);
        w->have[to][maker] = before;
    } else if (batch) {
        assert_ok(journal_commit(w->kits[to].j, &w->kits[to].f), &w->kits[to].f);
    }
}

static bool op_matches(struct world *w, int replica, const struct op *op, const struct entry *e)
{
    return e->id.number == op->number && e->id.device == local_device(w, replica, op->replica) &&
           strcmp(e->value, op->value) == 0 && strcmp(e->item, items[op->item]) == 0;
}

/* The order as the database would make it, and the same whichever way it is read. */
static void orders_compare(struct kit *k, const char *dog, const struct heads *h)
{
    struct heads shown, story;
    sqlite3_stmt *s = NULL;
    assert_int_equal(sqlite3_prepare_v2(k->j->db,
                                        "SELECT e.id FROM head h JOIN entry e ON e.id = h.entry"
                                        " JOIN item i ON i.id = e.item"
                                        " JOIN device d ON d.id = e.device"
                                        " ORDER BY i.name, e.lamport, d.uuid, e.id",
                                        -1, &s, NULL),
                     SQLITE_OK);
    assert_ok(journal_standing(k->j, k->a, dog, &shown, &k->f), &k->f);
    assert_int_equal(shown.count, h->count);
    for (size_t i = 0; i < h->count; i++) {
        const struct entry *x = &h->entries[i], *y = &shown.entries[i];
        assert_int_equal(sqlite3_step(s), SQLITE_ROW);
        assert_true(sqlite3_column_int64(s, 0) == row_id(x->id.device, x->id.number));
        assert_true(y->id.device == x->id.device && y->id.number == x->id.number);
        assert_true(strcmp(y->value, x->value) == 0 && y->replaces_count == 0);
    }
    assert_int_equal(sqlite3_step(s), SQLITE_DONE);
    sqlite3_finalize(s);
    for (int item = 0; item < ITEMS; item++) {
        const char *last, *first, *shown_first = "";
        for (size_t i = h->count; i-- > 0;)
            if (strcmp(h->entries[i].item, items[item]) == 0)
                shown_first = h->entries[i].value;
        assert_ok(journal_first(k->j, k->a, dog, items[item], &first, &k->f), &k->f);
        assert_string_equal(first, shown_first);
        assert_ok(journal_history(k->j, k->a, dog, items[item], &story, &k->f), &k->f);
        assert_ok(journal_last(k->j, k->a, dog, items[item], &last, &k->f), &k->f);
        assert_string_equal(last, story.count ? story.entries[story.count - 1].value : "");
    }
}

static void world_sign(struct world *w, int maker)
{
    struct kit *k = &w->kits[maker];
    if (w->sign_count == SIGNS_MOST)
        return;
    struct sign *s = &w->signs[w->sign_count++];
    assert_ok(tip_load(k->j, &k->f), &k->f);
    *s = (struct sign){
        .maker = maker, .number = k->j->tip.number + 1, .lamport = k->j->tip.lamport + 1};
    assert_ok(journal_sign_hash(k->j, w->dog, s->hash, &k->f), &k->f);
}

/* Where nothing needs to be found, what is found is what the order of lamport numbers says. */
static void sign_compare(struct world *w, int replica, const struct sign *s)
{
    struct kit *k = &w->kits[replica];
    struct entry sign = {.id = {local_device(w, replica, s->maker), s->number},
                         .kind = ENTRY_SIGN,
                         .entity = w->dog,
                         .value = s->hash,
                         .lamport = s->lamport};
    struct signed_over over;
    struct heads story;
    bool whole = false;
    if (sign.id.device != 0)
        assert_ok(journal_signed_whole(k->j, &sign, &whole, &k->f), &k->f);
    w->whole += whole;
    w->apart += !whole;
    if (!whole)
        return;
    assert_ok(journal_signed_over(k->j, k->a, &sign, &over, &k->f), &k->f);
    assert_true(over.fits);
    for (int item = 0; item < ITEMS; item++) {
        assert_ok(journal_history(k->j, k->a, w->dog, items[item], &story, &k->f), &k->f);
        for (size_t i = 0; i < story.count; i++)
            assert_int_equal(signed_covers(&over, story.entries[i].id),
                             story.entries[i].lamport < s->lamport);
    }
}

static void world_compare(struct world *w, int replica)
{
    struct kit *k = &w->kits[replica];
    size_t expected = 0, conflicts = 0;
    struct heads h = {0};
    struct journal_counts c;
    if (journal_kind(k->j, k->a, w->dog))
        h = kit_heads(k, w->dog);
    if (h.count > 0)
        orders_compare(k, w->dog, &h);
    for (int item = 0; item < ITEMS; item++) {
        struct shown s;
        bool differ = false;
        oracle_heads(w, replica, item, &s);
        for (size_t i = 0; i < s.count; i++) {
            const struct op *op = &w->ops[s.ops[i]];
            size_t at = 0;
            while (at < h.count && !op_matches(w, replica, op, &h.entries[at]))
                at++;
            assert_true(at < h.count);
            differ = differ || strcmp(op->value, w->ops[s.ops[0]].value) != 0;
        }
        expected += s.count;
        conflicts += differ;
    }
    assert_int_equal(h.count, expected);
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    assert_int_equal(c.conflicts, conflicts);
    w->conflicts += conflicts;
}

static void world_step(struct world *w)
{
    int replica = (int)chance(w, REPLICAS), other = (int)chance(w, REPLICAS);
    int maker = (int)chance(w, REPLICAS), item = (int)chance(w, ITEMS);
    uint64_t have = w->have[replica][maker];
    switch (chance(w, 6)) {
    case 0:
    case 1:
        if (w->count < OPS_MOST)
            world_edit(w, replica, item);
        break;
    case 2: /* a form is opened; what it shows may be old when it is saved */
        oracle_heads(w, replica, item, &w->shown[replica][item]);
        break;
    case 3: /* a replay, or a piece from the middle */
        world_deliver(w, other, replica, maker, chance(w, (size_t)have + 4), 1 + chance(w, 20));
        break;
    default:
        world_deliver(w, other, replica, maker, have, 1 + chance(w, 30));
    }
}

static void world_meet(struct world *w)
{
    for (int to = 0; to < REPLICAS; to++)
        for (int maker = 0; maker < REPLICAS; maker++)
            while (w->have[to][maker] < w->made[maker])
                world_deliver(w, maker, to, maker, w->have[to][maker], 1000);
}

/* The same as text, whatever the local numbers. */
static char *world_text(struct world *w, int replica)
{
    struct kit *k = &w->kits[replica];
    struct heads h = kit_heads(k, w->dog);
    char *out = arena_str(k->a, "");
    for (size_t i = 0; i < h.count; i++) {
        int maker = 0;
        while (local_device(w, replica, maker) != h.entries[i].id.device)
            maker++;
        out = arena_printf(k->a, "%s%s=%s by %d/%llu at %lld\n", out, h.entries[i].item,
                           h.entries[i].value, maker, (unsigned long long)h.entries[i].id.number,
                           (long long)h.entries[i].claimed_at);
    }
    return out;
}

static void world_agree(struct world *w)
{
    char first[65], other[65];
    uint64_t checked;
    world_meet(w);
    for (int i = 0; i < REPLICAS; i++) {
        struct kit *k = &w->kits[i];
        world_compare(w, i);
        assert_string_equal(world_text(w, 0), world_text(w, i));
        assert_ok(journal_sign_hash(k->j, w->dog, i ? other : first, &k->f), &k->f);
        assert_string_equal(i ? other : first, first);
        assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
        assert_int_equal(checked, w->count);
    }
    assert_ok(journal_rebuild(w->kits[2].j, &w->kits[2].f), &w->kits[2].f);
    world_compare(w, 2);
    assert_string_equal(world_text(w, 0), world_text(w, 2));
}

static void schedule(struct world *w)
{
    for (int i = 0; i < REPLICAS; i++) {
        struct kit *k = &w->kits[i];
        kit_folder(k->folder);
        k->a = arena_new();
        assert_ok(journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f), &k->f);
    }
    kit_new(&w->kits[0], "dog", w->dog);
    world_edit(w, 0, 0);
    for (int i = 1; i < REPLICAS; i++) /* the others must have heard of the dog to write about it */
        world_deliver(w, 0, i, 0, 0, 1);
    world_meet(w);
    for (int i = 0; i < STEPS; i++) {
        world_step(w);
        if (i % 20 == 0)
            world_compare(w, i % REPLICAS);
        if (i % 16 == 0)
            world_sign(w, i / 16 % REPLICAS);
        for (size_t s = 0; i % 4 == 0 && s < w->sign_count; s++)
            for (int replica = 0; replica < REPLICAS; replica++)
                sign_compare(w, replica, &w->signs[s]);
    }
    world_agree(w);
    for (int i = 0; i < REPLICAS; i++) {
        journal_close(w->kits[i].j);
        arena_free(w->kits[i].a);
        kit_remove(w->kits[i].folder);
    }
}

static void all_that_hold_the_same_show_the_same(void **state)
{
    (void)state;
    size_t ops = 0, replays = 0, gaps = 0, conflicts = 0, whole = 0, apart = 0;
    for (uint64_t seed = 1; seed <= SCHEDULES; seed++) {
        struct world *w = calloc(1, sizeof *w);
        w->random = seed * 7919;
        schedule(w);
        ops += w->count;
        replays += w->replays;
        gaps += w->gaps;
        conflicts += w->conflicts;
        whole += w->whole;
        apart += w->apart;
        free(w);
    }
    print_message("%d schedules, %zu edits, %zu replays, %zu gaps refused, %zu conflicts compared,"
                  " %zu signatures over all that stands and %zu not\n",
                  SCHEDULES, ops, replays, gaps, conflicts, whole, apart);
    assert_true(ops > 1000 && replays > 100 && gaps > 10 && conflicts > 100);
    assert_true(whole > 500 && apart > 1000);
}

#define two_test(name) cmocka_unit_test_setup_teardown(name, two_setup, two_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        two_test(arrives_once),
        two_test(an_entry_must_follow_its_device),
        two_test(a_copied_device_is_noticed),
        two_test(what_is_not_as_written_is_refused),
        two_test(what_makes_no_sense_is_refused),
        two_test(replaced_entries_may_come_later),
        two_test(a_new_identity_keeps_the_old_entries),
        two_test(a_new_identity_taken_back_leaves_the_old_one),
        cmocka_unit_test(all_that_hold_the_same_show_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
