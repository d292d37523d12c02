/* A base and one laptop that is enrolled there, alive as long as the fuzz target runs. */
#ifndef AMBLE_TESTS_FUZZ_SHARE_OFFICE_H
#define AMBLE_TESTS_FUZZ_SHARE_OFFICE_H

#include "base/arena.h"
#include "kit.h"
#include "share/enrol.h"
#include "share/exchange_inside.h"

struct office {
    struct journal *base_record, *laptop_record;
    struct share *base, *laptop;
};

/* Each on a computer of its own: the mark outside the data folder is its own too. */
static inline struct journal *office_record(const char *name)
{
    char path[128];
    struct fault f = {0};
    struct journal *j;
    (void)snprintf(path, sizeof path, "%s/%s-state", scratch_folder(), name);
    must(setenv("XDG_STATE_HOME", path, 1) == 0);
    (void)snprintf(path, sizeof path, "%s/%s", scratch_folder(), name);
    must(journal_open(&j, path, JOURNAL_WRITE, &f));
    return j;
}

static inline void office_enrol(struct office *o, struct arena *a)
{
    char print[FINGERPRINT_ROOM];
    struct fault f = {0};
    struct text request, reply;
    struct device d;
    struct devices all;
    const uint8_t *bytes;
    size_t size;
    text_init(&request, 10000);
    text_init(&reply, 100000);
    must(request_make(o->laptop_record, "laptop", &request, print, &f) &&
         request_read(request.s, a, &d, print, &f) &&
         request_admit(o->base, &d, false, &reply, &f) &&
         reply_read(o->laptop_record, reply.s, a, &all, &bytes, &size, print, &f) &&
         reply_join(o->laptop_record, &all, bytes, size, &f));
    text_free(&request);
    text_free(&reply);
}

static inline struct office *office(void)
{
    static struct office o;
    struct fault f = {0};
    if (o.base != NULL)
        return &o;
    struct arena *a = arena_new();
    o.base_record = office_record("base");
    must(base_make(o.base_record, "base", &f) && share_open(&o.base, o.base_record, &f));
    o.laptop_record = office_record("laptop");
    office_enrol(&o, a);
    must(share_open(&o.laptop, o.laptop_record, &f));
    arena_free(a);
    return &o;
}

/* What a report tells a person is text. */
static inline void must_tell_text(const struct report *r)
{
    must(utf8_valid(r->missing.s, r->missing.len, NULL) &&
         utf8_valid(r->person.s, r->person.len, NULL));
}

#endif
