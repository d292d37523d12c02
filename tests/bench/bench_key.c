/* A key on the fit bench: what it costs to work everything out, and from the key to the paint.
 *
 *   bench_key          the calculations behind a key, then a real terminal at both sizes
 *
 * The first part is the best of five; the second says the median and the 95th in a hundred of 300
 * keys, from the byte written to the pseudo-terminal to the first byte that comes back.
 */
#include "base/text.h"
#include "casebook/bench.h"
#include "output/picture.h"
#include <errno.h>
#include <math.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* ---- without a terminal ---------------------------------------------------------------------- */

static volatile double sink;

static void work(const struct template_set *set, int rounds)
{
    struct bench b = {.set = set,
                      .dog = {.kg = 9.4,
                              .kg_within = 0.05,
                              .stance_mm = 321,
                              .stance_within = 1,
                              .withers_mm = 228,
                              .withers_within = 1,
                              .hip_mm = 131.5,
                              .fore_share = 0.63,
                              .fore_share_within = 0.01,
                              .fore_share_from = "two scales",
                              .cg_height_share = NAN},
                      .house = {9, 14, 710, 820, 780},
                      .hind_later = NAN};
    struct fit_setting s = {
        .frame = &set->frames[3], .axle_mm = 260, .wheel_mm = 109, .track_mm = 237};
    struct bench_view view;
    struct bench_number numbers[BENCH_NUMBERS_MOST];
    struct figure figure;
    struct text picture;
    text_init(&picture, 64 * 1024);
    for (int i = 0; i < rounds; i++) {
        s.axle_mm = bench_move(&b, &s, i % 40 < 20 ? 1 : -1, false);
        bench_try(&b, &s, &view);
        sink = (double)bench_numbers(&b, &s, &view, numbers);
        figure_side(&(struct figure_in){.in = &view.in.balance,
                                        .out = &view.out.balance,
                                        .withers_mm = 228,
                                        .front_axle_mm = NAN,
                                        .loads = true},
                    &figure);
        text_clear(&picture);
        picture_draw(&figure, &(struct picture_style){14, 32, true}, &picture);
    }
    text_free(&picture);
}

static int calculations(void)
{
    enum { ROUNDS = 500 };
    struct text said;
    text_init(&said, 10000);
    struct template_report report = {.lines = &said};
    struct template_set *set = template_load("config", NULL, &report);
    if (set == NULL || set->frame_count < 4) {
        (void)fprintf(stderr, "bench_key: %s\n", said.s);
        return 1;
    }
    double best = 1e9;
    for (int k = 0; k < 5; k++) {
        double start = now();
        work(set, ROUNDS);
        double each = (now() - start) * 1e6 / ROUNDS;
        best = each < best ? each : best;
    }
    printf("%-44s %8.0f us  goal 1000\n", "all numbers with uncertainty, and the picture", best);
    template_free(set);
    text_free(&said);
    return best > 1000;
}

/* ---- on a terminal --------------------------------------------------------------------------- */

static char seen[1 << 16];

/* Read until it is quiet for `quiet_ms`; the bytes read. */
static size_t read_quiet(int fd, int quiet_ms)
{
    size_t n = 0;
    seen[0] = '\0';
    for (;;) {
        struct pollfd p = {.fd = fd, .events = POLLIN};
        if (poll(&p, 1, quiet_ms) <= 0)
            return n;
        ssize_t got = read(fd, seen + n, sizeof seen - 1 - n);
        if (got <= 0)
            return n;
        n += (size_t)got;
        seen[n] = '\0';
        if (n > sizeof seen / 2)
            n = 0;
    }
}

/* Keys, each an element: an escape sequence must come in one piece. */
static void type(int fd, const char *const *keys, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (write(fd, keys[i], strlen(keys[i])) < 0)
            return;
        (void)read_quiet(fd, 80);
    }
}

static pid_t start(const char *program, const char *data, int rows, int cols, int *fd)
{
    struct winsize size = {.ws_row = (unsigned short)rows, .ws_col = (unsigned short)cols};
    pid_t pid = forkpty(fd, NULL, NULL, &size);
    if (pid == 0) {
        (void)setenv("TERM", "xterm-256color", 1);
        (void)setenv("LC_ALL", "C.UTF-8", 1);
        (void)setenv("AMBLE_NOW", "2026-11-24T09:30", 1);
        execl(program, program, "--shipped", "config", "--data", data, (char *)NULL);
        _exit(127);
    }
    return pid;
}

static int by_size(const void *x, const void *y)
{
    double a = *(const double *)x, b = *(const double *)y;
    return (a > b) - (a < b);
}

static int keys(const char *program, const char *data, int rows, int cols)
{
    enum { KEYS = 300 };
    int fd = -1;
    pid_t pid = start(program, data, rows, cols, &fd);
    double took[KEYS] = {0};
    size_t bytes = 0;
    (void)read_quiet(fd, 400);
    static const char *const way[] = {
        "f",      "b",      "i",      "s",      "\r", "\r",
        "\033[F", "\033[A", "\033[A", "\033[A", "\r"}; /* ... up to Fit */
    type(fd, way, sizeof way / sizeof *way);
    bool there = false;
    for (int i = 0; i < KEYS; i++) {
        const char *key = i % 16 < 8 ? "\033[C" : "\033[D";
        double begun = now();
        if (write(fd, key, 3) != 3)
            break;
        struct pollfd p = {.fd = fd, .events = POLLIN};
        if (poll(&p, 1, 1000) <= 0)
            break;
        took[i] = (now() - begun) * 1e3;
        bytes += read_quiet(fd, 8);
        there = there || i == KEYS - 1;
    }
    (void)kill(pid, SIGTERM);
    (void)waitpid(pid, NULL, 0);
    (void)close(fd);
    if (!there) {
        (void)fprintf(stderr, "bench_key: the bench did not answer its keys\n");
        return 1;
    }
    qsort(took, KEYS, sizeof *took, by_size);
    printf("key to paint %3d x %-3d %25.2f ms median, %.2f ms p95, %zu bytes a key\n", cols, rows,
           took[KEYS / 2], took[KEYS * 95 / 100], bytes / KEYS);
    return 0;
}

int main(void)
{
    const char *program = getenv("AMBLE_PROGRAM");
    char folder[] = "/tmp/amble-key-XXXXXX", command[300];
    int missed = calculations();
    if (program == NULL || mkdtemp(folder) == NULL)
        return missed;
    (void)fflush(stdout);
    pid_t pid = fork();
    if (pid == 0) {
        (void)setenv("AMBLE_NOW", "2026-11-24T09:30", 1);
        (void)freopen("/dev/null", "w", stdout);
        execl(program, program, "--shipped", "config", "--data", folder, "demo",
              "contrib/demo/e-biscuit.txt", (char *)NULL);
        _exit(127);
    }
    int status = 0;
    (void)waitpid(pid, &status, 0);
    missed +=
        status != 0 || keys(program, folder, 24, 80) != 0 || keys(program, folder, 43, 132) != 0;
    static const char *const names[] = {"journal.db", "journal.db-wal", "journal.db-shm",
                                        "journal.lock"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        (void)snprintf(command, sizeof command, "%s/%s", folder, names[i]);
        (void)unlink(command);
    }
    (void)rmdir(folder);
    return missed != 0;
}
