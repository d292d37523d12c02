/* Entries packed for travelling: tables of names, then one stream for each part of an entry, so
 * that like stands beside like, then zlib.
 *
 * Hashes do not travel: a run says the hash before its first entry and that of its last, and who
 * unpacks computes those between. Salts do not travel either where their seed does (travel.h).
 *
 *   raw size 4, deflated:
 *     version 2 (1, from an older amble, is read: it has no TAGS, all are 0)
 *     devices and authors: count, 16 bytes each
 *     kinds and items: count, text with its zero each
 *     records: count, uuid 16, kind (index)
 *     runs: count, each: device (index), first number, count, hash before 32, hash of the last 32,
 *           seeds: count, each block, 32 bytes
 *     streams, each with its length: HEADS, RECORDS, ITEMS, AUTHORS, TIMES, LAMPORTS, TEXTS,
 *           EDGES, SALTS, TAGS (8 bytes for each of EDGES)
 */
#ifndef AMBLE_SHARE_PACK_H
#define AMBLE_SHARE_PACK_H

#include "journal/travel.h"

struct arena;
struct text;

enum {
    PACK_ENTRIES = 50000,  /* in one pack, at most */
    PACK_RAW = 32 << 20,   /* bytes before zlib, at most */
    PACK_ENOUGH = 8 << 20, /* a packer is full beyond this */
    RUNS_MOST = 1000
};

/* A stretch of one device's entries: first to first + count - 1. */
struct run {
    uint8_t device[UUID_BYTES];
    uint64_t first, count;
    uint8_t before[HASH_BYTES], last[HASH_BYTES];
};

/* ---- packing -------------------------------------------------------------------------------- */

struct packer;
struct packer *packer_new(struct journal *j);
void packer_free(struct packer *p);
/* Add the entries of a device after number `after` up to `until`, as many as there is room for;
 * *reached is the last one added (`after` when none). */
bool packer_add(struct packer *p, const uint8_t device[UUID_BYTES], uint64_t after, uint64_t until,
                uint64_t *reached, struct fault *f);
bool packer_full(const struct packer *p);
size_t packer_entries(const struct packer *p);
/* What was added, in the packer's memory. */
const struct run *packer_runs(const struct packer *p, size_t *count);
/* Append the packed bytes to `out`; the packer is used up. */
bool packer_done(struct packer *p, struct text *out, struct fault *f);

/* ---- unpacking ------------------------------------------------------------------------------ */

/* Inflated and looked over; in `a`. FAULT_DAMAGE when it cannot be what a packer made, FAULT_LIMIT
 * beyond the sizes above, FAULT_REFUSED when a newer program made it. */
struct pack;
bool pack_open(struct pack **out, const uint8_t *bytes, size_t size, struct arena *a,
               struct fault *f);
const struct run *pack_runs(const struct pack *p, size_t *count);
/* The seeds that came with run `at`: calls back for each. */
bool pack_seeds(const struct pack *p, size_t at,
                bool (*each)(void *of, uint64_t block, const uint8_t seed[SEED_BYTES]), void *of);
/* Every entry in order, with the run it is of; `each` returning false ends it (and pack_each
 * returns true). The entry lives during the call. FAULT_DAMAGE when the streams end early or the
 * last hash of a run is not what was announced: what `each` did is then to be undone. */
bool pack_each(const struct pack *p, bool (*each)(void *of, size_t run, const struct far_entry *e),
               void *of, struct fault *f);

#endif
