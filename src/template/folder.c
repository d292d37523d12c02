/* The shipped folder with the practice's laid over it, as files in memory. */
#include "base/arena.h"
#include "base/text.h"
#include "template/load.h"
#include "template/loading.h"
#include "template/schema.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FILES_MOST = 500 };

struct folder {
    struct arena *arena;
    struct complaints *complaints;
    struct template_file *files;
    size_t count, cap;
    const char *root; /* on this machine */
};

static void put(struct folder *f, const char *path, const char *bytes, size_t size)
{
    const struct template_file file = {path, bytes, size};
    for (size_t i = 0; i < f->count; i++)
        if (strcmp(f->files[i].path, path) == 0) {
            f->files[i] = file;
            return;
        }
    f->files = arena_grow(f->arena, f->files, f->count, &f->cap, sizeof *f->files);
    f->files[f->count++] = file;
}

/* Everything up to one byte beyond what the loader takes: it says so of longer files itself. */
static bool read_bytes(struct folder *f, int fd, const char *path, size_t size)
{
    size_t most = size < YAML_FILE_MOST + 1 ? size : YAML_FILE_MOST + 1;
    char *bytes = arena_alloc(f->arena, most + 1);
    size_t have = 0;
    while (have < most) {
        ssize_t n = read(fd, bytes + have, most - have);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return false;
        if (n == 0)
            break;
        have += (size_t)n;
    }
    put(f, path, bytes, have);
    return true;
}

static void read_one(struct folder *f, const char *path)
{
    struct mark whole = {path, 0, 0};
    struct stat st;
    const char *there = arena_printf(f->arena, "%s/%s", f->root, path);
    int fd = open(there, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0) {
        complain(f->complaints, whole, "cannot be opened: %s", strerror(errno));
        return;
    }
    if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode))
        complain(f->complaints, whole, "this is not a file");
    else if (f->count == FILES_MOST)
        complain(f->complaints, whole, "there are more than %d files", FILES_MOST);
    else if (!read_bytes(f, fd, path, (size_t)st.st_size))
        complain(f->complaints, whole, "cannot be read: %s", strerror(errno));
    close(fd);
}

static bool ends_in(const char *s, const char *end)
{
    size_t n = strlen(s), m = strlen(end);
    return n > m && strcmp(s + n - m, end) == 0;
}

static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name); /* not by locale: the order must not depend on it */
}

static bool read_folder(struct folder *f, const char *inside, int deeper);

static void within(struct folder *f, const char *path, int deeper)
{
    if (!read_folder(f, path, deeper))
        complain(f->complaints, (struct mark){path, 0, 0}, "the folder cannot be read: %s",
                 strerror(errno));
}

/* Take the templates below root/inside ("" for the root itself), `deeper` folders down. */
static bool read_folder(struct folder *f, const char *inside, int deeper)
{
    struct dirent **entries;
    int n = scandir(arena_printf(f->arena, "%s/%s", f->root, inside), &entries, NULL, by_name);
    if (n < 0)
        return false;
    for (int i = 0; i < n; i++) {
        const char *name = entries[i]->d_name;
        const char *path =
            arena_printf(f->arena, "%s%s%s", inside, *inside == '\0' ? "" : "/", name);
        struct stat st;
        bool folder =
            stat(arena_printf(f->arena, "%s/%s", f->root, path), &st) == 0 && S_ISDIR(st.st_mode);
        if (name[0] == '.')
            ; /* hidden: an editor's, not ours */
        else if (folder && deeper > 0)
            within(f, path, deeper - 1);
        else if (ends_in(name, ".yaml"))
            read_one(f, path);
        else if (ends_in(name, ".yml"))
            complain(f->complaints, (struct mark){path, 0, 0}, "the name must end in .yaml");
        free(entries[i]);
    }
    free(entries);
    return true;
}

struct template_set *template_load(const char *shipped, const char *overlay,
                                   struct template_report *report)
{
    enum { HANDOUTS_DEPTH = 2 }; /* handouts/LANGUAGE/ */
    struct arena *arena = arena_new();
    struct complaints complaints = {.arena = arena};
    struct folder f = {.arena = arena, .complaints = &complaints, .root = shipped};
    struct template_set *set = NULL;
    if (!read_folder(&f, "", HANDOUTS_DEPTH))
        complain(&complaints, (struct mark){shipped, 0, 0}, "the folder cannot be read: %s",
                 strerror(errno));
    f.root = overlay;
    if (overlay != NULL && !read_folder(&f, "", HANDOUTS_DEPTH) && errno != ENOENT)
        complain(&complaints, (struct mark){overlay, 0, 0}, "the folder cannot be read: %s",
                 strerror(errno));
    if (complaints.count > 0)
        complaints_say(&complaints, report);
    else
        set = template_load_files(f.files, f.count, report);
    arena_free(arena);
    return set;
}

struct template_set *template_load_practice(const char *shipped, const char *overlay)
{
    static const char practice[] = "practice.yaml";
    struct arena *arena = arena_new();
    struct complaints complaints = {.arena = arena};
    struct folder f = {.arena = arena, .complaints = &complaints, .root = shipped};
    if (overlay != NULL && access(arena_printf(arena, "%s/%s", overlay, practice), F_OK) == 0)
        f.root = overlay;
    read_one(&f, practice);
    struct template_set *set = complaints.count == 0 ? template_load_some(f.files, f.count) : NULL;
    arena_free(arena);
    return set;
}
