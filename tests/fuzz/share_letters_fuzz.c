/* Any bytes as what else comes from outside: a list of devices, a bundle's header, the text of a
 * request, the address of a base (as a practice's settings or a command line give it). Signatures
 * keep honest lists whole; the readers must be safe without them. */
#include "base/arena.h"
#include "kit.h"
#include "share/enrol.h"
#include "share/exchange.h"
#include "share/link_inside.h"

/* What goes to ssh is neither an option nor anything a shell would act on. */
static void must_be_word(const char *s)
{
    must(*s != '-' && strpbrk(s, " \t\n;&|<>$`'\"\\(){}[]*?!#~=%:") == NULL &&
         utf8_plain(s, false));
    for (; *s != '\0'; s++)
        must((unsigned char)*s < 0x80);
}

static void read_address(struct arena *a, const char *place)
{
    struct address to;
    struct fault f = {0};
    if (strncmp(place, "ssh://", 6) != 0)
        place = arena_printf(a, "ssh://%s", place);
    if (!address_read(place, a, &to, &f)) {
        must_say_why(&f);
        return;
    }
    must(*to.host != '\0');
    must_be_word(to.host);
    must_be_word(to.port);
    must_be_word(to.path);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const uint8_t practice[UUID_BYTES];
    struct fault f = {0};
    struct devices d;
    struct device one;
    struct bundle b;
    const struct stretch *list;
    char print[FINGERPRINT_ROOM];
    size_t count;
    struct arena *a = arena_new();
    bool ok = devices_read(&d, data, size, a, &f);
    if (bundle_peek(&b, data, size, practice, &f))
        (void)exchange_stretches(&b, a, &list, &count);
    b = (struct bundle){.holds = data, .holds_size = size};
    (void)exchange_stretches(&b, a, &list, &count);
    ok = request_read(arena_strn(a, (const char *)data, size), a, &one, print, &f) || ok;
    if (!ok)
        must_say_why(&f);
    read_address(a, arena_strn(a, (const char *)data, size));
    arena_free(a);
    return 0;
}
