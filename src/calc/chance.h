/* Tails and quantiles of the usual distributions, to about 1e-12; what the calculations need and
 * no more. Source of the methods: Abramowitz and Stegun 26.5, 26.7 (from memory); the tests compare
 * with the GNU Scientific Library.
 */
#ifndef AMBLE_CALC_CHANCE_H
#define AMBLE_CALC_CHANCE_H

#define NORMAL_975 1.959963984540054 /* 97.5 % point of the standard normal distribution */

double chance_normal_tail(double z);               /* P(Z > z) */
double chance_chi2_tail(double x, double freedom); /* P(X > x), freedom > 0 */
/* x with P(X > x) = tail; 0 < tail < 1, freedom > 0. */
double chance_chi2_point(double tail, double freedom);
/* t with P(T > t) = tail; 0 < tail < 0.5, freedom > 0. */
double chance_t_point(double tail, double freedom);

#endif
