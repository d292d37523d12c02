/* How often the finder names the wrong number. Aims: unit slips 100 %, a 20 % slip 95 %, a 10 %
 * slip 85 %, cries of wolf under 3 %. What it reaches is printed, whatever it is. */
#include "tests/bench/trial.h"
#include "base/text.h"
#include "calc/isolate.h"
#include "tests/reference/crabs.h"
#include <stdio.h>

static void print_one(const struct body_type *type, const char *visit, const struct trial *t)
{
    printf("%s, %s: %d dogs, cries of wolf %.1f %%, a row out of its band %.1f %%\n", type->label,
           visit, t->clean, 100.0 * t->wolf / t->clean, 100.0 * t->wolf_row / t->clean);
    for (size_t i = 0; i < TRIAL_SLIPS; i++) {
        const struct trial_rate *r = &t->slips[i];
        printf("  %-12s named first %5.1f %%  first or its rival %5.1f %%  anything %5.1f %%  "
               "row out of band %5.1f %%\n",
               trial_slips[i].name, 100.0 * r->first / r->tried, 100.0 * r->pair / r->tried,
               100.0 * r->noticed / r->tried, 100.0 * r->row / r->tried);
    }
}

/* ---- outside data: 200 crabs, nobody's dogs and nobody's bands --------------------------------
 */

enum { L = CRAB_LENGTHS };

/* The largest eigenvalue of a symmetric matrix and its unit vector, by repeated multiplication. */
static double largest(const double *A, double *v)
{
    double size = 0;
    for (size_t i = 0; i < L; i++)
        v[i] = 1 + 0.1 * (double)i;
    for (int turn = 0; turn < 5000; turn++) {
        double next[L] = {0};
        size = 0;
        for (size_t i = 0; i < L; i++) {
            for (size_t k = 0; k < L; k++)
                next[i] += A[i * L + k] * v[k];
            size += next[i] * next[i];
        }
        size = sqrt(size);
        for (size_t i = 0; i < L; i++)
            v[i] = next[i] / size;
    }
    return size;
}

/* Logarithms, their means, and the precision: size is the first principal component, and its own
 * variance is taken to be the second's. */
static void crab_shape(double y[CRABS][L], double mean[L], double *R)
{
    double S[L * L] = {0}, rest[L * L], v1[L], v2[L];
    for (size_t j = 0; j < L; j++) {
        mean[j] = 0;
        for (size_t i = 0; i < CRABS; i++)
            mean[j] += (y[i][j] = log(crabs[i][j])) / CRABS;
    }
    for (size_t i = 0; i < CRABS; i++)
        for (size_t j = 0; j < L; j++)
            for (size_t k = 0; k < L; k++)
                S[j * L + k] += (y[i][j] - mean[j]) * (y[i][k] - mean[k]) / (CRABS - 1);
    double first = largest(S, v1);
    for (size_t j = 0; j < L * L; j++)
        rest[j] = S[j] - first * v1[j / L] * v1[j % L];
    double second = largest(rest, v2);
    for (size_t j = 0; j < L * L; j++)
        S[j] -= (first - second) * v1[j / L] * v1[j % L];
    (void)isolate_precision(S, v1, L, R);
}

static void crab_trial(void)
{
    static const double factors[] = {1.05, 1.1, 1.2, 1 / 2.54};
    /* as computed once with R: MASS 7.3-58.2, the same model */
    static const double known[][L] = {{.53, .335, .635, .59, .525},
                                      {.88, .475, .905, .785, .875},
                                      {1, .825, 1, .99, .99},
                                      {1, 1, 1, 1, 1}};
    static double y[CRABS][L];
    double mean[L], R[L * L], e[L];
    crab_shape(y, mean, R);
    printf("crabs of MASS, named first (beside it the figures of R):\n");
    for (size_t s = 0; s < sizeof factors / sizeof *factors; s++) {
        printf("  times %-5.3f", factors[s]);
        for (size_t which = 0; which < L; which++) {
            int hits = 0;
            for (size_t i = 0; i < CRABS; i++) {
                struct isolate_out out;
                size_t best = 0;
                for (size_t j = 0; j < L; j++)
                    e[j] = y[i][j] - mean[j] + (j == which ? log(factors[s]) : 0);
                isolate_solve(R, e, L, &out);
                for (size_t j = 1; j < L; j++)
                    best = out.share[j] > out.share[best] ? j : best;
                hits += best == which;
            }
            printf("  %.3f (%.3f)", (double)hits / CRABS, known[s][which]);
        }
        printf("\n");
    }
}

int main(void)
{
    struct text lines;
    text_init(&lines, 10000);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load("config", NULL, &report);
    if (set == NULL) {
        (void)fprintf(stderr, "trial: %s\n", lines.s);
        text_free(&lines);
        return 1;
    }
    printf("wrong-number trial (tests/bench/trial.h says how the dogs are made)\n"
           "aims: unit slips 100 %%, 20 %% slip 95 %%, 10 %% slip 85 %%, wolf under 3 %%\n");
    for (size_t i = 0; i < set->body_type_count; i++) {
        struct trial first = trial_run(set, &set->body_types[i], false),
                     again = trial_run(set, &set->body_types[i], true);
        print_one(&set->body_types[i], "first visit", &first);
        print_one(&set->body_types[i], "return visit", &again);
    }
    crab_trial();
    template_free(set);
    text_free(&lines);
    return 0;
}
