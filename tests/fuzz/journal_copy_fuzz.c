/* A copy of a record with bytes changed or cut off, as restore and verify meet one: every entry is
 * there and was read, or the copy is refused with words. (That no value changes unnoticed is
 * tests/unit/journal_flips.c.)
 *
 * Each four bytes of input change one byte of the copy: where, as a share of the whole, and by
 * what. The first four cut it there when the last of them is odd. */
#include "base/arena.h"
#include "journal/journal.h"
#include "journal/restore.h"
#include "kit.h"

enum { COPY_MOST = 1 << 20, ENTRIES = 12 };

struct copy {
    uint8_t bytes[COPY_MOST];
    size_t size;
};

static void write_record(struct journal *j)
{
    char dog[40], value[32];
    struct fault f = {0};
    must(journal_entity_new(j, "dog", dog, &f));
    for (int i = 0; i < ENTRIES; i++) {
        struct entry_id id;
        (void)snprintf(value, sizeof value, "%d of 5", i);
        struct edit e = {.kind = ENTRY_SET,
                         .entity = dog,
                         .item = i % 2 ? "pain" : "dog.name",
                         .value = value,
                         .author = "",
                         .reason = ""};
        must(journal_append(j, &e, &id, &f));
    }
}

static const struct copy *original(void)
{
    static struct copy c;
    char path[128];
    struct fault f = {0};
    struct journal *j;
    if (c.size > 0)
        return &c;
    must(journal_open(&j, scratch_folder(), JOURNAL_WRITE, &f));
    write_record(j);
    (void)snprintf(path, sizeof path, "%s/copy.db", scratch_folder());
    must(journal_backup(j, path, &f));
    journal_close(j);
    FILE *in = fopen(path, "rb");
    must(in != NULL);
    c.size = fread(c.bytes, 1, sizeof c.bytes, in);
    must(c.size > 0 && c.size < sizeof c.bytes && fclose(in) == 0);
    return &c;
}

/* Three bytes as a share of `size`. */
static size_t place(const uint8_t *at, size_t size)
{
    uint64_t share = (uint64_t)at[0] << 16 | (uint64_t)at[1] << 8 | at[2];
    return (size_t)(share * size >> 24);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct copy c;
    char path[128];
    struct fault f = {0};
    uint64_t checked = 0;
    bool older;
    const struct copy *whole = original();
    if (size < 4)
        return 0;
    c = *whole;
    if (data[3] % 2 != 0)
        c.size = place(data, c.size);
    for (size_t at = 4; at + 4 <= size && c.size > 0; at += 4)
        c.bytes[place(data + at, c.size)] ^= data[at + 3];
    (void)snprintf(path, sizeof path, "%s/changed.db", scratch_folder());
    FILE *out = fopen(path, "wb");
    must(out != NULL && fwrite(c.bytes, 1, c.size, out) == c.size && fclose(out) == 0);
    if (journal_verify_file(path, &checked, &older, &f))
        must(older || checked == ENTRIES);
    else
        must_say_why(&f);
    return 0;
}
