/* Fit: the balance of a frame on this dog at each position its axle can take. */
#ifndef AMBLE_CASEBOOK_FITTING_H
#define AMBLE_CASEBOOK_FITTING_H

#include "calc/balance.h"
#include "casebook/casebook.h"

enum { FIT_ACCESSORIES_MOST = 32 };

/* What the frames work with. Standard uncertainties stand beside what was measured: half of what
 * the readings parted by, and never less than what two readings may part by at all (as a
 * rectangle); of a single reading twice that. */
struct fit_dog {
    double kg, stance_mm, withers_mm;
    double kg_within, stance_within, withers_within;
    double hip_mm, fore_spacing_mm; /* 0: not measured */
    double fore_share, fore_share_within;
    const char *fore_share_from; /* "two scales", "usual for a ... ", "usual for dogs" */
    double hind_support;         /* share of the normal hind load the hind feet carry */
    bool hind_support_known;
    double cg_height_share;  /* of withers height; NaN: as the frame assumes */
    const char *measured_on; /* the day the lengths are of, when it is not this visit's; else "" */
};

/* What can be moved at the bench. */
struct fit_setting {
    const struct frame *frame;
    double axle_mm, wheel_mm, track_mm;
    double hind_support;
    bool has[FIT_ACCESSORIES_MOST]; /* by the order of the set's frame_accessories */
};

struct fit_row {
    double axle_mm;
    struct balance_out out; /* level ground */
    bool over_relief;       /* more relief than the frame's ceiling */
    bool grip_short;        /* grips less far up than the home's steepest ramp */
    bool tip_short;         /* tips before the home's steepest ramp */
    bool refused;           /* the model refused; `why` says so */
    const char *why;
};

/* The relief that is wanted, and what wants it. */
struct fit_want {
    double relief;                    /* that of the neutral axle when no rule wants more */
    bool no_press;                    /* the bar must not press on the shoulders */
    bool by_rule;                     /* false: neither press nor lift is wanted */
    const struct relief_rule *rule;   /* the one that wants most, or NULL */
    const struct relief_rule *spares; /* the first that forbids pressing, or NULL */
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
    size_t proposed;          /* the row proposed, or `count` when none fits */
    const char *why_proposed; /* in words; why none, when there is none */
    size_t chosen;            /* the row nearest to item "fit.axle", or `count` */
    double chosen_mm;         /* the item itself; 0: none */
    const char *kept_on;      /* else the day of an earlier visit whose setting this is, or "" */
    struct fit_dog dog;
    struct fit_want want;
    struct fit_setting setting; /* as kept, here or before, else as the frame comes; the axle as
                                   kept or proposed, else the middle */
};
void fitting_look(const struct chart *c, struct fitting *out);
/* The row nearest to where the axle stands, as kept here or at an earlier visit; `count`: nowhere.
 */
size_t fitting_stands(const struct fitting *fit);
/* The same with another frame, of whatever support. */
void fitting_look_with(const struct chart *c, const struct frame *frame, struct fitting *out);
/* Keep the axle position: items "fit.axle" ("340 mm") and "fit.frame". */
bool fitting_choose(struct chart *c, const struct fitting *fit, size_t row, struct fault *f);
/* Keep a whole setting: these two, wheels, track, accessories. FAULT_REFUSED when the model refuses
 * it, or when the frame is of another support than the one decided on. */
bool fitting_keep(struct chart *c, const struct fit_setting *s, struct fault *f);
struct section_state fitting_state(const struct chart *c);

/* ---- what a setting puts into the calculations ----------------------------------------------- */

/* The inputs of the balance at a setting, and their standard uncertainties. A frame of four wheels
 * or one in front is put in as its own model needs it (casebook/bench.h). */
struct balance_in fit_balance(const struct template_set *set, const struct fit_dog *dog,
                              const struct fit_setting *s);
struct balance_in fit_within(const struct template_set *set, const struct fit_dog *dog,
                             const struct fit_setting *s);
/* The balance of whatever model the frame has, in the terms of the rear frame: of a front frame
 * `fore_load_n` is what the fore feet still carry, `bar_load_n` the load on the chest, and the
 * limits are the nearer of uphill and downhill. */
bool fit_solve(const struct frame *frame, const struct balance_in *in, struct balance_out *out,
               struct fault *f);
double fit_track(const struct template_set *set, const struct fit_dog *dog,
                 const struct fit_setting *s); /* with what accessories add */
bool fit_accessory_goes(const struct frame_accessory *a, const struct frame *frame);
/* The places the axle can take, whole mm where they lie 2 mm or more apart. */
size_t fit_steps(const struct frame *frame, const struct fit_dog *dog);
double fit_step(const struct frame *frame, const struct fit_dog *dog, size_t i);

/* What is wanted of this dog, capped by the frame's ceiling. */
struct fit_want fit_wanted(const struct chart *c, const struct frame *frame);
/* The row that comes nearest to it within the limits and, where it can be, the margins; `count`
 * when none does. *why tells in words, in `a`. */
size_t fit_propose(const struct template_set *set, const struct fitting *fit, struct arena *a,
                   const char **why);

#endif
