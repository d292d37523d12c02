#include "screens/kit/ask.h"

#include "base/locked.h"
#include "base/utf8.h"
#include "screens/kit/editor.h"
#include "screens/kit/inside.h"
#include "screens/kit/list.h"

#include <ctype.h>
#include <string.h>

enum { LINE_MAX_BYTES = 4096, LEAST_FIELD = 24, TYPED_ROOM = 32 };

/* One turn of a question's own loop: the screen, the question over it, a press. False: given up. */
static bool turn(struct app *app, void (*over)(void *of), void *of, struct press *p)
{
    app_draw(app);
    if (!term_too_small())
        over(of);
    draw_end();
    *p = app_press(app);
    if (term_too_small() && p->kind != PRESS_END)
        p->kind = PRESS_SIZE;
    return p->kind != PRESS_END && !(p->kind == PRESS_CTRL && (p->code == 'q' || p->code == 'c'));
}

static bool is_key(const struct press *p, int code)
{
    return p->kind == PRESS_KEY && p->code == code;
}

/* ---- a line ---------------------------------------------------------------------------------- */

struct line_question {
    struct app *app;
    const char *question;
    bool secret; /* stars stand for what is typed */
    struct editor editor;
};

static const struct key_help line_keys[] = {
    {"Enter", "take it", "", true},
    {"^Q", "give up", "", true},
    {NULL, NULL, NULL, false},
};

/* A question too long to stand before its answer stands above it, whole. */
static void draw_above(const char *question, int row)
{
    enum { ROWS_MOST = 3 };
    int width = term_columns() - 2, rows = 0;
    for (size_t at = 0; question[at] != '\0' && rows < ROWS_MOST; rows++)
        draw_break(question, at, width, &at);
    for (int i = row - rows; i < row; i++)
        draw_fill(i, 0, term_columns(), LOOK_PLAIN);
    draw_wrapped(row - rows, 1, width, rows, LOOK_STRONG, question);
}

static void draw_line(void *of)
{
    struct line_question *q = of;
    int row = term_rows() - 2, columns = term_columns(), col = 1;
    draw_fill(row, 0, columns, LOOK_PLAIN);
    if (draw_width(q->question) + LEAST_FIELD < columns) {
        col += draw_text(row, col, columns, LOOK_STRONG, q->question) + 2;
    } else {
        draw_above(q->question, row);
    }
    app_draw_keys(q->app, line_keys, true);
    if (!q->secret) {
        editor_draw(&q->editor, row, col, columns - col - 1, true);
        return;
    }
    int room = columns - col - 1, stars = utf8_width(q->editor.text.s);
    stars = stars < room ? stars : room - 1;
    draw_fill(row, col, room, LOOK_FIELD);
    for (int i = 0; i < stars; i++)
        draw_text(row, col + i, 1, LOOK_FIELD, "*");
    draw_cursor(row, col + stars);
}

/* True when it was answered: the answer is in the editor. */
static bool run_line(struct line_question *q)
{
    struct press p;
    app_save_drafts(q->app);
    while (turn(q->app, draw_line, q, &p)) {
        if (is_key(&p, PK_ENTER))
            return true;
        editor_press(&q->editor, &p);
    }
    return false;
}

const char *ask_line(struct app *app, struct arena *a, const char *question, const char *given)
{
    struct line_question q = {.app = app, .question = question};
    editor_init(&q.editor, LINE_MAX_BYTES);
    editor_set(&q.editor, given ? given : "");
    const char *answer = run_line(&q) ? arena_str(a, q.editor.text.s) : NULL;
    editor_free(&q.editor);
    return answer;
}

char *ask_hidden(struct app *app, const char *question)
{
    struct line_question q = {.app = app, .question = question, .secret = true};
    editor_init(&q.editor, PASSPHRASE_MAX);
    q.editor.text.locked = true;
    char *answer = run_line(&q) ? locked_new(q.editor.text.len + 1, NULL) : NULL;
    if (answer != NULL)
        memcpy(answer, q.editor.text.s, q.editor.text.len);
    editor_free(&q.editor);
    term_forget();
    return answer;
}

/* ---- a key ----------------------------------------------------------------------------------- */

struct key_question {
    const char *question;
};

static void draw_key_question(void *of)
{
    const struct key_question *q = of;
    int row = term_rows() - 2;
    draw_fill(row, 0, term_columns(), LOOK_PLAIN);
    draw_fill(row + 1, 0, term_columns(), LOOK_PLAIN);
    int used = draw_text(row, 1, term_columns() - 3, LOOK_STRONG, q->question);
    draw_cursor(row, 2 + used);
}

int ask_key(struct app *app, const char *question, const char *keys)
{
    struct key_question q = {question};
    struct press p;
    app_save_drafts(app);
    while (turn(app, draw_key_question, &q, &p)) {
        int c = p.kind == PRESS_CHAR ? tolower((unsigned char)p.text[0]) : 0;
        if (c && strchr(keys, c))
            return c;
    }
    return 0;
}

/* ---- a list in a box ------------------------------------------------------------------------- */

struct box {
    struct app *app;
    const char *question;
    const char *const *labels;
    bool *ticked;  /* NULL: one is chosen */
    bool reading;  /* lines to read: no numbers, no choice */
    bool numbered; /* a digit takes a choice by its place */
    const struct key_help *keys;
    struct list list;
    char typed[TYPED_ROOM];
    int row, col, rows, width; /* inside the border */
};

static const struct key_help choice_keys[] = {
    {"Enter", "take it", "", true},
    {"Up/Down", "move", "", true},
    {"1-9 or letters", "find", "", true},
    {"^Q", "give up", "", true},
    {NULL, NULL, NULL, false},
};
static const struct key_help many_keys[] = {
    {"Space", "tick", "", true}, {"Enter", "take them", "", true}, {"letters", "find", "", true},
    {"^Q", "give up", "", true}, {NULL, NULL, NULL, false},
};
static const struct key_help read_keys[] = {
    {"Enter", "back", "", true},
    {"Up/Down", "more", "", true},
    {NULL, NULL, NULL, false},
};

static void lay_out(struct box *b)
{
    int widest = draw_width(b->question) + 2;
    for (size_t i = 0; i < b->list.count; i++) {
        int w = draw_width(b->labels[i]) + 8;
        widest = w > widest ? w : widest;
    }
    int most = term_columns() - 8, room = term_rows() - 7;
    b->width = widest < most ? widest : most;
    b->rows = (int)b->list.count < room ? (int)b->list.count : room;
    b->row = 2 + (room - b->rows) / 3;
    b->col = (term_columns() - b->width) / 2;
}

static void draw_label(void *of, size_t i, int row, bool focus)
{
    const struct box *b = of;
    enum look look = focus && !b->reading ? LOOK_FOCUS : LOOK_PLAIN;
    if (focus && !b->reading)
        draw_fill(row, b->col, b->width, look);
    draw_text(row, b->col, 1, look, focus ? ">" : " ");
    int col = b->col + 2;
    if (b->ticked)
        col += draw_text(row, col, 4, look, b->ticked[i] ? "[x] " : "[ ] ");
    else if (b->numbered)
        col += i < 9 ? draw_textf(row, col, 3, look, "%zu  ", i + 1) : 3;
    draw_text(row, col, b->col + b->width - col, look, b->labels[i]);
}

static void draw_over(void *of)
{
    struct box *b = of;
    lay_out(b);
    draw_box(b->row - 1, b->col - 2, b->rows + 2, b->width + 4, b->question);
    list_draw(&b->list, b->row, b->rows, b->col, draw_label, b);
    if (b->list.top + (size_t)b->rows < b->list.count)
        draw_text(b->row + b->rows, b->col, 6, LOOK_DIM, " more ");
    app_draw_keys(b->app, b->keys, false);
}

bool ask_numbered(const char *const *labels, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (isdigit((unsigned char)labels[i][0]))
            return false;
    return true;
}

int ask_find(const char *const *labels, size_t count, const char *typed)
{
    for (size_t i = 0; i < count; i++)
        if (text_starts(labels[i], typed))
            return (int)i;
    return -1;
}

/* Letters go to the first label they begin; a letter that leads nowhere starts anew. */
static void find_typed(struct box *b, const char *text)
{
    size_t len = strlen(b->typed), more = strlen(text);
    if (len + more >= sizeof b->typed)
        len = 0;
    memcpy(b->typed + len, text, more + 1);
    int at = ask_find(b->labels, b->list.count, b->typed);
    if (at < 0) {
        memcpy(b->typed, text, more + 1);
        at = ask_find(b->labels, b->list.count, b->typed);
    }
    if (at >= 0)
        b->list.at = (size_t)at;
}

/* Space or a number: ticks, or chooses (true). */
static bool take_label(struct box *b, size_t at)
{
    b->list.at = at;
    if (!b->ticked)
        return true;
    b->ticked[at] = !b->ticked[at];
    return false;
}

/* A character typed; true when it has chosen. */
static bool box_character(struct box *b, const char *text)
{
    size_t number = (size_t)(text[0] - '1');
    if (b->reading)
        return true;
    if (text[0] == ' ' && !*b->typed)
        return take_label(b, b->list.at);
    if (b->numbered && text[0] >= '1' && text[0] <= '9' && number < b->list.count && !*b->typed)
        return take_label(b, number);
    find_typed(b, text);
    return false;
}

/* True when something was chosen. */
static bool run_box(struct box *b)
{
    struct press p;
    b->numbered = !b->reading && ask_numbered(b->labels, b->list.count);
    app_save_drafts(b->app);
    while (turn(b->app, draw_over, b, &p)) {
        if (is_key(&p, PK_ENTER))
            return true;
        if (list_press(&b->list, &p, b->rows))
            b->typed[0] = '\0';
        else if (p.kind == PRESS_CHAR && box_character(b, p.text))
            return true;
    }
    return false;
}

int ask_choice(struct app *app, const char *question, const char *const *labels, size_t count,
               size_t at)
{
    struct box b = {.app = app,
                    .question = question,
                    .labels = labels,
                    .keys = choice_keys,
                    .list = {.count = count, .at = at}};
    return count > 0 && run_box(&b) ? (int)b.list.at : -1;
}

bool ask_many(struct app *app, const char *question, const char *const *labels, size_t count,
              bool *ticked)
{
    struct arena *arena = arena_new();
    bool *now = arena_array(arena, count, sizeof *now);
    memcpy(now, ticked, count * sizeof *now);
    struct box b = {.app = app,
                    .question = question,
                    .labels = labels,
                    .ticked = now,
                    .keys = many_keys,
                    .list = {.count = count}};
    bool taken = count > 0 && run_box(&b);
    if (taken)
        memcpy(ticked, now, count * sizeof *now);
    arena_free(arena);
    return taken;
}

void ask_read(struct app *app, const char *title, const char *const *lines, size_t count)
{
    struct box b = {.app = app,
                    .question = title,
                    .labels = lines,
                    .reading = true,
                    .keys = read_keys,
                    .list = {.count = count}};
    if (count > 0)
        run_box(&b);
}
