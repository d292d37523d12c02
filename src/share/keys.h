/* This device's secret keys, in the folder keys/ beside the record: device.key, and at the base
 * also practice.key, with which the list of devices is signed. Mode 0600; in memory locked, and
 * wiped when closed. Keys never travel and are not part of a backup of the record. */
#ifndef AMBLE_SHARE_KEYS_H
#define AMBLE_SHARE_KEYS_H

#include "share/devices.h"

struct keys {                 /* in locked memory */
    uint8_t uuid[UUID_BYTES]; /* the identity the keys were made for */
    uint8_t sign[KEY_BYTES], box[KEY_BYTES];
    uint8_t sign_secret[SIGNATURE_BYTES], box_secret[KEY_BYTES];
    bool root_there; /* this is the base */
    uint8_t root[KEY_BYTES], root_secret[SIGNATURE_BYTES];
};

/* The keys in `folder` (the data folder). FAULT_MISSING when there are none. */
bool keys_open(struct keys **out, const char *folder, struct fault *f);
void keys_close(struct keys *k); /* NULL is allowed */
/* New keys for an identity, on disk when this returns; what was there is kept as device.key.old. */
bool keys_make(struct keys **out, const char *folder, const uint8_t uuid[UUID_BYTES],
               struct fault *f);
/* Whether the practice's own key lies in `folder`: this is the base. */
bool keys_of_base(const char *folder);
/* The practice's own key, made once at the base. */
bool keys_make_root(struct keys *k, const char *folder, struct fault *f);

#endif
