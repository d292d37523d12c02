/* One line of text being typed: UTF-8 bytes, a cursor that moves by cluster, horizontal scroll. */
#ifndef AMBLE_KIT_EDITOR_H
#define AMBLE_KIT_EDITOR_H

#include "base/text.h"
#include "screens/kit/draw.h"
#include "screens/kit/term.h"

struct editor {
    struct text text; /* .locked set after editor_init: a passphrase, which is never drawn */
    size_t at;        /* cursor, a cluster boundary */
    size_t from;      /* first byte shown, of the text as it is shown */
    bool touched;     /* typed in since editor_set */
    bool whole;       /* the text is taken as selected: the first character typed replaces it */
};
void editor_init(struct editor *e, size_t max_bytes);
void editor_free(struct editor *e);
void editor_set(struct editor *e, const char *text); /* cursor at the end, untouched, whole */
/* True when the press was taken: characters, paste (newlines become blanks), Left, Right, Home,
 * End, Backspace, Delete, ^A ^E ^K ^U ^W. */
bool editor_press(struct editor *e, const struct press *p);
void editor_draw(struct editor *e, int row, int col, int width, bool focus);

/* The same text wrapped over rows: for notes. Lines it takes at this width, at least one. */
int editor_lines(const struct editor *e, int width);
void editor_draw_lines(struct editor *e, int row, int col, int width, int rows, bool focus);
/* The cursor one line up (-1) or down (+1); false when it stands in the first or last. */
bool editor_line_move(struct editor *e, int width, int by);

#endif
