/* A page: what every screen about one chart has in common. The chart is read into an arena of its
 * own, and into another whenever it is read again. */
#ifndef AMBLE_SCREENS_PAGE_H
#define AMBLE_SCREENS_PAGE_H

#include "screens/kit/form.h"
#include "screens/kit/screen.h"

struct page {
    struct chart chart;
    struct arena *data; /* the chart and what was worked out from it */
    const char *entity; /* what it was opened for, in the screen's arena */
};

/* Read the chart of `entity` and set the context line of the screen from it. */
bool page_load(struct page *p, struct screen *s, const char *entity, struct fault *f);
/* Read it again; on failure the message says why and the one read before stays on the screen. */
bool page_reload(struct page *p, struct screen *s);
void page_close(struct page *p);

/* "Biscuit  Dachshund, 6 y, 9.4 kg" and "visit 2, Tue 24 Nov", in the page's arena. */
const char *page_subject(struct page *p);
const char *page_visit(struct page *p);

#endif
