/* The words of a sheet in its caregiver's language: phrases, days, and answers to questions. */
#ifndef AMBLE_OUTPUT_TONGUE_H
#define AMBLE_OUTPUT_TONGUE_H

#include "base/clock.h"
#include "casebook/casebook.h"
#include "template/phrases.h"

/* What is made lives in the chart's arena. */
struct tongue {
    const struct chart *c;
    const char *language; /* id: "en", "es" */
};

const char *tongue_phrase(const struct tongue *t, enum phrase_id phrase);
/* "Tuesday 24 November 2026", "24 de noviembre de 2026"; 2026-11-24 where a language has no words
 * for it. */
const char *tongue_day(const struct tongue *t, day_number day);
/* The answer, as letter_answer says it. What people wrote, and a choice that the language has no
 * words for, stays as it is: *own tells so, unless the language is the practice's. */
const char *tongue_answer(const struct tongue *t, const struct item *item, const struct finding *f,
                          bool *own);
/* The same of one canonical value. */
const char *tongue_value(const struct tongue *t, const struct item *item, const char *value,
                         bool *own);

#endif
