/* A build sheet as JSON, and back: what was frozen is read as it was written. */
#include "base/json.h"
#include "calc/key.h"
#include "casebook/build.h"
#include "casebook/fit_inside.h"
#include "template/yaml.h"
#include <math.h>
#include <string.h>

/* Plain members: name in JSON, member. One table writes and reads them. */
#define BUILD_TEXTS(X)                                                                             \
    X(day)                                                                                         \
    X(by)                                                                                          \
    X(dog)                                                                                         \
    X(visit_day)                                                                                   \
    X(support)                                                                                     \
    X(frame_id)                                                                                    \
    X(frame)                                                                                       \
    X(model)                                                                                       \
    X(folds)                                                                                       \
    X(photo)                                                                                       \
    X(movement)
#define BUILD_NUMBERS(X)                                                                           \
    X(withers_mm)                                                                                  \
    X(normal_n)                                                                                    \
    X(axle_mm)                                                                                     \
    X(ahead_mm)                                                                                    \
    X(wheel_mm)                                                                                    \
    X(track_mm)                                                                                    \
    X(front_axle_mm)                                                                               \
    X(width_mm)                                                                                    \
    X(length_mm)                                                                                   \
    X(height_mm)                                                                                   \
    X(mass_kg)
#define BUILD_LISTS(X)                                                                             \
    X(accessories)                                                                                 \
    X(contacts)                                                                                    \
    X(overridden)                                                                                  \
    X(ahead)                                                                                       \
    X(changes)
#define DIMENSION_TEXTS(X)                                                                         \
    X(id)                                                                                          \
    X(label)                                                                                       \
    X(errs)                                                                                        \
    X(from)                                                                                        \
    X(note)                                                                                        \
    X(source)
#define DIMENSION_NUMBERS(X)                                                                       \
    X(build_mm)                                                                                    \
    X(snug_mm)                                                                                     \
    X(ease_mm)                                                                                     \
    X(made_within_mm)                                                                              \
    X(measures_within_mm)
#define NUMBER_TEXTS(X)                                                                            \
    X(label)                                                                                       \
    X(value)                                                                                       \
    X(within)                                                                                      \
    X(more)

/* ---- writing --------------------------------------------------------------------------------- */

static void put_number(struct json *j, const char *key, double value)
{
    json_key(j, key);
    json_put_number(j, value);
}

static void put_list(struct json *j, const char *key, const struct build_lines *l)
{
    json_key(j, key);
    json_open_array(j);
    for (size_t i = 0; i < l->count; i++)
        json_put_string(j, l->lines[i]);
    json_end(j);
}

static void put_keys(struct json *j, const char *name, const struct calc_key *keys, size_t count,
                     const void *of)
{
    json_key(j, name);
    json_open_object(j);
    for (size_t i = 0; i < count; i++)
        put_number(j, keys[i].name, calc_get(&keys[i], of));
    json_end(j);
}

static void put_dimension(struct json *j, const struct build_dimension *d)
{
#define X(member) json_member(j, #member, d->member);
    DIMENSION_TEXTS(X)
#undef X
#define X(member) put_number(j, #member, d->member);
    DIMENSION_NUMBERS(X)
#undef X
    json_key(j, "fixed");
    json_put_bool(j, d->fixed);
}

void build_json(const struct build *b, struct text *out)
{
    struct json j;
    json_begin(&j, out, 1);
    json_open_object(&j);
    json_member(&j, "kind", "amble build sheet");
    put_number(&j, "version", b->version);
#define X(member) json_member(&j, #member, b->member);
    BUILD_TEXTS(X)
#undef X
#define X(member) put_number(&j, #member, b->member);
    BUILD_NUMBERS(X)
#undef X
    json_key(&j, "dimensions");
    json_open_array(&j);
    for (size_t i = 0; i < b->dimension_count; i++) {
        json_open_object(&j);
        put_dimension(&j, &b->dimensions[i]);
        json_end(&j);
    }
    json_end(&j);
    json_key(&j, "numbers");
    json_open_array(&j);
    for (size_t i = 0; i < b->number_count; i++) {
        json_open_object(&j);
#define X(member) json_member(&j, #member, b->numbers[i].member);
        NUMBER_TEXTS(X)
#undef X
        json_end(&j);
    }
    json_end(&j);
#define X(member) put_list(&j, #member "_lines", &b->member);
    BUILD_LISTS(X)
#undef X
    put_keys(&j, "balance_in", balance_keys_in, balance_keys_in_count, &b->in);
    put_keys(&j, "balance_out", balance_keys_out, balance_keys_out_count, &b->out);
    json_end(&j);
    (void)json_done(&j);
}

/* ---- reading --------------------------------------------------------------------------------- */

static const char *get_text(const struct node *of, const char *key, struct arena *a)
{
    const struct node *n = of == NULL ? NULL : node_get(of, key);
    return arena_str(a, n != NULL ? n->text : "");
}

static double get_number(const struct node *of, const char *key)
{
    const struct node *n = of == NULL ? NULL : node_get(of, key);
    double value;
    return n != NULL && number_lead(n->text, &value) ? value : NAN;
}

static const struct node *first_of(const struct node *of, const char *key, size_t *count)
{
    const struct node *list = node_get(of, key);
    *count = list != NULL ? list->count : 0;
    return list != NULL ? list->first : NULL;
}

static struct build_lines get_list(const struct node *of, const char *key, struct arena *a)
{
    size_t count, i = 0;
    const struct node *n = first_of(of, key, &count);
    const char **lines = arena_array(a, count, sizeof *lines);
    for (; n != NULL; n = n->next)
        lines[i++] = arena_str(a, n->text);
    return (struct build_lines){lines, count};
}

static void get_keys(const struct node *of, const char *name, const struct calc_key *keys,
                     size_t count, void *to)
{
    for (size_t i = 0; i < count; i++)
        calc_put(&keys[i], to, get_number(node_get(of, name), keys[i].name));
}

static void get_dimensions(const struct node *of, struct arena *a, struct build *out)
{
    size_t i = 0;
    const struct node *d = first_of(of, "dimensions", &out->dimension_count);
    struct build_dimension *rows = arena_array(a, out->dimension_count, sizeof *rows);
    for (; d != NULL; d = d->next, i++) {
#define X(member) rows[i].member = get_text(d, #member, a);
        DIMENSION_TEXTS(X)
#undef X
#define X(member) rows[i].member = get_number(d, #member);
        DIMENSION_NUMBERS(X)
#undef X
        rows[i].fixed = strcmp(get_text(d, "fixed", a), "true") == 0;
    }
    out->dimensions = rows;
}

static void get_numbers(const struct node *of, struct arena *a, struct build *out)
{
    size_t i = 0;
    const struct node *n = first_of(of, "numbers", &out->number_count);
    struct build_number *rows = arena_array(a, out->number_count, sizeof *rows);
    for (; n != NULL; n = n->next, i++) {
#define X(member) rows[i].member = get_text(n, #member, a);
        NUMBER_TEXTS(X)
#undef X
    }
    out->numbers = rows;
}

/* Every JSON text is a YAML one, and the reader of templates is strict. */
bool build_read(const char *json, struct arena *a, struct build *out, struct fault *f)
{
    struct arena *scratch = arena_new();
    struct complaints complaints = {.arena = scratch};
    const struct node *root = yaml_tree(scratch, "build sheet", json, strlen(json), &complaints);
    bool is = root != NULL && root->kind == NODE_MAP && complaints.count == 0 &&
              strcmp(get_text(root, "kind", scratch), "amble build sheet") == 0;
    *out = (struct build){0};
    if (!is) {
        arena_free(scratch);
        return fail(f, FAULT_DAMAGE, "what was frozen cannot be read as a build sheet");
    }
    double version = get_number(root, "version");
    out->version = version >= 1 && version < 1e6 ? (int)version : 1;
#define X(member) out->member = get_text(root, #member, a);
    BUILD_TEXTS(X)
#undef X
#define X(member) out->member = get_number(root, #member);
    BUILD_NUMBERS(X)
#undef X
    get_dimensions(root, a, out);
    get_numbers(root, a, out);
#define X(member) out->member = get_list(root, #member "_lines", a);
    BUILD_LISTS(X)
#undef X
    get_keys(root, "balance_in", balance_keys_in, balance_keys_in_count, &out->in);
    get_keys(root, "balance_out", balance_keys_out, balance_keys_out_count, &out->out);
    arena_free(scratch);
    return true;
}
