/* How often the finder names the wrong number. Aims: unit slips 100 %, a 20 % slip 95 %, a 10 %
 * slip 85 %, cries of wolf under 3 %. What it reaches is printed, whatever it is, and beside it
 * what an oracle reaches that knows how the dogs were made, which nobody can better.
 */
#include "tests/bench/trial.h"
#include "base/text.h"
#include "tests/reference/crabs.h"
#include "tests/reference/parity.h"
#include <stdio.h>

static double percent(int hits, int of)
{
    return of == 0 ? 0 : 100.0 * hits / of;
}

static void print_one(const struct body_type *type, const char *world, const struct trial *t)
{
    printf("%s, %s: %d dogs of %d lengths, cries of wolf %.1f %%", type->label, world, t->clean,
           t->lengths, percent(t->wolf, t->clean));
    if (t->odd_clean > 0)
        printf(", on dogs that leave their bands now and then %.1f %%",
               percent(t->odd_wolf, t->odd_clean));
    printf("\n                named first   oracle   told   another told   in one reading: third "
           "asked\n");
    for (size_t i = 0; i < TRIAL_SLIPS; i++) {
        const struct trial_rate *r = &t->slips[i];
        printf("  %-12s      %5.1f %%  %5.1f %% %5.1f %%        %5.1f %%                       "
               "%5.1f %%\n",
               trial_slips[i].name, percent(r->first, r->tried), percent(r->oracle, r->tried),
               percent(r->told, r->tried), percent(r->wrong, r->tried),
               percent(r->third, r->tried));
    }
}

/* ---- outside data: 200 crabs, nobody's dogs and nobody's bands ------------------------------- */

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

/* The program's own finder, told only how each pair of lengths spreads. */
static size_t crab_pairs(double y[CRABS][L], struct proportion_relation *pairs)
{
    static const char *const ids[L] = {"FL", "RW", "CL", "CW", "BD"};
    size_t count = 0;
    for (size_t j = 0; j < L; j++)
        for (size_t k = 0; k < j; k++) {
            double mean = 0, sum = 0;
            for (size_t i = 0; i < CRABS; i++)
                mean += (y[i][j] - y[i][k]) / CRABS;
            for (size_t i = 0; i < CRABS; i++)
                sum += pow(y[i][j] - y[i][k] - mean, 2);
            double sd = sqrt(sum / (CRABS - 1));
            pairs[count++] = (struct proportion_relation){
                .of = ids[j], .to = ids[k], .low = exp(mean - 2 * sd), .high = exp(mean + 2 * sd)};
        }
    return count;
}

static size_t finder_names(const double *ln, const struct proportion_relation *pairs, size_t count)
{
    static const char *const ids[L] = {"FL", "RW", "CL", "CW", "BD"};
    struct proportion_measure m[L];
    struct proportion_check checks[L * L];
    struct proportion_out out = {0};
    for (size_t j = 0; j < L; j++)
        m[j] = (struct proportion_measure){ids[j], exp(ln[j])};
    (void)proportion_solve(m, L, pairs, count, checks, &out, NULL);
    return out.count > 0 ? out.ranked[0].measure : L;
}

static size_t theory_names(const double *ln, const double *mean, const double *R)
{
    struct isolate_out out;
    double e[L];
    size_t best = 0;
    for (size_t j = 0; j < L; j++)
        e[j] = ln[j] - mean[j];
    isolate_solve(R, e, L, &out);
    for (size_t j = 1; j < L; j++)
        best = out.share[j] > out.share[best] ? j : best;
    return best;
}

static void crab_trial(void)
{
    static const double factors[] = {1.05, 1.1, 1.2, 1 / 2.54};
    /* as computed once with R: MASS 7.3-58.2, size the first principal component */
    static const double known[][L] = {{.53, .335, .635, .59, .525},
                                      {.88, .475, .905, .785, .875},
                                      {1, .825, 1, .99, .99},
                                      {1, 1, 1, 1, 1}};
    static double y[CRABS][L];
    struct proportion_relation pairs[L * L];
    double mean[L], R[L * L];
    crab_shape(y, mean, R);
    size_t count = crab_pairs(y, pairs);
    printf(
        "crabs of MASS, named first: our finder with a band for each pair, size one factor of all\n"
        "(the full covariance with size as their first principal component; as R has it)\n");
    for (size_t s = 0; s < sizeof factors / sizeof *factors; s++) {
        printf("  times %-5.3f", factors[s]);
        for (size_t which = 0; which < L; which++) {
            int hits = 0, theory = 0;
            for (size_t i = 0; i < CRABS; i++) {
                double spoilt[L];
                for (size_t j = 0; j < L; j++)
                    spoilt[j] = y[i][j] + (j == which ? log(factors[s]) : 0);
                hits += finder_names(spoilt, pairs, count) == which;
                theory += theory_names(spoilt, mean, R) == which;
            }
            printf("  %.3f (%.3f; %.3f)", (double)hits / CRABS, (double)theory / CRABS,
                   known[s][which]);
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
    static const char *const worlds[] = {
        [TRIAL_FIRST] = "first visit, published bands",
        [TRIAL_LEARNED] = "first visit, 40 own dogs",
        [TRIAL_RETURN] = "return visit",
    };
    for (size_t i = 0; i < set->body_type_count; i++)
        for (size_t w = 0; w < sizeof worlds / sizeof *worlds; w++) {
            struct trial t = trial_run(set, &set->body_types[i], (enum trial_world)w, TRIAL_DOGS);
            print_one(&set->body_types[i], worlds[w], &t);
        }
    crab_trial();
    template_free(set);
    text_free(&lines);
    return 0;
}
