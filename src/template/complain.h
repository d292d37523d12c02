/* What is wrong with the templates, gathered over all files before anything is said. */
#ifndef AMBLE_TEMPLATE_COMPLAIN_H
#define AMBLE_TEMPLATE_COMPLAIN_H

#include "template/template.h"

struct arena;

struct complaint {
    struct mark mark;
    const char *text;
    size_t order; /* as it was found, for what stands at the same place */
};

struct complaints {
    struct arena *arena; /* where the words live */
    struct complaint *list;
    size_t kept, cap;
    size_t count; /* also those beyond COMPLAINTS_KEPT */
};

enum { COMPLAINTS_KEPT = 200, COMPLAINTS_SAID = 20 };

/* A mark without a line (0) belongs to a whole file: no position is said. */
void complain(struct complaints *c, struct mark at, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* No more words are kept; only their number grows. */
bool complaints_full(const struct complaints *c);
/* The first COMPLAINTS_SAID in the order of files and lines, then "and N more". */
void complaints_say(struct complaints *c, struct template_report *report);

/* `s` for a message: one line, at most 40 characters, nothing that acts on a terminal. */
const char *quoted(struct arena *a, const char *s);

#endif
