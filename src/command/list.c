/* amble list: records of one kind, the newest last. */
#include "base/arena.h"
#include "base/json.h"
#include "base/units.h"
#include "casebook/ids.h"
#include "casebook/triage.h"
#include "command/args.h"
#include "command/run.h"
#include <string.h>

enum { LIST_USUAL = 50, LIST_MOST = 100000, JSON_MAX = 64 << 20 };

struct list_args {
    const char *kind; /* of the entities */
    size_t limit;
    bool json;
};

static bool parse(struct list_args *a, int argc, char **argv, struct fault *f)
{
    static const struct {
        const char *word, *kind;
    } kinds[] = {{"dogs", "dog"}, {"calls", "call"}, {"visits", "visit"}};
    const char *word = "dogs", *limit = NULL;
    const struct arg_flag flags[] = {{"--limit", .value = &limit}, {"--json", .set = &a->json}};
    struct args args = {.flags = flags, .flag_count = 2, .words = &word, .most = 1};
    if (!args_read(&args, argc, argv, f))
        return false;
    double n = LIST_USUAL;
    if (limit && (!quantity_parse(limit, NULL, &n, NULL, NULL) || n < 1 || n > LIST_MOST))
        return fail(f, FAULT_INPUT, "\"--limit %s\" is not a number from 1 to %d", limit,
                    LIST_MOST);
    a->limit = (size_t)n;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        if (strcmp(kinds[i].word, word) == 0)
            a->kind = kinds[i].kind;
    return a->kind ||
           fail(f, FAULT_INPUT, "\"%s\" cannot be listed: dogs, calls or visits can", word);
}

/* The last `limit` ids, as a ring. */
struct ring {
    char (*ids)[IDENT_ROOM];
    size_t limit, seen;
};

static bool keep(void *of, const char *entity)
{
    struct ring *r = of;
    snprintf(r->ids[r->seen++ % r->limit], IDENT_ROOM, "%s", entity);
    return true;
}

/* What a line says of a record. */
struct row {
    const char *when, *name, *what;
};

static struct row row_of(const struct chart *c, const char *kind)
{
    const char *name = c->dog.entity ? record_said(&c->dog, ID_DOG_NAME) : "";
    if (strcmp(kind, "call") == 0) {
        struct verdict v;
        triage_judge(c, &v);
        return (struct row){record_text(&c->call, ID_CALL_AT),
                            *name ? name : record_text(&c->call, ID_CALL_DOG_NAME),
                            urgency_word(v.urgency)};
    }
    if (strcmp(kind, "visit") == 0)
        return (struct row){record_text(&c->visit, ID_VISIT_DAY), name,
                            record_signed(&c->visit) ? "signed" : "not signed"};
    const char *day = c->visit.entity ? record_text(&c->visit, ID_VISIT_DAY) : "";
    return (struct row){day, name, chart_signalment(c)};
}

static void put(struct run *run, struct json *j, const struct list_args *a, const char *id,
                const struct row *r)
{
    if (!a->json) {
        say(run->out, "%.*s  %-16s  %s%s%s\n", SHORT_ID, id, r->when, r->name, *r->what ? ", " : "",
            r->what);
        return;
    }
    json_open_object(j);
    json_member(j, "id", id);
    json_member(j, "kind", a->kind);
    json_member(j, "when", r->when);
    json_member(j, "name", r->name);
    json_member(j, "what", r->what);
    json_end(j);
}

static bool put_all(struct run *run, struct json *j, const struct list_args *a,
                    const struct ring *ring, struct fault *f)
{
    size_t n = ring->seen < ring->limit ? ring->seen : ring->limit;
    struct arena *row_arena = arena_new();
    bool fine = true;
    for (size_t i = ring->seen - n; i < ring->seen && fine; i++) {
        const char *id = ring->ids[i % ring->limit];
        struct chart chart;
        arena_reset(row_arena);
        fine = chart_load(&run->cb, row_arena, id, &chart, f);
        if (fine) {
            struct row row = row_of(&chart, a->kind);
            put(run, j, a, id, &row);
        }
    }
    arena_free(row_arena);
    return fine;
}

static int execute(struct run *run, const struct list_args *a)
{
    struct fault f = {0};
    struct text out;
    struct json j;
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    struct ring ring = {.limit = a->limit};
    ring.ids = arena_array(run->arena, a->limit, sizeof *ring.ids);
    if (!journal_each(run->cb.journal, a->kind, keep, &ring, &f))
        return say_fault(run, &f);
    text_init(&out, JSON_MAX);
    json_begin(&j, &out, 2);
    json_open_array(&j);
    bool fine = put_all(run, &j, a, &ring, &f);
    json_end(&j);
    text_addc(&out, '\n');
    int status = !fine     ? say_fault(run, &f)
                 : a->json ? say_bytes(run, out.s, out.len)
                           : COMMAND_DONE;
    text_free(&out);
    return status;
}

int run_list(struct run *run, int argc, char **argv)
{
    struct list_args a = {0};
    struct fault f = {0};
    return parse(&a, argc, argv, &f) ? execute(run, &a) : say_usage(run, &f);
}
