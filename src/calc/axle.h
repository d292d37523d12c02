/* The stepped axle: what each position does, and which one to take. */
#ifndef AMBLE_CALC_AXLE_H
#define AMBLE_CALC_AXLE_H

#include "calc/balance.h"

enum { AXLE_STEPS_MOST = 64 };

struct axle_row {
    double axle_mm;
    bool stands; /* false: it tips as it is, and `out` holds nothing */
    struct balance_out out;
};

/* `steps` positions from `from_mm` to `to_mm`, both included (one step: from_mm alone), of a dog
 * and frame that are otherwise as in `in`. Refuses what no position can mend. */
bool axle_table(const struct balance_in *in, double from_mm, double to_mm, size_t steps,
                struct axle_row *rows, struct fault *f);

struct axle_want {
    double relief;        /* aimed at */
    double relief_within; /* how far the result may be from it; INFINITY: take the nearest */
    double uphill_deg;    /* steepest slope of the home: it must not tip there, and grip */
    double tip_margin_deg;
    double grip_margin_deg;
    bool may_press; /* the bar may press on the shoulders (never with a neck lesion) */
    bool may_lift;  /* there is a chest sling that may lift */
};

/* The row nearest to the wanted relief among those that do all that is asked. FAULT_REFUSED says
 * "no position does this, because ..." with the figure of the best there is. */
bool axle_target(const struct axle_row *rows, size_t count, const struct axle_want *want,
                 size_t *chosen, struct fault *f);

#endif
