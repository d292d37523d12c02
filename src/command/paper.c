/* amble paper: the day sheet, a report, a whole record, what was changed, blank forms. */
#include "command/args.h"
#include "command/run.h"
#include "output/papers.h"
#include <string.h>

enum { OUTPUT_MAX = 32 << 20, COLUMNS = 80 };

static bool day(struct run *run, const char *const *words, struct sheet **sheet, struct fault *f)
{
    day_number on = clock_today();
    return (*words[0] == '\0' || clock_parse_day(words[0], on, &on, f)) &&
           day_sheet(&run->cb, run->arena, on, sheet, f);
}

static bool report(struct run *run, const char *const *words, struct sheet **sheet, struct fault *f)
{
    struct chart chart;
    return run_chart(run, words[0], &chart, f) && report_sheet(&chart, sheet, f);
}

static bool record(struct run *run, const char *const *words, struct sheet **sheet, struct fault *f)
{
    struct chart chart;
    return run_chart(run, words[0], &chart, f) && whole_sheet(&chart, sheet, f);
}

static bool history(struct run *run, const char *const *words, struct sheet **sheet,
                    struct fault *f)
{
    struct chart chart;
    if (!run_chart(run, words[0], &chart, f))
        return false;
    return *words[1] == '\0' ? changes_sheet(&chart, sheet, f)
                             : story_sheet(&chart, words[1], sheet, f);
}

static bool blank(struct run *run, const char *const *words, struct sheet **sheet, struct fault *f)
{
    return blank_sheet(&run->cb, run->arena, words[0], sheet, f);
}

static const struct {
    const char *word;
    bool needs;  /* an id after it */
    size_t most; /* words after it */
    bool (*make)(struct run *run, const char *const *words, struct sheet **sheet, struct fault *f);
} papers[] = {{"day", false, 1, day},
              {"report", true, 1, report},
              {"record", true, 1, record},
              {"history", true, 2, history},
              {"blank", false, 1, blank}};

int run_paper(struct run *run, int argc, char **argv)
{
    const char *words[3] = {"", "", ""};
    struct fault f = {0};
    struct sheet *sheet;
    struct args args = {
        .words = words, .least = 1, .most = 3, .expected = "day, report, record, history or blank"};
    if (!args_read(&args, argc, argv, &f))
        return say_usage(run, &f);
    for (size_t i = 0; i < sizeof papers / sizeof *papers; i++) {
        if (strcmp(papers[i].word, words[0]) != 0)
            continue;
        if (papers[i].needs && *words[1] == '\0') {
            fail(&f, FAULT_INPUT, "%s of which dog or visit?", words[0]);
            return say_usage(run, &f);
        }
        if (args.count > 1 + papers[i].most) {
            fail(&f, FAULT_INPUT, "\"%s\" is one word too many", words[1 + papers[i].most]);
            return say_usage(run, &f);
        }
        if (!run_open(run, JOURNAL_READ))
            return COMMAND_FAILED;
        if (!papers[i].make(run, words + 1, &sheet, &f))
            return say_fault(run, &f);
        struct text out;
        text_init(&out, OUTPUT_MAX);
        sheet_render(sheet, &(struct sheet_style){.columns = COLUMNS}, &out, NULL, NULL);
        int status = say_bytes(run, out.s, out.len);
        text_free(&out);
        return status;
    }
    fail(&f, FAULT_INPUT, "\"%s\" is no paper: day, report, record, history or blank", words[0]);
    return say_usage(run, &f);
}
