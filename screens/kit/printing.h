/* Printing and saving a sheet: asked the same way from every screen that has one. */
#ifndef AMBLE_KIT_PRINTING_H
#define AMBLE_KIT_PRINTING_H

#include "output/sheet.h"
#include "screens/kit/screen.h"

/* Ask "print, save or look", do it, say what came of it. `name` is the start of the file's name;
 * `sheet` outlives the preview, which is a screen of its own. */
void print_ask(struct app *app, struct arena *a, const struct sheet *sheet, const char *name);
/* One key, no question: to the printer, or, when there is none, into a new file of the home folder.
 */
void print_at_once(struct app *app, struct arena *a, const struct sheet *sheet, const char *name);
void print_to_printer(struct app *app, const struct sheet *sheet, const char *title);
void print_to_file(struct app *app, struct arena *a, const struct sheet *sheet, const char *name);

#endif
