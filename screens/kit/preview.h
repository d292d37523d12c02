/* A sheet on the screen, as it will be printed. */
#ifndef AMBLE_KIT_PREVIEW_H
#define AMBLE_KIT_PREVIEW_H

#include "output/sheet.h"
#include "screens/kit/screen.h"

struct preview {
    const char *const *lines;
    size_t count, top, pages;
};

/* In `a`, with as many lines to a page as the practice's paper has. What was being read stays. */
void preview_render(struct preview *p, struct arena *a, const struct casebook *cb,
                    const struct sheet *sheet);
void preview_draw(const struct preview *p);
bool preview_press(struct preview *p, const struct press *k);
/* A screen of its own; `sheet` outlives it. `name` as print_ask takes it. */
void preview_open(struct app *app, const struct sheet *sheet, const char *name);

#endif
