/* The program as a person feels it: start to first paint, key to paint, bytes a key, memory,
 * wake-ups; a small and a large practice side by side, and two general programs as yardsticks.
 *
 * scale_bench [DOGS...]: without numbers 100, and AMBLE_BENCH_DOGS when that is set (100000 is what
 * the goals speak of; it is filled once into $BUILD/scale-N, which takes minutes). A paint ends
 * with the last byte before QUIET_MS of silence, which is not counted.
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
    double ms;
    size_t bytes;
};

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

/* A line of /proc/PID/status as a number; 0 when there is none. */
static long status_of(pid_t pid, const char *name)
{
    char path[64], line[256];
    long value = 0;
    snprintf(path, sizeof path, "/proc/%ld/status", (long)pid);
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
    const char *before;  /* sent first, not measured */
    const char *keys[8]; /* measured one by one, again and again */
    int times;
};

enum { ACTS = 7 };
static const struct act amble_acts[ACTS] = {
    {"cursor down, up on Today", "", {"\033[B", "\033[B", "\033[A", "\033[A"}, PRESSES},
    {"a letter typed in Find", "f", {"b", "a", "r", "k", "\177", "\177", "\177", "\177"}, PRESSES},
    {"a letter, name misspelt", "", {"b", "r", "a", "k", "e", "n", "x", "\025"}, PRESSES},
    {"phone digits as the call comes", "", {"0", "0", "0", "0", "4", "2", "\025", ""}, PRESSES},
    {"a dog opened and left", "\025bisc", {"\r", "\021"}, 20},
    {"call: a letter in a field", "\021c\t\t\t\t\t\t\t\t\t\t\t\t", {"B", "i", "s", "c"}, PRESSES},
    {"call: field left, saved", "", {"\r", "A", "\r", "d"}, 24},
};
static const struct act calcurse_acts[ACTS] = {
    {"", "", {"\033[B", "\033[B", "\033[A", "\033[A"}, PRESSES}};
static const struct act newsboat_acts[ACTS] = {
    {"", "\r", {"\033[B", "\033[B", "\033[A", "\033[A"}, PRESSES}};

struct column {
    char title[32];
    double start[2], key[ACTS][2], bytes[ACTS];
    double idle, resident_mb;
    bool done[ACTS], there;
};

static void measure_act(const struct tty *t, const struct act *act, struct column *c, size_t at)
{
    double times[PRESSES], bytes[PRESSES];
    size_t n = 0, kinds = 0;
    while (kinds < 8 && act->keys[kinds] && *act->keys[kinds])
        kinds++;
    if (kinds == 0)
        return;
    if (*act->before)
        (void)press(t, act->before);
    for (int i = 0; i < act->times; i++) {
        struct paint p = press(t, act->keys[(size_t)i % kinds]);
        if (p.bytes == 0)
            continue;
        times[n] = p.ms;
        bytes[n++] = (double)p.bytes;
    }
    if (n == 0)
        return;
    double spread[2];
    quantiles(times, n, c->key[at]);
    quantiles(bytes, n, spread);
    c->bytes[at] = spread[0];
    c->done[at] = true;
}

static void measure(const char *const *argv, const struct act *acts, int first_ms, struct column *c)
{
    double starts[STARTS];
    struct tty t = {0};
    for (int i = 0; i < STARTS; i++) {
        double from = now_ms();
        t = start(argv);
        starts[i] = paint_wait(&t, from, first_ms).ms;
        if (i + 1 < STARTS)
            stop(&t);
    }
    quantiles(starts, STARTS, c->start);
    for (size_t i = 0; i < ACTS; i++)
        measure_act(&t, &acts[i], c, i);
    struct timespec rest = {.tv_sec = 2};
    long before = status_of(t.pid, "voluntary_ctxt_switches");
    nanosleep(&rest, NULL);
    c->idle = (double)(status_of(t.pid, "voluntary_ctxt_switches") - before) / 2;
    c->resident_mb = (double)status_of(t.pid, "VmHWM:") / 1024;
    c->there = true;
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

static void say_key(const struct column *c, size_t n, size_t act)
{
    printf("%-32s", amble_acts[act].name);
    for (size_t i = 0; i < n; i++) {
        if (c[i].done[act])
            printf("  %7.2f /%7.2f %5.0f B", c[i].key[act][0], c[i].key[act][1], c[i].bytes[act]);
        else
            printf("  %24s", "-");
    }
    printf("\n");
}

int main(int argc, char **argv)
{
    struct column c[COLUMNS_MOST] = {0};
    uint64_t dogs[COLUMNS_MOST] = {100, strtoull(environment("AMBLE_BENCH_DOGS", "0"), NULL, 10)};
    size_t n = dogs[1] > 0 ? 2 : 1;
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
    printf("%-32s", "screens, ms (half / 95 in 100)");
    for (size_t i = 0; i < n; i++)
        printf("  %24s", c[i].title);
    printf("\n%-32s", "start to first paint");
    for (size_t i = 0; i < n; i++)
        printf("  %7.2f /%7.2f        ", c[i].start[0], c[i].start[1]);
    printf("\n");
    for (size_t i = 0; i < ACTS; i++)
        say_key(c, n, i);
    printf("%-32s", "largest resident, MB");
    for (size_t i = 0; i < n; i++)
        printf("  %24.1f", c[i].resident_mb);
    printf("\n%-32s", "wake-ups a second, idle");
    for (size_t i = 0; i < n; i++)
        printf("  %24.1f", c[i].idle);
    printf("\n");
    if (!installed("newsboat") || !installed("calcurse"))
        printf("newsboat or calcurse is not installed: no yardstick beside it\n");
    return 0;
}
