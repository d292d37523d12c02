/* How quick an exchange is, beside what the same rows cost SQLite alone.
 *
 * sync_bench [DOGS]: fills a base with so many dogs (10,000), fifty entries each; then a laptop's
 * day of 20 visits with 150 entries comes as one bundle; then a new laptop takes everything. The
 * floor is the rows that the day left in the base's tables, inserted into a copy of the base as it
 * was before, by plain SQLite in one transaction.
 */
#include "base/arena.h"
#include "base/ident.h"
#include "journal/internal.h"
#include "journal/travel.h"
#include "share/enrol.h"
#include "share/exchange.h"
#include <ftw.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { VISITS = 20, FINDINGS = 146, TRIES = 5 };

struct side {
    char folder[96];
    struct journal *j;
    struct share *s;
};

struct bench {
    char folder[64];
    struct arena *a;
    struct fault f;
    struct side base, laptop;
    uint64_t random;
};

static void must(bool ok, const struct bench *b)
{
    if (!ok) {
        fprintf(stderr, "sync_bench: %s\n", b->f.text);
        exit(1);
    }
}

static double now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static unsigned chance(struct bench *b, unsigned below)
{
    b->random ^= b->random << 13;
    b->random ^= b->random >> 7;
    b->random ^= b->random << 17;
    return (unsigned)(b->random % below);
}

static int remove_one(const char *path, const struct stat *st, int flag, struct FTW *at)
{
    (void)st;
    (void)flag;
    (void)at;
    return remove(path);
}

/* ---- what a day writes ----------------------------------------------------------------------- */

static struct entry_id put(struct bench *b, struct journal *j, const char *entity, const char *item,
                           const char *value, const struct entry_id *over)
{
    static const char author[] = "5f0a4c4e-8b60-4d3a-9d8b-111213141516";
    struct entry_id id;
    struct edit e = {.kind = ENTRY_SET,
                     .entity = entity,
                     .item = item,
                     .value = value,
                     .author = author,
                     .reason = over ? "read again" : "",
                     .replaces = over,
                     .replaces_count = over != NULL};
    must(journal_append(j, &e, &id, &b->f), b);
    return id;
}

static void visit(struct bench *b, struct journal *j, const char *dog, int findings)
{
    static const char *const words[] = {"yes",    "no",      "normal",          "not today",
                                        "absent", "delayed", "walks with help", "skin whole, dry"};
    char v[IDENT_ROOM], item[32], value[64];
    must(journal_entity_new(j, "visit", v, &b->f), b);
    put(b, j, v, "visit.dog", dog, NULL);
    snprintf(value, sizeof value, "2026-11-%02uT%02u:30", 1 + chance(b, 28), 8 + chance(b, 9));
    put(b, j, v, "visit.day", value, NULL);
    for (int i = 0; i < findings; i++) {
        snprintf(item, sizeof item, "visit.finding_%03d", i);
        if (i % 3 == 0)
            snprintf(value, sizeof value, "%u.%u mm", 60 + chance(b, 600), chance(b, 10));
        else
            snprintf(value, sizeof value, "%s", words[chance(b, 8)]);
        struct entry_id id = put(b, j, v, item, value, NULL);
        if (chance(b, 25) == 0)
            put(b, j, v, item, "measured again", &id);
    }
}

static void dogs(struct bench *b, struct journal *j, unsigned count, int findings)
{
    char dog[IDENT_ROOM], name[32];
    must(journal_begin(j, &b->f), b);
    for (unsigned i = 0; i < count; i++) {
        must(journal_entity_new(j, "dog", dog, &b->f), b);
        snprintf(name, sizeof name, "Biscuit %u", chance(b, 4000));
        put(b, j, dog, "dog.name", name, NULL);
        put(b, j, dog, "dog.breed", "Dachshund", NULL);
        visit(b, j, dog, findings);
        if (i % 2000 == 1999)
            must(journal_commit(j, &b->f) && journal_begin(j, &b->f), b);
    }
    must(journal_commit(j, &b->f), b);
}

/* ---- devices --------------------------------------------------------------------------------- */

static void at_home(const struct bench *b, const char *name)
{
    char state[160];
    snprintf(state, sizeof state, "%s/state-%s", b->folder, name);
    setenv("XDG_STATE_HOME", state, 1);
}

static void side_open(struct bench *b, struct side *x, const char *name)
{
    snprintf(x->folder, sizeof x->folder, "%.60s/%.20s", b->folder, name);
    at_home(b, name);
    must(journal_open(&x->j, x->folder, JOURNAL_WRITE, &b->f), b);
}

static void enrol(struct bench *b, struct side *x, const char *name)
{
    struct text request, reply;
    char print[FINGERPRINT_ROOM];
    struct device d;
    struct devices all;
    const uint8_t *bytes;
    size_t size;
    text_init(&request, 10000);
    text_init(&reply, 100000);
    side_open(b, x, name);
    must(request_make(x->j, name, &request, print, &b->f) &&
             request_read(request.s, b->a, &d, print, &b->f) &&
             request_admit(b->base.s, &d, false, &reply, &b->f) &&
             reply_read(x->j, reply.s, b->a, &all, &bytes, &size, print, &b->f) &&
             reply_join(x->j, &all, bytes, size, &b->f) && share_open(&x->s, x->j, &b->f),
         b);
    text_free(&request);
    text_free(&reply);
}

struct parcel {
    struct arena *a;
    const uint8_t *bytes[4096];
    size_t sizes[4096], count, total;
};

static bool add(void *of, const struct bundle *x, const struct text *bytes, struct fault *f)
{
    struct parcel *p = of;
    (void)x;
    if (p->count == 4096)
        return fail(f, FAULT_LIMIT, "too many bundles");
    p->bytes[p->count] = (const uint8_t *)arena_strn(p->a, bytes->s, bytes->len);
    p->sizes[p->count++] = bytes->len;
    p->total += bytes->len;
    return true;
}

static double pack(struct bench *b, struct side *from, struct side *to, struct parcel *p)
{
    struct want *wants;
    size_t count;
    struct report r;
    struct sending how = {.send = add, .of = p};
    double start = now_ms();
    report_init(&r);
    *p = (struct parcel){.a = b->a};
    must(exchange_wants(from->s, b->a, to->s->self, &wants, &count, &b->f) &&
             exchange_give(from->s, wants, count, &how, NULL, &r, &b->f),
         b);
    report_free(&r);
    return now_ms() - start;
}

static double take(struct bench *b, struct side *to, const struct parcel *p, uint64_t *came)
{
    struct report r;
    report_init(&r);
    double start = now_ms();
    for (size_t i = 0; i < p->count; i++)
        must(exchange_take(to->s, p->bytes[i], p->sizes[i], NULL, &r, &b->f), b);
    double took = now_ms() - start;
    *came = r.came;
    report_free(&r);
    return took;
}

/* What the base holds now, as it says at the end of each exchange: else the next day's bundle would
 * bring this day's entries once more. */
static void answer(struct bench *b)
{
    struct report r;
    struct parcel *p = arena_alloc(b->a, sizeof *p);
    struct sending how = {.always = true, .send = add, .of = p};
    *p = (struct parcel){.a = b->a};
    report_init(&r);
    at_home(b, "base");
    must(exchange_give(b->base.s, NULL, 0, &how, NULL, &r, &b->f), b);
    at_home(b, "laptop");
    for (size_t i = 0; i < p->count; i++)
        must(exchange_take(b->laptop.s, p->bytes[i], p->sizes[i], NULL, &r, &b->f), b);
    report_free(&r);
}

/* ---- the floor ------------------------------------------------------------------------------- */

/* What a table got in the day: its columns, and which rows are new (?1: a row id before the first
 * new entry, ?2: the last record there was). */
static const struct {
    const char *table, *columns, *marks, *fresh;
} parts[] = {
    {"entity", "id, uuid, kind", "?,?,?", "id > ?2"},
    {"entry",
     "id, kind, entity, item, author, claimed_at, lamport, replaces, value, reason, salt, hash",
     "?,?,?,?,?,?,?,?,?,?,?,?", "id > ?1"},
    {"replaced", "earlier, later, tag", "?,?,?", "later > ?1"},
    {"head", "entity, item, entry, key", "?,?,?,?", "entry > ?1"},
    {"found", "entity, words, names, phones, texts", "?,?,?,?,?", "entity > ?2"},
};
enum { PARTS = sizeof parts / sizeof parts[0], COLUMNS_MOST = 12, ROWS_MOST = 20000 };

struct row {
    size_t part;
    sqlite3_value *values[COLUMNS_MOST];
};

static size_t rows_read(struct bench *b, int64_t entry, int64_t entity, struct row *rows)
{
    size_t count = 0;
    for (size_t p = 0; p < PARTS; p++) {
        char sql[400];
        sqlite3_stmt *s = NULL;
        snprintf(sql, sizeof sql, "SELECT %s FROM %s WHERE %s", parts[p].columns, parts[p].table,
                 parts[p].fresh);
        if (sqlite3_prepare_v2(b->base.j->db, sql, -1, &s, NULL) != SQLITE_OK)
            return 0;
        sqlite3_bind_int64(s, 1, entry);
        sqlite3_bind_int64(s, 2, entity);
        for (; count < ROWS_MOST && sqlite3_step(s) == SQLITE_ROW; count++) {
            rows[count].part = p;
            for (int c = 0; c < sqlite3_column_count(s); c++)
                rows[count].values[c] = sqlite3_value_dup(sqlite3_column_value(s, c));
        }
        sqlite3_finalize(s);
    }
    return count;
}

/* The same rows into the record as it was before, by SQLite and nothing else. */
static double floor_ms(const char *before, struct row *rows, size_t count)
{
    sqlite3 *db;
    sqlite3_stmt *put_in[PARTS];
    char sql[400];
    if (sqlite3_open(before, &db) != SQLITE_OK)
        return -1;
    sqlite3_exec(db, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL", NULL, NULL, NULL);
    for (size_t p = 0; p < PARTS; p++) {
        snprintf(sql, sizeof sql, "INSERT INTO %s(%s) VALUES (%s)", parts[p].table,
                 parts[p].columns, parts[p].marks);
        sqlite3_prepare_v2(db, sql, -1, &put_in[p], NULL);
    }
    double start = now_ms();
    sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL);
    for (size_t i = 0; i < count; i++) {
        sqlite3_stmt *s = put_in[rows[i].part];
        for (int c = 0; c < sqlite3_bind_parameter_count(s); c++)
            sqlite3_bind_value(s, c + 1, rows[i].values[c]);
        if (sqlite3_step(s) != SQLITE_DONE)
            fprintf(stderr, "sync_bench: %s\n", sqlite3_errmsg(db));
        sqlite3_reset(s);
    }
    sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    double took = now_ms() - start;
    for (size_t p = 0; p < PARTS; p++)
        sqlite3_finalize(put_in[p]);
    sqlite3_close(db);
    return took;
}

static int smaller(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* A day of its own each time, half of the tries. The copy for the floor grows along. */
static void days(struct bench *b)
{
    double taking[TRIES], floors[TRIES], packing = 0;
    struct parcel *p = arena_alloc(b->a, sizeof *p);
    struct row *rows = calloc(ROWS_MOST, sizeof *rows);
    uint64_t came = 0, have = 0;
    char before[160];
    snprintf(before, sizeof before, "%s/before.db", b->folder);
    at_home(b, "base");
    must(journal_backup(b->base.j, before, &b->f), b);
    for (int i = 0; rows != NULL && i < TRIES; i++) {
        int64_t device = 0, entity = 0;
        dogs(b, b->laptop.j, VISITS, FINDINGS);
        must(journal_have(b->base.j, b->laptop.s->self, &have, &b->f) &&
                 ask_number(b->base.j, ENTITY_LAST, &entity, NO_ARGS, &b->f),
             b);
        at_home(b, "laptop");
        packing = pack(b, &b->laptop, &b->base, p);
        taking[i] = take(b, &b->base, p, &came);
        answer(b);
        must(device_number(b->base.j, b->laptop.s->self, false, &device, &b->f), b);
        size_t count = rows_read(b, row_id(device, have), entity, rows);
        floors[i] = floor_ms(before, rows, count);
        for (size_t r = 0; r < count; r++)
            for (int c = 0; c < COLUMNS_MOST; c++) {
                sqlite3_value_free(rows[r].values[c]);
                rows[r].values[c] = NULL;
            }
    }
    free(rows);
    qsort(taking, TRIES, sizeof *taking, smaller);
    qsort(floors, TRIES, sizeof *floors, smaller);
    printf("a day: %" PRIu64 " entries, bundle %.1f kB, packed and sealed in %.1f ms\n", came,
           (double)p->total / 1e3, packing);
    printf("  taken in %.1f ms; the same rows by SQLite alone %.1f ms; ratio %.2f (goal 2)\n",
           taking[TRIES / 2], floors[TRIES / 2], taking[TRIES / 2] / floors[TRIES / 2]);
    printf("  the best of %d of each: %.1f ms and %.1f ms; ratio %.2f\n", TRIES, taking[0],
           floors[0], taking[0] / floors[0]);
}

/* One table, row after row: read, and put in when `into` is given. */
static bool copy_rows(sqlite3 *from, sqlite3 *into, size_t part)
{
    char sql[400];
    sqlite3_stmt *row = NULL, *put_in = NULL;
    snprintf(sql, sizeof sql, "SELECT %s FROM %s", parts[part].columns, parts[part].table);
    bool ok = sqlite3_prepare_v2(from, sql, -1, &row, NULL) == SQLITE_OK;
    snprintf(sql, sizeof sql, "INSERT INTO %s(%s) VALUES (%s)", parts[part].table,
             parts[part].columns, parts[part].marks);
    ok = ok && (into == NULL || sqlite3_prepare_v2(into, sql, -1, &put_in, NULL) == SQLITE_OK);
    while (ok && sqlite3_step(row) == SQLITE_ROW) {
        for (int c = 0; c < sqlite3_column_count(row) && into != NULL; c++)
            sqlite3_bind_value(put_in, c + 1, sqlite3_column_value(row, c));
        ok = into == NULL || sqlite3_step(put_in) == SQLITE_DONE;
        sqlite3_reset(put_in);
    }
    sqlite3_finalize(row);
    sqlite3_finalize(put_in);
    return ok;
}

/* All rows of the base into an empty record, by SQLite alone and in one transaction; the time to
 * read them, taken first, is not counted. */
static double floor_of_filling(struct bench *b)
{
    struct side empty;
    sqlite3 *from, *into;
    char path[200];
    side_open(b, &empty, "empty");
    journal_close(empty.j);
    snprintf(path, sizeof path, "%s/journal.db", b->base.folder);
    bool ok = sqlite3_open(path, &from) == SQLITE_OK;
    snprintf(path, sizeof path, "%s/journal.db", empty.folder);
    ok = ok && sqlite3_open(path, &into) == SQLITE_OK &&
         sqlite3_exec(into, "PRAGMA synchronous = FULL", NULL, NULL, NULL) == SQLITE_OK;
    double start = now_ms();
    for (size_t p = 0; ok && p < PARTS; p++)
        ok = copy_rows(from, NULL, p);
    double reading = now_ms() - start;
    start = now_ms();
    ok = ok && sqlite3_exec(into, "BEGIN IMMEDIATE", NULL, NULL, NULL) == SQLITE_OK;
    for (size_t p = 0; ok && p < PARTS; p++)
        ok = copy_rows(from, into, p);
    ok = ok && sqlite3_exec(into, "COMMIT", NULL, NULL, NULL) == SQLITE_OK;
    double took = now_ms() - start;
    if (!ok)
        fprintf(stderr, "sync_bench: %s\n", sqlite3_errmsg(into));
    sqlite3_close(from);
    sqlite3_close(into);
    return took - reading;
}

static void fill_a_new_laptop(struct bench *b)
{
    struct side fresh;
    struct parcel *p = arena_alloc(b->a, sizeof *p);
    uint64_t came = 0;
    enrol(b, &fresh, "fresh");
    at_home(b, "base");
    double packing = pack(b, &b->base, &fresh, p);
    double taking = take(b, &fresh, p, &came);
    printf("a new laptop: %" PRIu64 " entries in %zu bundles, %.1f MB, packed in %.1f s, taken in "
           "%.1f s (%.0f a second)\n",
           came, p->count, (double)p->total / 1e6, packing / 1e3, taking / 1e3,
           (double)came / taking * 1e3);
    double least = floor_of_filling(b);
    printf("  the same rows by SQLite alone %.1f s; ratio %.2f (goal 2)\n", least / 1e3,
           taking / least);
    share_close(fresh.s);
    journal_close(fresh.j);
}

int main(int argc, char **argv)
{
    struct bench b = {.random = 88172645463325252u};
    unsigned count = argc > 1 ? (unsigned)strtoul(argv[1], NULL, 10) : 10000;
    snprintf(b.folder, sizeof b.folder, "%s/amble-bench-XXXXXX",
             access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
    if (mkdtemp(b.folder) == NULL)
        return 1;
    b.a = arena_new();
    side_open(&b, &b.base, "base");
    must(base_make(b.base.j, "base", &b.f) && share_open(&b.base.s, b.base.j, &b.f), &b);
    dogs(&b, b.base.j, count, 44);
    enrol(&b, &b.laptop, "laptop");
    printf("a base with %u dogs\n", count);
    days(&b);
    fill_a_new_laptop(&b);
    share_close(b.laptop.s);
    share_close(b.base.s);
    journal_close(b.laptop.j);
    journal_close(b.base.j);
    arena_free(b.a);
    nftw(b.folder, remove_one, 16, FTW_DEPTH | FTW_PHYS);
    return 0;
}
