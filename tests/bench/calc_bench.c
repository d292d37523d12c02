/* How long the calculations take, and whether they leave the heap alone.
 *
 * Each figure is the best of five runs: other work on the machine only ever adds.
 */
#include "calc/axle.h"
#include "calc/balance.h"
#include "calc/proportion.h"
#include "tests/reference/oracle_dog.h"
#include <malloc.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static volatile double sink; /* so that no run is optimised away */

static void balances(int rounds)
{
    struct balance_in in = oracle_dog(340);
    struct balance_out out;
    for (int i = 0; i < rounds; i++) {
        in.axle_mm = 300 + i % 100;
        if (balance_solve(&in, &out, NULL))
            sink = out.fore_load_n;
    }
}

/* Every number the fit bench has, each with an uncertainty. */
static void spreads(int rounds)
{
    struct balance_in in = oracle_dog(340), u;
    struct balance_out out, spread;
    for (size_t i = 0; i < balance_keys_in_count; i++)
        calc_put(&balance_keys_in[i], &u, 0.01);
    for (int i = 0; i < rounds; i++) {
        in.axle_mm = 300 + i % 100;
        if (balance_spread(&in, &u, &out, &spread, NULL))
            sink = spread.fore_load_n;
    }
}

static void tables(int rounds)
{
    struct balance_in in = oracle_dog(340);
    struct axle_row rows[7];
    for (int i = 0; i < rounds; i++)
        if (axle_table(&in, 300, 420, 7, rows, NULL))
            sink = rows[6].out.fore_load_n;
}

/* Sixteen measures, a relation from each to withers height and some between them, one an inch for a
 * centimetre: everything the outlier finder can be asked to do. */
static void suspects(int rounds)
{
    enum { MEASURES = 16, RELATIONS = 22 };
    static const char *const ids[MEASURES] = {"a", "b", "c", "d", "e", "f", "g", "h",
                                              "i", "j", "k", "l", "m", "n", "o", "p"};
    struct proportion_measure m[MEASURES];
    struct proportion_relation r[RELATIONS];
    struct proportion_check checks[RELATIONS];
    struct proportion_out out;
    for (int i = 0; i < MEASURES; i++)
        m[i] = (struct proportion_measure){ids[i], 100 + 10 * i};
    for (int i = 0; i < RELATIONS; i++) {
        int of = 1 + i % (MEASURES - 1), to = i < MEASURES - 1 ? 0 : (of + 5) % MEASURES;
        double ratio = m[of].value / m[to].value;
        r[i] = (struct proportion_relation){
            .of = ids[of], .to = ids[to], .low = 0.9 * ratio, .high = 1.1 * ratio};
    }
    m[5].value /= 2.54;
    for (int i = 0; i < rounds; i++)
        if (proportion_solve(m, MEASURES, r, RELATIONS, checks, &out, NULL))
            sink = out.ranked[0].corrected;
}

int main(void)
{
    static const struct {
        const char *what;
        void (*run)(int rounds);
        int rounds;
        double goal_us;
    } rows[] = {
        {"balance", balances, 1000000, 0},
        {"balance with every uncertainty", spreads, 20000, 20},
        {"axle table of 7 positions", tables, 100000, 0},
        {"suspect among 16 measures, with slips", suspects, 5000, 200},
    };
    int missed = 0;
    printf("%-38s %10s %10s %10s\n", "calculation", "us each", "goal us", "heap bytes");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double best = 1e9;
        struct mallinfo2 before = mallinfo2();
        for (int k = 0; k < 5; k++) {
            double start = now();
            rows[i].run(rows[i].rounds);
            double each = (now() - start) * 1e6 / rows[i].rounds;
            best = each < best ? each : best;
        }
        struct mallinfo2 after = mallinfo2();
        char goal[16] = "-";
        if (rows[i].goal_us > 0)
            snprintf(goal, sizeof goal, "%g", rows[i].goal_us);
        printf("%-38s %10.3f %10s %10zu\n", rows[i].what, best, goal,
               after.uordblks - before.uordblks + after.hblkhd - before.hblkhd);
        missed += rows[i].goal_us > 0 && best > rows[i].goal_us;
    }
    return missed > 0;
}
