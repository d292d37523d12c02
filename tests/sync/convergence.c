/* Random weeks of a practice against an account of causality kept apart from the program.
 *
 * Five devices with clocks in 1970, 2099, right and jumping write into the same findings and hand
 * each other bundles in any order, in part, again, cut, bent and through a folder whose files go
 * missing. The account knows only what was written over what, and who was handed what; what is
 * current follows from the definition by brute force.
 *
 * SYNC_EDITS sets how many edits are made in all (20,000; fewer under sanitizers).
 */
#include "tests/unit/share_kit.h"
#include <time.h>

#if defined(__SANITIZE_ADDRESS__)
enum { EDITS = 1500 };
#else
enum { EDITS = 20000 };
#endif

enum {
    DEVICES = 5,
    DOGS = 12,
    ITEMS = 10,
    FIELDS = DOGS * ITEMS,
    SCHEDULE_EDITS = 1000,
    HEADS_MOST = 96,
    POOL = 64
};

/* ---- the account ----------------------------------------------------------------------------- */

struct op {
    int maker, field;
    uint64_t number;
    int value;
    int replaces[HEADS_MOST];
    int replaces_count;
};

struct shown {
    int ops[HEADS_MOST];
    int count;
};

struct counts {
    size_t schedules, edits, bundles, replays, torn, bent, gaps, folders, files_lost, compared,
        conflicts;
    size_t divergent, lost, false_conflicts, missed_conflicts, torn_changed;
};

struct week {
    struct office *o;
    struct op *ops;
    int count;
    uint64_t have[DEVICES][DEVICES];     /* [holder][maker] */
    struct shown shown[DEVICES][FIELDS]; /* what was on the screen there, perhaps long ago */
    char dogs[DOGS][IDENT_ROOM];
    uint8_t uuids[DEVICES][UUID_BYTES];
    struct {
        uint8_t *bytes;
        size_t size;
    } pool[POOL]; /* bundles of the past */
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

static bool holds(const struct week *w, int device, const struct op *op)
{
    return op->number <= w->have[device][op->maker];
}

/* Entries of a field that this device holds and nothing it holds replaces. */
static void account_heads(const struct week *w, int device, int field, struct shown *out)
{
    static bool replaced[EDITS + SCHEDULE_EDITS];
    memset(replaced, 0, sizeof *replaced * (size_t)w->count);
    out->count = 0;
    for (int i = 0; i < w->count; i++)
        if (w->ops[i].field == field && holds(w, device, &w->ops[i]))
            for (int r = 0; r < w->ops[i].replaces_count; r++)
                replaced[w->ops[i].replaces[r]] = true;
    for (int i = 0; i < w->count; i++)
        if (w->ops[i].field == field && !replaced[i] && holds(w, device, &w->ops[i]) &&
            out->count < HEADS_MOST)
            out->ops[out->count++] = i;
}

static bool account_conflict(const struct week *w, const struct shown *heads)
{
    for (int i = 1; i < heads->count; i++)
        if (w->ops[heads->ops[i]].value != w->ops[heads->ops[0]].value)
            return true;
    return false;
}

/* ---- comparing the program with it ----------------------------------------------------------- */

static const char *item_of(int field)
{
    static const char *const items[ITEMS] = {"dog.name", "dog.mass",  "dog.breed", "dog.born",
                                             "x.newer",  "dog.sex",   "dog.coat",  "review.due",
                                             "remark",   "dog.colour"};
    return items[field % ITEMS];
}

static int maker_of(struct week *w, size_t device, uint32_t local)
{
    const struct device_state *all;
    size_t count;
    struct office *o = w->o;
    assert_ok(journal_vector(o->m[device].j, o->a, &all, &count, &o->f), &o->f);
    for (size_t i = 0; i < count; i++)
        for (int k = 0; k < DEVICES; k++)
            if (all[i].device == local && memcmp(all[i].uuid, w->uuids[k], UUID_BYTES) == 0)
                return k;
    return -1;
}

static bool is_head(struct week *w, const struct shown *heads, int maker, const struct entry *e)
{
    char value[16];
    for (int i = 0; i < heads->count; i++) {
        const struct op *op = &w->ops[heads->ops[i]];
        snprintf(value, sizeof value, "v%d", op->value);
        if (op->maker == maker && op->number == e->id.number && strcmp(value, e->value) == 0)
            return true;
    }
    return false;
}

/* Each value the account has current must be current; nothing else may be. */
static void compare_dog(struct week *w, size_t device, int dog)
{
    struct office *o = w->o;
    struct heads h = {0};
    size_t expected = 0, right = 0;
    arena_reset(o->a);
    bool known = journal_kind(o->m[device].j, o->a, w->dogs[dog]) != NULL;
    if (known)
        assert_ok(journal_heads(o->m[device].j, o->a, w->dogs[dog], &h, &o->f), &o->f);
    for (int item = 0; item < ITEMS; item++) {
        struct shown heads;
        account_heads(w, (int)device, dog * ITEMS + item, &heads);
        expected += (size_t)heads.count;
        for (size_t i = 0; i < h.count; i++)
            if (strcmp(h.entries[i].item, item_of(item)) == 0 &&
                is_head(w, &heads, maker_of(w, device, h.entries[i].id.device), &h.entries[i]))
                right++;
    }
    w->n->compared += expected;
    w->n->lost += expected - right;
    w->n->divergent += h.count != right;
}

static void compare_conflicts(struct week *w, size_t device)
{
    struct office *o = w->o;
    const struct conflict *list;
    size_t count, wanted = 0, found = 0;
    arena_reset(o->a);
    assert_ok(journal_conflicts(o->m[device].j, o->a, FIELDS, &list, &count, &o->f), &o->f);
    for (int field = 0; field < FIELDS; field++) {
        struct shown heads;
        account_heads(w, (int)device, field, &heads);
        if (!account_conflict(w, &heads))
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

static void compare_all(struct week *w, size_t device)
{
    for (int dog = 0; dog < DOGS; dog++)
        compare_dog(w, device, dog);
    compare_conflicts(w, device);
}

/* ---- writing --------------------------------------------------------------------------------- */

static uint32_t local_of(struct week *w, size_t device, int maker)
{
    const struct device_state *all;
    size_t count;
    struct office *o = w->o;
    assert_ok(journal_vector(o->m[device].j, o->a, &all, &count, &o->f), &o->f);
    for (size_t i = 0; i < count; i++)
        if (memcmp(all[i].uuid, w->uuids[maker], UUID_BYTES) == 0)
            return all[i].device;
    return 0;
}

static void set_clock(struct week *w, size_t device)
{
    static const char *const clocks[] = {"2026-11-24T09:30", "1970-01-02T00:00", "2099-01-01T00:00",
                                         "2026-11-24T09:31"};
    char jump[24];
    snprintf(jump, sizeof jump, "2026-11-%02dT12:00", 1 + (int)chance(w, 28));
    assert_int_equal(setenv("AMBLE_NOW", device < 4 ? clocks[device] : jump, 1), 0);
}

static void edit(struct week *w)
{
    size_t device = chance(w, DEVICES);
    int field = (int)chance(w, FIELDS);
    struct shown *shown = &w->shown[device][field];
    struct op *op = &w->ops[w->count];
    struct entry_id ids[HEADS_MOST];
    char value[16];
    arena_reset(w->o->a);
    if (chance(w, 5) != 0) /* most look again before they write; some form is open since Monday */
        account_heads(w, (int)device, field, shown);
    *op = (struct op){.maker = (int)device, .field = field, .value = (int)chance(w, 6)};
    for (int i = 0; i < shown->count; i++) {
        const struct op *old = &w->ops[shown->ops[i]];
        op->replaces[op->replaces_count++] = shown->ops[i];
        ids[i] = (struct entry_id){local_of(w, device, old->maker), old->number};
    }
    snprintf(value, sizeof value, "v%d", op->value);
    set_clock(w, device);
    struct entry_id id = office_set(w->o, device, w->dogs[field / ITEMS], item_of(field), value,
                                    ids, (size_t)shown->count);
    op->number = ++w->have[device][device];
    assert_int_equal(id.number, op->number);
    w->count++;
    w->n->edits++;
    account_heads(w, (int)device, field, shown);
}

/* ---- carrying -------------------------------------------------------------------------------- */

static int maker_at(const struct week *w, const uint8_t uuid[UUID_BYTES])
{
    for (int k = 0; k < DEVICES; k++)
        if (memcmp(w->uuids[k], uuid, UUID_BYTES) == 0)
            return k;
    return -1;
}

/* What the account says of a bundle that is whole: it fits when nothing is missing before it. */
static bool account_takes(struct week *w, size_t to, const uint8_t *bytes, size_t size, bool *fits)
{
    struct bundle b;
    const struct stretch *list;
    size_t count;
    *fits = true;
    if (!bundle_peek(&b, bytes, size, w->o->m[0].s->devices.practice, NULL) ||
        !exchange_stretches(&b, w->o->a, &list, &count))
        return false;
    for (size_t i = 0; i < count; i++)
        *fits = *fits && list[i].first <= w->have[to][maker_at(w, list[i].device)] + 1;
    for (size_t i = 0; *fits && i < count; i++) {
        uint64_t *have = &w->have[to][maker_at(w, list[i].device)];
        if (list[i].last > *have)
            *have = list[i].last;
    }
    return true;
}

static void take_whole(struct week *w, size_t to, const uint8_t *bytes, size_t size)
{
    struct office *o = w->o;
    struct report r;
    bool fits = false;
    report_init(&r);
    o->f = (struct fault){0};
    bool taken = exchange_take(o->m[to].s, bytes, size, NULL, &r, &o->f);
    bool again = !taken && strstr(o->f.text, "read before") != NULL;
    assert_true(account_takes(w, to, bytes, size, &fits));
    if (!taken && !again && (fits || o->f.kind != FAULT_MISSING))
        fail_msg("a whole bundle was refused: %s", o->f.text);
    w->n->bundles += taken;
    w->n->replays += again;
    w->n->gaps += !taken && !again;
    report_free(&r);
}

static uint64_t sum_have(struct week *w, size_t device)
{
    uint64_t sum = 0;
    for (int k = 0; k < DEVICES; k++) {
        uint64_t have = 0;
        assert_ok(journal_have(w->o->m[device].j, w->uuids[k], &have, &w->o->f), &w->o->f);
        sum += have;
    }
    return sum;
}

static void take_damaged(struct week *w, size_t to, const uint8_t *bytes, size_t size)
{
    struct office *o = w->o;
    struct report r;
    uint64_t before = sum_have(w, to);
    uint8_t *copy = (uint8_t *)arena_strn(o->a, (const char *)bytes, size);
    size_t at = chance(w, size);
    bool cut = chance(w, 2) == 0;
    report_init(&r);
    copy[at] ^= (uint8_t)(1 << chance(w, 8));
    bool taken = exchange_take(o->m[to].s, cut ? bytes : copy, cut ? at : size, NULL, &r, &o->f);
    w->n->torn += cut;
    w->n->bent += !cut;
    w->n->torn_changed += taken || sum_have(w, to) != before;
    report_free(&r);
}

static void keep(struct week *w, const uint8_t *bytes, size_t size)
{
    size_t at = chance(w, POOL);
    free(w->pool[at].bytes);
    w->pool[at].bytes = malloc(size);
    assert_non_null(w->pool[at].bytes);
    memcpy(w->pool[at].bytes, bytes, size);
    w->pool[at].size = size;
}

/* One device hands another what it believes the other lacks, or more, or less. */
static void hand_over(struct week *w)
{
    struct office *o = w->o;
    size_t from = chance(w, DEVICES), to = chance(w, DEVICES);
    struct parcel p = {.a = o->a};
    struct sending how = {.always = chance(w, 4) == 0, .send = parcel_add, .of = &p};
    struct want *wants;
    size_t count;
    struct report r;
    arena_reset(o->a);
    report_init(&r);
    office_at(o, from);
    assert_ok(exchange_wants(o->m[from].s, o->a, o->m[to].s->self, &wants, &count, &o->f), &o->f);
    for (size_t i = 0; i < count; i++)
        if (chance(w, 6) == 0) /* a stale vector, or none */
            wants[i].after = chance(w, wants[i].after + 1);
    for (size_t i = 0; i < count; i++) {
        uint64_t have = w->have[from][maker_at(w, wants[i].device)];
        if (chance(w, 10) == 0 && have > wants[i].after + 1) /* the first of them stay at home */
            wants[i].after += 1 + chance(w, have - wants[i].after - 1);
    }
    if (count > 0 && chance(w, 8) == 0)
        count = 1 + chance(w, count);
    assert_ok(exchange_give(o->m[from].s, wants, count, &how, NULL, &r, &o->f), &o->f);
    report_free(&r);
    for (size_t i = 0; i < p.count; i++) {
        keep(w, p.bytes[i], p.sizes[i]);
        if (chance(w, 4) == 0)
            take_damaged(w, to, p.bytes[i], p.sizes[i]);
        if (chance(w, 6) != 0 && from != to) /* else it is lost on the way */
            take_whole(w, to, p.bytes[i], p.sizes[i]);
    }
}

static void from_the_past(struct week *w)
{
    size_t at = chance(w, POOL), to = chance(w, DEVICES);
    arena_reset(w->o->a);
    if (w->pool[at].bytes != NULL)
        take_whole(w, to, w->pool[at].bytes, w->pool[at].size);
}

/* ---- a stick --------------------------------------------------------------------------------- */

static int lose_one(const char *path, const struct stat *st, int flag, struct FTW *at)
{
    static unsigned turn;
    (void)at;
    if (flag != FTW_F || ++turn % 7 != 0)
        return 0;
    return turn % 14 != 0 ? remove(path) : truncate(path, st->st_size / 2);
}

/* The account learns what the stick brought from the journal's own vector; the heads that follow
 * from it are still the account's. */
static void with_a_stick(struct week *w)
{
    struct office *o = w->o;
    size_t device = chance(w, DEVICES);
    const char *stick;
    struct report r;
    arena_reset(o->a);
    stick = arena_printf(o->a, "%s/stick", o->folder);
    mkdir(stick, 0700);
    if (chance(w, 5) == 0) {
        nftw(stick, lose_one, 8, FTW_PHYS);
        w->n->files_lost++;
    }
    report_init(&r);
    office_at(o, device);
    assert_ok(share_sync(o->m[device].s, stick, NULL, &r, &o->f), &o->f);
    assert_int_equal(r.held, 0);
    report_free(&r);
    for (int k = 0; k < DEVICES; k++) {
        uint64_t have = 0;
        assert_ok(journal_have(o->m[device].j, w->uuids[k], &have, &o->f), &o->f);
        assert_in_range(have, w->have[device][k], w->have[k][k]);
        w->have[device][k] = have;
    }
    w->n->folders++;
}

/* ---- a week ---------------------------------------------------------------------------------- */

static void begin_week(struct week *w)
{
    struct office *o = office_new(DEVICES - 1);
    w->o = o;
    w->count = 0;
    memset(w->have, 0, sizeof w->have);
    memset(w->shown, 0, sizeof w->shown);
    for (int k = 0; k < DEVICES; k++)
        memcpy(w->uuids[k], o->m[k].s->self, UUID_BYTES);
    for (int d = 0; d < DOGS; d++) {
        assert_ok(journal_entity_new(o->m[0].j, "dog", w->dogs[d], &o->f), &o->f);
        struct op *op = &w->ops[w->count++];
        *op = (struct op){.field = d * ITEMS, .number = ++w->have[0][0]};
        office_set(o, 0, w->dogs[d], item_of(d * ITEMS), "v0", NULL, 0);
    }
    for (size_t to = 1; to < DEVICES; to++) {
        struct parcel p = office_parcel(o, 0, to);
        for (size_t i = 0; i < p.count; i++)
            take_whole(w, to, p.bytes[i], p.sizes[i]);
    }
}

static void end_week(struct week *w)
{
    for (int round = 0; round < 2; round++)
        for (size_t from = 0; from < DEVICES; from++)
            for (size_t to = 0; to < DEVICES; to++) {
                arena_reset(w->o->a);
                if (from == to)
                    continue;
                struct parcel p = office_parcel(w->o, from, to);
                for (size_t i = 0; i < p.count; i++)
                    take_whole(w, to, p.bytes[i], p.sizes[i]);
            }
    for (size_t device = 0; device < DEVICES; device++) {
        uint64_t checked = 0;
        for (int k = 0; k < DEVICES; k++)
            w->n->lost += w->have[device][k] != w->have[k][k];
        compare_all(w, device);
        assert_ok(journal_verify(w->o->m[device].j, &checked, &w->o->f), &w->o->f);
        assert_int_equal(checked, (uint64_t)w->count);
    }
    for (int i = 0; i < POOL; i++) {
        free(w->pool[i].bytes);
        w->pool[i].bytes = NULL;
    }
    unsetenv("AMBLE_NOW");
    void *gone = w->o;
    office_down(&gone);
}

static size_t edits_wanted(void)
{
    const char *said = getenv("SYNC_EDITS");
    size_t n = said != NULL ? strtoul(said, NULL, 10) : EDITS;
    return n > 0 && n <= EDITS ? n : EDITS;
}

static void all_who_saw_the_same_show_the_same(void **state)
{
    struct counts n = {0};
    struct week w = {.random = UINT64_C(0x9E3779B97F4A7C15), .n = &n};
    size_t wanted = edits_wanted();
    (void)state;
    w.ops = calloc(wanted + SCHEDULE_EDITS, sizeof *w.ops);
    assert_non_null(w.ops);
    while (n.edits < wanted) {
        begin_week(&w);
        for (size_t i = 0; i < SCHEDULE_EDITS && n.edits < wanted; i++) {
            edit(&w);
            if (chance(&w, 8) == 0)
                hand_over(&w);
            if (chance(&w, 12) == 0)
                from_the_past(&w);
            if (chance(&w, 60) == 0)
                with_a_stick(&w);
            if (chance(&w, 40) == 0)
                compare_dog(&w, chance(&w, DEVICES), (int)chance(&w, DOGS));
        }
        end_week(&w);
        n.schedules++;
    }
    free(w.ops);
    print_message(
        "%zu schedules, %d devices, %zu edits; %zu bundles taken, %zu read again, %zu cut, "
        "%zu bent, %zu came too early, %zu times a stick, %zu with files lost; %zu current "
        "values compared, %zu conflicts kept\n",
        n.schedules, DEVICES, n.edits, n.bundles, n.replays, n.torn, n.bent, n.gaps, n.folders,
        n.files_lost, n.compared, n.conflicts);
    print_message(
        "divergent %zu, lost %zu, false conflicts %zu, missed conflicts %zu, changed by a "
        "damaged bundle %zu\n",
        n.divergent, n.lost, n.false_conflicts, n.missed_conflicts, n.torn_changed);
    assert_int_equal(n.divergent, 0);
    assert_int_equal(n.lost, 0);
    assert_int_equal(n.false_conflicts, 0);
    assert_int_equal(n.missed_conflicts, 0);
    assert_int_equal(n.torn_changed, 0);
    assert_true(n.bundles > 0 && n.replays > 0 && n.torn > 0 && n.bent > 0 && n.gaps > 0 &&
                n.folders > 0 && n.conflicts > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_who_saw_the_same_show_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
