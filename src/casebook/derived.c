#include "casebook/derived.h"
#include "base/arena.h"
#include "base/clock.h"
#include "casebook/because.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/scores.h"
#include "template/facts.h"
#include <math.h>
#include <string.h>

/* What a fact is, twice: for a condition and for a person. */
struct derived {
    const char *value, *words;
};

static bool number_of(const struct chart *c, const char *item, double *out)
{
    const char *text = chart_fact(c, item);
    return text != NULL && number_lead(text, out);
}

/* "63.2" with at most `decimals` places. */
static const char *digits(const struct chart *c, double value, int decimals)
{
    char number[48];
    return arena_str(c->arena, number_format(value, decimals, false, number, sizeof number));
}

/* Whole years between two ISO days: the birthday has come when month and day have. */
static int whole_years(const char *born, const char *on)
{
    double from = 0, to = 0;
    char year[5] = "";
    memcpy(year, born, 4);
    (void)number_lead(year, &from);
    memcpy(year, on, 4);
    (void)number_lead(year, &to);
    return (int)(to - from) - (strcmp(on + 4, born + 4) < 0);
}

static bool fact_age_years(const struct chart *c, struct derived *out)
{
    char today[CLOCK_ROOM];
    const char *born = record_text(&c->dog, ID_DOG_BORN);
    double years;
    if (strlen(born) == strlen("2026-11-24"))
        years = whole_years(born, clock_iso_day(clock_day(c->now), today));
    else if (!number_lead(record_text(&c->call, ID_CALL_AGE), &years))
        return false;
    if (years < 0)
        return false;
    out->value = digits(c, floor(years), 0);
    out->words = arena_printf(c->arena, "age: %s y", out->value);
    return true;
}

static bool fact_hours_since_onset(const struct chart *c, struct derived *out)
{
    int64_t at;
    const char *onset = chart_fact(c, ID_CALL_ONSET);
    if (onset == NULL)
        onset = chart_fact(c, "onset");
    if (onset == NULL || !clock_parse_time(onset, c->now, &at, NULL) || at > c->now)
        return false;
    double hours = (double)(c->now - at) / 3600e3;
    out->value = digits(c, hours, 2);
    out->words =
        hours < 48 ? arena_printf(c->arena, "onset: %s h ago", digits(c, hours, hours < 2 ? 1 : 0))
                   : arena_printf(c->arena, "onset: %s days ago", digits(c, hours / 24, 0));
    return true;
}

static const struct body_type *body_type_of(const struct chart *c)
{
    const struct template_set *set = c->cb->set;
    const char *own = record_text(&c->dog, ID_DOG_BODY),
               *breed = record_text(&c->dog, ID_DOG_BREED);
    if (own[0] != '\0')
        return template_body_type(set, own);
    if (breed[0] == '\0')
        breed = record_text(&c->call, ID_CALL_BREED);
    const struct breed *known = breed[0] == '\0' ? NULL : template_breed(set, breed);
    return known == NULL ? NULL : known->body_type;
}

static bool fact_body_type(const struct chart *c, struct derived *out)
{
    const struct body_type *type = body_type_of(c);
    if (type == NULL)
        return false;
    out->value = type->id;
    out->words = arena_printf(c->arena, "body type: %s", type->label);
    return true;
}

/* This visit's scale, else the last one's, else what is known of the dog, else the caller's guess.
 */
static bool fact_mass_kg(const struct chart *c, struct derived *out)
{
    const char *last = record_text(&c->before, "body_mass.1");
    const char *const sources[] = {measure_fact(c, "body_mass"), last,
                                   record_text(&c->dog, ID_DOG_MASS),
                                   record_text(&c->call, ID_CALL_MASS)};
    double kg;
    for (size_t i = 0; i < sizeof sources / sizeof *sources; i++)
        if (sources[i] != NULL && number_lead(sources[i], &kg)) {
            out->value = sources[i];
            out->words = arena_printf(c->arena, "weight: %s kg", digits(c, kg, 1));
            return true;
        }
    return false;
}

static const struct support *support_of(const struct chart *c)
{
    const char *id = record_text(&c->visit, ID_SUPPORT);
    return id[0] == '\0' ? NULL : template_support(c->cb->set, id);
}

static bool fact_support(const struct chart *c, struct derived *out)
{
    const struct support *s = support_of(c);
    if (s == NULL)
        return false;
    out->value = s->id;
    out->words = arena_printf(c->arena, "support: %s", s->label);
    return true;
}

static bool fact_support_fitted(const struct chart *c, struct derived *out)
{
    const struct support *s = support_of(c);
    if (s == NULL)
        return false;
    out->value = s->fitted ? "yes" : "no";
    out->words = arena_printf(c->arena, "support: %s", s->label);
    return true;
}

static bool fact_fore_share(const struct chart *c, struct derived *out)
{
    double fore = 0, hind = 0;
    if (!number_of(c, "fore_scale", &fore) || !number_of(c, "hind_scale", &hind) ||
        !(fore + hind > 0))
        return false;
    out->value = digits(c, 100 * fore / (fore + hind), 1);
    out->words = arena_printf(c->arena, "on the fore feet: %s %%", out->value);
    return true;
}

static bool fact_overweight_points(const struct chart *c, struct derived *out)
{
    double score;
    if (!number_of(c, "body_condition", &score))
        return false;
    out->value = digits(c, fmax(0, score - 5), 1);
    out->words = arena_printf(c->arena, "body condition: %s of 9", digits(c, score, 1));
    return true;
}

static bool fact_ramp_deg(const struct chart *c, struct derived *out)
{
    double rise = 0, run = 0;
    if (!number_of(c, "ramp_rise", &rise) || rise < 0)
        return false;
    if (rise > 0 && (!number_of(c, "ramp_run", &run) || !(run > 0)))
        return false;
    double deg = rise > 0 ? atan2(rise, run) * 180 / acos(-1) : 0;
    out->value = digits(c, deg, 2);
    out->words = arena_printf(c->arena, "steepest ramp: %s deg", digits(c, deg, 1));
    return true;
}

static bool fact_pain_alert(const struct chart *c, struct derived *out)
{
    struct score_kept kept;
    const char *value = chart_fact(c, "pain_score");
    if (value == NULL || !score_parse(c->cb->set, value, &kept))
        return false;
    const struct score_cut *cut = score_cut_of(&kept);
    out->value = cut != NULL && cut->alert ? "yes" : "no";
    out->words = arena_printf(c->arena, "pain score: %s", score_words(&kept, c->arena));
    return true;
}

static const struct {
    const char *name;
    bool (*fact)(const struct chart *c, struct derived *out);
} table[] = {
#define X(name, told) {#name, fact_##name},
    DERIVED_FACTS(X)
#undef X
};

static struct derived look_up(const struct chart *c, const char *name)
{
    struct derived found = {0};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        if (table[i].name[0] == name[0] && strcmp(table[i].name, name) == 0 &&
            !table[i].fact(c, &found))
            return (struct derived){0};
    return found;
}

const char *derived_value(const struct chart *c, const char *name)
{
    return look_up(c, name).value;
}

const char *derived_words(const struct chart *c, const char *name)
{
    return look_up(c, name).words;
}
