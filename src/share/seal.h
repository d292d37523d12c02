/* The sealed bundle: a payload that only enrolled devices can read and only an enrolled device can
 * have made.
 *
 *   header   "amble bundle" 12, version 1, size of the whole 4, kind 1, practice 16, author 16,
 *            serial 8, answer 32 (to the other side's challenge; zeros in a folder),
 *            what it holds: length and bytes (readable by anyone: device and numbers),
 *            recipients: count, each device 16 and the file key sealed to it 80
 *   stream   secretstream header 24, then pieces of at most 65,536 + 17 bytes, the last one FINAL;
 *            each with the hash of the header as associated data
 *   end      Ed25519 signature by the author over all before it, 64
 */
#ifndef AMBLE_SHARE_SEAL_H
#define AMBLE_SHARE_SEAL_H

#include "share/devices.h"
#include "share/keys.h"

struct arena;
struct text;

enum { BUNDLE_MOST = 40 << 20, ANSWER_BYTES = 32, BUNDLE_HOLDS_MOST = 1 << 20 };

enum bundle_kind { BUNDLE_ENTRIES = 1, BUNDLE_PHOTO = 2, BUNDLE_PHOTO_LIST = 3 };

struct bundle {
    enum bundle_kind kind;
    uint8_t author[UUID_BYTES];
    uint64_t serial; /* counts the bundles of its author */
    uint8_t answer[ANSWER_BYTES];
    const uint8_t *holds; /* what the header says of the payload */
    size_t holds_size;
    const uint8_t *recipients; /* each device's uuid and 80 sealed bytes */
    size_t recipient_count;
    const uint8_t *payload; /* after bundle_open */
    size_t payload_size;
};

/* Append the sealed bytes to `out`. To every device that is not retired, the author too. */
bool bundle_seal(const struct bundle *b, const struct devices *to, const struct keys *by,
                 struct text *out, struct fault *f);
/* The header only, believed by nobody yet: for what can be told without opening. In place. */
bool bundle_peek(struct bundle *b, const uint8_t *bytes, size_t size,
                 const uint8_t practice[UUID_BYTES], struct fault *f);
/* Peek, verify, decrypt; payload in `a`. Every refusal says which of the things it is: no bundle,
 * newer, another practice, cut, longer than it says, a device that is not enrolled, damaged or
 * changed, not sealed to this device. */
bool bundle_open(struct bundle *b, const uint8_t *bytes, size_t size, const struct devices *from,
                 const struct keys *to, struct arena *a, struct fault *f);
bool bundle_sealed_to(const struct bundle *b, const uint8_t device[UUID_BYTES]);

#endif
