/* The keys of a screen, from the same table as its key line. */
#include "screens/kit/inside.h"
#include "screens/kit/list.h"

enum { KEY_COLUMN = 3, TEXT_COLUMN = 18, TITLE_ROWS = 5 };

struct help {
    const struct screen_class *about;
    struct list list; /* of keys */
};

static size_t count_keys(const struct key_help *k)
{
    size_t n = 0;
    while (k && k[n].key)
        n++;
    return n;
}

static const struct key_help *key_at(const struct help *h, size_t i)
{
    size_t own = count_keys(h->about->keys);
    return i < own ? &h->about->keys[i] : &screen_common_keys()[i - own];
}

/* Rows a key's sentence takes. */
static int rows_of(const struct key_help *k)
{
    int rows = 0;
    for (size_t at = 0; k->help[at]; rows++)
        draw_break(k->help, at, term_columns() - TEXT_COLUMN - 2, &at);
    return rows > 0 ? rows : 1;
}

static int title_rows(const struct help *h)
{
    return 2 + draw_wrapped(2, KEY_COLUMN, term_columns() - 6, 4, LOOK_PLAIN, h->about->help) + 1;
}

static void help_draw(struct screen *s)
{
    struct help *h = s->state;
    s->subject = "Keys";
    s->middle = h->about->name;
    int row = title_rows(h), bottom = term_rows() - 3;
    /* Keep the selected key in view: give up the first ones until it fits. */
    if (h->list.top > h->list.at)
        h->list.top = h->list.at;
    for (;;) {
        int need = 0;
        for (size_t i = h->list.top; i <= h->list.at; i++)
            need += rows_of(key_at(h, i));
        if (row + need - 1 <= bottom || h->list.top == h->list.at)
            break;
        h->list.top++;
    }
    size_t i = h->list.top;
    for (; i < h->list.count; i++) {
        const struct key_help *k = key_at(h, i);
        if (row + rows_of(k) - 1 > bottom)
            break;
        if (i == h->list.at) {
            draw_cursor(row, KEY_COLUMN);
            draw_text(row, 1, 1, LOOK_STRONG, ">");
        }
        draw_text(row, KEY_COLUMN, TEXT_COLUMN - KEY_COLUMN - 1, LOOK_STRONG, k->key);
        row += draw_wrapped(row, TEXT_COLUMN, term_columns() - TEXT_COLUMN - 2, bottom - row + 1,
                            LOOK_PLAIN, k->help);
    }
    if (i < h->list.count)
        draw_textf(bottom + 1, KEY_COLUMN, 40, LOOK_DIM, "%zu more below: Down", h->list.count - i);
}

static bool help_press(struct screen *s, const struct press *p)
{
    struct help *h = s->state;
    bool leave = p->kind == PRESS_KEY && (p->code == PK_ENTER || p->code == PK_F1);
    leave = leave || (p->kind == PRESS_CHAR && (p->text[0] == '?' || p->text[0] == ' '));
    if (leave) {
        screen_back(s->app);
        return true;
    }
    return list_press(&h->list, p, term_rows() - TITLE_ROWS - 3);
}

static const struct key_help help_keys[] = {
    {"Enter", "back", "Back to the screen.", true},
    {"Up/Down", "more", "Read on.", true},
    {NULL, NULL, NULL, false},
};

static const struct screen_class help_class = {
    .name = "Help",
    .help = "What the keys do.",
    .keys = help_keys,
    .draw = help_draw,
    .press = help_press,
};

void help_open(struct app *a)
{
    struct arena *arena = arena_new();
    struct help *h = arena_alloc(arena, sizeof *h);
    h->about = a->stack[a->depth - 1]->class;
    h->list.count = count_keys(h->about->keys) + count_keys(screen_common_keys());
    if (h->about != &help_class)
        screen_open(a, &help_class, arena, h);
    else
        arena_free(arena);
}
