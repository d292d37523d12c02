/* Branches and what share/ keeps: taking entries out leaves the record as if they had never come.
 */
#include "journal/signed.h"
#include "journal/travel.h"
#include "journal_kit.h"

struct pair {
    struct kit here, copy;
    char dog[IDENT_ROOM];
    uint8_t device[UUID_BYTES];
};

/* A record of three entries, and a copy of the folder taken then: two devices under one name. */
static int pair_setup(void **state)
{
    struct pair *p = calloc(1, sizeof *p);
    char from[128];
    kit_folder(p->here.folder);
    kit_folder(p->copy.folder);
    p->here.a = arena_new();
    p->copy.a = arena_new();
    assert_ok(journal_open(&p->here.j, p->here.folder, JOURNAL_WRITE, &p->here.f), &p->here.f);
    kit_new(&p->here, "dog", p->dog);
    struct entry_id id = kit_set(&p->here, p->dog, "dog.name", "Biskit");
    kit_set_over(&p->here, p->dog, "dog.name", "Biscuit", &id, 1);
    kit_set(&p->here, p->dog, "dog.breed", "Dachshund");
    memcpy(p->device, p->here.j->self_uuid, UUID_BYTES);
    snprintf(from, sizeof from, "%s/journal.db", p->copy.folder);
    assert_ok(journal_backup(p->here.j, from, &p->here.f), &p->here.f);
    assert_ok(journal_open(&p->copy.j, p->copy.folder, JOURNAL_WRITE, &p->copy.f), &p->copy.f);
    *state = p;
    return 0;
}

static int pair_teardown(void **state)
{
    struct pair *p = *state;
    journal_close(p->here.j);
    journal_close(p->copy.j);
    arena_free(p->here.a);
    arena_free(p->copy.a);
    kit_remove(p->here.folder);
    kit_remove(p->copy.folder);
    free(p);
    return 0;
}

static const struct entry *head(struct kit *k, const char *entity, const char *item, size_t *count)
{
    struct heads h = kit_heads(k, entity);
    const struct entry *found = NULL;
    *count = 0;
    for (size_t i = 0; i < h.count; i++)
        if (strcmp(h.entries[i].item, item) == 0) {
            found = &h.entries[i];
            (*count)++;
        }
    return found;
}

static void what_was_replaced_is_current_again(void **state)
{
    struct pair *p = *state;
    struct kit *k = &p->here;
    size_t n = 0;
    uint64_t checked = 0;
    assert_ok(journal_withdraw(k->j, p->device, 1, &k->f), &k->f);
    assert_string_equal(head(k, p->dog, "dog.name", &n)->value, "Biskit");
    assert_int_equal(n, 1);
    assert_null(head(k, p->dog, "dog.breed", &n));
    assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
    assert_int_equal(checked, 1);
    /* It can be written again, and the guards are up again. */
    kit_set(k, p->dog, "dog.sex", "female");
    assert_int_not_equal(sqlite3_exec(k->j->db, "DELETE FROM entry WHERE id > 0", NULL, NULL, NULL),
                         SQLITE_OK);
    /* All of them: the dog is gone too, and cannot be found. */
    assert_ok(journal_withdraw(k->j, p->device, 0, &k->f), &k->f);
    struct journal_counts c;
    assert_ok(journal_count(k->j, &c, &k->f), &k->f);
    assert_int_equal(c.entries, 0);
    assert_int_equal(c.dogs, 0);
    assert_null(journal_kind(k->j, k->a, p->dog));
}

/* Its number may be another record's by then. */
static void a_withdrawn_record_is_not_taken_for_another(void **state)
{
    struct pair *p = *state;
    struct kit *k = &p->here, other = {.a = k->a};
    char dog[IDENT_ROOM];
    assert_string_equal(journal_value(k->j, k->a, p->dog, "dog.name"), "Biscuit");
    assert_ok(journal_lend(k->j, &k->f), &k->f);
    assert_ok(journal_open(&other.j, k->folder, JOURNAL_WRITE, &other.f), &other.f);
    assert_ok(journal_withdraw(other.j, p->device, 0, &other.f), &other.f);
    kit_new(&other, "dog", dog);
    kit_set(&other, dog, "dog.name", "Bramble");
    for (int taken_back = 0; taken_back < 2; taken_back++) {
        assert_string_equal(journal_value(k->j, k->a, p->dog, "dog.name"), "");
        assert_null(journal_kind(k->j, k->a, p->dog));
        assert_string_equal(journal_value(k->j, k->a, dog, "dog.name"), "Bramble");
        journal_close(other.j);
        other.j = NULL;
        assert_ok(journal_take_back(k->j, &k->f), &k->f);
    }
}

struct carried {
    struct kit *to;
    size_t count;
};

static bool carry(void *of, const struct far_entry *e)
{
    struct carried *c = of;
    enum applied how;
    assert_ok(journal_apply(c->to->j, e, &how, &c->to->f), &c->to->f);
    c->count += how == APPLIED_NEW;
    return true;
}

static void both_branches_of_a_copied_device_live_on(void **state)
{
    struct pair *p = *state;
    struct kit *here = &p->here, *copy = &p->copy;
    uint8_t name[UUID_BYTES], again[UUID_BYTES];
    size_t n = 0;
    uint64_t checked = 0;
    struct entry_id old = head(copy, p->dog, "dog.name", &n)->id;
    kit_set_over(here, p->dog, "dog.name", "Biscotti", &old, 1);
    struct entry_id own = kit_set_over(copy, p->dog, "dog.name", "Waffles", &old, 1);
    own = kit_set_over(copy, p->dog, "dog.name", "Waffle", &own, 1);
    assert_int_equal(own.number, 5);
    assert_ok(journal_branch(copy->j, p->device, 3, name, &copy->f), &copy->f);
    /* The copy goes by the new name, its edits among themselves are as they were. */
    assert_memory_equal(copy->j->self_uuid, name, UUID_BYTES);
    const struct entry *now = head(copy, p->dog, "dog.name", &n);
    assert_int_equal(n, 1);
    assert_string_equal(now->value, "Waffle");
    assert_int_equal(now->id.number, 2);
    assert_ok(journal_verify(copy->j, &checked, &copy->f), &copy->f);
    assert_int_equal(checked, 5);
    /* Now each can take what the other has; both names stand. */
    struct carried c = {.to = copy};
    assert_ok(journal_entries(here->j, p->device, 0, carry, &c, &here->f), &here->f);
    assert_int_equal(c.count, 1);
    c = (struct carried){.to = here};
    assert_ok(journal_entries(copy->j, name, 0, carry, &c, &copy->f), &copy->f);
    assert_int_equal(c.count, 2);
    for (int i = 0; i < 2; i++) {
        struct kit *k = i ? copy : here;
        head(k, p->dog, "dog.name", &n);
        assert_int_equal(n, 2);
        const struct conflict *conflicts;
        assert_ok(journal_conflicts(k->j, k->a, 9, &conflicts, &n, &k->f), &k->f);
        assert_int_equal(n, 1);
        assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
    }
    assert_fault(journal_branch(copy->j, p->device, 4, again, &copy->f), &copy->f, FAULT_MISSING,
                 "nothing after entry 4");
}

static void whoever_moves_a_branch_makes_the_same_entries(void **state)
{
    struct pair *p = *state;
    struct kit *copy = &p->copy, third = {0};
    uint8_t name[UUID_BYTES], again[UUID_BYTES], one[HASH_BYTES], other[HASH_BYTES];
    bool there = false;
    kit_folder(third.folder);
    third.a = arena_new();
    assert_ok(journal_open(&third.j, third.folder, JOURNAL_WRITE, &third.f), &third.f);
    kit_set(copy, p->dog, "dog.sex", "male");
    kit_set(copy, p->dog, "x", "1");
    struct carried c = {.to = &third};
    assert_ok(journal_entries(copy->j, p->device, 0, carry, &c, &copy->f), &copy->f);
    uint8_t self[UUID_BYTES];
    memcpy(self, third.j->self_uuid, UUID_BYTES);
    assert_ok(journal_branch(third.j, p->device, 3, again, &third.f), &third.f);
    assert_ok(journal_branch(copy->j, p->device, 3, name, &copy->f), &copy->f);
    assert_memory_equal(name, again, UUID_BYTES);
    assert_memory_equal(third.j->self_uuid, self, UUID_BYTES); /* it was not its own */
    for (uint64_t i = 1; i <= 2; i++) {
        assert_ok(journal_hash(copy->j, name, i, one, &there, &copy->f), &copy->f);
        assert_true(there);
        assert_ok(journal_hash(third.j, name, i, other, &there, &third.f), &third.f);
        assert_true(there);
        assert_memory_equal(one, other, HASH_BYTES);
    }
    journal_close(third.j);
    arena_free(third.a);
    kit_remove(third.folder);
}

/* ---- a third laptop decides over an entry of the copy ---------------------------------------- */

struct three {
    struct pair *p;
    struct kit third;
    uint8_t branch[UUID_BYTES], decider[UUID_BYTES];
};

static void all_of(struct kit *from, const uint8_t device[UUID_BYTES], struct kit *to)
{
    struct carried c = {.to = to};
    assert_ok(journal_entries(from->j, device, 0, carry, &c, &from->f), &from->f);
}

/* Both copies name the dog, under one number; the third laptop knows the copy's name only, and
 * corrects it. Then the copy goes on under a name of its own. */
static void three_begin(struct three *t, struct pair *p)
{
    size_t n = 0;
    *t = (struct three){.p = p};
    struct entry_id old = head(&p->copy, p->dog, "dog.name", &n)->id;
    kit_set_over(&p->here, p->dog, "dog.name", "Biscotti", &old, 1);
    kit_set_over(&p->copy, p->dog, "dog.name", "Waffle", &old, 1);
    kit_folder(t->third.folder);
    t->third.a = arena_new();
    assert_ok(journal_open(&t->third.j, t->third.folder, JOURNAL_WRITE, &t->third.f), &t->third.f);
    memcpy(t->decider, t->third.j->self_uuid, UUID_BYTES);
    all_of(&p->copy, p->device, &t->third);
    struct entry_id seen = head(&t->third, p->dog, "dog.name", &n)->id;
    assert_int_equal(seen.number, 4);
    kit_set_over(&t->third, p->dog, "dog.name", "Waffles", &seen, 1);
    assert_ok(journal_branch(p->copy.j, p->device, 3, t->branch, &p->copy.f), &p->copy.f);
}

static void three_end(struct three *t)
{
    journal_close(t->third.j);
    arena_free(t->third.a);
    kit_remove(t->third.folder);
}

/* The name nobody had seen and the name that was decided; never the one that was decided over. */
static void assert_both(struct kit *k, const char *dog)
{
    size_t n = 0, seen = 0;
    uint64_t checked = 0;
    const struct conflict *conflicts;
    for (int round = 0; round < 2; round++) {
        struct heads h = kit_heads(k, dog);
        seen = 0;
        for (size_t i = 0; i < h.count; i++)
            seen |= !strcmp(h.entries[i].value, "Biscotti")  ? 1U
                    : !strcmp(h.entries[i].value, "Waffles") ? 2U
                    : !strcmp(h.entries[i].value, "Waffle")  ? 4U
                                                             : 0U;
        assert_int_equal(seen, 3);
        assert_ok(journal_conflicts(k->j, k->a, 9, &conflicts, &n, &k->f), &k->f);
        assert_int_equal(n, 1);
        assert_ok(journal_verify(k->j, &checked, &k->f), &k->f);
        struct heads story;
        assert_ok(journal_history(k->j, k->a, dog, "dog.name", &story, &k->f), &k->f);
        assert_int_equal(story.count, 5);
        assert_ok(journal_rebuild(k->j, &k->f), &k->f);
    }
}

static void a_decision_counts_for_what_was_seen(void **state)
{
    struct pair *p = *state;
    struct three t;
    uint8_t again[UUID_BYTES];
    three_begin(&t, p);
    /* It meets the original: the copy's branch moves there as well. */
    assert_ok(journal_branch(t.third.j, p->device, 3, again, &t.third.f), &t.third.f);
    assert_memory_equal(again, t.branch, UUID_BYTES);
    all_of(&p->here, p->device, &t.third);
    assert_both(&t.third, p->dog);
    /* The original hears of the decision before it hears of what was decided over. */
    all_of(&t.third, t.decider, &p->here);
    size_t n = 0;
    head(&p->here, p->dog, "dog.name", &n);
    assert_int_equal(n, 2);
    all_of(&p->copy, t.branch, &p->here);
    assert_both(&p->here, p->dog);
    /* That it is a branch's is derived, watched, and made again. */
    uint64_t checked = 0;
    assert_int_equal(sqlite3_exec(p->here.j->db, "DELETE FROM branched", NULL, NULL, NULL), 0);
    assert_fault(journal_verify(p->here.j, &checked, &p->here.f), &p->here.f, FAULT_DAMAGE,
                 "it can be made again");
    assert_ok(journal_rebuild(p->here.j, &p->here.f), &p->here.f);
    assert_both(&p->here, p->dog);
    /* The copy the other way round. */
    all_of(&t.third, t.decider, &p->copy);
    all_of(&p->here, p->device, &p->copy);
    assert_both(&p->copy, p->dog);
    three_end(&t);
}

static const struct entry *valued(struct kit *k, const char *dog, const char *value)
{
    struct heads story;
    assert_ok(journal_history(k->j, k->a, dog, "dog.name", &story, &k->f), &k->f);
    for (size_t i = 0; i < story.count; i++)
        if (strcmp(story.entries[i].value, value) == 0)
            return &story.entries[i];
    return NULL;
}

/* What an entry says it replaces is where that is now, or nowhere. */
static void what_was_replaced_is_found_where_it_went(void **state)
{
    struct pair *p = *state;
    struct three t;
    three_begin(&t, p);
    all_of(&t.third, t.decider, &p->here);
    const struct entry *e = valued(&p->here, p->dog, "Waffles");
    assert_int_equal(e->replaces_count, 1);
    assert_int_equal(e->replaces[0].number, 0); /* another one has that number here */
    all_of(&p->copy, t.branch, &p->here);
    e = valued(&p->here, p->dog, "Waffles");
    const struct entry *earlier = valued(&p->here, p->dog, "Waffle");
    assert_int_equal(e->replaces_count, 1);
    assert_int_equal(e->replaces[0].device, earlier->id.device);
    assert_int_equal(e->replaces[0].number, earlier->id.number);
    /* Without the decision, what it was over is current again. */
    assert_ok(journal_withdraw(p->here.j, t.decider, 0, &p->here.f), &p->here.f);
    size_t n = 0;
    uint64_t checked = 0;
    head(&p->here, p->dog, "dog.name", &n);
    assert_int_equal(n, 2);
    assert_null(valued(&p->here, p->dog, "Waffles"));
    assert_ok(journal_verify(p->here.j, &checked, &p->here.f), &p->here.f);
    /* And without the branch, nothing of it is left. */
    all_of(&t.third, t.decider, &p->here);
    assert_ok(journal_withdraw(p->here.j, t.branch, 0, &p->here.f), &p->here.f);
    assert_null(valued(&p->here, p->dog, "Waffle"));
    assert_ok(journal_verify(p->here.j, &checked, &p->here.f), &p->here.f);
    three_end(&t);
}

/* A signature of the third laptop is over its decision; the original's name came afterwards. */
static void a_signature_covers_what_was_seen(void **state)
{
    struct pair *p = *state;
    struct three t;
    char hash[65];
    uint8_t again[UUID_BYTES];
    three_begin(&t, p);
    assert_ok(journal_sign_hash(t.third.j, p->dog, hash, &t.third.f), &t.third.f);
    struct edit sign = {.kind = ENTRY_SIGN,
                        .entity = p->dog,
                        .item = "record.signed",
                        .value = hash,
                        .author = "",
                        .reason = ""};
    assert_ok(journal_append(t.third.j, &sign, NULL, &t.third.f), &t.third.f);
    assert_ok(journal_branch(t.third.j, p->device, 3, again, &t.third.f), &t.third.f);
    all_of(&p->here, p->device, &t.third);
    all_of(&t.third, t.decider, &p->here);
    all_of(&p->copy, t.branch, &p->here);
    for (int i = 0; i < 2; i++) {
        struct kit *k = i ? &p->here : &t.third;
        struct heads h = kit_heads(k, p->dog);
        struct signed_over over;
        size_t at = 0;
        while (at < h.count && h.entries[at].kind != ENTRY_SIGN)
            at++;
        assert_in_range(at, 0, h.count - 1);
        assert_ok(journal_signed_over(k->j, k->a, &h.entries[at], &over, &k->f), &k->f);
        assert_true(over.fits);
        assert_true(signed_covers(&over, valued(k, p->dog, "Waffles")->id));
        assert_true(signed_covers(&over, valued(k, p->dog, "Waffle")->id));
        assert_false(signed_covers(&over, valued(k, p->dog, "Biscotti")->id));
    }
    three_end(&t);
}

static bool names(void *of, const char *name, const uint8_t *bytes, size_t size)
{
    char *all = of;
    size_t used = strlen(all);
    snprintf(all + used, 200 - used, "%s=%.*s ", name, (int)size, (const char *)bytes);
    return true;
}

static void bytes_are_kept_under_names(void **state)
{
    struct kit *k = *state;
    const uint8_t *bytes;
    size_t size;
    char all[200] = "";
    assert_ok(journal_keep(k->j, "b/1", "one", 3, &k->f), &k->f);
    assert_ok(journal_keep(k->j, "b/2", "", 0, &k->f), &k->f);
    assert_ok(journal_keep(k->j, "a", "two", 3, &k->f), &k->f);
    assert_ok(journal_keep(k->j, "b/1", "three", 5, &k->f), &k->f);
    assert_ok(journal_kept(k->j, k->a, "b/1", &bytes, &size, &k->f), &k->f);
    assert_int_equal(size, 5);
    assert_memory_equal(bytes, "three", 5);
    assert_ok(journal_kept_each(k->j, "b/", names, all, &k->f), &k->f);
    assert_string_equal(all, "b/1=three b/2= ");
    assert_ok(journal_keep_drop(k->j, "b/1", &k->f), &k->f);
    assert_ok(journal_kept(k->j, k->a, "b/1", &bytes, &size, &k->f), &k->f);
    assert_null(bytes);
}

static void own_salts_follow_from_seeds(void **state)
{
    struct kit *k = *state;
    char dog[IDENT_ROOM];
    uint8_t first[SEED_BYTES], seed[SEED_BYTES], salt[SALT_BYTES], stored[SALT_BYTES];
    bool there = false;
    kit_new(k, "dog", dog);
    assert_ok(journal_begin(k->j, &k->f), &k->f);
    for (int i = 0; i < SALT_BLOCK + 4; i++)
        kit_set(k, dog, "x", "v");
    assert_ok(journal_commit(k->j, &k->f), &k->f);
    for (uint64_t number = 254; number < 260; number++) {
        assert_ok(journal_seed(k->j, k->j->self_uuid, number / SALT_BLOCK, seed, &there, &k->f),
                  &k->f);
        assert_true(there);
        salt_of(seed, number, salt);
        struct rows r = ask(k->j, ENTRIES_FROM,
                            ARGS(num(row_id(1, number - 1)), num(row_id(1, number))), &k->f);
        assert_true(next(&r));
        column_bytes(r.s, 11, stored, SALT_BYTES);
        done(&r);
        assert_memory_equal(salt, stored, SALT_BYTES);
    }
    assert_ok(journal_seed(k->j, k->j->self_uuid, 0, first, &there, &k->f), &k->f);
    assert_memory_not_equal(first, seed, SEED_BYTES); /* nobody can tell the next */
    assert_ok(journal_seed(k->j, k->j->self_uuid, 2, seed, &there, &k->f), &k->f);
    assert_false(there);
}

#define pair_test(name) cmocka_unit_test_setup_teardown(name, pair_setup, pair_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        pair_test(what_was_replaced_is_current_again),
        pair_test(a_withdrawn_record_is_not_taken_for_another),
        pair_test(both_branches_of_a_copied_device_live_on),
        pair_test(whoever_moves_a_branch_makes_the_same_entries),
        pair_test(a_decision_counts_for_what_was_seen),
        pair_test(what_was_replaced_is_found_where_it_went),
        pair_test(a_signature_covers_what_was_seen),
        kit_test(bytes_are_kept_under_names),
        kit_test(own_salts_follow_from_seeds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
