/* The interval a share of a count can be trusted within: Wilson, 95 %.
 * Source: Wilson 1927, JASA 22:209 (from memory); it reproduces the intervals printed in Khan,
 * Jeffery and Freeman 2024, JVIM 38:2603, and Hall et al. 2020, Sci Rep 10:9128.
 */
#ifndef AMBLE_CALC_INTERVAL_H
#define AMBLE_CALC_INTERVAL_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>

struct interval_in {
    double hits, n; /* whole numbers, 0 <= hits <= n, n >= 1 */
};
struct interval_out {
    double share, low, high; /* 0 to 1 */
};
bool interval_solve(const struct interval_in *in, struct interval_out *out, struct fault *f);

extern const struct calc_key interval_keys_in[], interval_keys_out[];
extern const size_t interval_keys_in_count, interval_keys_out_count;

#endif
