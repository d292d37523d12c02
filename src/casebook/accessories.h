/* Accessories: which the findings speak for, which were picked (item "accessories" of the visit).
 */
#ifndef AMBLE_CASEBOOK_ACCESSORIES_H
#define AMBLE_CASEBOOK_ACCESSORIES_H

#include "casebook/casebook.h"

struct accessory_view {
    const struct choice *choice;
    bool picked;
    const struct accessory_rule *rule; /* the first that speaks for it, or NULL */
    const char *because;               /* the findings it rests on */
};
/* In the order of the choices; 0 when no form of the practice asks for accessories. */
size_t accessories_look(const struct chart *c, const struct accessory_view **out);
/* Pick it, or put it back. */
bool accessory_turn(struct chart *c, const struct accessory_view *view, struct fault *f);
struct section_state accessories_state(const struct chart *c);

#endif
