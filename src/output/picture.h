/* A figure as characters, to scale: braille where the terminal has UTF-8, ASCII otherwise. */
#ifndef AMBLE_OUTPUT_PICTURE_H
#define AMBLE_OUTPUT_PICTURE_H

#include "output/figure.h"

struct text;

struct picture_style {
    int rows, columns; /* at most; 4 rows and 20 columns at least, or nothing is drawn */
    bool braille;      /* else plain ASCII */
};

/* Draw into `rows` lines that each end with '\n', without blanks at their ends; a column is half as
 * wide as a row is high. Words of the figure stand over its strokes and never over each other. */
void picture_draw(const struct figure *figure, const struct picture_style *style, struct text *to);
/* How many millimetres a column is wide then; 0 when nothing is drawn. */
double picture_column_mm(const struct figure *figure, const struct picture_style *style);

#endif
