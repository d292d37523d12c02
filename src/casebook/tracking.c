/* How near the model came: what a scale said in the frame against what was predicted. */
#include "casebook/bench.h"
#include "casebook/fit_inside.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include <math.h>
#include <string.h>

enum { FITTINGS_MOST = 200, VISITS_MOST = 1000 };

bool bench_keep_residual(struct chart *c, const struct fit_setting *s, double later,
                         struct fault *f)
{
    char number[32];
    if (c->visit.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no visit to keep it in");
    if (!casebook_begin(c->cb, f))
        return false;
    const char *now = arena_printf(
        c->arena, "%s %%", number_format(100 * s->hind_support, 1, false, number, sizeof number));
    bool ok = s->frame->model == FRAME_FRONT ||
              record_put(c->cb, &c->visit, "hind_support_share", now, reason_of(c), f);
    if (ok && !isnan(later)) {
        const char *then = arena_printf(
            c->arena, "%s %%", number_format(100 * later, 1, false, number, sizeof number));
        ok = record_put(c->cb, &c->visit, ID_FIT_LATER, then, reason_of(c), f);
    }
    return end_with(c->cb, ok, &c->visit, f);
}

/* The newest value of an item with its visit's day, among visits not after `day`. */
static bool newer(struct casebook *cb, struct arena *a, const char *visit, const char *day,
                  const char **newest, double *kg, struct fault *f)
{
    const char *on, *load;
    double value;
    if (!journal_first(cb->journal, a, visit, ID_VISIT_DAY, &on, f))
        return false;
    if (strcmp(on, day) > 0 || strcmp(on, *newest) < 0)
        return true;
    if (!journal_first(cb->journal, a, visit, ID_BUILD_LOAD, &load, f))
        return false;
    if (!number_lead(load, &value))
        return true;
    *newest = on;
    *kg = value;
    return true;
}

/* `load`: what was built for at that visit. */
static bool predicted_for(struct casebook *cb, struct arena *a, const char *dog, const char *day,
                          const char *load, double *kg, struct fault *f)
{
    struct ids visits;
    const char *newest = "";
    if (number_lead(load, kg))
        return true;
    *kg = NAN;
    if (!journal_by_value(cb->journal, a, ID_VISIT_DOG, dog, VISITS_MOST, &visits, f))
        return false;
    for (size_t i = 0; i < visits.count; i++)
        if (!newer(cb, a, visits.uuids[i], day, &newest, kg, f))
            return false;
    return true;
}

bool bench_predicted(struct casebook *cb, struct arena *a, const struct record *visit, double *kg,
                     struct fault *f)
{
    return predicted_for(cb, a, record_text(visit, ID_VISIT_DOG), record_text(visit, ID_VISIT_DAY),
                         record_text(visit, ID_BUILD_LOAD), kg, f);
}

/* All fittings are asked, of each only what is compared. */
static bool one_fitting(struct casebook *cb, struct arena *a, const char *visit, double *predicted,
                        double *measured, struct fault *f)
{
    const char *dog, *day, *load, *weighed;
    *measured = NAN;
    if (!journal_first(cb->journal, a, visit, ID_VISIT_DOG, &dog, f) ||
        !journal_first(cb->journal, a, visit, ID_VISIT_DAY, &day, f) ||
        !journal_first(cb->journal, a, visit, ID_BUILD_LOAD, &load, f) ||
        !journal_first(cb->journal, a, visit, ID_FIT_MEASURED, &weighed, f) ||
        !predicted_for(cb, a, dog, day, load, predicted, f))
        return false;
    if (!number_lead(weighed, measured))
        *measured = NAN;
    return true;
}

bool bench_track(struct casebook *cb, struct arena *a, struct track_out *out, struct fault *f)
{
    struct ids fitted;
    if (!journal_by_range(cb->journal, a, ID_FIT_MEASURED, "", "~", FITTINGS_MOST, &fitted, f))
        return false;
    double *predicted = arena_array(a, fitted.count, sizeof *predicted);
    double *measured = arena_array(a, fitted.count, sizeof *measured);
    size_t n = 0;
    for (size_t i = 0; i < fitted.count; i++) {
        if (!one_fitting(cb, a, fitted.uuids[i], &predicted[n], &measured[n], f))
            return false;
        n += !isnan(predicted[n]) && !isnan(measured[n]);
    }
    return track_solve(predicted, measured, n, out, f);
}
