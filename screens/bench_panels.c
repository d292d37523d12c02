/* The bench's other panels: two settings side by side, the stages ahead, every step. */
#include "screens/bench.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- two settings side by side --------------------------------------------------------------- */

static void draw_setting(const struct bench_state *st, const struct fit_setting *s, int row,
                         int col, int width, const char *name)
{
    draw_textf(row, col, width, LOOK_STRONG, "%s: %.0f mm, wheels %.0f", name, s->axle_mm,
               s->wheel_mm);
    draw_textf(row + 1, col, width, LOOK_DIM, "track %.0f, %s",
               fit_track(st->bench.set, &st->bench.dog, s), s->frame->label);
}

/* The columns of the two settings. */
struct pair {
    int left, right, width;
};

/* "bar presses" and "bar lifts", "tips up" of a rear frame and "tips" of a front one. */
static bool same_row(const char *a, const char *b)
{
    size_t n = strcspn(a, " ");
    return n == strcspn(b, " ") && strncmp(a, b, n) == 0;
}

/* Beside a label that says something else it brings its own; of "bar presses" only what differs. */
static void draw_number(int row, int col, int width, const struct bench_number *n,
                        const char *label)
{
    const char *own = strcmp(n->label, label) == 0 ? "" : n->label;
    if (*own != '\0' && same_row(own, label)) {
        own += strcspn(own, " ");
        own += strspn(own, " ");
    }
    draw_textf(row, col, width, n->past ? LOOK_WARN : LOOK_PLAIN, "%s%s%s%s%s%s", own,
               *own != '\0' ? " " : "", n->value, *n->within != '\0' ? " +- " : "", n->within,
               n->past ? "  ! past" : "");
}

/* Each row of one with its like of the other. What has none, of a front frame beside a rear one,
 * fills the places that are left. */
static int draw_pairs(const struct bench_number *a, size_t na, const struct bench_number *b,
                      size_t nb, int row, int last, const struct pair *at)
{
    const struct bench_number *beside[BENCH_NUMBERS_MOST] = {NULL};
    bool taken[BENCH_NUMBERS_MOST] = {false};
    for (int like = 1; like >= 0; like--)
        for (size_t k = 0; k < nb; k++)
            for (size_t i = 0; i < na && !taken[k]; i++)
                if (beside[i] == NULL && (!like || same_row(a[i].label, b[k].label))) {
                    beside[i] = &b[k];
                    taken[k] = true;
                }
    for (size_t i = 0; i < na && row <= last; i++, row++) {
        draw_text(row, 1, 12, LOOK_DIM, a[i].label);
        draw_number(row, at->left, at->width, &a[i], a[i].label);
        if (beside[i] != NULL)
            draw_number(row, at->right, at->width, beside[i], a[i].label);
    }
    for (size_t k = 0; k < nb && row <= last; k++)
        if (!taken[k])
            draw_number(row++, at->right, at->width, &b[k], "");
    return row;
}

static void draw_answer(int row, int col, int width, const struct bench_answer *a)
{
    draw_textf(row, col, width, LOOK_PLAIN, "%-5s %s", bench_word(a->verdict), a->says);
}

void bench_draw_compare(const struct bench_state *st, int row, int last)
{
    const struct bench_view *aside = &st->other_view, *hand = &st->view;
    struct bench_number a[BENCH_NUMBERS_MOST], b[BENCH_NUMBERS_MOST];
    size_t na = bench_numbers(&st->bench, &st->other, aside, a);
    size_t nb = bench_numbers(&st->bench, &st->setting, hand, b);
    int half = (term_columns() - 14) / 2;
    const struct pair at = {.left = 14, .right = 14 + half, .width = half - 1};
    draw_setting(st, &st->other, row, at.left, at.width, "put aside");
    draw_setting(st, &st->setting, row, at.right, at.width, "in hand");
    row += 2;
    if (aside->refused)
        draw_wrapped(row, at.left, at.width, last - row + 1, LOOK_WARN, aside->why);
    if (hand->refused)
        draw_wrapped(row, at.right, at.width, last - row + 1, LOOK_WARN, hand->why);
    row = draw_pairs(a, na, b, nb, row, last, &at);
    const struct bench_view *said = hand->refused ? aside : hand;
    for (size_t i = 0; i < said->answer_count && row <= last; i++, row++) {
        draw_text(row, 1, 12, LOOK_DIM, said->answers[i].what);
        if (i < aside->answer_count)
            draw_answer(row, at.left, at.width, &aside->answers[i]);
        if (i < hand->answer_count)
            draw_answer(row, at.right, at.width, &hand->answers[i]);
    }
}

/* ---- the stages ahead ------------------------------------------------------------------------ */

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
                  ? "Progressive: plan the next two stages with the order. No forecast."
                  : "Not recorded as progressive: what it would take, if. No forecast.");
    for (size_t i = 0; i < BENCH_STAGES && row + 2 <= last; i++)
        row = draw_stage(st, &st->plan[i], row);
}

/* A line for each stage, where a large terminal has room. */
void bench_draw_plan_short(const struct bench_state *st, int row, int last, int col, int width)
{
    if (last - row < BENCH_STAGES)
        return;
    draw_text(row++, col, width, LOOK_DIM, "   ahead, no forecast   hind   axle    relief");
    for (size_t i = 0; i < BENCH_STAGES; i++, row++) {
        const struct bench_stage *s = &st->plan[i];
        draw_textf(row, col + 3, 18, LOOK_PLAIN, "%s", s->label);
        draw_textf(row, col + 21, 8, LOOK_PLAIN, "%5.0f %%", 100 * s->hind_support);
        if (s->found)
            draw_textf(row, col + 29, 21, LOOK_PLAIN, "%6.0f  %2.0f of %2.0f %%", s->out.axle_mm,
                       round(100 * s->out.relief) + 0.0, 100 * s->wanted);
        else
            draw_text(row, col + 32, 21, LOOK_WARN, "no step");
        if (s->front_wheels)
            draw_text(row, col + 49, width - 49, LOOK_WARN, "+ wheels");
    }
}

/* ---- every step ------------------------------------------------------------------------------ */

int bench_draw_steps(const struct bench_state *st, int row, int last, int col, int width)
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
            draw_textf(
                row, col, width, LOOK_PLAIN,
                "%1s  %3zu  %4.0f  %7.1f  %4.0f %%  %+6.1f  %5.1f  %4.0f", mark, i + 1, at.axle_mm,
                out.fore_load_n / STANDARD_GRAVITY, round(100 * out.relief) + 0.0, /* never -0 */
                out.bar_load_n / STANDARD_GRAVITY, out.traction_limit_deg, out.uphill_limit_deg);
        else
            draw_textf(row, col, width, LOOK_WARN, "%1s  %3zu  %4.0f  tips over as it stands", mark,
                       i + 1, at.axle_mm);
    }
    return row;
}
