/* Bundles of entries: taking them in and making them. Between share.h and what carries them. */
#ifndef AMBLE_SHARE_EXCHANGE_H
#define AMBLE_SHARE_EXCHANGE_H

#include "share/seal.h"
#include "share/share.h"

/* Take in one sealed bundle of entries: all of it, in one transaction, or nothing. `answer` is what
 * the bundle must answer to (ANSWER_BYTES), or NULL.
 *
 * FAULT_MISSING: something before it has not come yet (try again after others), or its author is
 * not known here. FAULT_REFUSED for a bundle that was read before and brings nothing. Entries of a
 * retired device after its cut, and of a device that turns out to be copied, are held back; the
 * report says so. */
bool exchange_take(struct share *s, const uint8_t *bytes, size_t size, const uint8_t *answer,
                   struct report *r, struct fault *f);

/* From the header alone: would taking it change nothing? */
bool exchange_known(struct share *s, const struct bundle *b);
/* The stretches of entries a header announces. */
struct stretch {
    uint8_t device[UUID_BYTES];
    uint64_t first, last;
};
bool exchange_stretches(const struct bundle *b, struct arena *a, const struct stretch **out,
                        size_t *count);

/* Who lacks what: entries of `device` after `after` are to go. */
struct want {
    uint8_t device[UUID_BYTES];
    uint64_t after;
};
/* For one other device by what it last said, or for all of them (NULL). */
bool exchange_wants(struct share *s, struct arena *a, const uint8_t *peer, struct want **out,
                    size_t *count, struct fault *f);
/* Make bundles of all that and hand each to `send`; at least one (with nothing but the vector) when
 * `always`. `send` returning false ends it with its fault. */
struct sending {
    const uint8_t *answer; /* ANSWER_BYTES, or NULL */
    bool always;
    bool (*send)(void *of, const struct bundle *b, const struct text *bytes, struct fault *f);
    void *of;
};
bool exchange_give(struct share *s, const struct want *wants, size_t count,
                   const struct sending *how, const struct watch *w, struct report *r,
                   struct fault *f);

/* Number of this bundle among all of this device. */
bool exchange_serial(struct share *s, uint64_t *serial, struct fault *f);
/* The last entry of a device that is held back for its retirement; 0: none. */
bool held_last(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t *last,
               struct fault *f);
/* What is in quarantine: calls back for each. */
bool held_each(struct journal *j,
               bool (*each)(void *of, const uint8_t device[UUID_BYTES], uint64_t first,
                            uint64_t count, const char *why),
               void *of, struct fault *f);

#endif
