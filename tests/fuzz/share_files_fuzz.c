/* Any bytes in place of what this device wrote for itself (the mark outside the data folder, its
 * secret keys) and of the base's reply, whose file a laptop joins with. The first byte says which;
 * the others are laid over the true file (zero leaves a byte as it was), so that almost right is
 * met as well as wrong. Of a reply they are also what it lists: sealed and signed as a base would.
 */
#include "share/files.h"
#include "share/identity.h"
#include "share_office.h"
#include <glob.h>
#include <sodium.h>

enum { FILE_MOST = 4096, LETTER_MOST = 64 << 10 };

struct bytes {
    uint8_t at[FILE_MOST];
    size_t size;
};

static void file_read(const char *path, struct bytes *b)
{
    FILE *in = fopen(path, "rb");
    must(in != NULL);
    b->size = fread(b->at, 1, sizeof b->at, in);
    (void)fclose(in);
}

static void file_write(const char *path, const struct bytes *b)
{
    FILE *out = fopen(path, "wb");
    must(out != NULL && fwrite(b->at, 1, b->size, out) == b->size && fclose(out) == 0);
}

static struct bytes laid_over(const struct bytes *kept, const uint8_t *data, size_t size)
{
    struct bytes b = {.size = size < FILE_MOST ? size : FILE_MOST};
    for (size_t i = 0; i < b.size; i++)
        b.at[i] = (uint8_t)(data[i] ^ (i < kept->size ? kept->at[i] : 0));
    return b;
}

static bool same(const struct bytes *a, const struct bytes *b)
{
    return a->size == b->size && memcmp(a->at, b->at, a->size) == 0;
}

/* A mark that is not the true one never lets the record go on under its name. */
static void mark(struct office *o, const uint8_t *data, size_t size)
{
    char shape[128];
    struct bytes kept;
    struct fault f = {0};
    glob_t found = {0};
    bool renewed;
    must(identity_mark(o->laptop_record, &f));
    (void)snprintf(shape, sizeof shape, "%s/laptop-state/amble/*.mark", scratch_folder());
    must(glob(shape, 0, NULL, &found) == 0 && found.gl_pathc == 1);
    file_read(found.gl_pathv[0], &kept);
    struct bytes now = laid_over(&kept, data, size);
    file_write(found.gl_pathv[0], &now);
    must(identity_check(o->laptop_record, &renewed, NULL, &f));
    must(renewed == !same(&now, &kept));
    globfree(&found);
}

static void keys(const uint8_t *data, size_t size)
{
    char folder[128], path[192];
    struct bytes kept;
    struct fault f = {0};
    struct keys *k;
    (void)snprintf(folder, sizeof folder, "%s/laptop", scratch_folder());
    (void)snprintf(path, sizeof path, "%s/keys/device.key", folder);
    file_read(path, &kept);
    struct bytes now = laid_over(&kept, data, size);
    file_write(path, &now);
    bool opened = keys_open(&k, folder, &f);
    must(opened == (k != NULL) && (opened || !same(&now, &kept)));
    if (!opened)
        must_say_why(&f);
    keys_close(k);
    file_write(path, &kept);
}

/* A second laptop, which asked and was admitted: the first takes a new name with each false mark.
 */
struct joining {
    struct journal *record;
    struct device self;
    struct bytes reply; /* as the base wrote it */
};

static struct joining *joining(struct office *o)
{
    static struct joining j;
    static struct arena *names;
    char print[FINGERPRINT_ROOM], path[128];
    struct fault f = {0};
    struct text request, reply;
    if (j.record != NULL)
        return &j;
    names = arena_new();
    text_init(&request, FILE_MOST);
    text_init(&reply, FILE_MOST);
    j.record = office_record("joining");
    (void)snprintf(path, sizeof path, "%s/laptop-state", scratch_folder());
    must(setenv("XDG_STATE_HOME", path, 1) == 0);
    must(request_make(j.record, "another", &request, print, &f) &&
         request_read(request.s, names, &j.self, print, &f) &&
         request_admit(o->base, &j.self, false, &reply, &f) && !reply.cut);
    memcpy(j.reply.at, reply.s, reply.len);
    j.reply.size = reply.len;
    text_free(&request);
    text_free(&reply);
    return &j;
}

/* As that laptop reads the file. False, with words, or the devices it lists. */
static bool reply_from(struct joining *j, const struct bytes *letter, struct arena *a,
                       struct devices *d, const uint8_t **list, size_t *size)
{
    char path[192], print[FINGERPRINT_ROOM];
    const uint8_t *bytes;
    size_t n;
    struct fault f = {0};
    (void)snprintf(path, sizeof path, "%s/reply", scratch_folder());
    file_write(path, letter);
    must(file_get(path, LETTER_MOST, a, &bytes, &n, &f));
    if (!reply_read(j->record, arena_strn(a, (const char *)bytes, n), a, d, list, size, print,
                    &f)) {
        must_say_why(&f);
        return false;
    }
    must(strspn(print, "0123456789 ") == FINGERPRINT_ROOM - 1);
    return true;
}

/* What is sealed is read whole or not at all. */
static void reply(struct joining *j, const uint8_t *data, size_t size)
{
    struct devices d;
    const uint8_t *list, *listed;
    size_t n, listed_size;
    struct arena *a = arena_new();
    must(reply_from(j, &j->reply, a, &d, &listed, &listed_size));
    struct bytes now = laid_over(&j->reply, data, size);
    if (reply_from(j, &now, a, &d, &list, &n))
        must(n == listed_size && memcmp(list, listed, n) == 0);
    arena_free(a);
}

/* Behind practice and key the list is what the bytes say; sixteen twos stand for the laptop. */
static void put_list(struct office *o, const struct joining *j, const uint8_t *data, size_t size,
                     struct text *list)
{
    static const uint8_t twos[UUID_BYTES] = {2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2};
    enum { HEAD = sizeof "amble devices 1" + UUID_BYTES + KEY_BYTES };
    uint8_t signature[SIGNATURE_BYTES];
    const struct keys *k = o->base->keys;
    devices_write(&o->base->devices, k->root_secret, list);
    list->len = HEAD;
    text_addn(list, (const char *)data, size);
    char *self = memmem(list->s + HEAD, list->len - HEAD, twos, sizeof twos);
    if (self != NULL)
        memcpy(self, j->self.uuid, UUID_BYTES);
    crypto_sign_detached(signature, NULL, (const uint8_t *)list->s, list->len, k->root_secret);
    text_addn(list, (const char *)signature, sizeof signature);
    must(!list->cut);
}

static void reply_with(struct office *o, struct joining *j, const uint8_t *data, size_t size)
{
    uint8_t sealed[FILE_MOST];
    char uuid[37], coded[2 * FILE_MOST];
    struct text list;
    struct bytes letter;
    struct devices d;
    const uint8_t *read;
    size_t n;
    struct arena *a = arena_new();
    text_init(&list, FILE_MOST);
    put_list(o, j, data, size < FILE_MOST / 2 ? size : FILE_MOST / 2, &list);
    must(crypto_box_seal(sealed, (const uint8_t *)list.s, list.len, j->self.box) == 0);
    sodium_bin2base64(coded, sizeof coded, sealed, list.len + crypto_box_SEALBYTES,
                      sodium_base64_VARIANT_ORIGINAL);
    text_free(&list);
    uuid_write(j->self.uuid, uuid);
    letter.size = (size_t)snprintf((char *)letter.at, sizeof letter.at,
                                   "amble device reply 1\nfor %s\nsealed %s\n", uuid, coded);
    must(letter.size < sizeof letter.at);
    if (reply_from(j, &letter, a, &d, &read, &n)) {
        must(d.count <= DEVICES_MOST && device_find(&d, j->self.uuid) != NULL);
        for (size_t i = 0; i < d.count; i++)
            must(utf8_valid(d.list[i].name, strlen(d.list[i].name), NULL));
    }
    arena_free(a);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct office *o = office();
    if (size == 0)
        return 0;
    switch (data[0] % 4) {
    case 0:
        mark(o, data + 1, size - 1);
        break;
    case 1:
        keys(data + 1, size - 1);
        break;
    case 2:
        reply(joining(o), data + 1, size - 1);
        break;
    default:
        reply_with(o, joining(o), data + 1, size - 1);
    }
    return 0;
}
