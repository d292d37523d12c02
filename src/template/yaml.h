/* One YAML file as a small tree of nodes that know where they stand.
 *
 * The part of YAML a person needs to fill in a form: mappings, lists and text. Aliases, anchors,
 * tags, merge keys and second documents are refused, and so is what would cost more time or memory
 * than a template ever needs. What a scalar means ("no", 08, 12:30) is for the schema to say; here
 * it is text.
 */
#ifndef AMBLE_TEMPLATE_YAML_H
#define AMBLE_TEMPLATE_YAML_H

#include "template/complain.h"

enum {
    YAML_FILE_MOST = 1024 * 1024, /* bytes of a file */
    YAML_SCALAR_MOST = 8 * 1024,  /* bytes of one text */
    YAML_DEPTH_MOST = 24,         /* structures inside one another */
    YAML_NODES_MOST = 20000,      /* nodes of a file */
    YAML_CHILDREN_MOST = 1000,    /* of one list or mapping */
};

enum node_kind { NODE_SCALAR, NODE_LIST, NODE_MAP };

struct node {
    enum node_kind kind;
    struct mark mark;
    const char *text; /* NODE_SCALAR: the text; else "" */
    bool plain;       /* NODE_SCALAR: written without quotes, on its own */
    const char *key;  /* its key in the mapping that holds it; NULL elsewhere */
    struct mark key_mark;
    struct node *first; /* NODE_LIST, NODE_MAP: its children, linked by `next` */
    struct node *next;
    size_t count; /* of the children */
};

/* Build the tree of one file in `a`. `file` is kept by reference. NULL when the file cannot be read
 * any further; duplicate keys are complained of and left out, and the tree comes back. */
struct node *yaml_tree(struct arena *a, const char *file, const char *bytes, size_t size,
                       struct complaints *complaints);
/* The value of a key, or NULL. */
const struct node *node_get(const struct node *map, const char *key);
/* A node with all below it, in another arena. */
struct node *node_copy(struct arena *a, const struct node *n);
/* "a list", "a mapping", "text": what stands there. */
const char *node_word(const struct node *n);

#endif
