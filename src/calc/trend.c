#include "calc/trend.h"
#include "base/arena.h"
#include "calc/chance.h"
#include "calc/robust.h"
#include <math.h>

#define SAME_DAY        1e-6 /* closer together is one day: no slope between them */
#define OUT(field, ...) KEY(trend_out, field, __VA_ARGS__)

const struct calc_key trend_keys_out[] = {
    OUT(slope_per_day, .unit = "-", .help = "least squares, unit of the values a day"),
    OUT(slope_low, .unit = "-", .help = "its lower end, 95 %"),
    OUT(slope_high, .unit = "-", .help = "its upper end, 95 %"),
    OUT(intercept, .unit = "-", .help = "the line at day 0"),
    OUT(theil_slope, .unit = "-", .help = "median of the slopes between all pairs of days"),
    OUT(kendall_s, .unit = "-", .help = "pairs that rise less pairs that fall"),
    OUT(cross_day, .unit = "d", .help = "where the line meets the threshold; - when it never does"),
    OUT(cross_low, .unit = "d", .help = "earliest, 95 %; - when the slope may be 0"),
    OUT(cross_high, .unit = "d", .help = "latest, 95 %; - when the slope may be 0"),
    OUT(misfit, .unit = "-", .need = KEY_OPTIONAL,
        .help = "chi-square of the line, n - 2 expected; only with uncertainties"),
};
const size_t trend_keys_out_count = KEY_COUNT(trend_keys_out);

/* A fit worse than this by chance alone is one in a hundred: the uncertainties were too small, or
 * it is no line. */
static const double bad_fit_chance = 0.01;

/* Every point has an uncertainty, or none has; not so unlike that one point is all that counts. */
static bool check_uncertainties(const struct trend_point *p, size_t n, struct fault *f)
{
    double least = INFINITY, most = 0;
    for (size_t i = 0; i < n; i++) {
        if (!(p[i].u >= 0 && p[i].u <= 1e9))
            return fail(f, FAULT_INPUT, "points: %g is no usable uncertainty", p[i].u);
        least = fmin(least, p[i].u);
        most = fmax(most, p[i].u);
    }
    if (most > 0 && !(least >= 1e-9))
        return fail(f, FAULT_INPUT, "points: each needs an uncertainty above 0, or none has one");
    if (most > 1e4 * least)
        return fail(f, FAULT_REFUSED,
                    "points: their uncertainties lie more than ten thousandfold apart");
    return true;
}

static bool check_points(const struct trend_point *p, size_t n, double threshold, struct fault *f)
{
    if (n < 3)
        return fail(f, FAULT_INPUT, "points: three or more are needed, not %zu", n);
    if (n > TREND_MOST)
        return fail(f, FAULT_LIMIT, "points: at most %d are used, not %zu", TREND_MOST, n);
    bool apart = false;
    for (size_t i = 0; i < n; i++) {
        if (!(fabs(p[i].day) <= 1e6 && fabs(p[i].value) <= 1e9))
            return fail(f, FAULT_INPUT, "points holds %g,%g, which is no usable point", p[i].day,
                        p[i].value);
        apart = apart || fabs(p[i].day - p[0].day) >= SAME_DAY;
    }
    if (!apart)
        return fail(f, FAULT_INPUT, "points all lie on one day: there is no trend");
    if (!isnan(threshold) && !(fabs(threshold) <= 1e9))
        return fail(f, FAULT_INPUT, "threshold %g is no usable number", threshold);
    return check_uncertainties(p, n, f);
}

static double weight(const struct trend_point *p)
{
    return p->u > 0 ? 1 / (p->u * p->u) : 1;
}

static void fit_line(const struct trend_point *p, size_t n, struct trend_out *out)
{
    double days = 0, values = 0, xx = 0, xy = 0, rest = 0;
    out->first_day = out->last_day = p[0].day;
    for (size_t i = 0; i < n; i++) {
        double w = weight(&p[i]);
        out->weight += w;
        days += w * p[i].day;
        values += w * p[i].value;
        out->first_day = fmin(out->first_day, p[i].day);
        out->last_day = fmax(out->last_day, p[i].day);
    }
    out->mean_day = days / out->weight;
    out->mean_value = values / out->weight;
    for (size_t i = 0; i < n; i++) {
        double w = weight(&p[i]), dx = p[i].day - out->mean_day;
        xx += w * dx * dx;
        xy += w * dx * (p[i].value - out->mean_value);
    }
    out->day_squares = xx;
    out->slope_per_day = xy / xx;
    out->intercept = out->mean_value - out->slope_per_day * out->mean_day;
    for (size_t i = 0; i < n; i++) {
        double e = p[i].value - out->mean_value - out->slope_per_day * (p[i].day - out->mean_day);
        rest += weight(&p[i]) * e * e;
    }
    out->residual_sd = sqrt(rest / (double)(n - 2));
    if (p[0].u > 0) {
        out->misfit = rest;
        out->bad_fit = chance_chi2_tail(rest, (double)(n - 2)) < bad_fit_chance;
        out->residual_sd = fmax(out->residual_sd, 1); /* never surer than the readings are */
    }
    out->slope_se = out->residual_sd / sqrt(xx);
    out->intercept_se =
        out->residual_sd * sqrt(1 / out->weight + out->mean_day * out->mean_day / xx);
}

/* Sum over groups of equal values of t (t - 1) (2 t + 5), or of equal days. */
static double ties(double *v, size_t n)
{
    double sum = 0;
    robust_median(v, n); /* sorts */
    for (size_t i = 0, k; i < n; i = k) {
        for (k = i + 1; k < n && !(v[i] < v[k]);)
            k++;
        double t = (double)(k - i);
        sum += t * (t - 1) * (2 * t + 5);
    }
    return sum;
}

static void rank_slopes(const struct trend_point *p, size_t n, struct trend_out *out)
{
    struct arena *a = arena_new();
    double *slopes = arena_array(a, n * (n - 1) / 2, sizeof *slopes);
    double *v = arena_array(a, n, sizeof *v);
    size_t pairs = 0;
    double s = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t k = i + 1; k < n; k++) {
            double dx = p[k].day - p[i].day, dy = p[k].value - p[i].value;
            if (fabs(dx) < SAME_DAY)
                continue;
            double slope = dy / dx;
            slopes[pairs++] = slope;
            s += (slope > 0) - (slope < 0);
        }
    out->theil_slope = robust_median(slopes, pairs);
    out->kendall_s = s;
    double m = (double)n, variance = m * (m - 1) * (2 * m + 5);
    for (size_t i = 0; i < n; i++)
        v[i] = p[i].value;
    variance -= ties(v, n);
    for (size_t i = 0; i < n; i++)
        v[i] = p[i].day;
    variance = (variance - ties(v, n)) / 18;
    double nearer = s > 0 ? s - 1 : s < 0 ? s + 1 : 0;
    out->kendall_z = variance > 0 ? nearer / sqrt(variance) : 0;
    arena_free(a);
}

/* (value + slope X - threshold)^2 = (t s)^2 (1/W + X^2 / xx), W the sum of weights, X counted from
 * the mean day. */
static void cross(struct trend_out *out, double threshold, double t)
{
    double b = out->slope_per_day, gap = threshold - out->mean_value;
    double ts = t * out->residual_sd, u = ts * ts;
    double reach = gap / b;
    if (b == 0 || !(fabs(reach) <= 1e9))
        return;
    out->cross_day = out->mean_day + reach;
    double A = b * b - u / out->day_squares;
    double C = gap * gap - u / out->weight;
    double root = b * b * gap * gap - A * C;
    if (!(A > 1e-12 * b * b) || root < 0)
        return;
    double left = (b * gap - sqrt(root)) / A, right = (b * gap + sqrt(root)) / A;
    if (!(fabs(left) <= 1e9 && fabs(right) <= 1e9))
        return;
    out->cross_low = out->mean_day + fmin(left, right);
    out->cross_high = out->mean_day + fmax(left, right);
}

bool trend_solve(const struct trend_point *points, size_t count, double threshold,
                 struct trend_out *out, struct fault *f)
{
    if (!check_points(points, count, threshold, f))
        return false;
    *out = (struct trend_out){.cross_day = NAN, .cross_low = NAN, .cross_high = NAN, .misfit = NAN};
    fit_line(points, count, out);
    rank_slopes(points, count, out);
    double t = chance_t_point(0.025, (double)(count - 2));
    out->slope_low = out->slope_per_day - t * out->slope_se;
    out->slope_high = out->slope_per_day + t * out->slope_se;
    if (!isnan(threshold))
        cross(out, threshold, t);
    return true;
}

double trend_at(const struct trend_out *t, double day, double *u)
{
    double x = day - t->mean_day;
    if (u)
        *u = t->residual_sd * sqrt(1 / t->weight + x * x / t->day_squares);
    return t->mean_value + t->slope_per_day * x;
}

enum trend_verdict trend_judge(const struct trend_out *t, double credible_change)
{
    double change = t->slope_per_day * (t->last_day - t->first_day);
    if (fabs(change) <= credible_change || (t->slope_low <= 0 && t->slope_high >= 0))
        return TREND_NO_REAL_CHANGE;
    return change > 0 ? TREND_RISES : TREND_FALLS;
}
