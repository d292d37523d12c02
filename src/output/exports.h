/* Records for other programs: a table, an exchange bundle, a calendar, an address card.
 *
 * Two answers that nobody has settled are both given and marked. What a record holds is never able
 * to act on the program that reads it: control characters become visible, and a cell that a
 * spreadsheet would calculate is written as text. */
#ifndef AMBLE_OUTPUT_EXPORTS_H
#define AMBLE_OUTPUT_EXPORTS_H

#include "base/clock.h"
#include "casebook/casebook.h"

struct text;

/* Comma-separated values, lines ended by CRLF (RFC 4180): the heading, and a line for every value
 * that stands in one record of any kind. */
void csv_heading(struct text *out);
bool csv_record(struct casebook *cb, struct arena *a, const char *entity, struct text *out,
                struct fault *f);

/* The dog, its calls and visits and what was found, as a collection Bundle of FHIR R4 (4.0.1) with
 * the extension patient-animal; units in UCUM. FAULT_MISSING when the chart has no dog,
 * FAULT_LIMIT when the record does not fit into `out`. */
bool fhir_bundle(const struct chart *c, struct text *out, struct fault *f);

/* Visits, calls to ring back, reviews, cultures and loans from a day on, as iCalendar (RFC 5545).
 * Times are without a zone, as they were agreed. */
bool calendar_from(struct casebook *cb, struct arena *a, day_number from, struct text *out,
                   struct fault *f);

/* The caregiver as a vCard 4.0 (RFC 6350). FAULT_MISSING when the chart has none. */
bool address_card(const struct chart *c, struct text *out, struct fault *f);

#endif
