/* A practice for one test: a base and laptops, each a record in a folder of its own, enrolled. */
#ifndef AMBLE_TESTS_SHARE_KIT_H
#define AMBLE_TESTS_SHARE_KIT_H

#include "base/arena.h"
#include "base/ident.h"
#include "base/text.h"
#include "journal/travel.h"
#include "share/enrol.h"
#include "share/exchange.h"
#include "share/identity.h"
#include "share/share.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

/* clang-format off */
#include <cmocka.h> /* after the above: it makes a macro of fail() */
/* clang-format on */

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PRACTICE_MOST = 8 };

struct member {
    char *folder;
    struct journal *j;
    struct share *s;
};

struct office {
    char folder[64];
    struct arena *a, *names; /* for a while; for all of the test */
    struct fault f;
    struct member m[PRACTICE_MOST]; /* 0 is the base */
    size_t count;
    char dog[IDENT_ROOM];
};

#define assert_ok(call, why)                                                                       \
    do {                                                                                           \
        if (!(call))                                                                               \
            fail_msg("%s: %s", #call, (why)->text);                                                \
    } while (0)
#define assert_fault(call, why, what, words)                                                       \
    do {                                                                                           \
        *(why) = (struct fault){0};                                                                \
        assert_false(call);                                                                        \
        if (!strstr((why)->text, words))                                                           \
            fail_msg("\"%s\" does not say \"%s\"", (why)->text, words);                            \
        assert_int_equal((why)->kind, what);                                                       \
    } while (0)

static inline int office_remove_one(const char *path, const struct stat *st, int flag,
                                    struct FTW *at)
{
    (void)st;
    (void)flag;
    (void)at;
    return remove(path);
}

/* Each member lives on a computer of its own: the mark outside the data folder is its own too. */
static inline void office_at(struct office *o, size_t i)
{
    char state[128];
    snprintf(state, sizeof state, "%s/state%zu", o->folder, i);
    assert_int_equal(setenv("XDG_STATE_HOME", state, 1), 0);
}

static inline void office_open(struct office *o, size_t i)
{
    office_at(o, i);
    assert_ok(journal_open(&o->m[i].j, o->m[i].folder, JOURNAL_WRITE, &o->f), &o->f);
    assert_ok(share_open(&o->m[i].s, o->m[i].j, &o->f), &o->f);
}

static inline void office_close(struct office *o, size_t i)
{
    share_close(o->m[i].s);
    journal_close(o->m[i].j);
    o->m[i].s = NULL;
    o->m[i].j = NULL;
}

static inline void office_enrol(struct office *o, size_t i)
{
    struct text request, reply;
    char print[FINGERPRINT_ROOM], again[FINGERPRINT_ROOM], name[24];
    struct device d;
    struct devices all;
    const uint8_t *bytes;
    size_t size;
    text_init(&request, 10000);
    text_init(&reply, 100000);
    snprintf(name, sizeof name, "laptop %zu", i);
    office_at(o, i);
    assert_ok(request_make(o->m[i].j, name, &request, print, &o->f), &o->f);
    assert_ok(request_read(request.s, o->a, &d, again, &o->f), &o->f);
    assert_string_equal(print, again);
    office_at(o, 0);
    assert_ok(request_admit(o->m[0].s, &d, false, &reply, &o->f), &o->f);
    office_at(o, i);
    assert_ok(reply_read(o->m[i].j, reply.s, o->a, &all, &bytes, &size, print, &o->f), &o->f);
    practice_fingerprint(&o->m[0].s->devices, again);
    assert_string_equal(print, again);
    assert_ok(reply_join(o->m[i].j, &all, bytes, size, &o->f), &o->f);
    text_free(&request);
    text_free(&reply);
}

/* A laptop more, enrolled at the base. Those before learn of it by the list. */
static inline void office_laptop(struct office *o)
{
    size_t i = o->count++;
    o->m[i].folder = arena_printf(o->names, "%s/laptop%zu", o->folder, i);
    office_at(o, i);
    assert_ok(journal_open(&o->m[i].j, o->m[i].folder, JOURNAL_WRITE, &o->f), &o->f);
    office_enrol(o, i);
    assert_ok(share_open(&o->m[i].s, o->m[i].j, &o->f), &o->f);
}

/* Everybody learns the newest list of devices. */
static inline void office_list(struct office *o)
{
    const uint8_t *bytes;
    size_t size;
    bool newer;
    assert_ok(journal_kept(o->m[0].j, o->a, "devices", &bytes, &size, &o->f), &o->f);
    for (size_t i = 1; i < o->count; i++)
        assert_ok(share_devices(o->m[i].s, bytes, size, &newer, &o->f), &o->f);
}

static inline struct office *office_new(size_t laptops)
{
    struct office *o = calloc(1, sizeof *o);
    assert_non_null(o);
    umask(022); /* what a shell usually has */
    const char *where = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
    snprintf(o->folder, sizeof o->folder, "%s/amble-share-XXXXXX", where);
    assert_non_null(mkdtemp(o->folder));
    o->a = arena_new();
    o->names = arena_new();
    o->count = 1;
    o->m[0].folder = arena_printf(o->names, "%s/base", o->folder);
    office_at(o, 0);
    assert_ok(journal_open(&o->m[0].j, o->m[0].folder, JOURNAL_WRITE, &o->f), &o->f);
    assert_ok(base_make(o->m[0].j, "base", &o->f), &o->f);
    assert_ok(share_open(&o->m[0].s, o->m[0].j, &o->f), &o->f);
    for (size_t i = 0; i < laptops; i++)
        office_laptop(o);
    office_list(o);
    return o;
}

static inline int office_down(void **state)
{
    struct office *o = *state;
    for (size_t i = 0; i < o->count; i++)
        office_close(o, i);
    arena_free(o->a);
    arena_free(o->names);
    nftw(o->folder, office_remove_one, 16, FTW_DEPTH | FTW_PHYS);
    free(o);
    return 0;
}

/* ---- short ways to write and look ------------------------------------------------------------ */

static inline struct entry_id office_set(struct office *o, size_t i, const char *entity,
                                         const char *item, const char *value,
                                         const struct entry_id *replaces, size_t count)
{
    struct entry_id id = {0};
    struct edit e = {.kind = ENTRY_SET,
                     .entity = entity,
                     .item = item,
                     .value = value,
                     .author = "",
                     .reason = "",
                     .replaces = replaces,
                     .replaces_count = count};
    assert_ok(journal_append(o->m[i].j, &e, &id, &o->f), &o->f);
    return id;
}

/* What stands for one item, joined by " | ", in order of value. */
static inline const char *office_values(struct office *o, size_t i, const char *entity,
                                        const char *item)
{
    struct heads h;
    const char *found[64];
    size_t n = 0;
    const char *all = "";
    assert_ok(journal_heads(o->m[i].j, o->a, entity, &h, &o->f), &o->f);
    for (size_t k = 0; k < h.count; k++) {
        if (strcmp(h.entries[k].item, item) != 0)
            continue;
        size_t at = n++;
        for (; at > 0 && strcmp(found[at - 1], h.entries[k].value) > 0; at--)
            found[at] = found[at - 1];
        found[at] = h.entries[k].value;
    }
    for (size_t k = 0; k < n; k++)
        all = arena_printf(o->a, "%s%s%s", all, k ? " | " : "", found[k]);
    return all;
}

static inline uint64_t office_entries(struct office *o, size_t i)
{
    struct journal_counts c;
    assert_ok(journal_count(o->m[i].j, &c, &o->f), &o->f);
    return c.entries;
}

/* All that `to` lacks, as the bundles of `from`. */
struct parcel {
    struct arena *a;
    const uint8_t *bytes[200];
    size_t sizes[200], count;
};

static inline bool parcel_add(void *of, const struct bundle *b, const struct text *bytes,
                              struct fault *f)
{
    struct parcel *p = of;
    (void)b;
    (void)f;
    assert_in_range(p->count, 0, 199);
    p->bytes[p->count] = (const uint8_t *)arena_strn(p->a, bytes->s, bytes->len);
    p->sizes[p->count++] = bytes->len;
    return true;
}

static inline struct parcel office_parcel(struct office *o, size_t from, size_t to)
{
    struct parcel p = {.a = o->a};
    struct want *wants;
    size_t count;
    struct report r;
    struct sending how = {.always = true, .send = parcel_add, .of = &p};
    report_init(&r);
    office_at(o, from);
    assert_ok(exchange_wants(o->m[from].s, o->a, o->m[to].s->self, &wants, &count, &o->f), &o->f);
    assert_ok(exchange_give(o->m[from].s, wants, count, &how, NULL, &r, &o->f), &o->f);
    report_free(&r);
    return p;
}

static inline void office_deliver(struct office *o, size_t from, size_t to)
{
    struct report r;
    struct parcel p = office_parcel(o, from, to);
    report_init(&r);
    for (size_t i = 0; i < p.count; i++)
        assert_ok(exchange_take(o->m[to].s, p.bytes[i], p.sizes[i], NULL, &r, &o->f), &o->f);
    report_free(&r);
}

#endif
