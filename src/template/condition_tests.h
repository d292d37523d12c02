/* The questions a condition may ask of an item: one table for the reader, the messages, the manual.
 */
#ifndef AMBLE_TEMPLATE_CONDITION_TESTS_H
#define AMBLE_TEMPLATE_CONDITION_TESTS_H

#include "template/template.h"

#define NUMBERS  (1u << ITEM_NUMBER | 1u << ITEM_SCORE | 1u << ITEM_LENGTH | 1u << ITEM_MASS)
#define WORDS    (1u << ITEM_CHOICE | 1u << ITEM_YESNO | 1u << ITEM_TEXT)
#define ANY_KIND (~0u)

/* key, condition, kinds of item it can be asked of, help */
#define CONDITION_TESTS(X)                                                                         \
    X(is, WHEN_IS, WORDS, "the answer is this word")                                               \
    X(is_one_of, WHEN_IS_ONE_OF, WORDS, "the answer is one of these words, in brackets")           \
    X(has, WHEN_HAS, 1u << ITEM_MANY, "this word is among the answers")                            \
    X(at_least, WHEN_AT_LEAST, NUMBERS, "the number is this or more")                              \
    X(at_most, WHEN_AT_MOST, NUMBERS, "the number is this or less")                                \
    X(above, WHEN_ABOVE, NUMBERS, "the number is more than this")                                  \
    X(below, WHEN_BELOW, NUMBERS, "the number is less than this")                                  \
    X(answered, WHEN_ANSWERED, ANY_KIND, "yes: there is an answer; no: there is none")

#endif
