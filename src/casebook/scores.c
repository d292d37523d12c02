#include "casebook/scores.h"
#include "base/arena.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_ROOM = 64 };

bool score_parse(const struct template_set *set, const char *canonical, struct score_kept *out)
{
    char id[NAME_ROOM], version[NAME_ROOM];
    int end = -1;
    *out = (struct score_kept){0};
    if (sscanf(canonical, "%5d of %5d %63s %63s%n", &out->total, &out->most, id, version, &end) !=
            4 ||
        canonical[end] != '\0')
        return false;
    const struct score *scale = template_score(set, id);
    if (scale == NULL || scale->most != out->most || strcmp(scale->version, version) != 0)
        return false;
    out->scale = scale;
    return true;
}

/* Digits alone; the whole of `s` up to `end`. */
static bool whole(const char *s, const char *end, int *out)
{
    size_t n = (size_t)(end - s);
    char digits[6] = "";
    if (n == 0 || n >= sizeof digits || strspn(s, "0123456789") < n)
        return false;
    memcpy(digits, s, n);
    *out = (int)strtol(digits, NULL, 10);
    return true;
}

static const char *denominators(const struct item *item, struct arena *a)
{
    const char *list = "";
    for (size_t i = 0; i < item->scale_count; i++)
        list = arena_printf(a, "%s%s/%d", list, i == 0 ? "" : ", ", item->scales[i]->most);
    return list;
}

bool score_read(const struct item *item, const char *typed, struct arena *a, const char **canonical,
                struct fault *f)
{
    const char *slash = strchr(typed, '/'), *end = typed + strlen(typed);
    int total, most = 0;
    if (!whole(typed, slash != NULL ? slash : end, &total) ||
        (slash != NULL && !whole(slash + 1, end, &most)))
        return fail(f, FAULT_INPUT, "\"%.40s\" is no total: whole numbers such as 5%s are expected",
                    typed,
                    item->scale_count > 0 ? arena_printf(a, "/%d", item->scales[0]->most) : "");
    const struct score *scale = slash == NULL && item->scale_count == 1 ? item->scales[0] : NULL;
    for (size_t i = 0; slash != NULL && i < item->scale_count; i++)
        if (item->scales[i]->most == most)
            scale = item->scales[i];
    if (scale == NULL)
        return fail(f, FAULT_INPUT, "\"%.40s\": say what it is out of: %s", typed,
                    denominators(item, a));
    if (total > scale->most)
        return fail(f, FAULT_INPUT, "\"%.40s\" is above the greatest total, %d", typed,
                    scale->most);
    *canonical = arena_printf(a, "%d of %d %s %s", total, scale->most, scale->id, scale->version);
    return true;
}

const char *score_edit(const char *canonical, struct arena *a)
{
    int total, most;
    return sscanf(canonical, "%5d of %5d ", &total, &most) == 2
               ? arena_printf(a, "%d/%d", total, most)
               : canonical;
}

const struct score_cut *score_cut_of(const struct score_kept *kept)
{
    const struct score_cut *found = NULL;
    for (size_t i = 0; kept->scale != NULL && i < kept->scale->cut_count; i++)
        if (kept->total >= kept->scale->cuts[i].from)
            found = &kept->scale->cuts[i];
    return found;
}

const char *score_words(const struct score_kept *kept, struct arena *a)
{
    const struct score_cut *cut = score_cut_of(kept);
    return arena_printf(a, "%d of %d, %s%s%s", kept->total, kept->most, kept->scale->label,
                        cut != NULL ? ": " : "", cut != NULL ? cut->words : "");
}

const char *score_show(const struct template_set *set, const char *canonical, struct arena *a)
{
    struct score_kept kept;
    return score_parse(set, canonical, &kept) ? score_words(&kept, a) : canonical;
}
