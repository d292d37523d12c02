/* Entries as they travel: for whatever carries them between devices, and for the hash chain.
 *
 * Here nothing is local: devices, entities and authors are their 16-byte uuids. A device's entries
 * are applied in its own order, without gaps; between devices any order, any number of times. What
 * is current afterwards is a function of the set of entries held, and of nothing else.
 */
#ifndef AMBLE_JOURNAL_APPLY_H
#define AMBLE_JOURNAL_APPLY_H

#include "journal/journal.h"

enum { UUID_BYTES = 16, HASH_BYTES = 32, SALT_BYTES = 16 };

struct far_id {
    uint8_t device[UUID_BYTES];
    uint64_t number;
};

/* What an entry replaces: where it stood, and what was seen there. Two copies of one device may
 * give one number to two entries, and a branch of them goes on under another name: the tag tells
 * them apart and finds the one that moved. 0: an amble before tags did not say. */
struct far_edge {
    struct far_id at;
    uint64_t tag;
};

struct far_entry {
    struct far_id id;
    enum entry_kind kind;
    uint8_t entity[UUID_BYTES];
    const char *entity_kind, *item;
    const char *value; /* NULL: lawfully erased, and `salt` is then the digest of salt and value */
    uint8_t author[UUID_BYTES];
    bool has_author;
    const char *reason;
    int64_t claimed_at;
    uint64_t lamport;
    const struct far_edge *replaces; /* ascending by device, then number; with tags all or none */
    size_t replaces_count;
    uint8_t salt[HASH_BYTES]; /* the first SALT_BYTES, or all when erased */
    uint8_t hash[HASH_BYTES];
    /* `hash` was worked out over the entry before having this hash, by whoever unpacked the entry;
     * NULL: it was not, and is worked out again before it is believed. */
    const uint8_t *after;
};

enum applied { APPLIED_NEW, APPLIED_KNOWN };

/* Apply one entry of another device, in a transaction of its own or in the one begun. Idempotent.
 * FAULT_MISSING: an earlier entry of its device has not come yet. FAULT_INPUT: no amble writes such
 * an entry (its id, text or numbers). FAULT_DAMAGE: the same device and number are held with
 * another hash (a copied or restored device), the hash does not follow from the content and the
 * entry before, or the entry contradicts what is held. Device and number are named. After any fault
 * nothing has changed. */
bool journal_apply(struct journal *j, const struct far_entry *e, enum applied *how,
                   struct fault *f);

/* Entries of a device after number `after`, in order, until `each` returns false. The entry and its
 * texts live during the call only. */
bool journal_entries(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t after,
                     bool (*each)(void *of, const struct far_entry *e), void *of, struct fault *f);

/* The version vector: what is held of every device known. */
struct device_state {
    uint32_t device; /* local number */
    uint8_t uuid[UUID_BYTES];
    const char *name;
    uint64_t have;  /* entries 1 to have are here */
    uint64_t holds; /* how many of this device's own entries that device is known to hold */
};
bool journal_vector(struct journal *j, struct arena *a, const struct device_state **out,
                    size_t *count, struct fault *f);
/* Another device said what it holds of this device's entries: decides what counts as unsent. */
bool journal_holds(struct journal *j, const uint8_t device[UUID_BYTES], uint64_t number,
                   struct fault *f);
/* The name a device goes by; makes the device known when it was not. */
bool journal_device_name(struct journal *j, const uint8_t device[UUID_BYTES], const char *name,
                         struct fault *f);
/* From now on entries are made as a new device: after a restore or when a copy was noticed. */
bool journal_renew_identity(struct journal *j, struct fault *f);

/* What is derived (heads, conflicts, search) made again from the entries. */
bool journal_rebuild(struct journal *j, struct fault *f);

void uuid_write(const uint8_t uuid[UUID_BYTES], char out[37]);
bool uuid_read(const char *s, uint8_t out[UUID_BYTES]);

/* The chain. All integers little-endian; a text is its length as 4 bytes and its bytes.
 *
 *   digest = BLAKE2b-256, key = salt (16 bytes), over the bytes of the value
 *   hash   = BLAKE2b-256 over
 *     "amble entry 1"     13 bytes ("amble entry 2" when what it replaces has tags)
 *     hash of the device's entry before, 32 bytes (zeros before the first)
 *     device uuid 16, number 8, kind 1, lamport 8, claimed_at 8
 *     entity uuid 16, kind of entity text, item text
 *     author: 1 byte (0 or 1), and 16 when 1
 *     reason text
 *     digest 32
 *     number of replaced entries 4, each: device uuid 16, number 8, with "2" tag 8; ascending
 *
 * Hashing the digest instead of the value lets a value be blanked by law and the chain still hold.
 */
void chain_hash(const struct far_entry *e, const uint8_t before[HASH_BYTES],
                uint8_t out[HASH_BYTES]);

/* The tag of an entry: the first 8 bytes, little-endian, of the hash it would have as number 0 of
 * device 0, replacing nothing and after nothing; 1 should they all be 0. It stays when a branch is
 * moved (travel.h), and the salt makes it one entry's own. */
uint64_t chain_tag(const struct far_entry *e);

/* Does an edge mean the entry that stands at `at` and has this tag? Without a tag the place alone
 * decides. With one the content must be what was seen, at its place or in a branch that moved.
 * Besides, an edge counts between entries of one item and upwards in lamport only. */
bool edge_means(const struct far_edge *edge, const struct far_id *at, uint64_t tag);
/* Was this name given to a branch by journal_branch? */
bool device_is_branch(const uint8_t device[UUID_BYTES]);

#endif
