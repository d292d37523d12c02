/* amble sheet, amble print, amble referral: paper for the caregiver and for a colleague. */
#include "output/sheet.h"
#include "command/args.h"
#include "command/run.h"
#include "output/care.h"
#include "output/papers.h"
#include "output/print.h"
#include <string.h>

enum { OUTPUT_MAX = 8 << 20, COLUMNS = 80 };

/* What the three may be told; each offers its own part of the options. */
struct sheet_args {
    const char *id;
    const char *handout; /* "" : the care sheet */
    const char *history; /* the story of this item instead, or NULL */
    const char *save;    /* file, or NULL: standard output */
    const char *queue;   /* of the printer, or NULL: the practice's */
    bool ascii, replace, preview;
};

static bool read_args(struct sheet_args *a, const struct arg_flag *flags, size_t count, int argc,
                      char **argv, struct fault *f)
{
    a->handout = "";
    struct args args = {.flags = flags,
                        .flag_count = count,
                        .words = &a->id,
                        .least = 1,
                        .most = 1,
                        .expected = "a dog, call or visit"};
    if (!args_read(&args, argc, argv, f))
        return false;
    if (a->history && *a->handout)
        return fail(f, FAULT_INPUT, "\"--handout\" and \"--history\" are two different sheets");
    return !a->replace || a->save ||
           fail(f, FAULT_INPUT, "\"--replace\" goes with \"--save\" only");
}

static void warn_unmapped(const struct run *run, size_t unmapped)
{
    if (unmapped > 0)
        say(run->err, "amble: %zu %s no ASCII spelling and became \"?\"\n", unmapped,
            unmapped == 1 ? "character has" : "characters have");
}

/* Text without pages, as the screens save it: to a file or to standard output. */
static int write_text(const struct run *run, const struct sheet_args *a, const struct sheet *sheet)
{
    struct text out;
    size_t unmapped = 0;
    text_init(&out, OUTPUT_MAX);
    sheet_render(sheet, &(struct sheet_style){.columns = COLUMNS, .ascii = a->ascii}, &out, NULL,
                 &unmapped);
    warn_unmapped(run, unmapped);
    int status = say_or_save(run, a->save, a->replace, out.s, out.len);
    text_free(&out);
    return status;
}

/* Pages for the practice's printer: to its queue, or to standard output to look at. */
static int print_pages(const struct run *run, const struct sheet_args *a, const struct sheet *sheet)
{
    const struct practice *practice = &run->cb.set->practice;
    const struct sheet_style paper = {.columns = COLUMNS,
                                      .lines = practice->sheet_lines,
                                      .ascii = a->ascii || practice->ascii_sheets,
                                      .form_feeds = !a->preview};
    struct fault f = {0};
    struct text out;
    char said[200];
    size_t pages = 0, unmapped = 0;
    int status = COMMAND_DONE;
    text_init(&out, OUTPUT_MAX);
    sheet_render(sheet, &paper, &out, &pages, &unmapped);
    warn_unmapped(run, unmapped);
    if (a->preview)
        status = say_bytes(run, out.s, out.len);
    else if (print_job(a->queue ? a->queue : practice->printer, "amble", sheet_large(sheet), out.s,
                       out.len, said, sizeof said, &f))
        say(run->out, "%s: %zu %s\n", said, pages, pages == 1 ? "page" : "pages");
    else
        status = say_fault(run, &f);
    text_free(&out);
    return status;
}

static bool care(struct run *run, const struct sheet_args *a, struct sheet **sheet, struct fault *f)
{
    struct chart chart;
    return run_chart(run, a->id, &chart, f) && care_sheet(&chart, a->handout, sheet, f);
}

static bool history(struct run *run, const struct sheet_args *a, struct sheet **sheet,
                    struct fault *f)
{
    struct chart chart;
    return run_chart(run, a->id, &chart, f) && story_sheet(&chart, a->history, sheet, f);
}

int run_sheet(struct run *run, int argc, char **argv)
{
    struct sheet_args a = {0};
    struct fault f = {0};
    struct sheet *sheet = NULL;
    const struct arg_flag flags[] = {{"--handout", .value = &a.handout},
                                     {"--ascii", .set = &a.ascii},
                                     {"--save", .value = &a.save},
                                     {"--replace", .set = &a.replace}};
    if (!read_args(&a, flags, sizeof flags / sizeof flags[0], argc, argv, &f))
        return say_usage(run, &f);
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    return care(run, &a, &sheet, &f) ? write_text(run, &a, sheet) : say_fault(run, &f);
}

int run_print(struct run *run, int argc, char **argv)
{
    struct sheet_args a = {0};
    struct fault f = {0};
    struct sheet *sheet = NULL;
    const struct arg_flag flags[] = {{"--handout", .value = &a.handout},
                                     {"--history", .value = &a.history},
                                     {"--ascii", .set = &a.ascii},
                                     {"--to", .value = &a.queue},
                                     {"--preview", .set = &a.preview}};
    if (!read_args(&a, flags, sizeof flags / sizeof flags[0], argc, argv, &f))
        return say_usage(run, &f);
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    return (a.history ? history : care)(run, &a, &sheet, &f) ? print_pages(run, &a, sheet)
                                                             : say_fault(run, &f);
}

int run_referral(struct run *run, int argc, char **argv)
{
    struct sheet_args a = {0};
    struct fault f = {0};
    struct chart chart;
    struct sheet *sheet = NULL;
    const struct arg_flag flags[] = {{"--ascii", .set = &a.ascii},
                                     {"--save", .value = &a.save},
                                     {"--replace", .set = &a.replace}};
    if (!read_args(&a, flags, sizeof flags / sizeof flags[0], argc, argv, &f))
        return say_usage(run, &f);
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    return run_chart(run, a.id, &chart, &f) && referral_sheet(&chart, &sheet, &f)
               ? write_text(run, &a, sheet)
               : say_fault(run, &f);
}
