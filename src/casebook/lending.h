/* The practice's frames go out with a dog and come back; closing a case ends every reminder. */
#ifndef AMBLE_CASEBOOK_LENDING_H
#define AMBLE_CASEBOOK_LENDING_H

#include "casebook/casebook.h"

/* The frame goes out with the chart's dog, due back on `due` (a canonical day, "" for none). With
 * the axle set in the chart's visit, when it is of that kind. FAULT_REFUSED when it is not here. */
bool frame_lend(struct chart *c, const char *frame, const char *due, struct fault *f);
/* It is back, to be cleaned. Nothing when it was not away. */
bool frame_take_back(struct casebook *cb, struct arena *a, const char *frame, struct fault *f);
/* What is out with the dog of a closed case follows what was said of it (item
 * dog.closed_equipment): back, given away, or to be fetched when they are ready. No day is due. */
bool frames_follow_closing(struct chart *c, struct fault *f);

#endif
