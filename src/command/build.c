/* amble build, amble draw: what a builder cuts from, as a sheet and as a drawing. */
#include "casebook/build.h"
#include "base/text.h"
#include "command/args.h"
#include "command/run.h"
#include "output/build_sheet.h"
#include "output/drawing_svg.h"
#include "output/picture.h"

enum { OUTPUT_MAX = 1 << 20, COLUMNS = 80, DRAWN_ROWS = 22, DRAWN_COLUMNS = 78 };

struct build_args {
    const char *id, *save, *because;
    bool freeze, json, svg, ascii, replace;
};

static bool read_args(struct build_args *a, const struct arg_flag *flags, size_t count, int argc,
                      char **argv, struct fault *f)
{
    struct args args = {.flags = flags,
                        .flag_count = count,
                        .words = &a->id,
                        .least = 1,
                        .most = 1,
                        .expected = "a dog or visit"};
    if (!args_read(&args, argc, argv, f))
        return false;
    if (a->replace && !a->save)
        return fail(f, FAULT_INPUT, "\"--replace\" goes with \"--save\" only");
    return !a->because || a->freeze ||
           fail(f, FAULT_INPUT, "\"--because\" goes with \"--freeze\" only");
}

/* The newest frozen one, else the draft of what would be frozen now. */
static bool newest(const struct chart *c, struct build *b, bool *frozen, struct fault *f)
{
    struct fault none = {0};
    *frozen = build_frozen(c, b, &none);
    if (*frozen)
        return true;
    if (none.kind != FAULT_MISSING)
        return fail(f, none.kind, "%s", none.text);
    return build_make(c, b, f);
}

static bool write_sheet(const struct chart *c, const struct build_args *a, const struct build *b,
                        bool frozen, struct text *out, struct fault *f)
{
    struct sheet *sheet = NULL;
    if (a->json) {
        build_json(b, out);
        text_addc(out, '\n');
        return true;
    }
    if (!build_sheet(c, b, frozen, &sheet, f))
        return false;
    sheet_render(sheet, &(struct sheet_style){.columns = COLUMNS, .ascii = a->ascii}, out, NULL,
                 NULL);
    return true;
}

static bool write_drawing(const struct build_args *a, const struct build *b, bool frozen,
                          struct text *out)
{
    struct figure figure;
    if (a->svg) {
        drawing_svg(b, frozen, out);
        return true;
    }
    build_figure(b, &figure);
    picture_draw(&figure, &(struct picture_style){DRAWN_ROWS, DRAWN_COLUMNS, !a->ascii}, out);
    return true;
}

static int execute(struct run *run, const struct build_args *a, bool drawing)
{
    struct fault f = {0};
    struct chart chart;
    struct build build;
    struct text out;
    bool frozen = false;
    int version = 0;
    if (!run_open(run, a->freeze ? JOURNAL_WRITE : JOURNAL_READ))
        return COMMAND_FAILED;
    if (!run_chart(run, a->id, &chart, &f))
        return say_fault(run, &f);
    chart.reason = a->because;
    if ((a->freeze && !build_freeze(&chart, &version, &f)) || !newest(&chart, &build, &frozen, &f))
        return say_fault(run, &f);
    text_init(&out, OUTPUT_MAX);
    bool ok = drawing ? write_drawing(a, &build, frozen, &out)
                      : write_sheet(&chart, a, &build, frozen, &out, &f);
    int status = ok ? say_or_save(run, a->save, a->replace, out.s, out.len) : say_fault(run, &f);
    text_free(&out);
    return status;
}

int run_build(struct run *run, int argc, char **argv)
{
    struct build_args a = {0};
    struct fault f = {0};
    const struct arg_flag flags[] = {{"--freeze", .set = &a.freeze},
                                     {"--because", .value = &a.because},
                                     {"--json", .set = &a.json},
                                     {"--save", .value = &a.save},
                                     {"--replace", .set = &a.replace}};
    return read_args(&a, flags, sizeof flags / sizeof *flags, argc, argv, &f)
               ? execute(run, &a, false)
               : say_usage(run, &f);
}

int run_draw(struct run *run, int argc, char **argv)
{
    struct build_args a = {0};
    struct fault f = {0};
    const struct arg_flag flags[] = {{"--svg", .set = &a.svg},
                                     {"--ascii", .set = &a.ascii},
                                     {"--save", .value = &a.save},
                                     {"--replace", .set = &a.replace}};
    return read_args(&a, flags, sizeof flags / sizeof *flags, argc, argv, &f)
               ? execute(run, &a, true)
               : say_usage(run, &f);
}
