#include "casebook/trends.h"
#include "base/arena.h"
#include "base/units.h"
#include "casebook/experience.h"
#include "casebook/measuring.h"
#include "casebook/review.h"
#include "casebook/scores.h"
#include <math.h>
#include <string.h>

static const double month = 30.44; /* days */

/* ---- values of the visits ------------------------------------------------------------------- */

static void name_unit(const struct template_set *set, struct trend_view *t)
{
    const struct measure *m = template_measure(set, t->of->item);
    const struct item *i = template_item(set, t->of->item);
    t->unit = m != NULL ? measure_unit(set, m) : i != NULL ? i->unit : NULL;
    t->unit_name = t->unit != NULL                          ? t->unit->name
                   : strcmp(t->of->item, "fore_share") == 0 ? "%"
                                                            : "";
}

/* The scale of the last total: only its totals belong together. */
static const struct score *scale_of(const struct past *p, const char *item)
{
    struct score_kept kept;
    for (size_t i = p->count; i-- > 0;)
        if (score_parse(p->chart->cb->set, record_text(&p->visits[i].visit, item), &kept))
            return kept.scale;
    return NULL;
}

static void gather(const struct past *p, struct trend_view *t)
{
    const struct template_set *set = p->chart->cb->set;
    const struct item *item = template_item(set, t->of->item);
    bool scored = item != NULL && item->kind == ITEM_SCORE;
    const struct score *scale = !scored                ? NULL
                                : t->of->scale != NULL ? t->of->scale
                                                       : scale_of(p, t->of->item);
    t->points = arena_array(p->chart->arena, p->count, sizeof *t->points);
    for (size_t i = 0; i < p->count && t->count < TREND_MOST; i++) {
        struct score_kept kept;
        double value;
        const char *then = chart_fact(&p->visits[i], t->of->item);
        if (then == NULL || !number_lead(then, &value))
            continue;
        if (scored && (!score_parse(set, then, &kept) || kept.scale != scale)) {
            t->passed_over++;
            continue;
        }
        if (t->count == 0)
            t->first = p->days[i];
        t->points[t->count++] = (struct trend_point){.day = p->days[i] - t->first, .value = value};
    }
    if (scale != NULL) {
        t->unit_name = arena_printf(p->chart->arena, "of %d", scale->most);
        t->scale = arena_printf(p->chart->arena, "%s, %s", scale->label, scale->version);
        t->credible = scale->change;
    }
}

/* How well who measured first and last repeats it says what change can be seen. */
static double readings_say(const struct past *p, const struct trend_view *t)
{
    const struct casebook *cb = p->chart->cb;
    const struct measure *m = template_measure(cb->set, t->of->item);
    const char *then = NULL, *now = "";
    struct experience known;
    if (m == NULL || t->count == 0)
        return 0;
    experience_read(p->chart->cb, p->chart->arena, &known);
    for (size_t i = 0; i < p->count; i++) {
        const char *author = reading_author(&p->visits[i].visit, m);
        now = *author != '\0' ? author : now;
        then = then == NULL && *author != '\0' ? author : then;
    }
    return observed_change(known.observers, known.observer_count, m, t->points[0].value,
                           then == NULL ? "" : then, now, cb->author)
        .change;
}

const char *trend_opened(const struct trend_view *t, struct arena *a)
{
    const char *how = t->of->opens == OPENS_PASSED ? "has passed its cut-off"
                      : t->verdict == TREND_RISES  ? "really rises"
                                                   : "really falls";
    return arena_printf(a, "%s %s", t->of->label, how);
}

/* ---- words ---------------------------------------------------------------------------------- */

double trend_shown(const struct trend_view *t, double base)
{
    return t->unit != NULL ? unit_from_base(t->unit, base) : base;
}

/* A difference: no offset of the unit. */
static const char *bare(const struct trend_view *t, double base, struct arena *a)
{
    char number[48];
    double shown = trend_shown(t, base) - trend_shown(t, 0);
    return arena_str(a,
                     number_format(shown, fabs(shown) < 1 ? 2 : 1, false, number, sizeof number));
}

static const char *amount(const struct trend_view *t, double base, struct arena *a)
{
    return arena_printf(a, "%s%s%s", bare(t, base, a), *t->unit_name != '\0' ? " " : "",
                        t->unit_name);
}

static const char *verdict_words(const struct trend_view *t, struct arena *a)
{
    double change = t->line.slope_per_day * (t->line.last_day - t->line.first_day);
    const char *moved = arena_printf(a, "%s%s over %.0f days", change > 0 ? "+" : "",
                                     amount(t, change, a), t->line.last_day - t->line.first_day);
    const char *noise =
        t->credible > 0
            ? arena_printf(a, "; less than %s cannot be told from noise", amount(t, t->credible, a))
            : "";
    if (t->verdict == TREND_NO_REAL_CHANGE) /* too little, or no line that is surely not level */
        return arena_printf(a, "No real change: %s%s", moved,
                            fabs(change) <= t->credible ? noise
                                                        : "; the values scatter too much to tell");
    return arena_printf(a, "%s, and that is real: %s%s",
                        t->verdict == TREND_RISES ? "Rises" : "Falls", moved, noise);
}

/* The last value lies beyond the threshold, seen from the first. */
static bool has_passed(const struct trend_view *t)
{
    double first = t->points[0].value - t->of->threshold;
    double last = t->points[t->count - 1].value - t->of->threshold;
    return t->of->has_threshold && first * last < 0;
}

/* The side of a threshold that is meant: of a score the worse one, else the one crossed to. */
static bool is_worse(const struct trend_view *t)
{
    const struct score *scale = t->of->scale;
    double last = t->points[t->count - 1].value - t->of->threshold;
    return scale == NULL || (scale->less_is_better ? last > 0 : last < 0);
}

static bool opens(const struct trend_view *t)
{
    switch (t->solved ? t->of->opens : OPENS_NOTHING) {
    case OPENS_RISING:
        return t->verdict == TREND_RISES;
    case OPENS_FALLING:
        return t->verdict == TREND_FALLS;
    case OPENS_MOVING:
        return t->verdict != TREND_NO_REAL_CHANGE;
    case OPENS_PASSED:
        return has_passed(t) && is_worse(t);
    case OPENS_NOTHING:
        break;
    }
    return false;
}

static void solve(const struct past *p, struct trend_view *t)
{
    struct fault f = {0};
    struct arena *a = p->chart->arena;
    double threshold = t->of->has_threshold ? t->of->threshold : NAN;
    t->credible = fmax(t->credible, fmax(t->of->credible, readings_say(p, t)));
    t->solved = trend_solve(t->points, t->count, threshold, &t->line, &f);
    if (t->solved) {
        t->verdict = trend_judge(&t->line, t->credible);
        t->words = verdict_words(t, a);
    } else {
        t->words = t->count < 3 ? arena_printf(a, "%zu of 3 visits that a trend needs", t->count)
                                : arena_str(a, f.text);
    }
}

static const char *marks_of(const struct past *p, const char *item)
{
    const char *all = "";
    char day[CLOCK_ROOM];
    for (size_t i = 0; i < p->count; i++) {
        const char *mark = item_mark(&p->visits[i], item);
        if (*mark != '\0')
            all = arena_printf(p->chart->arena, "%s%s%s: %s", all, *all != '\0' ? "; " : "",
                               clock_dated(p->days[i], day), mark);
    }
    return all;
}

size_t trends_look(const struct past *p, const struct trend_view **out)
{
    const struct template_set *set = p->chart->cb->set;
    struct trend_view *views = arena_array(p->chart->arena, set->trend_count, sizeof *views);
    struct facts facts = past_facts(p);
    bool closed = case_closed(p->chart); /* nothing is planned any more */
    size_t n = 0;
    for (size_t i = 0; i < set->trend_count; i++) {
        views[n] = (struct trend_view){.of = &set->trends[i], .scale = ""};
        name_unit(set, &views[n]);
        gather(p, &views[n]);
        if (views[n].count == 0)
            continue;
        solve(p, &views[n]);
        views[n].marks = marks_of(p, set->trends[i].item);
        bool opened =
            !closed && opens(&views[n]) && condition_holds(set->trends[i].when, &facts, NULL);
        views[n].plan = opened ? set->trends[i].plan : "";
        n++;
    }
    *out = views;
    return n;
}

const char *trend_word(const struct trend_view *t)
{
    static const char *const words[] = {
        [TREND_NO_REAL_CHANGE] = "same", [TREND_RISES] = "up", [TREND_FALLS] = "down"};
    return t->solved ? words[t->verdict] : "";
}

const char *trend_ends(const struct trend_view *t, struct arena *a)
{
    const char *unit = arena_printf(a, "%s%s", *t->unit_name != '\0' ? " " : "", t->unit_name);
    char first[48], last[48];
    number_format(trend_shown(t, t->points[0].value), 1, false, first, sizeof first);
    number_format(trend_shown(t, t->points[t->count - 1].value), 1, false, last, sizeof last);
    return t->count > 1 ? arena_printf(a, "%s -> %s%s", first, last, unit)
                        : arena_printf(a, "%s%s", last, unit);
}

const char *trend_speed(const struct trend_view *t, struct arena *a)
{
    if (!t->solved)
        return "";
    const struct trend_out *l = &t->line;
    return arena_printf(a, "%s a month (%s to %s); by medians %s",
                        amount(t, l->slope_per_day * month, a), bare(t, l->slope_low * month, a),
                        bare(t, l->slope_high * month, a), bare(t, l->theil_slope * month, a));
}

const char *trend_crossing(const struct trend_view *t, day_number today, struct arena *a)
{
    if (!t->solved || !t->of->has_threshold)
        return "";
    double now = today - t->first, from = t->line.cross_low - now, to = t->line.cross_high - now;
    if (has_passed(t))
        return arena_printf(a, "%s has been passed", t->of->threshold_words);
    if (!isfinite(from) || !isfinite(to) || to < 0)
        return arena_printf(a, "%s: no time can be given from these values",
                            t->of->threshold_words);
    return arena_printf(a, "%s: in %.0f to %.0f days if it goes on so; a line through %zu values",
                        t->of->threshold_words, floor(fmax(from, 0)), ceil(to), t->count);
}
