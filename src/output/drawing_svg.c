#include "output/drawing_svg.h"
#include "base/clock.h"
#include "base/text.h"
#include "output/ascii.h"
#include "output/build_sheet.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

/* A view: its own millimetres, laid at a place of the page. */
struct view {
    struct text *out;
    double scale, left, floor; /* page mm for each mm; where x = 0 and z = 0 lie */
};
enum { PAGE_WIDE = 297, PAGE_HIGH = 210, MARGIN = 12, GUTTER = 14 };

static double page_x(const struct view *v, double x)
{
    return v->left + x * v->scale;
}

static double page_y(const struct view *v, double z)
{
    return v->floor - z * v->scale;
}

/* Text as character data: nothing of a record can become markup. */
static void add_escaped(struct text *out, const char *words)
{
    struct text plain;
    text_init(&plain, 1000);
    (void)ascii_map(&plain, words);
    for (const char *p = plain.s; *p != '\0'; p++) {
        if (*p == '&')
            text_add(out, "&amp;");
        else if (*p == '<')
            text_add(out, "&lt;");
        else if (*p == '>')
            text_add(out, "&gt;");
        else if ((unsigned char)*p >= ' ' && *p != 0x7f)
            text_addc(out, *p);
    }
    text_free(&plain);
}

static void add_words(struct text *out, double x, double y, const char *anchor, double size,
                      const char *words)
{
    text_addf(out, "<text x=\"%.2f\" y=\"%.2f\" text-anchor=\"%s\" font-size=\"%.1f\">", x, y,
              anchor, size);
    add_escaped(out, words);
    text_add(out, "</text>\n");
}

/* ---- strokes --------------------------------------------------------------------------------- */

static const char *const classes[STROKE_KINDS] = {
    [STROKE_DOG] = "dog",     [STROKE_WEAK] = "weak",     [STROKE_FRAME] = "frame",
    [STROKE_WHEEL] = "wheel", [STROKE_GROUND] = "ground", [STROKE_LOAD] = "load",
    [STROKE_MASS] = "mass",   [STROKE_TIP] = "tip",
};

static void add_figure(const struct view *v, const struct figure *f)
{
    for (size_t i = 0; i < f->stroke_count; i++) {
        const struct figure_stroke *s = &f->strokes[i];
        text_addf(v->out, "<path class=\"%s\" d=\"", classes[s->kind]);
        for (size_t k = 0; k < s->count; k++) {
            const struct figure_point *p = &f->points[s->first + k];
            text_addf(v->out, "%s%.2f %.2f", k == 0 ? "M" : " L", page_x(v, p->x), page_y(v, p->z));
        }
        text_add(v->out, "\"/>\n");
    }
    for (size_t i = 0; i < f->label_count; i++) {
        const struct figure_label *l = &f->labels[i];
        add_words(v->out, page_x(v, l->x), page_y(v, l->z),
                  l->align < 0   ? "end"
                  : l->align > 0 ? "start"
                                 : "middle",
                  3.2, l->words);
    }
}

/* ---- dimensions ------------------------------------------------------------------------------ */

/* A line between two places with its ends marked, `away` page mm from them, and the figure on it.
 */
static void across(const struct view *v, double x0, double x1, double z, double away,
                   const char *words)
{
    double a = page_x(v, fmin(x0, x1)), b = page_x(v, fmax(x0, x1)), y = page_y(v, z) + away;
    text_addf(v->out,
              "<path class=\"dim\" d=\"M%.2f %.2f L%.2f %.2f M%.2f %.2f L%.2f %.2f M%.2f %.2f "
              "L%.2f %.2f\"/>\n",
              a, y, b, y, a, y - 1.5, a, y + 1.5, b, y - 1.5, b, y + 1.5);
    add_words(v->out, (a + b) / 2, y - 0.8, "middle", 3.0, words);
}

static void up(const struct view *v, double x, double z0, double z1, double away, const char *words)
{
    double a = page_y(v, z0), b = page_y(v, z1), at = page_x(v, x) + away;
    text_addf(v->out,
              "<path class=\"dim\" d=\"M%.2f %.2f L%.2f %.2f M%.2f %.2f L%.2f %.2f M%.2f %.2f "
              "L%.2f %.2f\"/>\n",
              at, a, at, b, at - 1.5, a, at + 1.5, a, at - 1.5, b, at + 1.5, b);
    add_words(v->out, at + 1, (a + b) / 2, "start", 3.0, words);
}

static const char *mm(double value, const char *what, char *buf, size_t room)
{
    (void)snprintf(buf, room, "%s %.0f", what, value);
    return buf;
}

static const struct build_dimension *dimension(const struct build *b, const char *id)
{
    for (size_t i = 0; i < b->dimension_count; i++)
        if (strcmp(b->dimensions[i].id, id) == 0)
            return &b->dimensions[i];
    return NULL;
}

static double built(const struct build *b, const char *id, double otherwise)
{
    const struct build_dimension *d = dimension(b, id);
    return d != NULL ? d->build_mm : otherwise;
}

/* ---- the views ------------------------------------------------------------------------------- */

static void side_view(const struct view *v, const struct build *b)
{
    struct figure f;
    char words[64];
    double stance = b->in.stance_length_mm, rest = b->in.rest_mm, axle = b->axle_mm;
    build_figure(b, &f);
    add_figure(v, &f);
    double low = f.low.z;
    across(v, 0, axle, low, 5, mm(axle, "axle", words, sizeof words));
    across(v, axle, rest, low, 10,
           mm(fabs(b->ahead_mm), b->ahead_mm >= 0 ? "ahead of rest" : "behind rest", words,
              sizeof words));
    across(v, 0, stance, low, 15, mm(stance, "stance", words, sizeof words));
    up(v, f.high.x, 0, built(b, "rest_height", 0.65 * b->withers_mm), 3,
       mm(built(b, "rest_height", 0.65 * b->withers_mm), "rest", words, sizeof words));
    up(v, f.low.x, 0, built(b, "bar_height", 1.04 * b->withers_mm), -2,
       mm(built(b, "bar_height", 1.04 * b->withers_mm), "bar", words, sizeof words));
    up(v, f.high.x, 0, b->wheel_mm, 18, mm(b->wheel_mm, "wheel", words, sizeof words));
}

/* Seen from behind: wheels, axle, rest, hips. */
static void rear_view(const struct view *v, const struct build *b)
{
    struct figure f;
    char words[64];
    double half = b->track_mm / 2, tyre = b->wheel_mm * 0.05, w = b->withers_mm;
    double inside = built(b, "inside_width", b->track_mm * 0.55) / 2;
    double rest = built(b, "rest_height", 0.65 * w);
    figure_begin(&f);
    figure_line(&f, STROKE_GROUND, -b->width_mm / 2 - 20, 0, b->width_mm / 2 + 20, 0);
    for (int side = -1; side <= 1; side += 2) {
        double x = side * half;
        figure_line(&f, STROKE_WHEEL, x - tyre, 0, x - tyre, b->wheel_mm);
        figure_line(&f, STROKE_WHEEL, x + tyre, 0, x + tyre, b->wheel_mm);
        figure_line(&f, STROKE_WHEEL, x - tyre, 0, x + tyre, 0);
        figure_line(&f, STROKE_WHEEL, x - tyre, b->wheel_mm, x + tyre, b->wheel_mm);
        figure_line(&f, STROKE_FRAME, x, b->wheel_mm / 2, side * inside, b->wheel_mm / 2);
        figure_line(&f, STROKE_FRAME, side * inside, b->wheel_mm / 2, side * inside, 0.72 * w);
        figure_circle(&f, STROKE_FRAME, side * inside * 0.5, rest, inside * 0.42);
    }
    figure_line(&f, STROKE_FRAME, -inside, 0.72 * w, inside, 0.72 * w);
    figure_circle(&f, STROKE_DOG, 0, 0.80 * w, inside * 0.9);
    figure_circle(&f, STROKE_MASS, 0, b->out.cg_height_mm, 0.02 * w);
    figure_line(&f, STROKE_TIP, half, 0, 0, b->out.cg_height_mm);
    add_figure(v, &f);
    across(v, -half, half, 0, 5, mm(b->track_mm, "track", words, sizeof words));
    across(v, -b->width_mm / 2, b->width_mm / 2, 0, 10,
           mm(b->width_mm, "overall", words, sizeof words));
    across(v, -inside, inside, 1.02 * w, -2, mm(2 * inside, "inside", words, sizeof words));
}

/* From above: x rearward, the other way across; the lines about which it tips. */
static void top_view(const struct view *v, const struct build *b)
{
    struct figure f;
    char words[64];
    double half = b->track_mm / 2, axle = b->axle_mm, radius = b->wheel_mm / 2;
    double hips = built(b, "inside_width", b->track_mm * 0.55) / 2;
    double chest = built(b, "inside_width_chest", 2 * hips) / 2;
    double back = fmax(b->in.rest_mm, axle);
    figure_begin(&f);
    for (int side = -1; side <= 1; side += 2) {
        double z = side * half, tyre = b->wheel_mm * 0.05;
        figure_line(&f, STROKE_FRAME, b->in.bar_mm, side * chest, back, side * hips);
        figure_line(&f, STROKE_FRAME, axle, side * hips, axle, z);
        figure_line(&f, STROKE_WHEEL, axle - radius, z - tyre, axle + radius, z - tyre);
        figure_line(&f, STROKE_WHEEL, axle - radius, z + tyre, axle + radius, z + tyre);
        figure_line(&f, STROKE_WHEEL, axle - radius, z - tyre, axle - radius, z + tyre);
        figure_line(&f, STROKE_WHEEL, axle + radius, z - tyre, axle + radius, z + tyre);
        figure_line(&f, STROKE_TIP, 0, 0, axle, z);
        if (!isnan(b->front_axle_mm))
            figure_line(&f, STROKE_WHEEL, b->front_axle_mm - radius / 2, z,
                        b->front_axle_mm + radius / 2, z);
    }
    figure_line(&f, STROKE_FRAME, b->in.bar_mm, -chest, b->in.bar_mm, chest);
    figure_circle(&f, STROKE_FRAME, b->in.rest_mm, hips / 2, hips * 0.42);
    figure_circle(&f, STROKE_FRAME, b->in.rest_mm, -hips / 2, hips * 0.42);
    figure_circle(&f, STROKE_MASS, b->out.cg_mm, 0, b->withers_mm * 0.02);
    add_figure(v, &f);
    across(v, b->in.bar_mm, b->in.rest_mm, -half - radius * 0.2, 4,
           mm(built(b, "rail_length", b->in.rest_mm - b->in.bar_mm), "rail", words, sizeof words));
    across(v, 0, axle, -half - radius * 0.2, 9, mm(axle, "axle", words, sizeof words));
}

static void add_head(const struct build *b, bool frozen, struct text *out)
{
    char title[200], words[CLOCK_ROOM];
    day_number on;
    text_addf(out,
              "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"%dmm\" "
              "height=\"%dmm\" viewBox=\"0 0 %d %d\">\n",
              PAGE_WIDE, PAGE_HIGH, PAGE_WIDE, PAGE_HIGH);
    (void)snprintf(title, sizeof title, "%s, %s: %s %d", b->dog, b->frame,
                   frozen ? "build sheet, version" : "DRAFT, do not cut, of version", b->version);
    text_add(out, "<title>");
    add_escaped(out, title);
    text_add(out, "</title>\n<style>path{fill:none;stroke:#222;stroke-width:.35;"
                  "stroke-linecap:round;stroke-linejoin:round}text{font-family:sans-serif;"
                  "fill:#222}.dog{stroke:#777}.weak{stroke:#777;stroke-dasharray:1.2 1}"
                  ".frame{stroke-width:.9}.wheel{stroke-width:.7}.load{stroke-width:.8}"
                  ".tip{stroke-dasharray:2 1.5}.dim{stroke-width:.2}</style>\n");
    text_addf(out, "<rect x=\"0\" y=\"0\" width=\"%d\" height=\"%d\" fill=\"#fff\"/>\n", PAGE_WIDE,
              PAGE_HIGH);
    add_words(out, MARGIN, MARGIN, "start", 5, title);
    const char *day = clock_parse_day(b->day, 0, &on, NULL) ? clock_dated(on, words) : b->day;
    (void)snprintf(title, sizeof title, "%s by %s, %s. Millimetres; tolerances on the build sheet.",
                   frozen ? "Frozen" : "Looked at", b->by, day);
    add_words(out, MARGIN, MARGIN + 5, "start", 3.2, title);
}

/* The side view over the left part of the page, rear and top beside it, all at one scale. */
void drawing_svg(const struct build *b, bool frozen, struct text *out)
{
    struct figure f;
    build_figure(b, &f);
    double side_wide = f.high.x - f.low.x, side_high = f.high.z - f.low.z;
    double top_high = b->track_mm * 1.3,
           right_wide = fmax(b->width_mm + 40, b->axle_mm + b->wheel_mm);
    double wide = PAGE_WIDE - 2 * MARGIN - GUTTER - 34, high = PAGE_HIGH - 2 * MARGIN - 44;
    double scale = fmin(wide / (side_wide + right_wide),
                        fmin(high / side_high, high / (1.1 * b->withers_mm + top_high)));
    add_head(b, frozen, out);
    if (f.stroke_count > 0 && isfinite(scale) && scale > 0) {
        double top = MARGIN + 20;
        struct view side = {out, scale, MARGIN - f.low.x * scale, top + f.high.z * scale};
        double beside = MARGIN + side_wide * scale + GUTTER + 28;
        struct view rear = {out, scale, beside + right_wide * scale / 2,
                            top + 1.10 * b->withers_mm * scale};
        struct view from_above = {out, scale, beside, rear.floor + 20 + top_high * scale / 2};
        add_words(out, MARGIN, top - 4, "start", 3.6, "side");
        add_words(out, beside, top - 4, "start", 3.6, "rear");
        add_words(out, beside, rear.floor + 17, "start", 3.6, "top");
        side_view(&side, b);
        rear_view(&rear, b);
        top_view(&from_above, b);
    }
    text_add(out, "</svg>\n");
}
