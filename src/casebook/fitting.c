#include "casebook/fitting.h"
#include "base/arena.h"
#include "base/text.h"
#include "casebook/deciding.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include "casebook/measuring.h"
#include <math.h>
#include <string.h>

static bool number_of(const struct chart *c, const char *item, double *out)
{
    const char *text = chart_fact(c, item);
    return text != NULL && number_lead(text, out);
}

/* ---- which frame ---------------------------------------------------------------------------- */

static const struct support *support_to_fit(const struct chart *c, const char **why)
{
    struct deciding d;
    deciding_look(c, &d);
    if (d.decided != NULL) {
        if (!d.decided->fitted)
            *why = arena_printf(c->arena, "%s: nothing to fit", d.decided->label);
        return d.decided->fitted ? d.decided : NULL;
    }
    for (size_t i = 0; i < d.count; i++)
        if (d.views[i].standing == SUPPORT_PROPOSED && d.views[i].support->fitted)
            return d.views[i].support;
    *why = "decide on a support first";
    return NULL;
}

/* The frame chosen before, else the first of this support that is meant for the dog's weight. */
static const struct frame *frame_for(const struct chart *c, const struct support *s, double kg)
{
    const struct template_set *set = c->cb->set;
    const char *chosen = record_text(&c->visit, ID_FIT_FRAME);
    for (size_t i = 0; i < set->frame_count; i++)
        if (set->frames[i].support == s && strcmp(set->frames[i].id, chosen) == 0)
            return &set->frames[i];
    for (size_t i = 0; i < set->frame_count; i++)
        if (set->frames[i].support == s && kg >= set->frames[i].mass_low_kg &&
            kg <= set->frames[i].mass_high_kg)
            return &set->frames[i];
    return NULL;
}

/* ---- what goes into the balance ------------------------------------------------------------- */

struct dog_size {
    double kg, stance_mm, withers_mm;
};

static bool size_of(const struct chart *c, struct dog_size *out, const char **why)
{
    const struct {
        const char *fact;
        double *at;
    } needed[] = {{"mass_kg", &out->kg},
                  {"stance_length", &out->stance_mm},
                  {"withers_height", &out->withers_mm}};
    struct text missing;
    text_init(&missing, 200);
    for (size_t i = 0; i < 3; i++) {
        const struct measure *m = template_measure(c->cb->set, needed[i].fact);
        if (!number_of(c, needed[i].fact, needed[i].at))
            text_addf(&missing, "%s%s", missing.len > 0 ? ", " : "",
                      m != NULL ? m->label
                      : i == 0  ? "weight"
                                : needed[i].fact);
    }
    if (missing.len > 0)
        *why = arena_printf(c->arena, "still to measure: %s", missing.s);
    bool whole = missing.len == 0;
    text_free(&missing);
    return whole;
}

static double fore_share_of(const struct chart *c, const char **from)
{
    double percent;
    const char *type = chart_fact(c, "body_type");
    const struct body_type *body = type == NULL ? NULL : template_body_type(c->cb->set, type);
    if (number_of(c, "fore_share", &percent)) {
        *from = "two scales";
        return percent / 100;
    }
    if (body != NULL && body->has_fore_share) {
        *from = arena_printf(c->arena, "usual for a %s dog", body->label);
        return body->fore_share;
    }
    *from = "usual for dogs";
    return balance_defaults().fore_share;
}

static struct balance_in balance_of(const struct chart *c, const struct frame *frame,
                                    const struct dog_size *dog, const char **fore_share_from)
{
    struct balance_in in = balance_defaults();
    double percent;
    in.dog_mass_kg = dog->kg;
    in.stance_length_mm = dog->stance_mm;
    in.fore_share = fore_share_of(c, fore_share_from);
    in.hind_support = number_of(c, "hind_support_share", &percent) ? percent / 100 : 0;
    in.dog_cg_height_mm =
        dog->withers_mm *
        (number_of(c, "cg_height_share", &percent) ? percent / 100 : frame->dog_cg_height_at);
    in.rest_mm = frame->rest_at * dog->stance_mm;
    in.bar_mm = frame->bar_at * dog->stance_mm;
    in.frame_mass_kg = frame->frame_mass_share * dog->kg;
    in.frame_cg_mm = frame->cg_at * dog->stance_mm;
    in.frame_cg_height_mm = frame->cg_height_at * dog->withers_mm;
    in.wheels_mass_kg = frame->wheels_mass_share * dog->kg;
    in.wheel_diameter_mm = frame->wheel_diameter_at * dog->withers_mm;
    in.slope_deg = 0;
    return in;
}

/* ---- the positions -------------------------------------------------------------------------- */

static struct fit_row try_axle(const struct chart *c, const struct fitting *fit, double axle_mm)
{
    struct balance_in in = fit->in;
    struct fault f = {0};
    struct fit_row row = {.axle_mm = axle_mm, .why = ""};
    in.axle_mm = axle_mm;
    if (!balance_solve(&in, &row.out, &f)) {
        row.refused = true;
        row.why = arena_str(c->arena, f.text);
        return row;
    }
    row.over_relief = row.out.relief > fit->frame->relief_most + 1e-9;
    row.grip_short = row.out.traction_limit_deg <= fit->ramp_deg;
    row.tip_short = row.out.uphill_limit_deg <= fit->ramp_deg;
    return row;
}

static bool fits(const struct fit_row *r)
{
    return !r->refused && !r->over_relief && !r->grip_short && !r->tip_short;
}

static double step_of(const struct fitting *fit)
{
    return fit->count < 2 ? INFINITY : fabs(fit->rows[1].axle_mm - fit->rows[0].axle_mm);
}

static void fill_rows(const struct chart *c, struct fitting *out)
{
    const struct frame *frame = out->frame;
    size_t steps = frame->axle_steps > 1 ? (size_t)frame->axle_steps : 1;
    struct fit_row *rows = arena_array(c->arena, steps, sizeof *rows);
    for (size_t i = 0; i < steps; i++) {
        double along = steps > 1 ? (double)i / (double)(steps - 1) : 0;
        double at = frame->axle_from + along * (frame->axle_to - frame->axle_from);
        rows[i] = try_axle(c, out, at * out->in.stance_length_mm);
    }
    out->rows = rows;
    out->count = out->proposed = out->chosen = steps;
    for (size_t i = 0; i < steps; i++)
        if (fits(&rows[i]) &&
            (out->proposed == steps || rows[i].out.relief > rows[out->proposed].out.relief))
            out->proposed = i;
    double axle = 0, nearest = step_of(out) / 2;
    if (!number_lead(record_text(&c->visit, ID_FIT_AXLE), &axle))
        return;
    for (size_t i = 0; i < steps; i++)
        if (fabs(rows[i].axle_mm - axle) <= nearest) {
            nearest = fabs(rows[i].axle_mm - axle);
            out->chosen = i;
        }
}

void fitting_look(const struct chart *c, struct fitting *out)
{
    struct dog_size dog = {0};
    *out = (struct fitting){.why = "", .fore_share_from = ""};
    out->has_ramp = number_of(c, "ramp_deg", &out->ramp_deg);
    const struct support *s = support_to_fit(c, &out->why);
    if (s == NULL || !size_of(c, &dog, &out->why))
        return;
    out->frame = frame_for(c, s, dog.kg);
    if (out->frame == NULL) {
        char kg[32];
        out->why = arena_printf(c->arena, "no frame of this practice is a %s for %s kg", s->label,
                                number_format(dog.kg, 1, false, kg, sizeof kg));
        return;
    }
    out->in = balance_of(c, out->frame, &dog, &out->fore_share_from);
    fill_rows(c, out);
}

bool fitting_choose(struct chart *c, const struct fitting *fit, size_t row, struct fault *f)
{
    char mm[32];
    if (c->visit.entity == NULL || row >= fit->count)
        return fail(f, FAULT_MISSING, "there is no such axle position");
    if (fit->rows[row].refused)
        return fail(f, FAULT_REFUSED, "that position cannot be used: %s", fit->rows[row].why);
    const char *axle = arena_printf(c->arena, "%s mm",
                                    number_format(fit->rows[row].axle_mm, 1, false, mm, sizeof mm));
    if (!casebook_begin(c->cb, f))
        return false;
    bool ok = record_put(c->cb, &c->visit, ID_FIT_AXLE, axle, reason_of(c), f) &&
              record_put(c->cb, &c->visit, ID_FIT_FRAME, fit->frame->id, reason_of(c), f);
    return end_with(c->cb, ok, &c->visit, f);
}

struct section_state fitting_state(const struct chart *c)
{
    struct fitting fit;
    struct section_state s = {.shown = 1};
    fitting_look(c, &fit);
    if (fit.count == 0) {
        s.summary = fit.why;
        return s;
    }
    s.answered = fit.chosen < fit.count;
    s.missing = !s.answered;
    s.progress = s.answered ? PROGRESS_DONE : PROGRESS_NOT_ASKED;
    size_t at = s.answered ? fit.chosen : fit.proposed;
    if (at == fit.count) {
        s.summary = "no position of this frame keeps all limits";
        return s;
    }
    char mm[32], percent[32];
    const struct fit_row *row = &fit.rows[at];
    s.summary = arena_printf(
        c->arena, "%saxle %s mm, relief %s %%",
        s.answered ? "" : "proposed: ", number_format(row->axle_mm, 0, false, mm, sizeof mm),
        row->refused ? "?"
                     : number_format(100 * row->out.relief, 0, false, percent, sizeof percent));
    return s;
}
