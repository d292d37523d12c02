/* Findings on a sheet, each with who and when, and under it what stood before. */
#ifndef AMBLE_OUTPUT_FINDINGS_H
#define AMBLE_OUTPUT_FINDINGS_H

#include "casebook/story.h"
#include "output/sheet.h"

/* How much of the past stands under a finding: of what was changed after signing, struck or is
 * disputed, or of whatever was ever changed. */
enum past_told { PAST_AFTER_SIGNING, PAST_ALL };

/* One sheet while its findings are written; begin with the first three. */
struct writing {
    const struct chart *c;
    struct sheet *s;
    enum past_told past;
    const struct record *record;
    const struct finding *headed; /* whose hand and day the heading names; NULL: nobody's */
};

void write_forms(struct writing *w, const char *about); /* all forms about that kind of record */
void write_forms_but(struct writing *w, const char *about, enum form_place left_out);
/* What no form of this practice asks for now (older forms, a colleague's); then of what has a
 * section of its own whatever a section does not say: conflicts, amendments, reasons, the past. */
void write_others(struct writing *w, const struct record *r);
/* Only what was ever changed, struck or is disputed. False: none was, and nothing is written. */
bool write_changed(struct writing *w, const struct record *r, const char *heading);
/* Under a finding: what stood before, the latest first, and of a conflict each answer. */
void write_story(const struct chart *c, const struct story *story, struct sheet *s);

#endif
