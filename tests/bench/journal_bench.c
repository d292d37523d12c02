/* How quick the record is, small and large side by side.
 *
 * journal_bench [DOGS...]: fills a record for each number of dogs (100 and 100,000), fifty entries
 * a dog, and prints one column for each. Times are milliseconds, half of the tries / 95 of a
 * hundred.
 */
#include "base/arena.h"
#include "base/ident.h"
#include "journal/journal.h"
#include <ftw.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { TRIES = 400, FINDINGS = 38, COLUMNS_MOST = 4, DOGS_KEPT = 512 };

struct figures {
    uint64_t dogs, entries;
    double fill_per_s, bytes_per_entry, megabytes;
    double open, heads[2], history[2], append[2], draft[2], typed[2], misspelt[2], phone[2], day[2], count;
    double backup_s, verify_s;
    long resident_kb;
};

struct bench {
    struct journal *j;
    struct arena *a;
    struct fault f;
    uint64_t random;
    char dogs[DOGS_KEPT][IDENT_ROOM]; /* some of them, to ask for */
    size_t kept;
};

static void must(bool ok, const struct bench *b)
{
    if (!ok) {
        fprintf(stderr, "journal_bench: %s\n", b->f.text);
        exit(1);
    }
}

static double now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static uint64_t chance(struct bench *b, uint64_t below)
{
    b->random ^= b->random << 13;
    b->random ^= b->random >> 7;
    b->random ^= b->random << 17;
    return b->random % below;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void quantiles(double *times, size_t n, double out[2])
{
    qsort(times, n, sizeof *times, by_size);
    out[0] = times[n / 2];
    out[1] = times[n * 95 / 100];
}

/* ---- filling --------------------------------------------------------------------------------- */

/* Invented names out of syllables: some tens of thousands of surnames. */
static void surname(struct bench *b, char out[64])
{
    static const char *const syllables[] = {"bar", "ken", "lo",  "mit", "ross", "tan", "vel",
                                            "wyn", "dor", "ash", "ell", "fen",  "gar", "hol",
                                            "ing", "jor", "mar", "nor", "pel",  "quin"};
    out[0] = '\0';
    for (uint64_t i = 2 + chance(b, 3); i > 0; i--)
        strncat(out, syllables[chance(b, 20)], 8);
    out[0] = (char)(out[0] - 32);
}

static const char *dog_name(struct bench *b)
{
    static const char *const names[] = {"Biscuit", "Pepper",   "Juniper", "Waffles", "Clover",
                                        "Otis",    "Marzipan", "Ziggy",   "Hazel",   "Truffle",
                                        "Mó",      "Noodle",   "Pickle",  "Bramble", "Sorrel"};
    return names[chance(b, 15)];
}

static struct entry_id put(struct bench *b, const char *entity, const char *item, const char *value,
                           const char *author)
{
    struct entry_id id;
    struct edit e = {.kind = ENTRY_SET,
                     .entity = entity,
                     .item = item,
                     .value = value,
                     .author = author,
                     .reason = ""};
    must(journal_append(b->j, &e, &id, &b->f), b);
    return id;
}

static void finding(struct bench *b, const char *visit, int n, const char *author)
{
    static const char *const words[] = {"yes",
                                        "no",
                                        "normal",
                                        "grade 3",
                                        "left hind, mild",
                                        "not today",
                                        "walks with help",
                                        "skin whole, dry"};
    char item[32], value[64];
    snprintf(item, sizeof item, "visit.finding_%02d", n);
    if (n % 3 == 0)
        snprintf(value, sizeof value, "%" PRIu64 ".%" PRIu64 " mm", 60 + chance(b, 600),
                 chance(b, 10));
    else
        snprintf(value, sizeof value, "%s", words[chance(b, 8)]);
    struct entry_id id = put(b, visit, item, value, author);
    if (chance(b, 25) == 0) { /* four in a hundred are corrected */
        struct edit e = {.kind = ENTRY_SET,
                         .entity = visit,
                         .item = item,
                         .value = "measured again",
                         .author = author,
                         .reason = "slip",
                         .replaces = &id,
                         .replaces_count = 1};
        must(journal_append(b->j, &e, NULL, &b->f), b);
    }
}

static void fill_dog(struct bench *b, uint64_t number, const char *author)
{
    char dog[IDENT_ROOM], caregiver[IDENT_ROOM], visit[IDENT_ROOM], name[64], text[128];
    must(journal_entity_new(b->j, "dog", dog, &b->f), b);
    must(journal_entity_new(b->j, "caregiver", caregiver, &b->f), b);
    must(journal_entity_new(b->j, "visit", visit, &b->f), b);
    surname(b, name);
    snprintf(text, sizeof text, "Ada %s", name);
    put(b, caregiver, "caregiver.name", text, author);
    snprintf(text, sizeof text, "01632 %06" PRIu64, number);
    put(b, caregiver, "caregiver.phone", text, author);
    surname(b, name);
    snprintf(text, sizeof text, "%" PRIu64 " %s Lane", 1 + chance(b, 90), name);
    put(b, caregiver, "caregiver.address", text, author);
    put(b, dog, "dog.name", dog_name(b), author);
    put(b, dog, "dog.caregiver", caregiver, author);
    put(b, dog, "dog.breed", "Dachshund", author);
    put(b, dog, "dog.sex", "female, spayed", author);
    put(b, visit, "visit.dog", dog, author);
    snprintf(text, sizeof text, "20%02d-%02d-%02dT10:00", (int)chance(b, 26),
             1 + (int)chance(b, 12), 1 + (int)chance(b, 28));
    put(b, visit, "visit.day", text, author);
    for (int i = 0; i < FINDINGS; i++)
        finding(b, visit, i, author);
    if (b->kept < DOGS_KEPT && chance(b, 20) == 0)
        memcpy(b->dogs[b->kept++], visit, IDENT_ROOM);
}

static void fill(struct bench *b, struct figures *x)
{
    char author[IDENT_ROOM];
    struct journal_counts c;
    ident_new(author);
    double from = now_ms();
    must(journal_begin(b->j, &b->f), b);
    for (uint64_t i = 0; i < x->dogs; i++) {
        fill_dog(b, i, author);
        if (i % 2000 == 1999) /* a write-ahead log of a few hundred megabytes helps nobody */
            must(journal_commit(b->j, &b->f) && journal_begin(b->j, &b->f), b);
    }
    must(journal_commit(b->j, &b->f), b);
    double seconds = (now_ms() - from) / 1e3;
    must(journal_count(b->j, &c, &b->f), b);
    x->entries = c.entries;
    x->fill_per_s = (double)c.entries / seconds;
}

/* ---- asking ---------------------------------------------------------------------------------- */

static const char *some_visit(struct bench *b)
{
    return b->dogs[chance(b, b->kept ? b->kept : 1)];
}

static void ask_heads(struct bench *b)
{
    struct heads h;
    must(journal_heads(b->j, b->a, some_visit(b), &h, &b->f), b);
}

static void ask_history(struct bench *b)
{
    struct heads h;
    must(journal_history(b->j, b->a, some_visit(b), "visit.finding_03", &h, &b->f), b);
}

static void ask_append(struct bench *b)
{
    put(b, some_visit(b), "visit.finding_40", "310 mm", "");
}

static void ask_draft(struct bench *b)
{
    must(journal_draft_put(b->j, some_visit(b), "visit.finding_40", "310", &b->f), b);
}

static void search(struct bench *b, const char *typed)
{
    const struct hit *hits;
    size_t count;
    must(journal_search(b->j, b->a, typed, 15, &hits, &count, &b->f), b);
}

static void ask_typed(struct bench *b)
{
    char name[64];
    surname(b, name);
    name[1 + chance(b, 6)] = '\0';
    search(b, name);
}

static void ask_misspelt(struct bench *b)
{
    char name[64];
    surname(b, name);
    size_t at = 1 + chance(b, 3);
    char c = name[at];
    name[at] = name[at + 1];
    name[at + 1] = c == name[at] ? 'x' : c;
    search(b, name);
}

static void ask_phone(struct bench *b)
{
    char digits[16];
    snprintf(digits, sizeof digits, "%06" PRIu64, chance(b, 100000));
    search(b, digits + chance(b, 3));
}

static void ask_day(struct bench *b)
{
    struct ids ids;
    char from[16], to[16];
    int year = (int)chance(b, 26), month = 1 + (int)chance(b, 12), day = 1 + (int)chance(b, 27);
    snprintf(from, sizeof from, "20%02d-%02d-%02d", year, month, day);
    snprintf(to, sizeof to, "20%02d-%02d-%02d", year, month, day + 1);
    must(journal_by_range(b->j, b->a, "visit.day", from, to, 50, &ids, &b->f), b);
}

static void measure(struct bench *b, void (*work)(struct bench *), double out[2])
{
    double times[TRIES];
    for (size_t i = 0; i < TRIES; i++) {
        double from = now_ms();
        work(b);
        times[i] = now_ms() - from;
        arena_reset(b->a);
    }
    quantiles(times, TRIES, out);
}

static void measure_open(struct bench *b, const char *folder, struct figures *x)
{
    double times[20], spread[2];
    struct journal_counts c;
    for (size_t i = 0; i < 20; i++) {
        journal_close(b->j);
        double from = now_ms();
        must(journal_open(&b->j, folder, JOURNAL_WRITE, &b->f), b);
        must(journal_count(b->j, &c, &b->f), b);
        times[i] = now_ms() - from;
    }
    quantiles(times, 20, spread);
    x->open = spread[0];
}

static void measure_care(struct bench *b, const char *folder, struct figures *x)
{
    char path[128];
    uint64_t checked;
    snprintf(path, sizeof path, "%s/copy.db", folder);
    double from = now_ms();
    must(journal_verify(b->j, &checked, &b->f), b);
    x->verify_s = (now_ms() - from) / 1e3;
    from = now_ms();
    must(journal_backup(b->j, path, &b->f), b);
    x->backup_s = (now_ms() - from) / 1e3;
}

static int remove_one(const char *path, const struct stat *st, int flag, struct FTW *at)
{
    (void)st, (void)flag, (void)at;
    return remove(path);
}

static void run(struct figures *x)
{
    char folder[] = "/var/tmp/amble-bench-XXXXXX", path[64];
    struct bench b = {.a = arena_new(), .random = 88172645463325252u};
    struct stat st;
    struct rusage usage;
    if (!mkdtemp(folder))
        exit(1);
    must(journal_open(&b.j, folder, JOURNAL_WRITE, &b.f), &b);
    fill(&b, x);
    measure_open(&b, folder, x);
    snprintf(path, sizeof path, "%s/journal.db", folder);
    if (stat(path, &st) == 0) {
        x->megabytes = (double)st.st_size / 1e6;
        x->bytes_per_entry = (double)st.st_size / (double)x->entries;
    }
    measure(&b, ask_heads, x->heads);
    measure(&b, ask_history, x->history);
    measure(&b, ask_typed, x->typed);
    measure(&b, ask_misspelt, x->misspelt);
    measure(&b, ask_phone, x->phone);
    measure(&b, ask_day, x->day);
    measure(&b, ask_append, x->append);
    measure(&b, ask_draft, x->draft);
    getrusage(RUSAGE_SELF, &usage);
    x->resident_kb = usage.ru_maxrss;
    measure_care(&b, folder, x);
    journal_close(b.j);
    arena_free(b.a);
    nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

/* ---- the table ------------------------------------------------------------------------------- */

static void row(const char *what, const struct figures *x, size_t n, size_t at, bool pair)
{
    printf("%-34s", what);
    for (size_t i = 0; i < n; i++) {
        const double *v = (const double *)(const void *)((const char *)&x[i] + at);
        if (pair)
            printf("    %8.3f / %7.3f", v[0], v[1]);
        else
            printf("    %18.3f", v[0]);
    }
    printf("\n");
}

int main(int argc, char **argv)
{
    struct figures x[COLUMNS_MOST] = {{.dogs = 100}, {.dogs = 100000}};
    size_t n = 2;
    for (int i = 1; i < argc && i <= COLUMNS_MOST; i++) {
        x[i - 1].dogs = strtoull(argv[i], NULL, 10);
        n = (size_t)i;
    }
    for (size_t i = 0; i < n; i++)
        run(&x[i]);
    printf("%-34s", "journal, ms (half / 95 in 100)");
    for (size_t i = 0; i < n; i++)
        printf("    %6" PRIu64 " dogs %6.2f M", x[i].dogs, (double)x[i].entries / 1e6);
    printf("\n");
#define ROW(what, member, pair) row(what, x, n, offsetof(struct figures, member), pair)
    ROW("open and count", open, false);
    ROW("everything current of one visit", heads, true);
    ROW("history of one finding", history, true);
    ROW("find as typed, 1 to 6 letters", typed, true);
    ROW("find, two letters swapped", misspelt, true);
    ROW("find by last digits", phone, true);
    ROW("visits of one day", day, true);
    ROW("a field saved (one flush)", append, true);
    ROW("a key typed, kept as a draft", draft, true);
    ROW("entries written a second, in bulk", fill_per_s, false);
    ROW("file, MB", megabytes, false);
    ROW("bytes an entry", bytes_per_entry, false);
    ROW("verify every chain, s", verify_s, false);
    ROW("backup with checks, s", backup_s, false);
    printf("%-34s", "largest resident, MB (fill too)");
    for (size_t i = 0; i < n; i++)
        printf("    %18.1f", (double)x[i].resident_kb / 1024);
    printf("\n");
    return 0;
}
