#include "screens/kit/history.h"
#include "base/clock.h"
#include "output/papers.h"
#include "screens/kit/list.h"
#include "screens/kit/printing.h"

struct history {
    const char *entity, *item;
    struct story story;
    struct list list;
};

static bool open_history(struct screen *s, struct fault *f)
{
    struct history *h = s->state;
    if (!story_look(s->app->cb, s->arena, h->entity, h->item, &h->story, f))
        return false;
    s->subject = h->story.label;
    s->middle = h->story.conflict ? "CONFLICT" : "";
    h->list.count = h->story.count;
    h->list.at = h->story.count - 1;
    return true;
}

static void draw_entry(void *of, size_t i, int row, bool focus)
{
    const struct history *h = of;
    const struct telling *t = &h->story.all[i];
    enum look look = focus ? LOOK_FOCUS : LOOK_PLAIN;
    char day[CLOCK_ROOM], hour[CLOCK_ROOM];
    draw_fill(row, 1, term_columns() - 2, look);
    draw_text(row, 2, 1, look, focus ? ">" : " ");
    draw_textf(row, 4, 17, look, "%s %s", clock_iso_day(clock_day(t->entry->claimed_at), day),
               clock_hour(t->entry->claimed_at, hour));
    draw_text(row, 22, 6, look, t->who);
    int col = 29 + draw_text(row, 29, 26, look, t->value);
    col = col < 46 ? 46 : col + 2;
    if (t->after || *t->why != '\0')
        draw_textf(row, col, term_columns() - 2 - col, focus ? LOOK_FOCUS : LOOK_DIM, "%s%s",
                   t->after ? "after signing: " : "", t->why);
}

static void draw(struct screen *s)
{
    struct history *h = s->state;
    int last = term_rows() - 4, columns = term_columns();
    draw_text(1, 4, 17, LOOK_DIM, "when");
    draw_text(1, 22, 6, LOOK_DIM, "who");
    draw_text(1, 29, 16, LOOK_DIM, "value");
    draw_text(1, 46, 20, LOOK_DIM, "why");
    list_draw(&h->list, 2, last - 4, 2, draw_entry, h);
    const struct telling *t = &h->story.all[h->list.at];
    int row = last - 2;
    row += draw_wrapped(row, 4, columns - 8, 2, LOOK_PLAIN, t->value);
    if (*t->why != '\0')
        draw_wrapped(row, 4, columns - 8, last + 1 - row, LOOK_PLAIN, t->why);
    else
        draw_text(row, 4, columns - 8, LOOK_DIM,
                  "Times are what the clock of the entering laptop claimed.");
}

static bool press(struct screen *s, const struct press *p)
{
    struct history *h = s->state;
    if (list_press(&h->list, p, term_rows() - 8))
        return true;
    if (p->kind != PRESS_CHAR || p->text[0] != 'p')
        return false;
    struct chart chart;
    struct sheet *sheet;
    struct fault f = {0};
    if (chart_load(s->app->cb, s->arena, h->entity, &chart, &f) &&
        story_sheet(&chart, h->item, &sheet, &f))
        print_ask(s->app, s->arena, sheet, "history");
    else
        app_fault(s->app, &f);
    return true;
}

static const struct key_help keys[] = {
    {"Up Down", "move", "Move through what was entered, oldest first.", true},
    {"p", "paper", "Print the history, save it as a file, or look at the sheet.", true},
    {"q", "back", "Go back; ^Q does the same.", true},
    {0},
};

static const struct screen_class history_class = {
    .name = "History",
    .help = "Every entry ever made for this finding, oldest first. Nothing is ever taken out.",
    .keys = keys,
    .open = open_history,
    .draw = draw,
    .press = press,
};

void history_show(struct app *app, const char *entity, const char *item)
{
    struct arena *a = arena_new();
    struct history *h = arena_alloc(a, sizeof *h);
    h->entity = arena_str(a, entity);
    h->item = arena_str(a, item);
    screen_open(app, &history_class, a, h);
}
