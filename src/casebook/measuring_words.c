/* What the measures screen says of a row, in words. */
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "calc/repeat.h"
#include "casebook/ids.h"
#include "casebook/measuring_inside.h"
#include <math.h>
#include <string.h>

static const char *with_unit(const struct chart *c, const struct measure *m, double base)
{
    const struct template_set *set = c->cb->set;
    if (m->dimension == DIM_LENGTH) {
        char mm[48]; /* differences of lengths are told in mm, whatever is measured in */
        return arena_printf(c->arena, "%s mm", number_format(base, 0, false, mm, sizeof mm));
    }
    return arena_printf(c->arena, "%s %s", reading_show(set, m, base, c->arena),
                        measure_unit(set, m)->name);
}

const char *measure_beside_words(const struct chart *c, const struct relation_check *check)
{
    const char *usual = "";
    if (check->band != NULL)
        usual = arena_printf(c->arena, "; usual %.2f to %.2f", check->band->low, check->band->high);
    const char *yours = "";
    if (check->learned != NULL)
        yours = arena_printf(c->arena, "; yours: %.2f, n %zu", check->learned->centre,
                             check->learned->n);
    const char *own = "";
    if (check->reference == BY_DOG)
        own = arena_printf(c->arena, "; last time %.2f to %.2f", check->low, check->high);
    return arena_printf(c->arena, "%.2f %s%s%s%s", check->ratio, check->relation->label, own, yours,
                        usual);
}

/* A thigh girth at another level, or with the knee otherwise, is another measure. */
static bool same_girth(const struct chart *c, const struct measure_row *row)
{
    static const char *const same[] = {"thigh_girth_level.1", "girth_stifle"};
    if (strcmp(row->measure->id, "thigh_girth") != 0 || c->before.entity == NULL)
        return true;
    for (size_t i = 0; i < sizeof same / sizeof *same; i++)
        if (strcmp(record_text(&c->visit, same[i]), record_text(&c->before, same[i])) != 0)
            return false;
    return true;
}

const char *measure_since_words(const struct chart *c, const struct measure_row *row)
{
    if (!row->has_before || row->count == 0 || row->third_wanted)
        return "";
    if (!same_girth(c, row))
        return "Not to be compared with last time: level or knee differ, or were not noted.";
    char buf[CLOCK_ROOM];
    int64_t at;
    const char *when = "";
    if (clock_parse_time(row->before_day, c->now, &at, NULL))
        when = arena_printf(c->arena, " (%s)", clock_short(clock_day(at), buf));
    double change = row->used - row->before;
    const char *limit = with_unit(c, row->measure, row->credible.change);
    const char *more = change > 0 ? "more" : "less";
    const char *by = with_unit(c, row->measure, fabs(change));
    const char *whose = row->credible.whose;
    if (!measure_moved(row))
        return arena_printf(c->arena, "As last time%s: %s %s, within what %s differ (%s).", when,
                            by, more, whose, limit);
    if (row->measure->dimension == DIM_LENGTH && change > 0)
        return arena_printf(c->arena, "Grew %s since last time%s, beyond what %s differ (%s).", by,
                            when, whose, limit);
    return arena_printf(c->arena, "%s %s than last time%s, beyond what %s differ (%s).", by, more,
                        when, whose, limit);
}

static double ease_of(const struct frame_dimension *d, const char *movement)
{
    double walks = d->ease_walks > 0 ? d->ease_walks : d->ease;
    double some = d->ease_some > 0 ? d->ease_some : d->ease;
    return strncmp(movement, "walks", 5) == 0 ? walks
           : strcmp(movement, "some") == 0    ? some
                                              : d->ease;
}

static const char *movement_words(const char *movement, bool matters)
{
    if (!matters)
        return "";
    return *movement == '\0'                    ? " while nobody said how the hind legs move"
           : strncmp(movement, "walks", 5) == 0 ? " because the hind legs walk"
           : strcmp(movement, "some") == 0      ? " because the hind legs move"
                                                : " because the hind legs hang";
}

static bool is_from(const struct frame_dimension *d, const struct measure *m, const char *support)
{
    bool for_it = *support == '\0';
    for (size_t i = 0; i < d->support_count && !for_it; i++)
        for_it = strcmp(d->supports[i]->id, support) == 0;
    /* the ease of a sum belongs to none of its terms alone */
    return for_it && d->term_count == 1 && d->terms[0].measure == m;
}

const char *measure_ease_words(const struct chart *c, const struct measure *m)
{
    const struct template_set *set = c->cb->set;
    const char *movement = record_text(&c->visit, "hind_movement");
    const char *support = record_text(&c->visit, ID_SUPPORT);
    for (size_t i = 0; i < set->frame_dimension_count; i++) {
        const struct frame_dimension *d = &set->frame_dimensions[i];
        if (!is_from(d, m, support))
            continue;
        double ease = ease_of(d, movement);
        bool matters = d->ease_some > 0 || d->ease_walks > 0;
        if (!(ease > 0))
            continue;
        return arena_printf(c->arena, "Read it snug: the program adds %s for %s%s; do not add it.",
                            with_unit(c, m, ease), d->label, movement_words(movement, matters));
    }
    return "";
}

const char *measure_coat_words(const struct chart *c, const struct measure *m)
{
    double depth;
    if (!m->coat || !number_lead(record_text(&c->visit, "coat_depth"), &depth))
        return "";
    return arena_printf(c->arena, "Coat %s at the hips: go in %s.", with_unit(c, m, depth),
                        with_unit(c, m, depth / 2));
}

/* ---- two scales ----------------------------------------------------------------------------- */

static const struct measure_row *row_named(const struct measuring *m, const char *id)
{
    for (size_t i = 0; i < m->count; i++)
        if (strcmp(m->rows[i].measure->id, id) == 0)
            return &m->rows[i];
    return NULL;
}

static const char *usual_share(const struct chart *c, const struct body_type *type)
{
    if (type != NULL && type->has_fore_share)
        return arena_printf(c->arena, "usual %.0f +- %.0f %% (%s)", 100 * type->fore_share,
                            100 * type->fore_share_sd, type->label);
    /* 552 dogs of 123 breeds: Anat Rec 2021, 304:78-89 */
    return "usual 60.4 %, 47.6 to 74.4 in 552 dogs";
}

const char *measure_share_words(const struct chart *c, const struct measuring *m)
{
    const struct measure_row *fore = row_named(m, "fore_scale"), *hind = row_named(m, "hind_scale"),
                             *mass = row_named(m, "body_mass");
    struct fore_share_out out;
    double f[READINGS_MOST], h[READINGS_MOST];
    size_t pairs = 0;
    for (int k = 0; fore != NULL && hind != NULL && k < READINGS_MOST; k++)
        if (fore->have[k] && hind->have[k]) {
            f[pairs] = fore->readings[k];
            h[pairs++] = hind->readings[k];
        }
    if (pairs == 0 || !fore_share_solve(f, h, pairs, &out, NULL))
        return "";
    const char *varies =
        pairs > 1 ? arena_printf(c->arena, ", CV %.1f %% of %zu", out.cv_percent, pairs) : "";
    const char *sum = "";
    if (mass != NULL && mass->count > 0)
        sum = arena_printf(c->arena, "; sum %.1f of %.1f kg", out.mass_kg, mass->used);
    return arena_printf(c->arena, "On the fore feet %.1f %%%s; %s%s.", 100 * out.share, varies,
                        usual_share(c, m->body_type), sum);
}

const char *measure_mark(const struct chart *c, const struct measure *m)
{
    const struct {
        const char *name, *item;
    } cells[] = {
        {"1st", reading_item(c->arena, m, 1)},  {"2nd", reading_item(c->arena, m, 2)},
        {"3rd", reading_item(c->arena, m, 3)},  {"checked", arena_printf(c->arena, "%s.so", m->id)},
        {"posture", posture_item(c->arena, m)},
    };
    const char *marks = "";
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++) {
        const char *mark = finding_mark(c->cb, c->arena, record_find(&c->visit, cells[i].item));
        if (*mark != '\0')
            marks = arena_printf(c->arena, "%s%s%s %s", marks, *marks != '\0' ? "; " : "",
                                 cells[i].name, mark);
    }
    return marks;
}

const char *item_mark(const struct chart *c, const char *item)
{
    const struct measure *m = template_measure(c->cb->set, item);
    return m != NULL ? measure_mark(c, m)
                     : finding_mark(c->cb, c->arena, record_find(&c->visit, item));
}
