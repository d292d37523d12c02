/* Sheets made from a chart. */
#ifndef AMBLE_OUTPUT_CARE_H
#define AMBLE_OUTPUT_CARE_H

#include "casebook/casebook.h"
#include "output/sheet.h"

/* The care sheet for the caregiver, from the handout template `care`, or another handout id.
 * Order: what to watch for and whom to call, the plan, the rest. Always ends with the stop signs'
 * "does not replace the vet". FAULT_MISSING when the practice has no such handout. */
bool care_sheet(const struct chart *c, const char *handout, struct sheet **out, struct fault *f);
/* The whole visit as text for a colleague: every finding with who and when, conflicts and
 * amendments marked. */
bool visit_sheet(const struct chart *c, struct sheet **out, struct fault *f);
/* A referral note from a call with red flags. */
bool referral_sheet(const struct chart *c, struct sheet **out, struct fault *f);

#endif
