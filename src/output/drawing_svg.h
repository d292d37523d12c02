/* The build as a drawing in SVG 1.1: side, rear and top view with dimensions, in millimetres. */
#ifndef AMBLE_OUTPUT_DRAWING_SVG_H
#define AMBLE_OUTPUT_DRAWING_SVG_H

#include "casebook/build.h"

struct text;

/* One whole document, in ASCII, that opens in a browser and prints on A4 across. The title says
 * who, which version and that a draft is one. */
void drawing_svg(const struct build *b, bool frozen, struct text *out);

#endif
