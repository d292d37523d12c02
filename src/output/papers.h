/* Paper beside the care sheet: the day, a report, a whole record, blank forms. */
#ifndef AMBLE_OUTPUT_PAPERS_H
#define AMBLE_OUTPUT_PAPERS_H

#include "base/clock.h"
#include "casebook/casebook.h"
#include "output/findings.h"
#include "output/sheet.h"

/* The open visits of a day in order, with addresses, cautions and what to bring; then whom to ring
 * and what else is due. */
bool day_sheet(struct casebook *cb, struct arena *a, day_number day, struct sheet **out,
               struct fault *f);
/* To the vet of record: what was found and decided at this visit, what moved beyond noise, what is
 * next. FAULT_MISSING when there is no visit. */
bool report_sheet(const struct chart *c, struct sheet **out, struct fault *f);
/* Everything about the chart's dog, visit by visit. FAULT_MISSING when there is no dog. */
bool whole_sheet(const struct chart *c, struct sheet **out, struct fault *f);
/* The whole story of one item of the chart, oldest first. FAULT_MISSING when nothing was entered.
 */
bool story_sheet(const struct chart *c, const char *item, struct sheet **out, struct fault *f);
/* What was ever changed in the chart's dog, caregiver, call and visits, and why. */
bool changes_sheet(const struct chart *c, struct sheet **out, struct fault *f);
/* Forms to fill in by hand: the one of that id, or all and the measures when it is "". */
bool blank_sheet(struct casebook *cb, struct arena *a, const char *form, struct sheet **out,
                 struct fault *f);

/* Pieces of visit_sheet.c: a visit's findings, and those of call, caregiver and dog. */
void visit_body(const struct chart *c, enum past_told past, struct sheet *s);
void who_body(const struct chart *c, enum past_told past, struct sheet *s);

#endif
