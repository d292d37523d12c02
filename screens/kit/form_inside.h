/* What the parts of the form widget share: form.c moves and keeps, form_field.c takes presses by
 * the kind of answer, form_draw.c draws, form_story.c tells and changes the past of an answer. */
#ifndef AMBLE_KIT_FORM_INSIDE_H
#define AMBLE_KIT_FORM_INSIDE_H

#include "screens/kit/form.h"

struct field {
    const struct form *form;
    const struct item *item;
    int label_width; /* columns */
    bool shown, required;
    bool drafted;        /* the draft table holds something for it */
    const char *pending; /* typed, and not kept because it could not be; NULL: nothing */
    const char *why;     /* words for that */
    bool looked;         /* for what was found before, told when before.text is there */
    struct form_before before;
};

enum { FORM_TYPED_ROOM = 32 };

struct form_view {
    struct app *app;
    struct arena *arena;   /* the screen's */
    struct arena *scratch; /* until the next press */
    struct arena *paper;   /* until the next frame, which may come in the middle of a press */
    struct chart *chart;
    struct field *fields;
    size_t count, at;
    struct line *lines;          /* room for what a frame shows; NULL before the first */
    struct editor editor;        /* of the focused field, when letters are its text */
    int pick;                    /* a choice taken and not yet kept; -1: none */
    char typed[FORM_TYPED_ROOM]; /* letters that lead to a choice */
    bool insisted;               /* leaving was refused once */
    bool unread;     /* a note just opened: one longer than its rows begins at its top */
    int top;         /* first line shown */
    int field_width; /* as last drawn */
    form_before_look *before;
    void (*saved)(void *of);
    void *of;
};

/* form.c */
struct field *form_focused(struct form_view *v); /* NULL: nothing is asked */
const struct finding *form_finding(const struct form_view *v, const struct field *field);
const char *form_answer(const struct form_view *v,
                        const struct field *field); /* canonical, or "" */
bool form_in_conflict(const struct form_view *v, const struct field *field);
bool form_edited(const struct item *item);   /* typed in the editor */
bool form_prose(const struct item *item);    /* and wrapped over rows */
void form_load_field(struct form_view *v);   /* what is kept, or pending, into the editor */
bool form_step(struct form_view *v, int by); /* move to the next one asked; false at the end */
/* Keep one answer: the reason is asked for where one is needed. */
bool form_write(struct form_view *v, struct field *field, const char *canonical, struct fault *f);

void form_forget_typed(struct form_view *v, struct field *field); /* pending and its draft */

/* form_field.c */
bool form_take(struct form_view *v, const struct press *p);

/* form_story.c */
void form_history(struct form_view *v);
void form_undo(struct form_view *v);
void form_strike(struct form_view *v);
bool form_settle(struct form_view *v); /* choose between values in conflict; true when settled */

#endif
