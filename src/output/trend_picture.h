/* A trend as characters: the values, their line, and the band the line can be trusted within. */
#ifndef AMBLE_OUTPUT_TREND_PICTURE_H
#define AMBLE_OUTPUT_TREND_PICTURE_H

#include "casebook/trends.h"

struct text;

struct trend_style {
    int rows, columns; /* all of it, labels included; at least 5 and 30, or nothing is drawn */
    bool utf8;         /* else ASCII: o a value, - the line, : the 95 % band, = the threshold */
};
/* `rows` lines that each end with '\n', without blanks at their ends; the last tells the days. */
void trend_picture(const struct trend_view *t, const struct trend_style *style, struct text *to);

#endif
