/* amble export: records for other programs. */
#include "base/arena.h"
#include "base/text.h"
#include "command/args.h"
#include "command/run.h"
#include "output/exports.h"
#include <string.h>

enum { OUTPUT_MAX = 512 << 20 };

/* ---- everything as a table ------------------------------------------------------------------- */

struct table {
    struct run *run;
    struct text *out;
    bool streams; /* goes to standard output as it comes: a practice may be larger than memory */
    struct fault fault;
};

static bool add_record(void *of, const char *entity)
{
    struct table *t = of;
    struct arena *a = arena_new();
    bool fine = csv_record(&t->run->cb, a, entity, t->out, &t->fault);
    arena_free(a);
    if (fine && t->streams) {
        fine = say_bytes(t->run, t->out->s, t->out->len) == COMMAND_DONE;
        text_clear(t->out);
    }
    return fine;
}

static bool whole_table(struct table *t, struct fault *f)
{
    static const char *const kinds[] = {"practitioner", "caregiver", "dog",
                                        "call",         "visit",     "equipment"};
    csv_heading(t->out);
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (!journal_each(t->run->cb.journal, kinds[i], add_record, t, f))
            return false;
    *f = t->fault;
    return f->kind == FAULT_NONE;
}

static bool table_of(struct run *run, const char *id, bool streams, struct text *out,
                     struct fault *f)
{
    struct table t = {.run = run, .out = out, .streams = streams};
    struct chart c;
    if (*id == '\0')
        return whole_table(&t, f);
    if (!run_chart(run, id, &c, f))
        return false;
    csv_heading(out);
    const struct record *const parts[] = {&c.caregiver, &c.dog, &c.call};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (parts[i]->entity && !csv_record(&run->cb, run->arena, parts[i]->entity, out, f))
            return false;
    for (size_t i = 0; i < c.visit_count; i++)
        if (!csv_record(&run->cb, run->arena, c.visits[i], out, f))
            return false;
    return true;
}

/* ---- the others ------------------------------------------------------------------------------ */

static bool bundle(struct run *run, const char *id, bool streams, struct text *out, struct fault *f)
{
    struct chart c;
    (void)streams;
    return run_chart(run, id, &c, f) && fhir_bundle(&c, out, f);
}

static bool card(struct run *run, const char *id, bool streams, struct text *out, struct fault *f)
{
    struct chart c;
    (void)streams;
    return run_chart(run, id, &c, f) && address_card(&c, out, f);
}

static bool calendar(struct run *run, const char *word, bool streams, struct text *out,
                     struct fault *f)
{
    day_number from = clock_today();
    (void)streams;
    return (*word == '\0' || clock_parse_day(word, from, &from, f)) &&
           calendar_from(&run->cb, run->arena, from, out, f);
}

static const struct {
    const char *word;
    bool needs; /* an id after it */
    bool (*make)(struct run *run, const char *of, bool streams, struct text *out, struct fault *f);
} kinds[] = {{"csv", false, table_of},
             {"fhir", true, bundle},
             {"calendar", false, calendar},
             {"card", true, card}};

int run_export(struct run *run, int argc, char **argv)
{
    const char *words[2] = {"", ""}, *save = NULL;
    bool replace = false;
    struct fault f = {0};
    const struct arg_flag flags[] = {{"--save", .value = &save}, {"--replace", .set = &replace}};
    struct args args = {.flags = flags,
                        .flag_count = 2,
                        .words = words,
                        .least = 1,
                        .most = 2,
                        .expected = "csv, fhir, calendar or card"};
    if (!args_read(&args, argc, argv, &f))
        return say_usage(run, &f);
    if (replace && save == NULL) {
        fail(&f, FAULT_INPUT, "\"--replace\" goes with \"--save\" only");
        return say_usage(run, &f);
    }
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (strcmp(kinds[i].word, words[0]) != 0)
            continue;
        if (kinds[i].needs && *words[1] == '\0') {
            fail(&f, FAULT_INPUT, "%s of which dog or visit?", words[0]);
            return say_usage(run, &f);
        }
        if (!run_open(run, JOURNAL_READ))
            return COMMAND_FAILED;
        struct text out;
        text_init(&out, OUTPUT_MAX);
        bool fine = kinds[i].make(run, words[1], save == NULL, &out, &f);
        if (fine && out.cut)
            fine = fail(&f, FAULT_LIMIT, "this is too much for one file; leave out --save");
        int status = fine ? say_or_save(run, save, replace, out.s, out.len) : say_fault(run, &f);
        text_free(&out);
        return status;
    }
    fail(&f, FAULT_INPUT, "\"%s\" is no form of export: csv, fhir, calendar or card", words[0]);
    return say_usage(run, &f);
}
