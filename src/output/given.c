#include "output/given.h"
#include "base/arena.h"
#include "base/text.h"
#include "casebook/ids.h"
#include <sodium.h>
#include <stdio.h>
#include <string.h>

enum { HASH_BYTES = 32, HASH_HEX = 2 * HASH_BYTES + 1, NAME_ROOM = 64 };

static void hash_of(const char *text, char hex[HASH_HEX])
{
    unsigned char hash[HASH_BYTES];
    crypto_generichash(hash, sizeof hash, (const unsigned char *)text, strlen(text), NULL, 0);
    sodium_bin2hex(hex, HASH_HEX, hash, sizeof hash);
}

bool given_put(struct chart *c, const char *name, const struct sheet *sheet, struct fault *f)
{
    char hex[HASH_HEX];
    struct text text;
    if (c->visit.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no visit to keep what was handed over in");
    text_init(&text, JOURNAL_VALUE_MAX);
    sheet_render(sheet, &(struct sheet_style){.columns = 80}, &text, NULL, NULL);
    hash_of(text.s, hex);
    const char *value = arena_printf(c->arena, "%s %s\n%s", name, hex, text.s);
    text_free(&text);
    return record_put(c->cb, &c->visit, ID_HANDOUT, value,
                      record_signed(&c->visit) ? "handed over after signing" : "", f);
}

bool given_look(const struct chart *c, struct given *out)
{
    const char *kept = record_text(&c->visit, ID_HANDOUT), *text = strchr(kept, '\n');
    char hex[HASH_HEX], name[NAME_ROOM], hash[HASH_HEX];
    *out = (struct given){0};
    if (text == NULL || sscanf(kept, "%63s %64s", name, hash) != 2)
        return false;
    hash_of(text + 1, hex);
    *out = (struct given){.name = arena_str(c->arena, name),
                          .hash = arena_str(c->arena, hash),
                          .text = text + 1,
                          .whole = strcmp(hash, hex) == 0};
    return true;
}
