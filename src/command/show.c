/* amble show: one record with everything found. */
#include "base/arena.h"
#include "base/clock.h"
#include "casebook/story.h"
#include "command/args.h"
#include "command/run.h"
#include "output/care.h"
#include "output/record_json.h"
#include "output/sheet.h"

enum { OUTPUT_MAX = 64 << 20, COLUMNS = 80 };

struct show_args {
    const char *id, *history;
    bool json;
};

static bool parse(struct show_args *a, int argc, char **argv, struct fault *f)
{
    const struct arg_flag flags[] = {{"--json", .set = &a->json},
                                     {"--history", .value = &a->history}};
    struct args args = {.flags = flags,
                        .flag_count = 2,
                        .words = &a->id,
                        .least = 1,
                        .most = 1,
                        .expected = "a dog, call or visit"};
    return args_read(&args, argc, argv, f);
}

static bool make(const struct chart *c, bool json, struct text *out, struct fault *f)
{
    struct sheet *sheet = NULL;
    if (json)
        return chart_json(c, out, f);
    if (!visit_sheet(c, &sheet, f))
        return false;
    sheet_render(sheet, &(struct sheet_style){.columns = COLUMNS}, out, NULL, NULL);
    return true;
}

/* Who, when, what and why, oldest first: nothing is ever taken out. */
static int put_history(struct run *run, const struct chart *c, const char *item)
{
    struct fault f = {0};
    struct story story;
    const struct record *r = chart_holder(c, item);
    if (r == NULL) {
        fail(&f, FAULT_MISSING, "nothing called \"%s\" was entered there", item);
        return say_fault(run, &f);
    }
    if (!story_look(&run->cb, run->arena, r->entity, item, &story, &f))
        return say_fault(run, &f);
    say(run->out, "%s (%s)%s\n", story.label, item, story.conflict ? "  CONFLICT" : "");
    for (size_t i = 0; i < story.count; i++) {
        const struct telling *t = &story.all[i];
        char at[CLOCK_ROOM];
        say(run->out, "%s  %-4s  %s%s%s%s\n", clock_iso_time(t->entry->claimed_at, at), t->who,
            t->value, t->after ? "  (after signing)" : "", *t->why != '\0' ? "  because: " : "",
            t->why);
    }
    return COMMAND_DONE;
}

static int execute(struct run *run, const struct show_args *a)
{
    struct fault f = {0};
    struct chart chart;
    struct text out;
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    if (!run_chart(run, a->id, &chart, &f))
        return say_fault(run, &f);
    if (a->history != NULL)
        return put_history(run, &chart, a->history);
    text_init(&out, OUTPUT_MAX);
    int status =
        make(&chart, a->json, &out, &f) ? say_bytes(run, out.s, out.len) : say_fault(run, &f);
    text_free(&out);
    return status;
}

int run_show(struct run *run, int argc, char **argv)
{
    struct show_args a = {0};
    struct fault f = {0};
    return parse(&a, argc, argv, &f) ? execute(run, &a) : say_usage(run, &f);
}
