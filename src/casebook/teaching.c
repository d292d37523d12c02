#include "casebook/teaching.h"
#include "base/arena.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include "casebook/past.h"
#include <string.h>

/* What is kept, and what is said. */
static const struct {
    const char *kept, *word;
} states[] = {[TAUGHT_NOT] = {"", ""},
              [TAUGHT_TOLD] = {"told", "told"},
              [TAUGHT_SHOWN] = {"shown", "shown"},
              [TAUGHT_DONE_BACK] = {"done_back", "done back"}};

const char *taught_word(enum taught t)
{
    return states[t].word;
}

enum taught taught_read(const char *kept)
{
    for (int t = TAUGHT_TOLD; t <= TAUGHT_DONE_BACK; t++)
        if (strcmp(states[t].kept, kept) == 0)
            return (enum taught)t;
    return TAUGHT_NOT;
}

/* Whose initials were looked up last: one person teaches most of a visit. */
struct teacher {
    const char *author, *initials;
};

static enum taught taught_before(const struct chart *c, const char *key)
{
    enum taught most = TAUGHT_NOT;
    for (size_t i = 0; i < c->earlier_count; i++) {
        enum taught then = taught_read(record_text(&c->earlier[i], key));
        most = then > most ? then : most;
    }
    return most;
}

static struct teach_row row_of(const struct chart *c, const struct checklist *list,
                               const struct teach_item *item, struct teacher *last)
{
    const char *key = arena_printf(c->arena, "teach.%s.%s", list->id, item->id);
    struct teach_row row = {.list = list, .item = item, .key = key, .by = ""};
    const struct finding *found = record_find(&c->visit, key);
    row.mark = finding_mark(c->cb, c->arena, found);
    row.state = taught_read(record_text(&c->visit, key));
    row.before = taught_before(c, key);
    if (row.state == TAUGHT_NOT)
        return row;
    if (strcmp(last->author, found->author) != 0)
        *last = (struct teacher){found->author, author_initials(c->cb, c->arena, found->author)};
    row.by = last->initials;
    return row;
}

void teaching_look(const struct chart *c, struct teaching *out)
{
    const struct template_set *set = c->cb->set;
    struct past past;
    struct facts facts =
        past_load(c, &past, NULL) ? past_facts(&past) : chart_facts(c); /* found before, still so */
    struct teacher last = {"", "?"};
    size_t most = 0;
    for (size_t i = 0; i < set->checklist_count; i++)
        most += set->checklists[i].item_count;
    struct teach_row *rows = arena_array(c->arena, most, sizeof *rows);
    *out = (struct teaching){.rows = rows};
    for (size_t i = 0; i < set->checklist_count; i++) {
        const struct checklist *list = &set->checklists[i];
        if (!condition_holds(list->shown_when, &facts, NULL))
            continue;
        for (size_t k = 0; k < list->item_count; k++)
            if (condition_holds(list->items[k].shown_when, &facts, NULL)) {
                rows[out->count] = row_of(c, list, &list->items[k], &last);
                out->done += rows[out->count++].state != TAUGHT_NOT;
            }
    }
}

bool teaching_put(struct chart *c, const struct teach_row *row, enum taught state, struct fault *f)
{
    if (c->visit.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no visit to teach in");
    return record_put(c->cb, &c->visit, row->key, states[state].kept, reason_of(c), f);
}

struct section_state teaching_state(const struct chart *c)
{
    struct teaching t;
    size_t back = 0, before = 0;
    teaching_look(c, &t);
    struct section_state s = {.shown = t.count, .answered = t.done};
    const char *danger_open = NULL, *other_open = NULL;
    for (size_t i = 0; i < t.count; i++) {
        const struct teach_row *row = &t.rows[i];
        back += row->state == TAUGHT_DONE_BACK;
        before += row->before != TAUGHT_NOT;
        if (row->state != TAUGHT_NOT || row->before != TAUGHT_NOT)
            continue;
        const char **open = row->item->danger ? &danger_open : &other_open;
        *open = listed(c->arena, *open, row->item->label);
        s.missing += row->item->danger;
    }
    s.open = listed(c->arena, danger_open, other_open);
    s.progress = t.done == 0        ? PROGRESS_NOT_ASKED
                 : s.missing > 0    ? PROGRESS_NEEDED
                 : t.done < t.count ? PROGRESS_BEGUN
                                    : PROGRESS_DONE;
    if (t.done == 0)
        s.summary = before > 0 ? arena_printf(c->arena, "%zu points, %zu of them taught before",
                                              t.count, before)
                               : arena_printf(c->arena, "%zu points", t.count);
    else
        s.summary = arena_printf(c->arena, "%zu of %zu, %zu done back%s", t.done, t.count, back,
                                 s.missing > 0 ? ", danger signs open" : "");
    return s;
}
