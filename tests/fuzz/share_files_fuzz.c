/* Any bytes in place of what this device wrote for itself: the mark outside the data folder, and
 * its secret keys. The first byte says which; the others are laid over the true file (zero leaves a
 * byte as it was), so that almost right is met as well as wrong. */
#include "share/identity.h"
#include "share_office.h"
#include <glob.h>

enum { FILE_MOST = 4096 };

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

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct office *o = office();
    if (size > 0 && data[0] % 2 == 0)
        mark(o, data + 1, size - 1);
    else if (size > 0)
        keys(data + 1, size - 1);
    return 0;
}
