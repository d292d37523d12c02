/* Cautions: all that rules forbid or warn of with this dog, each with its findings and source. */
#include "casebook/cautions.h"
#include "screens/kit/reading.h"
#include "screens/page.h"
#include "screens/screens.h"

struct cautions_state {
    struct page page;
    struct reading text;
};

static void say_kind(struct cautions_state *t, const struct caution *all, size_t n, bool forbids,
                     const char *heading)
{
    bool any = false;
    for (size_t i = 0; i < n; i++) {
        if (all[i].forbids != forbids)
            continue;
        if (!any)
            reading_head(&t->text, heading);
        any = true;
        reading_say(&t->text, forbids ? LOOK_BAD : LOOK_WARN, 4, all[i].reason);
        reading_row(&t->text, LOOK_PLAIN, 6, "because", 10, all[i].because);
        reading_row(&t->text, LOOK_PLAIN, 6, "for", 10, all[i].supports);
        reading_row(&t->text, LOOK_DIM, 6, "source", 10, all[i].source);
    }
}

static void look(struct cautions_state *t)
{
    const struct caution *all;
    size_t n = cautions_look(&t->page.chart, &all);
    t->text.count = 0;
    say_kind(t, all, n, true, "Not for this dog");
    say_kind(t, all, n, false, "With care");
    if (n == 0)
        reading_say(&t->text, LOOK_DIM, 4, "No rule of the practice warns of anything.");
}

static bool open_cautions(struct screen *s, struct fault *f)
{
    struct cautions_state *t = s->state;
    if (!page_load(&t->page, s, t->page.entity, f))
        return false;
    look(t);
    return true;
}

static void draw(struct screen *s)
{
    struct cautions_state *t = s->state;
    reading_draw(&t->text, 1, term_rows() - 3);
}

static bool press(struct screen *s, const struct press *p)
{
    struct cautions_state *t = s->state;
    return reading_press(&t->text, p);
}

static void refresh(struct screen *s)
{
    struct cautions_state *t = s->state;
    if (page_reload(&t->page, s))
        look(t);
}

static void close_cautions(struct screen *s)
{
    struct cautions_state *t = s->state;
    page_close(&t->page);
}

static const struct key_help keys[] = {
    {"Up Down", "read", "Move through the page.", true},
    {0},
};

static const struct screen_class cautions_class = {
    .name = "Cautions",
    .help = "What the practice's rules forbid or warn of with this dog, resting on the latest "
            "answer of any of its visits. A veterinarian decides.",
    .keys = keys,
    .open = open_cautions,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_cautions,
};

void cautions_open(struct app *app, const char *dog)
{
    struct arena *a = arena_new();
    struct cautions_state *t = arena_alloc(a, sizeof *t);
    t->page.entity = arena_str(a, dog);
    screen_open(app, &cautions_class, a, t);
}
