/* The balance of a dog in a two-wheeled rear frame, level and on a slope.
 *
 * x runs rearward from the line of the fore feet, heights from the ground. The dog is a rigid trunk
 * whose centre of mass lies (1 - fore_share) of the stance length behind the fore feet; the axle
 * and the wheels move together, the frame's own mass does not.
 *
 * About the fore-foot line, at slope b (nose uphill +):
 *   N_wheel x_axle + N_hind x_stance = cos b * sum(W x) + sin b * sum(W z)
 * and the fore feet carry the rest of cos b * sum(W). On the level the dog alone then gives the
 * loads of pelvic rest and shoulder bar.
 *
 * Limits of the model: rigid trunk parallel to the slope, left and right alike, no gait (peaks of a
 * step are higher), no spring or stretch of straps, free-rolling wheels.
 *
 * Source: plane statics (OpenStax University Physics 1, 12.1-12.3); default share on the fore feet:
 * Anat Rec 2021, 304:78-89, 552 dogs of 123 breeds. No published friction of a paw was found: 0.5
 * is a plain assumption to be replaced by what the floor is like.
 */
#ifndef AMBLE_CALC_BALANCE_H
#define AMBLE_CALC_BALANCE_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>
#include <stddef.h>

struct balance_in {
    double dog_mass_kg;
    double stance_length_mm; /* fore-foot line to hind-foot line */
    double fore_share;       /* share of the weight on the fore feet, standing normally */
    double hind_support;     /* share of the normal hind load the hind feet still carry */
    double dog_cg_height_mm; /* of the dog's centre of mass */
    double axle_mm;          /* used unless from_relief */
    double relief;           /* used when from_relief */
    double rest_mm;          /* pelvic rest */
    double bar_mm;           /* shoulder bar */
    double frame_mass_kg;    /* without the wheels */
    double frame_cg_mm;
    double frame_cg_height_mm;
    double wheels_mass_kg; /* wheels and axle together */
    double wheel_diameter_mm;
    double slope_deg; /* nose uphill + */
    double friction;  /* between fore feet and ground */
    bool from_relief; /* find the axle for the wanted relief */
};

struct balance_out {
    double axle_mm;
    double fore_load_n;     /* at the given slope */
    double fore_share_now;  /* of the dog's weight */
    double relief;          /* 1 - load on the fore feet now / standing normally on the level */
    double rest_load_n;     /* level ground */
    double bar_load_n;      /* level ground: + presses on the shoulders, - lifts */
    double wheel_load_n;    /* at the given slope, both wheels together */
    double neutral_axle_mm; /* where the bar neither presses nor lifts */
    double cg_mm;           /* of dog, frame and wheels together */
    double cg_height_mm;
    double uphill_limit_deg;   /* fore feet lift: rear tip */
    double downhill_limit_deg; /* wheels lift: forward tip, as a positive angle */
    double traction_limit_deg; /* fore feet slip uphill; help of the hind feet is not counted */
};

/* The contract's defaults; what has none is NaN and must be filled in. */
struct balance_in balance_defaults(void);

/* Refuses, naming the key: a missing number, one out of its range, a rest and a bar closer than a
 * twentieth of the stance, a frame that tips backwards or forwards as it stands, a relief that no
 * axle position gives. On success every result is finite. */
bool balance_solve(const struct balance_in *in, struct balance_out *out, struct fault *f);

/* First-order uncertainty (GUM, JCGM 100 5.1.2): `u` holds the standard uncertainty of each input
 * in the field of the same name, 0 or NaN where there is none; inputs are taken as independent.
 * `spread` then holds the standard uncertainty of each result. Refuses what balance_solve refuses,
 * and an uncertainty below 0 or wider than the input's range. */
bool balance_spread(const struct balance_in *in, const struct balance_in *u,
                    struct balance_out *out, struct balance_out *spread, struct fault *f);

extern const struct calc_key balance_keys_in[];
extern const size_t balance_keys_in_count;
extern const struct calc_key balance_keys_out[];
extern const size_t balance_keys_out_count;

#define STANDARD_GRAVITY 9.80665 /* m/s2, exact by convention (CGPM 1901) */

#endif
