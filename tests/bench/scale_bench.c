/* The program as a person feels it: start to first paint, key to paint, processor time and bytes a
 * key, memory, wake-ups; a small and a large practice side by side, and two general programs as
 * yardsticks.
 *
 * scale_bench [DOGS...]: without numbers 100 and AMBLE_BENCH_DOGS, or else 100,000 of them with
 * five million entries. They are filled once into $BUILD/scale-N, which takes about two minutes. A
 * paint ends with the last byte before QUIET_MS of silence, which is not counted. Processor time is
 * told beside the times because it stays much the same while other programs use the machine. Keys
 * that found a page of the record on the disk only, not in the system's memory, are told apart:
 * what they take is the disk's way into the system.
 */
#include "fill.h"
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { QUIET_MS = 30, STARTS = 15, PRESSES = 60, GIVE_UP_MS = 60000, COLUMNS_MOST = 6 };

/* One program on a terminal of 24 by 80. */
struct tty {
    int fd;
    pid_t pid;
};

struct paint {
    double ms, cpu_ms; /* to its last byte; of the process since it began */
    size_t bytes;
};

static double cpu_of(pid_t pid)
{
    char path[64], line[64] = "";
    snprintf(path, sizeof path, "/proc/%ld/schedstat", (long)pid);
    FILE *in = fopen(path, "r");
    bool read = in && fgets(line, sizeof line, in);
    if (in)
        fclose(in);
    return read ? strtod(line, NULL) / 1e6 : 0; /* nanoseconds come first */
}

/* Read until it is quiet; the time runs from `from` to the last byte. */
static struct paint paint_wait(const struct tty *t, double from, int first_ms)
{
    struct paint p = {0};
    char bytes[65536];
    int wait = first_ms;
    struct pollfd on = {.fd = t->fd, .events = POLLIN};
    while (poll(&on, 1, wait) > 0) {
        ssize_t n = read(t->fd, bytes, sizeof bytes);
        if (n <= 0)
            break;
        p.ms = now_ms() - from;
        p.cpu_ms = cpu_of(t->pid);
        p.bytes += (size_t)n;
        wait = QUIET_MS;
    }
    return p;
}

static struct tty start(const char *const *argv)
{
    struct tty t;
    struct winsize size = {.ws_row = 24, .ws_col = 80};
    t.pid = forkpty(&t.fd, NULL, NULL, &size);
    if (t.pid == 0) {
        setenv("TERM", "xterm-256color", 1);
        setenv("LC_ALL", "C.UTF-8", 1);
        execvp(argv[0], (char *const *)(uintptr_t)argv);
        _exit(127);
    }
    if (t.pid < 0)
        exit(1);
    return t;
}

static void stop(struct tty *t)
{
    kill(t->pid, SIGTERM);
    (void)paint_wait(t, now_ms(), 200);
    kill(t->pid, SIGKILL);
    waitpid(t->pid, NULL, 0);
    close(t->fd);
}

static struct paint press(const struct tty *t, const char *keys)
{
    double from = now_ms();
    if (write(t->fd, keys, strlen(keys)) < 0)
        exit(1);
    return paint_wait(t, from, 300);
}

/* A line of /proc/PID/FILE as a number; 0 when there is none. */
static long proc_of(pid_t pid, const char *file, const char *name)
{
    char path[64], line[256];
    long value = 0;
    snprintf(path, sizeof path, "/proc/%ld/%s", (long)pid, file);
    FILE *in = fopen(path, "r");
    while (in && fgets(line, sizeof line, in))
        if (strncmp(line, name, strlen(name)) == 0)
            value = strtol(line + strlen(name) + 1, NULL, 10);
    if (in)
        fclose(in);
    return value;
}

/* ---- what is measured ------------------------------------------------------------------------ */

/* Keys sent after each other and measured each, in one state of the program. */
struct act {
    const char *name;
    const char *before;     /* sent first, not measured */
    const char *keys[8];    /* measured one by one, again and again */
    const char *between[8]; /* sent before each of them, not measured */
    int times;
};

#define UP    "\033[A"
#define DOWN  "\033[B"
#define BACK  "\021" /* ^Q */
#define CLEAR "\025" /* ^U */
#define RUB   "\177"

enum { ACTS = 12 };
static const struct act amble_acts[ACTS] = {
    {"Today: cursor down, up", "", {DOWN, DOWN, UP, UP}, .times = PRESSES},
    {"Find: a letter", "f", {"b", "a", "r", "k", RUB, RUB, RUB, RUB}, .times = PRESSES},
    {"Find: a letter, name misspelt",
     CLEAR,
     {"b", "r", "a", "k", "e", "n", "x", CLEAR},
     .times = PRESSES},
    {"Find: phone digits as it rings",
     CLEAR,
     {"0", "0", "0", "0", "4", "2", CLEAR},
     .times = PRESSES},
    {"Dog: opened and left", CLEAR "bisc", {"\r", BACK}, .times = 20},
    {"Visit: cursor down, up", "\r\r", {DOWN, DOWN, UP, UP}, .times = PRESSES},
    {"Examination: opened and left", DOWN, {"\r", BACK}, .times = 20},
    {"Examination: a digit typed",
     "\r",
     {"3", "8", ".", "5", RUB, RUB, RUB, RUB},
     .times = PRESSES},
    {"Examination: field left, saved",
     "38.4\r",
     {"\r", "\r"},
     {UP CLEAR "38.5", UP CLEAR "38.6"},
     24},
    {"the same, next key at once", UP, {"\r" UP, "\r" UP}, {CLEAR "38.5", CLEAR "38.6"}, 24},
    {"Examination: down through it",
     "",
     {DOWN, DOWN, DOWN, DOWN, DOWN, DOWN, DOWN, DOWN},
     .times = 40},
    {"Call: question answered, saved",
     BACK BACK BACK BACK "c",
     {"n", UP, "y", UP},
     .times = PRESSES},
};
static const struct act calcurse_acts[ACTS] = {{"", "", {DOWN, DOWN, UP, UP}, .times = PRESSES}};
static const struct act newsboat_acts[ACTS] = {{"", "\r", {DOWN, DOWN, UP, UP}, .times = PRESSES}};

/* What one act cost: half of the tries and 95 of a hundred; bytes and memory are the half. */
struct cost {
    double key[2], cpu[2], cold[2], bytes, resident_mb; /* cold: how many keys, and the worst cpu */
    bool known;
};

struct column {
    char title[32];
    double start[2], start_cpu, start_least;
    struct cost acts[ACTS];
    double idle, resident_mb;
};

static double resident_mb(pid_t pid, const char *line)
{
    return (double)proc_of(pid, "status", line) / 1024;
}

static struct cost measure_act(const struct tty *t, const struct act *act)
{
    double times[PRESSES], cpu[PRESSES], bytes[PRESSES], spread[2];
    struct cost c = {0};
    size_t n = 0, kinds = 0;
    while (kinds < 8 && act->keys[kinds])
        kinds++;
    if (kinds == 0)
        return c;
    if (*act->before)
        (void)press(t, act->before);
    for (int i = 0; i < act->times; i++) {
        size_t which = (size_t)i % kinds;
        if (act->between[which])
            (void)press(t, act->between[which]);
        double from = cpu_of(t->pid);
        long fetched = proc_of(t->pid, "io", "read_bytes");
        struct paint p = press(t, act->keys[which]);
        double took = cpu_of(t->pid) - from; /* and what came after the paint */
        if (p.bytes == 0)
            continue;
        if (proc_of(t->pid, "io", "read_bytes") > fetched) {
            c.cold[0]++;
            c.cold[1] = took > c.cold[1] ? took : c.cold[1];
            continue;
        }
        times[n] = p.ms;
        cpu[n] = took;
        bytes[n++] = (double)p.bytes;
    }
    if (n == 0)
        return c;
    quantiles(times, n, c.key);
    quantiles(bytes, n, spread);
    c.bytes = spread[0];
    quantiles(cpu, n, c.cpu);
    c.resident_mb = resident_mb(t->pid, "VmRSS:");
    c.known = true;
    return c;
}

static struct tty measure_start(const char *const *argv, int first_ms, struct column *c)
{
    double starts[STARTS], cpu[STARTS], spread[2];
    struct tty t = {0};
    for (int i = 0; i < STARTS; i++) {
        double from = now_ms();
        t = start(argv);
        struct paint p = paint_wait(&t, from, first_ms);
        starts[i] = p.ms;
        cpu[i] = p.cpu_ms;
        if (i + 1 < STARTS)
            stop(&t);
    }
    quantiles(starts, STARTS, c->start);
    quantiles(cpu, STARTS, spread);
    c->start_least = starts[0];
    c->start_cpu = cpu[0];
    return t;
}

static void measure(const char *const *argv, const struct act *acts, int first_ms, struct column *c)
{
    struct tty t = measure_start(argv, first_ms, c);
    for (size_t i = 0; i < ACTS; i++)
        c->acts[i] = measure_act(&t, &acts[i]);
    struct timespec rest = {.tv_sec = 2};
    long before = proc_of(t.pid, "status", "voluntary_ctxt_switches");
    nanosleep(&rest, NULL);
    c->idle = (double)(proc_of(t.pid, "status", "voluntary_ctxt_switches") - before) / 2;
    c->resident_mb = resident_mb(t.pid, "VmHWM:");
    stop(&t);
}

/* ---- the programs and their data ------------------------------------------------------------- */

static const char *environment(const char *name, const char *other)
{
    const char *value = getenv(name);
    return value && *value ? value : other;
}

static void amble_fill(const char *folder, uint64_t dogs)
{
    char part[256];
    struct bench b = {.a = arena_new(), .random = 88172645463325252u};
    if (access(folder, F_OK) == 0)
        return;
    snprintf(part, sizeof part, "%s.part", folder);
    fprintf(stderr, "filling %s ...\n", folder);
    must(journal_open(&b.j, part, JOURNAL_WRITE, &b.f), &b);
    fill(&b, dogs);
    journal_close(b.j);
    arena_free(b.a);
    if (rename(part, folder) != 0)
        exit(1);
}

static void amble_measure(uint64_t dogs, struct column *c)
{
    char folder[200];
    snprintf(folder, sizeof folder, "%s/scale-%" PRIu64, environment("BUILD", "build"), dogs);
    amble_fill(folder, dogs);
    const char *argv[] = {environment("AMBLE_PROGRAM", "build/amble"), "--data", folder, NULL};
    snprintf(c->title, sizeof c->title, "amble %" PRIu64, dogs);
    measure(argv, amble_acts, GIVE_UP_MS, c);
}

static bool installed(const char *program)
{
    char path[64];
    snprintf(path, sizeof path, "/usr/bin/%s", program);
    return access(path, X_OK) == 0;
}

/* As many appointments as there are dogs, in the order the program itself keeps. */
static void calcurse_measure(uint64_t n, struct column *c)
{
    char folder[200], path[256];
    snprintf(folder, sizeof folder, "%s/scale-calcurse", environment("BUILD", "build"));
    mkdir(folder, 0700);
    snprintf(path, sizeof path, "%s/apts", folder);
    FILE *out = fopen(path, "w");
    for (uint64_t i = 0; out && i < n; i++) {
        unsigned month = (unsigned)(i * 300 / n);
        fprintf(out, "%02u/15/%u @ 10:00 -> %02u/15/%u @ 11:00 |Visit %" PRIu64 "\n",
                1 + month % 12, 2000 + month / 12, 1 + month % 12, 2000 + month / 12, i);
    }
    if (!out || fclose(out) != 0)
        return;
    const char *argv[] = {"calcurse", "-D", folder, NULL};
    measure(argv, calcurse_acts, 3000, c);
}

/* A feed of as many articles as there are dogs, read once into its database. */
static void newsboat_measure(uint64_t n, struct column *c)
{
    char folder[200], feed[400], urls[256], cache[256], where[512];
    if (!realpath(environment("BUILD", "build"), where))
        return;
    snprintf(folder, sizeof folder, "%.150s/scale-newsboat", where);
    mkdir(folder, 0700);
    snprintf(feed, sizeof feed, "%s/feed.xml", folder);
    snprintf(urls, sizeof urls, "%s/urls", folder);
    snprintf(cache, sizeof cache, "%s/cache.db", folder);
    FILE *out = fopen(feed, "w"), *list = fopen(urls, "w");
    if (!out || !list)
        return;
    fprintf(list, "file://%s\n", feed);
    fprintf(out, "<rss version=\"2.0\"><channel><title>Visits</title>");
    for (uint64_t i = 0; i < n; i++)
        fprintf(out, "<item><title>Visit %" PRIu64 "</title><guid>%" PRIu64 "</guid></item>", i, i);
    fprintf(out, "</channel></rss>\n");
    fclose(out);
    fclose(list);
    const char *argv[] = {"newsboat", "-u", urls, "-c", cache, NULL, NULL, NULL};
    const char *reload[] = {"newsboat", "-u", urls, "-c", cache, "-x", "reload", NULL};
    struct tty t = start(reload);
    waitpid(t.pid, NULL, 0);
    close(t.fd);
    measure(argv, newsboat_acts, 3000, c);
}

/* ---- the table ------------------------------------------------------------------------------- */

static void head(const char *what, const struct column *c, size_t n)
{
    printf("%-32s", what);
    for (size_t i = 0; i < n; i++)
        printf("  %17s", c[i].title);
    printf("\n");
}

static void row(const char *what, const struct column *c, size_t n, size_t at)
{
    printf("  %-30s", what);
    for (size_t i = 0; i < n; i++) {
        double value;
        memcpy(&value, (const char *)&c[i] + at, sizeof value);
        printf("  %17.2f", value);
    }
    printf("\n");
}

static void row_pair(const char *what, const struct column *c, size_t n, size_t at)
{
    printf("  %-30s", what);
    for (size_t i = 0; i < n; i++) {
        double pair[2];
        memcpy(pair, (const char *)&c[i] + at, sizeof pair);
        printf("  %8.2f /%7.2f", pair[0], pair[1]);
    }
    printf("\n");
}

static void say_start(const struct column *c, size_t n)
{
    head("start to first paint, ms", c, n);
    row_pair("half / 95 in 100", c, n, offsetof(struct column, start));
    row("the least", c, n, offsetof(struct column, start_least));
    row("processor time, the least", c, n, offsetof(struct column, start_cpu));
}

/* One figure of every act; where a program has no such act its column is empty. */
static void say_acts(const char *what, const struct column *c, size_t n, size_t member, bool pair)
{
    head(what, c, n);
    for (size_t act = 0; act < ACTS; act++) {
        printf("  %-30s", amble_acts[act].name);
        for (size_t i = 0; i < n; i++) {
            double value[2];
            memcpy(value, (const char *)&c[i].acts[act] + member,
                   pair ? sizeof value : sizeof *value);
            if (!c[i].acts[act].known)
                printf("  %17s", "");
            else if (pair)
                printf("  %8.2f /%7.2f", value[0], value[1]);
            else
                printf("  %17.2f", value[0]);
        }
        printf("\n");
    }
}

int main(int argc, char **argv)
{
    struct column c[COLUMNS_MOST] = {0};
    uint64_t dogs[COLUMNS_MOST] = {100,
                                   strtoull(environment("AMBLE_BENCH_DOGS", "100000"), NULL, 10)};
    size_t n = 2;
    for (int i = 1; i < argc && i <= COLUMNS_MOST - 2; i++) {
        dogs[i - 1] = strtoull(argv[i], NULL, 10);
        n = (size_t)i;
    }
    uint64_t most = dogs[n - 1];
    for (size_t i = 0; i < n; i++)
        amble_measure(dogs[i], &c[i]);
    if (installed("newsboat")) {
        snprintf(c[n].title, sizeof c[n].title, "newsboat %" PRIu64, most);
        newsboat_measure(most, &c[n++]);
    }
    if (installed("calcurse")) {
        snprintf(c[n].title, sizeof c[n].title, "calcurse %" PRIu64, most);
        calcurse_measure(most, &c[n++]);
    }
    say_start(c, n);
    say_acts("key to paint, half / 95, ms", c, n, offsetof(struct cost, key), true);
    say_acts("processor time, half / 95, ms", c, n, offsetof(struct cost, cpu), true);
    say_acts("keys that read the disk, of all; the dearest of them, ms", c, n,
             offsetof(struct cost, cold), true);
    say_acts("bytes a key, half", c, n, offsetof(struct cost, bytes), false);
    say_acts("resident afterwards, MB", c, n, offsetof(struct cost, resident_mb), false);
    head("", c, n);
    row("largest resident, MB", c, n, offsetof(struct column, resident_mb));
    row("wake-ups a second, idle", c, n, offsetof(struct column, idle));
    if (!installed("newsboat") || !installed("calcurse"))
        printf("newsboat or calcurse is not installed: no yardstick beside it\n");
    return 0;
}
