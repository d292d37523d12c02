/* The sealed bundle: each way in which it can be wrong has words of its own, and changes nothing.
 */
#include "share/seal.h"
#include "share/wire.h"
#include "share_kit.h"
#include <sodium.h>

static int two_up(void **state)
{
    struct office *o = office_new(2);
    assert_ok(journal_entity_new(o->m[1].j, "dog", o->dog, &o->f), &o->f);
    office_set(o, 1, o->dog, "dog.name", "Biscuit", NULL, 0);
    office_set(o, 1, o->dog, "dog.breed", "Dachshund", NULL, 0);
    *state = o;
    return 0;
}

/* The base must refuse it in these words, and hold what it held. */
static void refused(struct office *o, const uint8_t *bytes, size_t size, enum fault_kind kind,
                    const char *words)
{
    struct report r;
    uint64_t before = office_entries(o, 0);
    report_init(&r);
    assert_fault(exchange_take(o->m[0].s, bytes, size, NULL, &r, &o->f), &o->f, kind, words);
    assert_int_equal(office_entries(o, 0), before);
    assert_int_equal(r.came, 0);
    report_free(&r);
}

static uint8_t *copy_of(struct office *o, const struct parcel *p, size_t i)
{
    return (uint8_t *)arena_strn(o->a, (const char *)p->bytes[i], p->sizes[i]);
}

static void a_bundle_is_taken_once(void **state)
{
    struct office *o = *state;
    struct report r;
    struct parcel p = office_parcel(o, 1, 0);
    report_init(&r);
    assert_int_equal(p.count, 1);
    assert_ok(exchange_take(o->m[0].s, p.bytes[0], p.sizes[0], NULL, &r, &o->f), &o->f);
    assert_int_equal(r.came, 2);
    assert_string_equal(office_values(o, 0, o->dog, "dog.name"), "Biscuit");
    report_free(&r);
    refused(o, p.bytes[0], p.sizes[0], FAULT_REFUSED, "read before: bundle 1 of laptop 1");
}

static void cut_anywhere(void **state)
{
    struct office *o = *state;
    struct parcel p = office_parcel(o, 1, 0);
    size_t cuts = 0;
    for (size_t n = 0; n < p.sizes[0]; n++, cuts++)
        refused(o, p.bytes[0], n, n < 12 ? FAULT_INPUT : FAULT_DAMAGE,
                n < 12 ? "no bundle of amble" : "it is cut short");
    print_message("%zu cuts refused\n", cuts);
    uint8_t *longer = arena_alloc(o->a, p.sizes[0] + 1);
    memcpy(longer, p.bytes[0], p.sizes[0]);
    refused(o, longer, p.sizes[0] + 1, FAULT_DAMAGE, "longer than it says");
}

static void a_bit_flipped_anywhere(void **state)
{
    struct office *o = *state;
    struct report r;
    struct parcel p = office_parcel(o, 1, 0);
    uint8_t *bytes = copy_of(o, &p, 0);
    size_t tried = 0, passed = 0;
    report_init(&r);
    for (size_t i = 0; i < p.sizes[0]; i++, tried++) {
        bytes[i] ^= (uint8_t)(1 << (i % 8));
        passed += exchange_take(o->m[0].s, bytes, p.sizes[0], NULL, &r, &o->f);
        bytes[i] ^= (uint8_t)(1 << (i % 8));
    }
    print_message("%zu bits flipped: %zu passed\n", tried, passed);
    assert_int_equal(passed, 0);
    assert_int_equal(office_entries(o, 0), 0);
    bytes[p.sizes[0] - 70] ^= 4;
    refused(o, bytes, p.sizes[0], FAULT_DAMAGE, "damaged or changed on its way");
    report_free(&r);
}

static void of_another_practice(void **state)
{
    struct office *o = *state, *other = office_new(1);
    assert_ok(journal_entity_new(other->m[1].j, "dog", other->dog, &other->f), &other->f);
    office_set(other, 1, other->dog, "dog.name", "Rex", NULL, 0);
    struct parcel p = office_parcel(other, 1, 0);
    refused(o, p.bytes[0], p.sizes[0], FAULT_REFUSED, "belongs to another practice");
    void *gone = other;
    office_down(&gone);
}

static void of_a_newer_program(void **state)
{
    struct office *o = *state;
    struct parcel p = office_parcel(o, 1, 0);
    uint8_t *bytes = copy_of(o, &p, 0);
    bytes[12] = 2;
    refused(o, bytes, p.sizes[0], FAULT_REFUSED, "a newer amble made it");
}

static void from_nobody_known(void **state)
{
    struct office *o = *state;
    struct parcel p = office_parcel(o, 1, 0);
    uint8_t *bytes = copy_of(o, &p, 0);
    bytes[12 + 1 + 4 + 1 + 16] ^= 1; /* the author's name */
    refused(o, bytes, p.sizes[0], FAULT_MISSING, "a device that is not enrolled here");
}

static void signed_by_somebody_else(void **state)
{
    struct office *o = *state;
    struct parcel p = office_parcel(o, 1, 0);
    uint8_t *bytes = copy_of(o, &p, 0);
    size_t n = p.sizes[0] - SIGNATURE_BYTES;
    crypto_sign_detached(bytes + n, NULL, bytes, n, o->m[2].s->keys->sign_secret);
    refused(o, bytes, p.sizes[0], FAULT_DAMAGE, "damaged or changed on its way");
}

/* Rightly signed, but its inside was tampered with by the author itself. */
static void pieces_out_of_order(void **state)
{
    struct office *o = *state;
    struct bundle b = {.kind = BUNDLE_ENTRIES, .serial = 9};
    struct text out;
    enum { PIECE = 65536 + 17, PAYLOAD = 3 * 65536 };
    text_init(&out, 1 << 20);
    memcpy(b.author, o->m[1].s->self, UUID_BYTES);
    b.holds = (const uint8_t *)"\0";
    b.holds_size = 1;
    b.payload = arena_alloc(o->a, PAYLOAD);
    b.payload_size = PAYLOAD;
    assert_ok(bundle_seal(&b, &o->m[1].s->devices, o->m[1].s->keys, &out, &o->f), &o->f);
    size_t first = out.len - SIGNATURE_BYTES - 3 * PIECE, n = out.len - SIGNATURE_BYTES;
    uint8_t *bytes = (uint8_t *)out.s, *spare = arena_alloc(o->a, PIECE);
    memcpy(spare, bytes + first, PIECE);
    memcpy(bytes + first, bytes + first + PIECE, PIECE);
    memcpy(bytes + first + PIECE, spare, PIECE);
    crypto_sign_detached(bytes + n, NULL, bytes, n, o->m[1].s->keys->sign_secret);
    refused(o, bytes, out.len, FAULT_DAMAGE, "not in order");
    text_free(&out);
}

static void not_sealed_to_this_device(void **state)
{
    struct office *o = *state;
    struct parcel p = office_parcel(o, 1, 0);
    struct report r;
    office_laptop(o); /* enrolled after the bundle was made */
    report_init(&r);
    assert_fault(exchange_take(o->m[3].s, p.bytes[0], p.sizes[0], NULL, &r, &o->f), &o->f,
                 FAULT_REFUSED, "not sealed to this device");
    /* With the right name and the wrong key. */
    memcpy(o->m[3].s->keys->uuid, o->m[2].s->self, UUID_BYTES);
    assert_fault(exchange_take(o->m[3].s, p.bytes[0], p.sizes[0], NULL, &r, &o->f), &o->f,
                 FAULT_REFUSED, "this device's key does not open it");
    report_free(&r);
}

static void too_large_is_not_looked_at(void **state)
{
    struct office *o = *state;
    struct report r;
    uint8_t few[64] = "amble bundle";
    report_init(&r);
    assert_fault(exchange_take(o->m[0].s, few, (size_t)BUNDLE_MOST + 1, NULL, &r, &o->f), &o->f,
                 FAULT_LIMIT, "larger than 41943040");
    report_free(&r);
}

static void an_old_conversation_is_not_played_again(void **state)
{
    struct office *o = *state;
    struct parcel p = office_parcel(o, 1, 0);
    uint8_t challenge[ANSWER_BYTES] = {7};
    struct report r;
    report_init(&r);
    assert_fault(exchange_take(o->m[0].s, p.bytes[0], p.sizes[0], challenge, &r, &o->f), &o->f,
                 FAULT_REFUSED, "made for another conversation");
    report_free(&r);
}

static void what_came_too_early_comes_later(void **state)
{
    struct office *o = *state;
    struct report r;
    struct parcel first = office_parcel(o, 1, 0);
    struct has_been {
        struct want w;
    } two = {.w.after = 2};
    report_init(&r);
    office_set(o, 1, o->dog, "dog.sex", "female", NULL, 0);
    struct parcel p = {.a = o->a};
    struct sending how = {.send = parcel_add, .of = &p};
    memcpy(two.w.device, o->m[1].s->self, UUID_BYTES);
    office_at(o, 1);
    assert_ok(exchange_give(o->m[1].s, &two.w, 1, &how, NULL, &r, &o->f), &o->f);
    refused(o, p.bytes[0], p.sizes[0], FAULT_MISSING,
            "entries 1 to 2 of laptop 1 have not come yet");
    assert_ok(exchange_take(o->m[0].s, first.bytes[0], first.sizes[0], NULL, &r, &o->f), &o->f);
    assert_ok(exchange_take(o->m[0].s, p.bytes[0], p.sizes[0], NULL, &r, &o->f), &o->f);
    assert_int_equal(r.came, 3);
    report_free(&r);
}

/* The bundles of one device come out of order: what it said last still holds. */
static void what_was_said_last_holds(void **state)
{
    struct office *o = *state;
    struct journal_counts c;
    struct report r;
    char dog[IDENT_ROOM];
    struct parcel first = office_parcel(o, 1, 0), then = {.a = o->a};
    struct sending how = {.always = true, .send = parcel_add, .of = &then};
    report_init(&r);
    assert_ok(journal_entity_new(o->m[0].j, "dog", dog, &o->f), &o->f);
    office_set(o, 0, dog, "dog.name", "Pepper", NULL, 0);
    for (size_t i = 1; i < 3; i++)
        office_deliver(o, 0, i);
    office_at(o, 1);
    assert_ok(exchange_give(o->m[1].s, NULL, 0, &how, NULL, &r, &o->f), &o->f);
    assert_int_equal(then.count, 1);
    for (int i = 0; i < 2; i++) {
        const struct parcel *p = i == 0 ? &then : &first;
        assert_ok(exchange_take(o->m[0].s, p->bytes[0], p->sizes[0], NULL, &r, &o->f), &o->f);
        assert_ok(journal_count(o->m[0].j, &c, &o->f), &o->f);
        assert_int_equal(c.unsent, 0);
    }
    report_free(&r);
}

static void nobody_knows_the_key(void **state)
{
    struct office *o = *state;
    struct parcel p = office_parcel(o, 1, 0);
    struct bundle b;
    static const uint8_t zeros[32];
    enum { RECIPIENT = UUID_BYTES + 32 + 48, START = 24 };
    uint8_t bound[HASH_BYTES], tag, *plain = arena_alloc(o->a, p.sizes[0]);
    crypto_secretstream_xchacha20poly1305_state s;
    assert_ok(bundle_peek(&b, p.bytes[0], p.sizes[0], o->m[0].s->devices.practice, &o->f), &o->f);
    const uint8_t *start = b.recipients + b.recipient_count * RECIPIENT;
    size_t head = (size_t)(start - p.bytes[0]);
    crypto_generichash(bound, sizeof bound, p.bytes[0], head, NULL, 0);
    assert_int_equal(crypto_secretstream_xchacha20poly1305_init_pull(&s, start, zeros), 0);
    assert_int_not_equal(crypto_secretstream_xchacha20poly1305_pull(
                             &s, plain, NULL, &tag, start + START,
                             p.sizes[0] - head - START - SIGNATURE_BYTES, bound, sizeof bound),
                         0);
}

#define two_test(name) cmocka_unit_test_setup_teardown(name, two_up, office_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        two_test(a_bundle_is_taken_once),
        two_test(cut_anywhere),
        two_test(a_bit_flipped_anywhere),
        two_test(of_another_practice),
        two_test(of_a_newer_program),
        two_test(from_nobody_known),
        two_test(signed_by_somebody_else),
        two_test(pieces_out_of_order),
        two_test(not_sealed_to_this_device),
        two_test(too_large_is_not_looked_at),
        two_test(an_old_conversation_is_not_played_again),
        two_test(what_came_too_early_comes_later),
        two_test(what_was_said_last_holds),
        two_test(nobody_knows_the_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
