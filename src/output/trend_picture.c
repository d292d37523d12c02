#include "output/trend_picture.h"
#include "base/text.h"
#include "base/units.h"
#include "calc/chance.h"
#include <math.h>
#include <string.h>

enum { LABELS = 9, ROWS_MOST = 40, COLUMNS_MOST = 200 };

enum glyph { GLYPH_NONE, GLYPH_BAND, GLYPH_THRESHOLD, GLYPH_LINE, GLYPH_VALUE };
static const char *const glyphs[2][5] = {
    {" ", ":", "=", "-", "o"}, {" ", "\xc2\xb7", "\xe2\x95\x8c", "\xe2\x94\x80", "\xe2\x97\x8f"}};

struct plot {
    const struct trend_view *t;
    int rows, columns; /* of the drawing alone */
    double low, high, days;
    unsigned char cells[ROWS_MOST][COLUMNS_MOST];
};

/* Half the width of the line's 95 % band; grows without bound where there are few values. */
static double half_band(const struct trend_view *t, double day, double *line)
{
    double u;
    *line = trend_at(&t->line, day, &u);
    return t->count > 2 ? chance_t_point(0.025, (double)t->count - 2) * u : 0;
}

/* Room for the values and, as far as it is not wider than they are, for the band. */
static void find_range(struct plot *p)
{
    const struct trend_view *t = p->t;
    p->low = p->high = t->points[0].value;
    for (size_t i = 0; i < t->count; i++) {
        p->low = fmin(p->low, t->points[i].value);
        p->high = fmax(p->high, t->points[i].value);
        p->days = fmax(p->days, t->points[i].day);
    }
    double room = fmax(p->high - p->low, fmax(fabs(p->high) * 0.02, 1e-6)), line;
    double least = p->low - room / 2, most = p->high + room / 2;
    for (int end = 0; t->solved && end < 2; end++) {
        double half = half_band(t, end * p->days, &line);
        p->low = fmin(p->low, fmax(line - half, least));
        p->high = fmax(p->high, fmin(line + half, most));
    }
    if (p->high - p->low < room / 2) {
        p->low -= room / 4;
        p->high += room / 4;
    }
    p->days = fmax(p->days, 1);
}

static double height(const struct plot *p, double value)
{
    return (p->high - value) / (p->high - p->low) * (p->rows - 1);
}

static void put(struct plot *p, int column, double row, enum glyph glyph)
{
    if (row < -0.5 || row > p->rows - 0.5 || column < 0 || column >= p->columns)
        return;
    unsigned char *cell = &p->cells[(int)lround(row)][column];
    if (*cell < (unsigned char)glyph)
        *cell = (unsigned char)glyph;
}

static void fill(struct plot *p)
{
    const struct trend_view *t = p->t;
    for (int c = 0; t->solved && c < p->columns; c++) {
        double line, half = half_band(t, p->days * c / (p->columns - 1), &line);
        double top = fmax(height(p, line + half), 0),
               end = fmin(height(p, line - half), p->rows - 1);
        for (int row = (int)ceil(top); row <= (int)floor(end); row++)
            put(p, c, row, GLYPH_BAND);
        put(p, c, height(p, line), GLYPH_LINE);
    }
    for (int c = 0; t->of->has_threshold && c < p->columns; c++)
        put(p, c, height(p, t->of->threshold), GLYPH_THRESHOLD);
    for (size_t i = 0; i < t->count; i++)
        put(p, (int)lround(t->points[i].day / p->days * (p->columns - 1)),
            height(p, t->points[i].value), GLYPH_VALUE);
}

static void label(const struct plot *p, int row, struct text *to)
{
    char number[48] = "";
    double at = p->high - (p->high - p->low) * row / (p->rows - 1);
    if (row == 0 || row == p->rows - 1 || row == p->rows / 2)
        number_format(trend_shown(p->t, at), fabs(trend_shown(p->t, p->high - p->low)) < 5 ? 1 : 0,
                      true, number, sizeof number);
    text_addf(to, "%*s ", LABELS - 1, number);
}

static void end_line(struct text *to)
{
    while (to->len > 0 && to->s[to->len - 1] == ' ')
        to->s[--to->len] = '\0';
    text_addc(to, '\n');
}

void trend_picture(const struct trend_view *t, const struct trend_style *style, struct text *to)
{
    struct plot p = {.t = t, .rows = style->rows - 1, .columns = style->columns - LABELS};
    char first[CLOCK_ROOM], last[CLOCK_ROOM];
    if (style->rows < 5 || style->columns < 30 || t->count == 0)
        return;
    p.rows = p.rows < ROWS_MOST ? p.rows : ROWS_MOST;
    p.columns = p.columns < COLUMNS_MOST ? p.columns : COLUMNS_MOST;
    find_range(&p);
    fill(&p);
    for (int row = 0; row < p.rows; row++) {
        label(&p, row, to);
        for (int c = 0; c < p.columns; c++)
            text_add(to, glyphs[style->utf8][p.cells[row][c]]);
        end_line(to);
    }
    clock_dated(t->first, first);
    clock_dated(t->first + (day_number)lround(p.days), last);
    text_addf(to, "%*s%s%*s\n", LABELS, "", first, p.columns - (int)strlen(first), last);
}
