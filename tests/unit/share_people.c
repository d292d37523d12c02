/* Enrolment, identities and retirement: who takes part, and what becomes of copies. */
#include "share/files.h"
#include "share_kit.h"

#include "flushes.h"

static int two_up(void **state)
{
    struct office *o = office_new(2);
    assert_ok(journal_entity_new(o->m[1].j, "dog", o->dog, &o->f), &o->f);
    office_set(o, 1, o->dog, "dog.name", "Biscuit", NULL, 0);
    office_deliver(o, 1, 0);
    office_deliver(o, 0, 2);
    *state = o;
    return 0;
}

/* ---- enrolment ------------------------------------------------------------------------------- */

static struct text request_of(struct office *o, size_t i, const char *name,
                              char print[FINGERPRINT_ROOM])
{
    struct text t;
    text_init(&t, 10000);
    office_at(o, i);
    assert_ok(request_make(o->m[i].j, name, &t, print, &o->f), &o->f);
    return t;
}

static void a_changed_request_is_refused(void **state)
{
    struct office *o = *state;
    char print[FINGERPRINT_ROOM], other[FINGERPRINT_ROOM];
    struct text t = request_of(o, 1, "laptop 1", print);
    struct device d;
    size_t refused = 0;
    for (size_t i = 0; i < t.len; i++) {
        char keep = t.s[i];
        t.s[i] = keep == '3' ? '4' : '3';
        refused += !request_read(t.s, o->a, &d, other, &o->f);
        t.s[i] = keep;
    }
    assert_int_equal(refused, t.len);
    assert_ok(request_read(t.s, o->a, &d, other, &o->f), &o->f);
    assert_string_equal(print, other);
    assert_string_equal(d.name, "laptop 1");
    text_free(&t);
    assert_fault(request_read("hello", o->a, &d, other, &o->f), &o->f, FAULT_INPUT,
                 "no request of a device");
}

static void letters_survive_an_editor(void **state)
{
    struct office *o = *state;
    char print[FINGERPRINT_ROOM];
    struct text t = request_of(o, 1, "laptop 1", print), dos;
    struct device d;
    text_init(&dos, 20000);
    for (const char *s = t.s; *s != '\0'; s++)
        text_addf(&dos, "%s%c", *s == '\n' ? "\r" : "", *s);
    assert_ok(request_read(dos.s, o->a, &d, print, &o->f), &o->f);
    text_free(&t);
    text_free(&dos);
}

static void a_reply_is_for_one_device_and_one_practice(void **state)
{
    struct office *o = *state, *other = office_new(1);
    char print[FINGERPRINT_ROOM];
    struct text t = request_of(o, 1, "stranger", print), reply;
    struct device d;
    struct devices all;
    const uint8_t *bytes;
    size_t size;
    text_init(&reply, 100000);
    assert_ok(request_read(t.s, o->a, &d, print, &o->f), &o->f);
    assert_ok(request_admit(other->m[0].s, &d, false, &reply, &o->f), &o->f);
    assert_fault(reply_read(o->m[2].j, reply.s, o->a, &all, &bytes, &size, print, &o->f), &o->f,
                 FAULT_REFUSED, "for another device");
    assert_ok(reply_read(o->m[1].j, reply.s, o->a, &all, &bytes, &size, print, &o->f), &o->f);
    assert_fault(reply_join(o->m[1].j, &all, bytes, size, &o->f), &o->f, FAULT_REFUSED,
                 "belongs to another practice already");
    reply.s[reply.len - 20] = reply.s[reply.len - 20] == 'A' ? 'B' : 'A';
    assert_fault(reply_read(o->m[1].j, reply.s, o->a, &all, &bytes, &size, print, &o->f), &o->f,
                 FAULT_REFUSED, "does not open the reply");
    text_free(&t);
    text_free(&reply);
    void *gone = other;
    office_down(&gone);
}

static void keys_are_not_for_others_to_read(void **state)
{
    struct office *o = *state;
    struct keys *k = NULL;
    const char *path = arena_printf(o->a, "%s/keys/device.key", o->m[1].folder);
    struct stat st;
    assert_int_equal(stat(path, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0600);
    assert_int_equal(chmod(path, 0644), 0);
    assert_fault(keys_open(&k, o->m[1].folder, &o->f), &o->f, FAULT_REFUSED, "read by others");
    assert_int_equal(chmod(path, 0600), 0);
    assert_int_equal(truncate(path, 50), 0);
    assert_fault(keys_open(&k, o->m[1].folder, &o->f), &o->f, FAULT_DAMAGE, "damaged");
}

/* Bundles, keys and marks are there after a power cut. */
static void what_is_put_into_a_folder_is_flushed(void **state)
{
    struct office *o = *state;
    const char *whole = arena_printf(o->a, "%s/bundle", o->folder);
    flushes_forget();
    assert_ok(file_put(o->folder, "bundle", "x", 1, &o->f), &o->f);
    assert_flushed(arena_printf(o->a, "%s.part", whole), whole);
}

/* Others write into a shared folder too: what they put in the way leads nowhere. */
static void a_link_in_a_shared_folder_leads_nowhere(void **state)
{
    struct office *o = *state;
    const uint8_t *bytes;
    size_t size;
    const char *mine = arena_printf(o->a, "%s/mine", o->folder);
    assert_ok(file_put(o->folder, "mine", "of value", 8, &o->f), &o->f);
    assert_int_equal(symlink("mine", arena_printf(o->a, "%s/bundle.part", o->folder)), 0);
    (void)file_put(o->folder, "bundle", "x", 1, &o->f);
    assert_ok(file_get(mine, 100, o->a, &bytes, &size, &o->f), &o->f);
    assert_int_equal(size, 8);
    assert_memory_equal(bytes, "of value", 8);
}

static void only_the_base_changes_the_list(void **state)
{
    struct office *o = *state;
    assert_fault(device_retire(o->m[1].s, o->m[2].s->self, 0, &o->f), &o->f, FAULT_REFUSED,
                 "at the base only");
    assert_fault(device_retire(o->m[0].s, o->m[0].s->self, 0, &o->f), &o->f, FAULT_REFUSED,
                 "cannot retire itself");
    assert_ok(device_rename(o->m[0].s, o->m[1].s->self, "Mara's laptop", &o->f), &o->f);
    office_list(o);
    assert_string_equal(share_name(o->m[2].s, o->m[1].s->self), "Mara's laptop");
}

/* ---- retirement ------------------------------------------------------------------------------ */

struct held {
    uint64_t entries;
};
static bool count(void *of, const uint8_t device[UUID_BYTES], uint64_t first, uint64_t n,
                  const char *why)
{
    struct held *h = of;
    (void)device;
    (void)first;
    assert_string_equal(why, "retired");
    h->entries += n;
    return true;
}

static void what_a_retired_device_wrote_later_is_held_back_everywhere(void **state)
{
    struct office *o = *state;
    struct held h = {0};
    struct heads heads;
    assert_ok(journal_heads(o->m[1].j, o->a, o->dog, &heads, &o->f), &o->f);
    office_set(o, 1, o->dog, "dog.name", "Hacked", &heads.entries[0].id, 1);
    office_deliver(o, 1, 2); /* before anybody knew */
    assert_string_equal(office_values(o, 2, o->dog, "dog.name"), "Hacked");
    assert_ok(device_retire(o->m[0].s, o->m[1].s->self, 1, &o->f), &o->f);
    office_deliver(o, 1, 0);
    assert_string_equal(office_values(o, 0, o->dog, "dog.name"), "Biscuit");
    office_list(o);
    assert_string_equal(office_values(o, 2, o->dog, "dog.name"), "Biscuit");
    for (size_t i = 0; i < 3; i += 2) {
        h.entries = 0;
        assert_ok(held_each(o->m[i].j, count, &h, &o->f), &o->f);
        assert_int_equal(h.entries, 1);
    }
    office_deliver(o, 0, 2);
    assert_int_equal(office_entries(o, 0), office_entries(o, 2));
    /* Nobody seals to it any more, and it takes no part. */
    struct parcel p = office_parcel(o, 0, 1);
    struct bundle b;
    assert_ok(bundle_peek(&b, p.bytes[0], p.sizes[0], o->m[0].s->devices.practice, &o->f), &o->f);
    assert_false(bundle_sealed_to(&b, o->m[1].s->self));
    office_close(o, 1);
    office_at(o, 1);
    assert_ok(journal_open(&o->m[1].j, o->m[1].folder, JOURNAL_WRITE, &o->f), &o->f);
    assert_fault(share_open(&o->m[1].s, o->m[1].j, &o->f), &o->f, FAULT_REFUSED, "has retired");
}

/* Laptop 1 wrote twice after the base retired it; both are held back at the base and at laptop 2.
 */
static void retire_and_hold(struct office *o)
{
    struct heads heads;
    assert_ok(device_retire(o->m[0].s, o->m[1].s->self, 1, &o->f), &o->f);
    assert_ok(journal_heads(o->m[1].j, o->a, o->dog, &heads, &o->f), &o->f);
    office_set(o, 1, o->dog, "dog.name", "Waffles", &heads.entries[0].id, 1);
    office_set(o, 1, o->dog, "dog.sex", "female", NULL, 0);
    office_deliver(o, 1, 0);
    office_deliver(o, 1, 2);
    assert_ok(device_rename(o->m[0].s, o->m[2].s->self, "laptop two", &o->f), &o->f);
    const uint8_t *bytes;
    size_t size;
    bool newer;
    assert_ok(journal_kept(o->m[0].j, o->a, "devices", &bytes, &size, &o->f), &o->f);
    assert_ok(share_devices(o->m[2].s, bytes, size, &newer, &o->f), &o->f);
    for (size_t i = 0; i < 3; i += 2)
        assert_string_equal(office_values(o, i, o->dog, "dog.name"), "Biscuit");
}

static uint64_t held_back(struct office *o, size_t i)
{
    struct held h = {0};
    assert_ok(held_each(o->m[i].j, count, &h, &o->f), &o->f);
    return h.entries;
}

static void what_was_held_back_may_be_accepted(void **state)
{
    struct office *o = *state;
    uint64_t last = 0;
    retire_and_hold(o);
    assert_ok(held_last(o->m[0].j, o->m[1].s->self, &last, &o->f), &o->f);
    assert_int_equal(last, 3);
    assert_fault(device_accept(o->m[0].s, o->m[1].s->self, 1, &o->f), &o->f, FAULT_INPUT,
                 "to 1 stand already");
    assert_fault(device_accept(o->m[0].s, o->m[2].s->self, 3, &o->f), &o->f, FAULT_REFUSED,
                 "only of a retired device");
    /* One of two first: the other stays where it is. */
    assert_ok(device_accept(o->m[0].s, o->m[1].s->self, 2, &o->f), &o->f);
    assert_string_equal(office_values(o, 0, o->dog, "dog.name"), "Waffles");
    assert_string_equal(office_values(o, 0, o->dog, "dog.sex"), "");
    assert_int_equal(held_back(o, 0), 1);
    assert_ok(device_accept(o->m[0].s, o->m[1].s->self, 3, &o->f), &o->f);
    office_list(o);
    for (size_t i = 0; i < 3; i += 2) {
        assert_string_equal(office_values(o, i, o->dog, "dog.name"), "Waffles");
        assert_string_equal(office_values(o, i, o->dog, "dog.sex"), "female");
        assert_int_equal(held_back(o, i), 0);
    }
    /* It stays retired. */
    office_set(o, 1, o->dog, "dog.coat", "rough", NULL, 0);
    office_deliver(o, 1, 0);
    assert_string_equal(office_values(o, 0, o->dog, "dog.coat"), "");
}

/* Who has a retired laptop may make entries of any other up to date: they come from those others.
 */
static void what_a_retired_device_brings_of_others_waits(void **state)
{
    struct office *o = *state;
    office_set(o, 2, o->dog, "dog.sex", "female", NULL, 0);
    office_deliver(o, 2, 1);
    assert_ok(device_retire(o->m[0].s, o->m[1].s->self, 1, &o->f), &o->f);
    office_deliver(o, 1, 0);
    assert_string_equal(office_values(o, 0, o->dog, "dog.sex"), "");
    office_deliver(o, 2, 0);
    assert_string_equal(office_values(o, 0, o->dog, "dog.sex"), "female");
}

struct bent {
    const char *name;
    uint8_t bytes[1000];
    size_t size;
    struct arena *a;
};

static bool first_held(void *of, const char *name, const uint8_t *bytes, size_t size)
{
    struct bent *b = of;
    assert_in_range(size, 20, sizeof b->bytes);
    b->name = arena_str(b->a, name);
    memcpy(b->bytes, bytes, size);
    b->size = size;
    return false;
}

/* It was damaged while it lay there: it is not taken, and not thrown away. */
static void what_cannot_be_taken_stays_held_back(void **state)
{
    struct office *o = *state;
    struct bent b = {.a = o->a};
    uint64_t before;
    retire_and_hold(o);
    before = held_back(o, 0);
    assert_ok(journal_kept_each(o->m[0].j, "held/", first_held, &b, &o->f), &o->f);
    b.bytes[b.size - 5] ^= 1;
    assert_ok(journal_keep(o->m[0].j, b.name, b.bytes, b.size, &o->f), &o->f);
    (void)device_accept(o->m[0].s, o->m[1].s->self, 3, &o->f);
    assert_int_equal(held_back(o, 0), before);
    assert_string_equal(office_values(o, 0, o->dog, "dog.name"), "Biscuit");
    b.bytes[b.size - 5] ^= 1; /* it is found again in another copy */
    assert_ok(journal_keep(o->m[0].j, b.name, b.bytes, b.size, &o->f), &o->f);
    assert_ok(device_rename(o->m[0].s, o->m[2].s->self, "laptop 2", &o->f), &o->f);
    assert_string_equal(office_values(o, 0, o->dog, "dog.name"), "Waffles");
}

static void a_retired_device_may_be_admitted_again(void **state)
{
    struct office *o = *state;
    char print[FINGERPRINT_ROOM];
    struct text t, reply;
    struct device d;
    struct devices all;
    const uint8_t *bytes;
    size_t size;
    retire_and_hold(o);
    t = request_of(o, 1, "laptop 1", print);
    text_init(&reply, 100000);
    assert_ok(request_read(t.s, o->a, &d, print, &o->f), &o->f);
    assert_fault(request_admit(o->m[0].s, &d, false, &reply, &o->f), &o->f, FAULT_REFUSED,
                 "was retired: say --because");
    assert_ok(request_admit(o->m[0].s, &d, true, &reply, &o->f), &o->f);
    assert_ok(reply_read(o->m[1].j, reply.s, o->a, &all, &bytes, &size, print, &o->f), &o->f);
    assert_ok(reply_join(o->m[1].j, &all, bytes, size, &o->f), &o->f);
    text_free(&t);
    text_free(&reply);
    office_list(o);
    office_close(o, 1);
    office_open(o, 1);
    office_set(o, 1, o->dog, "dog.coat", "rough", NULL, 0);
    office_deliver(o, 1, 0);
    office_deliver(o, 0, 2);
    for (size_t i = 0; i < 3; i++) {
        assert_string_equal(office_values(o, i, o->dog, "dog.name"), "Waffles");
        assert_string_equal(office_values(o, i, o->dog, "dog.coat"), "rough");
        assert_int_equal(held_back(o, i), 0);
    }
}

/* ---- identities ------------------------------------------------------------------------------ */

static void copy_record(struct office *o, size_t from, const char *to)
{
    unlink(to);
    assert_ok(journal_backup(o->m[from].j, to, &o->f), &o->f);
}

static void put_back(struct office *o, size_t i, const char *copy)
{
    const char *db = arena_printf(o->a, "%s/journal.db", o->m[i].folder);
    office_close(o, i);
    unlink(arena_printf(o->a, "%s-wal", db));
    unlink(arena_printf(o->a, "%s-shm", db));
    assert_int_equal(rename(copy, db), 0);
    office_at(o, i);
    assert_ok(journal_open(&o->m[i].j, o->m[i].folder, JOURNAL_WRITE, &o->f), &o->f);
}

static void a_record_put_back_takes_a_new_name(void **state)
{
    struct office *o = *state;
    const char *copy = arena_printf(o->a, "%s/copy.db", o->folder);
    uint8_t before[UUID_BYTES], after[UUID_BYTES];
    copy_record(o, 1, copy);
    office_set(o, 1, o->dog, "dog.sex", "female", NULL, 0);
    office_deliver(o, 1, 0);
    journal_self(o->m[1].j, before);
    put_back(o, 1, copy);
    assert_fault(share_open(&o->m[1].s, o->m[1].j, &o->f), &o->f, FAULT_REFUSED,
                 "new name that the base does not know yet");
    journal_self(o->m[1].j, after);
    assert_memory_not_equal(before, after, UUID_BYTES);
    office_set(o, 1, o->dog, "dog.breed", "Beagle", NULL, 0);
    assert_ok(device_rename(o->m[0].s, before, "laptop 1 before", &o->f), &o->f);
    office_enrol(o, 1);
    assert_ok(share_open(&o->m[1].s, o->m[1].j, &o->f), &o->f);
    office_deliver(o, 0, 1);
    office_deliver(o, 1, 0);
    for (size_t i = 0; i < 2; i++) {
        assert_string_equal(office_values(o, i, o->dog, "dog.sex"), "female");
        assert_string_equal(office_values(o, i, o->dog, "dog.breed"), "Beagle");
    }
}

/* Put back and written on, by a program that does not look: as many entries as before, but others.
 */
static void a_record_put_back_and_written_on_takes_a_new_name(void **state)
{
    struct office *o = *state;
    const char *copy = arena_printf(o->a, "%s/copy.db", o->folder);
    copy_record(o, 1, copy);
    office_set(o, 1, o->dog, "dog.sex", "female", NULL, 0);
    office_deliver(o, 1, 0);
    put_back(o, 1, copy);
    office_set(o, 1, o->dog, "dog.sex", "male", NULL, 0);
    assert_fault(share_open(&o->m[1].s, o->m[1].j, &o->f), &o->f, FAULT_REFUSED,
                 "new name that the base does not know yet");
}

static int one_mark(const char *path, const struct stat *st, int flag, struct FTW *at)
{
    size_t n = strlen(path);
    (void)st, (void)flag, (void)at;
    if (n < 5 || strcmp(path + n - 5, ".mark") != 0)
        return 0;
    FILE *file = fopen(path, "r+b");
    assert_non_null(file);
    fseek(file, -1, SEEK_END);
    int last = fgetc(file);
    fseek(file, -1, SEEK_END);
    fputc(last ^ 1, file);
    return fclose(file) == 0 ? 1 : -1;
}

/* The home folder went with the record, mark and all; only the computer is another. */
static void a_record_on_another_computer_takes_a_new_name(void **state)
{
    struct office *o = *state;
    bool renewed = true;
    char why[160] = "";
    office_at(o, 1);
    assert_ok(identity_check(o->m[1].j, &renewed, why, &o->f), &o->f);
    assert_false(renewed);
    assert_int_equal(nftw(getenv("XDG_STATE_HOME"), one_mark, 8, FTW_PHYS), 1);
    assert_ok(identity_check(o->m[1].j, &renewed, why, &o->f), &o->f);
    assert_true(renewed);
    assert_string_equal(why, "this record was copied from another computer");
}

static void what_was_never_handed_out_may_be_lost_quietly(void **state)
{
    struct office *o = *state;
    const char *copy = arena_printf(o->a, "%s/copy.db", o->folder);
    uint8_t before[UUID_BYTES], after[UUID_BYTES];
    copy_record(o, 1, copy);
    office_set(o, 1, o->dog, "dog.sex", "female", NULL, 0); /* nobody has seen it */
    journal_self(o->m[1].j, before);
    put_back(o, 1, copy);
    assert_ok(share_open(&o->m[1].s, o->m[1].j, &o->f), &o->f);
    journal_self(o->m[1].j, after);
    assert_memory_equal(before, after, UUID_BYTES);
}

static void carry(struct office *o, size_t from, size_t to, struct report *r)
{
    struct parcel p = office_parcel(o, from, to);
    for (size_t i = 0; i < p.count; i++) {
        o->f = (struct fault){0};
        if (!exchange_take(o->m[to].s, p.bytes[i], p.sizes[i], NULL, r, &o->f))
            assert_int_equal(o->f.kind, FAULT_MISSING);
    }
}

static void copy_keys(struct office *o, size_t from, size_t to)
{
    const uint8_t *bytes;
    size_t size;
    const char *keys = arena_printf(o->a, "%s/keys", o->m[to].folder);
    assert_ok(file_get(arena_printf(o->a, "%s/keys/device.key", o->m[from].folder), 1000, o->a,
                       &bytes, &size, &o->f),
              &o->f);
    assert_ok(folder_need(keys, &o->f), &o->f);
    assert_ok(file_put(keys, "device.key", bytes, size, &o->f), &o->f);
}

/* The whole disk was copied, mark and all: nothing outside can tell. */
static void a_copied_disk_is_noticed_and_both_branches_live_on(void **state)
{
    struct office *o = *state;
    struct report r;
    size_t c = o->count++;
    struct heads heads;
    report_init(&r);
    o->m[c].folder = arena_printf(o->names, "%s/laptop1/twin", o->folder);
    mkdir(o->m[c].folder, 0700);
    copy_record(o, 1, arena_printf(o->a, "%s/journal.db", o->m[c].folder));
    assert_ok(journal_open(&o->m[c].j, o->m[c].folder, JOURNAL_WRITE, &o->f), &o->f);
    copy_keys(o, 1, c);
    setenv("XDG_STATE_HOME", "", 1); /* no mark at all: as if it fitted */
    unsetenv("HOME");
    assert_ok(share_open(&o->m[c].s, o->m[c].j, &o->f), &o->f);
    assert_ok(journal_heads(o->m[1].j, o->a, o->dog, &heads, &o->f), &o->f);
    struct entry_id shown = heads.entries[0].id;
    office_set(o, 1, o->dog, "dog.name", "Biscotti", &shown, 1);
    office_set(o, c, o->dog, "dog.name", "Waffles", &shown, 1);
    office_set(o, c, o->dog, "dog.sex", "female", NULL, 0);
    office_deliver(o, 1, 0);
    carry(o, c, 0, &r); /* the base holds the other branch: this one waits */
    assert_string_equal(office_values(o, 0, o->dog, "dog.name"), "Biscotti");
    for (int i = 0; i < 2; i++) /* what the base holds tells the copy what it is */
        carry(o, 0, c, &r);
    assert_true(r.renewed);
    assert_string_equal(office_values(o, c, o->dog, "dog.name"), "Biscotti | Waffles");
    share_close(o->m[c].s);
    o->m[c].s = NULL;
    assert_fault(share_open(&o->m[c].s, o->m[c].j, &o->f), &o->f, FAULT_REFUSED, "new name");
    assert_ok(device_rename(o->m[0].s, o->m[1].s->self, "laptop 1 itself", &o->f), &o->f);
    office_enrol(o, c);
    setenv("XDG_STATE_HOME", "", 1);
    assert_ok(share_open(&o->m[c].s, o->m[c].j, &o->f), &o->f);
    carry(o, c, 0, &r);
    office_list(o);
    carry(o, 0, 1, &r);
    for (size_t i = 0; i < 2; i++) {
        assert_string_equal(office_values(o, i, o->dog, "dog.name"), "Biscotti | Waffles");
        assert_string_equal(office_values(o, i, o->dog, "dog.sex"), "female");
    }
    report_free(&r);
}

static void a_base_put_back_goes_on_by_itself(void **state)
{
    struct office *o = *state;
    const char *copy = arena_printf(o->a, "%s/copy.db", o->folder);
    office_set(o, 0, o->dog, "dog.coat", "rough", NULL, 0);
    copy_record(o, 0, copy);
    office_set(o, 0, o->dog, "dog.sex", "female", NULL, 0);
    office_deliver(o, 0, 1);
    put_back(o, 0, copy);
    assert_ok(share_open(&o->m[0].s, o->m[0].j, &o->f), &o->f);
    office_list(o);
    office_deliver(o, 1, 0);
    office_deliver(o, 0, 1);
    for (size_t i = 0; i < 2; i++) {
        assert_string_equal(office_values(o, i, o->dog, "dog.sex"), "female");
        assert_string_equal(office_values(o, i, o->dog, "dog.coat"), "rough");
    }
}

#define two_test(name) cmocka_unit_test_setup_teardown(name, two_up, office_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        two_test(a_changed_request_is_refused),
        two_test(letters_survive_an_editor),
        two_test(a_reply_is_for_one_device_and_one_practice),
        two_test(keys_are_not_for_others_to_read),
        two_test(what_is_put_into_a_folder_is_flushed),
        two_test(a_link_in_a_shared_folder_leads_nowhere),
        two_test(only_the_base_changes_the_list),
        two_test(what_a_retired_device_wrote_later_is_held_back_everywhere),
        two_test(what_was_held_back_may_be_accepted),
        two_test(what_a_retired_device_brings_of_others_waits),
        two_test(what_cannot_be_taken_stays_held_back),
        two_test(a_retired_device_may_be_admitted_again),
        two_test(a_record_put_back_takes_a_new_name),
        two_test(a_record_put_back_and_written_on_takes_a_new_name),
        two_test(a_record_on_another_computer_takes_a_new_name),
        two_test(what_was_never_handed_out_may_be_lost_quietly),
        two_test(a_copied_disk_is_noticed_and_both_branches_live_on),
        two_test(a_base_put_back_goes_on_by_itself),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
