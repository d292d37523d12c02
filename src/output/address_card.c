#include "base/arena.h"
#include "base/text.h"
#include "casebook/ids.h"
#include "output/content_line.h"
#include "output/exports.h"
#include "output/letter.h"

/* Of two answers that nobody has settled both are given. */
static void put_each(const struct chart *c, const char *property, const char *item,
                     struct text *out)
{
    const struct finding *f = record_find(&c->caregiver, item);
    if (f == NULL)
        return;
    content_text(out, c->arena, property, f->text);
    for (size_t i = 0; i < f->other_count; i++)
        content_text(out, c->arena, property, f->others[i]);
}

/* The record keeps an address as one text: it goes into the street, no other part is guessed. */
static void put_address(const struct chart *c, struct text *out)
{
    const struct finding *f = record_find(&c->caregiver, ID_CAREGIVER_ADDRESS);
    for (size_t i = 0; f != NULL && i <= f->other_count; i++) {
        const char *address = i == 0 ? f->text : f->others[i - 1];
        if (*address)
            content_line(out, "ADR",
                         arena_printf(c->arena, ";;%s;;;;", content_escaped(c->arena, address)));
    }
}

/* "Caregiver of Wren. Not settled: Phone number, Address" */
static const char *note(const struct chart *c)
{
    const char *words = arena_printf(c->arena, "Caregiver of %s", letter_dog(c)),
               *lead = ". Not settled: ";
    for (size_t i = 0; i < c->caregiver.count; i++) {
        const struct finding *f = &c->caregiver.findings[i];
        if (f->other_count == 0)
            continue;
        words = arena_printf(c->arena, "%s%s%s", words, lead,
                             finding_label(c->cb->set, f->item, c->arena));
        lead = ", ";
    }
    return words;
}

bool address_card(const struct chart *c, struct text *out, struct fault *f)
{
    const struct record *who = &c->caregiver;
    if (who->entity == NULL)
        return fail(f, FAULT_MISSING, "there is no caregiver to make a card of");
    const char *name = record_text(who, ID_CAREGIVER_NAME);
    content_line(out, "BEGIN", "VCARD");
    content_line(out, "VERSION", "4.0");
    content_line(out, "UID", arena_printf(c->arena, "urn:uuid:%s", who->entity));
    content_text(out, c->arena, "FN",
                 *name ? name : arena_printf(c->arena, "Caregiver of %s", letter_dog(c)));
    put_each(c, "TEL;VALUE=text;PREF=1", ID_CAREGIVER_PHONE, out);
    put_each(c, "TEL;VALUE=text;PREF=2", "caregiver.phone_other", out);
    put_each(c, "EMAIL", "caregiver.email", out);
    put_each(c, "LANG", "caregiver.language", out);
    put_address(c, out);
    content_text(out, c->arena, "NOTE", note(c));
    content_line(out, "END", "VCARD");
    return true;
}
