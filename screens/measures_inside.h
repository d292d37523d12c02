/* Between the files of the Measures screen. */
#ifndef AMBLE_SCREENS_MEASURES_INSIDE_H
#define AMBLE_SCREENS_MEASURES_INSIDE_H

#include "casebook/measuring.h"
#include "screens/kit/editor.h"
#include "screens/visit.h"

struct measures_state {
    struct section_page at;
    struct measuring look;
    const struct item **ticks; /* the posture form's questions */
    size_t tick_count;
    size_t *shown; /* rows of look on the screen, folded ones left out */
    size_t shown_count;
    const char **marks; /* measure_mark of each, beside shown */
    bool all;           /* unneeded ones too */
    bool blind;         /* first readings are hidden until the second is in */
    bool posture;       /* the cursor is on the posture line */
    size_t tick;        /* which tick */
    unsigned again;     /* ticks of the second asking, a bit each */
    size_t row;         /* index into shown */
    int reading;        /* 1 to 3 */
    size_t top;
    struct editor editor;
    const char *refused; /* why what is typed cannot be kept, or may be a slip; or NULL */
    bool warned;         /* a slip was named: Enter again keeps it */
    bool insisted;       /* leaving was refused: once more leaves it as a draft */
    const char *detail;  /* what else there is to know of the row under the cursor, "" */
};

const struct measure_row *measures_focus(const struct measures_state *m);
/* The posture is asked a second time, because the suspect's cause is posture. */
bool measures_again(const struct measures_state *m);
/* The first reading of a row waits for the second without being seen. */
bool measures_hidden(const struct measures_state *m, const struct measure_row *r);
bool measures_press_posture(struct screen *s, const struct press *p);
/* To a cell of the table: a row of `shown`, a reading from 1. */
void measures_go(struct screen *s, size_t row, int reading);
void measures_reload(struct screen *s);
/* Why the item is changed, as past_reason asks. */
const char *measures_reason(struct screen *s, const char *item);
/* What one key answers, kept with its reason. False when it was not. */
bool measures_put(struct screen *s, const char *item, const char *value);
/* Into m->detail, for the row under the cursor. */
void measures_detail(struct measures_state *m);
void measures_draw(struct screen *s);

/* Screens above it: the body type by its picture, and what is noted beside the numbers. */
void body_type_open(struct app *app, const char *visit);
void beside_open(struct app *app, const char *visit);

#endif
