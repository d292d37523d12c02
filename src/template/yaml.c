#include "template/yaml.h"
#include "base/arena.h"
#include "base/utf8.h"
#include <string.h>
#include <yaml.h>

/* A structure that is still open while the events come in. */
struct open_node {
    struct node *node;
    struct node *last;
    const char *key; /* NODE_MAP: a key waits for its value */
    struct mark key_mark;
    bool skip_value; /* the key was a duplicate: its value is read and left out */
};

struct builder {
    struct arena *arena;
    const char *file;
    const char *bytes;
    size_t size;
    struct complaints *complaints;
    struct open_node open[YAML_DEPTH_MOST];
    int depth;
    size_t nodes;
    struct node *root;
};

static struct mark mark_of(const struct builder *b, yaml_mark_t m)
{
    return (struct mark){b->file, (int)m.line + 1, (int)m.column + 1};
}

static bool refuse(struct builder *b, struct mark at, const char *why)
{
    complain(b->complaints, at, "%s", why);
    return false;
}

/* ---- before the parser: well-formed UTF-8 and nothing that acts on a terminal ------------- */

static bool allowed(uint32_t cp)
{
    if (cp < 0x20)
        return cp == '\t' || cp == '\n' || cp == '\r';
    return (cp < 0x7f || cp > 0x9f) && cp != 0xfeff && cp != 0xfffe && cp != 0xffff;
}

/* libyaml gives no line for bytes it cannot read, hence a walk of our own. */
static bool check_bytes(struct builder *b)
{
    struct mark at = {b->file, 1, 1};
    for (size_t i = 0; i < b->size;) {
        uint32_t cp;
        int n = utf8_decode(b->bytes + i, b->size - i, &cp);
        if (n == 0) { /* a NUL, which ends a text and is a character of a file */
            n = 1;
            cp = 0;
        }
        if (n < 0) {
            complain(b->complaints, at, "byte 0x%02X is not UTF-8; save the file as UTF-8",
                     (unsigned char)b->bytes[i]);
            return false;
        }
        if (!allowed(cp)) {
            complain(b->complaints, at, "control character U+%04X is not allowed", (unsigned)cp);
            return false;
        }
        i += (size_t)n;
        bool ends_line = cp == '\n' || (cp == '\r' && (i == b->size || b->bytes[i] != '\n'));
        at.line += ends_line;
        at.column = ends_line ? 1 : at.column + 1;
    }
    return true;
}

/* ---- what libyaml says, in words for the person who wrote the file ------------------------ */

static const struct {
    const char *said, *told;
} problems[] = {
    {"mapping values are not allowed in this context",
     "a second \": \" in one line; put quotes round text that holds a colon"},
    {"found character that cannot start any token",
     "this character cannot begin a value; indent with blanks, and put quotes round the text"},
    {"found a tab character that violates indentation", "a tab cannot indent; use blanks"},
    {"did not find expected key", "a key is expected here; look at the indentation and the quotes"},
    {"did not find expected '-' indicator", "a \"- \" is expected here; look at the indentation"},
    {"could not find expected ':'", "\": \" is missing after the key"},
    {"found unexpected end of stream", "the file ends inside quotes"},
    {"did not find expected ',' or ']'", "\",\" or \"]\" is expected here"},
    {"did not find expected ',' or '}'", "\",\" or \"}\" is expected here"},
    {"found unknown escape character", "\"\\\" stands before a character it does not go with; "
                                       "use single quotes"},
    {"block sequence entries are not allowed in this context", "a list cannot begin here"},
};

static bool refuse_problem(struct builder *b, const yaml_parser_t *p)
{
    const char *said = p->problem != NULL ? p->problem : "cannot be read as YAML";
    for (size_t i = 0; i < sizeof problems / sizeof *problems; i++)
        if (strcmp(said, problems[i].said) == 0)
            return refuse(b, mark_of(b, p->problem_mark), problems[i].told);
    complain(b->complaints, mark_of(b, p->problem_mark), "cannot be read as YAML: %s", said);
    return false;
}

/* ---- the tree ----------------------------------------------------------------------------- */

const struct node *node_get(const struct node *map, const char *key)
{
    if (map->kind != NODE_MAP)
        return NULL;
    for (const struct node *n = map->first; n != NULL; n = n->next)
        if (strcmp(n->key, key) == 0)
            return n;
    return NULL;
}

struct node *node_copy(struct arena *a, const struct node *n)
{
    struct node *copy = arena_alloc(a, sizeof *copy);
    *copy = *n;
    copy->text = arena_str(a, n->text);
    copy->key = n->key == NULL ? NULL : arena_str(a, n->key);
    copy->next = NULL;
    struct node **end = &copy->first;
    for (const struct node *child = n->first; child != NULL; child = child->next) {
        *end = node_copy(a, child);
        end = &(*end)->next;
    }
    return copy;
}

const char *node_word(const struct node *n)
{
    static const char *const words[] = {"text", "a list", "a mapping"};
    return words[n->kind];
}

/* Hang a new node into what is open. */
static struct node *hang(struct builder *b, enum node_kind kind, struct mark at)
{
    if (++b->nodes > YAML_NODES_MOST) {
        complain(b->complaints, at, "the file holds more than %d values", YAML_NODES_MOST);
        return NULL;
    }
    struct node *n = arena_alloc(b->arena, sizeof *n);
    *n = (struct node){.kind = kind, .mark = at, .text = ""};
    if (b->depth == 0) {
        b->root = n;
        return n;
    }
    struct open_node *in = &b->open[b->depth - 1];
    n->key = in->key;
    n->key_mark = in->key_mark;
    in->key = NULL;
    if (in->skip_value) {
        in->skip_value = false;
        return n;
    }
    if (in->node->count == YAML_CHILDREN_MOST) {
        complain(b->complaints, at, "%s of more than %d values", node_word(in->node),
                 YAML_CHILDREN_MOST);
        return NULL;
    }
    if (in->last == NULL)
        in->node->first = n;
    else
        in->last->next = n;
    in->last = n;
    in->node->count++;
    return n;
}

static bool waits_for_key(const struct builder *b)
{
    return b->depth > 0 && b->open[b->depth - 1].node->kind == NODE_MAP &&
           b->open[b->depth - 1].key == NULL;
}

static bool take_key(struct builder *b, const char *text, bool plain, struct mark at)
{
    struct open_node *in = &b->open[b->depth - 1];
    if (plain && strcmp(text, "<<") == 0)
        return refuse(b, at, "merge keys (<<) are not allowed; write the keys out");
    if (*text == '\0')
        return refuse(b, at, "a key is missing before \":\"");
    const struct node *twin = node_get(in->node, text);
    if (twin != NULL) {
        complain(b->complaints, at, "duplicate key %s, first at line %d",
                 quoted(b->complaints->arena, text), twin->key_mark.line);
        in->skip_value = true;
    }
    in->key = text;
    in->key_mark = at;
    return true;
}

static bool take_scalar(struct builder *b, const yaml_event_t *e)
{
    struct mark at = mark_of(b, e->start_mark);
    const char *value = (const char *)e->data.scalar.value;
    size_t length = e->data.scalar.length;
    if (e->data.scalar.tag != NULL)
        return refuse(b, at, "tags (!) are not allowed; put quotes round text that begins with !");
    if (e->data.scalar.anchor != NULL)
        return refuse(b, at,
                      "anchors (&) are not allowed; put quotes round text that begins with &");
    if (length > YAML_SCALAR_MOST) {
        complain(b->complaints, at, "a text of %zu bytes; at most %d are allowed", length,
                 YAML_SCALAR_MOST);
        return false;
    }
    char *text = arena_strn(b->arena, value, length);
    if (strlen(text) != length || !utf8_plain(text, true))
        return refuse(b, at, "control characters are not allowed in a text");
    bool plain = e->data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
    if (waits_for_key(b))
        return take_key(b, text, plain, at);
    struct node *n = hang(b, NODE_SCALAR, at);
    if (n == NULL)
        return false;
    n->text = text;
    n->plain = plain;
    return true;
}

static bool take_start(struct builder *b, enum node_kind kind, const yaml_char_t *anchor,
                       const yaml_char_t *tag, struct mark at)
{
    if (tag != NULL)
        return refuse(b, at, "tags (!) are not allowed");
    if (anchor != NULL)
        return refuse(b, at, "anchors (&) are not allowed; write the value out");
    if (waits_for_key(b))
        return refuse(b, at, "a key must be a word, not a list or a mapping");
    if (b->depth == YAML_DEPTH_MOST) {
        complain(b->complaints, at, "more than %d structures inside one another", YAML_DEPTH_MOST);
        return false;
    }
    struct node *n = hang(b, kind, at);
    if (n == NULL)
        return false;
    b->open[b->depth++] = (struct open_node){.node = n};
    return true;
}

/* One event; false ends the reading. */
static bool take(struct builder *b, const yaml_event_t *e)
{
    struct mark at = mark_of(b, e->start_mark);
    switch (e->type) {
    case YAML_DOCUMENT_START_EVENT:
        if (b->root != NULL)
            return refuse(b, at, "a second document (---) is not allowed");
        return true;
    case YAML_ALIAS_EVENT:
        return refuse(b, at,
                      "aliases (*) are not allowed; put quotes round text that begins with *");
    case YAML_SCALAR_EVENT:
        return take_scalar(b, e);
    case YAML_SEQUENCE_START_EVENT:
        return take_start(b, NODE_LIST, e->data.sequence_start.anchor, e->data.sequence_start.tag,
                          at);
    case YAML_MAPPING_START_EVENT:
        return take_start(b, NODE_MAP, e->data.mapping_start.anchor, e->data.mapping_start.tag, at);
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT:
        b->depth -= b->depth > 0; /* libyaml balances starts and ends */
        return true;
    default:
        return true;
    }
}

static bool take_all(struct builder *b, yaml_parser_t *parser)
{
    yaml_event_t event;
    bool going = true;
    bool ended = false;
    while (going && !ended) {
        if (!yaml_parser_parse(parser, &event))
            return refuse_problem(b, parser);
        going = take(b, &event);
        ended = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    return going;
}

struct node *yaml_tree(struct arena *a, const char *file, const char *bytes, size_t size,
                       struct complaints *complaints)
{
    struct builder b = {.arena = a, .file = file, .complaints = complaints};
    struct mark whole = {file, 0, 0};
    if (size > YAML_FILE_MOST) {
        complain(complaints, whole, "the file is larger than 1 MiB");
        return NULL;
    }
    size_t bom = size >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    b.bytes = bytes + bom;
    b.size = size - bom;
    if (!check_bytes(&b))
        return NULL;
    yaml_parser_t parser;
    if (!yaml_parser_initialize(&parser)) {
        complain(complaints, whole, "no memory left to read the file");
        return NULL;
    }
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, (const unsigned char *)b.bytes, b.size);
    bool read = take_all(&b, &parser);
    yaml_parser_delete(&parser);
    if (read && b.root == NULL)
        complain(complaints, whole, "the file is empty");
    return read ? b.root : NULL;
}
