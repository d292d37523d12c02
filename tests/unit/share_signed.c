/* Signatures among several devices: what a person signed is what that person had seen. */
#include "casebook/casebook.h"
#include "casebook/ids.h"
#include "journal/signed.h"
#include "share_kit.h"

/* A visit that laptop 1 began and laptop 2 knows. */
static int visit_up(void **state)
{
    struct office *o = office_new(2);
    assert_ok(journal_entity_new(o->m[1].j, "visit", o->dog, &o->f), &o->f);
    office_set(o, 1, o->dog, "gait", "paresis", NULL, 0);
    office_deliver(o, 1, 0);
    office_deliver(o, 0, 2);
    *state = o;
    return 0;
}

static void sign(struct office *o, size_t i)
{
    char hash[65];
    assert_ok(journal_sign_hash(o->m[i].j, o->dog, hash, &o->f), &o->f);
    struct edit e = {.kind = ENTRY_SIGN, .entity = o->dog, .item = ID_SIGNED, .value = hash};
    assert_ok(journal_append(o->m[i].j, &e, NULL, &o->f), &o->f);
}

static bool amended(struct office *o, size_t i, const char *item)
{
    struct casebook cb = {.journal = o->m[i].j};
    struct record r;
    assert_ok(record_load(&cb, o->a, o->dog, &r, &o->f), &o->f);
    assert_non_null(record_find(&r, item));
    return record_find(&r, item)->amended;
}

static struct signatures signatures(struct office *o, size_t i)
{
    struct signatures s;
    assert_ok(journal_signatures(o->m[i].j, &s, &o->f), &o->f);
    return s;
}

static const struct entry *sign_of(struct office *o, size_t i)
{
    struct heads h;
    size_t at = 0;
    assert_ok(journal_heads(o->m[i].j, o->a, o->dog, &h, &o->f), &o->f);
    while (at < h.count && h.entries[at].kind != ENTRY_SIGN)
        at++;
    assert_true(at < h.count);
    return &h.entries[at];
}

static bool whole(struct office *o, size_t i)
{
    bool is;
    assert_ok(journal_signed_whole(o->m[i].j, sign_of(o, i), &is, &o->f), &o->f);
    return is;
}

static void all_meet(struct office *o)
{
    for (size_t i = 1; i < 3; i++)
        office_deliver(o, i, 0);
    for (size_t i = 1; i < 3; i++)
        office_deliver(o, 0, i);
}

/* Laptop 2 wrote first by every count; whoever signed at laptop 1 had not seen it all the same. */
static void what_the_signer_had_not_seen_is_not_signed(void **state)
{
    struct office *o = *state;
    office_set(o, 2, o->dog, "skin", "open", NULL, 0);
    for (int i = 0; i < 5; i++)
        office_set(o, 1, o->dog, arena_printf(o->a, "note%d", i), "yes", NULL, 0);
    sign(o, 1);
    all_meet(o);
    for (size_t i = 0; i < 3; i++) {
        assert_true(amended(o, i, "skin"));
        assert_false(amended(o, i, "gait"));
        assert_false(amended(o, i, "note4"));
        assert_false(whole(o, i));
        assert_int_equal(signatures(o, i).fit, 1);
    }
}

static void what_another_device_wrote_and_the_signer_saw_is_signed(void **state)
{
    struct office *o = *state;
    office_set(o, 2, o->dog, "skin", "open", NULL, 0);
    all_meet(o);
    sign(o, 1);
    all_meet(o);
    for (size_t i = 0; i < 3; i++)
        assert_true(whole(o, i) && !amended(o, i, "skin"));
    office_set(o, 2, o->dog, "bladder", "full", NULL, 0);
    all_meet(o);
    for (size_t i = 0; i < 3; i++) {
        assert_false(amended(o, i, "skin"));
        assert_false(whole(o, i));
        assert_true(amended(o, i, "bladder"));
        assert_int_equal(signatures(o, i).fit, 1);
    }
}

/* Struck after all, it leaves standing just what was signed: it came after that none the less. */
static void what_was_struck_unseen_came_after_signing(void **state)
{
    struct office *o = *state;
    struct entry_id skin = office_set(o, 2, o->dog, "skin", "open", NULL, 0);
    struct edit strike = {.kind = ENTRY_ERROR,
                          .entity = o->dog,
                          .item = "skin",
                          .value = "",
                          .reason = "the other dog",
                          .replaces = &skin,
                          .replaces_count = 1};
    for (int i = 0; i < 5; i++)
        office_set(o, 1, o->dog, arena_printf(o->a, "note%d", i), "yes", NULL, 0);
    sign(o, 1);
    all_meet(o);
    assert_ok(journal_append(o->m[2].j, &strike, NULL, &o->f), &o->f);
    all_meet(o);
    for (size_t i = 0; i < 3; i++) {
        struct signed_over over;
        struct heads story;
        assert_false(whole(o, i));
        assert_ok(journal_signed_over(o->m[i].j, o->a, sign_of(o, i), &over, &o->f), &o->f);
        assert_ok(journal_history(o->m[i].j, o->a, o->dog, "skin", &story, &o->f), &o->f);
        assert_int_equal(story.count, 2);
        const char *stands;
        assert_ok(journal_first(o->m[i].j, o->a, o->dog, "skin", &stands, &o->f), &o->f);
        assert_string_equal(stands, "");
        assert_true(over.fits && !signed_covers(&over, story.entries[0].id));
        assert_true(amended(o, i, "skin"));
    }
}

/* It does not fit while some of what was signed is not held. */
static void a_signature_needs_what_it_is_over(void **state)
{
    struct office *o = *state;
    office_set(o, 2, o->dog, "skin", "open", NULL, 0);
    office_deliver(o, 2, 1);
    sign(o, 1);
    office_deliver(o, 1, 0);
    assert_int_equal(signatures(o, 0).fit, 1);
    /* Laptop 2 is retired from the first entry on: what it wrote is taken out again. */
    assert_ok(device_retire(o->m[0].s, o->m[2].s->self, 0, &o->f), &o->f);
    assert_int_equal(signatures(o, 0).fit, 0);
    assert_int_equal(signatures(o, 0).apart, 1);
}

static void a_branch_that_was_moved_keeps_its_signatures(void **state)
{
    struct office *o = *state;
    uint8_t moved[UUID_BYTES];
    office_set(o, 2, o->dog, "skin", "open", NULL, 0);
    office_deliver(o, 2, 1);
    office_set(o, 1, o->dog, "bladder", "full", NULL, 0);
    sign(o, 1);
    office_set(o, 1, o->dog, "later", "yes", NULL, 0);
    assert_ok(journal_branch(o->m[1].j, o->m[1].s->self, 1, moved, &o->f), &o->f);
    assert_int_equal(signatures(o, 1).fit, 1);
    assert_false(amended(o, 1, "gait"));
    assert_false(amended(o, 1, "skin"));
    assert_false(amended(o, 1, "bladder"));
    assert_true(amended(o, 1, "later"));
}

#define T(f) cmocka_unit_test_setup_teardown(f, visit_up, office_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(what_the_signer_had_not_seen_is_not_signed),
        T(what_another_device_wrote_and_the_signer_saw_is_signed),
        T(what_was_struck_unseen_came_after_signing),
        T(a_signature_needs_what_it_is_over),
        T(a_branch_that_was_moved_keeps_its_signatures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
