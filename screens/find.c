/* Find: as you type, by dog, caregiver, street or phone; forgiving of misspelling. */
#include "casebook/merging.h"
#include "screens/kit/ask.h"
#include "screens/kit/editor.h"
#include "screens/kit/list.h"
#include "screens/screens.h"
#include <stdio.h>
#include <string.h>

enum { HITS_MOST = 24 };

struct find_state {
    struct editor typed;
    struct arena *data;
    const struct hit *hits;
    size_t count;
    struct list list;
    bool looking_through;          /* the list is moved through: all of it is shown */
    size_t few;                    /* rows shown while it is not */
    const char **lines;            /* what each hit shows beside its name */
    bool picking;                  /* Enter hands the dog back instead of opening it */
    char *picked;                  /* IDENT_ROOM bytes of the asker, when picking */
    const struct lookalike *alike; /* of the hit moved to; in data */
    size_t alike_count;
};

/* Two that are known, with a comma; either may be "". */
static const char *joined(struct arena *a, const char *one, const char *other)
{
    return arena_printf(a, "%s%s%s", one, *one != '\0' && *other != '\0' ? ", " : "", other);
}

/* What of a caregiver does not stand there already: found by the street, who lives there. The
 * phone, last of the texts, stands first: one is below the other, and tells it from a dog. */
static const char *caregiver_line(struct arena *a, const struct hit *h)
{
    const char *line = "";
    for (size_t i = 0; i < h->text_count; i++) {
        const char *text = h->texts[(i + h->text_count - 1) % h->text_count];
        line = strcmp(text, h->text) == 0 ? line : joined(a, line, text);
    }
    return *line != '\0' ? line : h->entity_kind;
}

/* One line on a hit: for a dog its caregiver and breed, for a caregiver how to reach them. Single
 * values: a whole chart for each line would make typing slow. */
static const char *hit_line(struct casebook *cb, struct arena *a, const struct hit *h)
{
    struct journal *j = cb->journal;
    if (strcmp(h->entity_kind, "dog") != 0)
        return caregiver_line(a, h);
    const char *caregiver = journal_value(j, a, h->entity, "dog.caregiver");
    const char *breed = journal_value(j, a, h->entity, "dog.breed");
    const char *with = "";
    if (*caregiver != '\0')
        with = journal_value(j, a, merge_survivor(cb, a, caregiver), "caregiver.name");
    return joined(a, *with != '\0' ? arena_printf(a, "dog with %s", with) : "dog", breed);
}

/* Made when it is first needed. */
static const char *line_of(struct screen *s, size_t i)
{
    struct find_state *st = s->state;
    if (st->lines[i] == NULL)
        st->lines[i] = hit_line(s->app->cb, st->data, &st->hits[i]);
    return st->lines[i];
}

/* At most so many of those who are found. */
static void search(struct screen *s, size_t most)
{
    struct find_state *st = s->state;
    struct fault f = {0};
    arena_reset(st->data);
    st->hits = NULL;
    st->count = 0;
    st->alike_count = 0;
    if (st->typed.text.len > 0 &&
        !merge_search(s->app->cb, st->data, st->typed.text.s, most, &st->hits, &st->count, &f))
        app_fault(s->app, &f);
    st->lines = arena_array(st->data, st->count, sizeof *st->lines);
    st->list.count = st->count;
}

/* While letters are typed a few rows are enough, and to know of one more: the next letter replaces
 * them all. Five in the smallest window. */
static size_t few_rows(void)
{
    size_t few = (size_t)term_rows() / 4 - 1;
    return few < HITS_MOST ? few : HITS_MOST - 1;
}

static void look(struct screen *s)
{
    struct find_state *st = s->state;
    st->few = few_rows();
    st->list = (struct list){0};
    st->looking_through = false;
    search(s, st->few + 1);
}

/* Those too who were not asked for while letters were typed. */
static void search_all(struct screen *s)
{
    const struct find_state *st = s->state;
    if (!st->looking_through)
        search(s, HITS_MOST);
}

static bool open_find(struct screen *s, struct fault *f)
{
    (void)f;
    struct find_state *st = s->state;
    st->data = arena_new();
    editor_init(&st->typed, 200);
    s->typing = true;
    s->subject = st->picking ? "Which dog?" : s->app->cb->set->practice.name;
    look(s);
    return true;
}

/* The best stands first: when that one is not spelt as it was typed, none is. */
static bool all_nearly(const struct find_state *st)
{
    return st->count > 0 && st->hits[0].distance > 0;
}

static void draw_hit(void *of, size_t i, int row, bool focus)
{
    struct screen *s = of;
    struct find_state *st = s->state;
    const struct hit *h = &st->hits[i];
    enum look line_look = focus ? LOOK_FOCUS : LOOK_PLAIN;
    enum look aside = focus ? LOOK_FOCUS : LOOK_DIM;
    int width = term_columns() - 2, name = width / 3;
    int note = h->distance > 0 && !all_nearly(st) ? 8 : 0;
    draw_fill(row, 1, width, line_look);
    draw_text(row, 2, 1, line_look, focus ? ">" : " ");
    draw_text(row, 4, name, line_look, h->text);
    draw_text(row, 5 + name, width - 5 - name - note, line_look, line_of(s, i));
    if (note > 0)
        draw_right(row, width, note, aside, "nearly");
}

static int rows_shown(const struct find_state *st)
{
    size_t few = few_rows(); /* the window may have been larger */
    if (st->looking_through)
        return term_rows() - 9;
    return (int)(few < st->few ? few : st->few);
}

/* The row above the list, or below it, when there is something to say of it. */
static void draw_around(const struct find_state *st)
{
    int width = term_columns() - 8;
    if (st->count == 0 && st->typed.text.len > 0)
        draw_text(
            4, 4, width, LOOK_DIM,
            "Nobody of that name. Fewer letters find more; a call (c on Today) makes a new dog.");
    if (all_nearly(st))
        draw_text(3, 4, width, LOOK_DIM, "Nobody is spelt so. Spelt nearly so:");
    if (!st->looking_through && st->count > (size_t)rows_shown(st))
        draw_text(4 + rows_shown(st), 4, width, LOOK_DIM,
                  "and more: type on, or look through them with Down");
}

static void draw(struct screen *s)
{
    struct find_state *st = s->state;
    int columns = term_columns(), last = term_rows() - 3;
    s->about = st->count > 0 ? st->hits[st->list.at].entity : NULL;
    draw_text(2, 2, 33, LOOK_PLAIN, "Dog, caregiver, street or phone ");
    list_draw(&st->list, 4, rows_shown(st), 2, draw_hit, s);
    draw_around(st);
    if (st->alike_count > 0)
        draw_textf(last - 1, 4, columns - 8, LOOK_WARN, "May be the same as %s (%s): ^D joins them",
                   st->alike[0].text, st->alike[0].why);
    editor_draw(&st->typed, 2, 35, columns - 37, true);
}

/* ---- one entered twice ---- */

/* Who else the hit under the cursor may be. Looked up when it is moved to or asked about, not while
 * letters are typed. */
static void look_alike(struct screen *s)
{
    struct find_state *st = s->state;
    struct fault f = {0};
    st->alike_count = 0;
    if (st->count > 0 && !merge_lookalikes(s->app->cb, st->data, st->hits[st->list.at].entity,
                                           &st->alike, &st->alike_count, &f))
        app_fault(s->app, &f);
}

/* Those noticed first, then everybody else of the kind who was found. */
static size_t candidates(struct screen *s, const char **ids, const char **labels)
{
    struct find_state *st = s->state;
    const struct hit *h = &st->hits[st->list.at];
    size_t n = 0;
    for (size_t i = 0; i < st->alike_count && n < HITS_MOST; i++) {
        labels[n] = arena_printf(st->data, "%s (%s)", st->alike[i].text, st->alike[i].why);
        ids[n++] = st->alike[i].entity;
    }
    for (size_t i = 0; i < st->count && n < HITS_MOST; i++) {
        bool known = i == st->list.at || strcmp(st->hits[i].entity_kind, h->entity_kind) != 0;
        for (size_t k = 0; k < n && !known; k++)
            known = strcmp(ids[k], st->hits[i].entity) == 0;
        if (known)
            continue;
        labels[n] = arena_printf(st->data, "%s, %s", st->hits[i].text, line_of(s, i));
        ids[n++] = st->hits[i].entity;
    }
    return n;
}

static void join(struct screen *s)
{
    struct find_state *st = s->state;
    const char *ids[HITS_MOST], *labels[HITS_MOST];
    struct fault f = {0};
    search_all(s);
    if (st->count == 0)
        return;
    look_alike(s);
    const struct hit *h = &st->hits[st->list.at];
    size_t n = candidates(s, ids, labels);
    if (n == 0) {
        app_say(s->app, LOOK_PLAIN, "Nobody looks like %s: type so that both are found", h->text);
        return;
    }
    int at = ask_choice(s->app, arena_printf(st->data, "\"%s\" was entered twice. It is:", h->text),
                        labels, n, 0);
    if (at < 0)
        return;
    if (ask_key(s->app, "Show both as this one from now on? Nothing is lost; ^R parts them. y n",
                "yn") != 'y')
        return;
    if (!merge_join(s->app->cb, h->entity, ids[at], &f)) {
        app_fault(s->app, &f);
        return;
    }
    app_say(s->app, LOOK_GOOD, "Joined: %s stands for both; ^R parts them again", labels[at]);
    look(s);
}

static void part(struct screen *s)
{
    struct find_state *st = s->state;
    struct fault f = {0};
    const char *parted;
    if (st->count == 0)
        return;
    if (!merge_part(s->app->cb, st->data, st->hits[st->list.at].entity, &parted, &f)) {
        app_fault(s->app, &f);
        return;
    }
    look(s);
    app_say(s->app, LOOK_GOOD, "Parted: they are two again");
}

static void open_hit(struct screen *s)
{
    struct find_state *st = s->state;
    if (st->count == 0)
        return;
    const struct hit *h = &st->hits[st->list.at];
    const char *dog = h->entity;
    struct fault f = {0};
    if (strcmp(h->entity_kind, "caregiver") == 0) {
        struct ids dogs;
        if (!dogs_of(s->app->cb, st->data, h->entity, &dogs, &f)) {
            app_fault(s->app, &f);
            return;
        }
        if (dogs.count == 0) {
            app_say(s->app, LOOK_WARN, "No dog is recorded with this caregiver");
            return;
        }
        const char *names[20];
        for (size_t i = 0; i < dogs.count; i++) {
            struct record r;
            names[i] = record_load(s->app->cb, st->data, dogs.uuids[i], &r, NULL)
                           ? record_said(&r, "dog.name")
                           : "?";
        }
        int at = dogs.count == 1 ? 0 : ask_choice(s->app, "Which dog?", names, dogs.count, 0);
        if (at < 0)
            return;
        dog = dogs.uuids[at];
    }
    if (st->picking) {
        (void)snprintf(st->picked, IDENT_ROOM, "%s", dog);
        screen_back(s->app);
    } else {
        dog_open(s->app, dog);
    }
}

static bool press(struct screen *s, const struct press *p)
{
    struct find_state *st = s->state;
    if (p->kind == PRESS_KEY && (p->code == PK_UP || p->code == PK_DOWN || p->code == PK_PAGE_UP ||
                                 p->code == PK_PAGE_DOWN)) {
        int page = rows_shown(st);
        search_all(s);
        bool moved = list_press(&st->list, p, page);
        st->looking_through = true;
        look_alike(s);
        return moved;
    }
    if (p->kind == PRESS_CTRL && p->code == 'd' && !st->picking) {
        join(s);
        return true;
    }
    if (p->kind == PRESS_CTRL && p->code == 'r' && !st->picking) {
        part(s);
        return true;
    }
    if (p->kind == PRESS_KEY && p->code == PK_ENTER) {
        open_hit(s);
        return true;
    }
    if (editor_press(&st->typed, p)) {
        look(s);
        return true;
    }
    return false;
}

static void close_find(struct screen *s)
{
    struct find_state *st = s->state;
    editor_free(&st->typed);
    arena_free(st->data);
}

static const struct key_help keys[] = {
    {"Enter", "open", "Open the dog under the cursor; for a caregiver, that caregiver's dog.",
     true},
    {"Up Down", "choose", "Move through what was found while you type on.", true},
    {"^D", "entered twice",
     "The dog or caregiver under the cursor is one that stands here already: "
     "show both as one. One entry, which ^R takes back.",
     true},
    {"^R", "part", "Part again what was joined last with the one under the cursor.", false},
    {0},
};

static const struct screen_class find_class = {
    .name = "Find",
    .help = "Type the start of any word: dog, caregiver, street, or the last digits of a phone "
            "number. Misspelt names are found too.",
    .keys = keys,
    .open = open_find,
    .draw = draw,
    .press = press,
    .refresh = look,
    .of_record = true,
    .close = close_find,
};

void find_open(struct app *app)
{
    struct arena *a = arena_new();
    screen_open(app, &find_class, a, arena_alloc(a, sizeof(struct find_state)));
}

const char *find_dog(struct app *app, struct arena *a)
{
    struct arena *mine = arena_new();
    struct find_state *st = arena_alloc(mine, sizeof *st);
    st->picking = true;
    st->picked = arena_alloc(a, IDENT_ROOM);
    char *picked = st->picked;
    if (!screen_open(app, &find_class, mine, st))
        return NULL;
    screen_run_top(app);
    return *picked == '\0' ? NULL : picked;
}
