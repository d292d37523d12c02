/* What a chart says of the dog, for the frames. */
#include "calc/repeat.h"
#include "casebook/fit_inside.h"
#include "casebook/ids.h"
#include "casebook/measuring_inside.h"
#include <math.h>
#include <string.h>

struct past fit_past(const struct chart *c)
{
    struct past p;
    if (!past_load(c, &p, NULL))
        p.count = 0;
    return p;
}

bool fit_number(const struct past *p, const char *item, double *out)
{
    const char *text = past_value(p, item);
    return text != NULL && number_lead(text, out);
}

const struct measure_row *fit_measure(const struct measuring *m, const char *id)
{
    for (size_t i = 0; i < m->count; i++)
        if (strcmp(m->rows[i].measure->id, id) == 0)
            return &m->rows[i];
    return NULL;
}

/* Half of what two readings parted by is the standard deviation of their mean; readings that agree
 * by luck are not trusted further than what two may part by, taken as a rectangle. */
double fit_reading_within(const struct measure_row *r)
{
    double rectangle = r->limit / sqrt(12);
    return r->count < 2 ? 2 * rectangle : fmax(r->spread / 2, rectangle);
}

/* The readings of a measure at the visit that speaks for it. */
static struct measure_row readings_of(const struct past *p, const char *id)
{
    struct measure_row row = {.measure = template_measure(p->chart->cb->set, id)};
    const struct chart *visit = past_visit(p, id);
    if (row.measure != NULL && visit != NULL)
        measuring_row(p->chart->arena, &visit->visit, &row);
    return row;
}

static double within_of(const struct past *p, const char *id)
{
    struct measure_row row = readings_of(p, id);
    return row.count == 0 ? 0 : fit_reading_within(&row);
}

/* From two scales the uncertainty is that of the scales, or of the repeats when that is more. */
static bool from_scales(const struct past *p, struct fit_dog *dog)
{
    struct measure_row fore = readings_of(p, "fore_scale"), hind = readings_of(p, "hind_scale");
    struct fore_share_out share = {0};
    if (fore.count == 0 || hind.count == 0 || !(fore.used + hind.used > 0))
        return false;
    double sum = fore.used + hind.used, uf = fit_reading_within(&fore),
           uh = fit_reading_within(&hind);
    double scales = hypot(hind.used * uf, fore.used * uh) / (sum * sum);
    size_t pairs = (size_t)(fore.count < hind.count ? fore.count : hind.count);
    bool repeats = pairs > 1 && fore_share_solve(fore.readings, hind.readings, pairs, &share, NULL);
    dog->fore_share_within = fmax(scales, repeats ? share.sd / sqrt((double)pairs) : 0);
    return true;
}

static void fore_share(const struct past *p, struct fit_dog *dog)
{
    double percent;
    const struct template_set *set = p->chart->cb->set;
    const char *type = past_value(p, "body_type");
    const struct body_type *body = type == NULL ? NULL : template_body_type(set, type);
    if (fit_number(p, "fore_share", &percent)) {
        dog->fore_share = percent / 100;
        dog->fore_share_from = "two scales";
        if (!from_scales(p, dog))
            dog->fore_share_within = set->bench.fore_share_within;
        return;
    }
    dog->fore_share = balance_defaults().fore_share;
    dog->fore_share_from = "usual for dogs";
    dog->fore_share_within = set->bench.fore_share_within;
    if (body != NULL && body->has_fore_share) {
        dog->fore_share = body->fore_share;
        dog->fore_share_from = arena_printf(p->chart->arena, "usual for a %s dog", body->label);
        if (body->fore_share_sd > 0)
            dog->fore_share_within = body->fore_share_sd;
    }
}

static bool sizes(const struct past *p, struct fit_dog *dog, const char **why)
{
    const struct {
        const char *fact, *label;
        double *at;
    } needed[] = {{"mass_kg", "weight", &dog->kg},
                  {"stance_length", "stance length", &dog->stance_mm},
                  {"withers_height", "withers height", &dog->withers_mm}};
    const char *missing = "";
    struct arena *a = p->chart->arena;
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++) {
        const struct measure *m = template_measure(p->chart->cb->set, needed[i].fact);
        if (!fit_number(p, needed[i].fact, needed[i].at))
            missing = arena_printf(a, "%s%s%s", missing, *missing == '\0' ? "" : ", ",
                                   m != NULL ? m->label : needed[i].label);
    }
    if (*missing != '\0')
        *why = arena_printf(a, "still to measure: %s", missing);
    return *missing == '\0';
}

/* The oldest of the lengths says how old the picture of the dog is. */
static const char *measured_on(const struct past *p)
{
    const struct chart *stance = past_visit(p, "stance_length"),
                       *withers = past_visit(p, "withers_height");
    const char *today = record_text(&p->chart->visit, ID_VISIT_DAY), *oldest = today;
    const struct chart *both[] = {stance, withers};
    for (size_t i = 0; i < 2; i++)
        if (both[i] != NULL && strcmp(record_text(&both[i]->visit, ID_VISIT_DAY), oldest) < 0)
            oldest = record_text(&both[i]->visit, ID_VISIT_DAY);
    return oldest == today ? "" : oldest;
}

bool fit_dog_read(const struct past *p, struct fit_dog *dog, const char **why)
{
    double percent;
    *dog = (struct fit_dog){.cg_height_share = NAN, .measured_on = ""};
    if (!sizes(p, dog, why))
        return false;
    dog->measured_on = measured_on(p);
    dog->kg_within = within_of(p, "body_mass");
    dog->stance_within = within_of(p, "stance_length");
    dog->withers_within = within_of(p, "withers_height");
    if (!fit_number(p, "hip_width", &dog->hip_mm))
        dog->hip_mm = 0;
    if (!fit_number(p, "fore_spacing", &dog->fore_spacing_mm))
        dog->fore_spacing_mm = 0;
    dog->hind_support_known = fit_number(p, "hind_support_share", &percent);
    dog->hind_support = dog->hind_support_known ? percent / 100 : 0;
    if (fit_number(p, "cg_height_share", &percent))
        dog->cg_height_share = percent / 100;
    fore_share(p, dog);
    return true;
}
