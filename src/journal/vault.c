#include "journal/vault.h"
#include "base/locked.h"
#include "base/utf8.h"
#include "journal/internal.h"
#include <ctype.h>
#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum {
    PUBLIC = crypto_box_PUBLICKEYBYTES,
    SECRET = crypto_box_SECRETKEYBYTES,
    KEY = crypto_secretstream_xchacha20poly1305_KEYBYTES,
    STREAM = crypto_secretstream_xchacha20poly1305_HEADERBYTES,
    TAG = crypto_secretstream_xchacha20poly1305_ABYTES,
    PIECE = 65536,
    MAGIC = 12,
    SEALED = crypto_box_SEALBYTES + KEY,
    HEAD = MAGIC + 1 + VAULT_BYTES + SEALED,
    VERSION = 1,
    AT_SALT = 8,
    AT_NONCE = AT_SALT + crypto_pwhash_SALTBYTES,
    AT_WRAPPED = AT_NONCE + crypto_secretbox_NONCEBYTES,
    OPERATIONS_MOST = 16,
    MEMORY_MOST_KIB = 1 << 20, /* 1 GiB: more than a laptop of its time has to spare */
    RECOVERY_BYTES = 25,       /* 200 bits: 40 characters */
    RECOVERY_CHARS = 40,
    PATH_ROOM = 4096,
};
static const char magic[MAGIC + 1] = "amble backup";
/* Without letters and digits that are taken for each other on paper. */
static const char alphabet[] = "0123456789abcdefghjkmnpqrstvwxyz";

/* Every secret of one operation, from its birth to its wiping: in locked memory. */
struct secrets {
    uint8_t secret[SECRET]; /* of the vault */
    uint8_t wrap[KEY];      /* what a slot is wrapped under */
    uint8_t file[KEY];      /* of one backup */
    uint8_t random[RECOVERY_BYTES];
    char recovery[RECOVERY_CHARS + 1];
    crypto_secretstream_xchacha20poly1305_state stream;
};

_Static_assert(VAULT_SLOT == AT_WRAPPED + crypto_secretbox_MACBYTES + SECRET, "a slot as declared");

/* ---- slots ----------------------------------------------------------------------------------- */

static void put32(uint8_t *at, uint32_t n)
{
    for (int i = 0; i < 4; i++)
        at[i] = (uint8_t)(n >> (8 * i));
}

static uint32_t get32(const uint8_t *at)
{
    return at[0] | (uint32_t)at[1] << 8 | (uint32_t)at[2] << 16 | (uint32_t)at[3] << 24;
}

static bool derive(const uint8_t *slot, const char *typed, uint8_t key[KEY], struct fault *f)
{
    uint32_t operations = get32(slot), memory = get32(slot + 4);
    if (operations < crypto_pwhash_OPSLIMIT_MIN || operations > OPERATIONS_MOST ||
        memory < crypto_pwhash_MEMLIMIT_MIN / 1024 || memory > MEMORY_MOST_KIB)
        return fail(f, FAULT_DAMAGE, "the backup asks for more work than it should: it is damaged");
    if (crypto_pwhash(key, KEY, typed, strlen(typed), slot + AT_SALT, operations,
                      (size_t)memory * 1024, crypto_pwhash_ALG_ARGON2ID13) != 0)
        return fail(f, FAULT_SYSTEM, "not enough memory to work out the key (%u MiB)",
                    memory / 1024);
    return true;
}

static bool slot_make(uint8_t *slot, const char *typed, struct secrets *l, struct fault *f)
{
    randombytes_buf(slot + AT_SALT, AT_WRAPPED - AT_SALT);
    if (!derive(slot, typed, l->wrap, f))
        return false;
    crypto_secretbox_easy(slot + AT_WRAPPED, l->secret, SECRET, slot + AT_NONCE, l->wrap);
    return true;
}

/* `fits` tells whether this slot was made with what was typed. */
static bool slot_open(const uint8_t *slot, const char *typed, struct secrets *l, bool *fits,
                      struct fault *f)
{
    if (!derive(slot, typed, l->wrap, f))
        return false;
    *fits =
        crypto_secretbox_open_easy(l->secret, slot + AT_WRAPPED, crypto_secretbox_MACBYTES + SECRET,
                                   slot + AT_NONCE, l->wrap) == 0;
    return true;
}

/* The 40 characters of a recovery key as it was typed; false when it is something else. */
static bool recovery_read(const char *typed, char out[RECOVERY_CHARS + 1])
{
    size_t n = 0;
    for (; *typed; typed++) {
        char c = (char)tolower((unsigned char)*typed);
        if (c == ' ' || c == '-')
            continue;
        c = c == 'o' ? '0' : c == 'i' || c == 'l' ? '1' : c;
        if (n == RECOVERY_CHARS || !strchr(alphabet, c))
            return false;
        out[n++] = c;
    }
    out[n] = '\0';
    return n == RECOVERY_CHARS;
}

static void recovery_make(uint8_t bytes[RECOVERY_BYTES], char out[RECOVERY_ROOM])
{
    size_t n = 0;
    randombytes_buf(bytes, RECOVERY_BYTES);
    for (size_t i = 0; i < RECOVERY_CHARS; i++) {
        size_t bit = i * 5;
        uint32_t two = (uint32_t)bytes[bit / 8] << 8;
        two |= bit / 8 + 1 < RECOVERY_BYTES ? bytes[bit / 8 + 1] : 0;
        if (i > 0 && i % 5 == 0)
            out[n++] = '-';
        out[n++] = alphabet[two >> (11 - bit % 8) & 31];
    }
    out[n] = '\0';
}

bool vault_make(struct vault *v, const char *passphrase, char recovery[RECOVERY_ROOM],
                struct fault *f)
{
    return vault_make_at_cost(v, passphrase, recovery, crypto_pwhash_OPSLIMIT_MODERATE,
                              crypto_pwhash_MEMLIMIT_MODERATE / 1024, f);
}

bool vault_make_at_cost(struct vault *v, const char *passphrase, char recovery[RECOVERY_ROOM],
                        uint32_t operations, uint32_t memory_kib, struct fault *f)
{
    if (strlen(passphrase) < PASSPHRASE_LEAST)
        return fail(f, FAULT_INPUT, "a passphrase has at least %d characters: some words",
                    PASSPHRASE_LEAST);
    struct secrets *l = locked_new(sizeof *l, f);
    if (l == NULL)
        return false;
    crypto_box_keypair(v->bytes, l->secret);
    recovery_make(l->random, recovery);
    for (int i = 0; i < 2; i++) {
        put32(v->bytes + PUBLIC + i * VAULT_SLOT, operations);
        put32(v->bytes + PUBLIC + i * VAULT_SLOT + 4, memory_kib);
    }
    bool ok = recovery_read(recovery, l->recovery) &&
              slot_make(v->bytes + PUBLIC, passphrase, l, f) &&
              slot_make(v->bytes + PUBLIC + VAULT_SLOT, l->recovery, l, f);
    locked_free(l);
    return ok;
}

/* ---- files ----------------------------------------------------------------------------------- */

struct copying {
    FILE *from, *to;
    const char *from_path;
    char part[PATH_ROOM];
    uint8_t bound[HASH_BYTES]; /* hash of the head: every piece belongs to it */
    struct secrets *secrets;
};

static bool copying_begin(struct copying *c, const char *from, const char *to, struct fault *f)
{
    int n = snprintf(c->part, sizeof c->part, "%s.part", to);
    if (n < 0 || n >= (int)sizeof c->part)
        return fail(f, FAULT_INPUT, "the backup's name is too long");
    c->from_path = from;
    c->secrets = locked_new(sizeof *c->secrets, f);
    if (c->secrets == NULL)
        return false;
    c->from = fopen(from, "rbe");
    if (!c->from)
        return fail(f, FAULT_MISSING, "cannot read %s: %s", from, strerror(errno));
    if (unlink(c->part) != 0 && errno != ENOENT)
        return fail(f, FAULT_STORE, "cannot write %s: %s", c->part, strerror(errno));
    int made = open(c->part, O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600);
    c->to = made >= 0 ? fdopen(made, "wb") : NULL;
    if (!c->to)
        return fail(f, FAULT_STORE, "cannot write %s: %s", c->part, strerror(errno));
    return true;
}

static bool put(struct copying *c, const void *bytes, size_t size, struct fault *f)
{
    return fwrite(bytes, 1, size, c->to) == size ||
           fail(f, FAULT_STORE, "cannot write %s: %s", c->part, strerror(errno));
}

/* Flush and name it, or leave nothing behind. */
static bool copying_end(struct copying *c, bool ok, const char *to, struct fault *f)
{
    if (c->from)
        fclose(c->from);
    if (c->to && (fflush(c->to) != 0 || fsync(fileno(c->to)) != 0) && ok)
        ok = fail(f, FAULT_STORE, "cannot flush %s: %s", c->part, strerror(errno));
    if (c->to && fclose(c->to) != 0 && ok)
        ok = fail(f, FAULT_STORE, "cannot write %s: %s", c->part, strerror(errno));
    if (ok && rename(c->part, to) != 0)
        ok = fail(f, FAULT_STORE, "cannot name the backup %s: %s", to, strerror(errno));
    if (!ok && c->to)
        unlink(c->part);
    locked_free(c->secrets);
    return ok && file_flush_folder(to, f);
}

static void bind_head(struct copying *c, const uint8_t head[HEAD])
{
    crypto_generichash(c->bound, sizeof c->bound, head, HEAD, NULL, 0);
}

static bool seal_pieces(struct copying *c, struct fault *f)
{
    uint8_t plain[PIECE], sealed[PIECE + TAG];
    bool last = false;
    while (!last) {
        size_t n = fread(plain, 1, PIECE, c->from);
        if (ferror(c->from))
            return fail(f, FAULT_STORE, "cannot read %s: %s", c->from_path, strerror(errno));
        last = n < PIECE;
        unsigned char tag = last ? crypto_secretstream_xchacha20poly1305_TAG_FINAL : 0;
        crypto_secretstream_xchacha20poly1305_push(&c->secrets->stream, sealed, NULL, plain, n,
                                                   c->bound, sizeof c->bound, tag);
        if (!put(c, sealed, n + TAG, f))
            return false;
    }
    return true;
}

/* A new file key, in the head for who has the vault's secret, and the stream that starts with it.
 */
static bool seal_head(struct copying *c, const struct vault *v, struct fault *f)
{
    uint8_t head[HEAD], stream[STREAM];
    struct secrets *l = c->secrets;
    memcpy(head, magic, MAGIC);
    head[MAGIC] = VERSION;
    memcpy(head + MAGIC + 1, v->bytes, VAULT_BYTES);
    crypto_secretstream_xchacha20poly1305_keygen(l->file);
    crypto_box_seal(head + MAGIC + 1 + VAULT_BYTES, l->file, KEY, v->bytes);
    bind_head(c, head);
    crypto_secretstream_xchacha20poly1305_init_push(&l->stream, stream, l->file);
    return put(c, head, HEAD, f) && put(c, stream, STREAM, f);
}

bool vault_seal(const struct vault *v, const char *from, const char *to, struct fault *f)
{
    struct copying c = {0};
    bool ok = copying_begin(&c, from, to, f) && seal_head(&c, v, f) && seal_pieces(&c, f);
    return copying_end(&c, ok, to, f);
}

bool vault_is_sealed(const char *path)
{
    char start[MAGIC];
    FILE *in = fopen(path, "rbe");
    bool yes = in && fread(start, 1, MAGIC, in) == MAGIC && memcmp(start, magic, MAGIC) == 0;
    if (in)
        fclose(in);
    return yes;
}

static bool unwrap(const uint8_t head[HEAD], const char *typed, struct secrets *l, struct fault *f)
{
    const uint8_t *vault = head + MAGIC + 1;
    bool fits = false;
    bool ok = slot_open(vault + PUBLIC, typed, l, &fits, f);
    if (ok && !fits && recovery_read(typed, l->recovery))
        ok = slot_open(vault + PUBLIC + VAULT_SLOT, l->recovery, l, &fits, f);
    if (ok && !fits)
        ok = fail(f, FAULT_REFUSED, "this is neither its passphrase nor its recovery key");
    if (ok && crypto_box_seal_open(l->file, vault + VAULT_BYTES, SEALED, vault, l->secret) != 0)
        ok = fail(f, FAULT_DAMAGE, "the backup is damaged: its beginning is not what was written");
    return ok;
}

static bool open_pieces(struct copying *c, struct fault *f)
{
    uint8_t plain[PIECE], sealed[PIECE + TAG];
    unsigned char tag = 0;
    while (tag != crypto_secretstream_xchacha20poly1305_TAG_FINAL) {
        size_t n = fread(sealed, 1, sizeof sealed, c->from);
        if (n < TAG)
            return fail(f, FAULT_DAMAGE, "the backup was cut short");
        if (crypto_secretstream_xchacha20poly1305_pull(&c->secrets->stream, plain, NULL, &tag,
                                                       sealed, n, c->bound, sizeof c->bound) != 0)
            return fail(f, FAULT_DAMAGE, "the backup is damaged or was cut short");
        if (!put(c, plain, n - TAG, f))
            return false;
    }
    if (fgetc(c->from) != EOF)
        return fail(f, FAULT_DAMAGE, "the backup is longer than what was written");
    return true;
}

static bool open_stream(struct copying *c, const char *secret, struct fault *f)
{
    uint8_t head[HEAD], stream[STREAM];
    struct secrets *l = c->secrets;
    if (fread(head, 1, HEAD, c->from) != HEAD || fread(stream, 1, STREAM, c->from) != STREAM)
        return fail(f, FAULT_DAMAGE, "the backup was cut short");
    if (memcmp(head, magic, MAGIC) != 0)
        return fail(f, FAULT_INPUT, "%s is no sealed backup", c->from_path);
    if (head[MAGIC] != VERSION)
        return fail(f, FAULT_REFUSED, "the backup was sealed by a newer amble (format %d)",
                    head[MAGIC]);
    bind_head(c, head);
    if (!unwrap(head, secret, l, f))
        return false;
    return crypto_secretstream_xchacha20poly1305_init_pull(&l->stream, stream, l->file) == 0 ||
           fail(f, FAULT_DAMAGE, "the backup is damaged");
}

bool vault_open(const char *from, const char *to, const char *secret, struct fault *f)
{
    struct copying c = {0};
    bool ok = copying_begin(&c, from, to, f) && open_stream(&c, secret, f) && open_pieces(&c, f);
    return copying_end(&c, ok, to, f);
}
