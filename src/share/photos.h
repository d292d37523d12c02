/* Photographs travel by what is in them, after the entries: DATA/photos/SHA256, in sealed pieces,
 * so that a large one goes on where it was cut. A file of another name in that folder is also found
 * under its hash, by a hard link. casebook/photo.h puts there what a visit names. */
#ifndef AMBLE_SHARE_PHOTOS_H
#define AMBLE_SHARE_PHOTOS_H

#include "share/seal.h"
#include "share/share.h"

enum { PHOTO_HASH_BYTES = 32, PHOTO_PIECE = 1 << 20, PHOTOS_MOST = 100000 };

/* How much of a photograph somebody has: all of it when have == total. */
struct photo_part {
    uint8_t hash[PHOTO_HASH_BYTES];
    uint64_t have, total;
};
/* Where a piece belongs, from a bundle's header. False when it is none. */
bool photo_piece(const struct bundle *b, struct photo_part *out);

struct photo_sending {
    const uint8_t *answer; /* or NULL */
    bool (*send)(void *of, const struct bundle *b, const struct text *bytes, struct fault *f);
    bool (*lies_there)(void *of, const struct photo_part *piece); /* or NULL */
    void *of;
};
/* Tell what is here; and send what `peer` (NULL: any other device) lacks, by what they told. */
bool photos_tell(struct share *s, const struct photo_sending *how, const struct watch *w,
                 struct fault *f);
bool photos_give(struct share *s, const uint8_t *peer, const struct photo_sending *how,
                 const struct watch *w, struct report *r, struct fault *f);
/* Take in a piece or a telling. FAULT_MISSING: the pieces before it have not come. */
bool photos_take(struct share *s, const uint8_t *bytes, size_t size, const uint8_t *answer,
                 const struct watch *w, struct report *r, struct fault *f);
/* Have all other devices said that they have the whole of it? */
bool photos_everybody_has(struct share *s, const uint8_t hash[PHOTO_HASH_BYTES]);

#endif
