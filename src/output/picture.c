#include "output/picture.h"
#include "base/text.h"
#include <math.h>
#include <string.h>

/* A character is two dots wide and four high, so dots are square. */
enum { ROWS_MOST = 48, COLUMNS_MOST = 160, ACROSS = 2, DOWN = 4 };

struct canvas {
    unsigned char dots[ROWS_MOST][COLUMNS_MOST]; /* a bit for each of the eight */
    char words[ROWS_MOST][COLUMNS_MOST];         /* letters over them, or 0 */
    int rows, columns;
    double dots_per_mm, left, top; /* mm at the upper left corner */
};

static double dot_x(const struct canvas *c, double x)
{
    return (x - c->left) * c->dots_per_mm;
}

static double dot_y(const struct canvas *c, double z)
{
    return (c->top - z) * c->dots_per_mm;
}

static void set_dot(struct canvas *c, long x, long y)
{
    if (x < 0 || y < 0 || x >= (long)c->columns * ACROSS || y >= (long)c->rows * DOWN)
        return;
    unsigned bit = (unsigned)((y % DOWN) * ACROSS + x % ACROSS);
    c->dots[y / DOWN][x / ACROSS] |= (unsigned char)(1U << bit);
}

/* Dots left out: of a leg that carries nothing every other one, of the tip line two of three. */
static bool gap(enum stroke_kind kind, long i)
{
    return (kind == STROKE_WEAK && i % 3 == 2) || (kind == STROKE_TIP && i % 4 != 0);
}

static void draw_stroke(struct canvas *c, const struct figure *f, const struct figure_stroke *s)
{
    long walked = 0;
    for (size_t i = 0; i + 1 < s->count; i++) {
        const struct figure_point *a = &f->points[s->first + i], *b = a + 1;
        double x0 = dot_x(c, a->x), y0 = dot_y(c, a->z), x1 = dot_x(c, b->x), y1 = dot_y(c, b->z);
        double far = fmax(fabs(x1 - x0), fabs(y1 - y0));
        long steps = (long)ceil(fmin(far, 1000));
        for (long k = 0; k <= steps; k++) {
            double t = steps > 0 ? (double)k / (double)steps : 0;
            if (!gap(s->kind, walked))
                set_dot(c, lround(x0 + t * (x1 - x0)), lround(y0 + t * (y1 - y0)));
            walked += k < steps;
        }
    }
}

/* ---- words ----------------------------------------------------------------------------------- */

static bool is_free(const struct canvas *c, int row, int col, int n)
{
    for (int i = col - 1; i <= col + n; i++)
        if (i >= 0 && i < c->columns && c->words[row][i] != '\0')
            return false;
    return true;
}

/* Where it belongs, or as near to the right of that as there is room. */
static void draw_label(struct canvas *c, const struct figure_label *l)
{
    int n = (int)strlen(l->words), row = (int)floor(dot_y(c, l->z) / DOWN);
    int col = (int)lround(dot_x(c, l->x) / ACROSS) - (l->align < 0 ? n : l->align == 0 ? n / 2 : 0);
    row = row < 0 ? 0 : row >= c->rows ? c->rows - 1 : row;
    col = col + n > c->columns ? c->columns - n : col;
    col = col < 0 ? 0 : col;
    while (col + n < c->columns && !is_free(c, row, col, n))
        col++;
    for (int i = 0; i < n && col + i < c->columns; i++)
        c->words[row][col + i] = l->words[i];
}

/* ---- out ------------------------------------------------------------------------------------- */

/* Dots of the braille block in the order of its bits, as ours number them. */
static void add_braille(struct text *to, unsigned dots)
{
    static const unsigned char bits[8] = {0x01, 0x08, 0x02, 0x10, 0x04, 0x20, 0x40, 0x80};
    unsigned pattern = 0;
    for (unsigned i = 0; i < 8; i++)
        if (dots & 1U << i)
            pattern |= bits[i];
    const char utf8[4] = {(char)0xE2, (char)(0xA0 + (pattern >> 6)), (char)(0x80 + (pattern & 63)),
                          '\0'};
    text_add(to, utf8);
}

static int count_bits(unsigned v)
{
    int n = 0;
    for (; v != 0; v &= v - 1)
        n++;
    return n;
}

/* The plain character that looks most like eight dots: lying, upright, slanting, or a point. */
static char ascii_of(unsigned dots)
{
    unsigned rows = 0, left = 0, right = 0;
    for (unsigned r = 0; r < DOWN; r++) {
        unsigned two = dots >> r * ACROSS & 3U;
        rows |= (two != 0 ? 1U : 0U) << r;
        left |= (two & 1U) << r;
        right |= (two >> 1) << r;
    }
    int high = count_bits(rows), n = count_bits(dots);
    if (n >= 6)
        return '#';
    if (high >= 3) {
        if (left == 0 || right == 0 || n >= 5)
            return '|';
        return (left & 3U) > (right & 3U) ? '\\' : (left & 3U) < (right & 3U) ? '/' : '|';
    }
    if (high == 2 && left != 0 && right != 0 && left != right)
        return n > 2 || (rows & (rows << 1)) != 0 ? (left < right ? '\\' : '/') : ':';
    if (high == 2)
        return left == 0 || right == 0 ? '|' : '=';
    if (rows == 1)
        return n == 2 ? '"' : '\'';
    if (rows == 8)
        return n == 2 ? '_' : '.';
    return n == 2 ? '-' : rows == 2 ? '\'' : '.';
}

static void write_row(const struct canvas *c, int row, bool braille, struct text *to)
{
    int end = c->columns;
    while (end > 0 && c->dots[row][end - 1] == 0 && c->words[row][end - 1] == '\0')
        end--;
    for (int col = 0; col < end; col++) {
        unsigned dots = c->dots[row][col];
        if (c->words[row][col] != '\0')
            text_addc(to, c->words[row][col]);
        else if (dots == 0)
            text_addc(to, ' ');
        else if (braille)
            add_braille(to, dots);
        else
            text_addc(to, ascii_of(dots));
    }
    text_addc(to, '\n');
}

static double scale_of(const struct figure *f, const struct picture_style *style)
{
    double wide = f->high.x - f->low.x, high = f->high.z - f->low.z;
    int rows = style->rows < ROWS_MOST ? style->rows : ROWS_MOST;
    int columns = style->columns < COLUMNS_MOST ? style->columns : COLUMNS_MOST;
    return fmin((columns * ACROSS - 1) / wide, (rows * DOWN - 1) / high);
}

static bool has_room(const struct figure *f, const struct picture_style *style)
{
    return f->stroke_count > 0 && style->rows >= 4 && style->columns >= 20;
}

double picture_column_mm(const struct figure *f, const struct picture_style *style)
{
    return has_room(f, style) ? ACROSS / scale_of(f, style) : 0;
}

void picture_draw(const struct figure *f, const struct picture_style *style, struct text *to)
{
    struct canvas c;
    if (!has_room(f, style))
        return;
    memset(&c, 0, sizeof c);
    c.rows = style->rows < ROWS_MOST ? style->rows : ROWS_MOST;
    c.columns = style->columns < COLUMNS_MOST ? style->columns : COLUMNS_MOST;
    double wide = f->high.x - f->low.x;
    c.dots_per_mm = scale_of(f, style);
    c.left = f->low.x - (c.columns * ACROSS - 1 - wide * c.dots_per_mm) / 2 / c.dots_per_mm;
    c.top = f->high.z;
    for (size_t i = 0; i < f->stroke_count; i++)
        draw_stroke(&c, f, &f->strokes[i]);
    for (size_t i = 0; i < f->label_count; i++)
        draw_label(&c, &f->labels[i]);
    for (int row = 0; row < c.rows; row++)
        write_row(&c, row, style->braille, to);
}
