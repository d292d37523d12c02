/* Shared by take.c, give.c and share.c. */
#ifndef AMBLE_SHARE_EXCHANGE_INSIDE_H
#define AMBLE_SHARE_EXCHANGE_INSIDE_H

#include "share/exchange.h"
#include "share/pack.h"
#include "share/wire.h"

/* What a device said it holds of one device: entries 1 to have, the last with this hash. */
struct has {
    uint8_t device[UUID_BYTES];
    uint64_t have;
    uint8_t hash[HASH_BYTES];
};
struct vector {
    uint64_t serial; /* of the bundle that said so */
    struct has *list;
    size_t count;
};
const struct has *has_find(const struct vector *v, const uint8_t device[UUID_BYTES]);
bool vector_put(struct share *s, struct text *out, struct fault *f); /* this device's own */
void vector_take(struct vector *v, struct arena *a, struct reader *r);
/* What a device last said; an empty vector when it never did. */
bool vector_of(struct share *s, struct arena *a, const uint8_t device[UUID_BYTES],
               struct vector *out, struct fault *f);
bool vector_keep(struct share *s, const uint8_t device[UUID_BYTES], const struct vector *v,
                 struct fault *f);

/* Quarantine: packed entries under the device they are of. */
bool held_keep(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t first, uint64_t count,
               const char *why, const uint8_t *packed, size_t size, struct fault *f);
static const char HELD_RETIRED[] = "retired";
/* Look again at what was held back for a retirement that is over, or reaches less far. */
bool held_release(struct share *s, struct report *r, struct fault *f);
/* Take it in, within the transaction that is open. */
bool exchange_take_held(struct share *s, const uint8_t *packed, size_t size, struct report *r,
                        struct fault *f);
bool held_any(struct journal *j, const uint8_t device[UUID_BYTES]);
/* Take a device's entries after `after` out of the record and into quarantine. */
bool held_withdraw(struct share *s, const uint8_t device[UUID_BYTES], uint64_t after,
                   const char *why, struct fault *f);

#endif
