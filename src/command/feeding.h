/* Text files into the record: what amble enter and amble demo share. */
#ifndef AMBLE_COMMAND_FEEDING_H
#define AMBLE_COMMAND_FEEDING_H

#include "casebook/feed.h"
#include "command/run.h"

/* As the line "handout" hands over; the second also lets entries claim the days they tell of. */
extern const struct feed_how feeding_entered, feeding_invented;

/* Read the file at `path` into `cb`; the lines that cannot be used are told. */
bool feed_path(struct run *run, struct casebook *cb, const char *path, const struct feed_how *how,
               struct fed *fed, struct fault *f);

#endif
