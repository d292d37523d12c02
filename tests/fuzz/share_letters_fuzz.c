/* Any bytes as what else comes from outside: a list of devices, a bundle's header, the text of a
 * request. Signatures keep honest lists whole; the readers must be safe without them. */
#include "base/arena.h"
#include "share/enrol.h"
#include "share/exchange.h"
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

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
    if (!ok && f.text[0] == '\0')
        abort();
    arena_free(a);
    return 0;
}
