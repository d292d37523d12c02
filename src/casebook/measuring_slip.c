/* The keystroke that ends a number: does it look like a slip of the hand? */
#include "base/arena.h"
#include "calc/proportion.h"
#include "casebook/ids.h"
#include "casebook/measuring_inside.h"
#include <math.h>
#include <string.h>

/* What the number should be about, and by what. */
struct expected {
    double low, high;
    const char *beside; /* "the other reading" */
    bool either;        /* that one may be the wrong one instead */
    bool secret;        /* its number is not to be told */
};

static const double same = 1.15;  /* two readings of one thing */
static const double later = 1.3;  /* the same dog at another visit */
static const double guess = 1.5;  /* a weight told on the telephone */
static const double clear = 1.25; /* beyond what was expected before anything is said */

static bool about(struct expected *out, double value, double factor, const char *beside)
{
    if (!(value > 0))
        return false;
    *out = (struct expected){.low = value / factor, .high = value * factor, .beside = beside};
    return true;
}

static bool by_reading(const struct measure_row *row, int reading, bool blind, struct expected *out)
{
    for (int k = 0; k < READINGS_MOST; k++)
        if (k != reading - 1 && row->have[k] &&
            about(out, row->readings[k], same, "the other reading")) {
            out->secret = blind;
            return true;
        }
    return false;
}

static bool by_known_weight(const struct chart *c, const struct measure_row *row,
                            struct expected *out)
{
    double kg;
    const char *known = record_text(&c->dog, ID_DOG_MASS);
    if (*known == '\0')
        known = record_text(&c->call, ID_CALL_MASS);
    return strcmp(row->measure->id, "body_mass") == 0 && number_lead(known, &kg) &&
           about(out, kg, guess, "the weight known before");
}

/* The narrowest band of a relation whose other side is in. */
static bool by_relation(const struct chart *c, const struct measuring *m,
                        const struct measure_row *row, struct expected *out)
{
    const struct template_set *set = c->cb->set;
    double narrowest = INFINITY;
    for (size_t i = 0; i < set->relation_count; i++) {
        const struct relation *r = &set->relations[i];
        const struct band *band = nearest_band(r, m->body_type);
        bool of = r->of == row->measure;
        const struct measure_row *other = measuring_find(m, of ? r->to : r->of);
        bool plain = r->plus == NULL && r->across == NULL;
        if (band == NULL || !plain || (!of && r->to != row->measure) || other == NULL ||
            other->count == 0 || band->high / band->low >= narrowest)
            continue;
        narrowest = band->high / band->low;
        *out = (struct expected){.low = of ? other->used * band->low : other->used / band->high,
                                 .high = of ? other->used * band->high : other->used / band->low,
                                 .beside = other->measure->label,
                                 .either = !other->accepted};
    }
    return narrowest < INFINITY;
}

static const struct {
    enum dimension dimension;
    double factor;
    const char *words;
} slips[] = {
    {DIM_NONE, 10, "ten times too much, a decimal mark lost?"},
    {DIM_NONE, 0.1, "ten times too little, a decimal mark too early?"},
    {DIM_LENGTH, 2.54, "2.54 times too much, centimetres for inches?"},
    {DIM_LENGTH, 1 / 2.54, "2.54 times too little, inches for centimetres?"},
    {DIM_MASS, 2.20462262, "2.2 times too much, pounds for kilograms?"},
    {DIM_MASS, 1 / 2.20462262, "2.2 times too little, kilograms for pounds?"},
};

const char *reading_slip(const struct chart *c, const struct measuring *m, size_t at, int reading,
                         double base, bool blind)
{
    const struct measure_row *row = &m->rows[at];
    struct expected e = {0};
    if (!(base > 0) || (!by_reading(row, reading, blind, &e) &&
                        !(row->has_before && about(&e, row->before, later, "last time")) &&
                        !by_known_weight(c, row, &e) && !by_relation(c, m, row, &e)))
        return NULL;
    if (base > e.low / clear && base < e.high * clear)
        return NULL;
    size_t best = sizeof slips / sizeof *slips;
    double nearest = INFINITY, middle = sqrt(e.low * e.high);
    for (size_t i = 0; i < sizeof slips / sizeof *slips; i++) {
        double meant = base / slips[i].factor, off = fabs(log(meant / middle));
        bool fits = meant > e.low / 1.1 && meant < e.high * 1.1;
        bool possible =
            slips[i].dimension == DIM_NONE || slips[i].dimension == row->measure->dimension;
        if (fits && possible && off < nearest) {
            best = i;
            nearest = off;
        }
    }
    if (best == sizeof slips / sizeof *slips)
        return NULL;
    const char *would = e.secret ? ""
                                 : arena_printf(c->arena, " It would be %s.",
                                                reading_show(c->cb->set, row->measure,
                                                             base / slips[best].factor, c->arena));
    return arena_printf(c->arena, "Beside %s%s this is %s%s Enter again keeps it.", e.beside,
                        e.either ? " (or that is wrong)" : "", slips[best].words, would);
}
