#include "screens/kit/editor.h"

#include "base/utf8.h"

#include <string.h>

enum { SHOWN_MAX = 1 << 20 };

void editor_init(struct editor *e, size_t max_bytes)
{
    *e = (struct editor){0};
    text_init(&e->text, max_bytes);
}

void editor_free(struct editor *e)
{
    text_free(&e->text);
}

void editor_set(struct editor *e, const char *text)
{
    text_clear(&e->text);
    text_add(&e->text, text);
    e->at = e->text.len;
    e->from = 0;
    e->touched = false;
    e->whole = e->text.len > 0;
}

/* ---- changing -------------------------------------------------------------------------------- */

static void remove_bytes(struct editor *e, size_t from, size_t to)
{
    struct text *t = &e->text;
    if (from >= to)
        return;
    memmove(t->s + from, t->s + to, t->len - to + 1);
    t->len -= to - from;
    t->cut = false;
    e->at = from;
    e->touched = true;
}

/* A cursor inside a cluster goes to its end: an accent typed after its letter joins it. */
static void snap(struct editor *e)
{
    const struct text *t = &e->text;
    if (e->at > 0 && e->at < t->len)
        e->at = utf8_next(t->s, t->len, utf8_prev(t->s, t->len, e->at));
}

static void insert(struct editor *e, const char *s, size_t n)
{
    struct text *t = &e->text;
    if (e->whole)
        remove_bytes(e, 0, t->len);
    size_t before = t->len;
    t->cut = false;
    text_addn(t, s, n); /* at the end, as much as fits in whole characters; then into its place */
    t->cut = false;
    n = t->len - before;
    memmove(t->s + e->at + n, t->s + e->at, before - e->at);
    memcpy(t->s + e->at, s, n);
    e->at += n;
    snap(e);
    e->touched = true;
}

/* A line has no newlines: each run of them is one blank. */
static void insert_paste(struct editor *e, const char *s)
{
    struct text line;
    text_init(&line, e->text.max);
    line.locked = e->text.locked;
    for (size_t n; *s; s += n) {
        n = strcspn(s, "\n");
        text_addn(&line, s, n); /* what does not fit is left out in whole characters */
        if (n == 0 && line.len > 0 && line.s[line.len - 1] != ' ')
            text_addc(&line, ' ');
        n += n == 0;
    }
    while (line.len > 0 && line.s[line.len - 1] == ' ')
        line.s[--line.len] = '\0';
    if (line.len > 0)
        insert(e, line.s, line.len);
    text_free(&line);
}

static size_t word_start(const struct editor *e)
{
    size_t at = e->at;
    while (at > 0 && e->text.s[at - 1] == ' ')
        at--;
    while (at > 0 && e->text.s[at - 1] != ' ')
        at--;
    return at;
}

static bool press_control(struct editor *e, int letter)
{
    size_t len = e->text.len;
    switch (letter) {
    case 'a':
        e->at = 0;
        break;
    case 'e':
        e->at = len;
        break;
    case 'k':
        remove_bytes(e, e->at, len);
        break;
    case 'u':
        remove_bytes(e, 0, e->whole ? len : e->at);
        break;
    case 'w':
        remove_bytes(e, word_start(e), e->at);
        break;
    default:
        return false;
    }
    return true;
}

static bool press_key(struct editor *e, int key)
{
    const struct text *t = &e->text;
    switch (key) {
    case PK_LEFT:
        e->at = utf8_prev(t->s, t->len, e->at);
        break;
    case PK_RIGHT:
        e->at = utf8_next(t->s, t->len, e->at);
        break;
    case PK_HOME:
        e->at = 0;
        break;
    case PK_END:
        e->at = t->len;
        break;
    case PK_BACKSPACE:
        if (e->whole)
            remove_bytes(e, 0, t->len);
        else
            remove_bytes(e, utf8_prev(t->s, t->len, e->at), e->at);
        break;
    case PK_DELETE:
        if (e->whole)
            remove_bytes(e, 0, t->len);
        else
            remove_bytes(e, e->at, utf8_next(t->s, t->len, e->at));
        break;
    default:
        return false;
    }
    return true;
}

bool editor_press(struct editor *e, const struct press *p)
{
    bool taken = false;
    switch (p->kind) {
    case PRESS_CHAR:
        insert(e, p->text, strlen(p->text));
        taken = true;
        break;
    case PRESS_PASTE:
        insert_paste(e, p->text);
        taken = true;
        break;
    case PRESS_CTRL:
        taken = press_control(e, p->code);
        break;
    case PRESS_KEY:
        taken = press_key(e, p->code);
        break;
    default:
        break;
    }
    if (taken)
        e->whole = false;
    return taken;
}

/* ---- drawing --------------------------------------------------------------------------------- */

/* The text as it is shown, and where in it the cursor stands. */
struct shown {
    struct text text;
    size_t at;
};

static struct shown show(const struct editor *e)
{
    struct shown s = {0};
    text_init(&s.text, SHOWN_MAX);
    if (utf8_plain(e->text.s, false)) {
        text_addn(&s.text, e->text.s, e->text.len);
        s.at = e->at;
        return s;
    }
    struct text head;
    text_init(&head, SHOWN_MAX);
    text_addn(&head, e->text.s, e->at);
    utf8_show(&s.text, head.s, false);
    s.at = s.text.len;
    utf8_show(&s.text, e->text.s + e->at, false);
    text_free(&head);
    return s;
}

static enum look text_look(const struct editor *e, bool focus)
{
    return !focus ? LOOK_PLAIN : e->whole ? LOOK_FOCUS : LOOK_FIELD;
}

/* First byte shown so that the cursor is in view, with a column to spare for what follows it. */
static size_t scroll(size_t from, const struct shown *s, int width)
{
    const char *t = s->text.s;
    if (from > s->at || utf8_width_n(t + from, s->text.len - from) < width - 1)
        from = 0;
    int used = utf8_width_n(t + from, s->at - from);
    while (used > width - 2 && from < s->at) {
        size_t next = utf8_next(t, s->text.len, from);
        used -= utf8_width_n(t + from, next - from);
        from = next;
    }
    return from;
}

void editor_draw(struct editor *e, int row, int col, int width, bool focus)
{
    if (!focus) {
        draw_text(row, col, width, LOOK_PLAIN, e->text.s);
        return;
    }
    struct shown s = show(e);
    e->from = scroll(e->from, &s, width);
    draw_fill(row, col, width, LOOK_FIELD);
    draw_text(row, col, width, text_look(e, focus), s.text.s + e->from);
    draw_cursor(row, col + utf8_width_n(s.text.s + e->from, s.at - e->from));
    text_free(&s.text);
}

/* Line and column of the cursor when wrapped at `width`, and how many lines there are. A line is
 * one column short, so that the cursor behind its last letter has a place. */
struct place {
    int line, col, lines;
};

static struct place find_place(const struct shown *s, int width)
{
    struct place p = {.lines = 0};
    size_t start = 0, next = 0;
    do {
        size_t end = draw_break(s->text.s, start, width - 1, &next);
        if (s->at >= start && (s->at < next || next == s->text.len)) {
            p.line = p.lines;
            size_t until = s->at < end ? s->at : end;
            p.col = utf8_width_n(s->text.s + start, until - start);
            if (s->at > end && p.col < width - 1)
                p.col++; /* behind the blank the line was broken at */
        }
        p.lines++;
        start = next;
    } while (start < s->text.len);
    return p;
}

int editor_lines(const struct editor *e, int width)
{
    struct shown s = show(e);
    int lines = find_place(&s, width).lines;
    text_free(&s.text);
    return lines;
}

void editor_draw_lines(struct editor *e, int row, int col, int width, int rows, bool focus)
{
    struct shown s = show(e);
    struct place p = find_place(&s, width);
    int top = focus && p.line >= rows ? p.line - rows + 1 : 0;
    size_t start = 0, next = 0;
    for (int line = 0; line < top + rows; line++, start = next) {
        size_t end = draw_break(s.text.s, start, width - 1, &next);
        if (focus && line >= top)
            draw_fill(row + line - top, col, width, LOOK_FIELD);
        if (start >= s.text.len || line < top)
            continue;
        bool last_row = line == top + rows - 1 && next < s.text.len;
        char kept = s.text.s[end];
        if (!last_row)
            s.text.s[end] = '\0'; /* else the row shows by its end that there is more */
        draw_text(row + line - top, col, width, text_look(e, focus), s.text.s + start);
        s.text.s[end] = kept;
    }
    if (focus)
        draw_cursor(row + p.line - top, col + p.col);
    text_free(&s.text);
}

bool editor_line_move(struct editor *e, int width, int by)
{
    struct shown s = show(e);
    struct place p = find_place(&s, width);
    text_free(&s.text);
    if (p.line + by < 0 || p.line + by >= p.lines)
        return false;
    size_t start = 0, next = 0, end = 0;
    for (int line = 0; line <= p.line + by; line++) {
        start = line > 0 ? next : 0;
        end = draw_break(e->text.s, start, width - 1, &next);
    }
    e->at = start + utf8_fit(e->text.s + start, p.col);
    if (e->at > end)
        e->at = end;
    e->whole = false;
    return true;
}
