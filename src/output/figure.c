#include "output/figure.h"
#include <math.h>
#include <stdarg.h>
#include <stdio.h>

/* ---- pieces ---------------------------------------------------------------------------------- */

void figure_begin(struct figure *f)
{
    f->point_count = f->stroke_count = f->label_count = 0;
    f->low = (struct figure_point){INFINITY, INFINITY};
    f->high = (struct figure_point){-INFINITY, -INFINITY};
}

static void widen(struct figure *f, double x, double z)
{
    f->low.x = fmin(f->low.x, x);
    f->low.z = fmin(f->low.z, z);
    f->high.x = fmax(f->high.x, x);
    f->high.z = fmax(f->high.z, z);
}

static void start(struct figure *f, enum stroke_kind kind)
{
    if (f->stroke_count < FIGURE_STROKES)
        f->strokes[f->stroke_count++] = (struct figure_stroke){kind, f->point_count, 0};
}

static void add(struct figure *f, double x, double z)
{
    if (f->point_count == FIGURE_POINTS || f->stroke_count == 0)
        return;
    f->points[f->point_count++] = (struct figure_point){x, z};
    f->strokes[f->stroke_count - 1].count++;
    widen(f, x, z);
}

void figure_line(struct figure *f, enum stroke_kind kind, double x0, double z0, double x1,
                 double z1)
{
    start(f, kind);
    add(f, x0, z0);
    add(f, x1, z1);
}

void figure_circle(struct figure *f, enum stroke_kind kind, double x, double z, double radius)
{
    enum { CORNERS = 40 };
    start(f, kind);
    for (int i = 0; i <= CORNERS; i++) {
        double turn = 2 * M_PI * i / CORNERS;
        add(f, x + radius * cos(turn), z + radius * sin(turn));
    }
}

/* Catmull-Rom: passes through every point, tangents from the neighbours. */
static double spline(double a, double b, double c, double d, double t)
{
    return b + t * ((c - a) / 2 +
                    t * ((2 * a - 5 * b + 4 * c - d) / 2 + t * ((d - a) + 3 * (b - c)) / 2));
}

void figure_curve(struct figure *f, enum stroke_kind kind, const struct figure_point *p,
                  size_t count, bool closed)
{
    enum { PARTS = 6 };
    start(f, kind);
    size_t spans = closed ? count : count - 1;
    for (size_t i = 0; i < spans; i++) {
        const struct figure_point *b = &p[i], *c = &p[(i + 1) % count];
        const struct figure_point *a = i > 0 ? &p[i - 1] : closed ? &p[count - 1] : b;
        const struct figure_point *d = closed || i + 2 < count ? &p[(i + 2) % count] : c;
        for (int k = 0; k < PARTS; k++) {
            double t = (double)k / PARTS;
            add(f, spline(a->x, b->x, c->x, d->x, t), spline(a->z, b->z, c->z, d->z, t));
        }
    }
    add(f, closed ? p[0].x : p[count - 1].x, closed ? p[0].z : p[count - 1].z);
}

void figure_words(struct figure *f, double x, double z, int align, const char *format, ...)
{
    va_list args;
    if (f->label_count == FIGURE_LABELS)
        return;
    struct figure_label *l = &f->labels[f->label_count++];
    *l = (struct figure_label){.x = x, .z = z, .align = align};
    va_start(args, format);
    (void)vsnprintf(l->words, sizeof l->words, format, args);
    va_end(args);
    widen(f, x, z);
}

/* ---- the dog --------------------------------------------------------------------------------- */

/* A point of the outline: `stance` shares of the stance length and `withers` shares of the withers
 * height rearward, `up` shares of it high. So a long dog gets a long trunk, not a long head. */
struct outline {
    double stance, withers, up;
};

static const struct outline trunk[] = {
    {0, -0.58, 1.13},   {0, -0.50, 1.20}, {0, -0.41, 1.24},  {0, -0.34, 1.33}, {0, -0.24, 1.35},
    {0, -0.14, 1.24},   {0, 0.02, 1.06},  {0.08, 0.05, 1.0}, {0.45, 0, 0.965}, {0.8, 0, 0.985},
    {0.97, 0.0, 0.97},  {1, 0.10, 0.88},  {1, 0.14, 0.74},   {1, 0.09, 0.58},  {1, -0.08, 0.50},
    {0.8, -0.04, 0.53}, {0.5, 0, 0.47},   {0.2, 0, 0.43},    {0, 0.08, 0.43},  {0, -0.04, 0.50},
    {0, -0.13, 0.68},   {0, -0.16, 0.86}, {0, -0.26, 1.01},  {0, -0.42, 1.05}, {0, -0.57, 1.07},
};
static const struct outline ear[] = {
    {0, -0.27, 1.33}, {0, -0.16, 1.24}, {0, -0.17, 1.08}, {0, -0.25, 1.07}, {0, -0.29, 1.20}};
static const struct outline tail[] = {
    {1, 0.09, 0.92}, {1, 0.22, 0.90}, {1, 0.34, 0.98}, {1, 0.42, 1.10}};
static const struct outline fore_front[] = {
    {0, -0.05, 0.48}, {0, -0.045, 0.25}, {0, -0.04, 0.06}, {0, -0.10, 0.0}};
static const struct outline fore_back[] = {
    {0, 0.09, 0.43}, {0, 0.06, 0.25}, {0, 0.045, 0.06}, {0, 0.05, 0.0}};
static const struct outline hind_front[] = {
    {1, -0.12, 0.50}, {1, -0.13, 0.38}, {1, -0.02, 0.27}, {1, 0.04, 0.18}, {1, -0.08, 0.0}};
static const struct outline hind_back[] = {
    {1, 0.10, 0.60}, {1, 0.06, 0.42}, {1, 0.15, 0.25}, {1, 0.10, 0.10}, {1, 0.06, 0.0}};

#define OUTLINE(f, kind, table, closed, in)                                                        \
    outline(f, kind, table, sizeof(table) / sizeof *(table), closed, in)

static void outline(struct figure *f, enum stroke_kind kind, const struct outline *from,
                    size_t count, bool closed, const struct figure_in *in)
{
    enum { MOST = 32 };
    struct figure_point points[MOST];
    for (size_t i = 0; i < count && i < MOST; i++)
        points[i] = (struct figure_point){from[i].stance * in->in->stance_length_mm +
                                              from[i].withers * in->withers_mm,
                                          from[i].up * in->withers_mm};
    figure_curve(f, kind, points, count < MOST ? count : MOST, closed);
}

static void dog(struct figure *f, const struct figure_in *in)
{
    bool hind_weak = !in->front && in->in->hind_support < 0.5;
    bool fore_weak = in->front && in->in->hind_support < 0.5;
    double w = in->withers_mm;
    OUTLINE(f, STROKE_DOG, trunk, true, in);
    OUTLINE(f, STROKE_DOG, ear, true, in);
    OUTLINE(f, STROKE_DOG, tail, false, in);
    figure_circle(f, STROKE_DOG, -0.40 * w, 1.19 * w, 0.008 * w);
    OUTLINE(f, fore_weak ? STROKE_WEAK : STROKE_DOG, fore_front, false, in);
    OUTLINE(f, fore_weak ? STROKE_WEAK : STROKE_DOG, fore_back, false, in);
    OUTLINE(f, hind_weak ? STROKE_WEAK : STROKE_DOG, hind_front, false, in);
    OUTLINE(f, hind_weak ? STROKE_WEAK : STROKE_DOG, hind_back, false, in);
}

/* ---- what moves with the axle ---------------------------------------------------------------- */

static double on_grid(const struct figure_in *in, double x)
{
    return in->grid_mm > 0 ? in->grid_mm * round(x / in->grid_mm) : x;
}

static double shown_axle(const struct figure_in *in)
{
    return on_grid(in, in->out->axle_mm);
}

static double axle_low(const struct figure_in *in)
{
    return in->axle_low_mm > 0 ? fmin(in->axle_low_mm, in->out->axle_mm) : in->out->axle_mm;
}

static double axle_high(const struct figure_in *in)
{
    return fmax(in->axle_high_mm, in->out->axle_mm);
}

/* ---- the frame ------------------------------------------------------------------------------- */

static void wheel(struct figure *f, double axle, double radius)
{
    figure_circle(f, STROKE_WHEEL, axle, radius, radius);
    figure_circle(f, STROKE_WHEEL, axle, radius, radius * 0.12);
}

static void frame(struct figure *f, const struct figure_in *in)
{
    const struct balance_in *b = in->in;
    double w = in->withers_mm, rail = 0.72 * w, axle = shown_axle(in);
    double radius = b->wheel_diameter_mm / 2, bar = b->bar_mm, rest = b->rest_mm;
    double end = fmax(rest, axle);
    figure_line(f, STROKE_FRAME, bar, rail, end, rail);
    figure_line(f, STROKE_FRAME, axle, rail, axle, radius);
    if (in->front) {
        figure_line(f, STROKE_FRAME, bar, rail, bar, 0.42 * w); /* the chest lies in it */
        figure_line(f, STROKE_FRAME, rest, rail, rest, 1.02 * w);
    } else {
        figure_line(f, STROKE_FRAME, bar, rail, bar, 1.06 * w);
        figure_line(f, STROKE_FRAME, bar - 0.06 * w, 1.06 * w, bar + 0.08 * w, 1.06 * w);
        figure_circle(f, STROKE_FRAME, rest, 0.67 * w, 0.12 * w); /* the pelvic rest */
    }
    wheel(f, axle, radius);
    if (!isnan(in->front_axle_mm)) {
        figure_line(f, STROKE_FRAME, in->front_axle_mm, rail, in->front_axle_mm, radius);
        figure_line(f, STROKE_FRAME, fmin(bar, in->front_axle_mm), rail, bar, rail);
        wheel(f, in->front_axle_mm, radius);
    }
}

/* ---- loads ----------------------------------------------------------------------------------- */

/* From (x, z) by `length` upward (downward when negative), the head at the far end. */
static void arrow(struct figure *f, double x, double z, double length, double head)
{
    double way = length < 0 ? -1 : 1, to = z + length;
    figure_line(f, STROKE_LOAD, x, z, x, to);
    head = fmin(head, fabs(length));
    figure_line(f, STROKE_LOAD, x, to, x - 0.5 * head, to - way * head);
    figure_line(f, STROKE_LOAD, x, to, x + 0.5 * head, to - way * head);
}

/* The dog's whole weight is as long as half its withers are high. */
static double length_of(const struct figure_in *in, double newtons)
{
    return 0.5 * in->withers_mm * newtons / (in->in->dog_mass_kg * STANDARD_GRAVITY);
}

static void bar_load(struct figure *f, const struct figure_in *in)
{
    double kg = in->out->bar_load_n / STANDARD_GRAVITY, w = in->withers_mm, bar = in->in->bar_mm;
    double length = length_of(in, fabs(in->out->bar_load_n)), top = 1.09 * w;
    double label = bar + 0.12 * w;
    if (in->front) {
        figure_words(f, label, 1.18 * w, 1, "chest %.1f kg", kg);
        return;
    }
    if (fabs(kg) < 0.05) {
        figure_words(f, label, 1.18 * w, 1, "bar neutral");
        return;
    }
    if (kg > 0)
        arrow(f, bar, top + length, -length, 0.05 * w);
    else
        arrow(f, bar, top, length, 0.05 * w);
    figure_words(f, label, 1.18 * w, 1, "bar %s %.1f kg", kg > 0 ? "presses" : "lifts", fabs(kg));
}

/* The heaviest arrow from the ground wherever the axle goes, in N: the moment about the fore feet
 * stays, but for the wheels' own. */
static double most_below(const struct figure_in *in, double weight, double hind)
{
    double axle = in->out->axle_mm, own = in->in->wheels_mass_kg * STANDARD_GRAVITY;
    double moment = (in->out->wheel_load_n - own) * axle;
    double wheels = moment / axle_low(in) + own;
    double fore = weight - hind - own - moment / axle_high(in);
    return fmax(fmax(in->out->wheel_load_n, in->out->fore_load_n),
                fmax(fmax(fmin(wheels, weight), fmin(fore, weight)), in->normal_n));
}

/* Of four wheels the loads are those with the front pair hanging just clear, and are said to be. */
static void loads(struct figure *f, const struct figure_in *in)
{
    const struct balance_out *o = in->out;
    double w = in->withers_mm, head = 0.07 * w, axle = shown_axle(in);
    double stance = in->in->stance_length_mm, normal = length_of(in, in->normal_n);
    double fore = length_of(in, o->fore_load_n), wheels = length_of(in, o->wheel_load_n);
    double weight = (in->in->dog_mass_kg + in->in->frame_mass_kg + in->in->wheels_mass_kg) *
                    STANDARD_GRAVITY * cos(in->slope_deg * (M_PI / 180));
    double hind = fmax(weight - o->fore_load_n - o->wheel_load_n, 0);
    double below = length_of(in, most_below(in, weight, hind)) + 0.08 * w;
    arrow(f, 0, -fore, fore, head);
    arrow(f, axle, -wheels, wheels, head);
    if (normal > 0)
        figure_line(f, STROKE_LOAD, -0.06 * w, -normal, 0.06 * w, -normal);
    figure_words(f, 0, -below, 0, isnan(in->front_axle_mm) ? "%.1f kg" : "clear %.1f kg",
                 o->fore_load_n / STANDARD_GRAVITY);
    figure_words(f, axle, -below, 0, "%.1f kg", o->wheel_load_n / STANDARD_GRAVITY);
    if (hind > 0.02 * weight) {
        arrow(f, stance, -length_of(in, hind), length_of(in, hind), head);
        figure_words(f, stance + 0.1 * w, -below, 1, "%.1f kg", hind / STANDARD_GRAVITY);
    }
    bar_load(f, in);
    double tick = 0.05 * w, mass = on_grid(in, o->cg_mm), high = o->cg_height_mm;
    figure_circle(f, STROKE_MASS, mass, high, tick);
    figure_line(f, STROKE_MASS, mass - 2 * tick, high, mass + 2 * tick, high);
    figure_line(f, STROKE_MASS, mass, high - 2 * tick, mass, high + 2 * tick);
    figure_line(f, STROKE_TIP, axle, 0, mass, high);
}

/* ---- all of it ------------------------------------------------------------------------------- */

static struct figure_point turned(struct figure_point p, double slope)
{
    return (struct figure_point){p.x * cos(slope) + p.z * sin(slope),
                                 p.z * cos(slope) - p.x * sin(slope)};
}

static void turn(struct figure *f, double degrees)
{
    double slope = degrees * (M_PI / 180);
    f->low = (struct figure_point){INFINITY, INFINITY};
    f->high = (struct figure_point){-INFINITY, -INFINITY};
    for (size_t i = 0; i < f->point_count; i++) {
        f->points[i] = turned(f->points[i], slope);
        widen(f, f->points[i].x, f->points[i].z);
    }
    for (size_t i = 0; i < f->label_count; i++) {
        struct figure_point p =
            turned((struct figure_point){f->labels[i].x, f->labels[i].z}, slope);
        f->labels[i].x = p.x;
        f->labels[i].z = p.z;
        widen(f, p.x, p.z);
    }
}

void figure_side(const struct figure_in *in, struct figure *out)
{
    double w = in->withers_mm, stance = in->in->stance_length_mm;
    figure_begin(out);
    if (!(w > 0) || !(stance > 0) || !(in->in->wheel_diameter_mm > 0) || !(in->out->axle_mm > 0))
        return;
    double end = fmax(stance + 0.45 * w, axle_high(in) + in->in->wheel_diameter_mm / 2);
    figure_line(out, STROKE_GROUND, -0.65 * w, 0, end, 0);
    dog(out, in);
    frame(out, in);
    if (in->loads)
        loads(out, in);
    if (in->slope_deg != 0)
        turn(out, in->slope_deg);
}
