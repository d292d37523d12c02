/* Shared within journal/ and with its tests. */
#ifndef AMBLE_JOURNAL_INTERNAL_H
#define AMBLE_JOURNAL_INTERNAL_H

#include "journal/apply.h"
#include "journal/statements.h"
#include <sqlite3.h>

/* A row's id is its device's local number and its own number in one integer: the table is in order
 * of device and number without a second index. */
enum { NUMBER_BITS = 40 };
#define NUMBER_MAX ((INT64_C(1) << NUMBER_BITS) - 1)
enum { DEVICE_MAX = 1 << 22 };

static inline int64_t row_id(int64_t device, uint64_t number)
{
    return (device << NUMBER_BITS) | (int64_t)number;
}

/* The end of one device's chain. */
struct tip {
    uint64_t number, lamport;
    uint8_t hash[HASH_BYTES];
};

/* An entity that has no entry yet. */
struct made {
    uint8_t uuid[UUID_BYTES];
    char kind[40];
    bool written; /* in the transaction that is open */
};

/* Names looked up last, so that entries that come in thousands do not ask for each again. Numbers
 * are never given to another name; what a transaction made is forgotten when it is rolled back. */
enum { ITEM_SLOTS = 1024, ITEM_SLOT_ROOM = 56, FRESH_ITEMS = 4096, UUID_SLOTS = 32 };
struct memo {
    struct {
        char name[ITEM_SLOT_ROOM];
        int64_t number;
    } items[ITEM_SLOTS];           /* by number */
    uint16_t items_at[ITEM_SLOTS]; /* where a name was last seen in them */
    struct uuid_text {
        int64_t number;
        char uuid[37];                          /* "": of nobody */
    } authors[UUID_SLOTS], devices[UUID_SLOTS]; /* by number */
    struct {
        uint8_t uuid[UUID_BYTES];
        int64_t number;
        char kind[40];
    } entities[UUID_SLOTS]; /* of use only while nobody else may write: one may be withdrawn */
    struct {
        uint8_t uuid[UUID_BYTES];
        int64_t number;
    } author, device;
    struct tip tip; /* of tip_device, another one than this */
    int64_t tip_device;
    /* The entity made last, and which items of it (by number) have had an entry. */
    struct {
        int64_t entity;
        uint64_t items[FRESH_ITEMS / 64];
    } fresh;
    /* Of this device no entry beyond `last` is replaced by one that came before it. */
    struct {
        int64_t device, last;
    } awaited;
};

struct journal {
    sqlite3 *db;
    char *folder;
    char writer[32], why_read_only[96];
    int lock; /* descriptor of journal.lock; -1 when read-only */
    bool read_only, unclean, batch, batch_lost;
    bool looking;    /* a look is open: see journal_look_begin */
    bool lent;       /* another process may write meanwhile */
    uint64_t writes; /* see journal_writes */
    int64_t self;
    uint8_t self_uuid[UUID_BYTES];
    int64_t pretended; /* see journal_pretend */
    struct tip tip;    /* of this device; lamport is the highest of any device */
    bool tip_known;
    struct made *made;
    size_t made_count, made_room;
    /* The last append that failed in the store: should it have arrived all the same, the same edit
     * tried again is recognised. */
    bool tried;
    uint8_t tried_edit[HASH_BYTES], tried_hash[HASH_BYTES];
    int64_t tried_id;
    struct memo memo;
    struct flusher *flusher; /* flush.c; NULL: each commit is flushed before it is answered */
    bool beside;             /* there was one before the record was lent */
    sqlite3_stmt *statements[STATEMENT_COUNT];
};

/* ---- schema.c -------------------------------------------------------------------------------- */

struct migration {
    int version;      /* steps are in order of version: 1, 2, ... */
    const char *what; /* for messages */
    const char *sql;
};
const struct migration *schema_steps(size_t *count);
enum { APPLICATION_ID = 0x616d626c }; /* "ambl" */
/* Refuse what is not ours, damaged or newer; true when version tells what it is (0: empty). */
bool schema_check(sqlite3 *db, const char *path, int newest, int *version, struct fault *f);
/* Run the steps above `version`, each in one transaction with its version number. */
bool schema_migrate(sqlite3 *db, const struct migration *steps, size_t count, int version,
                    struct fault *f);
bool journal_open_with(struct journal **out, const char *folder, enum journal_mode mode,
                       const struct migration *steps, size_t count, struct fault *f);
/* Copy a database to path: whole, checked and flushed, or not at all. `chains`: check them too,
 * which only a record of the present version allows. */
bool backup_database(sqlite3 *db, const char *path, bool chains, struct fault *f);
bool database_check(sqlite3 *db, struct fault *f); /* every page and index; values are chain.c's */
bool file_flush_folder(const char *path, struct fault *f); /* the folder a file lies in */
bool folder_make(const char *folder, struct fault *f);     /* every missing one on the way, 0700 */

/* ---- flush.c: what was written reaches the disk ---------------------------------------------- */

/* With false, what is committed from now on need not outlive a power cut, only this program. */
void flush_wanted(struct journal *j, bool flush);
/* End the thread once it has flushed; from now on each commit is flushed before it is answered. */
void flush_end(struct journal *j);

/* ---- store.c: statements, arguments, transactions -------------------------------------------- */

struct arg {
    enum { ARG_NULL, ARG_NUMBER, ARG_TEXT, ARG_BLOB } type;
    int64_t number;
    const void *bytes;
    size_t size;
};
static inline struct arg num(int64_t n)
{
    return (struct arg){.type = ARG_NUMBER, .number = n};
}
struct arg txt(const char *s); /* NULL is SQL NULL */
static inline struct arg blob(const void *bytes, size_t size)
{
    return (struct arg){.type = ARG_BLOB, .bytes = bytes, .size = size};
}
#define ARGS(...)                                                                                  \
    (const struct arg[]){__VA_ARGS__},                                                             \
        sizeof((const struct arg[]){__VA_ARGS__}) / sizeof(struct arg)
#define NO_ARGS NULL, 0

/* Rows of a statement: `while (next(&r)) ...; return r.ok;`. Leaving early needs done(&r). A
 * statement gives rows to one caller at a time. */
struct rows {
    struct journal *j;
    sqlite3_stmt *s;
    struct fault *f;
    bool ok;
};
struct rows ask(struct journal *j, enum statement which, const struct arg *args, size_t count,
                struct fault *f);
bool next(struct rows *r);
void done(struct rows *r);
bool run(struct journal *j, enum statement which, const struct arg *args, size_t count,
         struct fault *f);
/* The same without waiting for the disk: outlives the program however it ends, but not a power cut
 * before the next flush. Never for entries. */
bool run_unflushed(struct journal *j, enum statement which, const struct arg *args, size_t count,
                   struct fault *f);
/* First column of the first row, 0 when there is none. */
bool ask_number(struct journal *j, enum statement which, int64_t *out, const struct arg *args,
                size_t count, struct fault *f);
const char *column_text(sqlite3_stmt *s, int column);                   /* never NULL */
void column_bytes(sqlite3_stmt *s, int column, void *out, size_t size); /* zero-filled */

/* What SQLite said, in words: `what` is what could not be done. Returns false. */
bool store_fail(sqlite3 *db, struct fault *f, const char *what);
bool writable(struct journal *j, struct fault *f);

/* One change: begin, work, end. Inside a batch they join it; a change that failed in the store ends
 * the batch, one that was refused before anything was written does not. */
bool change_begin(struct journal *j, struct fault *f);
bool change_end(struct journal *j, bool worked, struct fault *f);
void change_refuse(struct journal *j);

/* ---- names.c: uuids and names to small numbers, 0 when unknown ------------------------------- */

void names_forget(struct journal *j);
bool device_number(struct journal *j, const uint8_t uuid[UUID_BYTES], bool make, int64_t *out,
                   struct fault *f);
bool item_number(struct journal *j, const char *name, bool make, int64_t *out, struct fault *f);
/* The other way, for as long as nothing else is asked of names; NULL: none has that number, or a
 * fault. */
const char *item_name(struct journal *j, int64_t number, struct arena *a, struct fault *f);
const char *author_uuid(struct journal *j, int64_t number, struct fault *f);
const char *device_uuid(struct journal *j, int64_t number, struct fault *f);
bool author_number(struct journal *j, const uint8_t *uuid, int64_t *out, struct fault *f);
bool entity_number(struct journal *j, const uint8_t uuid[UUID_BYTES], int64_t *out,
                   struct fault *f);
bool entity_add(struct journal *j, const uint8_t uuid[UUID_BYTES], const char *kind, int64_t *out,
                struct fault *f);
/* Its number and kind; number 0, and no kind, when it has no entry here. */
bool entity_look(struct journal *j, const uint8_t uuid[UUID_BYTES], int64_t *out, char kind[40],
                 struct fault *f);
/* The kind of an entity on disk, just made or only in a draft; false when unknown. */
bool entity_kind(struct journal *j, const uint8_t uuid[UUID_BYTES], char kind[40]);
bool uuid_need(const char *s, uint8_t out[UUID_BYTES], const char *what, struct fault *f);
/* An id of a template or of the program's own; UTF-8 of at most `max` bytes. The same whether it is
 * written here or comes from elsewhere: what one device keeps, another must be able to take. */
enum { KIND_MAX = 39, ITEM_MAX = 200, REASON_MAX = 4096 };
bool id_check(const char *s, size_t max, const char *what, struct fault *f);
bool text_check(const char *s, size_t max, const char *what, struct fault *f);

/* ---- open.c ---------------------------------------------------------------------------------- */

bool identity_load(struct journal *j, struct fault *f); /* who this is, as the record now says */

/* ---- travel.c -------------------------------------------------------------------------------- */

/* The seed of this device's block that holds `number`; made when there is none. */
bool seed_own(struct journal *j, uint64_t number, uint8_t seed[32], struct fault *f);
bool seed_find(struct journal *j, int64_t device, uint64_t block, uint8_t seed[32], bool *there,
               struct fault *f);

/* ---- entry.c: rows to entries ---------------------------------------------------------------- */

struct entry entry_read(sqlite3_stmt *s, struct arena *a);
void uuid_column(sqlite3_stmt *s, int column, char out[37]); /* "" for what is none */
void local_numbers(sqlite3_stmt *s, int64_t *entity, int64_t *item);
struct entry_id entry_id_of(int64_t row);
struct far_edge edge_read(sqlite3_stmt *s);                     /* a row of REPLACED_BY */
struct far_entry far_content(sqlite3_stmt *s, struct arena *a); /* without what it replaces */
bool far_read(struct journal *j, struct arena *a, sqlite3_stmt *s, struct far_entry *out,
              struct fault *f);
/* The entry of one row, without what it replaces, and its place here. */
struct placed {
    struct far_entry content;
    int64_t entity, item;
};
bool entry_at(struct journal *j, struct arena *a, int64_t row, struct placed *out, bool *there,
              struct fault *f);
/* The row says no more than the entry read from it, which is what was hashed. */
bool row_sound(sqlite3_stmt *s, const struct far_entry *e);
bool tip_of(struct journal *j, int64_t device, struct tip *out, struct fault *f);
bool tip_load(struct journal *j, struct fault *f);

/* ---- edge.c: which entries an entry replaces ------------------------------------------------- */

int far_id_order(const struct far_id *a, const struct far_id *b); /* by device, then number */
/* Is it replaced by one that is held? */
bool entry_replaced(struct journal *j, int64_t id, int64_t entity, int64_t item,
                    const struct far_entry *e, bool *out, struct fault *f);
/* Note what an entry replaces; what of it was current is so no longer. */
bool edges_settle(struct journal *j, int64_t id, int64_t entity, int64_t item,
                  const struct far_entry *e, struct fault *f);
/* Which of the entries held here it replaces: as they are numbered here now. */
bool entry_replaces(struct journal *j, struct arena *a, int64_t entity, int64_t item,
                    struct entry *e, struct fault *f);

/* ---- settle.c: storing an entry and what follows from it ------------------------------------- */

struct arg head_key(const struct far_entry *e); /* what it is looked up by, or NULL */
bool entry_store(struct journal *j, const struct far_entry *e, struct fault *f);
bool entry_settle(struct journal *j, int64_t id, int64_t entity, int64_t item,
                  const struct far_entry *e, struct fault *f);

/* ---- index.c, search.c ----------------------------------------------------------------------- */

enum searched { SEARCHED_NAME, SEARCHED_TEXT, SEARCHED_PHONE };
struct searched_item {
    const char *name;
    enum searched as;
};
const struct searched_item *searched_items(size_t *count);
bool item_searched(const char *item);
/* Bring what can be found of an entity in line with its heads. */
bool index_entity(struct journal *j, int64_t entity, struct fault *f);

enum { DIGITS_ROOM = 24, WORD_ROOM = 64, TEXT_END = 0x1f };
/* The digits of s, last first, as many as there is room for; returns how many. */
size_t digits_reversed(const char *s, char out[DIGITS_ROOM]);
/* Take the next blank-separated word of *at; false at the end. Long ones are cut at a character. */
bool word_next(const char **at, char word[WORD_ROOM]);
size_t word_length(const char *word);    /* in characters */
uint32_t word_letters(const char *word); /* which letters it has, a bit each */

/* ---- chain.c --------------------------------------------------------------------------------- */

void chain_digest(const struct far_entry *e, uint8_t out[HASH_BYTES]);

#endif
