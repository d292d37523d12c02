#include "casebook/fitting.h"
#include "casebook/deciding.h"
#include "casebook/fit_inside.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include <math.h>
#include <string.h>

/* ---- which frame ---------------------------------------------------------------------------- */

const struct support *fit_support(const struct chart *c, const char **why)
{
    const struct support *s = support_in_mind(c);
    if (s != NULL && s->fitted)
        return s;
    *why = s == NULL ? "decide on a support first"
                     : arena_printf(c->arena, "%s: nothing to fit", s->label);
    return NULL;
}

static const char *kept_last(const struct past *p, const char *item)
{
    const char *kept = past_value(p, item);
    return kept == NULL ? "" : kept;
}

const struct frame *fit_frame_for(const struct past *p, const struct support *s, double kg,
                                  const char **why)
{
    const struct template_set *set = p->chart->cb->set;
    const char *chosen = kept_last(p, ID_FIT_FRAME);
    for (size_t i = 0; i < set->frame_count; i++)
        if (set->frames[i].support == s && strcmp(set->frames[i].id, chosen) == 0)
            return &set->frames[i];
    for (size_t i = 0; i < set->frame_count; i++)
        if (set->frames[i].support == s && kg >= set->frames[i].mass_low_kg &&
            kg <= set->frames[i].mass_high_kg)
            return &set->frames[i];
    char number[32];
    *why = arena_printf(p->chart->arena, "no frame of this practice is a %s for %s kg", s->label,
                        number_format(kg, 1, false, number, sizeof number));
    return NULL;
}

/* ---- the positions -------------------------------------------------------------------------- */

static struct fit_row try_axle(const struct chart *c, const struct fitting *fit, double axle_mm)
{
    struct balance_in in = fit->in;
    struct fault f = {0};
    struct fit_row row = {.axle_mm = axle_mm, .why = ""};
    in.axle_mm = axle_mm;
    if (!fit_solve(fit->frame, &in, &row.out, &f)) {
        row.refused = true;
        row.why = arena_str(c->arena, f.text);
        return row;
    }
    row.over_relief = row.out.relief > fit->frame->relief_most + 1e-9;
    row.grip_short = row.out.traction_limit_deg <= fit->ramp_deg;
    row.tip_short = row.out.uphill_limit_deg <= fit->ramp_deg;
    return row;
}

static double step_of(const struct fitting *fit)
{
    return fit->count < 2 ? INFINITY : fabs(fit->rows[1].axle_mm - fit->rows[0].axle_mm);
}

static void fill_rows(const struct chart *c, struct fitting *out)
{
    size_t steps = fit_steps(out->frame, &out->dog);
    struct fit_row *rows = arena_array(c->arena, steps, sizeof *rows);
    for (size_t i = 0; i < steps; i++)
        rows[i] = try_axle(c, out, fit_step(out->frame, &out->dog, i));
    out->rows = rows;
    out->count = out->chosen = steps;
    if (!out->want.by_rule)
        out->want.relief = fit_neutral_relief(out);
    out->proposed = fit_propose(c->cb->set, out, c->arena, &out->why_proposed);
    if (!(out->chosen_mm > 0))
        return;
    double nearest = step_of(out) / 2;
    for (size_t i = 0; i < steps; i++)
        if (fabs(rows[i].axle_mm - out->chosen_mm) <= nearest) {
            nearest = fabs(rows[i].axle_mm - out->chosen_mm);
            out->chosen = i;
        }
}

/* As it was kept last, when it is this frame it was kept for. An axle kept at an earlier visit is
 * where the frame stands, and not yet a choice of this one. */
static void kept_setting(const struct past *p, struct fitting *out)
{
    double mm;
    const struct chart *now = p->chart, *then = past_visit(p, ID_FIT_AXLE);
    out->setting = fit_as_it_comes(p, out->frame, &out->dog);
    if (then == NULL || strcmp(record_text(&then->visit, ID_FIT_FRAME), out->frame->id) != 0)
        return;
    if (number_lead(kept_last(p, ID_FIT_WHEEL), &mm) && mm > 0)
        out->setting.wheel_mm = mm;
    if (number_lead(kept_last(p, ID_FIT_TRACK), &mm) && mm > 0)
        out->setting.track_mm = mm;
    if (!number_lead(record_text(&then->visit, ID_FIT_AXLE), &mm) || !(mm > 0))
        return;
    out->setting.axle_mm = mm;
    if (strcmp(then->visit.entity, now->visit.entity) == 0)
        out->chosen_mm = mm;
    else
        out->kept_on = record_text(&then->visit, ID_VISIT_DAY);
}

static void look_at(const struct past *p, const struct frame *frame, struct fitting *out)
{
    const struct chart *c = p->chart;
    out->frame = frame;
    kept_setting(p, out);
    out->in = fit_balance(c->cb->set, &out->dog, &out->setting);
    out->fore_share_from = out->dog.fore_share_from;
    out->want = fit_wanted(c, frame);
    fill_rows(c, out);
    if (!(out->chosen_mm > 0) && *out->kept_on == '\0' && out->proposed < out->count)
        out->setting.axle_mm = out->rows[out->proposed].axle_mm;
}

static void begin(const struct past *p, struct fitting *out)
{
    *out = (struct fitting){.why = "", .why_proposed = "", .fore_share_from = "", .kept_on = ""};
    out->has_ramp = fit_number(p, "ramp_deg", &out->ramp_deg);
}

void fitting_look(const struct chart *c, struct fitting *out)
{
    struct past p = fit_past(c);
    begin(&p, out);
    const struct support *s = fit_support(c, &out->why);
    if (s == NULL || !fit_dog_read(&p, &out->dog, &out->why))
        return;
    const struct frame *frame = fit_frame_for(&p, s, out->dog.kg, &out->why);
    if (frame != NULL)
        look_at(&p, frame, out);
}

size_t fitting_stands(const struct fitting *fit)
{
    size_t at = 0;
    if (!(fit->chosen_mm > 0) && *fit->kept_on == '\0')
        return fit->count;
    for (size_t i = 1; i < fit->count; i++)
        if (fabs(fit->rows[i].axle_mm - fit->setting.axle_mm) <
            fabs(fit->rows[at].axle_mm - fit->setting.axle_mm))
            at = i;
    return at;
}

void fitting_look_with(const struct chart *c, const struct frame *frame, struct fitting *out)
{
    struct past p = fit_past(c);
    begin(&p, out);
    if (fit_dog_read(&p, &out->dog, &out->why))
        look_at(&p, frame, out);
}

/* ---- keeping --------------------------------------------------------------------------------- */

static bool put_mm(struct chart *c, const char *item, double value, struct fault *f)
{
    char mm[32];
    return record_put(
        c->cb, &c->visit, item,
        arena_printf(c->arena, "%s mm", number_format(value, 1, false, mm, sizeof mm)),
        reason_of(c), f);
}

bool fitting_choose(struct chart *c, const struct fitting *fit, size_t row, struct fault *f)
{
    if (c->visit.entity == NULL || row >= fit->count)
        return fail(f, FAULT_MISSING, "there is no such axle position");
    if (fit->rows[row].refused)
        return fail(f, FAULT_REFUSED, "that position cannot be used: %s", fit->rows[row].why);
    if (!casebook_begin(c->cb, f))
        return false;
    bool ok = put_mm(c, ID_FIT_AXLE, fit->rows[row].axle_mm, f) &&
              record_put(c->cb, &c->visit, ID_FIT_FRAME, fit->frame->id, reason_of(c), f);
    return end_with(c->cb, ok, &c->visit, f);
}

static const char *parts_of(const struct chart *c, const struct fit_setting *s)
{
    const struct template_set *set = c->cb->set;
    const char *parts = "";
    for (size_t i = 0; i < set->frame_accessory_count && i < FIT_ACCESSORIES_MOST; i++)
        if (s->has[i])
            parts = arena_printf(c->arena, "%s%s%s", parts, *parts == '\0' ? "" : " ",
                                 set->frame_accessories[i].id);
    return *parts == '\0' ? "none" : parts;
}

static bool may_keep(const struct chart *c, const struct fit_setting *s, struct fault *f)
{
    struct fit_dog dog;
    struct balance_out out;
    struct past p = fit_past(c);
    const char *why = "";
    if (c->visit.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no visit to keep it in");
    const struct support *decided = fit_support(c, &why);
    if (decided == NULL || !fit_dog_read(&p, &dog, &why))
        return fail(f, FAULT_MISSING, "%s", why);
    if (s->frame->support != decided)
        return fail(f, FAULT_REFUSED, "this frame is a %s, and decided on is a %s",
                    s->frame->support->label, decided->label);
    struct balance_in in = fit_balance(c->cb->set, &dog, s);
    return fit_solve(s->frame, &in, &out, f) || fail_within(f, "that position cannot be used: ");
}

/* What is as the frame comes, and was never anything else, is not worth an entry. */
static bool worth(const struct chart *c, const char *item, bool differs)
{
    return differs || record_find(&c->visit, item) != NULL;
}

static bool put_rest(struct chart *c, const struct fit_setting *s, const struct fit_setting *comes,
                     struct fault *f)
{
    bool wheel = fabs(s->wheel_mm - comes->wheel_mm) > 0.05;
    bool track = fabs(s->track_mm - comes->track_mm) > 0.05;
    bool parts = memcmp(s->has, comes->has, sizeof s->has) != 0;
    return (!worth(c, ID_FIT_WHEEL, wheel) || put_mm(c, ID_FIT_WHEEL, s->wheel_mm, f)) &&
           (!worth(c, ID_FIT_TRACK, track) || put_mm(c, ID_FIT_TRACK, s->track_mm, f)) &&
           (!worth(c, ID_FIT_PARTS, parts) ||
            record_put(c->cb, &c->visit, ID_FIT_PARTS, parts_of(c, s), reason_of(c), f));
}

bool fitting_keep(struct chart *c, const struct fit_setting *s, struct fault *f)
{
    struct fit_dog dog;
    struct past p = fit_past(c);
    const char *why = "";
    if (!may_keep(c, s, f) || !fit_dog_read(&p, &dog, &why) || !casebook_begin(c->cb, f))
        return false;
    struct fit_setting comes = fit_as_it_comes(&p, s->frame, &dog);
    bool ok = put_mm(c, ID_FIT_AXLE, s->axle_mm, f) &&
              record_put(c->cb, &c->visit, ID_FIT_FRAME, s->frame->id, reason_of(c), f) &&
              put_rest(c, s, &comes, f);
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
