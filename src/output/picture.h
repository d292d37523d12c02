/* The frame on the dog from the side, in plain characters, to scale. */
#ifndef AMBLE_OUTPUT_PICTURE_H
#define AMBLE_OUTPUT_PICTURE_H

#include "calc/balance.h"

struct text;

/* Draw the dog facing left, level ground, from the numbers of the balance: fore feet at x = 0, hind
 * feet at the stance length, back at `withers_mm`. One character is half as wide as it is high.
 * `rows` (8 or more) is the height without the line of loads below; the width follows, at most
 * `columns`. Lines end with '\n'; loads are written in kg below the feet and the wheel, and at the
 * shoulder bar with the word presses or lifts. Nothing but ASCII. Draws nothing when a length is
 * not positive. */
void picture_side(const struct balance_in *in, const struct balance_out *out, double withers_mm,
                  int rows, int columns, struct text *to);

#endif
