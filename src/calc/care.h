/* Two illustrations for teaching: what the bladder makes, and what a pad presses.
 *
 * Bladder: urine 1 to 2 ml/kg/h (dvm360 reference review 2003); manual expression removes a mean
 * 49 % (Carwardine et al. 2017, AJVR 78:107-112, 36 dogs). In the steady state before = made / f
 * and after = made (1 - f) / f. An illustration of why the interval matters, not a forecast.
 * Contact: pressure = load / area, evenly spread, which no pad is. 1 mmHg = 133.322387415 Pa. No
 * threshold for dogs was found; 32 mmHg is a human nail-fold value (Landis 1930) and no limit.
 */
#ifndef AMBLE_CALC_CARE_H
#define AMBLE_CALC_CARE_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>

struct bladder_in {
    double mass_kg, hours, emptied_share;
};
struct bladder_out {
    double made_low_ml, made_high_ml;
    double before_low_ml, before_high_ml;
    double after_low_ml, after_high_ml;
};
bool bladder_solve(const struct bladder_in *in, struct bladder_out *out, struct fault *f);

struct contact_in {
    double load_n, area_cm2;
};
struct contact_out {
    double kpa, mmhg;
};
bool contact_solve(const struct contact_in *in, struct contact_out *out, struct fault *f);

extern const struct calc_key bladder_keys_in[], bladder_keys_out[];
extern const size_t bladder_keys_in_count, bladder_keys_out_count;
extern const struct calc_key contact_keys_in[], contact_keys_out[];
extern const size_t contact_keys_in_count, contact_keys_out_count;

#endif
