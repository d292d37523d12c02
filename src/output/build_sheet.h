/* The build sheet on paper: one or two pages that a builder who has never seen the dog can cut
 * from.
 */
#ifndef AMBLE_OUTPUT_BUILD_SHEET_H
#define AMBLE_OUTPUT_BUILD_SHEET_H

#include "casebook/build.h"
#include "output/figure.h"
#include "output/sheet.h"

/* `frozen` false: a draft, and every page says so. */
bool build_sheet(const struct chart *c, const struct build *b, bool frozen, struct sheet **out,
                 struct fault *f);
/* The figure of a build from the side. */
void build_figure(const struct build *b, struct figure *out);

#endif
