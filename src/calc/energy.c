#include "calc/energy.h"
#include <math.h>
#include <string.h>

const struct calc_key energy_keys_in[] = {
    KEY(energy_in, mass_kg, .unit = "kg", .low = 0.1, .high = 500, .help = "weight of the dog"),
    KEY(energy_in, condition, .unit = "-", .need = KEY_OPTIONAL, .low = 1, .high = 9,
        .help = "body condition, 1 to 9; without it no ideal weight is given"),
};
const size_t energy_keys_in_count = KEY_COUNT(energy_keys_in);

const struct calc_key energy_keys_out[] = {
    KEY(energy_out, rer_kcal, .unit = "kcal", .help = "resting energy a day"),
    KEY(energy_out, ideal_low_kg, .unit = "kg", .help = "ideal weight, low end"),
    KEY(energy_out, ideal_high_kg, .unit = "kg", .help = "ideal weight, high end"),
};
const size_t energy_keys_out_count = KEY_COUNT(energy_keys_out);

double energy_resting(double mass_kg)
{
    return mass_kg > 0 ? 70 * pow(mass_kg, 0.75) : 0;
}

bool energy_method_named(const char *word, enum energy_method *out)
{
    static const struct {
        const char *word;
        enum energy_method method;
    } words[] = {
        {"both", ENERGY_BOTH},         {"power", ENERGY_BOTH},
        {"division", ENERGY_DIVISION}, {"subtraction", ENERGY_SUBTRACTION},
        {"linear", ENERGY_LINEAR},
    };
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcmp(words[i].word, word) == 0) {
            *out = words[i].method;
            return true;
        }
    return false;
}

bool energy_solve(const struct energy_in *in, struct energy_out *out, struct fault *f)
{
    if (!calc_check(energy_keys_in, energy_keys_in_count, in, f))
        return false;
    double m = in->mass_kg;
    bool linear = in->method == ENERGY_LINEAR;
    if (linear && !(m > 2 && m < 45))
        return fail(f, FAULT_REFUSED,
                    "mass_kg %g is outside 2 to 45 kg, where the straight line holds", m);
    double points = fmax(in->condition - 5, 0); /* NaN gives 0; has_ideal is false then */
    *out = (struct energy_out){
        .rer_kcal = linear ? 30 * m + 70 : energy_resting(m),
        .has_ideal = in->condition >= 4,
    };
    switch (in->method) {
    case ENERGY_DIVISION:
        out->ideal_low_kg = m / (1 + 0.15 * points);
        out->ideal_high_kg = m / (1 + 0.10 * points);
        break;
    case ENERGY_SUBTRACTION:
        out->ideal_low_kg = m * (1 - 0.15 * points);
        out->ideal_high_kg = m * (1 - 0.10 * points);
        break;
    case ENERGY_BOTH:
    case ENERGY_LINEAR:
        out->ideal_low_kg = m * (1 - 0.10 * points);
        out->ideal_high_kg = m / (1 + 0.10 * points);
        break;
    }
    return true;
}

bool energy_weeks(double mass_kg, double target_kg, double share_a_week, double *weeks,
                  struct fault *f)
{
    if (!(mass_kg >= 0.1 && mass_kg <= 500) || !(target_kg >= 0.1 && target_kg <= 500))
        return fail(f, FAULT_INPUT, "weights must be from 0.1 to 500 kg, not %g and %g", mass_kg,
                    target_kg);
    if (!(share_a_week > 0 && share_a_week <= 0.02))
        return fail(f, FAULT_REFUSED,
                    "a loss of %g %% a week is outside 0 to 2 %%: a veterinarian decides",
                    100 * share_a_week);
    *weeks = target_kg >= mass_kg ? 0 : log(target_kg / mass_kg) / log1p(-share_a_week);
    return true;
}
