/* Appending, replacing, current values, history, conflicts, looking up by value. */
#include "journal_kit.h"
#include <sys/syscall.h>
#include <unistd.h>

static void first_entry(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], vet[IDENT_ROOM];
    kit_new(k, "dog", dog);
    kit_new(k, "practitioner", vet);
    struct edit e = {.kind = ENTRY_SET,
                     .entity = dog,
                     .item = "dog.name",
                     .value = "Biscuit",
                     .author = vet,
                     .reason = "said on the phone"};
    struct entry_id id;
    setenv("AMBLE_NOW", "2026-11-24T09:30", 1);
    assert_ok(journal_append(k->j, &e, &id, &k->f), &k->f);
    unsetenv("AMBLE_NOW");
    assert_int_equal(id.device, journal_device(k->j));
    assert_int_equal(id.number, 1);

    struct heads h = kit_heads(k, dog);
    assert_int_equal(h.count, 1);
    const struct entry *x = &h.entries[0];
    assert_int_equal(x->kind, ENTRY_SET);
    assert_string_equal(x->entity, dog);
    assert_string_equal(x->entity_kind, "dog");
    assert_string_equal(x->item, "dog.name");
    assert_string_equal(x->value, "Biscuit");
    assert_string_equal(x->author, vet);
    assert_string_equal(x->reason, "said on the phone");
    assert_true(x->claimed_at > INT64_C(1795000000000));
    assert_int_equal(x->lamport, 1);
    assert_int_equal(x->replaces_count, 0);
}

static void an_edit_replaces_what_was_shown(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    struct entry_id first = kit_set(k, dog, "dog.body_mass", "9.4 kg");
    struct entry_id second = kit_set_over(k, dog, "dog.body_mass", "9.6 kg", &first, 1);
    struct heads h = kit_heads(k, dog);
    assert_int_equal(h.count, 1);
    assert_string_equal(h.entries[0].value, "9.6 kg");
    assert_int_equal(h.entries[0].replaces_count, 1);
    assert_int_equal(h.entries[0].replaces[0].number, first.number);
    assert_int_equal(h.entries[0].id.number, second.number);
}

static void history_is_whole_and_in_order(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    struct entry_id ids[3];
    ids[0] = kit_set(k, dog, "dog.name", "Biskit");
    ids[1] = kit_set_over(k, dog, "dog.name", "Biscuit", &ids[0], 1);
    kit_set(k, dog, "dog.breed", "Dachshund");
    ids[2] = kit_set(k, dog, "dog.name", "Bisquit"); /* beside: a conflict */
    kit_set_over(k, dog, "dog.name", "Biscuit", &ids[1], 2);
    struct heads h;
    assert_ok(journal_history(k->j, k->a, dog, "dog.name", &h, &k->f), &k->f);
    static const char *const values[] = {"Biskit", "Biscuit", "Bisquit", "Biscuit"};
    assert_int_equal(h.count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_string_equal(h.entries[i].value, values[i]);
        assert_string_equal(h.entries[i].item, "dog.name");
    }
    assert_int_equal(h.entries[3].replaces_count, 2);
    assert_ok(journal_history(k->j, k->a, dog, "dog.colour", &h, &k->f), &k->f);
    assert_int_equal(h.count, 0);
}

static void heads_are_sorted_by_item(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    kit_set(k, dog, "z", "1");
    kit_set(k, dog, "a", "2");
    kit_set(k, dog, "m", "3");
    kit_set(k, dog, "a", "4");
    struct heads h = kit_heads(k, dog);
    assert_int_equal(h.count, 4);
    assert_string_equal(h.entries[0].value, "2");
    assert_string_equal(h.entries[1].value, "4");
    assert_string_equal(h.entries[2].item, "m");
    assert_string_equal(h.entries[3].item, "z");
}

static uint64_t conflicts(struct kit *k)
{
    struct journal_counts c;
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    return c.conflicts;
}

static void equal_values_are_no_conflict(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    struct entry_id ids[3];
    ids[0] = kit_set(k, dog, "dog.sex", "female");
    ids[1] = kit_set(k, dog, "dog.sex", "female");
    assert_int_equal(conflicts(k), 0);
    ids[2] = kit_set(k, dog, "dog.sex", "male");
    assert_int_equal(conflicts(k), 1);
    const struct conflict *all;
    size_t count;
    assert_ok(journal_conflicts(k->j, k->a, 10, &all, &count, &k->f), &k->f);
    assert_int_equal(count, 1);
    assert_string_equal(all[0].entity, dog);
    assert_string_equal(all[0].entity_kind, "dog");
    assert_string_equal(all[0].item, "dog.sex");
    kit_set_over(k, dog, "dog.sex", "female", ids, 3);
    assert_int_equal(conflicts(k), 0);
}

static void entered_in_error_has_no_value(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    struct entry_id id = kit_set(k, dog, "dog.name", "Rex");
    struct edit e = {.kind = ENTRY_ERROR,
                     .entity = dog,
                     .item = "dog.name",
                     .author = "",
                     .reason = "that was the neighbour's dog",
                     .replaces = &id,
                     .replaces_count = 1};
    assert_ok(journal_append(k->j, &e, NULL, &k->f), &k->f);
    struct heads h = kit_heads(k, dog);
    assert_int_equal(h.count, 1);
    assert_int_equal(h.entries[0].kind, ENTRY_ERROR);
    assert_string_equal(h.entries[0].value, "");
}

static void what_is_refused(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], *large = calloc(1, JOURNAL_VALUE_MAX + 2);
    kit_new(k, "dog", dog);
    struct entry_id name = kit_set(k, dog, "dog.name", "Biscuit");
    struct entry_id none = {.device = name.device, .number = 99};
    struct entry_id many[2] = {name, {.device = 7, .number = UINT64_MAX}};
    struct edit good = {.kind = ENTRY_SET,
                        .entity = dog,
                        .item = "dog.breed",
                        .value = "Dachshund",
                        .author = "",
                        .reason = ""};
    struct edit e = good;
    struct fault *f = &k->f;
    e.entity = "00000000-0000-4000-8000-000000000000";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_MISSING, "there is no record 0000");
    e.entity = "biscuit";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "\"biscuit\"");
    e = good, e.item = "";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "needs an item");
    e = good, e.value = "Dachs\xff";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT,
                 "value is not UTF-8 text (byte 6)");
    e = good, e.item = "dog.\xc3";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "the item is no id");
    e = good, e.reason = "\xed\xa0\x80";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "reason is not UTF-8");
    e = good, e.author = "me";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "\"me\"");
    memset(large, 'x', JOURNAL_VALUE_MAX + 1);
    e = good, e.value = large;
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_LIMIT, "65537 bytes, at most 65536");
    large[JOURNAL_VALUE_MAX] = '\0';
    assert_ok(journal_append(k->j, &e, NULL, f), f);
    e = good, e.kind = ENTRY_ERROR, e.value = "";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "needs a reason");
    e.reason = "slip", e.value = "x";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "no value");
    e = good, e.kind = ENTRY_SIGN;
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "hash");
    e = good, e.kind = (enum entry_kind)9;
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "kind of entry: 9");
    e = good, e.replaces = &name, e.replaces_count = 1;
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "no entry of the same item");
    e.replaces = &none, e.item = "dog.name";
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "entry 99 of device");
    e.replaces = many, e.replaces_count = 2;
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_INPUT, "of device 7");
    e.replaces_count = 100000;
    assert_fault(journal_append(k->j, &e, NULL, f), f, FAULT_LIMIT, "100000");
    struct journal_counts c;
    assert_ok(journal_count(k->j, &c, f), f);
    assert_int_equal(c.entries, 2);
    free(large);
}

static void an_entity_exists_from_its_first_entry(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], visit[IDENT_ROOM];
    struct journal_counts c;
    kit_new(k, "dog", dog);
    kit_new(k, "visit", visit);
    assert_string_equal(journal_kind(k->j, k->a, dog), "dog");
    assert_int_equal(kit_heads(k, dog).count, 0);
    assert_null(journal_kind(k->j, k->a, "00000000-0000-4000-8000-000000000000"));
    assert_null(journal_kind(k->j, k->a, "nothing"));
    struct heads h;
    assert_fault(journal_heads(k->j, k->a, "00000000-0000-4000-8000-000000000000", &h, &k->f),
                 &k->f, FAULT_MISSING, "there is no record");
    kit_set(k, dog, "dog.name", "Biscuit");
    kit_reopen(k, JOURNAL_WRITE);
    assert_string_equal(journal_kind(k->j, k->a, dog), "dog");
    assert_null(journal_kind(k->j, k->a, visit));
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    assert_int_equal(c.entities, 1);
    assert_int_equal(c.dogs, 1);
    char none[IDENT_ROOM];
    assert_fault(journal_entity_new(k->j, "", none, &k->f), &k->f, FAULT_INPUT,
                 "the kind of record is no id");
}

static void keyed_items_are_found_by_value(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], visits[3][IDENT_ROOM];
    static const char *const days[] = {"2026-11-26", "2026-11-24T14:00", "2026-11-24"};
    struct entry_id last = {0};
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    for (size_t i = 0; i < 3; i++) {
        kit_new(k, "visit", visits[i]);
        kit_set(k, visits[i], "visit.dog", dog);
        last = kit_set(k, visits[i], "visit.day", days[i]);
    }
    struct ids ids;
    assert_ok(journal_by_value(k->j, k->a, "visit.dog", dog, 10, &ids, &k->f), &k->f);
    assert_int_equal(ids.count, 3);
    for (size_t i = 0; i < 3; i++)
        assert_string_equal(ids.uuids[i], visits[i]);
    assert_ok(
        journal_by_range(k->j, k->a, "visit.day", "2026-11-24", "2026-11-25", 10, &ids, &k->f),
        &k->f);
    assert_int_equal(ids.count, 2);
    assert_string_equal(ids.uuids[0], visits[2]);
    assert_string_equal(ids.uuids[1], visits[1]);
    assert_ok(journal_by_range(k->j, k->a, "visit.day", "2026", "2027", 1, &ids, &k->f), &k->f);
    assert_int_equal(ids.count, 1);
    assert_ok(journal_latest(k->j, k->a, "visit.day", "2026-11-25", 5, &ids, &k->f), &k->f);
    assert_int_equal(ids.count, 2);
    assert_string_equal(ids.uuids[0], visits[1]);
    assert_string_equal(ids.uuids[1], visits[2]);
    /* A replaced value is no longer found, a conflicting one does not list its entity twice. */
    kit_set_over(k, visits[2], "visit.day", "2026-12-01", &last, 1);
    kit_set(k, visits[1], "visit.day", "2026-11-24T15:00");
    assert_ok(
        journal_by_range(k->j, k->a, "visit.day", "2026-11-24", "2026-11-25", 10, &ids, &k->f),
        &k->f);
    assert_int_equal(ids.count, 1);
    assert_ok(journal_latest(k->j, k->a, "visit.day", "2026-11-25", 5, &ids, &k->f), &k->f);
    assert_int_equal(ids.count, 1);
    assert_string_equal(ids.uuids[0], visits[1]);
    assert_ok(journal_by_value(k->j, k->a, "visit.dog", "nobody", 10, &ids, &k->f), &k->f);
    assert_int_equal(ids.count, 0);
    assert_fault(journal_by_value(k->j, k->a, "dog.name", "Biscuit", 10, &ids, &k->f), &k->f,
                 FAULT_INPUT, "dog.name cannot be looked up");
    assert_true(journal_keyed("visit.day"));
    assert_false(journal_keyed("dog.name"));
}

struct seen {
    struct kit *k;
    char uuids[600][IDENT_ROOM];
    size_t count, stop;
};

static bool see(void *of, const char *entity)
{
    struct seen *s = of;
    /* The journal may be used meanwhile. */
    assert_string_equal(journal_kind(s->k->j, s->k->a, entity), "dog");
    snprintf(s->uuids[s->count++], IDENT_ROOM, "%s", entity);
    return s->count < s->stop;
}

static void every_entity_of_a_kind_oldest_first(void **state)
{
    struct kit *k = *state;
    static char dogs[600][IDENT_ROOM];
    char call[IDENT_ROOM];
    static struct seen seen;
    seen = (struct seen){.k = k, .stop = 1000};
    assert_ok(journal_begin(k->j, &k->f), &k->f);
    for (size_t i = 0; i < 600; i++) {
        kit_new(k, "dog", dogs[i]);
        kit_set(k, dogs[i], "dog.name", "Biscuit");
    }
    kit_new(k, "call", call);
    kit_set(k, call, "call.at", "2026-11-24T09:30");
    assert_ok(journal_commit(k->j, &k->f), &k->f);
    assert_ok(journal_each(k->j, "dog", see, &seen, &k->f), &k->f);
    assert_int_equal(seen.count, 600);
    for (size_t i = 0; i < 600; i++)
        assert_string_equal(seen.uuids[i], dogs[i]);
    seen.count = 0, seen.stop = 3;
    assert_ok(journal_each(k->j, "dog", see, &seen, &k->f), &k->f);
    assert_int_equal(seen.count, 3);
    seen.count = 0;
    assert_ok(journal_each(k->j, "cat", see, &seen, &k->f), &k->f);
    assert_int_equal(seen.count, 0);
}

static void recent_entries_of_one_author(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], me[IDENT_ROOM], you[IDENT_ROOM];
    kit_new(k, "dog", dog);
    ident_new(me);
    ident_new(you);
    for (int i = 0; i < 6; i++) {
        char value[8];
        snprintf(value, sizeof value, "%d", i);
        struct edit e = {.kind = ENTRY_SET,
                         .entity = dog,
                         .item = "x",
                         .value = value,
                         .author = i % 2 ? me : you};
        assert_ok(journal_append(k->j, &e, NULL, &k->f), &k->f);
    }
    struct heads h;
    assert_ok(journal_recent(k->j, k->a, me, 2, &h, &k->f), &k->f);
    assert_int_equal(h.count, 2);
    assert_string_equal(h.entries[0].value, "5");
    assert_string_equal(h.entries[1].value, "3");
    assert_ok(journal_recent(k->j, k->a, "", 9, &h, &k->f), &k->f);
    assert_int_equal(h.count, 0);
}

static void what_was_last_made_here_is_looked_for_only_so_far_back(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], me[IDENT_ROOM], you[IDENT_ROOM];
    struct heads h;
    kit_new(k, "dog", dog);
    ident_new(me);
    ident_new(you);
    struct edit e = {.kind = ENTRY_SET, .entity = dog, .item = "x", .value = "mine", .author = me};
    assert_ok(journal_append(k->j, &e, NULL, &k->f), &k->f);
    assert_ok(journal_begin(k->j, &k->f), &k->f);
    e.value = "yours";
    e.author = you;
    for (int i = 1; i < JOURNAL_REACH; i++)
        assert_ok(journal_append(k->j, &e, NULL, &k->f), &k->f);
    assert_ok(journal_commit(k->j, &k->f), &k->f);
    assert_ok(journal_recent(k->j, k->a, me, 2, &h, &k->f), &k->f);
    assert_int_equal(h.count, 1);
    assert_ok(journal_append(k->j, &e, NULL, &k->f), &k->f);
    assert_ok(journal_recent(k->j, k->a, me, 2, &h, &k->f), &k->f);
    assert_int_equal(h.count, 0);
}

/* Ours stand before those of the C library, for SQLite too. */
static int flushes;
int fdatasync(int fd)
{
    flushes++;
    return (int)syscall(SYS_fdatasync, fd);
}
int fsync(int fd)
{
    flushes++;
    return (int)syscall(SYS_fsync, fd);
}

static void a_field_left_is_one_flush_and_a_key_typed_is_none(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    for (int i = 0; i < 20; i++) {
        flushes = 0;
        kit_set(k, dog, "dog.note", "walks on");
        assert_int_equal(flushes, 1);
        assert_ok(journal_draft_put(k->j, dog, "dog.note", "wal", &k->f), &k->f);
        assert_int_equal(flushes, 1);
    }
}

/* Read in one view, then written: what is written is kept, flushed once, and seen at once. */
static void writing_ends_a_look(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM], copy[96];
    snprintf(copy, sizeof copy, "%s/copy", k->folder);
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    bool looking = journal_look_begin(k->j);
    assert_true(looking);
    assert_false(journal_look_begin(k->j)); /* part of the first */
    assert_string_equal(journal_value(k->j, k->a, dog, "dog.name"), "Biscuit");
    flushes = 0;
    kit_set(k, dog, "dog.breed", "Dachshund");
    assert_int_equal(flushes, 1);
    assert_string_equal(journal_value(k->j, k->a, dog, "dog.breed"), "Dachshund");
    journal_look_end(k->j, looking);
    looking = journal_look_begin(k->j);
    assert_true(looking);
    assert_ok(journal_draft_put(k->j, dog, "dog.note", "wal", &k->f), &k->f);
    assert_int_equal(flushes, 1);
    journal_look_end(k->j, looking);
    looking = journal_look_begin(k->j);
    assert_ok(journal_backup(k->j, copy, &k->f), &k->f);
    journal_look_end(k->j, looking);
    kit_reopen(k, JOURNAL_READ);
    assert_int_equal(kit_heads(k, dog).count, 2);
}

/* What was read holds until something is written, whoever writes it and whatever it is. */
static void whatever_was_written_is_noticed(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    struct journal_state seen = {0};
    kit_new(k, "dog", dog);
    kit_set(k, dog, "dog.name", "Biscuit");
    assert_true(journal_changed(k->j, &seen));
    assert_false(journal_changed(k->j, &seen));
    assert_string_equal(journal_value(k->j, k->a, dog, "dog.name"), "Biscuit");
    assert_false(journal_changed(k->j, &seen)); /* reading changes nothing */
    kit_set(k, dog, "dog.breed", "Dachshund");
    assert_true(journal_changed(k->j, &seen));
    assert_ok(journal_draft_put(k->j, dog, "dog.note", "wal", &k->f), &k->f);
    assert_true(journal_changed(k->j, &seen));
    assert_false(journal_changed(k->j, &seen));
    kit_sql(k->folder, "UPDATE device SET name = 'another'");
    bool looking = journal_look_begin(k->j);
    assert_true(journal_changed(k->j, &seen));
    kit_sql(k->folder, "UPDATE device SET name = 'a third'");
    assert_false(journal_changed(k->j, &seen)); /* this look does not see it */
    journal_look_end(k->j, looking);
    assert_true(journal_changed(k->j, &seen));
}

static void a_batch_is_all_or_nothing(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    struct journal_counts c;
    kit_new(k, "dog", dog);
    assert_ok(journal_begin(k->j, &k->f), &k->f);
    assert_fault(journal_begin(k->j, &k->f), &k->f, FAULT_REFUSED, "already begun");
    kit_set(k, dog, "dog.name", "Biscuit");
    kit_set(k, dog, "dog.breed", "Dachshund");
    journal_rollback(k->j);
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    assert_int_equal(c.entries, 0);
    assert_int_equal(c.entities, 0);
    assert_string_equal(journal_kind(k->j, k->a, dog), "dog"); /* still only made */
    assert_fault(journal_commit(k->j, &k->f), &k->f, FAULT_REFUSED, "no piece of work");
    assert_ok(journal_begin(k->j, &k->f), &k->f);
    assert_int_equal(kit_set(k, dog, "dog.name", "Biscuit").number, 1);
    assert_int_equal(kit_set(k, dog, "dog.breed", "Dachshund").number, 2);
    assert_ok(journal_commit(k->j, &k->f), &k->f);
    kit_reopen(k, JOURNAL_READ);
    assert_int_equal(kit_heads(k, dog).count, 2);
}

static void counts_and_what_is_unsent(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    uint8_t base[UUID_BYTES] = {1, 2, 3};
    struct journal_counts c;
    kit_new(k, "dog", dog);
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    assert_int_equal(c.unsent, 0);
    assert_int_equal(c.oldest_unsent, 0);
    for (int i = 0; i < 3; i++)
        kit_set(k, dog, "dog.name", "Biscuit");
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    assert_int_equal(c.entries, 3);
    assert_int_equal(c.devices, 1);
    assert_int_equal(c.unsent, 3);
    struct heads h = kit_heads(k, dog);
    assert_int_equal(c.oldest_unsent, h.entries[0].claimed_at);
    assert_ok(journal_holds(k->j, base, 2, &k->f), &k->f);
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    assert_int_equal(c.devices, 2);
    assert_int_equal(c.unsent, 1);
    assert_int_equal(c.oldest_unsent, h.entries[2].claimed_at);
    assert_ok(journal_holds(k->j, base, 3, &k->f), &k->f);
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    assert_int_equal(c.unsent, 0);
}

static void sign_hash_follows_the_heads(void **state)
{
    struct kit *k = *state;
    char visit[IDENT_ROOM], first[65], again[65], other[65];
    kit_new(k, "visit", visit);
    assert_fault(journal_sign_hash(k->j, visit, first, &k->f), &k->f, FAULT_MISSING,
                 "nothing to sign");
    struct entry_id id = kit_set(k, visit, "visit.gait", "paresis");
    assert_ok(journal_sign_hash(k->j, visit, first, &k->f), &k->f);
    assert_int_equal(strlen(first), 64);
    struct edit sign = {
        .kind = ENTRY_SIGN, .entity = visit, .item = "record.signed", .value = first};
    assert_ok(journal_append(k->j, &sign, NULL, &k->f), &k->f);
    assert_ok(journal_sign_hash(k->j, visit, again, &k->f), &k->f);
    assert_string_equal(first, again); /* the sign-off itself is not part of what is signed */
    kit_set_over(k, visit, "visit.gait", "paresis", &id, 1);
    assert_ok(journal_sign_hash(k->j, visit, other, &k->f), &k->f);
    assert_string_not_equal(first, other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        kit_test(first_entry),
        kit_test(an_edit_replaces_what_was_shown),
        kit_test(history_is_whole_and_in_order),
        kit_test(heads_are_sorted_by_item),
        kit_test(equal_values_are_no_conflict),
        kit_test(entered_in_error_has_no_value),
        kit_test(what_is_refused),
        kit_test(an_entity_exists_from_its_first_entry),
        kit_test(keyed_items_are_found_by_value),
        kit_test(every_entity_of_a_kind_oldest_first),
        kit_test(recent_entries_of_one_author),
        kit_test(what_was_last_made_here_is_looked_for_only_so_far_back),
        kit_test(a_field_left_is_one_flush_and_a_key_typed_is_none),
        kit_test(a_batch_is_all_or_nothing),
        kit_test(writing_ends_a_look),
        kit_test(whatever_was_written_is_noticed),
        kit_test(counts_and_what_is_unsent),
        kit_test(sign_hash_follows_the_heads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
