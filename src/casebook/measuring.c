/* All measures of a visit: readings, the value used, last time, what is needed. */
#include "base/arena.h"
#include "base/text.h"
#include "casebook/deciding.h"
#include "casebook/derived.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include "casebook/measuring_inside.h"
#include "casebook/quantity.h"
#include <math.h>
#include <string.h>

/* ---- one measure ---------------------------------------------------------------------------- */

static double middle(const double v[READINGS_MOST])
{
    return fmax(fmin(v[0], v[1]), fmin(fmax(v[0], v[1]), v[2]));
}

void measuring_row(struct arena *a, const struct record *visit, struct measure_row *row)
{
    const struct measure *m = row->measure;
    double in[READINGS_MOST] = {0}, low = 0, high = 0, sum = 0;
    row->triple = m->readings >= READINGS_MOST;
    for (int k = 0; k < READINGS_MOST; k++) {
        const char *text = record_text(visit, reading_item(a, m, k + 1));
        row->have[k] = text[0] != '\0' && number_lead(text, &row->readings[k]);
        if (!row->have[k])
            continue;
        double v = row->readings[k];
        low = row->count == 0 ? v : fmin(low, v);
        high = row->count == 0 ? v : fmax(high, v);
        sum += v;
        in[row->count++] = v;
    }
    if (row->count == 0)
        return;
    double mean = sum / row->count;
    row->used = row->count == READINGS_MOST ? middle(in) : mean;
    row->spread = high - low;
    row->limit = fmax(m->tolerance_share * mean, m->tolerance);
    /* a hair above the limit is the limit: 13.1 and 13.4 cm part by exactly 3 mm */
    row->third_wanted = row->count == 2 && row->spread > row->limit * (1 + 1e-9);
}

const char *measure_fact(const struct chart *c, const char *measure)
{
    const struct measure *m = template_measure(c->cb->set, measure);
    struct measure_row row = {.measure = m};
    if (m == NULL || c->visit.entity == NULL)
        return NULL;
    measuring_row(c->arena, &c->visit, &row);
    return row.count > 0 ? quantity_text(row.used, unit_base(m->dimension), c->arena) : NULL;
}

/* ---- last time ------------------------------------------------------------------------------ */

enum { BACK_MOST = 4 }; /* visits before the last one that are asked for what that one lacks */

static bool before_in(const struct chart *c, const struct record *visit, struct measure_row *row)
{
    struct measure_row then = {.measure = row->measure};
    measuring_row(c->arena, visit, &then);
    if (then.count == 0)
        return false;
    row->has_before = true;
    row->before = then.used;
    row->before_day = record_text(visit, ID_VISIT_DAY);
    row->by_before = reading_author(visit, row->measure);
    return true;
}

/* What the visit before this one lacks, an older one may have. One that has not come has none. */
static void before_that(const struct chart *c, struct measuring *m)
{
    size_t at = 0;
    while (at < c->visit_count && strcmp(c->visits[at], c->visit.entity) != 0)
        at++;
    if (at == c->visit_count)
        return;
    for (size_t back = 2; back <= at && back < 2 + BACK_MOST; back++) {
        const struct record *known = chart_visit(c, at - back);
        if (known == NULL)
            continue;
        struct record older = *known;
        older.arena = c->arena; /* of what is worked out, which may be no more than a key's */
        for (size_t i = 0; i < m->count; i++)
            if (!m->rows[i].has_before)
                (void)before_in(c, &older, &m->rows[i]);
    }
}

const char *reading_author(const struct record *visit, const struct measure *m)
{
    for (int k = 1; k <= READINGS_MOST; k++) {
        const struct finding *f = record_find(visit, reading_item(visit->arena, m, k));
        if (f != NULL && !f->in_error && *f->author != '\0')
            return f->author;
    }
    return "";
}

/* What is not read yet will be read by whoever is at the keys. */
static void credible(const struct chart *c, const struct experience *known, struct measure_row *row)
{
    const char *now = row->count > 0 ? reading_author(&c->visit, row->measure) : c->cb->author;
    row->credible = observed_change(known->observers, known->observer_count, row->measure,
                                    row->before, row->by_before, now, c->cb->author);
}

bool measure_moved(const struct measure_row *row)
{
    return row->has_before && row->count > 0 && !row->third_wanted &&
           fabs(row->used - row->before) > row->credible.change * (1 + 1e-9);
}

void measuring_before(const struct chart *c, const struct experience *known, struct measuring *m)
{
    if (c->visit.entity == NULL || c->before.entity == NULL)
        return;
    for (size_t i = 0; i < m->count; i++)
        (void)before_in(c, &c->before, &m->rows[i]);
    before_that(c, m);
    for (size_t i = 0; i < m->count; i++)
        if (m->rows[i].has_before)
            credible(c, known, &m->rows[i]);
}

/* ---- all of them ---------------------------------------------------------------------------- */

/* With no support in mind yet, what any of them needs. */
static bool needed_for(const struct measure *m, const struct support *s)
{
    if (s == NULL)
        return m->needed_count > 0;
    for (size_t i = 0; i < m->needed_count; i++)
        if (strcmp(m->needed_for[i], s->id) == 0)
            return true;
    return false;
}

static bool posture_ticked(const struct chart *c)
{
    const struct template_set *set = c->cb->set;
    for (size_t i = 0; i < set->form_count; i++) {
        const struct form *form = &set->forms[i];
        for (size_t k = 0; form->place == PLACE_POSTURE && k < form->item_count; k++) {
            const char *tick = record_text(&c->visit, form->items[k].id);
            bool done =
                form->items[k].kind == ITEM_YESNO ? strcmp(tick, "yes") == 0 : tick[0] != '\0';
            if (!done && item_shown(c, &form->items[k]))
                return false;
        }
    }
    return true;
}

static bool posture_due(const struct chart *c, const struct measuring *m)
{
    if (m->suspect == m->count || m->cause == NULL || !m->cause->posture)
        return false;
    const char *again = posture_item(c->arena, m->rows[m->suspect].measure);
    return strcmp(record_text(&c->visit, again), "yes") != 0;
}

void measuring_look(const struct chart *c, struct measuring *out)
{
    struct experience known;
    experience_read(c->cb, c->arena, &known);
    const struct template_set *set = c->cb->set;
    const struct support *support = support_in_mind(c);
    const char *type = derived_value(c, "body_type");
    *out = (struct measuring){.count = set->measure_count,
                              .suspect = set->measure_count,
                              .rival = set->measure_count,
                              .slip = "",
                              .body_type = type == NULL ? NULL : template_body_type(set, type),
                              .posture_done = posture_ticked(c)};
    out->rows = arena_array(c->arena, out->count, sizeof *out->rows);
    for (size_t i = 0; i < out->count; i++) {
        struct measure_row *row = &out->rows[i];
        row->measure = &set->measures[i];
        row->needed = needed_for(row->measure, support);
        const char *so = arena_printf(c->arena, "%s.so", row->measure->id);
        row->accepted = strcmp(record_text(&c->visit, so), "yes") == 0;
        row->before_day = "";
        measuring_row(c->arena, &c->visit, row);
    }
    measuring_before(c, &known, out);
    measuring_relate(c, &known, out);
    measuring_suspect(c, out);
    out->posture_again = posture_due(c, out);
}

struct section_state measuring_state(const struct chart *c)
{
    struct measuring m;
    struct section_state s = {0};
    size_t needed = 0, done = 0, disputes = 0;
    measuring_look(c, &m);
    for (size_t i = 0; i < m.count; i++) {
        const struct measure_row *row = &m.rows[i];
        bool whole = row->count >= 2 && !row->third_wanted;
        s.shown++;
        s.answered += row->count > 0;
        for (int k = 1; k <= READINGS_MOST; k++)
            disputes += disputed(&c->visit, reading_item(c->arena, row->measure, k));
        needed += row->needed;
        done += row->needed && whole;
        s.missing += row->needed && !whole;
        if (row->needed && !whole)
            s.open = listed(c->arena, s.open, row->measure->label);
    }
    s.progress = s.answered == 0 ? PROGRESS_NOT_ASKED
                 : s.missing > 0 ? PROGRESS_NEEDED
                 : needed > 0    ? PROGRESS_DONE
                                 : PROGRESS_BEGUN;
    const char *again = m.suspect < m.count ? arena_printf(c->arena, ", look again at %s",
                                                           m.rows[m.suspect].measure->label)
                                            : "";
    const char *both = disputed_words(c->arena, disputes);
    s.summary = needed > 0
                    ? arena_printf(c->arena, "%s%zu of %zu needed%s", both, done, needed, again)
                    : arena_printf(c->arena, "%s%zu of %zu%s", both, s.answered, s.shown, again);
    return s;
}
