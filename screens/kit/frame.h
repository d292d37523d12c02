/* The cells of the screen: what should stand there and what does. draw.c fills them; what differs
 * goes to the terminal in one write. */
#ifndef AMBLE_KIT_FRAME_H
#define AMBLE_KIT_FRAME_H

#include "screens/kit/draw.h"

struct frame_style {
    bool bold, dim, underline, reverse;
    int color; /* of the eight by their ANSI number; 0 (black): the terminal's own */
};

void frame_start(void); /* once curses runs; then each look is told */
void frame_look(enum look look, const struct frame_style *style);
void frame_stop(void);
void frame_forget(void);                 /* the next frame is sent whole */
void frame_begin(int rows, int columns); /* blank */
/* One cluster of `n` bytes, 1 or 2 columns wide; `odd`: terminals disagree on that. Drawn only when
 * all of it is on the screen. */
void frame_put(int row, int col, enum look look, const char *s, size_t n, int width, bool odd);
/* `n` printable ASCII letters, or as many blanks; likewise only when all are on the screen. */
void frame_letters(int row, int col, enum look look, const char *ascii, int n);
void frame_fill(int row, int col, enum look look, int n);
void frame_send(int row, int col); /* what differs, the cursor there at the end */

#endif
