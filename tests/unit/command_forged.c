/* A bundle forged behind the signature: a colleague's laptop is enrolled, and its program is
 * hostile or broken. What it says is properly packed, sealed and signed, and still no such entry
 * could have been written. Taken at the base by the shell: refused whole, in words that say what is
 * wrong and who made it, with the record as it was; or kept as given, and harmless at every exit.
 */
#include "base/arena.h"
#include "command_office.h"
#include "journal/travel.h"
#include "share/exchange.h"
#include "share/pack_inside.h"
#include "share/wire.h"
#include <zlib.h>

enum { LONG = 10000, TOO_LONG = 1000000 };

/* What the hostile program says in one entry of the visit. NULL or 0: what would be right. */
struct forged {
    const char *item, *value, *reason, *kind;
    size_t size; /* of value, when it holds a zero byte */
    const uint8_t *author;
    bool nobody; /* its author is none of those the pack names */
    int64_t at;
    uint64_t order; /* its place among all entries of the practice */
};

struct forger {
    struct journal *j;
    struct share *s;
    struct fault f;
    uint8_t visit[UUID_BYTES];
    uint64_t have;
    uint8_t hash[HASH_BYTES];
};

#define fine(call, f)                                                                              \
    do {                                                                                           \
        if (!(call))                                                                               \
            fail_msg("%s: %s", #call, (f)->text);                                                  \
    } while (0)

static bool note_visit(void *of, const struct far_entry *e)
{
    struct forger *g = of;
    if (strcmp(e->entity_kind, "visit") == 0)
        memcpy(g->visit, e->entity, UUID_BYTES);
    g->have = e->id.number;
    memcpy(g->hash, e->hash, HASH_BYTES);
    return true;
}

/* ---- the pack, as share/pack.h says, by hand: the program's own packer makes no such thing -----
 */

static void put_entry(struct text *streams, struct far_entry *e, const struct forged *w, size_t at)
{
    size_t size = w->size > 0 ? w->size : strlen(e->value);
    put_fixed(&streams[STREAM_HEADS],
              ENTRY_SET | HEAD_SALT | (e->reason[0] != '\0' ? HEAD_REASON : 0), 1);
    put_signed(&streams[STREAM_RECORDS], at == 0 ? 0 : 1);
    put_varint(&streams[STREAM_ITEMS], 2 * at + 1);
    put_varint(&streams[STREAM_AUTHORS], w->nobody ? 99 : e->has_author ? 2 : 0);
    put_signed(&streams[STREAM_LAMPORTS], at == 0 ? (int64_t)e->lamport : 1);
    put_bytes(&streams[STREAM_TEXTS], e->value, size);
    put_fixed(&streams[STREAM_TEXTS], 0, 1);
    if (e->reason[0] != '\0')
        put_bytes(&streams[STREAM_TEXTS], e->reason, strlen(e->reason) + 1);
    put_bytes(&streams[STREAM_SALTS], e->salt, SALT_BYTES);
}

static void put_tables(struct text *raw, const struct forger *g, const struct forged *all,
                       size_t count)
{
    const uint8_t *author = all[count - 1].author ? all[count - 1].author : g->visit;
    put_fixed(raw, PACK_VERSION, 1);
    put_varint(raw, 2);
    put_bytes(raw, g->s->self, UUID_BYTES);
    put_bytes(raw, author, UUID_BYTES);
    put_varint(raw, 2 * count);
    for (size_t i = 0; i < count; i++) {
        const char *kind = all[i].kind ? all[i].kind : "visit";
        put_bytes(raw, kind, strlen(kind) + 1);
        put_bytes(raw, all[i].item, strlen(all[i].item) + 1);
    }
    put_varint(raw, count);
    for (size_t i = 0; i < count; i++) {
        put_bytes(raw, g->visit, UUID_BYTES);
        put_varint(raw, 2 * i);
    }
}

static void put_pack(struct text *raw, struct forger *g, const struct forged *all, size_t count)
{
    struct text streams[STREAM_COUNT];
    uint8_t hash[HASH_BYTES];
    int64_t time = 0;
    put_tables(raw, g, all, count);
    for (int i = 0; i < STREAM_COUNT; i++)
        text_init(&streams[i], BUNDLE_MOST);
    memcpy(hash, g->hash, HASH_BYTES);
    for (size_t i = 0; i < count; i++) {
        const struct forged *w = &all[i];
        struct far_entry e = {.id.number = g->have + 1 + i,
                              .kind = ENTRY_SET,
                              .entity_kind = w->kind ? w->kind : "visit",
                              .item = w->item,
                              .value = w->value,
                              .reason = w->reason ? w->reason : "",
                              .has_author = w->author != NULL,
                              .claimed_at = w->at,
                              .lamport = w->order ? w->order : 1000 + i};
        memcpy(e.id.device, g->s->self, UUID_BYTES);
        memcpy(e.entity, g->visit, UUID_BYTES);
        if (w->author != NULL)
            memcpy(e.author, w->author, UUID_BYTES);
        put_entry(streams, &e, w, i);
        put_signed(&streams[STREAM_TIMES], (int64_t)((uint64_t)w->at - (uint64_t)time));
        time = w->at;
        chain_hash(&e, hash, hash);
    }
    put_varint(raw, 1);
    put_varint(raw, 0);
    put_varint(raw, g->have + 1);
    put_varint(raw, count);
    put_bytes(raw, g->hash, HASH_BYTES);
    put_bytes(raw, hash, HASH_BYTES);
    put_varint(raw, 0);
    for (int i = 0; i < STREAM_COUNT; i++) {
        put_varint(raw, streams[i].len);
        put_bytes(raw, streams[i].s, streams[i].len);
        text_free(&streams[i]);
    }
}

static void put_deflated(struct text *out, const struct text *raw)
{
    uLongf size = compressBound(raw->len);
    uint8_t *bytes = malloc(size);
    assert_non_null(bytes);
    assert_int_equal(compress2(bytes, &size, (const Bytef *)raw->s, raw->len, 6), Z_OK);
    put_fixed(out, raw->len, 4);
    put_bytes(out, bytes, size);
    free(bytes);
}

/* ---- the bundle ------------------------------------------------------------------------------ */

static const char *stick(void)
{
    static char path[120];
    snprintf(path, sizeof path, "%s/../stick", folder);
    return path;
}

static void put_bundle(struct forger *g, const struct text *payload)
{
    char path[200];
    struct text bytes;
    struct bundle b = {.kind = BUNDLE_ENTRIES,
                       .holds = (const uint8_t *)"",
                       .holds_size = 1,
                       .payload = (const uint8_t *)payload->s,
                       .payload_size = payload->len};
    text_init(&bytes, BUNDLE_MOST);
    memcpy(b.author, g->s->self, UUID_BYTES);
    fine(exchange_serial(g->s, &b.serial, &g->f), &g->f);
    fine(bundle_seal(&b, &g->s->devices, g->s->keys, &bytes, &g->f), &g->f);
    snprintf(path, sizeof path, "%s/amble/forged.bundle", stick());
    FILE *file = fopen(path, "wbe");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes.s, 1, bytes.len, file), bytes.len);
    assert_int_equal(fclose(file), 0);
    text_free(&bytes);
}

/* At the laptop: entries that go on from its last one, on the stick. */
static void forge(const struct forged *all, size_t count)
{
    struct forger g = {0};
    struct text raw, payload;
    sit_at("laptop");
    text_init(&raw, BUNDLE_MOST);
    text_init(&payload, BUNDLE_MOST);
    fine(journal_open(&g.j, in_folder("data"), JOURNAL_WRITE, &g.f), &g.f);
    fine(share_open(&g.s, g.j, &g.f), &g.f);
    fine(journal_entries(g.j, g.s->self, 0, note_visit, &g, &g.f), &g.f);
    put_varint(&payload, 0); /* of what it holds itself it says nothing */
    put_pack(&raw, &g, all, count);
    put_deflated(&payload, &raw);
    put_bundle(&g, &payload);
    text_free(&raw);
    text_free(&payload);
    share_close(g.s);
    journal_close(g.j);
    sit_at("base");
}

/* ---- at the base ----------------------------------------------------------------------------- */

/* A visit from the laptop is at the base already, and what comes now goes on from there. */
static int begin_both(void **state)
{
    assert_int_equal(begin(state), 0);
    enrol();
    done(amble("practitioner JB Jo Brandt\ncaregiver Nora Lind\ncaregiver.phone = 01632 960133\n"
               "dog Juniper\nvisit today 10:00\nwithers_height = 22.8, 22.8\n"
               "hip_width = 13.1, 13.2\n",
               "enter", NULL));
    exchange();
    sit_at("base");
    exchange();
    return 0;
}

/* Every entry counted, and every one read again. */
static void record_stands(char out[2000])
{
    done(amble("", "check", NULL));
    snprintf(out, 1000, "%s", last.out);
    done(amble("", "verify", NULL));
    snprintf(out + strlen(out), 1000, "%s", last.out);
}

static const char *long_text(size_t n)
{
    static char s[TOO_LONG + 1];
    memset(s, 'x', TOO_LONG);
    return s + TOO_LONG - n;
}

/* One that is right stands before each: it is not taken either. */
static void refused_whole_with_the_record_unchanged(void **state)
{
    const struct {
        struct forged w;
        const char *said;
    } cases[] = {
        {{.item = "story", .value = "a\0b", .size = 3}, "the entries in it make no sense"},
        {{.item = "story", .value = "red \xff\xfe"}, "the value is not UTF-8 text (byte 5)"},
        {{.item = "story", .value = "\xc0\xaf"}, "the value is not UTF-8 text (byte 1)"},
        {{.item = "story", .value = "a\xed\xa0\x80"}, "the value is not UTF-8 text (byte 2)"},
        {{.item = "story", .value = "cut \xe2\x82"}, "the value is not UTF-8 text (byte 5)"},
        {{.item = "story", .value = "fine", .reason = "no \xff"},
         "the reason is not UTF-8 text (byte 4)"},
        {{.item = "story", .value = "fine", .reason = long_text(LONG)},
         "the reason is too long: 10000 bytes, at most 4096"},
        {{.item = "story", .value = "fine", .nobody = true}, "the entries in it make no sense"},
        {{.item = "story\xff", .value = "fine"}, "the item is no id"},
        {{.item = "red \x1b[2J", .value = "fine"}, "the item is no id"},
        {{.item = "../../.ssh/authorized_keys", .value = "fine"}, "the item is no id"},
        {{.item = "", .value = "fine"}, "the item is no id"},
        {{.item = "story", .value = "fine", .kind = "visit\xe2\x80\xae"},
         "the kind of record is no id"},
        {{.item = "story", .value = long_text(TOO_LONG)},
         "the value is too long: 1000000 bytes, at most 65536"},
    };
    char before[2000], after[2000];
    (void)state;
    record_stands(before);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct forged both[2] = {{.item = "goals", .value = "to walk to the gate"}, cases[i].w};
        forge(both, 2);
        done(amble("", "sync", stick(), NULL));
        only_text("sync", last.out);
        has(last.out, cases[i].said);
        has(last.out, "0 entries came");
        has(last.out, "nothing was taken of what Jo's laptop made (update amble there): ");
        record_stands(after);
        assert_string_equal(after, before);
    }
}

static const uint8_t no_text[UUID_BYTES] = {0xFF, 0xFE, 0xC0, 0xAF, 0xED, 0xA0, 0x80, 0x1B,
                                            '[',  '2',  'J',  0,    0xFF, 0xFF, 0x9B, 0x07};

/* What is text, a number or a name is kept, whatever it says; then it is shown like any other. */
static void kept_as_given_and_harmless(void **state)
{
    static const char acts[] = "red \x1b[2J\x1b]0;owned\x07 \xc2\x9b"
                               "5m \xe2\x80\xae"
                               "desrever \xe2\x81\xa6 \x7f";
    const struct {
        struct forged w;
        const char *told; /* by its history */
    } cases[] = {
        {{.item = "story", .value = acts, .reason = acts}, "red <U+001B>[2J"},
        {{.item = "story", .value = long_text(LONG)}, "xxx"},
        {{.item = "story", .value = "by nobody", .author = no_text}, "by nobody"},
        {{.item = "story", .value = "late", .at = INT64_MAX}, "9999-12-3"},
        {{.item = "story", .value = "soon", .at = INT64_C(1) << 60}, "9999-12-3"},
        {{.item = "story", .value = "early", .at = INT64_MIN}, "0001-01-0"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        if (i > 0) {
            assert_int_equal(end_both(state), 0);
            assert_int_equal(begin_both(state), 0);
        }
        forge(&cases[i].w, 1);
        done(amble("", "sync", stick(), NULL));
        only_text("sync", last.out);
        has(last.out, "1 entry came");
        is_kept(cases[i].w.value);
        leaves_safely();
        done(amble("", "show", "Juniper", "--history", "story", NULL));
        has(last.out, cases[i].told);
        done(amble("dog Juniper\ndog.colour = red\n", "enter", NULL)); /* the base goes on */
        done(amble("", "verify", NULL));
    }
}

/* Text where the program itself would have written a number, a day, a name or JSON. */
static void what_is_no_value_harms_no_exit(void **state)
{
    static const struct forged senseless[] = {
        {.item = "story", .value = "here"},
        {.item = "visit.day", .value = "99999-99-99"},
        {.item = "withers_height.1", .value = "1e999 mm"},
        {.item = "hip_width.1", .value = "-nan mm"},
        {.item = "support", .value = "\x1b[2J"},
        {.item = "accessories", .value = "none none  \xe2\x80\xae ,,"},
        {.item = "fit.axle", .value = "inf mm"},
        {.item = "fit.track", .value = "1e308 mm"},
        {.item = "fit.hind_later", .value = "-1e18 %"},
        {.item = "fit.frame", .value = "../../frame"},
        {.item = "build.sheet", .value = "{\"parts\": [[[[{"},
        {.item = "photo.sha256", .value = "../../../etc/passwd"},
        {.item = "photo.bytes", .value = "18446744073709551616"},
        {.item = "handout.given", .value = "\n\n\n"},
        {.item = "record.signed", .value = "no hash"},
        {.item = "visit.call", .value = "no uuid"},
    };
    (void)state;
    forge(senseless, sizeof senseless / sizeof *senseless);
    done(amble("", "sync", stick(), NULL));
    has(last.out, "16 entries came");
    is_kept("here");
    leaves_safely();
}

/* It is a number like any other, so it is taken; then the way out is told, and it leads out. */
static void an_entry_after_which_none_can_come_is_named(void **state)
{
    const struct forged last_of_all = {
        .item = "story", .value = "the end", .order = (UINT64_C(1) << 40) - 1};
    (void)state;
    forge(&last_of_all, 1);
    done(amble("", "sync", stick(), NULL));
    assert_int_equal(amble("dog Juniper\ndog.colour = red\n", "enter", NULL), COMMAND_FAILED);
    has(last.err, "entry 14 of \"Jo's laptop\" leaves no number for another: at the base, amble "
                  "device retire \"Jo's laptop\" --after 13");
    done(amble("", "device", "retire", "Jo's laptop", "--after", "13", NULL));
    done(amble("dog Juniper\ndog.colour = red\n", "enter", NULL));
    done(amble("", "verify", NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(refused_whole_with_the_record_unchanged, begin_both,
                                        end_both),
        cmocka_unit_test_setup_teardown(kept_as_given_and_harmless, begin_both, end_both),
        cmocka_unit_test_setup_teardown(an_entry_after_which_none_can_come_is_named, begin_both,
                                        end_both),
        cmocka_unit_test_setup_teardown(what_is_no_value_harms_no_exit, begin_both, end_both),
    };
    return cmocka_run_group_tests_name("forged", tests, NULL, NULL);
}
