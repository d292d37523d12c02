/* This device's part in the exchange between the devices of a practice.
 *
 * Any two devices may exchange, in any order and over anything that carries bytes: a folder
 * (folder.h) or a pair of pipes (link.h). Both carry the same sealed bundles (seal.h). What a
 * device has of each other one (its vector) travels in every bundle; nothing counts as handed over
 * before the other side has said so. amble-sync(7) tells the whole story.
 */
#ifndef AMBLE_SHARE_SHARE_H
#define AMBLE_SHARE_SHARE_H

#include "base/text.h"
#include "share/devices.h"
#include "share/keys.h"

struct arena;

struct share {
    struct journal *journal;
    struct keys *keys;
    struct devices devices;
    struct arena *arena; /* holds the list of devices */
    uint8_t self[UUID_BYTES];
};

/* Join the exchange as the device this record belongs to. FAULT_MISSING while it is not enrolled,
 * FAULT_REFUSED when it is retired, or took a new identity (identity.h) and must be admitted
 * again. */
bool share_open(struct share **out, struct journal *j, struct fault *f);
void share_close(struct share *s); /* NULL is allowed */
/* Take over a list of devices if it is newer and signed by the practice; *newer tells. What it
 * retires is held back from then on. */
bool share_devices(struct share *s, const uint8_t *bytes, size_t size, bool *newer,
                   struct fault *f);
/* The base's changes to the list: admit, rename, retire all end here. */
bool share_devices_change(struct share *s, const struct devices *d, struct fault *f);
const char *share_name(const struct share *s, const uint8_t device[UUID_BYTES]);

/* ---- one exchange, as it is told ------------------------------------------------------------ */

/* Somebody watching: both may be NULL. `stop` is asked between steps that are whole in themselves.
 */
struct watch {
    void (*progress)(void *of, const char *what, uint64_t done, uint64_t total);
    bool (*stop)(void *of);
    void *of;
    bool quiet;          /* nobody can answer questions (a password): do not let ssh ask */
    uint64_t photo_most; /* larger photographs stay; 0: none travel */
};

struct report {
    uint64_t came, known, went; /* entries */
    uint64_t held;              /* entries held back, now in quarantine */
    uint64_t photos_came, photos_went, photos_left;
    uint64_t conflicts_before, conflicts;
    uint64_t unsent; /* entries made here that no other device is known to hold */
    int64_t oldest_unsent;
    struct text missing; /* what has not come, a line each */
    struct text person;  /* what a person must look at, a line each */
    bool stopped, renewed;
};
/* Up to which size photographs travel, in KiB: what was chosen last on this device. */
enum { PHOTO_KIB_USUAL = 4096, PHOTO_KIB_MOST = 256 << 10 };
uint64_t share_photo_kib(struct journal *j);
bool share_photo_kib_set(struct journal *j, uint64_t kib, struct fault *f);

void report_init(struct report *r);
void report_free(struct report *r);
/* A line to one of the two, once. */
void report_line(struct text *lines, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* The whole of it in words, a line each. */
void report_say(const struct report *r, struct text *out);

/* Exchange with a place: a folder, or "ssh://user@host/"; what came is in the record even when
 * this ends in a fault. */
bool share_sync(struct share *s, const char *place, const struct watch *w, struct report *r,
                struct fault *f);

#endif
