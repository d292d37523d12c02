#include "calc/chance.h"
#include <math.h>

enum { ROUNDS = 500 };

double chance_normal_tail(double z)
{
    return erfc(z / M_SQRT2) / 2;
}

/* Upper regularised incomplete gamma Q(a, x): series below a + 1, continued fraction above. */
static double gamma_upper(double a, double x)
{
    if (x <= 0)
        return 1;
    double front = exp(a * log(x) - x - lgamma(a));
    if (x < a + 1) {
        double term = 1 / a, sum = term;
        for (int n = 1; n < ROUNDS && fabs(term) > fabs(sum) * 1e-17; n++) {
            term *= x / (a + n);
            sum += term;
        }
        return 1 - front * sum;
    }
    double b = x + 1 - a, c = 1e300, d = 1 / b, h = d;
    for (int n = 1; n < ROUNDS; n++) {
        double an = -n * (n - a);
        b += 2;
        d = 1 / (an * d + b);
        c = b + an / c;
        h *= d * c;
        if (fabs(d * c - 1) < 1e-16)
            break;
    }
    return front * h;
}

/* The continued fraction of the incomplete beta function, modified Lentz. */
static double beta_fraction(double a, double b, double x)
{
    double c = 1, d = 1 / (1 - (a + b) * x / (a + 1)), h = d;
    for (int m = 1; m < ROUNDS; m++) {
        double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
        d = 1 / (1 + even * d);
        c = 1 + even / c;
        h *= d * c;
        double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
        d = 1 / (1 + odd * d);
        c = 1 + odd / c;
        h *= d * c;
        if (fabs(d * c - 1) < 1e-16)
            break;
    }
    return h;
}

static double beta_share(double a, double b, double x)
{
    double front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x));
    return x < (a + 1) / (a + b + 2) ? front * beta_fraction(a, b, x) / a
                                     : 1 - front * beta_fraction(b, a, 1 - x) / b;
}

double chance_chi2_tail(double x, double freedom)
{
    return gamma_upper(freedom / 2, x / 2);
}

static double t_tail(double t, double freedom)
{
    double x = freedom / (freedom + t * t);
    return x < 1 ? beta_share(freedom / 2, 0.5, x) / 2 : 0.5;
}

/* Where a falling tail passes `tail`: double the bracket, then halve it. */
static double point(double (*falling)(double, double), double tail, double freedom)
{
    double low = 0, high = 1;
    while (falling(high, freedom) > tail && high < 1e12) {
        low = high;
        high *= 2;
    }
    for (int i = 0; i < 200 && high - low > 1e-15 * high; i++) {
        double middle = low + (high - low) / 2;
        if (falling(middle, freedom) > tail)
            low = middle;
        else
            high = middle;
    }
    return low + (high - low) / 2;
}

double chance_chi2_point(double tail, double freedom)
{
    return point(chance_chi2_tail, tail, freedom);
}

double chance_t_point(double tail, double freedom)
{
    return point(t_tail, tail, freedom);
}
