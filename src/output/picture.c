#include "output/picture.h"
#include "base/text.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CANVAS_ROWS = 24, CANVAS_COLUMNS = 100 };

struct canvas {
    char cell[CANVAS_ROWS][CANVAS_COLUMNS];
    int rows, columns;
    double mm_per_row, left_mm;
};

static int column(const struct canvas *c, double x_mm)
{
    return (int)lround((x_mm - c->left_mm) / (c->mm_per_row / 2));
}

static int line(const struct canvas *c, double z_mm)
{
    return c->rows - 1 - (int)lround(z_mm / c->mm_per_row);
}

static void put(struct canvas *c, int row, int col, char ch)
{
    if (row >= 0 && row < c->rows && col >= 0 && col < c->columns)
        c->cell[row][col] = ch;
}

static void words(struct canvas *c, int row, int col, const char *s)
{
    for (; *s != '\0'; s++)
        put(c, row, col++, *s);
}

static void level(struct canvas *c, int row, int from, int to, char ch)
{
    for (int col = from; col <= to; col++)
        put(c, row, col, ch);
}

static void upright(struct canvas *c, int col, int from, int to, char ch)
{
    for (int row = from; row <= to; row++)
        put(c, row, col, ch);
}

/* Trunk, head and legs. The hind legs are dotted: they carry less than they did. */
static void draw_dog(struct canvas *c, double stance, double withers)
{
    int back = line(c, withers), belly = line(c, withers * 0.5);
    int chest = column(c, -stance * 0.10), rump = column(c, stance * 1.05);
    int ground = c->rows - 1;
    level(c, back, chest + 3, rump - 1, '_');
    level(c, belly, chest + 2, rump - 1, '_');
    upright(c, rump, back + 1, belly, '|');
    put(c, back, rump + 1, '_'); /* the tail */
    put(c, back, rump + 2, '_');
    words(c, back - 1, chest - 3, "____");
    words(c, back, chest - 5, "/ o  \\_");
    words(c, back + 1, chest - 5, "\\____  ");
    upright(c, chest, back + 2, belly, '\\');
    upright(c, column(c, 0), belly + 1, ground - 1, '|');
    upright(c, column(c, 0) + 1, belly + 1, ground - 1, '|');
    upright(c, column(c, stance), belly + 1, ground - 1, ':');
    upright(c, column(c, stance) + 1, belly + 1, ground - 1, ':');
}

static void draw_wheel(struct canvas *c, double axle, double radius)
{
    int centre = line(c, radius), middle = column(c, axle);
    for (int row = line(c, 2 * radius); row < c->rows - 1; row++) {
        double z = (c->rows - 1 - row) * c->mm_per_row - radius;
        double half = radius * radius > z * z ? sqrt(radius * radius - z * z) : 0;
        put(c, row, column(c, axle - half), '(');
        put(c, row, column(c, axle + half), ')');
    }
    put(c, centre, middle, '+');
}

static void draw_frame(struct canvas *c, const struct balance_in *in, double axle, double withers)
{
    int rail = line(c, withers * 0.72);
    int bar = column(c, in->bar_mm), rest = column(c, in->rest_mm);
    int end = column(c, axle) > rest ? column(c, axle) : rest;
    level(c, rail, bar, end, '=');
    upright(c, bar, line(c, withers), rail - 1, 'I');
    upright(c, rest, rail + 1, line(c, withers * 0.45), 'U');
    upright(c, column(c, axle), rail + 1, line(c, in->wheel_diameter_mm / 2) - 1, '|');
}

static void draw_loads(struct canvas *c, const struct balance_in *in, const struct balance_out *out,
                       char *below, size_t room)
{
    char fore[24], wheel[24];
    (void)snprintf(fore, sizeof fore, "^ %.1f kg", out->fore_load_n / STANDARD_GRAVITY);
    (void)snprintf(wheel, sizeof wheel, "^ %.1f kg", out->wheel_load_n / STANDARD_GRAVITY);
    int at_fore = column(c, 0), at_wheel = column(c, out->axle_mm);
    if (at_wheel < at_fore + (int)strlen(fore) + 2)
        at_wheel = at_fore + (int)strlen(fore) + 2;
    (void)snprintf(below, room, "%*s%s%*s%s", at_fore, "", fore,
                   at_wheel - at_fore - (int)strlen(fore), "", wheel);
    double bar = out->bar_load_n / STANDARD_GRAVITY;
    char at_bar[32];
    if (fabs(bar) < 0.05)
        (void)snprintf(at_bar, sizeof at_bar, "bar neutral");
    else
        (void)snprintf(at_bar, sizeof at_bar, "bar %s %.1f kg", bar > 0 ? "presses" : "lifts",
                       fabs(bar));
    words(c, 0, column(c, in->bar_mm) + 4, at_bar);
}

void picture_side(const struct balance_in *in, const struct balance_out *out, double withers_mm,
                  int rows, int columns, struct text *to)
{
    double stance = in->stance_length_mm;
    if (!(stance > 0) || !(withers_mm > 0) || !(in->wheel_diameter_mm > 0))
        return;
    struct canvas c = {.rows = rows < CANVAS_ROWS ? rows : CANVAS_ROWS,
                       .columns = columns < CANVAS_COLUMNS ? columns : CANVAS_COLUMNS};
    memset(c.cell, ' ', sizeof c.cell);
    c.mm_per_row = withers_mm / (c.rows - 3);
    double widest = stance * 1.5 / (c.columns / 2.0); /* a long dog is bound by the width */
    if (c.mm_per_row < widest)
        c.mm_per_row = widest;
    c.left_mm = -stance * 0.10 - 7 * c.mm_per_row / 2;
    draw_dog(&c, stance, withers_mm);
    draw_frame(&c, in, out->axle_mm, withers_mm);
    draw_wheel(&c, out->axle_mm, in->wheel_diameter_mm / 2);
    int last = column(&c, (stance > out->axle_mm ? stance : out->axle_mm) * 1.2);
    level(&c, c.rows - 1, 0, last < c.columns ? last : c.columns - 1, '-');
    char below[CANVAS_COLUMNS + 1];
    draw_loads(&c, in, out, below, sizeof below);
    for (int r = 0; r < c.rows; r++) {
        int end = c.columns;
        while (end > 0 && c.cell[r][end - 1] == ' ')
            end--;
        text_addn(to, c.cell[r], (size_t)end);
        text_addc(to, '\n');
    }
    text_add(to, below);
    text_addc(to, '\n');
}
