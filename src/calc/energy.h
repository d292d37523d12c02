/* Resting energy, ideal weight, and the time to reach it.
 *
 * Source: resting energy 70 kg^0.75 kcal a day (Merck Veterinary Manual); the straight-line form
 * 30 kg + 70 only above 2 and below 45 kg (Hand et al., Small Animal Clinical Nutrition, 5th ed.).
 * Each point above 5 of 9 is 10 % overweight (AAHA 2014), 10 to 15 % (Vet Times 2015). "10 %
 * overweight" can be read as a division or a subtraction; the readings differ by kilograms.
 * Need varies about threefold between dogs of one weight (Merck): a starting point only.
 */
#ifndef AMBLE_CALC_ENERGY_H
#define AMBLE_CALC_ENERGY_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>

enum energy_method {
    ENERGY_BOTH,        /* both readings of 10 % a point: subtraction is low, division is high */
    ENERGY_DIVISION,    /* mass / (1 + share * points), 15 and 10 % a point */
    ENERGY_SUBTRACTION, /* mass * (1 - share * points), 15 and 10 % a point */
    ENERGY_LINEAR,      /* as BOTH, resting energy by the straight line; refused outside 2-45 kg */
};

struct energy_in {
    double mass_kg;
    double condition; /* 1 to 9; NaN when not known */
    enum energy_method method;
};

struct energy_out {
    double rer_kcal; /* a day, for the mass given */
    bool has_ideal;  /* false without a condition and below 4 of 9, for which no source was found */
    double ideal_low_kg, ideal_high_kg;
};

bool energy_solve(const struct energy_in *in, struct energy_out *out, struct fault *f);
double energy_resting(double mass_kg); /* 70 kg^0.75; 0 for what is no mass */
bool energy_method_named(const char *word, enum energy_method *out);

/* Weeks from one mass to a lower one at a share of the current mass a week (0.01: Clinician's Brief
 * obesity calculation sheet). 0 when already there. */
bool energy_weeks(double mass_kg, double target_kg, double share_a_week, double *weeks,
                  struct fault *f);

extern const struct calc_key energy_keys_in[], energy_keys_out[];
extern const size_t energy_keys_in_count, energy_keys_out_count;

#endif
