/* Body type: chosen by what the dog looks like, where its breed gives none. */
#include "casebook/ids.h"
#include "screens/kit/list.h"
#include "screens/measures_inside.h"
#include <string.h>

struct body_state {
    struct page page;
    struct list list;
};

static bool open_body(struct screen *s, struct fault *f)
{
    struct body_state *b = s->state;
    const struct template_set *set = s->app->cb->set;
    if (!page_load(&b->page, s, b->page.entity, f))
        return false;
    if (b->page.chart.dog.entity == NULL)
        return fail(f, FAULT_MISSING, "the dog of this visit has not been received yet");
    b->list.count = set->body_type_count;
    const char *now = chart_fact(&b->page.chart, "body_type");
    for (size_t i = 0; now != NULL && i < b->list.count; i++)
        if (strcmp(set->body_types[i].id, now) == 0)
            b->list.at = i;
    return true;
}

static void draw_type(void *of, size_t i, int row, bool focus)
{
    struct screen *s = of;
    enum look look = focus ? LOOK_FOCUS : LOOK_PLAIN;
    draw_fill(row, 1, 28, look);
    draw_text(row, 2, 1, look, focus ? ">" : " ");
    draw_textf(row, 4, 25, look, "%zu  %s", i + 1, s->app->cb->set->body_types[i].label);
}

/* The picture line by line, as it was drawn in the template. */
static int draw_picture(const char *picture, int row, int col, int width, int most)
{
    int used = 0;
    while (*picture != '\0' && used < most) {
        size_t n = strcspn(picture, "\n");
        draw_textf(row + used++, col, width, LOOK_PLAIN, "%.*s", (int)n, picture);
        picture += n + (picture[n] == '\n');
    }
    return used;
}

static void draw(struct screen *s)
{
    struct body_state *b = s->state;
    const struct body_type *type = &s->app->cb->set->body_types[b->list.at];
    int col = 32, width = term_columns() - col - 2, last = term_rows() - 3;
    draw_text(1, 2, term_columns() - 4, LOOK_DIM,
              "What does the dog look like from the side, standing? Its usual proportions follow.");
    int row = 3 + draw_picture(type->picture, 3, col, width, 10) + 1;
    row += draw_wrapped(row, col, width, 4, LOOK_PLAIN, type->note);
    if (type->has_fore_share)
        draw_textf(row++, col, width, LOOK_PLAIN, "Usually %.0f %% of the weight on the fore feet.",
                   100 * type->fore_share);
    draw_wrapped(row + 1, col, width, 2, LOOK_DIM, type->source);
    list_draw(&b->list, 3, last - 3, 2, draw_type, s);
}

static void choose(struct screen *s)
{
    struct body_state *b = s->state;
    struct fault f = {0};
    const struct body_type *type = &s->app->cb->set->body_types[b->list.at];
    if (!record_put(s->app->cb, &b->page.chart.dog, ID_DOG_BODY, type->id, "", &f)) {
        app_fault(s->app, &f);
        return;
    }
    app_say(s->app, LOOK_GOOD, "Body type: %s", type->label);
    screen_back(s->app);
}

static bool press(struct screen *s, const struct press *p)
{
    struct body_state *b = s->state;
    if (list_press(&b->list, p, 8))
        return true;
    bool digit = p->kind == PRESS_CHAR && p->text[0] >= '1' && p->text[0] <= '9';
    if (digit && (size_t)(p->text[0] - '1') < b->list.count) {
        b->list.at = (size_t)(p->text[0] - '1');
        return true;
    }
    if (p->kind != PRESS_KEY || p->code != PK_ENTER || b->list.count == 0)
        return false;
    choose(s);
    return true;
}

static void close_body(struct screen *s)
{
    struct body_state *b = s->state;
    page_close(&b->page);
}

static const struct key_help keys[] = {
    {"Up Down", "look", "Another body type; a digit goes to it.", true},
    {"Enter", "it is this", "The dog is of this body type from now on.", true},
    {0},
};

static const struct screen_class body_class = {
    .name = "Body type",
    .help =
        "Usual proportions differ with the build of the dog. A breed of the template brings its "
        "own; for any other dog the likest picture is chosen. Pictures and notes are in "
        "proportions.yaml.",
    .keys = keys,
    .open = open_body,
    .draw = draw,
    .press = press,
    .close = close_body,
};

void body_type_open(struct app *app, const char *visit)
{
    struct arena *a = arena_new();
    struct body_state *b = arena_alloc(a, sizeof *b);
    b->page.entity = arena_str(a, visit);
    screen_open(app, &body_class, a, b);
}
