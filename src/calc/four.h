/* Frames in which more is held than the level alone decides.
 *
 * Four wheels: five unknown forces, four equations. What the fore feet carry is then a choice of
 * how tight the sling is, within limits; it is never one number by itself. four_range gives the
 * limits, four_solve the rest once the choice is made (or measured with a scale under the fore
 * feet).
 *
 * Front frame: two wheels near the fore feet, the hind feet on the ground. It is the rear frame
 * seen in a mirror.
 *
 * Source: plane statics; "a body with more unknowns than equilibrium equations cannot be solved
 * without an extra assumption" (OpenStax University Physics 1, 12.2).
 */
#ifndef AMBLE_CALC_FOUR_H
#define AMBLE_CALC_FOUR_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>

struct four_in { /* mm from the fore-foot line, kg */
    double dog_mass_kg, stance_length_mm, fore_share, hind_support;
    double rest_mm, sling_mm; /* pelvic rest, chest sling */
    double frame_mass_kg, frame_cg_mm;
    double front_axle_mm, front_wheels_mass_kg;
    double rear_axle_mm, rear_wheels_mass_kg;
    bool may_press; /* a bar above the shoulders can press down; a sling alone cannot */
};

enum four_limit {
    FOUR_FORE_FEET,    /* the fore feet carry nothing */
    FOUR_REST,         /* the dog lifts off the pelvic rest */
    FOUR_SLING,        /* the sling hangs loose */
    FOUR_FRONT_WHEELS, /* the front wheels lift */
    FOUR_REAR_WHEELS,  /* the rear wheels lift */
};
const char *four_limit_words(enum four_limit l);

struct four_range {
    double fore_low_n, fore_high_n; /* feasible load on the fore feet */
    enum four_limit low, high;      /* what ends the range */
};
bool four_range(const struct four_in *in, struct four_range *out, struct fault *f);

struct four_out {
    double fore_load_n, rest_load_n;
    double sling_load_n; /* + carries the chest, - presses */
    double front_wheels_n, rear_wheels_n;
};
/* Refuses a fore load outside four_range. */
bool four_solve(const struct four_in *in, double fore_load_n, struct four_out *out,
                struct fault *f);

/* The other way out: the parts give, each so many newtons a millimetre, and the least energy
 * decides (only the proportions of the stiffnesses count). Nothing pulls that can only push: where
 * it would, the end of four_range holds. */
struct four_stiffness {
    double fore_feet, rest, sling, front_wheels, rear_wheels; /* each above 0 */
};
bool four_stiff(const struct four_in *in, const struct four_stiffness *k, struct four_out *out,
                struct fault *f);

extern const struct calc_key four_keys_in[], four_keys_out[], front_keys_in[], front_keys_out[];
extern const size_t four_keys_in_count, four_keys_out_count;
extern const size_t front_keys_in_count, front_keys_out_count;

struct front_in {
    double dog_mass_kg, stance_length_mm, fore_share;
    double fore_support; /* share of the normal fore load the fore feet still carry */
    double dog_cg_height_mm;
    double axle_mm;
    double chest_mm; /* where the chest lies in the frame */
    double hip_mm;   /* where the frame is held at the back */
    double frame_mass_kg, frame_cg_mm, frame_cg_height_mm;
    double wheels_mass_kg, wheel_diameter_mm;
    double slope_deg; /* nose uphill + */
    double friction;
};
struct front_out {
    double hind_load_n, hind_share_now, hind_relief;
    double chest_load_n; /* level */
    double hip_load_n;   /* level: + presses on the rump, - lifts it */
    double wheel_load_n;
    double neutral_axle_mm, cg_mm, cg_height_mm;
    double uphill_limit_deg;   /* the wheels lift */
    double downhill_limit_deg; /* the hind feet lift: it pitches over the wheels */
    double grip_uphill_deg;    /* the hind feet slip; 90: they never do */
    double grip_downhill_deg;
};
bool front_solve(const struct front_in *in, struct front_out *out, struct fault *f);

#endif
