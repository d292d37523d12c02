/* What is due: visits in order, calls to ring back, reviews, conflicts, unsent entries. Of a dog
 * whose case is closed nothing but the call that was agreed with the owner. */
#ifndef AMBLE_CASEBOOK_TODAY_H
#define AMBLE_CASEBOOK_TODAY_H

#include "casebook/casebook.h"

/* In the order of the page: id, heading, word for a program. */
#define DUE_KINDS(X)                                                                               \
    X(VISIT, "Visits", "visit")                                                                    \
    X(RING_BACK, "To ring back", "ring back")                                                      \
    X(OPEN_CALL, "Open calls", "call")                                                             \
    X(REVIEW, "Reviews due", "review")                                                             \
    X(CULTURE, "Cultures due", "culture")                                                          \
    X(LOAN, "Loans due back", "loan")                                                              \
    X(CONFLICT, "Conflicts", "conflict")                                                           \
    X(RECENT, "Seen last", "recent")

enum due_kind {
#define X(id, heading, word) DUE_##id,
    DUE_KINDS(X)
#undef X
};
const char *due_heading(enum due_kind k);
const char *due_word(enum due_kind k);

struct due {
    enum due_kind kind;
    const char *entity; /* visit, call, ...: what Enter opens */
    const char *at;     /* canonical day or time; "" of what has none */
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
/* The same with everything that is due within so many days, and without DUE_RECENT. */
bool today_look_ahead(struct casebook *cb, struct arena *a, int days, struct today *out,
                      struct fault *f);

#endif
