#include "screens/kit/draw.h"

#include "base/text.h"
#include "base/utf8.h"
#include "screens/kit/inside.h"

#include <curses.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_MAX = 65536, ZERO_WIDTH_JOINER = 0x200D };

/* Each look without and with colour; a colour only ever repeats what bold, underline, reverse or
 * the words beside it say already. */
static const struct {
    attr_t plain, colored;
    short color; /* -1: the terminal's own */
} looks[] = {
    [LOOK_PLAIN] = {A_NORMAL, A_NORMAL, -1},
    [LOOK_DIM] = {A_DIM, A_DIM, -1},
    [LOOK_STRONG] = {A_BOLD, A_BOLD, -1},
    [LOOK_FIELD] = {A_UNDERLINE, A_UNDERLINE, -1},
    [LOOK_FOCUS] = {A_REVERSE, A_REVERSE, -1},
    [LOOK_GOOD] = {A_NORMAL, A_NORMAL, COLOR_GREEN},
    [LOOK_WARN] = {A_UNDERLINE, A_BOLD, COLOR_YELLOW},
    [LOOK_BAD] = {A_BOLD | A_REVERSE, A_BOLD, COLOR_RED},
    [LOOK_BAR] = {A_BOLD, A_BOLD, -1},
    [LOOK_KEYS] = {A_DIM, A_DIM, -1},
};
enum { LOOK_COUNT = sizeof looks / sizeof *looks };

/* What a row held in this frame and in the last: a row whose clusters terminals measure
 * differently is sent whole when it changes. */
struct row_trace {
    uint64_t now, before;
    bool odd, odd_before;
};
static struct {
    struct row_trace *rows;
    int count;
    int cursor_row, cursor_col;
} frame;

void draw_start(void)
{
    if (!term_color())
        return;
    start_color();
    use_default_colors();
    for (int i = 0; i < LOOK_COUNT; i++)
        if (looks[i].color >= 0)
            init_pair((short)(i + 1), looks[i].color, -1);
}

void draw_stop(void)
{
    free(frame.rows);
    frame.rows = NULL;
    frame.count = 0;
}

static void set_look(enum look look)
{
    if (term_color())
        attr_set(looks[look].colored, looks[look].color >= 0 ? (short)(look + 1) : 0, NULL);
    else
        attr_set(looks[look].plain, 0, NULL);
}

/* ---- a frame ------------------------------------------------------------------------------------
 */

static void make_rows(int count)
{
    if (count == frame.count)
        return;
    free(frame.rows);
    frame.rows = calloc((size_t)count, sizeof *frame.rows);
    frame.count = frame.rows ? count : 0; /* without memory rows are not traced, only drawn */
}

void draw_begin(void)
{
    make_rows(term_rows());
    for (int i = 0; i < frame.count; i++) {
        struct row_trace *r = &frame.rows[i];
        *r = (struct row_trace){.before = r->now, .odd_before = r->odd};
    }
    frame.cursor_row = frame.cursor_col = 0;
    attr_set(A_NORMAL, 0, NULL);
    erase();
}

void draw_end(void)
{
    for (int i = 0; i < frame.count; i++) {
        const struct row_trace *r = &frame.rows[i];
        if ((r->odd || r->odd_before) && r->now != r->before)
            wredrawln(stdscr, i, 1);
    }
    move(frame.cursor_row, frame.cursor_col);
    wnoutrefresh(stdscr);
    doupdate();
}

void draw_cursor(int row, int col)
{
    int last_row = term_rows() - 1, last_col = term_columns() - 1;
    frame.cursor_row = row < 0 ? 0 : row > last_row ? last_row : row;
    frame.cursor_col = col < 0 ? 0 : col > last_col ? last_col : col;
}

static void note_drawn(int row, int col, enum look look, const char *s, size_t n)
{
    if (row >= frame.count)
        return;
    uint64_t h = frame.rows[row].now ^ (uint64_t)(col * LOOK_COUNT + (int)look + 1);
    for (size_t i = 0; i < n; i++) /* FNV-1a */
        h = (h ^ (unsigned char)s[i]) * 1099511628211u;
    frame.rows[row].now = h * 1099511628211u;
}

/* ---- text
 * ------------------------------------------------------------------------------------------ */

/* Columns left of `width` on the screen; 0 when nothing can be drawn there. */
static int room(int row, int col, int width)
{
    int left = term_columns() - col;
    if (row < 0 || row >= term_rows() || col < 0 || left <= 0 || width <= 0)
        return 0;
    return width < left ? width : left;
}

static bool ascii_only(const char *s, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)s[i] < 0x20 || (unsigned char)s[i] > 0x7E)
            return false;
    return true;
}

/* One cluster at a column of its own: whatever curses and the terminal make of its width, what
 * follows stands where it should. Of characters joined into one only the first is sent, the others
 * would take columns of their own on half of the terminals. */
static void put_cluster(int row, int col, const char *s, size_t n)
{
    size_t end = 0;
    int parts = 0;
    while (end < n) {
        uint32_t cp;
        int used = utf8_decode(s + end, n - end, &cp);
        if (used <= 0 || cp == ZERO_WIDTH_JOINER || (parts > 0 && utf8_cp_width(cp) > 0))
            break;
        parts++;
        end += (size_t)used;
    }
    if (term_utf8())
        mvaddnstr(row, col, s, (int)end);
    else
        mvaddch(row, col, '?');
    if (row < frame.count && (parts > 1 || end < n))
        frame.rows[row].odd = true;
}

/* Draw n bytes that are safe to show and fit. */
static int put(int row, int col, enum look look, const char *s, size_t n)
{
    set_look(look);
    note_drawn(row, col, look, s, n);
    if (ascii_only(s, n)) {
        mvaddnstr(row, col, s, (int)n);
        return (int)n;
    }
    int used = 0;
    for (size_t at = 0; at < n;) {
        size_t next = utf8_next(s, n, at);
        int w = utf8_width_n(s + at, next - at);
        if (next - at == 1)
            mvaddnstr(row, col + used, s + at, 1);
        else if (w > 0)
            put_cluster(row, col + used, s + at, next - at);
        used += w;
        at = next;
    }
    return used;
}

/* Draw what fits; a text that goes on says so in its last column, so that no number is read short.
 */
static int put_cut(int row, int col, int width, enum look look, const char *s)
{
    size_t all = strlen(s), n = utf8_fit(s, width);
    if (n == all)
        return put(row, col, look, s, n);
    n = utf8_fit(s, width - 1);
    int used = put(row, col, look, s, n);
    return used + (term_utf8() ? put(row, col + used, look, "\u2026", strlen("\u2026"))
                               : put(row, col + used, look, "~", 1));
}

int draw_text(int row, int col, int width, enum look look, const char *text)
{
    width = room(row, col, width);
    if (width == 0 || !*text)
        return 0;
    if (utf8_plain(text, false))
        return put_cut(row, col, width, look, text);
    struct text shown;
    text_init(&shown, TEXT_MAX);
    utf8_show(&shown, text, false);
    int used = put_cut(row, col, width, look, shown.s);
    text_free(&shown);
    return used;
}

int draw_textf(int row, int col, int width, enum look look, const char *format, ...)
{
    struct text t;
    text_init(&t, TEXT_MAX);
    va_list args;
    va_start(args, format);
    text_vaddf(&t, format, args);
    va_end(args);
    int used = draw_text(row, col, width, look, t.s);
    text_free(&t);
    return used;
}

int draw_width(const char *text)
{
    if (utf8_plain(text, false))
        return utf8_width(text);
    struct text shown;
    text_init(&shown, TEXT_MAX);
    utf8_show(&shown, text, false);
    int width = utf8_width(shown.s);
    text_free(&shown);
    return width;
}

void draw_right(int row, int right, int width, enum look look, const char *text)
{
    int w = draw_width(text);
    w = w < width ? w : width;
    draw_text(row, right - w, w, look, text);
}

void draw_fill(int row, int col, int width, enum look look)
{
    width = room(row, col, width);
    if (width == 0)
        return;
    set_look(look);
    note_drawn(row, col, look, " ", 1);
    mvhline(row, col, ' ', width); /* in the look just set */
}

static void put_line(int row, int col, const char *utf8, const char *ascii)
{
    draw_text(row, col, 1, LOOK_DIM, term_utf8() ? utf8 : ascii);
}

void draw_rule(int row, int col, int width)
{
    width = room(row, col, width);
    for (int i = 0; i < width; i++)
        put_line(row, col + i, "\u2500", "-");
}

void draw_box(int row, int col, int rows, int width, const char *title)
{
    int right = col + width - 1, bottom = row + rows - 1;
    for (int r = row; r <= bottom; r++) {
        draw_fill(r, col, width, LOOK_PLAIN);
        put_line(r, col, "\u2502", "|");
        put_line(r, right, "\u2502", "|");
    }
    draw_rule(row, col, width);
    draw_rule(bottom, col, width);
    put_line(row, col, "\u250C", "+");
    put_line(row, right, "\u2510", "+");
    put_line(bottom, col, "\u2514", "+");
    put_line(bottom, right, "\u2518", "+");
    draw_textf(row, col + 2, width - 4, LOOK_STRONG, " %s ", title);
}

size_t draw_break(const char *s, size_t from, int width, size_t *next)
{
    size_t len = strlen(s), end = from, word = from;
    int used = 0;
    while (end < len && s[end] != '\n') {
        size_t after = utf8_next(s, len, end);
        used += utf8_width_n(s + end, after - end);
        if (s[end] == ' ')
            word = end;
        if (used > width && end > from) {
            if (word == from) { /* one long word is cut where the line ends */
                *next = end;
                return end;
            }
            *next = word + 1;
            return word;
        }
        end = after;
    }
    *next = end < len ? end + 1 : len;
    return end;
}

int draw_wrapped(int row, int col, int width, int most, enum look look, const char *text)
{
    struct text shown;
    text_init(&shown, TEXT_MAX);
    utf8_show(&shown, text, true);
    int lines = 0;
    width = room(row, col, width);
    for (size_t at = 0; at < shown.len && lines < most && width > 0; lines++) {
        size_t next, end = draw_break(shown.s, at, width, &next);
        if (lines + 1 == most && next < shown.len) { /* the last line tells that more follows */
            draw_text(row + lines, col, width, look, shown.s + at);
        } else if (end > at && row + lines < term_rows()) {
            put(row + lines, col, look, shown.s + at, end - at);
        }
        at = next;
    }
    text_free(&shown);
    return lines;
}
