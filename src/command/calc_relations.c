/* The relations between measures that a practice's templates hold, as proportion wants them. */
#include "base/arena.h"
#include "base/text.h"
#include "command/calc.h"
#include "command/run.h"
#include "template/template.h"

/* The band for this body type, else the one for any dog, else NULL. */
static const struct band *band_for(const struct relation *r, const struct body_type *type)
{
    const struct band *any = NULL;
    for (size_t i = 0; i < r->band_count; i++)
        if (!r->bands[i].body_type)
            any = &r->bands[i];
        else if (r->bands[i].body_type == type)
            return &r->bands[i];
    return any;
}

static bool unknown_type(const struct template_set *set, const char *body_type, struct fault *f)
{
    const char *names[32];
    size_t n = 0;
    for (; n < set->body_type_count && n < sizeof names / sizeof *names; n++)
        names[n] = set->body_types[n].id;
    const char *near = text_nearest(body_type, names, n);
    return near ? fail(f, FAULT_INPUT, "body_type: there is none \"%s\" (did you mean \"%s\"?)",
                       body_type, near)
                : fail(f, FAULT_INPUT, "body_type: there is none \"%s\"", body_type);
}

bool calc_relations_of_set(const struct template_set *set, const char *body_type,
                           struct proportion_relation *list, size_t *count, struct fault *f)
{
    const struct body_type *type = *body_type ? template_body_type(set, body_type) : NULL;
    if (*body_type && !type)
        return unknown_type(set, body_type, f);
    *count = 0;
    for (size_t i = 0; i < set->relation_count && *count < PROPORTION_RELATIONS_MOST; i++) {
        const struct relation *r = &set->relations[i];
        const struct band *band = band_for(r, type);
        if (band)
            list[(*count)++] = (struct proportion_relation){
                .of = r->of->id,
                .to = r->to->id,
                .low = band->low,
                .high = band->high,
                .plus = r->plus == NULL ? NULL : r->plus->id,
                .across = r->across == NULL ? NULL : r->across->id,
            };
    }
    return true;
}

/* Loads the templates named by the environment, for as long as it takes to copy the relations. */
static bool read_templates(const void *of, const char *body_type, struct arena *a,
                           struct proportion_relation *list, size_t *count, struct fault *f)
{
    const struct setting *s = of;
    struct text lines;
    text_init(&lines, 1 << 16);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load(s->shipped, s->overlay, &report);
    bool done = set && calc_relations_of_set(set, body_type, list, count, f);
    if (!set)
        fail(f, FAULT_SYSTEM, "the templates cannot be used: %s", lines.s);
    for (size_t i = 0; done && i < *count; i++) {
        list[i].of = arena_str(a, list[i].of);
        list[i].to = arena_str(a, list[i].to);
        list[i].plus = list[i].plus == NULL ? NULL : arena_str(a, list[i].plus);
        list[i].across = list[i].across == NULL ? NULL : arena_str(a, list[i].across);
    }
    template_free(set);
    text_free(&lines);
    return done;
}

int command_calc(int argc, char **argv, FILE *out, FILE *err)
{
    struct setting s;
    struct fault f;
    int first;
    char *no_options[] = {"amble", NULL};
    int status = COMMAND_FAILED;
    if (setting_read(&s, 1, no_options, &first, &f)) {
        struct calc_relations relations = {read_templates, &s};
        status = calc_run(argc, argv, &relations, out, err);
    } else {
        fprintf(err, "amble: calc: %s\n", f.text);
    }
    setting_close(&s);
    return status;
}

int run_calc(struct run *run, int argc, char **argv)
{
    struct calc_relations relations = {read_templates, &run->setting};
    return calc_run(argc - 1, argv + 1, &relations, run->out, run->err);
}
