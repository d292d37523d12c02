/* amble today: what is due. */
#include "casebook/today.h"
#include "base/json.h"
#include "command/args.h"
#include "command/run.h"

enum { JSON_MAX = 4 << 20 };

static int put_json(const struct run *run, const struct today *t)
{
    struct text out;
    struct json j;
    text_init(&out, JSON_MAX);
    json_begin(&j, &out, 2);
    json_open_object(&j);
    json_key(&j, "due");
    json_open_array(&j);
    for (size_t i = 0; i < t->count; i++) {
        const struct due *d = &t->rows[i];
        json_open_object(&j);
        json_member(&j, "kind", due_word(d->kind));
        json_member(&j, "id", d->entity);
        json_member(&j, "when", d->when);
        json_member(&j, "who", d->who);
        json_member(&j, "what", d->what);
        json_key(&j, "late");
        json_put_bool(&j, d->late);
        json_end(&j);
    }
    json_end(&j);
    json_key(&j, "conflicts");
    json_put_number(&j, (double)t->counts.conflicts);
    json_key(&j, "unsent");
    json_put_number(&j, (double)t->counts.unsent);
    json_end(&j);
    text_addc(&out, '\n');
    int status = say_bytes(run, out.s, out.len);
    text_free(&out);
    return status;
}

static void put_text(const struct run *run, const struct today *t)
{
    for (size_t i = 0; i < t->count; i++) {
        const struct due *d = &t->rows[i];
        if (i == 0 || t->rows[i - 1].kind != d->kind)
            say(run->out, "%s%s\n", i ? "\n" : "", due_heading(d->kind));
        say(run->out, "  %.*s  %-14s  %s%s%s%s\n", SHORT_ID, d->entity, d->when, d->who,
            *d->what ? ", " : "", d->what, d->late ? "  LATE" : "");
    }
    if (t->count == 0)
        say(run->out, "Nothing is due.\n");
    if (*t->unsent)
        say(run->out, "\n%s\n", t->unsent);
}

static int execute(struct run *run, bool json)
{
    struct fault f = {0};
    struct today t;
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    if (!today_look(&run->cb, run->arena, &t, &f))
        return say_fault(run, &f);
    if (json)
        return put_json(run, &t);
    put_text(run, &t);
    return COMMAND_DONE;
}

int run_today(struct run *run, int argc, char **argv)
{
    bool json = false;
    struct fault f = {0};
    const struct arg_flag flags[] = {{"--json", .set = &json}};
    struct args args = {.flags = flags, .flag_count = 1};
    return args_read(&args, argc, argv, &f) ? execute(run, json) : say_usage(run, &f);
}
