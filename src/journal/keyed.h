/* Items that can be looked up by value. One table; an entry whose item is not here costs no index.
 * References between entities and the days that Today asks for. */
#ifndef AMBLE_JOURNAL_KEYED_H
#define AMBLE_JOURNAL_KEYED_H

#define KEYED_ITEMS(X)                                                                             \
    X("merged.into")     /* uuid of the record that stands for this one */                         \
    X("dog.caregiver")   /* uuid */                                                                \
    X("call.dog")        /* uuid */                                                                \
    X("call.caregiver")  /* uuid */                                                                \
    X("call.at")         /* 2026-11-24T09:30 */                                                    \
    X("call.ring_back")  /* 2026-11-24T17:00; "done" when rung */                                  \
    X("visit.dog")       /* uuid */                                                                \
    X("visit.day")       /* 2026-11-24 or 2026-11-24T14:00 */                                      \
    X("review.due")      /* 2026-12-08; "done" */                                                  \
    X("fit.fore_scale")  /* 5.6 kg */                                                              \
    X("culture.due")     /* 2026-12-08; "done" */                                                  \
    X("equipment.due")   /* 2026-12-08 */                                                          \
    X("dog.closed_call") /* 2026-12-08 */                                                          \
    X("record.open")     /* yes while a call has no outcome or a visit is not signed */            \
    X("shelter.device")  /* uuid of a device */                                                    \
    X("practitioner.initials")

/* Items whose text can be found by typing. Names are also found when misspelt, phones by their last
 * digits. */
#define SEARCHED_ITEMS(X)                                                                          \
    X("dog.name", SEARCHED_NAME)                                                                   \
    X("caregiver.name", SEARCHED_NAME)                                                             \
    X("caregiver.address", SEARCHED_TEXT)                                                          \
    X("caregiver.phone", SEARCHED_PHONE)

#endif
