/* The next step of a stepped axle, worked out instead of only named: from where the axle was kept
 * at the fitting, with the dog as it was weighed last, to the step that the plan leads to. */
#ifndef AMBLE_CASEBOOK_AXLE_PLAN_H
#define AMBLE_CASEBOOK_AXLE_PLAN_H

#include "casebook/fitting.h"
#include "casebook/past.h"

struct axle_plan {
    struct fitting fit; /* `fit.rows` are the steps, the foremost first */
    size_t now, next;   /* rows; next == fit.count: no step can be proposed, `leads_to` says why */
    bool opened;        /* a trend or a range has opened whose plan is a step of the axle */
    double relief_within; /* standard uncertainty of the relief at `next` */
    /* In words: "from step 4 of 7 (362 mm) to step 3 (333 mm), 29 mm forward", the relief,
     * grip and tip that it leads to, and why. */
    const char *step, *leads_to, *because;
};
/* False when there is nothing to propose: no frame whose axle can be moved was fitted with its
 * place kept, or the step it stands on is still the one to stand on. Rearward only when the
 * calculation wants less relief than when the place was kept and no trend or range has opened. */
bool axle_plan_look(const struct past *p, struct axle_plan *out);

#endif
