/* What the parts of the loader share while one set is being read. Nothing of it outlives the load
 * except what stands in `set` and its arena. */
#ifndef AMBLE_TEMPLATE_LOADING_H
#define AMBLE_TEMPLATE_LOADING_H

#include "template/yaml.h"

/* A list that grows in the set's arena. */
struct growing {
    void *items;
    size_t count, cap;
};

/* Something named in a file that another file may declare: looked up when all have been read. */
enum reference_kind { TO_SUPPORT, TO_MEASURE, TO_BODY_TYPE, TO_CHECKLIST, TO_ITEM, TO_SCORE };

struct reference {
    enum reference_kind kind;
    struct mark mark;
    const char *name;
    void *target; /* a pointer to the found structure is stored here; NULL: only checked */
};

/* A leaf of a condition, waiting to learn what its item is. */
struct leaf {
    struct condition *condition;
    const struct node *item, *test; /* the name, and the value asked for (keyed by the test) */
    unsigned kinds;                 /* of items that can be asked this, a bit each */
};

struct loading {
    struct arena *arena;   /* the set's */
    struct arena *scratch; /* references, leaves, complaints */
    struct arena *tree;    /* of one file: forgotten before the next */
    struct template_set *set;
    struct complaints complaints;
    struct growing forms;     /* struct form */
    struct growing additions; /* struct addition: items for a form of another file */
    struct growing checklists, handouts, languages;
    struct growing references, leaves; /* in scratch */
};

struct addition {
    const char *to;
    struct mark mark;
    const struct item *items;
    size_t item_count;
};

/* Room for one more: a zeroed element of `size` bytes at the end of the list. */
void *growing_add(struct arena *a, struct growing *list, size_t size);

/* conditions.c */
void condition_read(struct loading *l, const struct node *n, struct condition *out);
void conditions_resolve(struct loading *l);

/* resolve.c: whatever can only be known when every file has been read. */
void loading_resolve(struct loading *l);
/* The text of a handout: known placeholders only, every brace closed. */
void placeholders_check(struct loading *l, struct mark at, const char *text);

/* Names for "did you mean": a list of text in scratch. */
struct names {
    const char **list;
    size_t count, cap;
};
void names_add(struct loading *l, struct names *names, const char *name);
/* "; did you mean "x"?" or "", in scratch. */
const char *names_hint(struct loading *l, const struct names *names, const char *word);
/* The same; with nothing near, "; it can be x, y" where there are but few. */
const char *names_told(struct loading *l, const struct names *names, const char *word);

#endif
