/* Support: what the practice's rules propose, warn of and forbid; what the practitioner decides. */
#ifndef AMBLE_CASEBOOK_DECIDING_H
#define AMBLE_CASEBOOK_DECIDING_H

#include "casebook/casebook.h"

struct support_reason {
    const struct support_rule *rule;
    const char *because; /* findings it rests on, in words */
};

struct support_view {
    const struct support *support;
    enum { SUPPORT_SILENT, SUPPORT_PROPOSED, SUPPORT_WARNED, SUPPORT_FORBIDDEN } standing;
    const struct support_reason *reasons; /* forbids first, then warns, then proposes */
    size_t reason_count;
    bool decided; /* it is the one decided on */
};

struct deciding {
    struct support_view
        *views; /* proposed first, then silent, warned, forbidden; template order within */
    size_t count;
    const struct support *decided; /* item "support" of the visit, or NULL */
    const struct support *stands;  /* the same, else what was decided at an earlier visit */
    bool override;                 /* decided on one that is warned of or forbidden */
    const char *override_reason;   /* item "support.reason", or "" */
    const char *signed_by;         /* initials, or "" : the author of the decision */
    /* Where `stands` was read, at this visit or before; NULL: nobody decided. While it is in
     * conflict, `stands` is but one of what it says. */
    const struct finding *finding;
    const char *mark; /* finding_mark of the decision at this visit; of `finding` in conflict */
};
void deciding_look(const struct chart *c, struct deciding *out);
/* What is measured and fitted for: the support decided on at this visit, or else the first that is
 * proposed and needs fitting; NULL when there is none. */
const struct support *support_in_mind(const struct chart *c);
/* Decide: writes "support" (with the reason when it goes against a rule; FAULT_REFUSED without). */
bool deciding_put(struct chart *c, const struct support *s, const char *reason, struct fault *f);
struct section_state deciding_state(const struct chart *c);

#endif
