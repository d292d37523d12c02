/* Any bytes as what stands on a command line, words parted by zero bytes. The first byte says who
 * reads them: the reader of options that all commands share, or amble calc. */
#include "base/arena.h"
#include "command/args.h"
#include "command/calc.h"
#include "command/command.h"
#include "kit.h"

enum { WORDS_MOST = 40, TAKEN_MOST = 3 };

struct line {
    char *bytes, *words[WORDS_MOST + 1];
    size_t size;
    int count;
};

static struct line line_of(const uint8_t *data, size_t size)
{
    struct line l = {.bytes = malloc(size + 1), .size = size};
    must(l.bytes != NULL);
    memcpy(l.bytes, data, size);
    l.bytes[size] = '\0';
    for (size_t at = 0; at < size && l.count < WORDS_MOST; at += strlen(l.bytes + at) + 1)
        l.words[l.count++] = l.bytes + at;
    return l;
}

/* ---- options --------------------------------------------------------------------------------- */

/* Nothing is made up: what was taken stands on the line. */
static void must_stand_on(const struct line *l, const char *s)
{
    must(s == NULL || (s >= l->bytes && s <= l->bytes + l->size));
}

static void read_options(const struct line *l)
{
    struct fault f = {0};
    bool json = false, all = false;
    const char *save = NULL, *days = NULL, *words[TAKEN_MOST] = {NULL};
    int first = 0;
    const struct arg_flag flags[] = {{"--json", .set = &json},
                                     {"--all", .set = &all},
                                     {"--save", .value = &save},
                                     {"--days", .value = &days}};
    struct args args = {.flags = flags,
                        .flag_count = sizeof flags / sizeof *flags,
                        .words = words,
                        .least = 1,
                        .most = TAKEN_MOST,
                        .expected = "a dog"};
    char **argv = (char **)(uintptr_t)l->words;
    if (args_read(&args, l->count, argv, &f))
        must(args.count >= args.least && args.count <= args.most);
    else
        must_say_why(&f);
    for (size_t i = 0; i < TAKEN_MOST; i++)
        must_stand_on(l, words[i]);
    must_stand_on(l, save);
    must_stand_on(l, days);
    f = (struct fault){0};
    save = days = NULL;
    if (args_flags(l->count, argv, flags, sizeof flags / sizeof *flags, &first, &f))
        must(first >= 1 && (first <= l->count || l->count == 0));
    else
        must_say_why(&f);
    must_stand_on(l, save);
    must_stand_on(l, days);
}

/* ---- calculations ---------------------------------------------------------------------------- */

static bool some_relations(const void *of, const char *body_type, struct arena *a,
                           struct proportion_relation *list, size_t *count, struct fault *f)
{
    (void)of, (void)a;
    if (*body_type != '\0')
        return fail(f, FAULT_INPUT, "body_type: there is none \"%s\"", body_type);
    list[0] = (struct proportion_relation){"hip_height", "withers_height", 0.9, 1.1, NULL, NULL};
    list[1] =
        (struct proportion_relation){"chest_girth", "chest_depth", 2.5, 3.5, "chest_width", NULL};
    *count = 2;
    return true;
}

/* A line is a key, a number or a word, and its unit; no number is one that cannot be. */
static void must_be_answers(const char *s)
{
    static const char *const never[] = {" nan ", " -nan ", " inf ", " -inf ", ": nan", ": inf"};
    must(utf8_plain(s, true) && *s != '\0');
    for (size_t i = 0; i < sizeof never / sizeof *never; i++)
        must(strstr(s, never[i]) == NULL);
}

static void calculate(struct line *l)
{
    static const struct calc_relations relations = {.read = some_relations};
    char *said = NULL, *complained = NULL;
    size_t said_size = 0, complained_size = 0;
    FILE *out = open_memstream(&said, &said_size);
    FILE *err = open_memstream(&complained, &complained_size);
    must(out != NULL && err != NULL);
    int status = calc_run(l->count, l->words, &relations, out, err);
    must(fclose(out) == 0 && fclose(err) == 0);
    must(status == COMMAND_DONE || status == COMMAND_USAGE);
    if (status == COMMAND_DONE)
        must_be_answers(said);
    else
        must(*said == '\0');
    must(utf8_plain(complained, true) && (*complained == '\0') == (status == COMMAND_DONE));
    free(said);
    free(complained);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    struct line l = line_of(data + 1, size - 1);
    if (data[0] % 2 == 0)
        read_options(&l);
    else
        calculate(&l);
    free(l.bytes);
    return 0;
}
