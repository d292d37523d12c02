#include "calc/proportion_web.h"
#include "calc/linear.h"
#include <math.h>
#include <string.h>

#define CLOSE 1e-2 /* a spread this near to what its band says, as a share */

enum { ROUNDS = 60 };

const struct usual_slip usual_slips[USUAL] = {
    {SLIP_INCH, 2.54},   {SLIP_INCH, 1 / 2.54}, {SLIP_TENFOLD, 10},
    {SLIP_TENFOLD, 0.1}, {SLIP_DOUBLE, 0.5},    {SLIP_HALF, 2},
};

/* ---- the joint shape ------------------------------------------------------------------------- */

/* ln of the ratio */
static double tie_ln(const struct tie *t, const double *y)
{
    double of = y[t->at[OF]], to = y[t->at[TO]];
    if (t->at[PLUS] != NOT_MEASURED)
        of += log1p(exp(y[t->at[PLUS]] - of));
    if (t->at[ACROSS] != NOT_MEASURED)
        to += log1p(exp(2 * (y[t->at[ACROSS]] - to))) / 2;
    return of - to;
}

double tie_ratio(const struct tie *t, const double *y)
{
    return exp(tie_ln(t, y));
}

static void tie_slope(struct tie *t, const double *y)
{
    t->slopes[OF] = 1;
    t->slopes[TO] = -1;
    if (t->at[PLUS] != NOT_MEASURED) {
        double share = 1 / (1 + exp(y[t->at[PLUS]] - y[t->at[OF]]));
        t->slopes[OF] = share;
        t->slopes[PLUS] = 1 - share;
    }
    if (t->at[ACROSS] != NOT_MEASURED) {
        double share = 1 / (1 + exp(2 * (y[t->at[ACROSS]] - y[t->at[TO]])));
        t->slopes[TO] = -share;
        t->slopes[ACROSS] = share - 1;
    }
}

static void join(struct web *web, size_t a, size_t b)
{
    size_t keep = web->group[a], drop = web->group[b];
    for (size_t i = 0; i < web->n; i++)
        if (web->group[i] == drop)
            web->group[i] = keep;
}

void web_add(struct web *web, const struct proportion_relation *r, const size_t at[SIDES])
{
    double low = log(r->low), high = log(r->high), sd = (high - low) / 4;
    struct tie *t = &web->ties[web->tie_count++];
    *t = (struct tie){.middle = (low + high) / 2,
                      .sd = sd,
                      .low = r->low,
                      .high = r->high,
                      .weight = 1 / (sd * sd)};
    for (size_t i = 0; i < SIDES; i++) {
        t->at[i] = at[i];
        if (at[i] != NOT_MEASURED)
            join(web, at[OF], at[i]);
    }
}

static double off_middle(const struct tie *t, const double *y)
{
    return t->middle - tie_ln(t, y);
}

double web_misfit(const struct web *web, const double *y)
{
    double sum = 0;
    for (size_t i = 0; i < web->tie_count; i++) {
        double off = off_middle(&web->ties[i], y);
        sum += web->ties[i].weight * off * off;
    }
    return sum;
}

/* The precision, and what pulls towards the middles, at the expected shape. */
static void pull(struct web *web, double *b, double *R)
{
    size_t n = web->n;
    memset(R, 0, n * n * sizeof R[0]);
    memset(b, 0, n * sizeof b[0]);
    for (size_t i = 0; i < web->tie_count; i++) {
        struct tie *t = &web->ties[i];
        double off = off_middle(t, web->expected);
        tie_slope(t, web->expected);
        for (size_t k = 0; k < SIDES; k++) {
            if (t->at[k] == NOT_MEASURED)
                continue;
            b[t->at[k]] += t->weight * t->slopes[k] * off;
            for (size_t m = 0; m < SIDES; m++)
                if (t->at[m] != NOT_MEASURED)
                    R[t->at[k] * n + t->at[m]] += t->weight * t->slopes[k] * t->slopes[m];
        }
    }
}

static double spread_of(const struct tie *t, const double *C, size_t n)
{
    double variance = 0;
    for (size_t k = 0; k < SIDES; k++)
        for (size_t m = 0; t->at[k] != NOT_MEASURED && m < SIDES; m++)
            if (t->at[m] != NOT_MEASURED)
                variance += t->slopes[k] * t->slopes[m] * C[t->at[k] * n + t->at[m]];
    return sqrt(fmax(variance, 0));
}

/* One step (Gauss and Newton) towards the shape all ties pull to, and the covariance about it. The
 * ridge leaves free what no tie holds, the size first of all. */
static bool step(struct web *web, double *C, double *furthest)
{
    size_t n = web->n;
    double b[PROPORTION_MOST], most = 0;
    pull(web, b, C);
    for (size_t i = 0; i < n; i++)
        most = fmax(most, C[i * n + i]);
    for (size_t i = 0; i < n; i++)
        C[i * n + i] += 1e-7 * most;
    if (!linear_inverse(C, n, C))
        return false;
    *furthest = 0;
    for (size_t i = 0; i < n; i++) {
        double by = 0;
        for (size_t k = 0; k < n; k++)
            by += C[i * n + k] * b[k];
        *furthest = fmax(*furthest, fabs(by));
        web->expected[i] += fmax(-1, fmin(1, by));
    }
    return true;
}

/* Of a tie that has nothing of its own to say. */
static double least_weight(const struct tie *t)
{
    return 1e-6 / (t->sd * t->sd);
}

bool web_settle(struct web *web)
{
    double C[PROPORTION_MOST * PROPORTION_MOST], off = 1, held = 0;
    memcpy(web->expected, web->y, sizeof web->expected);
    for (int round = 0; round < ROUNDS && off > 1e-3; round++)
        if (!step(web, C, &off))
            return false;
    off = 1;
    for (int round = 0; round < ROUNDS && off > CLOSE; round++) {
        double wide[PROPORTION_RELATIONS_MOST]; /* its spread over what its band says */
        held = off = 0;
        for (size_t i = 0; i < web->tie_count; i++) {
            const struct tie *t = &web->ties[i];
            double spread = spread_of(t, C, web->n);
            wide[i] = spread / t->sd;
            held += t->weight * spread * spread;
            if (wide[i] > 1 || t->weight > least_weight(t))
                off = fmax(off, fabs(wide[i] - 1));
        }
        for (size_t i = 0; i < web->tie_count && off > CLOSE; i++) {
            struct tie *t = &web->ties[i];
            t->weight = fmax(t->weight * wide[i] * wide[i], least_weight(t));
        }
        double moved;
        if (!step(web, C, &moved))
            return false;
    }
    web->freedom = (size_t)(held + 0.5);
    web->least = web_misfit(web, web->expected);
    return true;
}

/* ---- one measure left out -------------------------------------------------------------------- */

bool tie_has(const struct tie *t, size_t measure)
{
    bool stands = false;
    for (size_t k = 0; k < SIDES; k++)
        stands = stands || t->at[k] == measure;
    return stands;
}

/* What of the misfit a measure has a part in, when it is `value`. */
static double part_of(const struct web *web, size_t measure, double value)
{
    double sum = 0, y[PROPORTION_MOST];
    memcpy(y, web->y, sizeof y);
    y[measure] = value;
    for (size_t i = 0; i < web->tie_count; i++)
        if (tie_has(&web->ties[i], measure)) {
            double off = off_middle(&web->ties[i], y);
            sum += web->ties[i].weight * off * off;
        }
    return sum;
}

/* From `value` downhill, by halved steps of Gauss and Newton. */
static double descend(const struct web *web, size_t measure, double value, double *firm)
{
    double y[PROPORTION_MOST], now = part_of(web, measure, value);
    memcpy(y, web->y, sizeof y);
    for (int round = 0; round < 20; round++) {
        double push = 0;
        *firm = 0;
        y[measure] = value;
        for (size_t i = 0; i < web->tie_count; i++) {
            struct tie t = web->ties[i];
            if (!tie_has(&t, measure))
                continue;
            tie_slope(&t, y);
            for (size_t k = 0; k < SIDES; k++)
                if (t.at[k] == measure) {
                    push += t.weight * t.slopes[k] * off_middle(&t, y);
                    *firm += t.weight * t.slopes[k] * t.slopes[k];
                }
        }
        if (!(*firm > 0))
            break;
        double by = fmax(-2, fmin(2, push / *firm)), then = part_of(web, measure, value + by);
        for (int halved = 0; then > now && halved < 12; halved++) {
            by /= 2;
            then = part_of(web, measure, value + by);
        }
        if (then >= now || fabs(by) < 1e-7)
            break;
        value += by;
        now = then;
    }
    return value;
}

/* ln of how much likelier the misfit is when the measure is off by something about as large as
 * `size` (normal, of its logarithm) than when nothing is: the firmer it is known, the more it says.
 */
static double odds_of(const struct freed *free, double size)
{
    double room = size * size * free->firm;
    return free->gain * room / (1 + room) / 2 - log1p(room) / 2;
}

static double add_odds(double a, double b)
{
    return fmax(a, b) + log1p(exp(-fabs(a - b)));
}

struct freed web_leave_out(const struct web *web, size_t measure)
{
    struct freed free = {.odds = -INFINITY};
    double start = web->y[measure], as_is = part_of(web, measure, start), least = as_is;
    for (size_t i = 0; i < USUAL; i++) {
        double value = web->y[measure] + log(usual_slips[i].factor);
        double part = part_of(web, measure, value);
        free.odds = add_odds(free.odds, (as_is - part) / 2 - log(USUAL));
        if (part < least) {
            least = part;
            start = value;
        }
    }
    free.value = descend(web, measure, start, &free.firm);
    free.gain = fmax(as_is - part_of(web, measure, free.value), 0);
    free.odds = add_odds(free.odds, add_odds(odds_of(&free, 0.2), odds_of(&free, 1)));
    free.odds -= log(3);
    return free;
}
