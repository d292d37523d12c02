#include "screens/trends_panel.h"
#include "base/arena.h"
#include "base/text.h"
#include "output/trend_picture.h"
#include "screens/kit/draw.h"
#include "screens/kit/term.h"
#include <string.h>

enum {
    PICTURE_ROOM = 64 * 1024,
    PICTURE_LEAST = 5,
    PICTURE_HIGH = 8,
    SAID_MOST = 3,  /* rows of a mark, and of a plan */
    ENDS_WIDE = 18, /* "1234 -> 1234 of 72"; and the word behind it */
    WORD_WIDE = 5
};

/* In `a`. */
static const char *drawn(const struct trend_view *v, int rows, int columns, struct arena *a)
{
    struct text picture;
    text_init(&picture, PICTURE_ROOM);
    trend_picture(v, &(struct trend_style){.rows = rows, .columns = columns, .utf8 = term_utf8()},
                  &picture);
    const char *kept = arena_str(a, picture.s);
    text_free(&picture);
    return kept;
}

void trend_draw_lines(const char *picture, int row, int col, int width)
{
    char line[1024]; /* no terminal is as wide */
    for (const char *at = picture; *at != '\0'; row++) {
        size_t n = strcspn(at, "\n"), kept = n < sizeof line ? n : sizeof line - 1;
        memcpy(line, at, kept);
        line[kept] = '\0';
        draw_text(row, col, width, LOOK_PLAIN, line);
        at += n + (at[n] == '\n');
    }
}

bool trends_panel_look(struct trends_panel *t, const struct chart *c, struct fault *f)
{
    struct past past;
    *t = (struct trends_panel){.arena = c->arena};
    if (!past_load(c, &past, f))
        return false;
    t->count = trends_look(&past, &t->views);
    for (size_t i = 0; i < t->count && i < TRENDS_PANEL_MOST; i++) {
        const char *plan = t->views[i].plan;
        t->ends[i] = trend_ends(&t->views[i], c->arena);
        t->plans[i] = *plan != '\0' ? arena_printf(c->arena, "Plan: %s", plan) : "";
    }
    return true;
}

static bool moved(const struct trend_view *v)
{
    return v->solved && v->verdict != TREND_NO_REAL_CHANGE;
}

/* ---- room ------------------------------------------------------------------------------------ */

static int wrapped_rows(const char *words, int width)
{
    int rows = 0;
    for (size_t at = 0; words[at] != '\0' && rows < SAID_MOST; rows++)
        (void)draw_break(words, at, width, &at);
    return rows;
}

static int said_rows(const struct trends_panel *t, size_t i, int width)
{
    return wrapped_rows(t->views[i].marks, width - 2) + wrapped_rows(t->plans[i], width - 2);
}

/* Without its picture. Below what takes more than its own row stands an empty one. */
static int rows_of(const struct trends_panel *t, size_t i, int width)
{
    int said = said_rows(t, i, width);
    return 1 + said + (said > 0);
}

/* How many are named in so many rows; when not all are, a row says so. */
static size_t named(const struct trends_panel *t, int rows, int width, int *left)
{
    size_t n = 0, most = t->count < TRENDS_PANEL_MOST ? t->count : TRENDS_PANEL_MOST;
    for (*left = rows; n < most; n++) {
        int more = rows_of(t, n, width);
        if (*left - more < (n + 1 < t->count))
            break;
        *left -= more;
    }
    return n;
}

/* The rows that are left go to pictures, of what really moved before the rest, and all of one
 * height. */
static void share(struct trends_panel *t, int rows, int width)
{
    int left, count = 0;
    t->shown = named(t, rows, width, &left);
    left -= t->shown < t->count;
    memset(t->pictured, 0, sizeof t->pictured);
    for (int still = 0; still < 2; still++)
        for (size_t i = 0; i < t->shown && (count + 1) * (PICTURE_LEAST + 1) <= left; i++)
            if (t->views[i].solved && moved(&t->views[i]) == (still == 0)) {
                t->pictured[i] = 1;
                count++;
            }
    int high = count > 0 ? left / count - 1 : 0;
    high = high < PICTURE_HIGH ? high : PICTURE_HIGH;
    for (size_t i = 0; i < t->shown; i++)
        if (t->pictured[i] > 0) {
            t->pictured[i] = high;
            t->pictures[i] = drawn(&t->views[i], high, width - 2, t->arena);
        }
    t->rows = rows;
    t->width = width;
}

/* ---- drawing --------------------------------------------------------------------------------- */

static int draw_one(const struct trends_panel *t, size_t i, int row, int col, int width)
{
    const struct trend_view *v = &t->views[i];
    enum look look = moved(v) ? LOOK_STRONG : LOOK_PLAIN;
    int names = width - ENDS_WIDE - WORD_WIDE - 2;
    draw_text(row, col, names, look, v->of->label);
    draw_text(row, col + names + 1, ENDS_WIDE, LOOK_PLAIN, t->ends[i]);
    draw_right(row, col + width, WORD_WIDE, look, trend_word(v));
    row++;
    row += draw_wrapped(row, col + 2, width - 2, SAID_MOST, LOOK_WARN, v->marks);
    row += draw_wrapped(row, col + 2, width - 2, SAID_MOST, LOOK_PLAIN, t->plans[i]);
    if (t->pictured[i] > 0)
        trend_draw_lines(t->pictures[i], row, col, width);
    return row + t->pictured[i] + (t->pictured[i] > 0 || said_rows(t, i, width) > 0);
}

void trends_panel_draw(struct trends_panel *t, int row, int last, int col, int width)
{
    if (t->count == 0)
        return;
    draw_text(row, col, width, LOOK_STRONG, "Trends");
    row += 2;
    int rows = last + 1 - row;
    if (t->rows != rows || t->width != width)
        share(t, rows, width);
    for (size_t i = 0; i < t->shown; i++)
        row = draw_one(t, i, row, col, width);
    if (t->shown < t->count)
        draw_textf(row, col, width, LOOK_DIM, "and %zu more: t opens them", t->count - t->shown);
}
