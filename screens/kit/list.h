/* A list one moves through: keeps the selected row in view, draws through a callback. */
#ifndef AMBLE_KIT_LIST_H
#define AMBLE_KIT_LIST_H

#include "screens/kit/draw.h"
#include "screens/kit/term.h"

struct list {
    size_t count, at, top;
};
/* Up, Down, Page, Home, End; true when taken. `page` is the rows it is drawn in. */
bool list_press(struct list *l, const struct press *p, int page);
/* A text that is read on: `*top` is the first of its `lines` shown, `page` the rows it has. The
 * same keys, and Enter for one line more. */
bool list_read_on(size_t *top, size_t lines, const struct press *p, int page);
/* Call draw for each visible row; places the cursor on the selected one at column `col`. */
void list_draw(struct list *l, int row, int rows, int col,
               void (*draw)(void *of, size_t index, int row, bool focus), void *of);

#endif
