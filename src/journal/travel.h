/* What the journal holds for the exchange between devices, beside the entries themselves: blobs
 * that share/ keeps, the seeds of salts, and moving a branch of entries out of the way.
 */
#ifndef AMBLE_JOURNAL_TRAVEL_H
#define AMBLE_JOURNAL_TRAVEL_H

#include "journal/apply.h"

/* ---- what share/ keeps: never travels ------------------------------------------------------- */

/* Bytes under a name, in `a`; NULL and size 0 when there are none. */
bool journal_kept(struct journal *j, struct arena *a, const char *name, const uint8_t **bytes,
                  size_t *size, struct fault *f);
bool journal_keep(struct journal *j, const char *name, const void *bytes, size_t size,
                  struct fault *f);
bool journal_keep_drop(struct journal *j, const char *name, struct fault *f);
/* Every name that starts so, in order, until `each` returns false; `each` must not write. */
bool journal_kept_each(struct journal *j, const char *start,
                       bool (*each)(void *of, const char *name, const uint8_t *bytes, size_t size),
                       void *of, struct fault *f);

/* ---- salts ---------------------------------------------------------------------------------- */

/* An own entry's salt is the first 16 bytes of BLAKE2b-256, key = the seed of its block, over its
 * number (8 bytes, little-endian). A seed stands for the salts of SALT_BLOCK entries, so that a
 * bundle need not carry them. Whoever erases a value by law must drop the seed of its block too
 * (everywhere), or the erased value could be guessed from its digest. */
enum { SALT_BLOCK = 256, SEED_BYTES = 32 };
void salt_of(const uint8_t seed[SEED_BYTES], uint64_t number, uint8_t salt[SALT_BYTES]);
/* The seed of a block (number / SALT_BLOCK) of a device; *there is false when it is not known. */
bool journal_seed(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t block,
                  uint8_t seed[SEED_BYTES], bool *there, struct fault *f);
bool journal_seed_put(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t block,
                      const uint8_t seed[SEED_BYTES], struct fault *f);

/* ---- branches ------------------------------------------------------------------------------- */

void journal_self(const struct journal *j, uint8_t uuid[UUID_BYTES]);
/* How many entries of a device are held: 1 to *have. 0 for one never heard of. */
bool journal_have(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t *have,
                  struct fault *f);
/* The hash of one entry; *there is false when it is not held. */
bool journal_hash(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t number,
                  uint8_t hash[HASH_BYTES], bool *there, struct fault *f);

/* Take the entries of a device after number `after` out of the record, as if they had never come;
 * what they replaced is current again. The caller has put them into quarantine first. */
bool journal_withdraw(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t after,
                      struct fault *f);

/* Two copies of one device went on under its name. Move what is held of it after number `after`
 * to a name of its own, made from the device and the first entry moved, so that whoever moves the
 * same branch makes the same entries. Content, author, time and reason stay, and so does what tells
 * an edge which entry is meant (struct far_edge): edges from elsewhere find the entries that moved,
 * and do not count for those that take their numbers. Edges within the branch follow it. When the
 * device is this one, it goes by the new name from now on. One transaction, or part of the one
 * begun. */
bool journal_branch(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t after,
                    uint8_t moved_to[UUID_BYTES], struct fault *f);

#endif
