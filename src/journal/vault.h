/* Sealed backups: files that only a passphrase or the printed recovery key opens.
 *
 * A vault is a key pair. What stands on this device is its public half and its secret half wrapped
 * twice, under the passphrase and under the recovery key, so that a backup is made without asking
 * for either and neither is stored.
 *
 *   file    "amble backup" 12, version 1, vault 224, file key sealed to the vault's public key 80,
 *           secretstream header 24, pieces of at most 65,536 + 17 bytes, the last one FINAL, each
 *           with the BLAKE2b-256 of all before the stream header as associated data
 *   vault   public key 32 and two slots: passphrase, recovery key
 *   slot    operations 4, memory in KiB 4 (both little-endian), salt 16, nonce 24, wrapped secret
 *           key 48 (XSalsa20-Poly1305 under Argon2id of what was typed)
 *
 * What a header asks of Argon2id is capped before anything is allocated.
 */
#ifndef AMBLE_JOURNAL_VAULT_H
#define AMBLE_JOURNAL_VAULT_H

#include "base/fault.h"
#include <stddef.h>
#include <stdint.h>

struct journal;

enum {
    VAULT_SLOT = 4 + 4 + 16 + 24 + 48,
    VAULT_BYTES = 32 + 2 * VAULT_SLOT,
    RECOVERY_ROOM = 48, /* eight groups of five characters */
    PASSPHRASE_LEAST = 8,
};
struct vault {
    uint8_t bytes[VAULT_BYTES];
};

/* New keys under a passphrase; the recovery key is written once, here, and kept nowhere. Takes
 * about half a second and 256 MiB. FAULT_INPUT: fewer than PASSPHRASE_LEAST characters. */
bool vault_make(struct vault *v, const char *passphrase, char recovery[RECOVERY_ROOM],
                struct fault *f);
/* The same with a cost of one's own: tests, which make hundreds. */
bool vault_make_at_cost(struct vault *v, const char *passphrase, char recovery[RECOVERY_ROOM],
                        uint32_t operations, uint32_t memory_kib, struct fault *f);
/* Seal a file into another: temporary name, flush, rename. */
bool vault_seal(const struct vault *v, const char *from, const char *to, struct fault *f);
/* Is it a sealed backup? False for anything else, also what cannot be read. */
bool vault_is_sealed(const char *path);
/* Open one with its passphrase or recovery key (blanks, hyphens and case do not matter there).
 * `to` is whole or not there. FAULT_REFUSED: neither fits. FAULT_DAMAGE: cut or changed. */
bool vault_open(const char *from, const char *to, const char *secret, struct fault *f);

/* The vault of a record, in its settings. False without a fault: there is none yet. */
bool vault_load(struct journal *j, struct vault *v);
bool vault_keep(struct journal *j, const struct vault *v, struct fault *f);

/* ---- on exit, by days ------------------------------------------------------------------------ */

enum { BACKUPS_KEPT = 7, BACKUP_DAYS_USUAL = 1 };
/* Make a sealed copy in the folder backups/ beside the record when the newest there is as old as
 * the days set ("backup.days", 0: never), and keep the newest BACKUPS_KEPT. Nothing happens without
 * a vault. `made` (NULL allowed): a copy was made. `now`: ms since 1970. */
bool vault_backup_due(struct journal *j, int64_t now, bool *made, struct fault *f);
/* The same, due or not; its path is written to `path`. */
bool vault_backup(struct journal *j, int64_t now, char path[4096], struct fault *f);
/* Keep the newest BACKUPS_KEPT of the files in `folder` whose names have this shape, in which a 0
 * stands for any digit, so that names sort by time. Whatever is named otherwise is left alone. */
void backups_thin(const char *folder, const char *shape);

#endif
