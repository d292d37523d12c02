/* A page to read: wrapped lines under headings, some with a label before them, that move as a
 * whole. */
#ifndef AMBLE_SCREENS_KIT_READING_H
#define AMBLE_SCREENS_KIT_READING_H

#include "screens/kit/draw.h"
#include "screens/kit/screen.h"

enum { READING_MOST = 160 };

struct reading_line {
    enum look look;
    int indent;
    const char *label; /* "" or what stands before the words, `beside` columns wide */
    int beside;
    const char *words;
    bool head;
};

struct reading {
    struct reading_line lines[READING_MOST]; /* what is over is left out */
    size_t count, top;
    const char *more; /* how to read on when it does not fit; NULL: Down does */
};

/* Words live as long as the reading. "" is no line. */
void reading_head(struct reading *r, const char *words); /* with an empty row above */
void reading_say(struct reading *r, enum look look, int indent, const char *words);
void reading_row(struct reading *r, enum look look, int indent, const char *label, int beside,
                 const char *words);
/* Between the rows `row` and `last`; the last one says when there is more. */
void reading_draw(const struct reading *r, int row, int last);
int reading_rows(const struct reading *r); /* all of it, on a screen of this width */
bool reading_press(struct reading *r, const struct press *p);

#endif
