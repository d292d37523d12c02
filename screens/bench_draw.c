/* The bench drawn: head, picture, numbers, house, axle, warnings. */
#include "base/text.h"
#include "output/picture.h"
#include "screens/bench.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Columns of the numbers, at the right. */
static int numbers_wide(void)
{
    return term_columns() >= 110 ? 58 : 49;
}

static void draw_head(const struct bench_state *st)
{
    const struct fit_setting *s = &st->setting;
    const struct template_set *set = st->bench.set;
    int columns = term_columns();
    int used = draw_text(1, 2, columns / 2, LOOK_STRONG, s->frame->label);
    draw_textf(1, 4 + used, columns - 6 - used, LOOK_PLAIN, "wheels %.0f mm  track %.0f mm%s",
               s->wheel_mm, st->view.in.wheel_track_mm, bench_kept(st) ? "  kept" : "");
    struct text line;
    text_init(&line, 400);
    text_addf(&line, "normal %.1f kg, %.0f %% (%s)", st->view.normal_n / STANDARD_GRAVITY,
              100 * st->bench.dog.fore_share, st->bench.dog.fore_share_from);
    text_addf(&line, "  %s carry %.0f %%",
              s->frame->model == FRAME_FRONT ? "fore feet" : "hind feet", 100 * s->hind_support);
    for (size_t i = 0; i < set->frame_accessory_count && i < FIT_ACCESSORIES_MOST; i++)
        if (s->has[i])
            text_addf(&line, ", %s", set->frame_accessories[i].label);
    draw_text(2, 2, columns - 4, LOOK_DIM, line.s);
    text_free(&line);
}

/* ---- picture --------------------------------------------------------------------------------- */

/* What moves stands on whole columns, of a large picture on every other one: it keeps its shape,
 * and few bytes travel for one key. The rest of the picture is still. */
static void make_figure(struct bench_state *st, const struct picture_style *style)
{
    struct balance_in in = st->view.in.balance;
    struct balance_out out = st->view.out.balance;
    double ramp = st->bench.house.ramp_deg;
    bool ramped = st->on_ramp && !isnan(ramp);
    struct balance_out sloped;
    in.slope_deg = ramped ? ramp : 0;
    if (ramped && fit_solve(st->setting.frame, &in, &sloped, NULL))
        out = sloped;
    const struct frame *f = st->setting.frame;
    const struct fit_dog *dog = &st->bench.dog;
    struct figure_in figure = {
        .in = &in,
        .out = &out,
        .withers_mm = dog->withers_mm,
        .normal_n = st->view.normal_n,
        .slope_deg = in.slope_deg,
        .front = f->model == FRAME_FRONT,
        .front_axle_mm = f->model == FRAME_FOUR ? f->front_axle_at * dog->stance_mm : NAN,
        .loads = true,
        .axle_low_mm = fit_step(f, dog, 0),
        .axle_high_mm = fit_step(f, dog, fit_steps(f, dog) - 1),
    };
    figure_side(&figure, &st->figure);
    figure.grid_mm = (style->columns > 48 ? 2 : 1) * picture_column_mm(&st->figure, style);
    figure_side(&figure, &st->figure);
}

static void draw_picture(struct bench_state *st, int row, int rows, int width)
{
    struct text picture;
    struct picture_style style = {.rows = rows, .columns = width, .braille = term_utf8()};
    make_figure(st, &style);
    text_init(&picture, 64 * 1024);
    picture_draw(&st->figure, &style, &picture);
    const char *line = picture.s;
    for (int i = 0; i < rows && *line != '\0'; i++) {
        size_t n = strcspn(line, "\n");
        draw_textf(row + i, 1, width, LOOK_PLAIN, "%.*s", (int)n, line);
        line += n + (line[n] == '\n');
    }
    text_free(&picture);
}

/* ---- numbers --------------------------------------------------------------------------------- */

static enum look look_of(enum bench_verdict v)
{
    return v == BENCH_YES ? LOOK_GOOD : v == BENCH_UNKNOWN ? LOOK_DIM : LOOK_WARN;
}

static int draw_numbers(const struct bench_state *st, int row, int last, int col)
{
    struct bench_number numbers[BENCH_NUMBERS_MOST];
    size_t count = bench_numbers(&st->bench, &st->setting, &st->view, numbers);
    for (size_t i = 0; i < count && row <= last; i++, row++) {
        const struct bench_number *n = &numbers[i];
        draw_text(row, col, 12, n->past ? LOOK_WARN : LOOK_DIM, n->label);
        bool range = *n->within == '\0' && draw_width(n->value) > 9; /* "0.0 to 2.5 kg" */
        draw_right(row, col + (range ? 29 : 22), range ? 16 : 9,
                   n->past  ? LOOK_WARN
                   : i == 0 ? LOOK_STRONG
                            : LOOK_PLAIN,
                   n->value);
        if (*n->within != '\0')
            draw_textf(row, col + 23, 7, LOOK_PLAIN, "+- %s", n->within);
        draw_text(row, col + 31, numbers_wide() - 32, LOOK_PLAIN,
                  n->past ? "! past a limit" : n->more);
    }
    return row;
}

static int draw_house(const struct bench_state *st, int row, int last, int col)
{
    size_t left = st->view.answer_count;
    for (size_t i = 0; i < st->view.answer_count && row <= last; i++, row++, left--) {
        const struct bench_answer *a = &st->view.answers[i];
        draw_text(row, col, 12, LOOK_DIM, a->what);
        draw_text(row, col + 13, 5, look_of(a->verdict), bench_word(a->verdict));
        draw_text(row, col + 19, numbers_wide() - 20, LOOK_PLAIN, a->says);
        if (*a->more != '\0' && row + (int)left <= last) /* there is a row to spare */
            draw_text(++row, col + 19, numbers_wide() - 20, LOOK_DIM, a->more);
    }
    return row;
}

/* ---- the axle -------------------------------------------------------------------------------- */

struct slider {
    double first, last;
    int col, width;
};

static int place(const struct slider *s, double mm)
{
    double share = s->last > s->first ? (mm - s->first) / (s->last - s->first) : 0.5;
    return s->col + (int)lround(fmin(fmax(share, 0), 1) * (s->width - 1));
}

/* "^neutral" under its place, or "neutral^" where there is no room to the right or `before` says
 * so.
 */
static void draw_mark(const struct slider *s, int row, double mm, const char *word, bool before)
{
    int at = place(s, mm), n = draw_width(word) + 1;
    if (before || at + n > s->col + s->width)
        draw_textf(row, at - n + 1, n, LOOK_DIM, "%s^", word);
    else
        draw_textf(row, at, n, LOOK_DIM, "^%s", word);
}

static void draw_marks(const struct bench_state *st, const struct slider *bar, int row)
{
    double neutral = st->view.out.balance.neutral_axle_mm;
    bool proposed = st->fit.proposed < st->fit.count && st->setting.frame == st->fit.frame;
    double to = proposed ? st->fit.rows[st->fit.proposed].axle_mm : neutral;
    enum { APART = sizeof "^proposed" }; /* nearer than that one word goes to the left */
    bool near = abs(place(bar, neutral) - place(bar, to)) < APART;
    if (proposed && place(bar, to) == place(bar, neutral)) {
        draw_mark(bar, row, to, "neutral, proposed", false);
        return;
    }
    draw_mark(bar, row, neutral, "neutral", near && neutral < to);
    if (proposed)
        draw_mark(bar, row, to, "proposed", near && to < neutral);
}

static size_t step_at(const struct bench_state *st)
{
    size_t steps = fit_steps(st->setting.frame, &st->bench.dog), at = 0;
    while (at < steps &&
           fabs(fit_step(st->setting.frame, &st->bench.dog, at) - st->setting.axle_mm) > 0.5)
        at++;
    return at;
}

static void draw_axle(const struct bench_state *st, int row)
{
    const struct fit_setting *s = &st->setting;
    size_t steps = fit_steps(s->frame, &st->bench.dog), at = step_at(st);
    struct slider bar = {.first = fit_step(s->frame, &st->bench.dog, 0),
                         .last = fit_step(s->frame, &st->bench.dog, steps - 1),
                         .col = 13,
                         .width = term_columns() - 13 - 34};
    draw_text(row, 2, 5, LOOK_DIM, "axle");
    draw_textf(row, 7, 5, LOOK_DIM, "%4.0f", bar.first);
    for (int i = 0; i < bar.width; i++)
        draw_text(row, bar.col + i, 1, LOOK_PLAIN, "-");
    for (size_t i = 0; i < steps; i++)
        draw_text(row, place(&bar, fit_step(s->frame, &st->bench.dog, i)), 1, LOOK_PLAIN, "+");
    draw_textf(row, bar.col + bar.width + 1, 5, LOOK_DIM, "%.0f", bar.last);
    draw_textf(row, bar.col + bar.width + 7, 8, LOOK_PLAIN, "%.0f mm", s->axle_mm);
    if (at < steps)
        draw_textf(row, bar.col + bar.width + 16, 17, LOOK_PLAIN, "step %zu of %zu", at + 1, steps);
    else
        draw_text(row, bar.col + bar.width + 16, 17, LOOK_PLAIN, "between steps");
    int knob = place(&bar, s->axle_mm);
    draw_text(row, knob, 1, LOOK_FOCUS, "o");
    draw_marks(st, &bar, row + 1);
    bool front = s->frame->model == FRAME_FRONT; /* it has no rest */
    double from = front ? 0 : st->view.in.balance.rest_mm;
    draw_textf(row + 1, bar.col + bar.width + 7, 26, LOOK_PLAIN, "%3.0f mm %s %s",
               fabs(s->axle_mm - from), s->axle_mm <= from ? "ahead of" : "behind",
               front ? "fore feet" : "the rest");
    draw_cursor(row, knob);
}

/* ---- what must not be left without a word ---------------------------------------------------- */

static void draw_told(const struct bench_state *st, int row, int last)
{
    enum { MOST = BENCH_WARNINGS_MOST + 6 };
    struct arena *a = arena_new();
    const char *lines[MOST];
    size_t count = bench_told(st, a, lines, MOST), i = 0;
    for (; i < count && row <= last; i++) {
        enum look look = i < st->view.warning_count ? LOOK_WARN : LOOK_DIM;
        int left = last - row + 1 - (int)(count - i - 1); /* a row for each that follows */
        row += draw_wrapped(row, 2, term_columns() - 16, left > 1 ? left : 1, look, lines[i]);
    }
    if (i < count)
        draw_textf(last, term_columns() - 12, 11, LOOK_STRONG, "! %zu more", count - i);
    arena_free(a);
}

void bench_draw(struct bench_state *st)
{
    int last = term_rows() - 3, columns = term_columns();
    enum { AXLE = 2, HEAD = 3 };
    /* side by side and ahead there is much to say: "!" tells what is not told below */
    int told = st->panel == PANEL_PICTURE ? 3 : 1;
    int body_last = last - told - AXLE, col = columns - numbers_wide() - 1;
    draw_head(st);
    if (st->panel == PANEL_COMPARE) {
        bench_draw_compare(st, HEAD, body_last);
    } else if (st->panel == PANEL_PLAN) {
        bench_draw_plan(st, HEAD, body_last);
    } else if (st->view.refused) {
        draw_wrapped(HEAD + 1, 4, columns - 8, 5, LOOK_WARN, st->view.why);
    } else {
        int row = draw_numbers(st, HEAD, body_last, col);
        bool airy = body_last - row > 7;
        row = draw_house(st, row + airy, body_last, col);
        if (body_last - row > 5) {
            row = bench_draw_steps(st, row + 1, body_last, col, numbers_wide());
            bench_draw_plan_short(st, row + 1, body_last, col, numbers_wide());
        }
        draw_picture(st, HEAD, body_last - HEAD + 1, col - 2);
    }
    draw_axle(st, body_last + 1);
    draw_told(st, body_last + 3, last);
}
