/* Any bytes as what comes over the line to the base: from the first byte on, or, when the first one
 * is odd, after a greeting such as an enrolled laptop sends. */
#include "share/link.h"
#include "share_office.h"
#include <fcntl.h>
#include <sys/mman.h>

static void put_frame(struct text *out, char kind, const void *bytes, size_t size)
{
    put_fixed(out, size, 4);
    put_bytes(out, &kind, 1);
    put_bytes(out, bytes, size);
}

static void put_greeting(struct office *o, struct text *out)
{
    static const uint8_t challenge[ANSWER_BYTES];
    const uint8_t *list;
    size_t size;
    struct fault f = {0};
    struct text hello;
    struct arena *a = arena_new();
    text_init(&hello, 256);
    put_bytes(&hello, "amble link", sizeof "amble link");
    put_fixed(&hello, 1, 1);
    put_bytes(&hello, o->laptop->devices.practice, UUID_BYTES);
    put_bytes(&hello, o->laptop->self, UUID_BYTES);
    put_bytes(&hello, challenge, sizeof challenge);
    must(journal_kept(o->laptop_record, a, "devices", &list, &size, &f));
    put_frame(out, 'H', hello.s, hello.len);
    put_frame(out, 'D', list, size);
    text_free(&hello);
    arena_free(a);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct office *o = office();
    struct report r;
    struct fault f = {0};
    struct text bytes;
    struct watch w = {.photo_most = 1 << 20};
    if (size == 0)
        return 0;
    text_init(&bytes, 1 << 20);
    if (data[0] % 2 != 0)
        put_greeting(o, &bytes);
    put_bytes(&bytes, data + 1, size - 1);
    int in = memfd_create("line", MFD_CLOEXEC), out = open("/dev/null", O_WRONLY | O_CLOEXEC);
    must(in >= 0 && out >= 0 && write(in, bytes.s, bytes.len) == (ssize_t)bytes.len &&
         lseek(in, 0, SEEK_SET) == 0);
    report_init(&r);
    if (!link_serve(o->base, in, out, &w, &r, &f))
        must_say_why(&f);
    must_tell_text(&r);
    report_free(&r);
    close(in);
    close(out);
    text_free(&bytes);
    return 0;
}
