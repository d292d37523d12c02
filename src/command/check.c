/* amble check: care of templates and records. */
#include "base/json.h"
#include "command/args.h"
#include "command/run.h"
#include <inttypes.h>

enum { CONFLICTS_MOST = 100, JSON_MAX = 1 << 20 };

/* ---- check ----------------------------------------------------------------------------------- */

struct look {
    struct journal_counts counts;
    const struct conflict *conflicts;
    size_t conflict_count;
    const char *templates; /* what is wrong with them, a line each, or "" */
};

static int put_text(const struct run *run, const struct look *l)
{
    const struct journal_counts *n = &l->counts;
    say(run->out, "templates  %s\n", *l->templates ? "mistakes: see amble template check" : "fine");
    say(run->out, "records    %" PRIu64 " %s, %" PRIu64 " entries, %" PRIu64 " not yet sent\n",
        n->dogs, n->dogs == 1 ? "dog" : "dogs", n->entries, n->unsent);
    say(run->out, "conflicts  %" PRIu64 "\n", n->conflicts);
    for (size_t i = 0; i < l->conflict_count; i++)
        say(run->out, "  %.*s  %s, %s\n", SHORT_ID, l->conflicts[i].entity,
            l->conflicts[i].entity_kind, l->conflicts[i].item);
    return *l->templates ? COMMAND_FAILED : COMMAND_DONE;
}

static void put_count(struct json *j, const char *key, uint64_t n)
{
    json_key(j, key);
    json_put_number(j, (double)n);
}

static int put_json(const struct run *run, const struct look *l)
{
    struct text out;
    struct json j;
    text_init(&out, JSON_MAX);
    json_begin(&j, &out, 2);
    json_open_object(&j);
    json_member(&j, "template_mistakes", l->templates);
    put_count(&j, "dogs", l->counts.dogs);
    put_count(&j, "entries", l->counts.entries);
    put_count(&j, "unsent", l->counts.unsent);
    put_count(&j, "conflicts", l->counts.conflicts);
    json_key(&j, "in_conflict");
    json_open_array(&j);
    for (size_t i = 0; i < l->conflict_count; i++) {
        json_open_object(&j);
        json_member(&j, "id", l->conflicts[i].entity);
        json_member(&j, "kind", l->conflicts[i].entity_kind);
        json_member(&j, "item", l->conflicts[i].item);
        json_end(&j);
    }
    json_end(&j);
    json_end(&j);
    text_addc(&out, '\n');
    int status = say_bytes(run, out.s, out.len);
    text_free(&out);
    return *l->templates ? COMMAND_FAILED : status;
}

static int execute_check(struct run *run, bool json)
{
    struct fault f = {0};
    struct look l = {0};
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    l.templates = run->setting.messages.s;
    if (!journal_count(run->cb.journal, &l.counts, &f) ||
        !journal_conflicts(run->cb.journal, run->arena, CONFLICTS_MOST, &l.conflicts,
                           &l.conflict_count, &f))
        return say_fault(run, &f);
    return json ? put_json(run, &l) : put_text(run, &l);
}

int run_check(struct run *run, int argc, char **argv)
{
    bool json = false;
    struct fault f = {0};
    const struct arg_flag flags[] = {{"--json", .set = &json}};
    struct args args = {.flags = flags, .flag_count = 1};
    return args_read(&args, argc, argv, &f) ? execute_check(run, json) : say_usage(run, &f);
}
