/* The bench's other panels: two settings side by side, the stages ahead, every step. */
#include "screens/bench.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- two settings side by side ------------------------------------------------------------------
 */

static void draw_setting(const struct bench_state *st, const struct fit_setting *s, int row,
                         int col, int width, const char *name)
{
    draw_textf(row, col, width, LOOK_STRONG, "%s: %.0f mm, wheels %.0f", name, s->axle_mm,
               s->wheel_mm);
    draw_textf(row + 1, col, width, LOOK_DIM, "track %.0f, %s",
               fit_track(st->bench.set, &st->bench.dog, s), s->frame->label);
}

static const struct bench_number *same_row(const struct bench_number *rows, size_t count, size_t i,
                                           const char *label)
{
    /* "bar presses" and "bar lifts" stand in the same row */
    return i < count && strncmp(rows[i].label, label, 3) == 0 ? &rows[i] : NULL;
}

/* `b` may be NULL: the setting in hand has no such number. */
static void draw_pair(int row, const struct bench_number *a, const struct bench_number *b, int left,
                      int right)
{
    const struct bench_number *two[] = {a, b};
    const int cols[] = {left, right};
    draw_text(row, 2, 12, LOOK_DIM, a->label);
    for (int i = 0; i < 2; i++) {
        if (two[i] == NULL)
            continue;
        enum look look = two[i]->past ? LOOK_WARN : LOOK_PLAIN;
        draw_textf(row, cols[i], 30, look, "%s%s%s%s", two[i]->value,
                   *two[i]->within != '\0' ? " +- " : "", two[i]->within,
                   two[i]->past ? "  ! past" : "");
        if (i == 1 && strcmp(a->label, two[i]->label) != 0)
            draw_text(row, cols[i] + 20, 12, LOOK_DIM, two[i]->label);
    }
}

void bench_draw_compare(const struct bench_state *st, int row, int last)
{
    struct bench_number a[BENCH_NUMBERS_MOST], b[BENCH_NUMBERS_MOST];
    size_t na = bench_numbers(&st->bench, &st->other, &st->other_view, a);
    size_t nb = bench_numbers(&st->bench, &st->setting, &st->view, b);
    int half = (term_columns() - 16) / 2, left = 15, right = 15 + half;
    draw_setting(st, &st->other, row, left, half - 2, "put aside");
    draw_setting(st, &st->setting, row, right, half - 2, "in hand");
    row += 2;
    for (size_t i = 0; i < na && row <= last; i++)
        draw_pair(row++, &a[i], same_row(b, nb, i, a[i].label), left, right);
    for (size_t i = 0; i < st->view.answer_count && row <= last; i++, row++) {
        const struct bench_answer *to = &st->view.answers[i];
        draw_text(row, 2, 12, LOOK_DIM, to->what);
        if (i < st->other_view.answer_count)
            draw_textf(row, left, half - 1, LOOK_PLAIN, "%-5s %s",
                       bench_word(st->other_view.answers[i].verdict),
                       st->other_view.answers[i].says);
        draw_textf(row, right, half - 1, LOOK_PLAIN, "%-5s %s", bench_word(to->verdict), to->says);
    }
}

/* ---- the stages ahead
 * ---------------------------------------------------------------------------- */

static int draw_stage(const struct bench_state *st, const struct bench_stage *s, int row)
{
    int columns = term_columns();
    draw_text(row, 2, 18, LOOK_STRONG, s->label);
    draw_textf(row, 21, 20, LOOK_PLAIN, "hind feet %3.0f %%", 100 * s->hind_support);
    draw_textf(row, 38, 22, LOOK_PLAIN, "wanted %2.0f %% relief", 100 * s->wanted);
    row++;
    if (s->found)
        draw_textf(row, 21, columns - 23, LOOK_PLAIN,
                   "step %zu of %zu, %.0f mm: relief %.0f %%, grips %.1f, tips %.0f", s->step,
                   s->steps, s->out.axle_mm, 100 * s->out.relief, s->out.traction_limit_deg,
                   s->out.uphill_limit_deg);
    else
        draw_text(row, 21, columns - 23, LOOK_WARN, "no step of this frame");
    row++;
    if (*s->why != '\0')
        row += draw_wrapped(row, 21, columns - 23, 2, LOOK_WARN, s->why);
    if (s->front_wheels)
        draw_text(row++, 21, columns - 23, LOOK_WARN,
                  "front wheels then: order their fittings now");
    (void)st;
    return row;
}

void bench_draw_plan(const struct bench_state *st, int row, int last)
{
    draw_text(row++, 2, term_columns() - 4, st->bench.progressive ? LOOK_PLAIN : LOOK_DIM,
              st->bench.progressive
                  ? "Progressive: plan the next two stages while the order is placed. No forecast."
                  : "Not recorded as progressive: what it would take, if. No forecast.");
    for (size_t i = 0; i < BENCH_STAGES && row + 2 <= last; i++)
        row = draw_stage(st, &st->plan[i], row);
}

/* ---- every step
 * ---------------------------------------------------------------------------------- */

void bench_draw_steps(const struct bench_state *st, int row, int last, int col, int width)
{
    const struct fit_setting *s = &st->setting;
    size_t steps = fit_steps(s->frame, &st->bench.dog);
    draw_text(row++, col, width, LOOK_DIM, "   step  axle  fore kg  relief  bar kg  grips  tips");
    for (size_t i = 0; i < steps && row <= last; i++, row++) {
        struct fit_setting at = *s;
        struct balance_out out;
        at.axle_mm = fit_step(s->frame, &st->bench.dog, i);
        struct balance_in in = fit_balance(st->bench.set, &st->bench.dog, &at);
        bool here = fabs(at.axle_mm - s->axle_mm) < 0.5;
        const char *mark = here                                                 ? ">"
                           : i == st->fit.proposed && s->frame == st->fit.frame ? "*"
                                                                                : "";
        if (fit_solve(s->frame, &in, &out, NULL))
            draw_textf(row, col, width, LOOK_PLAIN,
                       "%1s  %3zu  %4.0f  %7.1f  %4.0f %%  %+6.1f  %5.1f  %4.0f", mark, i + 1,
                       at.axle_mm, out.fore_load_n / STANDARD_GRAVITY, 100 * out.relief,
                       out.bar_load_n / STANDARD_GRAVITY, out.traction_limit_deg,
                       out.uphill_limit_deg);
        else
            draw_textf(row, col, width, LOOK_WARN, "%1s  %3zu  %4.0f  tips over as it stands", mark,
                       i + 1, at.axle_mm);
    }
}
