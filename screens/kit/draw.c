#include "screens/kit/draw.h"

#include "base/text.h"
#include "base/utf8.h"
#include "screens/kit/frame.h"
#include "screens/kit/inside.h"

#include <stdarg.h>
#include <string.h>

enum { TEXT_MAX = 65536, ZERO_WIDTH_JOINER = 0x200D };

/* Each look without and with colour; a colour only ever repeats what bold, underline, reverse or
 * the words beside it say already. */
enum { RED = 1, GREEN, YELLOW };
static const struct {
    struct frame_style plain, colored;
} looks[LOOK_COUNT] = {
    [LOOK_DIM] = {{.dim = true}, {.dim = true}},
    [LOOK_STRONG] = {{.bold = true}, {.bold = true}},
    [LOOK_FIELD] = {{.underline = true}, {.underline = true}},
    [LOOK_FOCUS] = {{.reverse = true}, {.reverse = true}},
    [LOOK_GOOD] = {{0}, {.color = GREEN}},
    [LOOK_WARN] = {{.underline = true}, {.bold = true, .color = YELLOW}},
    [LOOK_BAD] = {{.bold = true, .reverse = true}, {.bold = true, .color = RED}},
    [LOOK_BAR] = {{.bold = true}, {.bold = true}},
    [LOOK_KEYS] = {{.dim = true}, {.dim = true}},
};

static struct {
    int cursor_row, cursor_col;
} place;

void draw_start(void)
{
    frame_start();
    for (int i = 0; i < LOOK_COUNT; i++)
        frame_look((enum look)i, term_color() ? &looks[i].colored : &looks[i].plain);
}

/* ---- a frame --------------------------------------------------------------------------------- */

void draw_begin(void)
{
    frame_begin(term_rows(), term_columns());
    draw_cursor(0, 0);
}

void draw_end(void)
{
    frame_send(place.cursor_row, place.cursor_col);
}

void draw_cursor(int row, int col)
{
    int last_row = term_rows() - 1, last_col = term_columns() - 1;
    place.cursor_row = row < 0 ? 0 : row > last_row ? last_row : row;
    place.cursor_col = col < 0 ? 0 : col > last_col ? last_col : col;
}

/* ---- text ------------------------------------------------------------------------------------ */

/* Columns left of `width` on the screen; 0 when nothing can be drawn there. */
static int room(int row, int col, int width)
{
    int left = term_columns() - col;
    if (row < 0 || row >= term_rows() || col < 0 || left <= 0 || width <= 0)
        return 0;
    return width < left ? width : left;
}

/* One cluster. Of characters joined into one only the first is sent, the others would take columns
 * of their own on half of the terminals. */
static void put_cluster(int row, int col, enum look look, const char *s, size_t n, int width)
{
    enum { MOST = 5 }; /* marks on one letter are many before that */
    size_t end = 0;
    int parts = 0;
    while (end < n && parts < MOST) {
        uint32_t cp;
        int used = utf8_decode(s + end, n - end, &cp);
        if (used <= 0 || cp == ZERO_WIDTH_JOINER || (parts > 0 && utf8_cp_width(cp) > 0))
            break;
        parts++;
        end += (size_t)used;
    }
    if (term_utf8())
        frame_put(row, col, look, s, end, width, parts > 1 || end < n);
    else
        frame_put(row, col, look, "?", 1, 1, false);
}

/* Draw n bytes that are safe to show and fit. */
static int put(int row, int col, enum look look, const char *s, size_t n)
{
    int used = 0;
    for (size_t at = 0; at < n;) {
        int letters = (int)utf8_simple(s + at, n - at);
        frame_letters(row, col + used, look, s + at, letters);
        used += letters;
        at += (size_t)letters;
        size_t next = utf8_next(s, n, at);
        int w = utf8_width_n(s + at, next - at);
        if (next - at == 1)
            frame_put(row, col + used, look, s + at, 1, 1, false);
        else if (w > 0)
            put_cluster(row, col + used, look, s + at, next - at, w);
        used += w;
        at = next;
    }
    return used;
}

/* Draw what fits; a text that goes on says so in its last column, so that no number is read short.
 */
static int put_cut(int row, int col, int width, enum look look, const char *s)
{
    size_t all = strlen(s); /* no character is wider than it has bytes */
    size_t n = all <= (size_t)width ? all : utf8_fit(s, width);
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
    frame_fill(row, col, look, room(row, col, width));
}

static void put_line(int row, int col, const char *utf8, const char *ascii)
{
    const char *sign = term_utf8() ? utf8 : ascii;
    frame_put(row, col, LOOK_DIM, sign, strlen(sign), 1, false);
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

static int put_wrapped(int row, int col, int width, int most, enum look look, const char *s)
{
    int lines = 0;
    width = room(row, col, width);
    for (size_t at = 0; s[at] && lines < most && width > 0; lines++) {
        size_t next, end = draw_break(s, at, width, &next);
        if (lines + 1 == most && s[next]) { /* the last line tells that more follows */
            draw_text(row + lines, col, width, look, s + at);
        } else if (end > at && row + lines < term_rows()) {
            put(row + lines, col, look, s + at, end - at);
        }
        at = next;
    }
    return lines;
}

int draw_wrapped(int row, int col, int width, int most, enum look look, const char *text)
{
    if (utf8_plain(text, true))
        return put_wrapped(row, col, width, most, look, text);
    struct text shown;
    text_init(&shown, TEXT_MAX);
    utf8_show(&shown, text, true);
    int lines = put_wrapped(row, col, width, most, look, shown.s);
    text_free(&shown);
    return lines;
}
