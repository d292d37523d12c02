#include "calc/key.h"
#include <math.h>
#include <string.h>

double calc_get(const struct calc_key *key, const void *of)
{
    double v;
    memcpy(&v, (const char *)of + key->at, sizeof v);
    return v;
}

void calc_put(const struct calc_key *key, void *of, double value)
{
    memcpy((char *)of + key->at, &value, sizeof value);
}

const struct calc_key *calc_key_find(const struct calc_key *keys, size_t count, const char *name)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(keys[i].name, name) == 0)
            return &keys[i];
    return NULL;
}

void calc_defaults(const struct calc_key *keys, size_t count, void *in)
{
    for (size_t i = 0; i < count; i++)
        calc_put(&keys[i], in, keys[i].need == KEY_DEFAULT ? keys[i].fallback : (double)NAN);
}

bool calc_refuse_range(const struct calc_key *key, double value, struct fault *f)
{
    const char *unit = strcmp(key->unit, "-") == 0 ? "" : key->unit;
    return fail(f, FAULT_INPUT, "%s must be from %g to %g%s%s, not %g", key->name, key->low,
                key->high, *unit ? " " : "", unit, value);
}

bool calc_check(const struct calc_key *keys, size_t count, const void *in, struct fault *f)
{
    for (size_t i = 0; i < count; i++) {
        double v = calc_get(&keys[i], in);
        if (isnan(v)) {
            if (keys[i].need == KEY_OPTIONAL)
                continue;
            return fail(f, FAULT_MISSING, "%s is missing (%s)", keys[i].name, keys[i].help);
        }
        if (!(v >= keys[i].low && v <= keys[i].high))
            return calc_refuse_range(&keys[i], v, f);
    }
    return true;
}
