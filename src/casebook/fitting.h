/* Fit: the balance of a frame on this dog at each position its axle can take. */
#ifndef AMBLE_CASEBOOK_FITTING_H
#define AMBLE_CASEBOOK_FITTING_H

#include "calc/balance.h"
#include "casebook/casebook.h"

struct fit_row {
    double axle_mm;
    struct balance_out out; /* level ground */
    bool over_relief;       /* more relief than the frame's ceiling */
    bool grip_short;        /* grips less far up than the home's steepest ramp */
    bool tip_short;         /* tips before the home's steepest ramp */
    bool refused;           /* the model refused; `why` says so */
    const char *why;
};

struct fitting {
    const struct frame *frame;   /* NULL: `why` says what is missing */
    const char *why;             /* "" when there are rows */
    struct balance_in in;        /* what was put in, without the axle */
    const char *fore_share_from; /* "two scales", "usual for a ... ", "usual for dogs" */
    bool has_ramp;
    double ramp_deg; /* steepest slope of the home, 0 when none */
    const struct fit_row *rows;
    size_t count;
    size_t proposed; /* the row proposed, or `count` when none fits */
    size_t chosen;   /* item "fit.axle", or `count` */
};
void fitting_look(const struct chart *c, struct fitting *out);
/* Keep the axle position: item "fit.axle" ("340 mm") and "fit.frame". */
bool fitting_choose(struct chart *c, const struct fitting *fit, size_t row, struct fault *f);
struct section_state fitting_state(const struct chart *c);

#endif
