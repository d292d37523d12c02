/* amble show: one record with everything found. */
#include "base/arena.h"
#include "base/clock.h"
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

/* The record of the chart that has the item, or NULL. */
static const char *holder(struct chart *c, const char *item)
{
    static const char *const kinds[] = {"visit", "dog", "caregiver", "call", "practitioner"};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        const struct record *r = chart_record(c, kinds[i]);
        if (r != NULL && record_find(r, item) != NULL)
            return r->entity;
    }
    return NULL;
}

/* Who, when, what and why, oldest first: nothing is ever taken out. */
static int put_history(struct run *run, struct chart *c, const char *item)
{
    struct fault f = {0};
    struct heads story;
    uint64_t signed_at = 0;
    struct heads now;
    const char *entity = holder(c, item);
    if (entity == NULL) {
        fail(&f, FAULT_MISSING, "nothing called \"%s\" was entered there", item);
        return say_fault(run, &f);
    }
    if (!journal_history(run->cb.journal, run->arena, entity, item, &story, &f) ||
        !journal_heads(run->cb.journal, run->arena, entity, &now, &f))
        return say_fault(run, &f);
    for (size_t i = 0; i < now.count; i++)
        if (now.entries[i].kind == ENTRY_SIGN && now.entries[i].lamport > signed_at)
            signed_at = now.entries[i].lamport;
    say(run->out, "%s (%s)\n", finding_label(run->cb.set, item, run->arena), item);
    for (size_t i = 0; i < story.count; i++) {
        const struct entry *e = &story.entries[i];
        char at[CLOCK_ROOM];
        say(run->out, "%s  %-4s  %s%s%s%s\n", clock_iso_time(e->claimed_at, at),
            author_initials(&run->cb, run->arena, e->author),
            e->kind == ENTRY_ERROR ? "entered in error"
                                   : finding_show(run->cb.set, item, e->value, run->arena),
            signed_at > 0 && e->lamport > signed_at ? "  (after signing)" : "",
            *e->reason != '\0' ? "  because: " : "", e->reason);
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
