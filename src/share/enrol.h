/* Setting up a base, and enrolling a device by two text files.
 *
 *   laptop: request  ->  base: admit, reply  ->  laptop: join
 *
 * Whoever admits compares the fingerprint of the request with the one on the laptop's screen, and
 * whoever joins that of the practice with the one on the base's: six groups of five digits, read
 * aloud. A file that somebody else put in between does not survive that.
 */
#ifndef AMBLE_SHARE_ENROL_H
#define AMBLE_SHARE_ENROL_H

#include "share/share.h"

/* Make this record's device the base of a new practice. FAULT_REFUSED when it is enrolled already.
 */
bool base_make(struct journal *j, const char *name, struct fault *f);
/* The fingerprint of the practice, as the base and a joining laptop show it. */
void practice_fingerprint(const struct devices *d, char out[FINGERPRINT_ROOM]);

/* The laptop: a request as text, with new keys where there are none for its present identity. */
bool request_make(struct journal *j, const char *name, struct text *out,
                  char print[FINGERPRINT_ROOM], struct fault *f);
/* The base: read a request; it is signed with the key it brings, which proves that much only. */
bool request_read(const char *text, struct arena *a, struct device *out,
                  char print[FINGERPRINT_ROOM], struct fault *f);
/* The base: take the device into the list; `out` gets the reply. A retired one only when `again`
 * says so: its retirement is then over. */
bool request_admit(struct share *base, const struct device *d, bool again, struct text *out,
                   struct fault *f);
/* The laptop: read a reply (in `a`), and join. A record that belongs to another practice is
 * refused. */
bool reply_read(struct journal *j, const char *text, struct arena *a, struct devices *out,
                const uint8_t **bytes, size_t *size, char print[FINGERPRINT_ROOM], struct fault *f);
bool reply_join(struct journal *j, const struct devices *d, const uint8_t *bytes, size_t size,
                struct fault *f);

/* The base: one device by its name or the start of its id. */
bool device_named(const struct share *s, const char *said, const struct device **out,
                  struct fault *f);
bool device_rename(struct share *base, const uint8_t device[UUID_BYTES], const char *name,
                   struct fault *f);
/* Entries it makes after number `cut` are held back everywhere. The last base cannot go. */
bool device_retire(struct share *base, const uint8_t device[UUID_BYTES], uint64_t cut,
                   struct fault *f);
/* It stays retired, but its entries up to number `last` stand, everywhere. */
bool device_accept(struct share *base, const uint8_t device[UUID_BYTES], uint64_t last,
                   struct fault *f);

#endif
