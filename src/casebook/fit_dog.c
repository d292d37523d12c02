/* What a chart says of the dog, for the frames. */
#include "calc/repeat.h"
#include "casebook/fit_inside.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include <math.h>
#include <string.h>

bool fit_number(const struct chart *c, const char *item, double *out)
{
    const char *text = chart_fact(c, item);
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

static double within_of(const struct measuring *m, const char *id)
{
    const struct measure_row *r = fit_measure(m, id);
    return r == NULL || r->count == 0 ? 0 : fit_reading_within(r);
}

/* From two scales the uncertainty is that of the scales, or of the repeats when that is more. */
static bool from_scales(const struct measuring *m, struct fit_dog *dog)
{
    const struct measure_row *fore = fit_measure(m, "fore_scale"),
                             *hind = fit_measure(m, "hind_scale");
    struct fore_share_out share = {0};
    if (fore == NULL || hind == NULL || fore->count == 0 || hind->count == 0 ||
        !(fore->used + hind->used > 0))
        return false;
    double sum = fore->used + hind->used, uf = fit_reading_within(fore),
           uh = fit_reading_within(hind);
    double scales = hypot(hind->used * uf, fore->used * uh) / (sum * sum);
    size_t pairs = (size_t)(fore->count < hind->count ? fore->count : hind->count);
    bool repeats =
        pairs > 1 && fore_share_solve(fore->readings, hind->readings, pairs, &share, NULL);
    dog->fore_share_within = fmax(scales, repeats ? share.sd / sqrt((double)pairs) : 0);
    return true;
}

static void fore_share(const struct chart *c, const struct measuring *m, struct fit_dog *dog)
{
    double percent;
    const char *type = chart_fact(c, "body_type");
    const struct body_type *body = type == NULL ? NULL : template_body_type(c->cb->set, type);
    if (fit_number(c, "fore_share", &percent)) {
        dog->fore_share = percent / 100;
        dog->fore_share_from = "two scales";
        if (!from_scales(m, dog))
            dog->fore_share_within = c->cb->set->bench.fore_share_within;
        return;
    }
    dog->fore_share = balance_defaults().fore_share;
    dog->fore_share_from = "usual for dogs";
    dog->fore_share_within = c->cb->set->bench.fore_share_within;
    if (body != NULL && body->has_fore_share) {
        dog->fore_share = body->fore_share;
        dog->fore_share_from = arena_printf(c->arena, "usual for a %s dog", body->label);
        if (body->fore_share_sd > 0)
            dog->fore_share_within = body->fore_share_sd;
    }
}

static bool sizes(const struct chart *c, struct fit_dog *dog, const char **why)
{
    const struct {
        const char *fact, *label;
        double *at;
    } needed[] = {{"mass_kg", "weight", &dog->kg},
                  {"stance_length", "stance length", &dog->stance_mm},
                  {"withers_height", "withers height", &dog->withers_mm}};
    const char *missing = "";
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++) {
        const struct measure *m = template_measure(c->cb->set, needed[i].fact);
        if (!fit_number(c, needed[i].fact, needed[i].at))
            missing = arena_printf(c->arena, "%s%s%s", missing, *missing == '\0' ? "" : ", ",
                                   m != NULL ? m->label : needed[i].label);
    }
    if (*missing != '\0')
        *why = arena_printf(c->arena, "still to measure: %s", missing);
    return *missing == '\0';
}

bool fit_dog_read(const struct chart *c, struct fit_dog *dog, const char **why)
{
    double percent;
    struct measuring m;
    *dog = (struct fit_dog){.cg_height_share = NAN};
    if (!sizes(c, dog, why))
        return false;
    measuring_look(c, &m);
    dog->kg_within = within_of(&m, "body_mass");
    dog->stance_within = within_of(&m, "stance_length");
    dog->withers_within = within_of(&m, "withers_height");
    if (!fit_number(c, "hip_width", &dog->hip_mm))
        dog->hip_mm = 0;
    if (!fit_number(c, "fore_spacing", &dog->fore_spacing_mm))
        dog->fore_spacing_mm = 0;
    dog->hind_support_known = fit_number(c, "hind_support_share", &percent);
    dog->hind_support = dog->hind_support_known ? percent / 100 : 0;
    if (fit_number(c, "cg_height_share", &percent))
        dog->cg_height_share = percent / 100;
    fore_share(c, &m, dog);
    return true;
}
