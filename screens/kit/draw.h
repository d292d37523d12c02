/* Drawing. Everything that comes from a record goes through draw_text, which lets nothing act on
 * the terminal, never writes past `width` columns, and pads with blanks only when told. */
#ifndef AMBLE_KIT_DRAW_H
#define AMBLE_KIT_DRAW_H

#include <stdbool.h>
#include <stddef.h>

/* Looks, each told apart without colour too (bold, underline, reverse, or a word beside it). */
enum look {
    LOOK_PLAIN,
    LOOK_DIM,    /* help, what is not asked */
    LOOK_STRONG, /* headings, the one thing that matters */
    LOOK_FIELD,  /* a field one can type in */
    LOOK_FOCUS,  /* the field or row with the cursor */
    LOOK_GOOD,
    LOOK_WARN,
    LOOK_BAD,  /* emergency, forbidden */
    LOOK_BAR,  /* the context line */
    LOOK_KEYS, /* the key line */
    LOOK_COUNT
};

void draw_begin(void); /* start a frame: forget what was drawn; nothing reaches the terminal yet */
void draw_end(void);   /* send what differs, cursor where draw_cursor put it: one update */
void draw_cursor(int row, int col);
/* Columns used. What does not fit ends in an ellipsis ('~' in ASCII): nothing is read short. */
int draw_text(int row, int col, int width, enum look look, const char *text);
int draw_textf(int row, int col, int width, enum look look, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
void draw_right(int row, int right, int width, enum look look,
                const char *text); /* ends before `right` */
void draw_fill(int row, int col, int width, enum look look);
void draw_rule(int row, int col, int width); /* a thin line, '-' in ASCII */
/* Wrapped lines from `row` down, at most `most`; returns lines used. */
int draw_wrapped(int row, int col, int width, int most, enum look look, const char *text);
/* A blank box with a thin border and a title in it. */
void draw_box(int row, int col, int rows, int width, const char *title);
int draw_width(const char *text); /* columns it takes when drawn whole */
/* Where the line that starts at byte `from` ends when wrapped at `width` columns (at a blank if
 * there is one); *next is where the following one starts. */
size_t draw_break(const char *s, size_t from, int width, size_t *next);

#endif
