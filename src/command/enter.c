/* amble enter: findings from text, as a person would type them. */
#include "base/arena.h"
#include "base/json.h"
#include "command/args.h"
#include "command/feeding.h"
#include "output/care.h"
#include "output/given.h"
#include <errno.h>
#include <string.h>

enum { INPUT_MAX = 4 << 20, SAID_MAX = 64 * 1024, JSON_MAX = 4096 };

static bool read_all(FILE *in, const char *name, struct text *bytes, struct fault *f)
{
    char buf[8192];
    size_t n;
    while (!bytes->cut && (n = fread(buf, 1, sizeof buf, in)) > 0)
        text_addn(bytes, buf, n);
    if (ferror(in))
        return fail(f, FAULT_SYSTEM, "cannot read \"%s\": %s", name, strerror(errno));
    return !bytes->cut || fail(f, FAULT_LIMIT, "\"%s\" is longer than %d bytes", name, INPUT_MAX);
}

/* The line "handout": as the screen hands over. */
static bool hand_over(struct chart *c, const char *name, struct fault *f)
{
    struct sheet *sheet;
    return care_sheet(c, name, &sheet, f) && given_put(c, *name != '\0' ? name : "care", sheet, f);
}

const struct feed_how feeding_entered = {.hand_over = hand_over};
const struct feed_how feeding_invented = {.hand_over = hand_over, .invented = true};

/* Read one source into the casebook; the lines that cannot be used are told. */
static bool feed_file(struct run *run, struct casebook *cb, FILE *in, const char *name,
                      const struct feed_how *how, struct fed *fed, struct fault *f)
{
    struct text bytes, said;
    text_init(&bytes, INPUT_MAX);
    text_init(&said, SAID_MAX);
    bool fine = read_all(in, name, &bytes, f) &&
                feed_read(cb, run->arena, name, bytes.s, bytes.len, how, &said, fed, f);
    if (said.len > 0)
        say(run->err, "%s", said.s);
    text_free(&bytes);
    text_free(&said);
    return fine;
}

bool feed_path(struct run *run, struct casebook *cb, const char *path, const struct feed_how *how,
               struct fed *fed, struct fault *f)
{
    FILE *in = fopen(path, "rbe");
    if (!in)
        return fail(f, FAULT_MISSING, "cannot open \"%s\": %s", path, strerror(errno));
    bool fine = feed_file(run, cb, in, path, how, fed, f);
    fclose(in);
    return fine;
}

/* ---- enter ----------------------------------------------------------------------------------- */

struct enter_args {
    const char *path; /* NULL: standard input */
    bool json;
};

static bool parse(struct enter_args *a, int argc, char **argv, struct fault *f)
{
    const struct arg_flag flags[] = {{"--json", .set = &a->json}};
    struct args args = {.flags = flags, .flag_count = 1, .words = &a->path, .most = 1};
    if (!args_read(&args, argc, argv, f))
        return false;
    if (a->path && strcmp(a->path, "-") == 0)
        a->path = NULL;
    return true;
}

static int put_json(const struct run *run, const struct fed *fed)
{
    struct text out;
    struct json j;
    text_init(&out, JSON_MAX);
    json_begin(&j, &out, 2);
    json_open_object(&j);
    json_member(&j, "id", fed->entity);
    json_key(&j, "findings");
    json_put_number(&j, (double)fed->findings);
    json_end(&j);
    text_addc(&out, '\n');
    int status = say_bytes(run, out.s, out.len);
    text_free(&out);
    return status;
}

static int execute(struct run *run, const struct enter_args *a)
{
    struct fault f = {0};
    struct fed fed = {0};
    if (!run_open(run, JOURNAL_WRITE))
        return COMMAND_FAILED;
    if (a->path ? !feed_path(run, &run->cb, a->path, &feeding_entered, &fed, &f)
                : !feed_file(run, &run->cb, run->in, "standard input", &feeding_entered, &fed, &f))
        return say_fault(run, &f);
    if (a->json)
        return put_json(run, &fed);
    say(run->out, "%zu %s kept", fed.findings, fed.findings == 1 ? "finding" : "findings");
    if (fed.entity)
        say(run->out, "; look at them with: amble show %.*s", SHORT_ID, fed.entity);
    say(run->out, "\n");
    return COMMAND_DONE;
}

int run_enter(struct run *run, int argc, char **argv)
{
    struct enter_args a = {0};
    struct fault f = {0};
    return parse(&a, argc, argv, &f) ? execute(run, &a) : say_usage(run, &f);
}
