#include "output/standing.h"
#include "base/arena.h"
#include <string.h>

static bool differ(const struct entry *heads, size_t n)
{
    for (size_t i = 1; i < n; i++)
        if (heads[i].kind != heads[0].kind || strcmp(heads[i].value, heads[0].value) != 0)
            return true;
    return false;
}

static bool came_after(const struct finding *f, struct entry_id id)
{
    for (size_t i = 0; f != NULL && i < f->head_count; i++)
        if (f->heads[i].device == id.device && f->heads[i].number == id.number)
            return f->after[i];
    return false;
}

bool standing_look(struct casebook *cb, struct arena *a, const struct record *r,
                   const struct standing **out, size_t *count, struct fault *f)
{
    struct heads h;
    if (!journal_heads(cb->journal, a, r->entity, &h, f))
        return false;
    struct standing *all = arena_array(a, h.count + 1, sizeof *all);
    bool *after = arena_array(a, h.count, sizeof *after);
    *count = 0;
    for (size_t i = 0, n; i < h.count; i += n) {
        const struct finding *found = record_find(r, h.entries[i].item);
        for (n = 1; i + n < h.count && strcmp(h.entries[i + n].item, h.entries[i].item) == 0;)
            n++;
        for (size_t k = i; k < i + n; k++)
            after[k] = came_after(found, h.entries[k].id);
        all[(*count)++] = (struct standing){.heads = &h.entries[i],
                                            .count = n,
                                            .after = &after[i],
                                            .conflict = differ(&h.entries[i], n),
                                            .amended = found != NULL && found->amended};
    }
    *out = all;
    return true;
}
