/* The visit: its sections in order, and how one walks from one to the next. */
#ifndef AMBLE_SCREENS_VISIT_H
#define AMBLE_SCREENS_VISIT_H

#include "screens/page.h"

struct section {
    const char *title;
    const struct form *form;                              /* a form of the template, or NULL */
    struct section_state (*state)(const struct chart *c); /* when there is no form */
    void (*open)(struct app *app, const char *visit, size_t index);
    const char *begins; /* without a form: how the items that it keeps begin; NULL: none */
};

/* The sections of a visit as the templates make them; in `a`. A review begins with what happened
 * since last time. */
struct section *visit_sections(const struct chart *c, struct arena *a, size_t *count);

/* State that every section's screen starts with. */
struct section_page {
    struct page page;
    size_t index; /* of the section within the visit */
};
/* Open a section's screen: `size` bytes of state that begin with a section_page. */
void section_screen(struct app *app, const struct screen_class *class, const char *visit,
                    size_t index, size_t size);
/* ^N, ^T: the next and the previous section. True when the press was one of them; the screen is
 * then gone, unless it would not be left. */
bool section_press(struct screen *s, const struct press *p);

void form_section_open(struct app *app, const char *visit, size_t index);
void measures_open(struct app *app, const char *visit, size_t index);
void support_open(struct app *app, const char *visit, size_t index);
void fit_open(struct app *app, const char *visit, size_t index);
void teaching_open(struct app *app, const char *visit, size_t index);
void review_open(struct app *app, const char *visit, size_t index);
void accessories_open(struct app *app, const char *visit, size_t index);
void handout_open(struct app *app, const char *visit, size_t index);

#define SECTION_KEYS                                                                               \
    {"^N", "next section", "Leave this section for the next one.", true},                          \
    {                                                                                              \
        "^T", "section before", "Leave this section for the one before.", false                    \
    }

#endif
