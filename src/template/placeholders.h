/* What may stand between braces in a handout, beside {item:ID} for the answer to any question. One
 * table: the loader accepts these names, output/care.c fills them in. */
#ifndef AMBLE_TEMPLATE_PLACEHOLDERS_H
#define AMBLE_TEMPLATE_PLACEHOLDERS_H

#define PLACEHOLDERS(X)                                                                            \
    X("practice.name", "name of the practice")                                                     \
    X("practice.address", "its address")                                                           \
    X("practice.phone", "its telephone")                                                           \
    X("practice.emergency_phone", "whom to ring at night and in an emergency")                     \
    X("practice.email", "its mail address")                                                        \
    X("practice.scope_note", "the practice's note on who may do what")                             \
    X("dog.name", "name of the dog")                                                               \
    X("dog.signalment", "breed, age and weight in one line")                                       \
    X("caregiver.name", "name of the caregiver")                                                   \
    X("visit.date", "day of the visit in words")                                                   \
    X("practitioner.name", "who made the visit")                                                   \
    X("support.label", "the support decided on")

#endif
