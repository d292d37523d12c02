/* The fit bench: move the axle and see in the same instant what it does. */
#include "screens/bench.h"
#include "base/units.h"
#include "casebook/build.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "screens/kit/ask.h"
#include "screens/kit/findings.h"
#include "screens/kit/past.h"
#include "screens/screens.h"
#include <math.h>
#include <string.h>

void bench_look(struct bench_state *st)
{
    if (st->fit.count == 0)
        return;
    bench_try(&st->bench, &st->setting, &st->view);
    if (st->panel == PANEL_COMPARE)
        bench_try(&st->bench, &st->other, &st->other_view);
    bench_plan(&st->bench, &st->setting, st->plan);
}

bool bench_kept(const struct bench_state *st)
{
    const struct fit_setting *a = &st->setting, *b = &st->fit.setting;
    return st->fit.chosen_mm > 0 && a->frame == b->frame && fabs(a->axle_mm - b->axle_mm) < 0.05 &&
           fabs(a->wheel_mm - b->wheel_mm) < 0.05 && fabs(a->track_mm - b->track_mm) < 0.05 &&
           memcmp(a->has, b->has, sizeof a->has) == 0;
}

size_t bench_told(const struct bench_state *st, struct arena *a, const char **lines, size_t most)
{
    size_t n = 0;
    for (size_t i = 0; i < st->view.warning_count && n < most; i++)
        lines[n++] = arena_printf(a, "! %s", st->view.warnings[i]);
    if (st->setting.frame == st->fit.frame && n < most)
        lines[n++] =
            st->fit.proposed < st->fit.count
                ? arena_printf(a, "proposed %.0f mm: %s", st->fit.rows[st->fit.proposed].axle_mm,
                               st->fit.why_proposed)
                : arena_printf(a, "nothing proposed: %s", st->fit.why_proposed);
    const struct template_set *set = st->bench.set;
    const char *kept = finding_show(set, ID_VISIT_DAY, st->fit.kept_on, a);
    const char *taken = finding_show(set, ID_VISIT_DAY, st->bench.dog.measured_on, a);
    if (*kept != '\0' && strcmp(kept, taken) == 0 && n < most)
        lines[n++] = arena_printf(a, "setting kept and lengths measured on %s", kept);
    else if (*kept != '\0' && n < most)
        lines[n++] = arena_printf(a, "setting kept on %s", kept);
    else if (*taken != '\0' && n < most)
        lines[n++] = arena_printf(a, "lengths measured on %s", taken);
    if (*st->mark != '\0' && n < most)
        lines[n++] = arena_printf(a, "the setting kept: %s", st->mark);
    if (!isnan(st->measured_kg) && n < most)
        lines[n++] =
            st->view.four
                ? arena_printf(a, "measured in the frame %.1f kg; from %.1f to %.1f as worked out",
                               st->measured_kg, st->view.range.fore_low_n / STANDARD_GRAVITY,
                               st->view.range.fore_high_n / STANDARD_GRAVITY)
            : isnan(st->predicted_kg)
                ? arena_printf(a, "measured in the frame %.1f kg; no build sheet foretold it",
                               st->measured_kg)
                : arena_printf(a, "measured in the frame %.1f kg, foretold %.1f: %+.1f kg",
                               st->measured_kg, st->predicted_kg,
                               st->measured_kg - st->predicted_kg);
    if (st->tracked && n < most)
        lines[n++] =
            st->track.n > 1
                ? arena_printf(a,
                               "measured at %zu fittings here: %+.1f kg on average, "
                               "+- %.1f",
                               st->track.n, st->track.mean, st->track.sd)
                : arena_printf(a, "measured at one fitting here: %+.1f kg", st->track.mean);
    if (!st->bench.dog.hind_support_known && n < most)
        lines[n++] =
            arena_printf(a, "what the %s feet still carry is not on record: reckoned with 0 %%",
                         st->setting.frame->model == FRAME_FRONT ? "fore" : "hind");
    return n;
}

/* Read chart and rows again; the setting in hand stays when `keep`. */
static void read_again(struct screen *s, bool keep)
{
    struct bench_state *st = s->state;
    struct fault f = {0};
    const struct frame *frame = keep ? st->setting.frame : NULL;
    fitting_look(&st->at.page.chart, &st->fit);
    if (st->fit.count > 0 && frame != NULL && frame != st->fit.frame)
        fitting_look_with(&st->at.page.chart, frame, &st->fit);
    if (st->fit.count == 0)
        return;
    double later = st->bench.hind_later;
    bench_open(&st->at.page.chart, &st->fit, &st->bench);
    if (keep && isnan(st->bench.hind_later))
        st->bench.hind_later = later;
    if (!keep)
        st->setting = st->fit.setting;
    const struct record *visit = &st->at.page.chart.visit;
    const char *mark = item_mark(&st->at.page.chart, ID_FIT_AXLE);
    st->mark = *mark != '\0' ? mark : item_mark(&st->at.page.chart, ID_FIT_FRAME);
    st->predicted_kg = NAN;
    if (!number_lead(record_text(visit, ID_FIT_MEASURED), &st->measured_kg))
        st->measured_kg = NAN;
    else if (!bench_predicted(s->app->cb, st->at.page.data, visit, &st->predicted_kg, &f))
        app_fault(s->app, &f);
    st->tracked = bench_track(s->app->cb, st->at.page.data, &st->track, &f);
    bench_look(st);
}

static bool open_bench(struct screen *s, struct fault *f)
{
    struct bench_state *st = s->state;
    st->bench.hind_later = NAN;
    if (!page_load(&st->at.page, s, st->at.page.entity, f))
        return false;
    read_again(s, false);
    return true;
}

static void draw(struct screen *s)
{
    struct bench_state *st = s->state;
    if (st->fit.count > 0) {
        bench_draw(st);
        return;
    }
    draw_wrapped(2, 4, term_columns() - 8, 6, LOOK_PLAIN, st->fit.why);
    draw_cursor(2, 4);
}

/* ---- keys ------------------------------------------------------------------------------------ */

static void move(struct bench_state *st, int way, bool coarse)
{
    st->setting.axle_mm = bench_move(&st->bench, &st->setting, way, coarse);
    bench_look(st);
}

/* A signed visit is changed with a reason only. False when it is not given. */
static bool may_write(struct screen *s)
{
    struct bench_state *st = s->state;
    struct chart *c = &st->at.page.chart;
    c->reason = past_reason(s->app, st->at.page.data, &c->visit, "Fit");
    return c->reason != NULL;
}

static void keep(struct screen *s)
{
    struct bench_state *st = s->state;
    struct fault f = {0};
    if (!may_write(s))
        return;
    if (!fitting_keep(&st->at.page.chart, &st->setting, &f)) {
        app_fault(s->app, &f);
        return;
    }
    app_say(s->app, LOOK_GOOD, "Kept: axle at %.0f mm behind the fore feet, wheels %.0f mm",
            st->setting.axle_mm, st->setting.wheel_mm);
    if (page_reload(&st->at.page, s))
        read_again(s, true);
}

/* What the hind feet carry is a finding of its own; what is expected later belongs to the bench. */
static void keep_residual(struct screen *s)
{
    struct bench_state *st = s->state;
    struct fault f = {0};
    if (!bench_ask_residual(s) || !may_write(s))
        return;
    if (!bench_keep_residual(&st->at.page.chart, &st->setting, st->bench.hind_later, &f))
        app_fault(s->app, &f);
    if (page_reload(&st->at.page, s))
        read_again(s, true);
}

static void freeze(struct screen *s)
{
    struct bench_state *st = s->state;
    struct fault f = {0};
    int version = 0;
    if (!bench_kept(st)) {
        app_say(s->app, LOOK_WARN,
                "This setting is not kept yet: Enter keeps it, then f freezes it");
        return;
    }
    if (ask_key(s->app, "Freeze this setting into a build sheet? y n", "yn") != 'y' ||
        !may_write(s))
        return;
    if (!build_freeze(&st->at.page.chart, &version, &f)) {
        app_fault(s->app, &f);
        return;
    }
    if (page_reload(&st->at.page, s))
        read_again(s, true);
    build_sheet_open(s->app, st->at.page.entity);
    app_say(s->app, LOOK_GOOD, "Build sheet, version %d", version);
}

static void show_all(struct screen *s)
{
    struct bench_state *st = s->state;
    enum { MOST = BENCH_WARNINGS_MOST + 6 };
    const char *lines[MOST + 1];
    size_t n = bench_told(st, st->at.page.data, lines, MOST);
    if (*st->setting.frame->note != '\0')
        lines[n++] = st->setting.frame->note;
    ask_read(s->app, "Limits, and what is proposed", lines, n);
}

static void switch_panel(struct bench_state *st, enum bench_panel to)
{
    if (st->panel != PANEL_COMPARE && to == PANEL_COMPARE)
        st->other = st->setting;
    st->panel = st->panel == to ? PANEL_PICTURE : to;
    bench_look(st);
}

static void swap(struct bench_state *st)
{
    struct fit_setting kept = st->setting;
    if (st->panel != PANEL_COMPARE || st->other.frame != st->setting.frame)
        return;
    st->setting = st->other;
    st->other = kept;
    bench_look(st);
}

static bool press_key(struct bench_state *st, struct screen *s, int code)
{
    switch (code) {
    case PK_LEFT:
    case PK_RIGHT:
        move(st, code == PK_LEFT ? -1 : 1, false);
        return true;
    case PK_SHIFT_LEFT:
    case PK_SHIFT_RIGHT:
    case PK_UP:
    case PK_DOWN:
        move(st, code == PK_SHIFT_LEFT || code == PK_UP ? -1 : 1, true);
        return true;
    case PK_ENTER:
        keep(s);
        return true;
    case PK_TAB:
        swap(st);
        return true;
    default:
        return false;
    }
}

static bool press_letter(struct bench_state *st, struct screen *s, char letter)
{
    switch (letter) {
    case '<':
    case '>':
        move(st, letter == '<' ? -1 : 1, true);
        return true;
    case 'o':
        bench_ask_frame(s);
        return true;
    case 'w':
        bench_ask_wheels(s);
        return true;
    case 't':
        bench_ask_track(s);
        return true;
    case 'k':
        bench_ask_parts(s);
        return true;
    case 'r':
        keep_residual(s);
        return true;
    case '2':
        switch_panel(st, PANEL_COMPARE);
        return true;
    case 'p':
        switch_panel(st, PANEL_PLAN);
        return true;
    case 'u':
        st->on_ramp = !st->on_ramp;
        return true;
    case 'g':
        if (st->fit.proposed < st->fit.count) {
            st->setting.axle_mm = st->fit.rows[st->fit.proposed].axle_mm;
            bench_look(st);
        }
        return true;
    case 'f':
        freeze(s);
        return true;
    case 'b':
        build_sheet_open(s->app, st->at.page.entity);
        return true;
    case 'e':
        equipment_open(s->app, st->at.page.entity);
        return true;
    case '!':
        show_all(s);
        return true;
    default:
        return false;
    }
}

static bool press(struct screen *s, const struct press *p)
{
    struct bench_state *st = s->state;
    if (section_press(s, p))
        return true;
    if (st->fit.count == 0)
        return false;
    if (p->kind == PRESS_KEY)
        return press_key(st, s, p->code);
    return p->kind == PRESS_CHAR && press_letter(st, s, p->text[0]);
}

static void refresh(struct screen *s)
{
    struct bench_state *st = s->state;
    if (page_reload(&st->at.page, s))
        read_again(s, st->setting.frame != NULL);
}

static void close_bench(struct screen *s)
{
    struct bench_state *st = s->state;
    page_close(&st->at.page);
}

static const struct key_help keys[] = {
    {"Left Right", "axle", "Move the axle forward and back by millimetres.", true},
    {"< >", "step", "To the frame's next step; Shift with the arrows, Up and Down do the same.",
     true},
    {"w", "wheels", "Another wheel diameter.", true},
    {"t", "track", "Another distance between the wheels.", false},
    {"k", "accessories", "What hangs on the frame: it has mass and place.", true},
    {"r", "residual", "What the hind feet still carry, now and later.", false},
    {"o", "frame", "Another frame, or another kind of support.", false},
    {"2", "compare", "Put this setting aside and compare; Tab exchanges the two.", true},
    {"p", "plan", "The stages ahead: which step each needs, and when front wheels come.", false},
    {"u", "up the ramp", "Picture and loads on the home's ramp, and back on the level.", false},
    {"g", "proposed", "Go to the proposed position.", false},
    {"Enter", "keep", "Keep this setting in the record.", true},
    {"f", "freeze", "Freeze the kept setting into a build sheet, with a version.", true},
    FINDINGS_KEY,
    {"b", "build sheet", "Read and print the build sheet.", false},
    {"e", "equipment", "Which of the practice's own frames fits, and at what setting.", false},
    {"!", "all", "Every limit that is passed, and why what is proposed.", false},
    SECTION_KEYS,
    {0},
};

static const struct screen_class bench_class = {
    .name = "Fit bench",
    .help =
        "What the frame does before it exists: weight on the fore feet against normal, what the "
        "shoulder bar does, when it tips, slips or leans, and what this home asks. A model of a "
        "standing dog pulling slowly; +- is one standard uncertainty. The scale under the fore "
        "feet has the last "
        "word, and a veterinarian decides.",
    .keys = keys,
    .open = open_bench,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_bench,
};

void fit_open(struct app *app, const char *visit, size_t index)
{
    section_screen(app, &bench_class, visit, index, sizeof(struct bench_state));
}
