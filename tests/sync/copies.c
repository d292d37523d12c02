/* Random weeks in which a laptop's disk is copied and another is put back to an earlier state, both
 * unnoticed, so that one device's numbers stand for different entries; and third laptops decide
 * over them, on few questions.
 *
 * The account knows entries by a number of its own, which stands in their reasons: nothing in it
 * depends on devices, their names or their numbers. What is current follows from what was written
 * over what and from who holds which entries, by brute force.
 *
 * SYNC_WEEKS sets how many weeks are played (40; fewer under sanitizers).
 */
#include "share/files.h"
#include "tests/unit/share_kit.h"

#if defined(__SANITIZE_ADDRESS__)
enum { WEEKS = 4 };
#else
enum { WEEKS = 40 };
#endif

enum {
    LAPTOPS = 3,
    TWIN = LAPTOPS + 1, /* the copy of laptop 1 */
    MEMBERS = TWIN + 1,
    DOGS = 2,
    ITEMS = 2,
    FIELDS = DOGS * ITEMS,
    STEPS = 160,
    OPS = STEPS + 16,
    HEADS_MOST = 64,
    ROUNDS = 8
};

struct op {
    int field, value;
    int over[HEADS_MOST];
    int over_count;
    uint8_t device[UUID_BYTES]; /* under which name and number it was made */
    uint64_t number;
};

struct set {
    bool has[OPS];
};

struct counts {
    size_t weeks, edits, bundles, waited, copied, put_back, renewed, forked, decided, compared,
        conflicts, gone_with_a_disk;
    size_t lost, divergent, false_conflicts, missed_conflicts, twice;
};

struct week {
    struct office *o;
    struct op ops[OPS];
    int count, renames;
    bool twin;
    char dogs[DOGS][IDENT_ROOM];
    uint64_t random;
    struct counts *n;
};

static size_t chance(struct week *w, size_t below)
{
    w->random ^= w->random << 13;
    w->random ^= w->random >> 7;
    w->random ^= w->random << 17;
    return (size_t)(w->random >> 11) % below;
}

static size_t members(const struct week *w)
{
    return w->twin ? MEMBERS : MEMBERS - 1;
}

static const char *item_of(int field)
{
    return field % ITEMS == 0 ? "dog.name" : "dog.mass";
}

/* ---- the account ----------------------------------------------------------------------------- */

static int op_of(const char *reason)
{
    int number = -1;
    if (sscanf(reason, "op %d", &number) != 1)
        fail_msg("an entry that nobody wrote: %s", reason);
    return number;
}

static bool hold_one(void *of, const struct far_entry *e)
{
    struct set *s = of;
    if (memcmp(e->item, "dog.", 4) == 0)
        s->has[op_of(e->reason)] = true;
    return true;
}

/* Which entries a member holds, under whatever name. */
static struct set held_by(struct week *w, size_t member)
{
    const struct device_state *all;
    size_t count;
    struct set s = {0};
    struct office *o = w->o;
    assert_ok(journal_vector(o->m[member].j, o->a, &all, &count, &o->f), &o->f);
    for (size_t i = 0; i < count; i++)
        assert_ok(journal_entries(o->m[member].j, all[i].uuid, 0, hold_one, &s, &o->f), &o->f);
    return s;
}

static struct set account_heads(const struct week *w, const struct set *held, int field)
{
    struct set heads = {0};
    for (int i = 0; i < w->count; i++)
        heads.has[i] = held->has[i] && w->ops[i].field == field;
    for (int i = 0; i < w->count; i++)
        for (int k = 0; held->has[i] && k < w->ops[i].over_count; k++)
            heads.has[w->ops[i].over[k]] = false;
    return heads;
}

static bool differ(const struct week *w, const struct set *heads)
{
    int first = -1;
    for (int i = 0; i < w->count; i++) {
        if (!heads->has[i])
            continue;
        if (first >= 0 && w->ops[i].value != w->ops[first].value)
            return true;
        first = first < 0 ? i : first;
    }
    return false;
}

/* Decisions over an entry whose number, on the same question, is another entry's too: what counts
 * by number alone gets wrong. */
static size_t account_forked(const struct week *w, size_t *decided)
{
    size_t forked = 0;
    for (int i = 0; i < w->count; i++)
        for (int k = 0; k < i; k++) {
            const struct op *a = &w->ops[i], *b = &w->ops[k];
            if (a->number != b->number || memcmp(a->device, b->device, UUID_BYTES) != 0)
                continue;
            forked++;
            for (int n = 0; n < w->count; n++)
                for (int r = 0; a->field == b->field && r < w->ops[n].over_count; r++)
                    *decided += w->ops[n].over[r] == i || w->ops[n].over[r] == k;
        }
    return forked;
}

/* ---- comparing ------------------------------------------------------------------------------- */

static struct heads shown_at(struct week *w, size_t member, int field)
{
    struct heads h = {0};
    struct office *o = w->o;
    const char *dog = w->dogs[field / ITEMS];
    if (journal_kind(o->m[member].j, o->a, dog) != NULL)
        assert_ok(journal_heads(o->m[member].j, o->a, dog, &h, &o->f), &o->f);
    return h;
}

/* Whatever a member holds, no value that is current may be out of sight. A value that was decided
 * over may be seen beside the decision where the copy's entries still stand under the old name. */
static void compare_field(struct week *w, size_t member, const struct set *held, int field,
                          bool end)
{
    struct set wanted = account_heads(w, held, field), seen = {0};
    struct heads h = shown_at(w, member, field);
    for (size_t i = 0; i < h.count; i++) {
        if (strcmp(h.entries[i].item, item_of(field)) != 0)
            continue;
        int op = op_of(h.entries[i].reason);
        bool twice = !wanted.has[op] || seen.has[op];
        w->n->twice += twice && !end;
        w->n->divergent += twice && end;
        seen.has[op] = true;
    }
    for (int i = 0; i < w->count; i++) {
        w->n->compared += wanted.has[i];
        w->n->lost += wanted.has[i] && !seen.has[i];
    }
}

static void compare(struct week *w, size_t member, bool end)
{
    struct set held = held_by(w, member);
    for (int field = 0; field < FIELDS; field++)
        compare_field(w, member, &held, field, end);
    arena_reset(w->o->a);
}

static void compare_conflicts(struct week *w, size_t member)
{
    struct office *o = w->o;
    const struct conflict *list;
    size_t count, wanted = 0, found = 0;
    struct set held = held_by(w, member);
    assert_ok(journal_conflicts(o->m[member].j, o->a, FIELDS + 1, &list, &count, &o->f), &o->f);
    for (int field = 0; field < FIELDS; field++) {
        struct set heads = account_heads(w, &held, field);
        if (!differ(w, &heads))
            continue;
        wanted++;
        for (size_t i = 0; i < count; i++)
            found += strcmp(list[i].entity, w->dogs[field / ITEMS]) == 0 &&
                     strcmp(list[i].item, item_of(field)) == 0;
    }
    w->n->conflicts += wanted;
    w->n->missed_conflicts += wanted - found;
    w->n->false_conflicts += count - found;
}

/* ---- writing --------------------------------------------------------------------------------- */

/* Over all that is shown, or over nothing, as one who did not look. */
static void write_op(struct week *w, size_t member, int field, bool looked)
{
    struct office *o = w->o;
    struct op *op = &w->ops[w->count];
    struct heads h = shown_at(w, member, field);
    struct entry_id ids[HEADS_MOST], id;
    size_t count = 0;
    *op = (struct op){.field = field, .value = (int)chance(w, 6)};
    for (size_t i = 0; looked && i < h.count && count < HEADS_MOST; i++)
        if (strcmp(h.entries[i].item, item_of(field)) == 0) {
            op->over[op->over_count++] = op_of(h.entries[i].reason);
            ids[count++] = h.entries[i].id;
        }
    struct edit e = {.kind = ENTRY_SET,
                     .entity = w->dogs[field / ITEMS],
                     .item = item_of(field),
                     .value = arena_printf(o->a, "v%d", op->value),
                     .author = "",
                     .reason = arena_printf(o->a, "op %d", w->count),
                     .replaces = ids,
                     .replaces_count = count};
    journal_self(o->m[member].j, op->device);
    assert_ok(journal_append(o->m[member].j, &e, &id, &o->f), &o->f);
    op->number = id.number;
    w->count++;
    w->n->edits++;
    arena_reset(o->a);
}

static void edit(struct week *w)
{
    /* The laptop that was copied and its copy write most. */
    size_t member = chance(w, 3) == 0 ? (chance(w, 2) == 0 ? 1 : 2) : chance(w, members(w));
    if (w->twin && chance(w, 4) == 0)
        member = TWIN;
    write_op(w, member, (int)chance(w, FIELDS), chance(w, 8) != 0);
}

/* ---- carrying -------------------------------------------------------------------------------- */

/* It goes by a new name now: the base admits it. */
static void admitted_again(struct week *w, size_t member)
{
    struct office *o = w->o;
    const char *name = arena_printf(o->names, "laptop %zu", member);
    share_close(o->m[member].s);
    o->m[member].s = NULL;
    for (size_t i = 0; i < o->m[0].s->devices.count; i++) {
        const struct device *d = &o->m[0].s->devices.list[i];
        if (strcmp(d->name, name) != 0)
            continue;
        uint8_t uuid[UUID_BYTES];
        memcpy(uuid, d->uuid, UUID_BYTES);
        assert_ok(device_rename(o->m[0].s, uuid,
                                arena_printf(o->names, "%s before %d", name, ++w->renames), &o->f),
                  &o->f);
        break;
    }
    office_enrol(o, member);
    assert_int_equal(setenv("XDG_STATE_HOME", "", 1), 0); /* no mark: as if each fitted */
    assert_ok(share_open(&o->m[member].s, o->m[member].j, &o->f), &o->f);
    w->n->renewed++;
    office_list(o);
}

static void take(struct week *w, size_t to, const uint8_t *bytes, size_t size)
{
    struct office *o = w->o;
    struct report r;
    report_init(&r);
    o->f = (struct fault){0};
    bool taken = exchange_take(o->m[to].s, bytes, size, NULL, &r, &o->f);
    if (!taken && o->f.kind != FAULT_MISSING && strstr(o->f.text, "read before") == NULL)
        fail_msg("a whole bundle was refused: %s", o->f.text);
    w->n->bundles += taken;
    w->n->waited += !taken && o->f.kind == FAULT_MISSING;
    if (r.renewed)
        admitted_again(w, to);
    report_free(&r);
}

/* One device hands another what it believes that one lacks; some of it is lost on the way. */
static void hand_over(struct week *w, size_t from, size_t to, bool all)
{
    struct office *o = w->o;
    struct parcel p = {.a = o->a};
    struct sending how = {.always = true, .send = parcel_add, .of = &p};
    struct want *wants;
    size_t count;
    struct report r;
    if (from == to)
        return;
    report_init(&r);
    assert_ok(exchange_wants(o->m[from].s, o->a, o->m[to].s->self, &wants, &count, &o->f), &o->f);
    for (size_t i = 0; !all && i < count; i++)
        if (chance(w, 4) == 0)
            wants[i].after = chance(w, wants[i].after + 1);
    if (!all && count > 0 && chance(w, 6) == 0)
        count = 1 + chance(w, count);
    assert_ok(exchange_give(o->m[from].s, wants, count, &how, NULL, &r, &o->f), &o->f);
    report_free(&r);
    for (size_t i = 0; i < p.count; i++)
        if (all || chance(w, 6) != 0)
            take(w, to, p.bytes[i], p.sizes[i]);
    arena_reset(o->a);
}

/* ---- copies ---------------------------------------------------------------------------------- */

static void copy_file(struct week *w, const char *from, const char *folder, const char *name)
{
    struct office *o = w->o;
    const uint8_t *bytes;
    size_t size;
    assert_ok(file_get(from, 1 << 16, o->a, &bytes, &size, &o->f), &o->f);
    assert_ok(folder_need(folder, &o->f) && file_put(folder, name, bytes, size, &o->f), &o->f);
}

/* The whole disk of laptop 1, keys and all. */
static void copy_laptop(struct week *w)
{
    struct office *o = w->o;
    struct member *m = &o->m[TWIN];
    m->folder = arena_printf(o->names, "%s/twin", o->folder);
    assert_int_equal(mkdir(m->folder, 0700), 0);
    assert_ok(journal_backup(o->m[1].j, arena_printf(o->a, "%s/journal.db", m->folder), &o->f),
              &o->f);
    copy_file(w, arena_printf(o->a, "%s/keys/device.key", o->m[1].folder),
              arena_printf(o->a, "%s/keys", m->folder), "device.key");
    assert_ok(journal_open(&m->j, m->folder, JOURNAL_WRITE, &o->f), &o->f);
    assert_ok(share_open(&m->s, m->j, &o->f), &o->f);
    o->count = MEMBERS;
    w->twin = true;
    w->n->copied++;
    /* Both answer the same question next, and somebody far from the base decides over the copy's.
     */
    int field = (int)chance(w, FIELDS);
    write_op(w, 1, field, true);
    write_op(w, TWIN, field, true);
    hand_over(w, TWIN, 3, true);
    write_op(w, 3, field, true);
}

/* Laptop 2 takes a disk of some time ago; what nobody else had is gone with the other. */
static void put_back(struct week *w, const char *copy)
{
    struct office *o = w->o;
    struct member *m = &o->m[2];
    const char *db = arena_printf(o->a, "%s/journal.db", m->folder);
    office_close(o, 2);
    unlink(arena_printf(o->a, "%s-wal", db));
    unlink(arena_printf(o->a, "%s-shm", db));
    assert_int_equal(rename(copy, db), 0);
    assert_ok(journal_open(&m->j, m->folder, JOURNAL_WRITE, &o->f), &o->f);
    assert_ok(share_open(&m->s, m->j, &o->f), &o->f);
    w->n->put_back++;
    office_list(o);
    arena_reset(o->a);
}

/* ---- a week ---------------------------------------------------------------------------------- */

static void begin_week(struct week *w)
{
    struct office *o = office_new(LAPTOPS);
    w->o = o;
    assert_int_equal(setenv("XDG_STATE_HOME", "", 1), 0);
    unsetenv("HOME");
    for (int d = 0; d < DOGS; d++) {
        assert_ok(journal_entity_new(o->m[0].j, "dog", w->dogs[d], &o->f), &o->f);
        write_op(w, 0, d * ITEMS, true);
    }
    for (size_t to = 1; to < members(w); to++)
        hand_over(w, 0, to, true);
}

static bool all_hold(struct week *w, const struct set *wanted)
{
    bool all = true;
    for (size_t i = 0; i < members(w); i++) {
        struct set held = held_by(w, i);
        all = all && memcmp(&held, wanted, sizeof held) == 0;
    }
    return all;
}

static void end_week(struct week *w)
{
    struct set wanted = {0};
    for (size_t i = 0; i < members(w); i++) {
        struct set held = held_by(w, i);
        for (int k = 0; k < w->count; k++)
            wanted.has[k] = wanted.has[k] || held.has[k];
    }
    for (int k = 0; k < w->count; k++)
        w->n->gone_with_a_disk += !wanted.has[k];
    for (int round = 0; round < ROUNDS; round++)
        for (size_t i = 1; i < members(w); i++) {
            hand_over(w, i, 0, true);
            hand_over(w, 0, i, true);
        }
    w->n->divergent += !all_hold(w, &wanted);
    for (size_t i = 0; i < members(w); i++) {
        uint64_t checked;
        compare(w, i, true);
        compare_conflicts(w, i);
        assert_ok(journal_verify(w->o->m[i].j, &checked, &w->o->f), &w->o->f);
    }
    w->n->forked += account_forked(w, &w->n->decided);
    void *gone = w->o;
    office_down(&gone);
}

static void play_week(struct week *w)
{
    size_t copied_at = 10 + chance(w, STEPS / 2), saved_at = 10 + chance(w, STEPS / 2),
           back_at = saved_at + 10 + chance(w, STEPS / 3);
    begin_week(w);
    const char *copy = arena_printf(w->o->names, "%s/copy.db", w->o->folder);
    for (size_t i = 0; i < STEPS; i++) {
        if (i == copied_at)
            copy_laptop(w);
        if (i == saved_at)
            assert_ok(journal_backup(w->o->m[2].j, copy, &w->o->f), &w->o->f);
        if (i == back_at)
            put_back(w, copy);
        if (chance(w, 2) == 0 && w->count < OPS)
            edit(w);
        else if (chance(w, 3) == 0) /* the base is met seldom */
            hand_over(w, chance(w, members(w)), chance(w, members(w)), false);
        else
            hand_over(w, 1 + chance(w, members(w) - 1), 1 + chance(w, members(w) - 1), false);
        if (chance(w, 8) == 0)
            compare(w, chance(w, members(w)), false);
    }
    end_week(w);
    w->n->weeks++;
}

static size_t weeks_wanted(void)
{
    const char *said = getenv("SYNC_WEEKS");
    size_t n = said != NULL ? strtoul(said, NULL, 10) : WEEKS;
    return n > 0 ? n : WEEKS;
}

static void copies_hide_no_value(void **state)
{
    struct counts n = {0};
    uint64_t random = UINT64_C(0x9E3779B97F4A7C15);
    (void)state;
    for (size_t i = weeks_wanted(); i > 0; i--) {
        struct week w = {.random = random, .n = &n};
        play_week(&w);
        random = w.random;
    }
    print_message("%zu weeks, %zu edits; %zu laptops copied, %zu put back, %zu given a new name; "
                  "%zu bundles taken, %zu waited; %zu numbers with two entries, %zu decisions over "
                  "such on one question; %zu current values compared, %zu conflicts kept; %zu "
                  "entries went with a disk that nobody had read\n",
                  n.weeks, n.edits, n.copied, n.put_back, n.renewed, n.bundles, n.waited, n.forked,
                  n.decided, n.compared, n.conflicts, n.gone_with_a_disk);
    print_message("divergent %zu, lost %zu, false conflicts %zu, missed conflicts %zu; on the way, "
                  "decided over and still shown beside the decision: %zu\n",
                  n.divergent, n.lost, n.false_conflicts, n.missed_conflicts, n.twice);
    assert_int_equal(n.divergent, 0);
    assert_int_equal(n.lost, 0);
    assert_int_equal(n.false_conflicts, 0);
    assert_int_equal(n.missed_conflicts, 0);
    assert_true(n.copied > 0 && n.put_back > 0 && n.renewed > 0 && n.forked > 0 && n.decided > 0 &&
                n.conflicts > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(copies_hide_no_value),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
