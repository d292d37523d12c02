/* What the program itself says on a sheet that goes to a caregiver, beside what templates say. One
 * table: a language of the practice words each as phrase.NAME; what it leaves out is in English. */
#ifndef AMBLE_TEMPLATE_PHRASES_H
#define AMBLE_TEMPLATE_PHRASES_H

#define PHRASES(X)                                                                                 \
    X(PHONE, "phone", "telephone")                                                                 \
    X(FOOTER, "footer", "In an emergency ring")                                                    \
    X(PAGE, "page", "page")                                                                        \
    X(OF, "of", "of")                                                                              \
    X(THE_DOG, "the_dog", "the dog")                                                               \
    X(CARE, "care", "Take care")                                                                   \
    X(OWN_WORDS, "own_words", "in the practice's language")                                        \
    X(CHANGED, "changed", "changed after signing")                                                 \
    X(NO_SUPPORT, "no_support", "No support has been decided on yet.")                             \
    X(VETS_DIFFER, "vets_differ",                                                                  \
      "The vets have not agreed on a support yet. Ask us before you use any of these:")            \
    X(STOP, "stop", "Stop, and ring us")                                                           \
    X(CLOSING, "closing", "This sheet does not replace the vet. If you are worried, ring")         \
    X(CLOSING_NIGHT, "closing_night", "at night and in an emergency ring")                         \
    X(YES, "yes", "yes")                                                                           \
    X(NO, "no", "no")                                                                              \
    X(UNKNOWN, "unknown", "not known")                                                             \
    X(OR, "or", "or")                                                                              \
    X(NO_VALUE, "no_value", "no value")                                                            \
    X(NOT_SETTLED, "not_settled", "answers differ, ask us")                                        \
    X(AGE_MONTH, "age_month", "mo") /* after 1, and next to it after any other number */           \
    X(AGE_MONTHS, "age_months", "mo")                                                              \
    X(AGE_YEAR, "age_year", "y")                                                                   \
    X(AGE_YEARS, "age_years", "y")                                                                 \
    X(AGE_UNBORN, "age_unborn", "not yet born")                                                    \
    X(NONE, "none", "none")   /* beside another value: one has it, one has nothing */              \
    X(DATE, "date", "")       /* {day}, {month}, {year} in their order; else 2026-11-24 */         \
    X(MONTH_1, "month_1", "") /* the months' names, within a date */                               \
    X(MONTH_2, "month_2", "")                                                                      \
    X(MONTH_3, "month_3", "")                                                                      \
    X(MONTH_4, "month_4", "")                                                                      \
    X(MONTH_5, "month_5", "")                                                                      \
    X(MONTH_6, "month_6", "")                                                                      \
    X(MONTH_7, "month_7", "")                                                                      \
    X(MONTH_8, "month_8", "")                                                                      \
    X(MONTH_9, "month_9", "")                                                                      \
    X(MONTH_10, "month_10", "")                                                                    \
    X(MONTH_11, "month_11", "")                                                                    \
    X(MONTH_12, "month_12", "")

enum phrase_id {
#define X(id, name, english) PHRASE_##id,
    PHRASES(X)
#undef X
};

struct template_set;
const char *template_phrase(const struct template_set *set, const char *language,
                            enum phrase_id phrase);

#endif
