/* What every sheet made from a chart shares: the practice's head and footer, a finding in words. */
#ifndef AMBLE_OUTPUT_LETTER_H
#define AMBLE_OUTPUT_LETTER_H

#include "casebook/casebook.h"
#include "output/sheet.h"

/* A sheet with the practice's name, address and telephone, the title, whom it is about and the day.
 * Its footer says on every page which dog and day it belongs to and whom to ring. */
struct sheet *letter_begin(const struct chart *c, const char *title);
/* The same of another day or time than the visit's: "2026-11-24", "2026-11-24T09:30". */
struct sheet *letter_begin_on(const struct chart *c, const char *title, const char *iso);
/* The same in a language of the practice (output/tongue.h). */
struct sheet *letter_begin_in(const struct chart *c, const char *language, const char *title);
const char *letter_day_in(const struct chart *c, const char *language);

const char *letter_dog(const struct chart *c); /* its name, or "the dog" */
const char *letter_dog_in(const struct chart *c, const char *language);
const char *letter_day(const struct chart *c); /* of the visit, else of the call: in words, or "" */
/* "2026-11-24" as a day stands on paper: "Tuesday 24 November 2026". */
const char *letter_iso_day(struct arena *a, const char *iso);

/* Who wrote it, with the practice's name and telephone: the end of a letter. */
void letter_end(const struct chart *c, struct sheet *s);
const char *letter_author(const struct chart *c); /* who signed, else wrote last; or "" */

/* The answer for a person. One in conflict is never one of its values: "3 cm or 5 cm (2 answers,
 * not settled)". */
const char *letter_answer(const struct chart *c, const struct finding *f);
/* "RN, Tue 24 Nov 2026 09:12" */
const char *letter_who(const struct chart *c, const struct finding *f);

/* Of the visit: "signed by MK, Tue 24 Nov 2026 17:00", or "not signed". */
const char *letter_signed(const struct chart *c);

/* The chart's record that the answers of a form are kept in; NULL when there is none. */
const struct record *letter_record(const struct chart *c, const struct form *form);

#endif
