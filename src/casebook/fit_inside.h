/* For the files of the fit only. */
#ifndef AMBLE_CASEBOOK_FIT_INSIDE_H
#define AMBLE_CASEBOOK_FIT_INSIDE_H

#include "base/arena.h"
#include "base/text.h"
#include "casebook/fitting.h"
#include "casebook/measuring.h"
#include "casebook/past.h"

/* The visits that the fit reads: nobody measures legs and doors again to fit what was built. Of a
 * past that cannot be read there is this visit. */
struct past fit_past(const struct chart *c);
bool fit_number(const struct past *p, const char *item, double *out);
const struct measure_row *fit_measure(const struct measuring *m, const char *id); /* or NULL */
/* Standard uncertainty of the value used from a row's readings. */
double fit_reading_within(const struct measure_row *r);
/* False with *why when something is still to be measured. */
bool fit_dog_read(const struct past *p, struct fit_dog *dog, const char **why);
/* The frame kept last, else the first of the support decided on that is meant for so heavy
 * a dog; NULL with *why. */
const struct frame *fit_frame_for(const struct past *p, const struct support *s, double kg,
                                  const char **why);
/* Of the rows' balance at its neutral axle. */
double fit_neutral_relief(const struct fitting *fit);
struct fit_setting fit_as_it_comes(const struct past *p, const struct frame *frame,
                                   const struct fit_dog *dog);
const struct support *fit_support(const struct chart *c, const char **why);

#endif
