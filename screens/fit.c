/* Fit: what each axle position puts on, or takes off, the front legs, and when it tips or slips. */
#include "base/text.h"
#include "casebook/fitting.h"
#include "casebook/measuring.h"
#include "output/picture.h"
#include "screens/kit/list.h"
#include "screens/visit.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

struct fit_state {
    struct section_page at;
    struct fitting fit;
    struct list list;
    double withers_mm; /* 0: not measured, no picture */
};

static void look(struct fit_state *st)
{
    fitting_look(&st->at.page.chart, &st->fit);
    st->list.count = st->fit.count;
    const char *withers = measure_fact(&st->at.page.chart, "withers_height");
    st->withers_mm = 0;
    if (withers != NULL)
        (void)number_lead(withers, &st->withers_mm);
}

static bool open_fit(struct screen *s, struct fault *f)
{
    struct fit_state *st = s->state;
    if (!page_load(&st->at.page, s, st->at.page.entity, f))
        return false;
    look(st);
    if (st->fit.chosen < st->fit.count)
        st->list.at = st->fit.chosen;
    else if (st->fit.proposed < st->fit.count)
        st->list.at = st->fit.proposed;
    return true;
}

static double kilograms(double newtons)
{
    return newtons / STANDARD_GRAVITY;
}

/* Whole per cent, and never "-0". */
static const char *percent(double share, char *buf, size_t room)
{
    double whole = round(100 * share);
    (void)snprintf(buf, room, "%4.0f %%", whole == 0 ? 0.0 : whole);
    return buf;
}

/* "lifts 0.3" or "presses 0.4": the bar in words. */
static const char *bar_words(double newtons, char *buf, size_t room)
{
    double kg = kilograms(newtons);
    if (fabs(kg) < 0.05)
        (void)snprintf(buf, room, "neutral");
    else
        (void)snprintf(buf, room, "%s %.1f", kg > 0 ? "presses" : "lifts", fabs(kg));
    return buf;
}

static const char *remark(const struct fit_state *st, size_t i)
{
    const struct fit_row *r = &st->fit.rows[i];
    if (r->refused)
        return r->why;
    if (r->tip_short)
        return "tips on home ramp";
    if (r->grip_short)
        return "slips on home ramp";
    if (r->over_relief)
        return "more than planned";
    if (i == st->fit.chosen)
        return "chosen";
    return i == st->fit.proposed ? "proposed" : "";
}

static void draw_row(void *of, size_t i, int row, bool focus)
{
    const struct fit_state *st = of;
    const struct fit_row *r = &st->fit.rows[i];
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    bool limit = r->refused || r->tip_short || r->grip_short || r->over_relief;
    char bar[32], share[16];
    draw_fill(row, 1, term_columns() - 2, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_textf(row, 4, 6, plain, "%4.0f", r->axle_mm);
    if (!r->refused) {
        draw_textf(row, 12, 8, plain, "%5.1f", kilograms(r->out.fore_load_n));
        draw_text(row, 21, 6, plain, percent(r->out.fore_share_now, share, sizeof share));
        draw_text(row, 29, 6, plain, percent(r->out.relief, share, sizeof share));
        draw_text(row, 37, 12, plain, bar_words(r->out.bar_load_n, bar, sizeof bar));
        draw_textf(row, 50, 4, plain, "%3.0f", floor(r->out.uphill_limit_deg));
        draw_textf(row, 56, 4, plain, "%3.0f", floor(r->out.traction_limit_deg));
    }
    draw_text(row, r->refused ? 12 : 61, term_columns() - (r->refused ? 14 : 62),
              focus   ? LOOK_FOCUS
              : limit ? LOOK_WARN
                      : LOOK_GOOD,
              remark(st, i));
}

static void draw_picture(struct fit_state *st, int row, int rows)
{
    const struct fit_row *r = &st->fit.rows[st->list.at];
    if (st->withers_mm <= 0 || r->refused || rows < 9)
        return;
    enum { PICTURE_ROWS = 15 }; /* larger is no clearer */
    rows = rows < PICTURE_ROWS ? rows : PICTURE_ROWS;
    struct text picture;
    text_init(&picture, 16384);
    picture_side(&st->fit.in, &r->out, st->withers_mm, rows - 1, term_columns() - 6, &picture);
    const char *line = picture.s;
    for (int i = 0; i < rows && *line != '\0'; i++) {
        size_t n = strcspn(line, "\n");
        draw_textf(row + i, 4, term_columns() - 6, LOOK_PLAIN, "%.*s", (int)n, line);
        line += n + (line[n] == '\n');
    }
    text_free(&picture);
}

static void draw(struct screen *s)
{
    struct fit_state *st = s->state;
    const struct fitting *fit = &st->fit;
    int columns = term_columns(), last = term_rows() - 3;
    (void)s;
    if (fit->count == 0) {
        draw_wrapped(2, 4, columns - 8, 6, LOOK_PLAIN, fit->why);
        draw_cursor(2, 4);
        return;
    }
    draw_textf(1, 2, columns - 4, LOOK_STRONG, "%s", fit->frame->label);
    draw_textf(2, 2, columns - 4, LOOK_DIM, "normal on the fore feet: %.1f kg, %.0f %% (%s)%s",
               fit->in.dog_mass_kg * fit->in.fore_share, 100 * fit->in.fore_share,
               fit->fore_share_from, fit->has_ramp ? "" : "; no ramp in the home survey");
    draw_text(3, 4, 7, LOOK_DIM, "axle mm");
    draw_text(3, 12, 9, LOOK_DIM, "fore kg");
    draw_text(3, 21, 8, LOOK_DIM, "of dog");
    draw_text(3, 29, 7, LOOK_DIM, "relief");
    draw_text(3, 37, 11, LOOK_DIM, "bar kg");
    draw_text(3, 50, 5, LOOK_DIM, "tips");
    draw_text(3, 56, 5, LOOK_DIM, "grips");
    if (fit->has_ramp)
        draw_textf(3, 62, columns - 63, LOOK_DIM, "home ramp %.0f deg", fit->ramp_deg);
    int rows = (int)fit->count < 9 ? (int)fit->count : 9;
    draw_picture(st, 5 + rows, last - 5 - rows);
    list_draw(&st->list, 4, rows, 2, draw_row, st);
    draw_textf(
        last, 2, columns - 4, LOOK_DIM,
        "tips, grips: degrees uphill. Wheels forward spare the fore feet, cost grip and tip.");
}

static bool press(struct screen *s, const struct press *p)
{
    struct fit_state *st = s->state;
    if (section_press(s, p) || list_press(&st->list, p, 8))
        return true;
    if (p->kind == PRESS_KEY && (p->code == PK_LEFT || p->code == PK_RIGHT)) {
        struct press move = *p;
        move.code = p->code == PK_LEFT ? PK_UP : PK_DOWN;
        return list_press(&st->list, &move, 8);
    }
    if (p->kind == PRESS_KEY && p->code == PK_ENTER && st->fit.count > 0) {
        struct fault f = {0};
        size_t row = st->list.at;
        if (!fitting_choose(&st->at.page.chart, &st->fit, row, &f))
            app_fault(s->app, &f);
        else
            app_say(s->app, LOOK_GOOD, "Axle at %.0f mm behind the fore feet",
                    st->fit.rows[row].axle_mm);
        if (page_reload(&st->at.page, s))
            look(st);
        return true;
    }
    return false;
}

static void refresh(struct screen *s)
{
    struct fit_state *st = s->state;
    if (page_reload(&st->at.page, s))
        look(st);
}

static void close_fit(struct screen *s)
{
    struct fit_state *st = s->state;
    page_close(&st->at.page);
}

static const struct key_help keys[] = {
    {"Enter", "choose", "Keep the axle position under the cursor.", true},
    {"Up Down", "axle", "Move the axle; Left and Right do the same.", true},
    SECTION_KEYS,
    {0},
};

static const struct screen_class fit_class = {
    .name = "Fit",
    .help =
        "The balance of the frame on this dog for each axle position: weight on the fore feet "
        "against normal, what the shoulder bar does, and on which slope it tips or the fore "
        "feet slip. A model of a standing dog: the scale under the fore feet has the last word.",
    .keys = keys,
    .open = open_fit,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_fit,
};

void fit_open(struct app *app, const char *visit, size_t index)
{
    section_screen(app, &fit_class, visit, index, sizeof(struct fit_state));
}
