/* What is followed over the months: the values of the visits, and whether they really move. */
#ifndef AMBLE_CASEBOOK_TRENDS_H
#define AMBLE_CASEBOOK_TRENDS_H

#include "calc/trend.h"
#include "casebook/past.h"

struct trend_view {
    const struct trend_of *of;
    const struct unit *unit;    /* values are shown in it; NULL: bare numbers */
    const char *unit_name;      /* "kg", "of 72", "%", "" */
    const char *scale;          /* of a score: its label and version, "" otherwise */
    struct trend_point *points; /* base unit; day counted from `first` */
    size_t count;
    size_t passed_over; /* totals of another scale or version: never joined to these */
    day_number first;
    double credible; /* least change that counts, base unit; 0: not known */
    bool solved;     /* three points on two days or more */
    struct trend_out line;
    enum trend_verdict verdict;
    const char *plan;  /* the next stage, which this has opened; "" otherwise, and once closed */
    const char *marks; /* values changed after signing, or disputed: "Thu 22 Oct 2026: after
                          signing, by IV: read again"; "" */
    const char *words; /* "falls, and that is real: ...", or why nothing can be said */
};
/* One for each trend of the template that has at least one value. */
size_t trends_look(const struct past *p, const struct trend_view **out);
/* Why the plan: "Weight really falls", "Caregiver burden has passed its cut-off". */
const char *trend_opened(const struct trend_view *t, struct arena *a);
double trend_shown(const struct trend_view *t, double base); /* in t->unit */
/* "up", "down", "same"; "" when not solved. */
const char *trend_word(const struct trend_view *t);
/* The first and the last value, "34.1 -> 33.2 kg"; of one value alone, "33.2 kg". */
const char *trend_ends(const struct trend_view *t, struct arena *a);
/* "1.2 kg a month (0.4 to 2.0); by medians 1.1", "" when not solved. */
const char *trend_speed(const struct trend_view *t, struct arena *a);
/* "the published cut-off of 35 of 70: in 40 to 95 days if it goes on so", always as a range; ""
 * without a threshold, and words that say so when no range exists. */
const char *trend_crossing(const struct trend_view *t, day_number today, struct arena *a);

#endif
