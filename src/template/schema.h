/* The keys of every file as tables: one `struct schema` for each structure of template.h, one row
 * for each key. The walker fills a structure from a node by its table; the tables of
 * amble-templates(5) are these tables. */
#ifndef AMBLE_TEMPLATE_SCHEMA_H
#define AMBLE_TEMPLATE_SCHEMA_H

#include "template/loading.h"

/* Type: id in C, what the manual and the messages call it. */
#define FIELD_TYPES(X)                                                                             \
    X(ID, "a name of small letters, digits and _")                                                 \
    X(DOTTED, "a name of small letters, digits, dots and _")                                       \
    X(LINE, "one line of text")                                                                    \
    X(TEXT, "text")                                                                                \
    X(YESNO, "yes or no")                                                                          \
    X(WHOLE, "a whole number")                                                                     \
    X(NUMBER, "a number")                                                                          \
    X(SHARE, "a share such as 0.6 or 60 %")                                                        \
    X(WORD, "one of the words")                                                                    \
    X(UNIT, "a unit such as mm, kg or degC")                                                       \
    X(QUANTITY, "a number with its unit")                                                          \
    X(RANGE, "two numbers such as [1, 9], the lower first")                                        \
    X(CHOICES, "a list of choices")                                                                \
    X(CONDITION, "a condition")                                                                    \
    X(IDS, "a list of names")                                                                      \
    X(REF, "the name of something declared elsewhere")                                             \
    X(REFS, "a list of names declared elsewhere")                                                  \
    X(LIST, "a list")

enum field_type {
#define X(id, told) FIELD_##id,
    FIELD_TYPES(X)
#undef X
        FIELD_TYPE_COUNT
};

struct word {
    const char *name; /* NULL ends the list */
    int value;
};

struct field {
    const char *key;
    enum field_type type;
    enum reference_kind to;   /* REF, REFS, IDS when checked */
    size_t offset;            /* of the member; RANGE: of the lower, the upper follows it */
    size_t count_offset;      /* IDS, REFS, CHOICES, LIST: of the count beside it */
    double low, high;         /* WHOLE, NUMBER, SHARE: outside is refused */
    const struct word *words; /* WORD */
    const struct schema *of;  /* LIST, CHOICES */
    const char *unique;       /* LIST, CHOICES: the key whose values must differ, or NULL */
    const char *help;         /* for the manual */
    bool required;            /* must be there, and not empty */
    bool checked;             /* IDS: each is looked up as `to` */
};

struct schema {
    const char *name; /* "item": in the manual and in messages */
    const struct field *fields;
    size_t field_count;
    size_t size;           /* of the structure */
    const char *short_key; /* plain text in place of the mapping is this key's value, or NULL */
    size_t mark_offset;    /* of the structure's mark; 0: it has none */
    /* The unit of numbers written without one; NULL: numbers have none. Fields that it reads must
     * stand above those that need it. */
    const struct unit *(*unit_of)(const void *owner);
    /* Checks within the structure, and defaults, after its keys have been read. */
    void (*finish)(struct loading *l, const struct node *n, void *owner);
};

/* A kind of file. */
struct file_kind {
    const char *path;   /* "measures.yaml", or a folder with what is in it: "forms/NAME.yaml" */
    const char *folder; /* "forms", or NULL */
    bool required;
    const struct schema *schema;
    size_t offset; /* single files: what they fill, in struct template_set */
    const char *help;
};
const struct file_kind *file_kinds(size_t *count);
/* Every structure, in the order of the manual. */
const struct schema *const *schemas(size_t *count);
const char *field_type_told(enum field_type t);

/* Fill `owner` from `n`. What is wrong goes to l->complaints. */
void schema_read(struct loading *l, const struct schema *s, const struct node *n, void *owner);

#endif
