/* From files in memory to a set that is whole. */
#include "template/load.h"
#include "base/arena.h"
#include "base/text.h"
#include "template/schema.h"
#include <string.h>

void *growing_add(struct arena *a, struct growing *list, size_t size)
{
    list->items = arena_grow(a, list->items, list->count, &list->cap, size);
    char *one = (char *)list->items + list->count++ * size;
    memset(one, 0, size);
    return one;
}

static int slashes(const char *path)
{
    int n = 0;
    for (; *path != '\0'; path++)
        n += *path == '/';
    return n;
}

static bool in_folder(const struct file_kind *kind, const char *path)
{
    size_t n = kind->folder == NULL ? 0 : strlen(kind->folder);
    return n > 0 && strncmp(path, kind->folder, n) == 0 && path[n] == '/';
}

static bool belongs(const struct file_kind *kind, const char *path)
{
    if (kind->folder == NULL)
        return strcmp(kind->path, path) == 0;
    return in_folder(kind, path) && slashes(path) == slashes(kind->path);
}

static const struct file_kind *kind_of(const char *path)
{
    size_t count;
    const struct file_kind *kinds = file_kinds(&count);
    for (size_t i = 0; i < count; i++)
        if (belongs(&kinds[i], path))
            return &kinds[i];
    return NULL;
}

static void complain_stray(struct loading *l, struct mark whole)
{
    size_t count;
    const struct file_kind *kinds = file_kinds(&count);
    struct names names = {0};
    for (size_t i = 0; i < count; i++) {
        if (kinds[i].folder == NULL)
            names_add(l, &names, kinds[i].path);
        if (in_folder(&kinds[i], whole.file)) {
            complain(&l->complaints, whole, "in this folder files are called %s", kinds[i].path);
            return;
        }
    }
    complain(&l->complaints, whole, "no template has this name%s",
             names_hint(l, &names, whole.file));
}

/* Read one file. False when it could not be read to its end, so that names it declares are not
 * known and complaints about them would mislead. */
static bool read_file(struct loading *l, const struct template_file *file)
{
    struct mark whole = {arena_str(l->arena, file->path), 0, 0};
    const struct file_kind *kind = kind_of(file->path);
    if (kind == NULL) {
        complain_stray(l, whole);
        return true;
    }
    arena_reset(l->tree);
    const struct node *tree =
        yaml_tree(l->tree, whole.file, file->bytes, file->size, &l->complaints);
    if (tree == NULL)
        return false;
    void *owner = kind->folder == NULL ? (char *)l->set + kind->offset
                                       : arena_alloc(l->scratch, kind->schema->size);
    schema_read(l, kind->schema, tree, owner);
    return true;
}

static void check_required(struct loading *l, const struct template_file *files, size_t count)
{
    size_t kind_count;
    const struct file_kind *kinds = file_kinds(&kind_count);
    for (size_t k = 0; k < kind_count; k++) {
        bool found = !kinds[k].required;
        for (size_t i = 0; i < count && !found; i++)
            found = strcmp(files[i].path, kinds[k].path) == 0;
        if (!found)
            complain(&l->complaints, (struct mark){kinds[k].path, 0, 0}, "the file is missing");
    }
}

/* `report` NULL: only some of the files, so that nothing is missing and nothing can be joined. */
static struct template_set *load(const struct template_file *files, size_t count,
                                 struct template_report *report)
{
    struct arena *arena = arena_new();
    struct arena *scratch = arena_new();
    struct loading l = {.arena = arena,
                        .scratch = scratch,
                        .tree = arena_new(),
                        .set = arena_alloc(arena, sizeof *l.set),
                        .complaints.arena = scratch};
    l.set->arena = arena;
    bool whole = true;
    for (size_t i = 0; i < count; i++)
        whole = read_file(&l, &files[i]) && whole;
    arena_free(l.tree);
    if (report != NULL) {
        check_required(&l, files, count);
        if (whole)
            loading_resolve(&l);
        complaints_say(&l.complaints, report);
    }
    bool good = l.complaints.count == 0;
    arena_free(scratch);
    if (good)
        return l.set;
    arena_free(arena);
    return NULL;
}

struct template_set *template_load_files(const struct template_file *files, size_t count,
                                         struct template_report *report)
{
    return load(files, count, report);
}

struct template_set *template_load_some(const struct template_file *files, size_t count)
{
    return load(files, count, NULL);
}

void template_free(struct template_set *set)
{
    if (set != NULL)
        arena_free(set->arena);
}
