/* A casebook for one test: a real journal in a folder of its own, a small template set, a clock
 * that stands still at Tuesday 24 November 2026, 9:30. */
#ifndef AMBLE_TESTS_CASEBOOK_WORLD_H
#define AMBLE_TESTS_CASEBOOK_WORLD_H

/* The house before cmocka, which makes a macro of fail. */
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "casebook/casebook.h"
#include "casebook/deciding.h"
#include "casebook/feed.h"
#include "casebook/fitting.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/teaching.h"
#include "casebook/today.h"
#include "casebook/triage.h"
#include <dirent.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

struct world {
    char folder[64];
    struct arena *arena;
    struct template_set *set;
    struct casebook cb;
};

#define OK(call)                                                                                   \
    do {                                                                                           \
        struct fault ok_fault = {0};                                                               \
        struct fault *f = &ok_fault;                                                               \
        if (!(call))                                                                               \
            fail_msg("%s: %s", #call, ok_fault.text);                                              \
    } while (0)

/* The call must be refused, for this kind of reason and in words that hold `part`. */
#define REFUSED(call, wanted, part)                                                                \
    do {                                                                                           \
        struct fault no_fault = {0};                                                               \
        struct fault *f = &no_fault;                                                               \
        if (call)                                                                                  \
            fail_msg("%s was allowed", #call);                                                     \
        assert_int_equal(no_fault.kind, wanted);                                                   \
        if (strstr(no_fault.text, part) == NULL)                                                   \
            fail_msg("\"%s\" does not say \"%s\"", no_fault.text, part);                           \
    } while (0)

/* Two doubles apart by no more than `within`. */
#define NEAR(got, wanted, within)                                                                  \
    do {                                                                                           \
        double near_got = (got), near_wanted = (wanted);                                           \
        if (!(fabs(near_got - near_wanted) <= (within)))                                           \
            fail_msg("%s is %.9g, not %.9g", #got, near_got, near_wanted);                         \
    } while (0)

static inline void at_time(const char *now)
{
    assert_int_equal(setenv("AMBLE_NOW", now, 1), 0);
}

static inline void world_open(struct world *w)
{
    OK(journal_open(&w->cb.journal, w->folder, JOURNAL_WRITE, f));
}

static inline int world_up(void **state)
{
    struct world *w = calloc(1, sizeof *w);
    struct text lines;
    assert_non_null(w);
    at_time("2026-11-24T09:30");
    (void)snprintf(w->folder, sizeof w->folder, "/tmp/casebook-test-XXXXXX");
    assert_non_null(mkdtemp(w->folder));
    w->arena = arena_new();
    text_init(&lines, 10000);
    struct template_report report = {.lines = &lines};
    w->set = template_load("tests/unit/casebook_set", NULL, &report);
    if (w->set == NULL)
        fail_msg("%s", lines.s);
    text_free(&lines);
    w->cb.set = w->set;
    world_open(w);
    *state = w;
    return 0;
}

static inline int world_down(void **state)
{
    struct world *w = *state;
    char path[512];
    journal_close(w->cb.journal);
    template_free(w->set);
    arena_free(w->arena);
    DIR *folder = opendir(w->folder);
    for (struct dirent *e; folder != NULL && (e = readdir(folder)) != NULL;) {
        (void)snprintf(path, sizeof path, "%s/%s", w->folder, e->d_name);
        (void)unlink(path);
    }
    (void)closedir(folder);
    (void)rmdir(w->folder);
    free(w);
    return 0;
}

/* A practitioner at the keys. */
static inline const char *somebody(struct world *w, const char *initials, const char *name)
{
    struct record r;
    OK(record_new(&w->cb, w->arena, "practitioner", &r, f));
    OK(record_put(&w->cb, &r, ID_PRACTITIONER_INITIALS, initials, "", f));
    OK(record_put(&w->cb, &r, ID_PRACTITIONER_NAME, name, "", f));
    OK(casebook_become(&w->cb, r.entity, f));
    return r.entity;
}

/* A dog with a visit today; findings go into chart->visit and chart->dog. */
static inline void a_visit(struct world *w, struct chart *c)
{
    struct record dog;
    OK(record_new(&w->cb, w->arena, "dog", &dog, f));
    OK(record_put(&w->cb, &dog, ID_DOG_NAME, "Biscuit", "", f));
    OK(visit_new(&w->cb, w->arena, dog.entity, "2026-11-24T14:00", c, f));
}

static inline void put(struct world *w, struct record *r, const char *item, const char *value)
{
    OK(record_put(&w->cb, r, item, value, "", f));
}

/* What another laptop wrote without having seen ours: an entry that replaces nothing. */
static inline void beside(struct world *w, const char *entity, const char *item, const char *value)
{
    struct edit e = {.kind = ENTRY_SET,
                     .entity = entity,
                     .item = item,
                     .value = value,
                     .author = "",
                     .reason = ""};
    struct entry_id id;
    OK(journal_append(w->cb.journal, &e, &id, f));
}

static inline uint64_t entries(struct world *w)
{
    struct journal_counts n;
    OK(journal_count(w->cb.journal, &n, f));
    return n.entries;
}

static inline void reload(struct world *w, struct record *r)
{
    const char *entity = r->entity;
    OK(record_load(&w->cb, w->arena, entity, r, f));
}

static inline void look_again(struct world *w, struct chart *c)
{
    const char *entity = c->visit.entity != NULL ? c->visit.entity : c->call.entity;
    OK(chart_load(&w->cb, w->arena, entity, c, f));
}

#define TEST(function) cmocka_unit_test_setup_teardown(function, world_up, world_down)

#endif
