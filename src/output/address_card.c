#include "base/arena.h"
#include "base/text.h"
#include "casebook/ids.h"
#include "output/content_line.h"
#include "output/exports.h"
#include "output/letter.h"

bool address_card(const struct chart *c, struct text *out, struct fault *f)
{
    const struct record *who = &c->caregiver;
    if (who->entity == NULL)
        return fail(f, FAULT_MISSING, "there is no caregiver to make a card of");
    const char *name = record_text(who, ID_CAREGIVER_NAME);
    const char *address = record_text(who, ID_CAREGIVER_ADDRESS);
    content_line(out, "BEGIN", "VCARD");
    content_line(out, "VERSION", "4.0");
    content_line(out, "UID", arena_printf(c->arena, "urn:uuid:%s", who->entity));
    content_text(out, c->arena, "FN",
                 *name ? name : arena_printf(c->arena, "Caregiver of %s", letter_dog(c)));
    content_text(out, c->arena, "TEL;VALUE=text;PREF=1", record_text(who, ID_CAREGIVER_PHONE));
    content_text(out, c->arena, "TEL;VALUE=text;PREF=2", record_text(who, "caregiver.phone_other"));
    content_text(out, c->arena, "EMAIL", record_text(who, "caregiver.email"));
    content_text(out, c->arena, "LANG", record_text(who, "caregiver.language"));
    /* The record keeps an address as one text: it goes into the street, no other part is guessed.
     */
    if (*address)
        content_line(out, "ADR",
                     arena_printf(c->arena, ";;%s;;;;", content_escaped(c->arena, address)));
    content_text(out, c->arena, "NOTE", arena_printf(c->arena, "Caregiver of %s", letter_dog(c)));
    content_line(out, "END", "VCARD");
    return true;
}
