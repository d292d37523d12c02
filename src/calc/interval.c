#include "calc/interval.h"
#include "calc/chance.h"
#include <math.h>

const struct calc_key interval_keys_in[] = {
    KEY(interval_in, hits, .unit = "-", .low = 0, .high = 1e9, .help = "how many of them"),
    KEY(interval_in, n, .unit = "-", .low = 1, .high = 1e9, .help = "of how many"),
};
const size_t interval_keys_in_count = KEY_COUNT(interval_keys_in);

const struct calc_key interval_keys_out[] = {
    KEY(interval_out, share, .unit = "-", .help = "hits / n"),
    KEY(interval_out, low, .unit = "-", .help = "lower end, 95 %"),
    KEY(interval_out, high, .unit = "-", .help = "upper end, 95 %"),
};
const size_t interval_keys_out_count = KEY_COUNT(interval_keys_out);

bool interval_solve(const struct interval_in *in, struct interval_out *out, struct fault *f)
{
    if (!calc_check(interval_keys_in, interval_keys_in_count, in, f))
        return false;
    double n = in->n, p = in->hits / n, zz = NORMAL_975 * NORMAL_975;
    if (in->hits != floor(in->hits))
        return fail(f, FAULT_INPUT, "hits must be a whole number, not %g", in->hits);
    if (n != floor(n))
        return fail(f, FAULT_INPUT, "n must be a whole number, not %g", n);
    if (in->hits > n)
        return fail(f, FAULT_INPUT, "hits %g cannot be more than n %g", in->hits, n);
    double middle = (p + zz / (2 * n)) / (1 + zz / n);
    double half = NORMAL_975 / (1 + zz / n) * sqrt(p * (1 - p) / n + zz / (4 * n * n));
    out->share = p;
    out->low = in->hits == 0 ? 0 : middle - half; /* exact at the ends, whatever the rounding */
    out->high = in->hits == n ? 1 : middle + half;
    return true;
}
