/* For the tests of templates: the good set in memory, to be changed and loaded. */
#ifndef AMBLE_TESTS_TEMPLATE_CASES_H
#define AMBLE_TESTS_TEMPLATE_CASES_H

#include "base/arena.h"
#include "base/fault.h" /* before cmocka, which makes a macro of `fail` */
#include "base/text.h"
#include "template/load.h"
#include <stdio.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define GOOD "tests/unit/templates/good"

struct files {
    struct template_file list[32];
    size_t count;
};

struct loaded {
    struct template_set *set;
    struct text lines;
    size_t count;
};

static inline char *read_whole(struct arena *a, const char *path, size_t *size)
{
    FILE *f = fopen(path, "rb");
    if (f == NULL)
        fail_msg("cannot open %s", path);
    char *bytes = arena_alloc(a, 64 * 1024);
    size_t n = fread(bytes, 1, 64 * 1024 - 1, f);
    (void)fclose(f);
    if (size != NULL)
        *size = n;
    return bytes;
}

/* Replace the file of that path, or add it. */
static inline void files_lay(struct arena *a, struct files *files, const char *path,
                             const char *bytes, size_t size)
{
    size_t i = 0;
    while (i < files->count && strcmp(files->list[i].path, path) != 0)
        i++;
    assert_true(i < sizeof files->list / sizeof *files->list);
    files->list[i] = (struct template_file){arena_str(a, path), bytes, size};
    files->count += i == files->count;
}

static inline struct files good_files(struct arena *a)
{
    static const char *const paths[] = {
        "practice.yaml",         "forms/history.yaml", "forms/history_more.yaml",
        "measures.yaml",         "proportions.yaml",   "supports.yaml",
        "triage.yaml",           "frames.yaml",        "checklists/bladder.yaml",
        "handouts/en/care.yaml", "energy.yaml"};
    struct files files = {.count = 0};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        size_t size;
        char *bytes = read_whole(a, arena_printf(a, GOOD "/%s", paths[i]), &size);
        files_lay(a, &files, paths[i], bytes, size);
    }
    return files;
}

static inline struct loaded load(const struct files *files)
{
    struct loaded l = {.set = NULL};
    text_init(&l.lines, 64 * 1024);
    struct template_report report = {.lines = &l.lines};
    l.set = template_load_files(files->list, files->count, &report);
    l.count = report.count;
    return l;
}

static inline void loaded_free(struct loaded *l)
{
    template_free(l->set);
    text_free(&l->lines);
}

#endif
