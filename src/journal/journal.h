/* The journal: one append-only table of entries, and what follows from it.
 *
 * An entry says: this device, as its number N, by this author, at what its clock claimed, sets item
 * I of entity E to this value, for this reason, replacing exactly these earlier entries. Current
 * values ("heads") are the entries nobody replaced; two heads of one item with different values are
 * a conflict, which only a person settles. Nothing is updated or deleted; a value that was wrong is
 * answered by an entry of kind ENTRY_ERROR with a reason.
 *
 * Nothing here knows templates or what a value means: values are UTF-8 texts, a quantity with its
 * unit as one value. Items whose value names another entity or a day may be "keyed" (journal_keyed)
 * and can then be searched by value.
 */
#ifndef AMBLE_JOURNAL_JOURNAL_H
#define AMBLE_JOURNAL_JOURNAL_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct arena;
struct journal;

/* Device 0 is never used. Devices have small local numbers; what travels is their uuid. */
struct entry_id {
    uint32_t device;
    uint64_t number;
};

enum entry_kind {
    ENTRY_SET = 1, /* item has value */
    ENTRY_ERROR =
        2, /* what it replaces was entered in error: the item has no value; reason needed */
    ENTRY_SIGN = 3, /* value: hex hash over the heads of the entity that were signed */
};

struct entry {
    struct entry_id id;
    enum entry_kind kind;
    const char *entity, *entity_kind; /* uuid and "dog", "visit", ... */
    const char *item, *value;
    const char *author; /* uuid of a practitioner, or "" before there is one */
    const char *reason; /* "" when none was needed */
    int64_t claimed_at; /* ms, the device's clock */
    uint64_t lamport;   /* display order only */
    /* Where they are now; number 0: it has not come, and its number is another entry's here. */
    const struct entry_id *replaces;
    size_t replaces_count;
};

/* ---- opening --------------------------------------------------------------------------------- */

enum journal_mode {
    JOURNAL_WRITE,           /* create when missing; fails FAULT_BUSY when another process writes */
    JOURNAL_WRITE_ELSE_READ, /* as above, but then opens read-only: ask journal_read_only() */
    JOURNAL_READ,            /* must exist */
};

/* `folder` is the data folder (0700, made when missing in a write mode); the database is
 * folder/journal.db (0600). Checks application id, refuses a newer schema, a foreign file and
 * a damaged one with words that say so, never overwriting; migrates older ones, each step in one
 * transaction after a backup. */
bool journal_open(struct journal **out, const char *folder, enum journal_mode mode,
                  struct fault *f);
/* Let another process write while nobody does here; until it is taken back this one only reads.
 * Taking back: FAULT_BUSY while somebody still writes; nothing happens when it was not lent. */
bool journal_lend(struct journal *j, struct fault *f);
bool journal_take_back(struct journal *j, struct fault *f);
void journal_close(struct journal *j); /* NULL is allowed */
bool journal_read_only(const struct journal *j);
const char *journal_folder(const struct journal *j);
const char *journal_writer(const struct journal *j); /* when read-only: "pid 4121", else "" */
/* Why it is read-only, for a person: "another amble (pid 4121) is writing it"; "" when it is not.
 */
const char *journal_why_read_only(const struct journal *j);
/* From now on nothing is written: what is there is more than what could still be added. */
void journal_stop_writing(struct journal *j, const char *why);
/* The last writer did not close: offer journal_quick_check. Nothing acknowledged is lost by it. */
bool journal_unclean(const struct journal *j);
uint32_t journal_device(const struct journal *j); /* this device's local number */
/* Grows whenever entries were written, or were tried to be, since it was opened, and when it is
 * taken back from who it was lent to: then what rests on the disk is worth another look. */
uint64_t journal_writes(const struct journal *j);

/* For an invented practice: entries from now on claim this time, ms; 0: the clock's again. */
void journal_pretend(struct journal *j, int64_t at);
int64_t journal_clock(const struct journal *j); /* what an entry written now would claim */

/* ---- writing --------------------------------------------------------------------------------- */

struct edit {
    enum entry_kind kind;
    const char *entity, *item, *value, *author, *reason;
    const struct entry_id *replaces; /* what the editor was shown, nothing else */
    size_t replaces_count;
};

/* Make an entity of a kind ("dog"); its uuid is written to out (IDENT_ROOM bytes). Made entities
 * are on disk with their first entry, not before: an entity without entries does not exist. */
bool journal_entity_new(struct journal *j, const char *kind, char *out, struct fault *f);

/* Append one entry in one transaction; on return it is on disk (one flush), or will be in a moment
 * (journal_flush_beside). Refuses: read-only, unknown entity, item or value not UTF-8, value over
 * JOURNAL_VALUE_MAX bytes, ENTRY_ERROR without a reason, replaced entries of another item or
 * unknown. After a FAULT_STORE the caller keeps what was typed and may try again: the same edit is
 * never applied twice. */
enum { JOURNAL_VALUE_MAX = 65536 };
bool journal_append(struct journal *j, const struct edit *e, struct entry_id *out, struct fault *f);

/* Several appends as one transaction (import, demo data). Nesting is not allowed. */
bool journal_begin(struct journal *j, struct fault *f);
bool journal_commit(struct journal *j, struct fault *f);
void journal_rollback(struct journal *j);

/* ---- flushing -------------------------------------------------------------------------------- */

/* From now on what is written outlives this program at once, and a power cut a moment later, when a
 * second thread has flushed it: one flush for all that was written since the last. For who can tell
 * meanwhile what is not kept yet. Lending the record and closing it wait for the flush. Does
 * nothing for a reader. */
bool journal_flush_beside(struct journal *j, struct fault *f);
enum flushing {
    FLUSHED,
    FLUSH_RUNS,   /* it has not come back yet */
    FLUSH_FAILED, /* one failed, and nothing more is written before journal_flush mends that */
};
enum flushing journal_flushing(struct journal *j); /* at once */
/* Wait until all that was written is on the disk, by a second way where the first failed. False:
 * that failed too, and what was entered last is lost with a power cut. */
bool journal_flush(struct journal *j, struct fault *f);

/* ---- reading --------------------------------------------------------------------------------- */

/* Many questions that see one state of the record, and lock it once: each alone costs the system
 * five calls. Hand what journal_look_begin returned to journal_look_end; a look within another is
 * part of it. Writing ends a look, and so should whoever waits for a person or another computer:
 * what comes after sees the record as it is then. */
bool journal_look_begin(struct journal *j);
void journal_look_end(struct journal *j, bool looking);
void journal_look_stop(struct journal *j);

/* Whether anything was written since, by this process or another: while nothing was, what was read
 * then still holds. True also when that cannot be told; `since` is then any other. Within a look it
 * speaks of what the look sees. */
struct journal_state {
    int64_t here, elsewhere;
};
bool journal_changed(struct journal *j, struct journal_state *since);

/* All heads of an entity, sorted by item and then by (lamport, device, number). Heads of kind
 * ENTRY_ERROR are included (their value is ""). In `a`. */
struct heads {
    const struct entry *entries;
    size_t count;
};
bool journal_heads(struct journal *j, struct arena *a, const char *entity, struct heads *out,
                   struct fault *f);
/* The same without what each replaced (none is told), for less work: to be shown, not followed. */
bool journal_standing(struct journal *j, struct arena *a, const char *entity, struct heads *out,
                      struct fault *f);
/* The value of one item written last, by that order, "" when it was entered in error or never
 * entered: enough to put records in order. */
bool journal_last(struct journal *j, struct arena *a, const char *entity, const char *item,
                  const char **out, struct fault *f);
/* The first by that order that was not entered in error: what is shown of the item when its record
 * is read. */
bool journal_first(struct journal *j, struct arena *a, const char *entity, const char *item,
                   const char **out, struct fault *f);
/* The current value of one item, in `a`: "" when there is none; of values in conflict the first.
 * For lists, where reading every record whole would take too long; what is edited is read whole. */
const char *journal_value(struct journal *j, struct arena *a, const char *entity, const char *item);
/* To be shown where no mark can stand beside it: values in conflict are all there, "Pip or Pippa".
 */
const char *journal_said(struct journal *j, struct arena *a, const char *entity, const char *item);
/* The whole story of one item, oldest first (lamport order). */
bool journal_history(struct journal *j, struct arena *a, const char *entity, const char *item,
                     struct heads *out, struct fault *f);
/* The last `limit` entries this device made with this author, newest first (for undo), among its
 * last JOURNAL_REACH: what somebody else wrote here for days before is not searched through. */
enum { JOURNAL_REACH = 4096 };
bool journal_recent(struct journal *j, struct arena *a, const char *author, size_t limit,
                    struct heads *out, struct fault *f);
/* Kind of an entity, in `a`; NULL when there is none. */
const char *journal_kind(struct journal *j, struct arena *a, const char *entity);

struct ids {
    const char *const *uuids;
    size_t count;
};
/* Entities with a head of keyed `item` whose value is `value` (journal_by_value) or lies in
 * [from, to) as text (journal_by_range), in order of value then age, at most `limit`. */
bool journal_by_value(struct journal *j, struct arena *a, const char *item, const char *value,
                      size_t limit, struct ids *out, struct fault *f);
bool journal_by_range(struct journal *j, struct arena *a, const char *item, const char *from,
                      const char *to, size_t limit, struct ids *out, struct fault *f);
/* The same below `to`, the highest value first. */
bool journal_latest(struct journal *j, struct arena *a, const char *item, const char *to,
                    size_t limit, struct ids *out, struct fault *f);
bool journal_keyed(const char *item); /* see journal/keyed.h, one table */
/* Every entity of a kind, oldest first (export, tests): calls back until it returns false. */
bool journal_each(struct journal *j, const char *kind, bool (*each)(void *of, const char *entity),
                  void *of, struct fault *f);

struct conflict {
    const char *entity, *entity_kind, *item;
};
bool journal_conflicts(struct journal *j, struct arena *a, size_t limit,
                       const struct conflict **out, size_t *count, struct fault *f);

struct journal_counts {
    uint64_t entries, entities, dogs, devices, conflicts;
    uint64_t unsent;       /* this device's entries no other device is known to have */
    int64_t oldest_unsent; /* its claimed time, 0 when none */
};
bool journal_count(struct journal *j, struct journal_counts *out, struct fault *f);

/* ---- search: dogs and caregivers by name, street and phone ----------------------------------- */

struct hit {
    const char *entity, *entity_kind;
    const char *text;         /* what matched, as stored */
    const char *const *texts; /* all it is found by, as stored: names, addresses, phones */
    size_t text_count;
    int distance; /* 0: as typed; 1, 2: letters away */
};
/* As typed so far: every word a prefix; digits also match the end of a phone number. When fewer
 * than five are found, names up to two letters away. Sorted: exact first. */
bool journal_search(struct journal *j, struct arena *a, const char *typed, size_t limit,
                    const struct hit **out, size_t *count, struct fault *f);
/* The texts of another entity that `h->entity` was set to; what matched stays. */
bool journal_hit_texts(struct journal *j, struct arena *a, struct hit *h, struct fault *f);

/* ---- what is being typed, outside the log ---------------------------------------------------- */

/* A draft is the unfinished text of one field; it never travels and is gone once the field is left.
 */
bool journal_draft_put(struct journal *j, const char *entity, const char *item, const char *typed,
                       struct fault *f);
bool journal_draft_drop(struct journal *j, const char *entity, const char *item, struct fault *f);
struct draft {
    const char *entity, *item, *typed;
};
bool journal_drafts(struct journal *j, struct arena *a, const struct draft **out, size_t *count,
                    struct fault *f);
/* Small settings of this device (who was here last): never travel. NULL when unset. */
const char *journal_setting(struct journal *j, struct arena *a, const char *name);
bool journal_setting_put(struct journal *j, const char *name, const char *value, struct fault *f);

/* ---- signing, care of the file --------------------------------------------------------------- */

/* The hash a sign-off is made over: BLAKE2b-256 of the entity's SET heads (item, and the digest of
 * salt and value) in order, as 64 hex digits. signed.h tells what one was made over. */
bool journal_sign_hash(struct journal *j, const char *entity, char out[65], struct fault *f);
/* Heads entered after the last sign-off: amendments. Uses lamport and replaces, not clocks. */

/* Walk every device's hash chain; *checked counts entries. FAULT_DAMAGE names the first bad entry:
 * device, number, item. */
bool journal_verify(struct journal *j, uint64_t *checked, struct fault *f);
uint64_t journal_bytes(const struct journal *j); /* size of the file */
/* Is the file well formed, without reading every value: seconds for a large record. */
bool journal_quick_check(struct journal *j, struct fault *f);
/* A whole copy by VACUUM INTO at a temporary name, verified, flushed, renamed to `path`. */
bool journal_backup(struct journal *j, const char *path, struct fault *f);

#endif
