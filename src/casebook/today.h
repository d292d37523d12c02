/* What is due: visits in order, calls to ring back, reviews, conflicts, unsent entries. */
#ifndef AMBLE_CASEBOOK_TODAY_H
#define AMBLE_CASEBOOK_TODAY_H

#include "casebook/casebook.h"

enum due_kind { DUE_VISIT, DUE_RING_BACK, DUE_OPEN_CALL, DUE_REVIEW,
    DUE_CULTURE, DUE_CONFLICT, DUE_RECENT };

struct due {
    enum due_kind kind;
    const char *entity; /* visit, call, ...: what Enter opens */
    const char *when;   /* "14:00", "Tue 24 Nov", "since 09:12", "3 days late" */
    const char *who;    /* "Biscuit, Dachshund" */
    const char *what;   /* "first visit, 12 Quarry Lane" */
    bool late;
};
struct today {
    const struct due
        *rows; /* by kind, then time; DUE_RECENT: the last dogs seen, when little is due */
    size_t count;
    struct journal_counts counts;
    const char *unsent; /* "3 entries wait to be sent, the oldest 2 days old", or "" */
};
bool today_look(struct casebook *cb, struct arena *a, struct today *out, struct fault *f);

#endif
