/* The trends of a dog beside something else: each with its first and last value and where it goes,
 * those that can be drawn as small pictures while there is room. */
#ifndef AMBLE_SCREENS_TRENDS_PANEL_H
#define AMBLE_SCREENS_TRENDS_PANEL_H

#include "casebook/trends.h"

enum { TRENDS_PANEL_MOST = 12 };

struct trends_panel {
    const struct trend_view *views;
    size_t count;
    const char *ends[TRENDS_PANEL_MOST]; /* "34.1 -> 33.2 kg" */
    const char *plans[TRENDS_PANEL_MOST];
    size_t shown;                    /* of them all; then those that are drawn */
    int pictured[TRENDS_PANEL_MOST]; /* rows of its picture, 0: none */
    const char *pictures[TRENDS_PANEL_MOST];
    int rows, width; /* that they were drawn for */
    struct arena *arena;
};

/* Read what is followed of the chart's dog. All of it lives in the chart's arena. */
bool trends_panel_look(struct trends_panel *t, const struct chart *c, struct fault *f);
/* Between the rows `row` and `last`. It draws its pictures anew only where the room has changed. */
void trends_panel_draw(struct trends_panel *t, int row, int last, int col, int width);

/* What trend_picture made. */
void trend_draw_lines(const char *picture, int row, int col, int width);

#endif
