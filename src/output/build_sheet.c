#include "output/build_sheet.h"
#include "base/arena.h"
#include "base/text.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "output/letter.h"
#include "output/picture.h"
#include <math.h>
#include <string.h>

enum { PICTURE_ROWS = 14, PICTURE_COLUMNS = 72 };

void build_figure(const struct build *b, struct figure *out)
{
    struct figure_in in = {.in = &b->in,
                           .out = &b->out,
                           .withers_mm = b->withers_mm,
                           .normal_n = b->normal_n,
                           .front = strcmp(b->model, "front") == 0,
                           .front_axle_mm = b->front_axle_mm,
                           .loads = true};
    figure_side(&in, out);
}

/* Plain characters: a printer knows them, and so does whoever reads it over the telephone. */
static void put_picture(struct sheet *s, const struct build *b)
{
    struct figure figure;
    struct text picture, one;
    text_init(&picture, 32 * 1024);
    text_init(&one, 400);
    build_figure(b, &figure);
    picture_draw(&figure, &(struct picture_style){PICTURE_ROWS, PICTURE_COLUMNS, false}, &picture);
    for (const char *p = picture.s; *p != '\0';) {
        size_t n = strcspn(p, "\n");
        text_clear(&one);
        text_addn(&one, p, n);
        sheet_add(s, SHEET_PLAIN, one.s);
        p += n + (p[n] == '\n');
    }
    text_free(&one);
    text_free(&picture);
}

/* "err long": a mistake on that side does no harm, so the figure already leans to it. */
static void put_dimension(struct sheet *s, const struct build_dimension *d)
{
    char build[32], snug[32], ease[32];
    sheet_addf(s, SHEET_PLAIN, "%-31s %5s mm +- %-3g  %-10s snug %s + ease %s", d->label,
               number_format(d->build_mm, 1, false, build, sizeof build), d->made_within_mm,
               strcmp(d->errs, "either") == 0 ? ""
               : strcmp(d->errs, "long") == 0 ? "err long"
                                              : "err short",
               number_format(d->snug_mm, 1, false, snug, sizeof snug),
               number_format(d->ease_mm, 1, false, ease, sizeof ease));
    sheet_addf(s, SHEET_PLAIN, "     %s, +- %.0f", d->from, ceil(d->measures_within_mm));
    if (*d->note != '\0')
        sheet_addf(s, SHEET_PLAIN, "     %s", d->note);
}

static void put_dimensions(struct sheet *s, const struct build *b, bool fixed, const char *heading)
{
    bool headed = false;
    for (size_t i = 0; i < b->dimension_count; i++) {
        if (b->dimensions[i].fixed != fixed)
            continue;
        if (!headed)
            sheet_add(s, SHEET_HEADING, heading);
        headed = true;
        put_dimension(s, &b->dimensions[i]);
    }
}

static void put_setting(struct sheet *s, const struct build *b)
{
    sheet_add(s, SHEET_HEADING, "Axle and wheels");
    if (strcmp(b->model, "front") == 0) /* no pelvic rest to measure from */
        sheet_addf(s, SHEET_PLAIN, "axle %.0f mm %s the line of the fore feet", fabs(b->axle_mm),
                   b->axle_mm >= 0 ? "behind" : "ahead of");
    else
        sheet_addf(s, SHEET_PLAIN,
                   "axle %.0f mm %s the middle of the pelvic rest (%.0f mm behind the fore feet)",
                   fabs(b->ahead_mm), b->ahead_mm >= 0 ? "ahead of" : "behind", b->axle_mm);
    sheet_addf(s, SHEET_PLAIN,
               "wheels %.0f mm, track %.0f mm middle to middle, overall %.0f mm wide", b->wheel_mm,
               b->track_mm, b->width_mm);
    sheet_addf(s, SHEET_PLAIN,
               "delivery: %.0f x %.0f x %.0f mm (long, wide, high), about %.1f kg, as it stands",
               b->length_mm, b->width_mm, b->height_mm, b->mass_kg);
    if (*b->folds != '\0')
        sheet_addf(s, SHEET_PLAIN, "folding: %s", b->folds);
}

static void put_numbers(struct sheet *s, const struct build *b)
{
    sheet_add(s, SHEET_HEADING, "What it will do (worked out; +- one standard uncertainty)");
    for (size_t i = 0; i < b->number_count; i++) {
        const struct build_number *n = &b->numbers[i];
        sheet_addf(s, SHEET_PLAIN, "%-14s %10s%s%-6s %s", n->label, n->value,
                   *n->within != '\0' ? " +- " : "    ", n->within, n->more);
    }
    if (strcmp(b->model, "four") == 0)
        sheet_add(s, SHEET_TEXT,
                  "On four wheels statics alone gives a range. Below it all is worked out with the "
                  "front pair hanging just clear of the ground; a scale has the last word.");
}

static void put_lines(struct sheet *s, const char *heading, const struct build_lines *l)
{
    if (l->count > 0)
        sheet_add(s, SHEET_HEADING, heading);
    for (size_t i = 0; i < l->count; i++)
        sheet_add(s, SHEET_BULLET, l->lines[i]);
}

static void put_mark(struct sheet *s, const char **heading, const char *label, const char *mark)
{
    if (*mark == '\0')
        return;
    if (**heading != '\0')
        sheet_add(s, SHEET_HEADING, *heading);
    *heading = "";
    sheet_addf(s, SHEET_BULLET, "%s: %s", label, mark);
}

/* Builder and owner may hold an older sheet: what is not as it was signed says so. */
static void put_marks(const struct chart *c, struct sheet *s)
{
    static const char *const answers[] = {ID_SUPPORT, "hind_movement"};
    const struct template_set *set = c->cb->set;
    const char *heading = "Changed after signing, entered in error, or not settled";
    for (size_t i = 0; i < sizeof answers / sizeof *answers; i++)
        put_mark(s, &heading, finding_label(set, answers[i], c->arena),
                 finding_mark(c->cb, c->arena, record_find(&c->visit, answers[i])));
    for (size_t i = 0; i < set->measure_count; i++)
        put_mark(s, &heading, set->measures[i].label, measure_mark(c, &set->measures[i]));
}

bool build_sheet(const struct chart *c, const struct build *b, bool frozen, struct sheet **out,
                 struct fault *f)
{
    (void)f;
    struct sheet *s =
        letter_begin_on(c,
                        frozen ? arena_printf(c->arena, "Build sheet, version %d", b->version)
                               : "Build sheet, DRAFT: not frozen, do not cut",
                        b->day);
    sheet_addf(s, SHEET_TEXT, "%s (%s). %s by %s on %s. Photograph: %s. All lengths in mm.",
               b->frame, b->support, frozen ? "Frozen" : "Looked at", b->by,
               letter_iso_day(c->arena, b->day), *b->photo != '\0' ? b->photo : "none taken");
    put_lines(s, arena_printf(c->arena, "Changed since version %d", b->version - 1), &b->changes);
    put_marks(c, s);
    put_picture(s, b);
    put_dimensions(s, b, true, "Cannot be adjusted later: measure twice, cut once");
    put_dimensions(s, b, false, "To be cut");
    put_setting(s, b);
    sheet_addf(
        s, SHEET_TEXT,
        "Ease is in these figures already (hind legs: %s); add none. \"err long\" leans to the "
        "long side by what the measures may be off.",
        *b->movement != '\0' ? finding_show(c->cb->set, "hind_movement", b->movement, c->arena)
                             : "not looked at");
    put_numbers(s, b);
    put_lines(s, "With it", &b->accessories);
    put_lines(s, "To pad, where frame and skin meet", &b->contacts);
    put_lines(s, "Checks overridden or near a limit, and why", &b->overridden);
    put_lines(s, "To order now for later (a plan, no forecast)", &b->ahead);
    sheet_add(s, SHEET_HEADING, "To be signed");
    sheet_add(s, SHEET_BLANK, "");
    sheet_add(s, SHEET_PLAIN, "veterinarian ______________________  day ____________");
    sheet_add(s, SHEET_BLANK, "");
    sheet_add(s, SHEET_PLAIN, "builder      ______________________  day ____________");
    sheet_add(s, SHEET_TEXT,
              "A veterinarian decides and signs. Before the first wear the fore feet "
              "go on a scale in the frame.");
    *out = s;
    return true;
}
