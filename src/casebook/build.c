/* From the visit to what is cut. */
#include "casebook/build.h"
#include "base/clock.h"
#include "calc/dimension.h"
#include "casebook/deciding.h"
#include "casebook/fit_inside.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include <math.h>
#include <string.h>

/* ---- lists of lines -------------------------------------------------------------------------- */

struct lines {
    struct arena *a;
    const char **lines;
    size_t count, room;
};

static void line(struct lines *l, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void line(struct lines *l, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    l->lines = arena_grow(l->a, (void *)l->lines, l->count, &l->room, sizeof *l->lines);
    l->lines[l->count++] = arena_vprintf(l->a, format, args);
    va_end(args);
}

static struct build_lines done(const struct lines *l)
{
    return (struct build_lines){l->lines, l->count};
}

static bool goes(const struct support *const *supports, size_t count, const struct support *s)
{
    for (size_t i = 0; i < count; i++)
        if (supports[i] == s)
            return true;
    return false;
}

/* ---- dimensions ------------------------------------------------------------------------------ */

/* How far the value used may be off, each way: twice its standard uncertainty. */
static double off_by(const struct measure_row *r)
{
    return 2 * fit_reading_within(r);
}

static const char *measured_by(const struct chart *c, const struct measure_row *r)
{
    const struct finding *f = NULL;
    for (int i = 1; i <= READINGS_MOST && f == NULL; i++)
        f = record_find(&c->visit, reading_item(c->arena, r->measure, i));
    return f == NULL ? "?" : author_initials(c->cb, c->arena, f->author);
}

static const char *term_words(const struct chart *c, const struct frame_term *t,
                              const struct measure_row *r)
{
    char factor[32], mm[32], spread[32];
    const char *times =
        t->factor != 1 ? arena_printf(c->arena, "%s x ",
                                      number_format(t->factor, 3, false, factor, sizeof factor))
                       : "";
    return arena_printf(
        c->arena, "%s%s %s mm (%s, %s)", times, r->measure->label,
        number_format(r->used, 1, false, mm, sizeof mm), measured_by(c, r),
        r->count < 2 ? "one reading"
                     : arena_printf(c->arena, "%d readings %s mm apart", r->count,
                                    number_format(r->spread, 1, false, spread, sizeof spread)));
}

static double ease_of(const struct frame_dimension *d, const char *movement)
{
    if (strcmp(movement, "none") == 0)
        return d->ease;
    return strcmp(movement, "some") == 0 ? d->ease_some : d->ease_walks;
}

/* Says what is missing, or fills `out`. */
static bool make_dimension(const struct chart *c, const struct measuring *m,
                           const struct frame_dimension *d, const char *movement,
                           struct build_dimension *out, struct fault *f)
{
    static const enum dimension_side sides[] = {[ERRS_EITHER] = DIMENSION_EITHER,
                                                [ERRS_LONG] = DIMENSION_ERR_LONG,
                                                [ERRS_SHORT] = DIMENSION_ERR_SHORT};
    static const char *const words[] = {
        [ERRS_EITHER] = "either", [ERRS_LONG] = "long", [ERRS_SHORT] = "short"};
    struct dimension_term *terms = arena_array(c->arena, d->term_count, sizeof *terms);
    struct dimension_out cut;
    const char *from = "";
    for (size_t i = 0; i < d->term_count; i++) {
        const struct measure_row *r = fit_measure(m, d->terms[i].measure->id);
        if (r == NULL || r->count == 0)
            return fail(f, FAULT_MISSING, "%s: %s is not measured", d->label,
                        d->terms[i].measure->label);
        terms[i] =
            (struct dimension_term){r->measure->label, d->terms[i].factor, r->used, off_by(r)};
        from = arena_printf(c->arena, "%s%s%s", from, i > 0 ? " + " : "",
                            term_words(c, &d->terms[i], r));
    }
    double ease = ease_of(d, movement);
    if (!dimension_solve(terms, d->term_count, ease, d->step, sides[d->errs], &cut, f))
        return fail_within(f, "%s: ", d->label);
    *out = (struct build_dimension){.id = d->id,
                                    .label = d->label,
                                    .build_mm = cut.build_mm,
                                    .snug_mm = cut.snug_mm,
                                    .ease_mm = ease,
                                    .made_within_mm = d->made_within,
                                    .measures_within_mm = cut.tolerance_mm,
                                    .errs = words[d->errs],
                                    .from = from,
                                    .note = d->note,
                                    .source = d->source,
                                    .fixed = d->fixed};
    return true;
}

/* How the hind legs move; not known: the most room. */
static const char *movement_of(const struct chart *c)
{
    const char *movement = chart_fact(c, "hind_movement");
    return movement != NULL ? movement : "walks_poorly";
}

bool build_dimension_of(const struct chart *c, const struct support *support, const char *id,
                        struct build_dimension *out, struct fault *f)
{
    const struct template_set *set = c->cb->set;
    struct measuring m;
    measuring_look(c, &m);
    for (size_t i = 0; i < set->frame_dimension_count; i++) {
        const struct frame_dimension *d = &set->frame_dimensions[i];
        if (strcmp(d->id, id) == 0 && goes(d->supports, d->support_count, support))
            return make_dimension(c, &m, d, movement_of(c), out, f);
    }
    return fail(f, FAULT_INPUT, "frames of this support have no %s", id);
}

static bool make_dimensions(const struct chart *c, const struct frame *frame, struct build *b,
                            struct fault *f)
{
    const struct template_set *set = c->cb->set;
    struct measuring m;
    const char *missing = "";
    measuring_look(c, &m);
    struct build_dimension *rows = arena_array(c->arena, set->frame_dimension_count, sizeof *rows);
    for (size_t i = 0; i < set->frame_dimension_count; i++) {
        const struct frame_dimension *d = &set->frame_dimensions[i];
        struct fault why = {0};
        if (!goes(d->supports, d->support_count, frame->support))
            continue;
        if (make_dimension(c, &m, d, b->movement, &rows[b->dimension_count], &why))
            b->dimension_count++;
        else
            missing =
                arena_printf(c->arena, "%s%s%s", missing, *missing != '\0' ? "; " : "", why.text);
    }
    b->dimensions = rows;
    return *missing == '\0' || fail(f, FAULT_MISSING, "%s", missing);
}

/* ---- what was decided against a check -------------------------------------------------------- */

static const char *so_reason(const struct chart *c, const struct measure_row *r)
{
    const struct finding *f =
        record_find(&c->visit, arena_printf(c->arena, "%s.so", r->measure->id));
    return f != NULL && *f->reason != '\0' ? f->reason : "looked at again, it is so";
}

static void measured_once(const struct chart *c, const struct measuring *m,
                          const struct frame *frame, struct lines *l)
{
    const struct template_set *set = c->cb->set;
    for (size_t i = 0; i < set->frame_dimension_count; i++) {
        const struct frame_dimension *d = &set->frame_dimensions[i];
        if (!d->fixed || !goes(d->supports, d->support_count, frame->support))
            continue;
        for (size_t k = 0; k < d->term_count; k++) {
            const struct measure_row *r = fit_measure(m, d->terms[k].measure->id);
            if (r != NULL && r->count == 1)
                line(l, "%s: measured once only, and it cannot be adjusted later",
                     r->measure->label);
        }
    }
}

/* What the bench says in five words, for somebody who was not there. */
/* On paper nobody sees the column that "no" answers. */
static const char *limit_word(enum bench_verdict v)
{
    return v == BENCH_NO ? "past the limit" : "close to the limit";
}

static void house_line(const struct bench_view *v, const struct bench_answer *a, struct lines *l)
{
    const struct bench_out *o = &v->out;
    if (strcmp(a->what, "threshold") == 0 && isfinite(o->step_push_n))
        line(l,
             "threshold of %.0f mm: %s; it takes a pull of %.1f kg, and the feet slip at %.1f kg",
             v->in.step_mm, limit_word(a->verdict), o->step_push_n / STANDARD_GRAVITY,
             o->step_grip_n / STANDARD_GRAVITY);
    else
        line(l, "%s: %s, %s", a->what, limit_word(a->verdict), a->says);
}

/* Nobody has settled which of two readings is right: the sheet is worked out with one of them. */
static bool reading_disputed(const struct chart *c, const struct measure *m)
{
    int k = 1;
    while (k <= READINGS_MOST && !disputed(&c->visit, reading_item(c->arena, m, k)))
        k++;
    return k <= READINGS_MOST;
}

static struct build_lines overridden(const struct chart *c, const struct frame *frame,
                                     const struct bench_view *v)
{
    struct lines l = {.a = c->arena};
    struct measuring m;
    struct deciding d;
    measuring_look(c, &m);
    deciding_look(c, &d);
    for (size_t i = 0; i < m.count; i++) {
        const struct measure_row *r = &m.rows[i];
        bool odd = r->verdict == BESIDE_HIGH || r->verdict == BESIDE_LOW;
        if (odd)
            line(&l, "%s reads %s beside the rest: %s", r->measure->label,
                 r->verdict == BESIDE_HIGH ? "high" : "low",
                 r->accepted ? so_reason(c, r) : "NOT looked at again");
        if (reading_disputed(c, r->measure))
            line(&l, "%s: %s. Settle it before anything is cut", r->measure->label,
                 measure_mark(c, r->measure));
        if (r->third_wanted)
            line(&l, "%s: two readings part by more than they may, no third taken",
                 r->measure->label);
    }
    measured_once(c, &m, frame, &l);
    if (d.override)
        line(&l, "support decided against a rule: %s", d.override_reason);
    for (size_t i = 0; i < v->warning_count; i++)
        line(&l, "%s", v->warnings[i]);
    for (size_t i = 0; i < v->answer_count; i++)
        if (v->answers[i].verdict == BENCH_NO || v->answers[i].verdict == BENCH_CLOSE)
            house_line(v, &v->answers[i], &l);
    return done(&l);
}

/* ---- accessories, contacts, what is ahead ---------------------------------------------------- */

static struct build_lines accessories(const struct chart *c, const struct fitting *fit)
{
    struct lines l = {.a = c->arena};
    const struct template_set *set = c->cb->set;
    for (size_t i = 0; i < set->frame_accessory_count && i < FIT_ACCESSORIES_MOST; i++)
        if (fit->setting.has[i])
            line(&l, "%s, about %.0f g, %.0f mm behind the fore feet",
                 set->frame_accessories[i].label,
                 1000 * set->frame_accessories[i].mass_share * fit->dog.kg,
                 set->frame_accessories[i].at * fit->dog.stance_mm);
    return done(&l);
}

static struct build_lines contacts(const struct chart *c, const struct frame *frame)
{
    struct lines l = {.a = c->arena};
    const struct template_set *set = c->cb->set;
    for (size_t i = 0; i < set->frame_contact_count; i++)
        if (goes(set->frame_contacts[i].supports, set->frame_contacts[i].support_count,
                 frame->support))
            line(&l, "%s", set->frame_contacts[i].zone);
    return done(&l);
}

static struct build_lines ahead(const struct chart *c, const struct bench *bench,
                                const struct fit_setting *s)
{
    struct lines l = {.a = c->arena};
    struct bench_stage stages[BENCH_STAGES];
    if (!bench->progressive || s->frame->model == FRAME_FRONT)
        return done(&l);
    bench_plan(bench, s, stages);
    for (size_t i = 1; i < BENCH_STAGES; i++) {
        const struct bench_stage *st = &stages[i];
        if (st->found)
            line(&l, "%s: step %zu of %zu, axle %.0f mm, relief %.0f %% of %.0f %% wanted%s%s%s",
                 st->label, st->step, st->steps, st->out.axle_mm, 100 * st->out.relief,
                 100 * st->wanted, *st->why != '\0' ? "; " : "", st->why,
                 st->front_wheels ? "; order the fittings for front wheels" : "");
        else
            line(&l, "%s: no step does it (%s); order the fittings for front wheels", st->label,
                 st->why);
    }
    return done(&l);
}

/* ---- numbers --------------------------------------------------------------------------------- */

static void put_numbers(const struct chart *c, const struct bench *bench,
                        const struct fit_setting *s, const struct bench_view *v, struct build *b)
{
    struct bench_number shown[BENCH_NUMBERS_MOST];
    b->number_count = bench_numbers(bench, s, v, shown);
    struct build_number *rows = arena_array(c->arena, b->number_count, sizeof *rows);
    for (size_t i = 0; i < b->number_count; i++)
        rows[i] = (struct build_number){shown[i].label, arena_str(c->arena, shown[i].value),
                                        arena_str(c->arena, shown[i].within),
                                        arena_str(c->arena, shown[i].more)};
    b->numbers = rows;
}

static const char *model_word(enum frame_model m)
{
    return m == FRAME_REAR ? "rear" : m == FRAME_FOUR ? "four" : "front";
}

static void put_setting(const struct fitting *fit, const struct bench_view *v, struct build *b)
{
    const struct fit_setting *s = &fit->setting;
    const struct frame *frame = s->frame;
    b->withers_mm = fit->dog.withers_mm;
    b->normal_n = v->normal_n;
    b->axle_mm = s->axle_mm;
    b->ahead_mm = v->in.balance.rest_mm - s->axle_mm;
    b->wheel_mm = s->wheel_mm;
    b->track_mm = v->in.wheel_track_mm;
    b->front_axle_mm = frame->model == FRAME_FOUR ? frame->front_axle_at * fit->dog.stance_mm : NAN;
    b->width_mm = v->width_mm;
    b->length_mm = v->length_mm;
    b->height_mm = 1.06 * fit->dog.withers_mm; /* the bar stands highest, as it is drawn */
    b->mass_kg = v->in.balance.frame_mass_kg + v->in.balance.wheels_mass_kg;
    b->in = v->in.balance;
    b->out = v->out.balance;
    b->frame_id = frame->id;
    b->frame = frame->label;
    b->folds = frame->folds;
    b->model = model_word(frame->model);
    b->support = frame->support->label;
}

static const char *or_empty(const char *s)
{
    return s == NULL ? "" : s;
}

bool build_make(const struct chart *c, struct build *out, struct fault *f)
{
    struct fitting fit;
    struct bench bench;
    struct bench_view v;
    char day[CLOCK_ROOM];
    *out = (struct build){.version = 1, .front_axle_mm = NAN, .frame_id = ""};
    fitting_look(c, &fit);
    if (fit.count == 0)
        return fail(f, FAULT_MISSING, "%s", fit.why);
    if (!(fit.chosen_mm > 0))
        return fail(f, FAULT_MISSING, "no axle position is kept yet: keep one at the bench first");
    bench_open(c, &fit, &bench);
    bench_try(&bench, &fit.setting, &v);
    if (v.refused)
        return fail(f, FAULT_REFUSED, "%s", v.why);
    out->movement = movement_of(c);
    out->day = arena_str(c->arena, clock_iso_day(clock_day(c->now), day));
    out->by = author_initials(c->cb, c->arena, c->cb->author);
    out->dog = or_empty(record_said(&c->dog, ID_DOG_NAME));
    out->visit_day = record_text(&c->visit, ID_VISIT_DAY);
    out->photo = or_empty(chart_fact(c, "profile_photo"));
    put_setting(&fit, &v, out);
    put_numbers(c, &bench, &fit.setting, &v, out);
    out->accessories = accessories(c, &fit);
    out->contacts = contacts(c, fit.frame);
    out->overridden = overridden(c, fit.frame, &v);
    out->ahead = ahead(c, &bench, &fit.setting);
    return make_dimensions(c, fit.frame, out, f);
}

/* ---- freezing -------------------------------------------------------------------------------- */

static const struct build_dimension *dimension_of(const struct build *b, const char *id)
{
    for (size_t i = 0; i < b->dimension_count; i++)
        if (strcmp(b->dimensions[i].id, id) == 0)
            return &b->dimensions[i];
    return NULL;
}

static void changed_mm(struct lines *l, const char *what, double before, double now)
{
    if (fabs(before - now) >= 0.05)
        line(l, "%s %.0f mm, was %.0f", what, now, before);
}

static void changed_lists(struct lines *l, const char *what, const struct build_lines *before,
                          const struct build_lines *now)
{
    bool same = before->count == now->count;
    for (size_t i = 0; same && i < now->count; i++)
        same = strcmp(before->lines[i], now->lines[i]) == 0;
    if (!same)
        line(l, "%s changed", what);
}

static struct build_lines changes(struct arena *a, const struct build *before,
                                  const struct build *now)
{
    struct lines l = {.a = a};
    if (strcmp(before->frame_id, now->frame_id) != 0)
        line(&l, "frame %s, was %s", now->frame, before->frame);
    changed_mm(&l, "axle", before->axle_mm, now->axle_mm);
    changed_mm(&l, "wheels", before->wheel_mm, now->wheel_mm);
    changed_mm(&l, "track", before->track_mm, now->track_mm);
    for (size_t i = 0; i < now->dimension_count; i++) {
        const struct build_dimension *d = &now->dimensions[i];
        const struct build_dimension *old = dimension_of(before, d->id);
        if (old == NULL)
            line(&l, "%s %.0f mm, is new", d->label, d->build_mm);
        else
            changed_mm(&l, d->label, old->build_mm, d->build_mm);
    }
    changed_lists(&l, "accessories", &before->accessories, &now->accessories);
    changed_lists(&l, "checks overridden", &before->overridden, &now->overridden);
    changed_lists(&l, "what to order for later", &before->ahead, &now->ahead);
    return done(&l);
}

/* Of this visit, else of the latest one before it. */
static const char *frozen_text(const struct chart *c, struct fault *f, bool *ok)
{
    const char *text = record_text(&c->visit, ID_BUILD);
    *ok = true;
    for (size_t i = c->visit_count; *text == '\0' && i > 0; i--) {
        struct record r;
        const char *visit = c->visits[i - 1];
        if (c->visit.entity != NULL && strcmp(visit, c->visit.entity) == 0)
            continue;
        if (!record_load(c->cb, c->arena, visit, &r, f)) {
            *ok = false;
            return "";
        }
        if (strcmp(record_text(&r, ID_VISIT_DAY), record_text(&c->visit, ID_VISIT_DAY)) <= 0)
            text = record_text(&r, ID_BUILD);
    }
    return text;
}

bool build_frozen(const struct chart *c, struct build *out, struct fault *f)
{
    bool ok;
    const char *text = frozen_text(c, f, &ok);
    if (!ok)
        return false;
    if (*text == '\0')
        return fail(f, FAULT_MISSING, "nothing is frozen into a build sheet yet");
    return build_read(text, c->arena, out, f);
}

bool build_freeze(struct chart *c, int *version, struct fault *f)
{
    struct build now = {.frame_id = ""}, before = {.frame_id = ""};
    struct fault none = {0};
    struct text json;
    char kg[32];
    if (!build_make(c, &now, f))
        return false;
    if (build_frozen(c, &before, &none)) {
        now.version = before.version + 1;
        now.changes = changes(c->arena, &before, &now);
        if (now.changes.count == 0)
            return fail(f, FAULT_REFUSED, "nothing changed since version %d", before.version);
    } else if (none.kind != FAULT_MISSING) {
        return fail(f, none.kind, "%s", none.text);
    }
    text_init(&json, JOURNAL_VALUE_MAX);
    build_json(&now, &json);
    bool ok = !json.cut ||
              fail(f, FAULT_LIMIT, "the build sheet is larger than %d bytes", JOURNAL_VALUE_MAX);
    /* On four wheels statics gives a range, in a front frame the load is what was put in. */
    bool rear = strcmp(now.model, "rear") == 0;
    bool foretold = rear || record_find(&c->visit, ID_BUILD_LOAD) != NULL;
    const char *load = !rear ? ""
                             : arena_printf(c->arena, "%s kg",
                                            number_format(now.out.fore_load_n / STANDARD_GRAVITY, 3,
                                                          false, kg, sizeof kg));
    const char *why = *reason_of(c) != '\0' ? reason_of(c) : now.version > 1 ? "a new version" : "";
    if (ok && (ok = casebook_begin(c->cb, f))) {
        ok = record_put(c->cb, &c->visit, ID_BUILD, json.s, why, f) &&
             (!foretold || record_put(c->cb, &c->visit, ID_BUILD_LOAD, load, why, f));
        ok = end_with(c->cb, ok, &c->visit, f);
    }
    text_free(&json);
    *version = now.version;
    return ok;
}
