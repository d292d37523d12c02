/* amble find: dogs and caregivers by what is known of them. */
#include "base/arena.h"
#include "base/json.h"
#include "casebook/merging.h"
#include "command/args.h"
#include "command/run.h"

enum { FOUND_MOST = 20, WORDS_MOST = 16, JSON_MAX = 1 << 20 };

struct find_args {
    const char *words; /* with blanks between */
    bool json;
};

static bool parse(struct run *run, struct find_args *a, int argc, char **argv, struct fault *f)
{
    const char *words[WORDS_MOST];
    const struct arg_flag flags[] = {{"--json", .set = &a->json}};
    struct args args = {.flags = flags,
                        .flag_count = 1,
                        .words = words,
                        .least = 1,
                        .most = WORDS_MOST,
                        .expected = "what to find"};
    if (!args_read(&args, argc, argv, f))
        return false;
    a->words = words[0];
    for (size_t i = 1; i < args.count; i++)
        a->words = arena_printf(run->arena, "%s %s", a->words, words[i]);
    return true;
}

static int put_json(const struct run *run, const struct hit *hits, size_t count)
{
    struct text out;
    struct json j;
    text_init(&out, JSON_MAX);
    json_begin(&j, &out, 2);
    json_open_array(&j);
    for (size_t i = 0; i < count; i++) {
        json_open_object(&j);
        json_member(&j, "id", hits[i].entity);
        json_member(&j, "kind", hits[i].entity_kind);
        json_member(&j, "text", hits[i].text);
        json_key(&j, "letters_away");
        json_put_number(&j, hits[i].distance);
        json_end(&j);
    }
    json_end(&j);
    text_addc(&out, '\n');
    int status = say_bytes(run, out.s, out.len);
    text_free(&out);
    return status;
}

static int execute(struct run *run, const struct find_args *a)
{
    struct fault f = {0};
    const struct hit *hits = NULL;
    size_t count = 0;
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    if (!merge_search(&run->cb, run->arena, a->words, FOUND_MOST, &hits, &count, &f))
        return say_fault(run, &f);
    if (a->json)
        return put_json(run, hits, count);
    for (size_t i = 0; i < count; i++)
        say(run->out, "%.*s  %-9s  %s%s\n", SHORT_ID, hits[i].entity, hits[i].entity_kind,
            hits[i].text, hits[i].distance > 0 ? "  (spelt otherwise)" : "");
    if (count == 0)
        say(run->err, "Nothing is known of \"%s\"\n", a->words);
    return count > 0 ? COMMAND_DONE : COMMAND_FAILED;
}

int run_find(struct run *run, int argc, char **argv)
{
    struct find_args a = {0};
    struct fault f = {0};
    return parse(run, &a, argc, argv, &f) ? execute(run, &a) : say_usage(run, &f);
}
