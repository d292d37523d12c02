/* Teaching with teach-back: which checklists apply, what was told, shown, done back. */
#ifndef AMBLE_CASEBOOK_TEACHING_H
#define AMBLE_CASEBOOK_TEACHING_H

#include "casebook/casebook.h"

enum taught { TAUGHT_NOT, TAUGHT_TOLD, TAUGHT_SHOWN, TAUGHT_DONE_BACK };

struct teach_row {
    const struct checklist *list;
    const struct teach_item *item;
    const char *key; /* "teach.bladder.how_often" */
    enum taught state;
    const char *by;     /* initials, or "" */
    const char *mark;   /* finding_mark of it */
    enum taught before; /* the most that any earlier visit did: it still stands on the sheet */
};
struct teaching {
    const struct teach_row *rows; /* checklist by checklist, only what is shown for this dog */
    size_t count;
    size_t done; /* anything but TAUGHT_NOT */
};
void teaching_look(const struct chart *c, struct teaching *out);
bool teaching_put(struct chart *c, const struct teach_row *row, enum taught state, struct fault *f);
const char *taught_word(enum taught t);    /* "", "told", "shown", "done back" */
enum taught taught_read(const char *kept); /* "told", "shown", "done_back"; else TAUGHT_NOT */
struct section_state teaching_state(const struct chart *c);

#endif
