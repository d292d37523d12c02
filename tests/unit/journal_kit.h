/* What the journal's tests share: a record in a folder of its own, and short ways to write in it.
 */
#ifndef AMBLE_TESTS_JOURNAL_KIT_H
#define AMBLE_TESTS_JOURNAL_KIT_H

#include "base/arena.h"
#include "base/ident.h"
#include "journal/internal.h"
#include "journal/journal.h"
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

struct kit {
    char folder[64];
    struct journal *j;
    struct arena *a;
    struct fault f;
};

static inline int kit_remove_one(const char *path, const struct stat *st, int flag, struct FTW *at)
{
    (void)st;
    (void)flag;
    (void)at;
    return remove(path);
}

static inline void kit_remove(const char *folder)
{
    nftw(folder, kit_remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

/* In memory where there is such a place: these tests flush thousands of times. */
static inline void kit_folder(char folder[64])
{
    umask(022); /* what a shell usually has */
    const char *where = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
    snprintf(folder, 64, "%s/amble-test-XXXXXX", where);
    assert_non_null(mkdtemp(folder));
}

static inline int kit_setup(void **state)
{
    struct kit *k = calloc(1, sizeof *k);
    kit_folder(k->folder);
    k->a = arena_new();
    if (!journal_open(&k->j, k->folder, JOURNAL_WRITE, &k->f)) {
        print_error("%s\n", k->f.text);
        return -1;
    }
    *state = k;
    return 0;
}

static inline int kit_teardown(void **state)
{
    struct kit *k = *state;
    journal_close(k->j);
    arena_free(k->a);
    kit_remove(k->folder);
    free(k);
    return 0;
}

#define kit_test(name) cmocka_unit_test_setup_teardown(name, kit_setup, kit_teardown)

/* Fails the test with the fault's own words. */
#define assert_ok(call, why)                                                                       \
    do {                                                                                           \
        if (!(call))                                                                               \
            fail_msg("%s: %s", #call, (why)->text);                                                \
    } while (0)
#define assert_fault(call, why, what, words)                                                       \
    do {                                                                                           \
        *(why) = (struct fault){0};                                                                \
        assert_false(call);                                                                        \
        assert_int_equal((why)->kind, what);                                                       \
        if (!strstr((why)->text, words))                                                           \
            fail_msg("\"%s\" does not say \"%s\"", (why)->text, words);                            \
    } while (0)

static inline void kit_new(struct kit *k, const char *kind, char out[IDENT_ROOM])
{
    assert_ok(journal_entity_new(k->j, kind, out, &k->f), &k->f);
}

static inline struct entry_id kit_set_over(struct kit *k, const char *entity, const char *item,
                                           const char *value, const struct entry_id *replaces,
                                           size_t count)
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
    assert_ok(journal_append(k->j, &e, &id, &k->f), &k->f);
    return id;
}

static inline struct entry_id kit_set(struct kit *k, const char *entity, const char *item,
                                      const char *value)
{
    return kit_set_over(k, entity, item, value, NULL, 0);
}

static inline struct heads kit_heads(struct kit *k, const char *entity)
{
    struct heads h = {0};
    assert_ok(journal_heads(k->j, k->a, entity, &h, &k->f), &k->f);
    return h;
}

static inline void kit_reopen(struct kit *k, enum journal_mode mode)
{
    journal_close(k->j);
    k->j = NULL;
    assert_ok(journal_open(&k->j, k->folder, mode, &k->f), &k->f);
}

/* Run SQL on the file behind the journal's back. */
static inline void kit_sql(const char *folder, const char *sql)
{
    char path[128], *why = NULL;
    sqlite3 *db = NULL;
    snprintf(path, sizeof path, "%s/journal.db", folder);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, &why) != SQLITE_OK)
        fail_msg("%s: %s", sql, why);
    sqlite3_close(db);
}

#endif
