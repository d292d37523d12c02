/* What is asked at the bench: frame, wheels, track, accessories, what the legs still carry. */
#include "base/text.h"
#include "screens/bench.h"
#include "screens/kit/ask.h"
#include <string.h>

void bench_ask_frame(struct screen *s)
{
    struct bench_state *st = s->state;
    const struct template_set *set = st->bench.set;
    const char **labels = arena_array(st->at.page.data, set->frame_count, sizeof *labels);
    size_t now = 0;
    for (size_t i = 0; i < set->frame_count; i++) {
        const struct frame *f = &set->frames[i];
        labels[i] = arena_printf(st->at.page.data, "%s%s", f->label,
                                 f->support == st->bench.decided ? "  (as decided)" : "");
        now = f == st->setting.frame ? i : now;
    }
    int chosen = ask_choice(s->app, "Which frame?", labels, set->frame_count, now);
    if (chosen < 0 || &set->frames[chosen] == st->setting.frame)
        return;
    fitting_look_with(&st->at.page.chart, &set->frames[chosen], &st->fit);
    st->setting = st->fit.setting;
    bench_look(st);
}

/* A length typed in the practice's unit; false when given up or unusable (said so). */
static bool ask_length(struct screen *s, const char *question, double given, double low,
                       double high, double *mm)
{
    struct bench_state *st = s->state;
    const struct unit *unit = st->bench.set->practice.length_unit;
    char number[32];
    struct fault f = {0};
    double value = 0;
    const char *typed = ask_line(
        s->app, st->at.page.data, question,
        arena_printf(st->at.page.data, "%s %s",
                     number_format(unit_from_base(unit, given), 2, false, number, sizeof number),
                     unit->name));
    if (typed == NULL || *typed == '\0')
        return false;
    if (!quantity_parse(typed, unit, &value, NULL, &f)) {
        app_fault(s->app, &f);
        return false;
    }
    if (!(value >= low && value <= high)) {
        app_say(s->app, LOOK_WARN, "From %.0f to %.0f mm, not %.0f", low, high, value);
        return false;
    }
    *mm = value;
    return true;
}

void bench_ask_wheels(struct screen *s)
{
    struct bench_state *st = s->state;
    if (ask_length(s, "Wheel diameter", st->setting.wheel_mm, 20, 1000, &st->setting.wheel_mm))
        bench_look(st);
}

void bench_ask_track(struct screen *s)
{
    struct bench_state *st = s->state;
    if (ask_length(s, "Distance between the wheels, middle to middle", st->setting.track_mm, 30,
                   2000, &st->setting.track_mm))
        bench_look(st);
}

void bench_ask_parts(struct screen *s)
{
    struct bench_state *st = s->state;
    const struct template_set *set = st->bench.set;
    const char *labels[FIT_ACCESSORIES_MOST];
    size_t which[FIT_ACCESSORIES_MOST], count = 0;
    bool ticked[FIT_ACCESSORIES_MOST];
    for (size_t i = 0; i < set->frame_accessory_count && i < FIT_ACCESSORIES_MOST; i++) {
        const struct frame_accessory *a = &set->frame_accessories[i];
        if (!fit_accessory_goes(a, st->setting.frame))
            continue;
        which[count] = i;
        ticked[count] = st->setting.has[i];
        labels[count++] =
            arena_printf(st->at.page.data, "%s, %.0f g at %.0f mm", a->label,
                         1000 * a->mass_share * st->bench.dog.kg, a->at * st->bench.dog.stance_mm);
    }
    if (count == 0) {
        app_say(s->app, LOOK_PLAIN, "No accessory of this practice goes with this frame");
        return;
    }
    if (!ask_many(s->app, "Accessories", labels, count, ticked))
        return;
    for (size_t i = 0; i < count; i++)
        st->setting.has[which[i]] = ticked[i];
    bench_look(st);
}

/* A share typed as "30" or "30 %"; -1 when given up or unusable. */
static double ask_share(struct screen *s, const char *question, double given)
{
    struct bench_state *st = s->state;
    double value = 0;
    struct fault f = {0};
    const char *typed = ask_line(s->app, st->at.page.data, question,
                                 arena_printf(st->at.page.data, "%.0f %%", 100 * given));
    if (typed == NULL || *typed == '\0')
        return -1;
    if (!quantity_parse(typed, unit_find("%"), &value, NULL, &f)) {
        app_fault(s->app, &f);
        return -1;
    }
    if (!(value >= 0 && value <= 100)) {
        app_say(s->app, LOOK_WARN, "From 0 to 100 %%, not %g", value);
        return -1;
    }
    return value / 100;
}

bool bench_ask_residual(struct screen *s)
{
    struct bench_state *st = s->state;
    bool front = st->setting.frame->model == FRAME_FRONT;
    double now = ask_share(s,
                           front ? "Of their normal load the fore feet carry now"
                                 : "Of their normal load the hind feet carry now",
                           st->setting.hind_support);
    if (now < 0)
        return false;
    st->setting.hind_support = now;
    double given = st->bench.hind_later >= 0 ? st->bench.hind_later : now / 2;
    double later = ask_share(s, "And later, in the stages to plan for", given);
    if (later >= 0)
        st->bench.hind_later = later;
    bench_look(st);
    return true;
}
