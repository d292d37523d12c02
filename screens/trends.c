/* Trends: what is followed over the months, one at a time, large; whether it really moves; what is
 * published beside it. Never one date. */
#include "casebook/trends.h"
#include "base/text.h"
#include "casebook/review.h"
#include "output/trend_picture.h"
#include "screens/kit/list.h"
#include "screens/kit/reading.h"
#include "screens/page.h"
#include "screens/screens.h"
#include "screens/trends_panel.h"
#include <string.h>

enum { PICTURE_MOST = 64 * 1024, LIST_WIDTH = 32 };

struct trends_state {
    struct page page;
    struct past past;
    const struct trend_view *views;
    const struct course_view *courses;
    size_t course_count;
    struct list list;
    struct reading text; /* of the value under the cursor */
};

static void say(struct trends_state *t, enum look look, const char *label, const char *words)
{
    reading_row(&t->text, look, 2, label, 11, words);
}

/* A published range with who and how many, beside how far this dog is. */
static void say_course(struct trends_state *t, const struct course_view *c)
{
    struct arena *a = t->page.data;
    const char *now = !c->since_known
                          ? "the first day is not recorded"
                          : arena_printf(a, "%d days since: %s%s", c->days,
                                         finding_label(t->page.chart.cb->set, c->course->since, a),
                                         c->open ? "; the range has opened" : "");
    say(t, LOOK_PLAIN, "published",
        arena_printf(a, "%s: %s; %s (%s)", c->course->label, c->course->figure, c->course->n,
                     c->course->source));
    say(t, LOOK_PLAIN, "this dog", now);
    if (c->open)
        say(t, LOOK_STRONG, "plan", c->course->plan);
}

/* What is said of the value under the cursor, and of the disease. */
static void tell(struct trends_state *t)
{
    struct arena *a = t->page.data;
    t->text.count = t->text.top = 0;
    t->text.more = "m reads on";
    if (t->list.count == 0)
        return;
    const struct trend_view *v = &t->views[t->list.at];
    bool real = v->solved && v->verdict != TREND_NO_REAL_CHANGE;
    say(t, real ? LOOK_STRONG : LOOK_PLAIN, "change", v->words);
    say(t, LOOK_WARN, "marked", v->marks);
    say(t, LOOK_PLAIN, "speed", trend_speed(v, a));
    say(t, LOOK_PLAIN, "cut-off", trend_crossing(v, clock_day(t->page.chart.now), a));
    say(t, LOOK_STRONG, "plan", v->plan);
    if (v->passed_over > 0)
        say(t, LOOK_DIM, "left out",
            arena_printf(a, "%zu totals of another scale or version", v->passed_over));
    say(t, LOOK_DIM, "source", v->of->source);
    for (size_t i = 0; i < t->course_count; i++)
        say_course(t, &t->courses[i]);
}

static bool look(struct screen *s, struct fault *f)
{
    struct trends_state *t = s->state;
    if (!past_load(&t->page.chart, &t->past, f))
        return false;
    t->list.count = trends_look(&t->past, &t->views);
    t->course_count = courses_look(&t->past, &t->courses);
    if (t->list.at >= t->list.count)
        t->list.at = 0;
    tell(t);
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
    draw_fill(row, 1, LIST_WIDTH, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_text(row, 4, LIST_WIDTH - 9, plain, v->of->label);
    draw_right(row, LIST_WIDTH, 5, focus ? LOOK_FOCUS : LOOK_DIM, trend_word(v));
}

static void draw_picture(const struct trend_view *v, int row, int rows)
{
    int col = LIST_WIDTH + 1, width = term_columns() - col - 2;
    struct text picture;
    text_init(&picture, PICTURE_MOST);
    trend_picture(v, &(struct trend_style){.rows = rows, .columns = width, .utf8 = term_utf8()},
                  &picture);
    trend_draw_lines(picture.s, row, col, width + 1);
    text_free(&picture);
}

static void draw(struct screen *s)
{
    struct trends_state *t = s->state;
    enum { PICTURE_LEAST = 8, PICTURE_HIGH = 18 };
    int last = term_rows() - 3, width = term_columns() - 4;
    if (t->list.count == 0) {
        draw_text(2, 4, 70, LOOK_DIM, "Nothing has been measured or scored yet.");
        draw_cursor(2, 4);
        return;
    }
    const struct trend_view *v = &t->views[t->list.at];
    int rows = last - 1 - reading_rows(&t->text);
    rows = rows < PICTURE_LEAST ? PICTURE_LEAST : rows > PICTURE_HIGH ? PICTURE_HIGH : rows;
    draw_textf(1, LIST_WIDTH + 2, width - LIST_WIDTH, LOOK_STRONG, "%s%s%s%s%s", v->of->label,
               *v->unit_name != '\0' ? ", " : "", v->unit_name, *v->scale != '\0' ? "  " : "",
               v->scale);
    draw_picture(v, 2, rows - 1);
    draw_rule(1 + rows, 1, term_columns() - 2);
    reading_draw(&t->text, 2 + rows, last);
    list_draw(&t->list, 2, rows - 1, 2, draw_name, t);
}

static bool press(struct screen *s, const struct press *p)
{
    struct trends_state *t = s->state;
    if (p->kind == PRESS_CHAR && p->text[0] == 'm') {
        t->text.top = t->text.top + 1 < t->text.count ? t->text.top + 1 : 0;
        return true;
    }
    if (!list_press(&t->list, p, 8))
        return false;
    tell(t);
    return true;
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
    {"m", "more", "Read on when the text below does not fit; at its end, from the top.", true},
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
