/* The devices of a practice: who may write and read bundles.
 *
 * The base keeps the list and signs it with the practice's own key, whose public half every laptop
 * took at enrolment. The newest list wins; it travels beside the bundles and is not secret (names
 * of devices and public keys).
 */
#ifndef AMBLE_SHARE_DEVICES_H
#define AMBLE_SHARE_DEVICES_H

#include "journal/apply.h"

struct arena;
struct text;

enum { KEY_BYTES = 32, SIGNATURE_BYTES = 64, DEVICES_MOST = 200, DEVICE_NAME_MOST = 60 };

struct device {
    uint8_t uuid[UUID_BYTES];
    uint8_t sign[KEY_BYTES], box[KEY_BYTES]; /* public */
    const char *name;
    bool base, retired;
    uint64_t cut; /* retired: entries after this number are held back */
};

struct devices {
    uint8_t practice[UUID_BYTES];
    uint8_t root[KEY_BYTES]; /* the practice's public key */
    uint64_t version;
    struct device *list;
    size_t count;
};

const struct device *device_find(const struct devices *d, const uint8_t uuid[UUID_BYTES]);
/* The list with the practice's signature under it. */
void devices_write(const struct devices *d, const uint8_t root_secret[SIGNATURE_BYTES],
                   struct text *out);
/* Reads and checks the signature against the key inside; whether that key and practice are the
 * right ones is for the caller to say. In `a`. */
bool devices_read(struct devices *d, const uint8_t *bytes, size_t size, struct arena *a,
                  struct fault *f);
/* "49213 07718 88201 53320 01944 62178": to be read aloud. `out` holds FINGERPRINT_ROOM bytes. */
enum { FINGERPRINT_ROOM = 36 };
void fingerprint(const void *bytes, size_t size, char out[FINGERPRINT_ROOM]);

#endif
