/* A world with the shipped templates, and findings put in as lines. */
#ifndef AMBLE_TESTS_CASEBOOK_PRACTICE_H
#define AMBLE_TESTS_CASEBOOK_PRACTICE_H

#include "casebook_world.h"

static inline int shipped_up(void **state)
{
    (void)world_up(state);
    struct world *w = *state;
    struct text lines;
    text_init(&lines, 10000);
    struct template_report report = {.lines = &lines};
    template_free(w->set);
    w->set = template_load("config", NULL, &report);
    if (w->set == NULL)
        fail_msg("%s", lines.s);
    text_free(&lines);
    w->cb.set = w->set;
    return 0;
}

#define SHIPPED(function) cmocka_unit_test_setup_teardown(function, shipped_up, world_down)

/* Sheets belong to a higher room than this. */
static inline bool handed_over(struct chart *c, const char *sheet, struct fault *f)
{
    (void)sheet;
    (void)f;
    return c->visit.entity != NULL;
}

static inline void fed(struct world *w, struct chart *c, const char *lines)
{
    static const struct feed_how how = {.invented = true, .hand_over = handed_over};
    struct text said;
    struct fed out = {0};
    struct fault f = {0};
    text_init(&said, 10000);
    if (!feed_read(&w->cb, w->arena, "test", lines, strlen(lines), &how, &said, &out, &f))
        fail_msg("%s: %s", f.text, said.len > 0 ? said.s : "");
    text_free(&said);
    if (c != NULL && !chart_load(&w->cb, w->arena, out.entity, c, &f))
        fail_msg("%s", f.text);
}

static inline const char *slurped(struct world *w, const char *path)
{
    static char bytes[100000];
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    size_t n = fread(bytes, 1, sizeof bytes - 1, file);
    (void)fclose(file);
    bytes[n] = '\0';
    return arena_str(w->arena, bytes);
}

#endif
