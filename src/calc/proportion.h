/* Which measurement is most likely wrong, from the dog's own proportions.
 *
 * Works on logarithms. Every relation (of / to, usual from low to high) says that ln of - ln to is
 * about the middle of its band, give or take; lengths share a size factor that no relation sees, so
 * a large dog and a small one of the same shape look alike. Taking one measurement out lowers the
 * misfit; the one that lowers it most is the suspect. The usual slips (inch for cm, half, double,
 * digits swapped, two fields exchanged) are tried by name.
 *
 * The middle is the geometric mean of low and high and the standard deviation (ln high - ln low) /
 * 4 (a usual range read as two standard deviations each way: common practice, no source). Relations
 * that say the same thing twice are weighed so that each still spreads as its band says: of all
 * shapes with those spreads the one that supposes least besides (greatest entropy). Where that
 * leaves a relation nothing of its own to say, it weighs nothing. With a band for every pair that
 * is the full covariance of the shape.
 *
 * Suspecting is one thing, saying so another: every measure that stands in a relation is ranked,
 * and `misfits` tells when to speak. Source of the method: deleted residuals and parity space (Chow
 * and Willsky, LIDS-P-1253), size and shape (Mosimann 1970, as quoted by Jungers, Falsetti and
 * Wall, Yearb Phys Anthropol 38:137).
 */
#ifndef AMBLE_CALC_PROPORTION_H
#define AMBLE_CALC_PROPORTION_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>
#include <stddef.h>

enum { PROPORTION_MOST = 32, PROPORTION_RELATIONS_MOST = 64 };

struct proportion_measure {
    const char *id; /* "withers_height" */
    double value;   /* mm, or any one unit of length; > 0 */
};

/* of / to; (of + plus) / to; of / the diagonal of to and across. */
struct proportion_relation {
    const char *of, *to;       /* ids of measures */
    double low, high;          /* usual of the ratio; 0 < low < high */
    const char *plus, *across; /* or NULL */
};

enum proportion_verdict { PROPORTION_ABSENT, PROPORTION_USUAL, PROPORTION_LOW, PROPORTION_HIGH };
const char *proportion_verdict_word(enum proportion_verdict v); /* "usual" "low" "high" "absent" */

struct proportion_check {
    double ratio; /* NaN when a side was not measured */
    enum proportion_verdict verdict;
};

enum proportion_slip {
    SLIP_NONE,
    SLIP_INCH,      /* inches typed as centimetres, or the other way round */
    SLIP_HALF,      /* half of it */
    SLIP_DOUBLE,    /* twice of it */
    SLIP_TENFOLD,   /* a decimal mark lost or set too early */
    SLIP_DIGITS,    /* two neighbouring digits swapped */
    SLIP_EXCHANGED, /* two fields exchanged */
};
const char *proportion_slip_words(enum proportion_slip s);

struct proportion_suspect {
    size_t measure;            /* index into the measures */
    double share;              /* probability among the candidates, 0 to 1 */
    double z;                  /* standardised error: how far it sits from what the others say */
    double corrected;          /* the value the others point to */
    enum proportion_slip slip; /* a slip that explains it well, or SLIP_NONE */
    size_t other;              /* SLIP_EXCHANGED: the other measure */
    double slip_value;         /* what it would be without the slip */
};

struct proportion_out {
    double
        misfit; /* chi-square of all relations present; 0 when they fit exactly or there are none */
    size_t freedom;  /* its degrees of freedom */
    double limit;    /* its 99 % point */
    double evidence; /* ln of how much likelier it is that one measure is wrong than that none is */
    bool misfits; /* say so: a ratio is outside its band, and the misfit is above the limit, or one
                     measure far out of line, or a unit slip of it would mend all its ratios */
    bool more;    /* taking the first suspect out still leaves a misfit: more than one is wrong */
    bool apart;   /* the first suspect can be told from the second; else say "this or that" */
    size_t count; /* ranked: measures that stand in a relation, whether to be told or not */
    struct proportion_suspect ranked[PROPORTION_MOST]; /* most likely first */
};

/* `checks` has room for one verdict a relation. Refuses a measure that is not a positive finite
 * number, a band that is none, and more than there is room for. Relations whose measures are absent
 * are passed over. */
bool proportion_solve(const struct proportion_measure *measures, size_t measure_count,
                      const struct proportion_relation *relations, size_t relation_count,
                      struct proportion_check *checks, struct proportion_out *out, struct fault *f);

/* The lengths of a dog by name, for the shell; a key is the measure's id with "_mm". */
struct proportion_lengths {
    double withers_height_mm, elbow_height_mm, sternum_height_mm, pelvic_floor_height_mm;
    double hock_height_mm, trunk_span_mm, body_length_mm, stance_length_mm, thigh_depth_mm;
    double chest_depth_mm, chest_width_mm, hip_width_mm, fore_spacing_mm;
    double chest_girth_mm, neck_girth_mm, thigh_girth_mm;
};
extern const struct calc_key proportion_keys_in[];
extern const size_t proportion_keys_in_count;

#endif
