#include "share/seal.h"
#include "base/arena.h"
#include "base/locked.h"
#include "share/wire.h"
#include <sodium.h>
#include <string.h>

enum {
    VERSION = 1,
    PIECE = 65536,
    PIECE_MORE = crypto_secretstream_xchacha20poly1305_ABYTES,
    STREAM_HEADER = crypto_secretstream_xchacha20poly1305_HEADERBYTES,
    FILE_KEY = crypto_secretstream_xchacha20poly1305_KEYBYTES,
    SEALED_KEY = FILE_KEY + crypto_box_SEALBYTES,
    RECIPIENT = UUID_BYTES + SEALED_KEY,
    SIZE_AT = 13 /* where the size of the whole stands */
};
static const char magic[12] = "amble bundle";

/* ---- sealing --------------------------------------------------------------------------------- */

static bool write_recipients(const struct devices *to, const uint8_t file_key[FILE_KEY],
                             struct text *out)
{
    size_t count = 0;
    for (size_t i = 0; i < to->count; i++)
        count += !to->list[i].retired;
    put_varint(out, count);
    for (size_t i = 0; i < to->count; i++) {
        uint8_t sealed[SEALED_KEY];
        if (to->list[i].retired)
            continue;
        if (crypto_box_seal(sealed, file_key, FILE_KEY, to->list[i].box) != 0)
            return false;
        put_bytes(out, to->list[i].uuid, UUID_BYTES);
        put_bytes(out, sealed, SEALED_KEY);
    }
    return true;
}

static void write_header(const struct bundle *b, const uint8_t practice[UUID_BYTES],
                         struct text *out)
{
    put_bytes(out, magic, sizeof magic);
    put_fixed(out, VERSION, 1);
    put_fixed(out, 0, 4); /* the size, once it is known */
    put_fixed(out, b->kind, 1);
    put_bytes(out, practice, UUID_BYTES);
    put_bytes(out, b->author, UUID_BYTES);
    put_fixed(out, b->serial, 8);
    put_bytes(out, b->answer, ANSWER_BYTES);
    put_varint(out, b->holds_size);
    put_bytes(out, b->holds, b->holds_size);
}

static size_t pieces_of(size_t size)
{
    return size == 0 ? 1 : (size + PIECE - 1) / PIECE;
}

/* The key of one bundle and the stream it is read or written with: in locked memory. */
struct secrets {
    uint8_t file_key[FILE_KEY];
    crypto_secretstream_xchacha20poly1305_state stream;
};

static void write_stream(const struct bundle *b, const uint8_t *header, size_t header_size,
                         struct secrets *l, struct text *out)
{
    uint8_t start[STREAM_HEADER], hash[HASH_BYTES], sealed[PIECE + PIECE_MORE];
    crypto_generichash(hash, sizeof hash, header, header_size, NULL, 0);
    crypto_secretstream_xchacha20poly1305_init_push(&l->stream, start, l->file_key);
    put_bytes(out, start, sizeof start);
    for (size_t at = 0, left = pieces_of(b->payload_size); left > 0; left--, at += PIECE) {
        size_t n = left > 1 ? PIECE : b->payload_size - at;
        uint8_t tag = left > 1 ? crypto_secretstream_xchacha20poly1305_TAG_MESSAGE
                               : crypto_secretstream_xchacha20poly1305_TAG_FINAL;
        unsigned long long made = 0;
        crypto_secretstream_xchacha20poly1305_push(&l->stream, sealed, &made, b->payload + at, n,
                                                   hash, sizeof hash, tag);
        put_bytes(out, sealed, (size_t)made);
    }
}

bool bundle_seal(const struct bundle *b, const struct devices *to, const struct keys *by,
                 struct text *out, struct fault *f)
{
    uint8_t signature[SIGNATURE_BYTES];
    struct text header;
    struct secrets *l = locked_new(sizeof *l, f);
    if (l == NULL)
        return false;
    crypto_secretstream_xchacha20poly1305_keygen(l->file_key);
    text_init(&header, BUNDLE_HOLDS_MOST + DEVICES_MOST * RECIPIENT + 1024);
    write_header(b, to->practice, &header);
    bool ok = write_recipients(to, l->file_key, &header) && !header.cut;
    size_t pieces = pieces_of(b->payload_size);
    size_t size =
        header.len + STREAM_HEADER + b->payload_size + pieces * PIECE_MORE + SIGNATURE_BYTES;
    if (ok && size <= BUNDLE_MOST) {
        for (size_t i = 0; i < 4; i++)
            header.s[SIZE_AT + i] = (char)(uint8_t)(size >> (8 * i));
        size_t from = out->len;
        put_bytes(out, header.s, header.len);
        write_stream(b, (const uint8_t *)header.s, header.len, l, out);
        crypto_sign_detached(signature, NULL, (const uint8_t *)out->s + from, out->len - from,
                             by->sign_secret);
        put_bytes(out, signature, sizeof signature);
        ok = !out->cut && out->len - from == size;
    } else {
        ok = false;
    }
    locked_free(l);
    text_free(&header);
    return ok || fail(f, FAULT_LIMIT, "a bundle would be larger than %d bytes", BUNDLE_MOST);
}

/* ---- opening --------------------------------------------------------------------------------- */

static bool peek(struct bundle *b, const uint8_t *bytes, size_t size,
                 const uint8_t practice[UUID_BYTES], size_t *header_size, struct fault *f)
{
    struct reader r = reader_of(bytes, size);
    uint8_t theirs[UUID_BYTES];
    *b = (struct bundle){0};
    const uint8_t *start = take_bytes(&r, sizeof magic);
    if (start == NULL || memcmp(start, magic, sizeof magic) != 0)
        return fail(f, FAULT_INPUT, "this is no bundle of amble");
    uint64_t version = take_fixed(&r, 1), whole = take_fixed(&r, 4);
    if (!r.bad && version > VERSION)
        return fail(f, FAULT_REFUSED, "a newer amble made it: update this one");
    b->kind = (enum bundle_kind)take_fixed(&r, 1);
    take_copy(&r, theirs, UUID_BYTES);
    take_copy(&r, b->author, UUID_BYTES);
    b->serial = take_fixed(&r, 8);
    take_copy(&r, b->answer, ANSWER_BYTES);
    if (!r.bad && memcmp(theirs, practice, UUID_BYTES) != 0)
        return fail(f, FAULT_REFUSED, "it belongs to another practice");
    if (r.bad || size < whole)
        return fail(f, FAULT_DAMAGE, "it is cut short: %zu bytes of %llu", size,
                    (unsigned long long)whole);
    if (size > whole)
        return fail(f, FAULT_DAMAGE, "it is longer than it says: %zu bytes, not %llu", size,
                    (unsigned long long)whole);
    b->holds_size = take_count(&r, 1, BUNDLE_HOLDS_MOST);
    b->holds = take_bytes(&r, b->holds_size);
    b->recipient_count = take_count(&r, RECIPIENT, DEVICES_MOST);
    b->recipients = take_bytes(&r, b->recipient_count * RECIPIENT);
    if (r.bad || r.left < STREAM_HEADER + PIECE_MORE + SIGNATURE_BYTES)
        return fail(f, FAULT_DAMAGE, "its beginning makes no sense");
    *header_size = size - r.left;
    return true;
}

bool bundle_peek(struct bundle *b, const uint8_t *bytes, size_t size,
                 const uint8_t practice[UUID_BYTES], struct fault *f)
{
    size_t header_size;
    return peek(b, bytes, size, practice, &header_size, f);
}

static const uint8_t *recipient(const struct bundle *b, const uint8_t device[UUID_BYTES])
{
    for (size_t i = 0; i < b->recipient_count; i++)
        if (memcmp(b->recipients + i * RECIPIENT, device, UUID_BYTES) == 0)
            return b->recipients + i * RECIPIENT + UUID_BYTES;
    return NULL;
}

bool bundle_sealed_to(const struct bundle *b, const uint8_t device[UUID_BYTES])
{
    return recipient(b, device) != NULL;
}

static bool file_key_open(const struct bundle *b, const struct keys *to, uint8_t out[FILE_KEY],
                          struct fault *f)
{
    const uint8_t *sealed = recipient(b, to->uuid);
    if (sealed == NULL)
        return fail(f, FAULT_REFUSED,
                    "it is not sealed to this device, which was enrolled later or is retired");
    if (crypto_box_seal_open(out, sealed, SEALED_KEY, to->box, to->box_secret) != 0)
        return fail(f, FAULT_REFUSED, "this device's key does not open it");
    return true;
}

static bool read_stream(struct bundle *b, const uint8_t *header, size_t header_size,
                        const uint8_t *bytes, size_t size, struct secrets *l, struct arena *a)
{
    uint8_t hash[HASH_BYTES], tag = 0;
    size_t at = STREAM_HEADER, used = 0;
    crypto_generichash(hash, sizeof hash, header, header_size, NULL, 0);
    uint8_t *payload = arena_alloc(a, size);
    bool ok = crypto_secretstream_xchacha20poly1305_init_pull(&l->stream, bytes, l->file_key) == 0;
    while (ok && at < size && tag != crypto_secretstream_xchacha20poly1305_TAG_FINAL) {
        size_t n = size - at < PIECE + PIECE_MORE ? size - at : PIECE + PIECE_MORE;
        unsigned long long got = 0;
        ok = n >= PIECE_MORE &&
             crypto_secretstream_xchacha20poly1305_pull(&l->stream, payload + used, &got, &tag,
                                                        bytes + at, n, hash, sizeof hash) == 0;
        used += (size_t)got;
        at += n;
    }
    b->payload = payload;
    b->payload_size = used;
    return ok && at == size && tag == crypto_secretstream_xchacha20poly1305_TAG_FINAL;
}

bool bundle_open(struct bundle *b, const uint8_t *bytes, size_t size, const struct devices *from,
                 const struct keys *to, struct arena *a, struct fault *f)
{
    size_t header_size;
    if (size > BUNDLE_MOST)
        return fail(f, FAULT_LIMIT, "it is larger than %d bytes", BUNDLE_MOST);
    if (!peek(b, bytes, size, from->practice, &header_size, f))
        return false;
    const struct device *author = device_find(from, b->author);
    if (author == NULL)
        return fail(f, FAULT_MISSING, "it comes from a device that is not enrolled here");
    if (crypto_sign_verify_detached(bytes + size - SIGNATURE_BYTES, bytes, size - SIGNATURE_BYTES,
                                    author->sign) != 0)
        return fail(f, FAULT_DAMAGE, "it was damaged or changed on its way");
    struct secrets *l = locked_new(sizeof *l, f);
    if (l == NULL)
        return false;
    bool keyed = file_key_open(b, to, l->file_key, f);
    bool ok = keyed && read_stream(b, bytes, header_size, bytes + header_size,
                                   size - header_size - SIGNATURE_BYTES, l, a);
    locked_free(l);
    if (keyed && !ok)
        fail(f, FAULT_DAMAGE, "its pieces are not those that were sealed, or not in order");
    return ok;
}
