/* After the visit: when to look again, what moves the ladder, and how a case is closed. */
#ifndef AMBLE_CASEBOOK_REVIEW_H
#define AMBLE_CASEBOOK_REVIEW_H

#include "casebook/past.h"

struct review_plan {
    bool planned;             /* false: nothing comes after (no steps, closed) */
    day_number start;         /* what the days are counted from */
    const char *counted_from; /* that day in words: hand-over, else fitting, else first visit */
    const struct review_step *step; /* the next one */
    day_number due;
    bool culture; /* a urine culture is to come */
    const struct culture_rule *rule;
    day_number culture_due;
};
/* What follows the last visit of `p`. */
void review_plan(const struct past *p, struct review_plan *out);
/* Sign the visit and write down what is due next, on the dog: one transaction. */
bool visit_sign(struct chart *c, struct fault *f);
/* The same after an amendment: a hand-over written down late moves what is due. Nothing when the
 * visit is not signed, or a later one is. */
bool visit_plan_again(struct chart *c, struct fault *f);

struct ladder_view {
    bool judged; /* a rule holds */
    enum ladder_move move;
    const struct ladder_rule *rule; /* that decided */
    const char *because;            /* the findings it rests on */
    int now, next;                  /* steps of the template's ladder; -1: not recorded */
};
void ladder_look(const struct chart *c, struct ladder_view *out);
const char *ladder_word(enum ladder_move m); /* "down", "hold", "up" */

/* A published range that is about this dog, beside how far the dog is. */
struct course_view {
    const struct course *course;
    bool since_known;
    int days;  /* from then to now */
    bool open; /* the range has begun and the case is not closed: plan the next stage now */
};
size_t courses_look(const struct past *p, const struct course_view **out);

/* Close the case today: nothing about this dog is due from then on, and what is on loan to it waits
 * in the register (casebook/lending.h). Opening it again lets the next signed visit plan. Closing
 * what is closed is no entry. */
bool case_close(struct chart *c, struct fault *f);
bool case_open_again(struct chart *c, struct fault *f);
bool case_closed(const struct chart *c);

#endif
