/* The bench: what its files share. */
#ifndef AMBLE_SCREENS_BENCH_H
#define AMBLE_SCREENS_BENCH_H

#include "casebook/bench.h"
#include "output/figure.h"
#include "screens/visit.h"

enum bench_panel { PANEL_PICTURE, PANEL_COMPARE, PANEL_PLAN };

struct bench_state {
    struct section_page at;
    struct fitting fit; /* count 0: `why` says what is missing */
    struct bench bench;
    struct fit_setting setting, other; /* in hand; put aside to compare with */
    struct bench_view view, other_view;
    struct bench_stage plan[BENCH_STAGES];
    enum bench_panel panel;
    bool on_ramp;                     /* the picture stands on the home's ramp */
    double measured_kg, predicted_kg; /* fore load of this fitting; NaN: not there */
    bool tracked;                     /* `track` holds what all fittings came to */
    struct track_out track;
    const char *mark; /* finding_mark of the setting kept, in the page's arena */
    struct figure figure;
};

/* Work everything out again after the setting was changed. */
void bench_look(struct bench_state *st);
bool bench_kept(const struct bench_state *st); /* the setting in hand is the one on record */
/* The lines of warnings and of what is proposed, all of them; in `a`. */
size_t bench_told(const struct bench_state *st, struct arena *a, const char **lines, size_t most);

/* bench_draw.c */
void bench_draw(struct bench_state *st);
/* bench_panels.c: rows from..to between the head and the axle. */
void bench_draw_compare(const struct bench_state *st, int row, int last);
void bench_draw_plan(const struct bench_state *st, int row, int last);
/* Where there is room: a line a stage, and one for each step of the axle (the row after them). */
void bench_draw_plan_short(const struct bench_state *st, int row, int last, int col, int width);
int bench_draw_steps(const struct bench_state *st, int row, int last, int col, int width);
/* bench_ask.c: the questions; each changes the setting in hand. */
void bench_ask_frame(struct screen *s);
void bench_ask_wheels(struct screen *s);
void bench_ask_track(struct screen *s);
void bench_ask_parts(struct screen *s);
bool bench_ask_residual(struct screen *s); /* false: given up */

/* build_sheet.c */
void build_sheet_open(struct app *app, const char *visit);

#endif
