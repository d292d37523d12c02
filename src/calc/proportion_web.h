/* Inside proportion.c: the relations of one dog as a web, and what it holds each measure to. */
#ifndef AMBLE_CALC_PROPORTION_WEB_H
#define AMBLE_CALC_PROPORTION_WEB_H

#include "calc/proportion.h"
#include <stdint.h>

#define NOT_MEASURED SIZE_MAX

/* The sides of a relation: (of + plus) / (to, or the diagonal of to and across). */
enum { OF, TO, PLUS, ACROSS, SIDES };

/* One relation with all its sides measured. */
struct tie {
    size_t at[SIDES];     /* NOT_MEASURED where there is none */
    double middle, sd;    /* of the ratio's logarithm */
    double low, high;     /* of the ratio */
    double weight;        /* in the joint shape: 1 / sd^2 where no other relation says the same */
    double slopes[SIDES]; /* of the ratio's logarithm by each side's, at the expected shape */
};

struct web {
    size_t n, tie_count, freedom;
    struct tie ties[PROPORTION_RELATIONS_MOST];
    size_t group[PROPORTION_MOST];    /* which connected part of the web; parts do not compare */
    double y[PROPORTION_MOST];        /* ln measured */
    double expected[PROPORTION_MOST]; /* ln of what the ties pull to, in the dog's size */
    double least;                     /* misfit there: above 0 when the middles disagree */
};

/* The usual slips of a unit and of the hand; those of a unit come first. */
struct usual_slip {
    enum proportion_slip slip;
    double factor; /* of the value as it is, to the value as it should be */
};
enum { USUAL = 6, OF_A_UNIT = 4 };
extern const struct usual_slip usual_slips[USUAL];

/* The shape with one measure free. */
struct freed {
    double value; /* ln of what the others point to */
    double gain;  /* misfit that goes */
    double firm;  /* 1 / variance, given the others; 0 when it stands in no tie */
    double odds;  /* that this one is wrong against that none is, ln */
};

/* `y` holds the logarithms of all measures, here and below. */
double tie_ratio(const struct tie *t, const double *y);
bool tie_has(const struct tie *t, size_t measure);
/* One more tie between the measures at[]. */
void web_add(struct web *web, const struct proportion_relation *r, const size_t at[SIDES]);
/* What each measure is expected to be, and how firmly each tie holds: round by round it is weighed
 * so that it spreads as its band says (iterative proportional scaling). False when it cannot be. */
bool web_settle(struct web *web);
double web_misfit(const struct web *web, const double *y);
/* A slip is one of the usual, or small (about one in five), or of any size: all alike beforehand
 * (common practice, no source). */
struct freed web_leave_out(const struct web *web, size_t measure);

#endif
