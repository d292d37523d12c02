/* Emergency, same day, or book a visit: the practice's rules over the answers of a call. */
#ifndef AMBLE_CASEBOOK_TRIAGE_H
#define AMBLE_CASEBOOK_TRIAGE_H

#include "casebook/casebook.h"

struct triage_reason {
    const struct triage_rule *rule;
    const char *because; /* the answers it rests on, in words: "walking: no; onset: 20 h ago" */
};

/* `urgency` is the gravest rule that holds. With none, or none graver, URGENCY_BOOK only once every
 * `asked_first` item that is shown is answered; until then URGENCY_UNKNOWN, and `open` lists what
 * is still to ask. An answer that would calm never cancels a rule that holds, and of answers in
 * conflict the graver counts. */
struct verdict {
    enum urgency urgency;
    const char *words;                   /* the verdict line */
    const struct triage_reason *reasons; /* gravest first */
    size_t reason_count;
    const char *const *open; /* labels of unanswered asked_first items */
    size_t open_count;
};
void triage_judge(const struct chart *c, struct verdict *out);
const char *
urgency_word(enum urgency u); /* "emergency", "same day", "book a visit", "not yet known" */

#endif
