/* Entries in a pack: all that goes in comes out, and what is bent is refused. */
#include "share/pack.h"
#include "share/wire.h"
#include "share_kit.h"

struct seen {
    struct office *o;
    const struct far_entry *entries;
    size_t count;
    struct arena *a;
    size_t room;
};

static void copy_entry(struct seen *s, const struct far_entry *e)
{
    struct far_entry *all =
        arena_grow(s->a, (void *)(uintptr_t)s->entries, s->count, &s->room, sizeof *all);
    struct far_entry *x = &all[s->count++];
    struct far_edge *edges = arena_array(s->a, e->replaces_count, sizeof *edges);
    if (e->replaces_count > 0)
        memcpy(edges, e->replaces, e->replaces_count * sizeof *edges);
    *x = *e;
    x->after = NULL; /* it lives during the call */
    x->replaces = edges;
    x->entity_kind = arena_str(s->a, e->entity_kind);
    x->item = arena_str(s->a, e->item);
    x->value = e->value ? arena_str(s->a, e->value) : NULL;
    x->reason = arena_str(s->a, e->reason);
    s->entries = all;
}

static bool see(void *of, const struct far_entry *e)
{
    copy_entry(of, e);
    return true;
}

static bool see_run(void *of, size_t run, const struct far_entry *e)
{
    (void)run;
    copy_entry(of, e);
    return true;
}

static void write_much(struct office *o)
{
    static const char author[] = "5f0a4c4e-8b60-4d3a-9d8b-111213141516";
    struct entry_id id = {0}, two[2];
    char value[40];
    assert_ok(journal_entity_new(o->m[0].j, "dog", o->dog, &o->f), &o->f);
    for (int i = 0; i < 600; i++) {
        snprintf(value, sizeof value, "%d.%d mm \xc3\xa9", i * 7 % 300, i % 10);
        if (i % 50 == 0)
            assert_int_equal(
                setenv("AMBLE_NOW", i % 100 ? "1970-01-02T00:00" : "2099-01-01T00:00", 1), 0);
        struct edit e = {.kind = i % 90 == 89 ? ENTRY_ERROR : ENTRY_SET,
                         .entity = o->dog,
                         .item = i % 3 ? "withers_height.1" : "a.newer.item",
                         .value = i % 90 == 89 ? "" : value,
                         .author = i % 7 < 4 ? author : "",
                         .reason = i % 90 == 89 ? "slip of the hand" : "",
                         .replaces = i % 3 == 2 ? &id : NULL,
                         .replaces_count = i % 3 == 2};
        assert_ok(journal_append(o->m[0].j, &e, i % 3 == 1 ? &id : &two[0], &o->f), &o->f);
    }
    unsetenv("AMBLE_NOW");
}

static int much_up(void **state)
{
    struct office *o = office_new(1);
    write_much(o);
    *state = o;
    return 0;
}

static struct text packed(struct office *o, uint64_t after, uint64_t until, uint64_t *reached)
{
    struct packer *p = packer_new(o->m[0].j);
    struct text out;
    text_init(&out, 1 << 24);
    assert_ok(packer_add(p, o->m[0].s->self, after, until, reached, &o->f), &o->f);
    assert_ok(packer_done(p, &out, &o->f), &o->f);
    packer_free(p);
    return out;
}

static void all_that_goes_in_comes_out(void **state)
{
    struct office *o = *state;
    uint64_t reached = 0;
    struct text bytes = packed(o, 100, 600, &reached);
    struct seen in = {.o = o, .a = o->a}, out = {.o = o, .a = o->a};
    struct pack *p;
    size_t runs;
    assert_int_equal(reached, 600);
    assert_ok(journal_entries(o->m[0].j, o->m[0].s->self, 100, see, &in, &o->f), &o->f);
    assert_ok(pack_open(&p, (const uint8_t *)bytes.s, bytes.len, o->a, &o->f), &o->f);
    const struct run *run = pack_runs(p, &runs);
    assert_int_equal(runs, 1);
    assert_int_equal(run->first, 101);
    assert_int_equal(run->count, 500);
    assert_ok(pack_each(p, see_run, &out, &o->f), &o->f);
    assert_int_equal(in.count, 500);
    assert_int_equal(out.count, 500);
    for (size_t i = 0; i < 500; i++) {
        const struct far_entry *x = &in.entries[i], *y = &out.entries[i];
        assert_memory_equal(&x->id, &y->id, sizeof x->id);
        assert_int_equal(x->kind, y->kind);
        assert_memory_equal(x->entity, y->entity, UUID_BYTES);
        assert_string_equal(x->entity_kind, y->entity_kind);
        assert_string_equal(x->item, y->item);
        assert_string_equal(x->value, y->value);
        assert_string_equal(x->reason, y->reason);
        assert_int_equal(x->has_author, y->has_author);
        assert_memory_equal(x->author, y->author, UUID_BYTES);
        assert_int_equal(x->claimed_at, y->claimed_at);
        assert_int_equal(x->lamport, y->lamport);
        assert_int_equal(x->replaces_count, y->replaces_count);
        assert_memory_equal(x->salt, y->salt, SALT_BYTES);
        assert_memory_equal(x->hash, y->hash, HASH_BYTES);
        for (size_t k = 0; k < x->replaces_count; k++)
            assert_memory_equal(&x->replaces[k], &y->replaces[k], sizeof *x->replaces);
    }
    text_free(&bytes);
}

/* Version 1, as it was made: where entries stood that were replaced, not what was seen there. */
static void what_an_older_amble_packed_is_read(void **state)
{
    struct office *o = *state;
    struct seen out = {.o = o, .a = o->a};
    struct pack *p;
    uint8_t bytes[1000];
    size_t edges = 0;
    FILE *file = fopen("tests/fuzz/corpus/share_pack/whole", "rbe");
    assert_non_null(file);
    size_t size = fread(bytes, 1, sizeof bytes, file);
    assert_int_equal(fclose(file), 0);
    assert_ok(pack_open(&p, bytes + 1, size - 1, o->a, &o->f), &o->f);
    assert_ok(pack_each(p, see_run, &out, &o->f), &o->f);
    assert_int_equal(out.count, 16);
    for (size_t i = 0; i < out.count; i++) {
        enum applied how;
        assert_ok(journal_apply(o->m[0].j, &out.entries[i], &how, &o->f), &o->f);
        for (size_t k = 0; k < out.entries[i].replaces_count; k++, edges++)
            assert_true(out.entries[i].replaces[k].tag == 0);
    }
    assert_int_equal(edges, 4);
}

/* Neither hashes nor salts travel: 48 bytes an entry would not deflate. */
static void little_travels(void **state)
{
    struct office *o = *state;
    uint64_t reached = 0;
    struct text bytes = packed(o, 0, 600, &reached);
    print_message("600 entries in %zu bytes\n", bytes.len);
    assert_in_range(bytes.len, 1, 600 * 12);
    text_free(&bytes);
}

static void nothing_bent_passes(void **state)
{
    struct office *o = *state;
    uint64_t reached = 0;
    struct text bytes = packed(o, 0, 200, &reached);
    size_t passed = 0, same = 0, tried = 0;
    uint8_t last[HASH_BYTES];
    bool there = false;
    assert_ok(journal_hash(o->m[0].j, o->m[0].s->self, 200, last, &there, &o->f), &o->f);
    for (size_t i = 0; i < bytes.len; i++) {
        struct arena *a = arena_new();
        struct seen out = {.o = o, .a = a};
        struct pack *p;
        bytes.s[i] = (char)(bytes.s[i] ^ (1 << (i % 8)));
        if (pack_open(&p, (const uint8_t *)bytes.s, bytes.len, a, &o->f))
            passed += pack_each(p, see_run, &out, &o->f);
        /* zlib leaves a few bits that mean nothing. */
        same += out.count == 200 && memcmp(out.entries[199].hash, last, HASH_BYTES) == 0;
        assert_false(pack_open(&p, (const uint8_t *)bytes.s, i, a, &o->f));
        bytes.s[i] = (char)(bytes.s[i] ^ (1 << (i % 8)));
        tried++;
        arena_free(a);
    }
    print_message("%zu bits flipped and %zu cuts: %zu passed with other content\n", tried, tried,
                  passed - same);
    assert_int_equal(passed, same);
    assert_in_range(same, 0, 8);
    text_free(&bytes);
}

static void a_bomb_is_not_unpacked(void **state)
{
    struct office *o = *state;
    uint64_t reached = 0;
    struct text bytes = packed(o, 0, 10, &reached);
    struct pack *p;
    bytes.s[3] = 0x7f; /* 2 GB, it says */
    assert_fault(pack_open(&p, (const uint8_t *)bytes.s, bytes.len, o->a, &o->f), &o->f,
                 FAULT_LIMIT, "more than 33554432");
    text_free(&bytes);
}

static void a_packer_has_an_end(void **state)
{
    struct office *o = *state;
    uint64_t reached = 0;
    struct text bytes = packed(o, 600, 700, &reached);
    assert_int_equal(reached, 600); /* there are no more */
    text_free(&bytes);
    bytes = packed(o, 10, 20, &reached);
    assert_int_equal(reached, 20);
    text_free(&bytes);
}

static void numbers_of_any_size(void **state)
{
    static const int64_t some[] = {0, 1, -1, 63, -64, 64, 300, -300, INT64_MAX, INT64_MIN};
    struct text out;
    (void)state;
    text_init(&out, 1000);
    for (size_t i = 0; i < 10; i++) {
        put_signed(&out, some[i]);
        put_varint(&out, (uint64_t)some[i]);
        put_fixed(&out, (uint64_t)some[i], 8);
    }
    struct reader r = reader_of(out.s, out.len);
    for (size_t i = 0; i < 10; i++) {
        assert_true(take_signed(&r) == some[i]);
        assert_true(take_varint(&r) == (uint64_t)some[i]);
        assert_true(take_fixed(&r, 8) == (uint64_t)some[i]);
    }
    assert_false(r.bad);
    assert_int_equal(r.left, 0);
    assert_int_equal(take_varint(&r), 0);
    assert_true(r.bad);
    text_free(&out);
    r = reader_of("\xff\xff\xff\xff\xff\xff\xff\xff\xff\x02", 10); /* 65 bits */
    take_varint(&r);
    assert_true(r.bad);
    r = reader_of("no end", 6);
    assert_string_equal(take_text(&r), "");
    assert_true(r.bad);
    r = reader_of("\x7f", 1);
    assert_int_equal(take_count(&r, 1, 1000), 0);
    assert_true(r.bad);
}

#define much_test(name) cmocka_unit_test_setup_teardown(name, much_up, office_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        much_test(all_that_goes_in_comes_out),
        much_test(what_an_older_amble_packed_is_read),
        much_test(little_travels),
        much_test(nothing_bent_passes),
        much_test(a_bomb_is_not_unpacked),
        much_test(a_packer_has_an_end),
        cmocka_unit_test(numbers_of_any_size),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
