/* Trends: what is followed over the months, one at a time, large; whether it really moves; what is
 * published beside it. Never one date. */
#include "casebook/trends.h"
#include "base/text.h"
#include "casebook/review.h"
#include "output/trend_picture.h"
#include "screens/kit/list.h"
#include "screens/page.h"
#include "screens/screens.h"
#include <string.h>

enum { PICTURE_MOST = 64 * 1024, LIST_WIDTH = 24 };

struct trends_state {
    struct page page;
    struct past past;
    const struct trend_view *views;
    const struct course_view *courses;
    size_t course_count;
    struct list list;
};

static bool look(struct screen *s, struct fault *f)
{
    struct trends_state *t = s->state;
    if (!past_load(&t->page.chart, &t->past, f))
        return false;
    t->list.count = trends_look(&t->past, &t->views);
    t->course_count = courses_look(&t->past, &t->courses);
    if (t->list.at >= t->list.count)
        t->list.at = 0;
    s->middle = "";
    return true;
}

static bool open_trends(struct screen *s, struct fault *f)
{
    struct trends_state *t = s->state;
    return page_load(&t->page, s, t->page.entity, f) && look(s, f);
}

static void draw_name(void *of, size_t i, int row, bool focus)
{
    const struct trends_state *t = of;
    const struct trend_view *v = &t->views[i];
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    const char *arrow = !v->solved                           ? ""
                        : v->verdict == TREND_NO_REAL_CHANGE ? "same"
                        : v->verdict == TREND_RISES          ? "up"
                                                             : "down";
    draw_fill(row, 1, LIST_WIDTH, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_text(row, 4, LIST_WIDTH - 9, plain, v->of->label);
    draw_right(row, LIST_WIDTH, 5, focus ? LOOK_FOCUS : LOOK_DIM, arrow);
}

static int draw_picture(const struct trend_view *v, int row, int rows)
{
    int col = LIST_WIDTH + 1, width = term_columns() - col - 2;
    struct text picture;
    text_init(&picture, PICTURE_MOST);
    trend_picture(v, &(struct trend_style){.rows = rows, .columns = width, .utf8 = term_utf8()},
                  &picture);
    int at = row;
    for (char *line = picture.s; *line != '\0';) {
        char *end = line + strcspn(line, "\n");
        char *next = *end == '\0' ? end : end + 1;
        *end = '\0';
        draw_text(at++, col, width + 1, LOOK_PLAIN, line);
        line = next;
    }
    text_free(&picture);
    return at - row;
}

/* A published range with who and how many, beside how far this dog is. */
static int draw_course(struct trends_state *t, const struct course_view *c, int row, int last)
{
    int width = term_columns() - 4, at = row;
    struct arena *a = t->page.data;
    const char *now = c->since_known ? arena_printf(a, "this dog: %d days", c->days)
                                     : "this dog: the first day is not recorded";
    if (at <= last)
        at += draw_wrapped(at, 2, width, last - at + 1, LOOK_PLAIN,
                           arena_printf(a, "%s: %s; %s (%s). %s.", c->course->label,
                                        c->course->figure, c->course->n, c->course->source, now));
    if (c->open && *c->course->plan != '\0' && at <= last)
        at += draw_wrapped(at, 4, width - 2, last - at + 1, LOOK_STRONG,
                           arena_printf(a, "The range has opened. Plan: %s.", c->course->plan));
    return at - row;
}

static void draw(struct screen *s)
{
    struct trends_state *t = s->state;
    int last = term_rows() - 3, width = term_columns() - 4;
    int rows = last > 30 ? 18 : 10;
    if (t->list.count == 0) {
        draw_text(2, 4, 70, LOOK_DIM, "Nothing has been measured or scored yet.");
        draw_cursor(2, 4);
        return;
    }
    const struct trend_view *v = &t->views[t->list.at];
    int row = 1 + rows;
    draw_textf(1, LIST_WIDTH + 2, width - LIST_WIDTH, LOOK_STRONG, "%s%s%s%s%s", v->of->label,
               *v->unit_name != '\0' ? ", " : "", v->unit_name, *v->scale != '\0' ? "  " : "",
               v->scale);
    (void)draw_picture(v, 2, rows - 1);
    draw_rule(row++, 1, term_columns() - 2);
    row += draw_wrapped(row, 2, width, 2,
                        v->solved && v->verdict != TREND_NO_REAL_CHANGE ? LOOK_STRONG : LOOK_PLAIN,
                        v->words);
    const char *const more[] = {trend_speed(v, t->page.data),
                                trend_crossing(v, clock_day(t->page.chart.now), t->page.data)};
    for (size_t i = 0; i < 2; i++)
        if (*more[i] != '\0' && row <= last)
            row += draw_wrapped(row, 2, width, 2, LOOK_PLAIN, more[i]);
    if (v->passed_over > 0 && row <= last)
        draw_textf(row++, 2, width, LOOK_DIM,
                   "%zu totals of another scale or version are not drawn", v->passed_over);
    for (size_t i = 0; i < t->course_count && row <= last; i++)
        row += draw_course(t, &t->courses[i], row, last);
    list_draw(&t->list, 2, rows - 1, 2, draw_name, t);
}

static bool press(struct screen *s, const struct press *p)
{
    struct trends_state *t = s->state;
    return list_press(&t->list, p, 8);
}

static void refresh(struct screen *s)
{
    struct trends_state *t = s->state;
    struct fault f = {0};
    if (page_reload(&t->page, s) && !look(s, &f))
        app_fault(s->app, &f);
}

static void close_trends(struct screen *s)
{
    struct trends_state *t = s->state;
    page_close(&t->page);
}

static const struct key_help keys[] = {
    {"Up Down", "choose", "Another value to follow.", true},
    {0},
};

static const struct screen_class trends_class = {
    .name = "Trends",
    .help =
        "Each value of the visits, the line through them and the band it can be trusted within. "
        "A change counts only when it is more than the readings' own noise. A time to come is a "
        "range, beside what is published and how many dogs that rests on; it is never a promise.",
    .keys = keys,
    .open = open_trends,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_trends,
};

void trends_open(struct app *app, const char *dog)
{
    struct arena *a = arena_new();
    struct trends_state *t = arena_alloc(a, sizeof *t);
    t->page.entity = arena_str(a, dog);
    screen_open(app, &trends_class, a, t);
}
