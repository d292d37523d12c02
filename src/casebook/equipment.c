#include "casebook/equipment.h"
#include "base/clock.h"
#include "casebook/build.h"
#include "casebook/fit_inside.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Larger than the dog needs by up to this fits as it is, or is padded out; practice defaults, no
 * source. */
static const double CLOSE_MM = 5, PADDED_MM = 25;

bool equipment_new(struct casebook *cb, struct arena *a, const char *name, struct record *out,
                   struct fault *f)
{
    if (!record_new(cb, a, "equipment", out, f) || !casebook_begin(cb, f))
        return false;
    bool ok = record_put(cb, out, "equipment.name", name, "", f) &&
              record_put(cb, out, "equipment.state", "here", "", f);
    return casebook_end(cb, ok, f);
}

/* ---- does it fit ----------------------------------------------------------------------------- */

/* What is too small is a no, what is too large is padded or a no; the worst of all counts. */
static void hold_against(struct equipment *e, struct arena *a, const char *what, double needed,
                         double least, double most, double slack)
{
    const char *word = NULL;
    double by = 0;
    enum equipment_fits fits = FITS_NO;
    if (needed > most + 1e-9) {
        word = "too small";
        by = needed - most;
    } else if (needed < least - CLOSE_MM) {
        word = "too large";
        by = least - needed;
        fits = by <= slack ? FITS_PADDED : FITS_NO;
    }
    if (word == NULL)
        return;
    e->fits = fits > e->fits ? fits : e->fits;
    e->why =
        arena_printf(a, "%s%s%s %.0f mm %s", e->why, *e->why != '\0' ? "; " : "", what, by, word);
}

static void check_size(struct equipment *e, const struct chart *dog, const struct record *r,
                       struct arena *a, const char *dimension, const char *low_item,
                       const char *high_item, double slack)
{
    struct build_dimension needed;
    struct fault f = {0};
    double low = 0, high = 0;
    bool has_low = number_lead(record_text(r, low_item), &low);
    bool has_high = number_lead(record_text(r, high_item), &high);
    if (!has_low && !has_high)
        return;
    if (!build_dimension_of(dog, e->frame->support, dimension, &needed, &f)) {
        if (f.kind == FAULT_MISSING) {
            e->fits = FITS_NO;
            e->why = arena_printf(a, "%s%s%s", e->why, *e->why != '\0' ? "; " : "", f.text);
        }
        return;
    }
    hold_against(e, a, needed.label, needed.snug_mm + needed.ease_mm, has_low ? low : -INFINITY,
                 has_high ? high : INFINITY, slack);
}

static void check_dog(struct equipment *e, const struct chart *dog, const struct record *r,
                      struct arena *a)
{
    struct fitting fit;
    double most = 0;
    e->fits = FITS_YES;
    fitting_look_with(dog, e->frame, &fit);
    if (fit.count == 0) {
        e->fits = FITS_NO;
        e->why = arena_str(a, fit.why);
        return;
    }
    if (number_lead(record_text(r, "equipment.mass_high"), &most) && fit.dog.kg > most) {
        e->fits = FITS_NO;
        e->why = arena_printf(a, "for %.0f kg at most", most);
    }
    check_size(e, dog, r, a, "inside_width", "equipment.width", "equipment.width", PADDED_MM);
    check_size(e, dog, r, a, "rest_opening", "equipment.opening", "equipment.opening", PADDED_MM);
    check_size(e, dog, r, a, "rail_length", "equipment.rail_low", "equipment.rail_high", 0);
    check_size(e, dog, r, a, "rest_height", "equipment.rest_low", "equipment.rest_high", 0);
    if (fit.proposed < fit.count) {
        e->axle_mm = fit.rows[fit.proposed].axle_mm;
        e->step = fit.proposed + 1;
        e->steps = fit.count;
    } else {
        e->fits = FITS_NO;
        e->why = arena_printf(a, "%s%s%s", e->why, *e->why != '\0' ? "; " : "", fit.why_proposed);
    }
}

/* ---- the register ---------------------------------------------------------------------------- */

struct uuids {
    struct arena *a;
    const char **items;
    size_t count, room;
};

static bool keep(void *of, const char *entity)
{
    struct uuids *u = of;
    u->items = arena_grow(u->a, (void *)u->items, u->count, &u->room, sizeof *u->items);
    u->items[u->count++] = arena_str(u->a, entity);
    return true;
}

static const char *shown(struct casebook *cb, struct arena *a, const struct record *r,
                         const char *item)
{
    const char *text = record_text(r, item);
    return *text == '\0' ? "" : finding_show(cb->set, item, text, a);
}

static bool read_one(struct casebook *cb, struct arena *a, const char *entity,
                     const struct chart *dog, struct equipment *e, struct fault *f)
{
    struct record r;
    if (!record_load(cb, a, entity, &r, f))
        return false;
    const char *frame = record_text(&r, "equipment.frame"),
               *with = shown(cb, a, &r, "equipment.with");
    *e = (struct equipment){.entity = entity,
                            .name = record_text(&r, "equipment.name"),
                            .state = record_text(&r, "equipment.state"),
                            .where = shown(cb, a, &r, "equipment.state"),
                            .cleaned = shown(cb, a, &r, "equipment.cleaned"),
                            .checked = shown(cb, a, &r, "equipment.checked"),
                            .setting = record_text(&r, "equipment.setting"),
                            .due = "",
                            .why = ""};
    for (size_t i = 0; i < cb->set->frame_count; i++)
        if (strcmp(cb->set->frames[i].id, frame) == 0)
            e->frame = &cb->set->frames[i];
    bool away = strcmp(e->state, "out") == 0;
    if (away) {
        day_number due;
        const char *day = record_text(&r, "equipment.due");
        e->due = shown(cb, a, &r, "equipment.due");
        e->late = clock_parse_day(day, clock_today(), &due, NULL) && due < clock_today();
    }
    if ((away || strcmp(e->state, "waits") == 0) && *with != '\0')
        e->where = arena_printf(a, "%s, %s", e->where, with);
    if (dog != NULL && e->frame != NULL)
        check_dog(e, dog, &r, a);
    else if (dog != NULL)
        e->why = "its kind of frame is not among the templates";
    return true;
}

static int in_order(const void *x, const void *y)
{
    const struct equipment *a = x, *b = y;
    static const int rank[] = {
        [FITS_YES] = 0, [FITS_PADDED] = 1, [FITS_NOT_ASKED] = 2, [FITS_NO] = 3};
    if (a->fits != b->fits)
        return rank[a->fits] - rank[b->fits];
    return a->late != b->late ? (int)b->late - (int)a->late : strcmp(a->name, b->name);
}

bool equipment_look(struct casebook *cb, struct arena *a, const struct chart *dog,
                    const struct equipment **out, size_t *count, struct fault *f)
{
    struct uuids all = {.a = a};
    if (!journal_each(cb->journal, "equipment", keep, &all, f))
        return false;
    struct equipment *rows = arena_array(a, all.count, sizeof *rows);
    size_t n = 0;
    for (size_t i = 0; i < all.count; i++) {
        if (!read_one(cb, a, all.items[i], dog, &rows[n], f))
            return false;
        n += strcmp(rows[n].state, "gone") != 0;
    }
    if (n > 0)
        qsort(rows, n, sizeof *rows, in_order);
    *out = rows;
    *count = n;
    return true;
}
