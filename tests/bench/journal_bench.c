/* How quick the record is, small and large side by side.
 *
 * journal_bench [DOGS...]: fills a record for each number of dogs (100 and 100,000), fifty entries
 * a dog, and prints one column for each. Times are milliseconds, half of the tries / 95 of a
 * hundred.
 */
#include "base/text.h"
#include "measured.h"
#include <ftw.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

enum { TRIES = 400, COLUMNS_MOST = 4 };

struct figures {
    uint64_t dogs, entries;
    double fill_per_s, bytes_per_entry, megabytes;
    double open, heads[2], history[2], append[2], draft[2], typed[2], misspelt[2], phone[2], day[2],
        count;
    double learned[2], known[2], looked[2];
    double backup_s, verify_s;
    long resident_kb;
};

static void fill_timed(struct bench *b, struct figures *x)
{
    struct journal_counts c;
    double from = now_ms();
    fill(b, x->dogs);
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

/* On top of the filled practice 400 measured visits, the latest: what they teach and what it costs.
 */
static void measure_learning(struct bench *b, struct figures *x)
{
    struct text lines;
    text_init(&lines, 10000);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load("config", NULL, &report);
    if (set == NULL) {
        fprintf(stderr, "bench: %s\n", lines.s);
        exit(1);
    }
    struct measured m = {.b = b, .cb = {.journal = b->j, .set = set}};
    setenv("AMBLE_NOW", "2026-11-24T09:30", 1);
    snprintf(m.cb.author, sizeof m.cb.author, "%s", journal_setting(b->j, b->a, "practitioner"));
    measured_fill(&m);
    measured_times(&m, measured_renew, 9, x->learned);
    measured_times(&m, measured_read, 200, x->known);
    measured_times(&m, measured_look, 200, x->looked);
    template_free(set);
    text_free(&lines);
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
    fill_timed(&b, x);
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
    measure_learning(&b, x);
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
    printf("%-36s", what);
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
    printf("%-36s", "journal, ms (half / 95 in 100)");
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
    ROW("learned from 400 visits, once a day", learned, true);
    ROW("observers and own proportions read", known, true);
    ROW("a Measures screen, all of it", looked, true);
    ROW("entries written a second, in bulk", fill_per_s, false);
    ROW("file, MB", megabytes, false);
    ROW("bytes an entry", bytes_per_entry, false);
    ROW("verify every chain, s", verify_s, false);
    ROW("backup with checks, s", backup_s, false);
    printf("%-36s", "largest resident, MB (fill too)");
    for (size_t i = 0; i < n; i++)
        printf("    %18.1f", (double)x[i].resident_kb / 1024);
    printf("\n");
    return 0;
}
