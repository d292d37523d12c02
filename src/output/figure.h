/* Dog, frame and loads from the side as strokes in millimetres: what the picture on a screen and
 * the drawing on paper are both made of.
 *
 * x runs rearward from the fore-foot line, z up from the ground; on a slope everything is turned
 * about the fore feet. The dog is an outline scaled by stance length and withers height, the frame
 * and the loads are to scale. Nothing is allocated. */
#ifndef AMBLE_OUTPUT_FIGURE_H
#define AMBLE_OUTPUT_FIGURE_H

#include "calc/balance.h"
#include <stdbool.h>
#include <stddef.h>

struct figure_in {
    const struct balance_in *in;
    const struct balance_out *out;
    double withers_mm;
    double normal_n;      /* on the fore feet without a frame: marked beside the arrow; 0: not */
    double slope_deg;     /* nose uphill +; 0: level */
    bool front;           /* a front frame: the wheels stand under the chest */
    double front_axle_mm; /* of four wheels; NaN: there is none */
    bool loads;           /* arrows, centre of mass, tip line */
    /* Where the axle can go. The box has room for all of it, so that a picture whose axle moves
     * keeps scale and place; 0: it stays where it is. */
    double axle_low_mm, axle_high_mm;
    double grid_mm; /* what moves with the axle stands on whole multiples of it; 0: exactly */
};

enum stroke_kind {
    STROKE_DOG,
    STROKE_WEAK, /* a leg that carries little */
    STROKE_FRAME,
    STROKE_WHEEL,
    STROKE_GROUND,
    STROKE_LOAD, /* arrows */
    STROKE_MASS, /* the centre of mass */
    STROKE_TIP,  /* from wheel contact to centre of mass: its angle from upright is the limit */
    STROKE_KINDS
};
struct figure_point {
    double x, z;
};
struct figure_stroke {
    enum stroke_kind kind;
    size_t first, count; /* of the points */
};
struct figure_label {
    double x, z;
    int align; /* -1 ends here, 0 is centred, +1 begins here */
    char words[32];
};
enum { FIGURE_POINTS = 1400, FIGURE_STROKES = 64, FIGURE_LABELS = 12 };
struct figure {
    struct figure_point points[FIGURE_POINTS];
    struct figure_stroke strokes[FIGURE_STROKES];
    struct figure_label labels[FIGURE_LABELS];
    size_t point_count, stroke_count, label_count;
    struct figure_point low, high; /* the box around all of it, labels' places included */
};
/* Empty when a length is not positive. */
void figure_side(const struct figure_in *in, struct figure *out);

/* The pieces, for other views. Points are given in mm. */
void figure_begin(struct figure *f);
void figure_line(struct figure *f, enum stroke_kind kind, double x0, double z0, double x1,
                 double z1);
void figure_circle(struct figure *f, enum stroke_kind kind, double x, double z, double radius);
void figure_curve(struct figure *f, enum stroke_kind kind, const struct figure_point *points,
                  size_t count, bool closed); /* smooth, through the points */
void figure_words(struct figure *f, double x, double z, int align, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

#endif
