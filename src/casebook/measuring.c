#include "casebook/measuring.h"
#include "base/arena.h"
#include "base/text.h"
#include "calc/proportion.h"
#include "casebook/deciding.h"
#include "casebook/derived.h"
#include "casebook/ids.h"
#include "casebook/quantity.h"
#include <math.h>
#include <string.h>

/* ---- one reading ---------------------------------------------------------------------------- */

const char *reading_item(struct arena *a, const struct measure *m, int reading)
{
    return arena_printf(a, "%s.%d", m->id, reading);
}

const struct unit *measure_unit(const struct template_set *set, const struct measure *m)
{
    const struct unit *wanted = m->dimension == DIM_LENGTH ? set->practice.length_unit
                                : m->dimension == DIM_MASS ? set->practice.mass_unit
                                                           : NULL;
    if (wanted != NULL)
        return wanted;
    return m->unit != NULL ? m->unit : unit_base(m->dimension);
}

static bool outside(const struct measure *m, double base)
{
    return m->high > m->low && (base < m->low || base > m->high);
}

/* The unit in which the same digits would have fitted, or NULL: inches for centimetres. */
static const struct unit *other_unit(const struct measure *m, const char *typed,
                                     const struct unit *meant)
{
    size_t n;
    const struct unit *all = unit_all(&n);
    double base;
    const struct unit *written;
    for (size_t i = 0; i < n; i++)
        if (all[i].dimension == m->dimension && &all[i] != meant &&
            quantity_parse(typed, &all[i], &base, &written, NULL) && written == NULL &&
            !outside(m, base))
            return &all[i];
    return NULL;
}

static bool no_dog(const struct template_set *set, const struct measure *m, const char *typed,
                   struct arena *a, struct fault *f)
{
    const struct unit *u = measure_unit(set, m), *fits = other_unit(m, typed, u);
    (void)fail(f, FAULT_INPUT, "\"%.40s\": no dog measures that; %s is from %s to %s %s", typed,
               m->label, reading_show(set, m, m->low, a), reading_show(set, m, m->high, a),
               u->name);
    if (fits != NULL && f != NULL) {
        struct fault said = *f;
        (void)fail(f, FAULT_INPUT, "%.400s; was it %.40s %s?", said.text, typed, fits->name);
    }
    return false;
}

bool reading_read(const struct template_set *set, const struct measure *m, const char *typed,
                  struct arena *a, const char **canonical, struct fault *f)
{
    double base;
    *canonical = "";
    if (typed[strspn(typed, " \t")] == '\0')
        return true;
    if (!quantity_read(typed, measure_unit(set, m), unit_base(m->dimension), a, canonical, &base,
                       f))
        return false;
    return outside(m, base) ? no_dog(set, m, typed, a, f) : true;
}

const char *reading_show(const struct template_set *set, const struct measure *m, double base,
                         struct arena *a)
{
    char number[48];
    const struct unit *u = measure_unit(set, m);
    int n = m->decimals >= 0 ? decimals_in(u, m->unit != NULL ? m->unit : u, m->decimals) : 1;
    return arena_str(a, number_format(unit_from_base(u, base), n, true, number, sizeof number));
}

/* ---- one measure ---------------------------------------------------------------------------- */

static double middle(const double v[READINGS_MOST])
{
    return fmax(fmin(v[0], v[1]), fmin(fmax(v[0], v[1]), v[2]));
}

static void read_row(const struct chart *c, struct measure_row *row)
{
    const struct measure *m = row->measure;
    double in[READINGS_MOST] = {0}, low = 0, high = 0, sum = 0;
    for (int k = 0; k < READINGS_MOST; k++) {
        const char *text = record_text(&c->visit, reading_item(c->arena, m, k + 1));
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
    read_row(c, &row);
    return row.count > 0 ? quantity_text(row.used, unit_base(m->dimension), c->arena) : NULL;
}

/* ---- the dog's own proportions -------------------------------------------------------------- */

/* The band for this body type, else the one for any dog; NULL when there is neither. */
static const struct band *nearest_band(const struct relation *r, const struct body_type *type)
{
    const struct band *any = NULL;
    for (size_t i = 0; i < r->band_count; i++) {
        if (type != NULL && r->bands[i].body_type == type)
            return &r->bands[i];
        if (r->bands[i].body_type == NULL)
            any = &r->bands[i];
    }
    return any;
}

static const struct measure_row *row_of(const struct measuring *m, const struct measure *which)
{
    for (size_t i = 0; i < m->count; i++)
        if (m->rows[i].measure == which)
            return &m->rows[i];
    return NULL;
}

static bool check_relation(const struct measuring *m, const struct relation *r,
                           struct relation_check *out)
{
    const struct measure_row *of = row_of(m, r->of), *to = row_of(m, r->to);
    const struct band *band = nearest_band(r, m->body_type);
    if (of == NULL || to == NULL || of->count == 0 || to->count == 0 || !(to->used > 0) ||
        band == NULL)
        return false;
    double ratio = of->used / to->used;
    *out = (struct relation_check){.relation = r,
                                   .band = band,
                                   .ratio = ratio,
                                   .verdict = ratio < band->low    ? BESIDE_LOW
                                              : ratio > band->high ? BESIDE_HIGH
                                                                   : BESIDE_USUAL};
    return true;
}

/* The relations a row is the first side of, into `checks`, which has room for all there are. */
static void check_row(const struct chart *c, const struct measuring *m, struct measure_row *row,
                      struct relation_check *checks)
{
    const struct template_set *set = c->cb->set;
    for (size_t i = 0; i < set->relation_count; i++) {
        if (set->relations[i].of != row->measure ||
            !check_relation(m, &set->relations[i], &checks[row->check_count]))
            continue;
        enum beside verdict = checks[row->check_count++].verdict;
        if (row->verdict == BESIDE_NONE || row->verdict == BESIDE_USUAL)
            row->verdict = verdict;
    }
    row->checks = checks;
}

/* Which way a measure is out, by the relations it stands in: +1 reads high, -1 reads low. */
static int direction_of(const struct measuring *m, const struct measure *which)
{
    int balance = 0;
    for (size_t i = 0; i < m->count; i++)
        for (size_t k = 0; k < m->rows[i].check_count; k++) {
            const struct relation_check *check = &m->rows[i].checks[k];
            int sign = check->verdict == BESIDE_HIGH ? 1 : check->verdict == BESIDE_LOW ? -1 : 0;
            balance += check->relation->of == which   ? sign
                       : check->relation->to == which ? -sign
                                                      : 0;
        }
    return (balance > 0) - (balance < 0);
}

static const struct cause *likely_cause(const struct measure *m, int direction)
{
    const struct cause *either = NULL;
    for (size_t i = 0; i < m->cause_count; i++) {
        if (direction != 0 && m->causes[i].direction == direction)
            return &m->causes[i];
        if (m->causes[i].direction == 0 && either == NULL)
            either = &m->causes[i];
    }
    return either;
}

/* What the outlier finder is asked about: every length, every relation that was checked. */
struct question {
    struct proportion_measure *measures;
    size_t *row; /* of each measure */
    struct proportion_relation *relations;
    size_t measure_count, relation_count;
};

static struct question ask(const struct chart *c, const struct measuring *m)
{
    size_t most = c->cb->set->relation_count;
    struct question q = {.measures = arena_array(c->arena, m->count, sizeof *q.measures),
                         .row = arena_array(c->arena, m->count, sizeof *q.row),
                         .relations = arena_array(c->arena, most, sizeof *q.relations)};
    for (size_t i = 0; i < m->count; i++) {
        const struct measure_row *row = &m->rows[i];
        if (row->count > 0 && row->measure->dimension == DIM_LENGTH) {
            q.row[q.measure_count] = i;
            q.measures[q.measure_count++] =
                (struct proportion_measure){row->measure->id, row->used};
        }
        for (size_t k = 0; k < row->check_count; k++) {
            const struct relation_check *check = &row->checks[k];
            q.relations[q.relation_count++] =
                (struct proportion_relation){check->relation->of->id, check->relation->to->id,
                                             check->band->low, check->band->high};
        }
    }
    return q;
}

/* Name the suspect the finder puts first. One that was looked at again and is so explains the
 * misfit by the dog itself: then only one that could not be told from it is named. False when the
 * finder has nothing to say. */
static bool find_suspect(const struct chart *c, struct measuring *m)
{
    struct question q = ask(c, m);
    struct proportion_check *checks = arena_array(c->arena, q.relation_count, sizeof *checks);
    struct proportion_out found;
    if (q.relation_count == 0 ||
        !proportion_solve(q.measures, q.measure_count, q.relations, q.relation_count, checks,
                          &found, NULL) ||
        found.count == 0)
        return false;
    size_t told = found.apart || found.count < 2 ? 1 : 2; /* how many may be named */
    for (size_t i = 0; i < told; i++) {
        const struct proportion_suspect *s = &found.ranked[i];
        size_t at = q.row[s->measure];
        if (m->rows[at].accepted)
            continue;
        if (m->suspect < m->count) {
            m->rival = at;
            continue;
        }
        m->suspect = at;
        m->suspect_share = s->share;
        m->slip = proportion_slip_words(s->slip);
        m->cause = likely_cause(m->rows[at].measure, s->z > 0 ? 1 : -1);
    }
    return true;
}

/* Where the finder sees nothing wrong with the whole, the only row that is out of its own band is
 * still worth another look. */
static void suspect_by_rows(struct measuring *m)
{
    size_t at = m->count, out = 0;
    for (size_t i = 0; i < m->count; i++)
        if (m->rows[i].verdict > BESIDE_USUAL && !m->rows[i].accepted) {
            at = i;
            out++;
        }
    if (out != 1)
        return;
    m->suspect = at;
    m->suspect_share = 0.5; /* one ratio cannot tell its two sides apart */
    m->cause = likely_cause(m->rows[at].measure, direction_of(m, m->rows[at].measure));
}

/* ---- all of them ---------------------------------------------------------------------------- */

static const struct support *in_mind(const struct chart *c)
{
    struct deciding d;
    deciding_look(c, &d);
    if (d.decided != NULL)
        return d.decided;
    for (size_t i = 0; i < d.count; i++)
        if (d.views[i].standing == SUPPORT_PROPOSED && d.views[i].support->fitted)
            return d.views[i].support;
    return NULL;
}

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

void measuring_look(const struct chart *c, struct measuring *out)
{
    const struct template_set *set = c->cb->set;
    const struct support *support = in_mind(c);
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
        read_row(c, row);
    }
    /* one array for all rows: a relation is checked in one of them */
    struct relation_check *checks = arena_array(c->arena, set->relation_count, sizeof *checks);
    for (size_t i = 0; i < out->count; i++) {
        check_row(c, out, &out->rows[i], checks);
        checks += out->rows[i].check_count;
    }
    if (!find_suspect(c, out))
        suspect_by_rows(out);
}

struct section_state measuring_state(const struct chart *c)
{
    struct measuring m;
    struct section_state s = {0};
    size_t needed = 0, done = 0;
    measuring_look(c, &m);
    for (size_t i = 0; i < m.count; i++) {
        const struct measure_row *row = &m.rows[i];
        bool whole = row->count >= 2 && !row->third_wanted;
        s.shown++;
        s.answered += row->count > 0;
        needed += row->needed;
        done += row->needed && whole;
        s.missing += row->needed && !whole;
    }
    s.progress = s.answered == 0 ? PROGRESS_NOT_ASKED
                 : s.missing > 0 ? PROGRESS_NEEDED
                 : needed > 0    ? PROGRESS_DONE
                                 : PROGRESS_BEGUN;
    const char *again = m.suspect < m.count ? arena_printf(c->arena, ", look again at %s",
                                                           m.rows[m.suspect].measure->label)
                                            : "";
    s.summary = needed > 0 ? arena_printf(c->arena, "%zu of %zu needed%s", done, needed, again)
                           : arena_printf(c->arena, "%zu of %zu%s", s.answered, s.shown, again);
    return s;
}
