/* A form of a template over the record of a chart: the one widget behind Call, Dog, History,
 * Examination, Home, Practice.
 *
 * Each item is a row: mark, label, field; the focused row's help and source stand below. Typing
 * goes into the focused field; yes/no is answered by one key and moves on; a choice by its number,
 * its letters or Left/Right. Leaving a field saves it; what cannot be read stays typed, is marked
 * "!" with words below, and nothing is lost. Conditions are looked at again after each answer.
 */
#ifndef AMBLE_KIT_FORM_H
#define AMBLE_KIT_FORM_H

#include "casebook/casebook.h"
#include "screens/kit/editor.h"
#include "screens/kit/screen.h"

struct form_view;

/* `chart` and `form` outlive the view. More than one form can follow each other in one view (the
 * flags and the intake of a call). */
struct form_view *form_view_new(struct app *app, struct arena *a, struct chart *chart,
                                const struct form *const *forms, size_t count);
void form_view_free(struct form_view *v);
/* Rows `row` to row + rows - 1, columns col to col + width - 1. Places the cursor. */
void form_view_draw(struct form_view *v, int row, int col, int rows, int width);
/* True when taken. Keys of the form itself, for a screen's key table: Enter (keep, next), Up, Down,
 * Tab, Shift-Tab, Page Up and Down (keep, move), F2 history, ^R take back, ^E entered in error;
 * y n u in yes/no fields; Left, Right, digits, letters and Space in choices; Space and digits in
 * `many` fields; the editor's keys elsewhere. */
bool form_view_press(struct form_view *v, const struct press *p);
#define FORM_KEYS                                                                                  \
    {"^R", "take back", "Take back what is typed; else the last entry made here.", false},         \
    {                                                                                              \
        "^E", "in error", "Say that an answer was entered in error, and why.", false               \
    }
/* Save the focused field. False when it cannot be read or written: `f` names it, its text stays and
 * the reason stands with it. Asked once more with nothing changed it agrees: what was typed is then
 * a draft, not part of the record, and is offered again by the next view. */
bool form_view_leave(struct form_view *v, struct fault *f);
void form_view_draft(struct form_view *v);
void form_view_refresh(struct form_view *v);      /* the chart was read again */
bool form_view_typing(const struct form_view *v); /* letters are text in the focused field */
const struct item *form_view_item(const struct form_view *v); /* focused; NULL when none */
/* What was found before of a question: "last: scuffs both toes"; "visit 5, Mon 12 Oct 2026"; what
 * must be said of it, or "". */
struct form_before {
    const char *text, *where, *mark;
};
/* In c->arena, holding nothing that is elsewhere; false: it was never found. */
typedef bool form_before_look(const struct chart *c, const struct item *item,
                              struct form_before *out);
/* Tell that with the words about the focused question; NULL: of none. `look` is asked once for each
 * question reached, never while drawing. To be said again when the chart was read again. */
void form_view_before(struct form_view *v, form_before_look *look);
/* Called after each saved answer; may be NULL. */
void form_view_on_saved(struct form_view *v, void (*saved)(void *of), void *of);

#endif
