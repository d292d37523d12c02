/* Any bytes as what lies behind seal and signature, as an enrolled device could have made it: a
 * vector with a pack behind it, a list of photographs, a piece of one. Sealed here by the laptop
 * and taken by the base. The first byte says which it is. */
#include "base/text.h"
#include "share/photos.h"
#include "share_office.h"
#include <dirent.h>
#include <sodium.h>

enum { PIECE_HEAD = PHOTO_HASH_BYTES + 16, PHOTO_MOST = 1 << 20 };

static bool sealed(struct office *o, struct bundle *b, struct text *out)
{
    static uint64_t serial;
    struct fault f = {0};
    memcpy(b->author, o->laptop->self, UUID_BYTES);
    b->serial = ++serial;
    return bundle_seal(b, &o->laptop->devices, o->laptop->keys, out, &f);
}

/* What is kept of a vector is read again as it was said. */
static void must_be_kept(struct office *o, const struct bundle *b)
{
    struct fault f = {0};
    struct vector said = {0}, kept;
    struct arena *a = arena_new();
    struct reader r = reader_of(b->payload, b->payload_size);
    vector_take(&said, a, &r);
    must(!r.bad && vector_of(o->base, a, b->author, &kept, &f));
    must(kept.serial == b->serial && kept.count == said.count);
    for (size_t i = 0; i < said.count; i++)
        must(memcmp(&kept.list[i], &said.list[i], sizeof said.list[i]) == 0);
    arena_free(a);
}

static void take_entries(struct office *o, struct bundle *b, struct text *bytes)
{
    struct report r;
    struct fault f = {0};
    report_init(&r);
    if (exchange_take(o->base, (const uint8_t *)bytes->s, bytes->len, NULL, &r, &f))
        must_be_kept(o, b);
    else
        must_say_why(&f);
    must_tell_text(&r);
    report_free(&r);
}

static bool count_sent(void *of, const struct bundle *b, const struct text *bytes, struct fault *f)
{
    (void)b, (void)bytes, (void)f;
    (*(size_t *)of)++;
    return true;
}

/* A photograph under the name of its content is one: the others are thrown away here. */
static void look_at_photos(const char *folder)
{
    char path[512], hex[2 * PHOTO_HASH_BYTES + 1];
    uint8_t bytes[65536], hash[PHOTO_HASH_BYTES];
    DIR *d = opendir(folder);
    for (struct dirent *e; d != NULL && (e = readdir(d)) != NULL;) {
        if (e->d_name[0] == '.')
            continue;
        (void)snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        FILE *in = fopen(path, "rb");
        must(in != NULL);
        size_t n = fread(bytes, 1, sizeof bytes, in);
        (void)fclose(in);
        crypto_hash_sha256(hash, bytes, n);
        sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
        must(strstr(e->d_name, ".part") != NULL || strcmp(hex, e->d_name) == 0);
        must(unlink(path) == 0);
    }
    if (d != NULL)
        (void)closedir(d);
}

static void take_photos(struct office *o, const struct text *bytes, bool tells)
{
    char folder[128], path[192];
    struct report r;
    struct fault f = {0};
    size_t sent = 0;
    struct watch w = {.photo_most = PHOTO_MOST};
    struct photo_sending how = {.send = count_sent, .of = &sent};
    report_init(&r);
    (void)snprintf(folder, sizeof folder, "%s/base/photos", scratch_folder());
    if (!photos_take(o->base, (const uint8_t *)bytes->s, bytes->len, NULL, &w, &r, &f))
        must_say_why(&f);
    if (tells) { /* then one is here, and what was told says from where it is sent */
        (void)mkdir(folder, 0700);
        (void)snprintf(path, sizeof path, "%s/side.jpg", folder);
        FILE *out = fopen(path, "wb");
        must(out != NULL && fputs("a picture", out) >= 0 && fclose(out) == 0);
        must(photos_give(o->base, o->laptop->self, &how, &w, &r, &f) && sent <= 1);
        must(unlink(path) == 0);
    }
    look_at_photos(folder);
    must_tell_text(&r);
    report_free(&r);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text bytes;
    struct office *o = office();
    if (size == 0)
        return 0;
    struct bundle b = {.kind = (enum bundle_kind)(1 + data[0] % 3)};
    size_t head = b.kind == BUNDLE_PHOTO && size > PIECE_HEAD ? PIECE_HEAD : 0;
    b.holds = data + 1;
    b.holds_size = head;
    b.payload = data + 1 + head;
    b.payload_size = size - 1 - head;
    text_init(&bytes, BUNDLE_MOST);
    must(sealed(o, &b, &bytes));
    if (b.kind == BUNDLE_ENTRIES)
        take_entries(o, &b, &bytes);
    else
        take_photos(o, &bytes, b.kind == BUNDLE_PHOTO_LIST);
    text_free(&bytes);
    return 0;
}
