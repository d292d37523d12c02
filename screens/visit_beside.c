#include "screens/visit_beside.h"
#include "base/arena.h"
#include "base/clock.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/scores.h"
#include <string.h>

/* What was found before leads: the section's own line names what is needed already. */
enum rank { RANK_NEEDED, RANK_BEFORE, RANK_CHANGED, RANK_MISSING, RANK_OPEN, RANKS };

/* One round for each rank, so that rows come in the order of the ranks and of the section. */
struct telling {
    const struct chart *c;
    struct found_before *out;
    enum rank round;
};

static enum rank rank_of(const struct beside_row *r)
{
    if (!r->open)
        return RANK_CHANGED;
    if (*r->before != '\0')
        return r->needed ? RANK_NEEDED : RANK_BEFORE;
    return r->needed ? RANK_MISSING : RANK_OPEN;
}

static void tell(struct telling *t, const struct beside_row *row)
{
    if (rank_of(row) != t->round)
        return;
    if (t->out->count < BESIDE_ROWS)
        t->out->rows[t->out->count] = *row;
    t->out->count++;
}

/* The latest visit before this one that has the finding; its place from the end, 1: the last. */
static const struct finding *found_before(const struct chart *c, const char *item, size_t *back)
{
    for (*back = 1; *back <= c->earlier_count; ++*back) {
        const struct finding *f = record_find(&c->earlier[c->earlier_count - *back], item);
        if (f != NULL && (f->other_count > 0 || (!f->in_error && f->text[0] != '\0')))
            return f;
    }
    return NULL;
}

/* Number of the visit that is so many before this one among those that are here. */
static size_t visit_number(const struct chart *c, size_t back)
{
    const char *entity = c->earlier[c->earlier_count - back].entity;
    size_t n = 0;
    while (n < c->visit_count && strcmp(c->visits[n], entity) != 0)
        n++;
    return n + 1;
}

static const char *shown(const struct chart *c, const struct item *item, const char *value)
{
    if (*value == '\0')
        return "no value"; /* one of two answers: the mark says the other */
    return item->kind == ITEM_SCORE ? score_edit(value, c->arena)
                                    : answer_show(c->cb->set, item, value, c->arena);
}

bool beside_before(const struct chart *c, const struct item *item, struct form_before *out)
{
    size_t back;
    const struct finding *then = found_before(c, item->id, &back);
    char day[CLOCK_ROOM];
    int64_t at;
    if (then == NULL)
        return false;
    const char *when = record_text(&c->earlier[c->earlier_count - back], ID_VISIT_DAY);
    bool dated = clock_parse_time(when, c->now, &at, NULL);
    out->text = then->other_count > 0
                    ? "last:" /* the mark says both */
                    : arena_printf(c->arena, "last: %s", shown(c, item, then->text));
    out->where = arena_printf(c->arena, "visit %zu%s%s", visit_number(c, back), dated ? ", " : "",
                              dated ? clock_dated(clock_day(at), day) : "");
    out->mark = finding_mark(c->cb, c->arena, then);
    return true;
}

static void tell_item(struct telling *t, const struct item *item)
{
    const struct chart *c = t->c;
    size_t back;
    const struct finding *now = record_find(&c->visit, item->id);
    const struct finding *then = found_before(c, item->id, &back);
    bool two = now != NULL && now->other_count > 0;
    bool answered = two || record_text(&c->visit, item->id)[0] != '\0';
    if (answered && (then == NULL || (!two && strcmp(now->text, then->text) == 0)))
        return;
    if (!answered && !item_shown(c, item))
        return;
    struct beside_row row = {.label = item->label, .before = "", .now = "", .mark = ""};
    row.open = !answered;
    row.needed = row.open && item_required(c, item);
    if (item->kind == ITEM_NOTE && !row.needed)
        return;
    if (then != NULL) {
        row.before = shown(c, item, then->text);
        row.visit = visit_number(c, back);
        row.mark = finding_mark(c->cb, c->arena, then);
    }
    if (answered && !two)
        row.now = shown(c, item, now->text);
    const char *mark = finding_mark(c->cb, c->arena, now);
    row.mark = *mark != '\0' ? mark : row.mark;
    tell(t, &row);
}

static void tell_form(struct telling *t, const struct form *form)
{
    for (size_t i = 0; i < form->item_count && strcmp(form->about, "visit") == 0; i++)
        tell_item(t, &form->items[i]);
}

static const char *measured(const struct chart *c, const struct measure *m, double base)
{
    return arena_printf(c->arena, "%s %s", reading_show(c->cb->set, m, base, c->arena),
                        measure_unit(c->cb->set, m)->name);
}

/* The visit that a measure's earlier value is from, and what must be said of it. */
static void measured_at(const struct chart *c, const struct measure *m, struct beside_row *row)
{
    for (size_t back = 1; back <= c->earlier_count && row->visit == 0; back++) {
        struct chart then = {.cb = c->cb, .arena = c->arena, .now = c->now};
        then.visit = c->earlier[c->earlier_count - back];
        if (measure_fact(&then, m->id) == NULL)
            continue;
        row->visit = visit_number(c, back);
        row->mark = *row->mark != '\0' ? row->mark : measure_mark(&then, m);
    }
}

static void tell_measures(struct telling *t, const struct measuring *m)
{
    const struct chart *c = t->c;
    for (size_t i = 0; i < m->count; i++) {
        const struct measure_row *r = &m->rows[i];
        struct beside_row row = {.label = r->measure->label,
                                 .before = "",
                                 .mark = measure_mark(c, r->measure),
                                 .now = "",
                                 .needed = r->needed,
                                 .open = r->count == 0};
        if (!r->needed && !r->has_before)
            continue;
        if (r->has_before) {
            row.before = measured(c, r->measure, r->before);
            measured_at(c, r->measure, &row);
        }
        if (!row.open && !r->third_wanted)
            row.now = measured(c, r->measure, r->used);
        if (row.open || (r->has_before && strcmp(row.now, row.before) != 0))
            tell(t, &row);
    }
}

void beside_look(const struct chart *c, const struct section *s, struct found_before *out)
{
    struct telling t = {.c = c, .out = out};
    struct measuring m = {0};
    *out = (struct found_before){0};
    if (s->open == measures_open)
        measuring_look(c, &m);
    for (int round = 0; round < RANKS; round++) {
        t.round = (enum rank)round;
        if (s->form != NULL)
            tell_form(&t, s->form);
        tell_measures(&t, &m);
    }
}

/* The visit that all rows shown are from, 0 when they are from several. */
static size_t one_visit(const struct found_before *b)
{
    size_t one = 0;
    for (size_t i = 0; i < b->count && i < BESIDE_ROWS; i++) {
        size_t visit = b->rows[i].visit;
        if (one != 0 && visit != 0 && visit != one)
            return 0;
        one = visit != 0 ? visit : one;
    }
    return one;
}

enum { LABEL = 4, BEFORE = 38, NOW = 82 };

static void draw_row(const struct beside_row *r, int row, bool which)
{
    int right = term_columns() - 2;
    enum look look = r->open ? (r->needed ? LOOK_WARN : LOOK_DIM) : LOOK_PLAIN;
    const char *now = r->open ? (r->needed ? "needed" : "open") : r->now;
    draw_text(row, LABEL, BEFORE - LABEL - 2, LOOK_PLAIN, r->label);
    if (which && r->visit != 0)
        draw_textf(row, BEFORE, NOW - BEFORE - 2, LOOK_PLAIN, "%s, visit %zu", r->before, r->visit);
    else
        draw_text(row, BEFORE, NOW - BEFORE - 2, LOOK_PLAIN, r->before);
    int col = NOW + draw_text(row, NOW, right - NOW, look, now);
    col += 2 * (col > NOW);
    draw_text(row, col, right - col, LOOK_WARN, r->mark);
}

void beside_draw(const struct found_before *b, const char *title, int row, int last)
{
    size_t one = one_visit(b);
    if (b->count == 0 || row + BESIDE_ROWS + 1 > last)
        return;
    draw_text(row, LABEL, BEFORE - LABEL - 2, LOOK_STRONG, title);
    if (one != 0)
        draw_textf(row, BEFORE, NOW - BEFORE - 2, LOOK_DIM, "at visit %zu", one);
    else
        draw_text(row, BEFORE, NOW - BEFORE - 2, LOOK_DIM, "found before");
    draw_text(row++, NOW, term_columns() - 2 - NOW, LOOK_DIM, "now");
    for (size_t i = 0; i < b->count && i < BESIDE_ROWS; i++)
        draw_row(&b->rows[i], row++, one == 0);
    if (b->count > BESIDE_ROWS)
        draw_textf(row, LABEL, 40, LOOK_DIM, "and %zu more", b->count - BESIDE_ROWS);
}
