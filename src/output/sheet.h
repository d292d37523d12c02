/* A printed page: lines of at most 80 columns, headings kept with what follows, a footer and a form
 * feed after each page. Nothing from a record can reach the printer as a control character. */
#ifndef AMBLE_OUTPUT_SHEET_H
#define AMBLE_OUTPUT_SHEET_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

struct arena;
struct text;

enum sheet_line {
    SHEET_TITLE,   /* centred, once */
    SHEET_HEADING, /* a blank line before; never the last line of a page */
    SHEET_TEXT,    /* a paragraph, wrapped */
    SHEET_BULLET,  /* "- " and a hanging indent */
    SHEET_UNDER,   /* wrapped, belongs to the bullet above */
    SHEET_BOX,     /* "[ ] " to tick on paper */
    SHEET_PLAIN,   /* as it is, cut at 80 columns: drawings and tables */
    SHEET_BLANK,
};

struct sheet;
struct sheet *sheet_new(struct arena *a, const char *footer);
void sheet_add(struct sheet *s, enum sheet_line kind, const char *text);
void sheet_addf(struct sheet *s, enum sheet_line kind, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Large type: half as many columns and lines, each letter twice as wide and high (print_job tells
 * lp so). */
void sheet_enlarge(struct sheet *s);
bool sheet_large(const struct sheet *s);
/* The words of the page number, "page" and "of" when they were never given. */
void sheet_page_words(struct sheet *s, const char *page, const char *of);

struct sheet_style {
    int columns;     /* 80 */
    int lines;       /* on a page, 60; 0: one endless page without footers (screen preview, pipe) */
    bool ascii;      /* map to ASCII; what could not be mapped is counted */
    bool form_feeds; /* after each page */
};
/* Render. `*unmapped` (may be NULL) counts characters that became '?'. `*pages` too. */
void sheet_render(const struct sheet *s, const struct sheet_style *style, struct text *out,
                  size_t *pages, size_t *unmapped);

#endif
