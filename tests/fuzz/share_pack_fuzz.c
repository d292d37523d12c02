/* Any bytes as a pack of entries, behind seal and signature: unpacked, and applied to a record that
 * lives in memory as long as the program runs.
 *
 * The first byte says how they are given: as they are, or deflated first, so that the fuzzer
 * reaches what lies behind zlib. */
#include "base/arena.h"
#include "base/text.h"
#include "kit.h"
#include "share/pack.h"
#include "share/wire.h"
#include <zlib.h>

static struct journal *record(void)
{
    static struct journal *j;
    struct fault f = {0};
    must(j != NULL || journal_open(&j, scratch_folder(), JOURNAL_WRITE, &f));
    return j;
}

static bool apply_one(void *of, size_t run, const struct far_entry *e)
{
    struct fault f = {0};
    enum applied how;
    (void)run;
    if (!journal_apply(of, e, &how, &f) && f.text[0] == '\0')
        abort(); /* a refusal has words */
    return true;
}

static void unpack(const uint8_t *bytes, size_t size)
{
    struct fault f = {0};
    struct pack *p;
    struct arena *a = arena_new();
    struct journal *j = record();
    if (pack_open(&p, bytes, size, a, &f) && journal_begin(j, &f)) {
        pack_each(p, apply_one, j, &f);
        journal_rollback(j);
    } else if (f.text[0] == '\0') {
        abort();
    }
    arena_free(a);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text out;
    if (size == 0)
        return 0;
    if (data[0] % 2 == 0) {
        unpack(data + 1, size - 1);
        return 0;
    }
    uLongf room = compressBound(size - 1);
    uint8_t *deflated = malloc(room);
    if (deflated == NULL || compress2(deflated, &room, data + 1, size - 1, 1) != Z_OK)
        abort();
    text_init(&out, 1 << 24);
    put_fixed(&out, size - 1, 4);
    put_bytes(&out, deflated, room);
    unpack((const uint8_t *)out.s, out.len);
    text_free(&out);
    free(deflated);
    return 0;
}
