/* amble template: look at the practice's templates without opening its records. */
#include "command/template.h"
#include "base/text.h"
#include "casebook/fitting.h"
#include "command/args.h"
#include "command/run.h"
#include "output/picture.h"
#include <math.h>
#include <string.h>

enum { MESSAGES_MOST = 256 * 1024 };

/* The set, or NULL after telling what is wrong with it. */
static struct template_set *read_set(const char *shipped, const char *overlay, FILE *err)
{
    struct text lines;
    text_init(&lines, MESSAGES_MOST);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load(shipped, overlay, &report);
    if (set == NULL)
        say(err, "%s", lines.s);
    text_free(&lines);
    return set;
}

static size_t items_in(const struct template_set *s)
{
    size_t n = 0;
    for (size_t i = 0; i < s->form_count; i++)
        n += s->forms[i].item_count;
    return n;
}

static void say_counts(const struct template_set *s, FILE *out)
{
    const struct {
        size_t count;
        const char *one, *many;
    } rows[] = {
        {s->form_count, "form", "forms"},
        {items_in(s), "item", "items"},
        {s->measure_count, "measure", "measures"},
        {s->body_type_count, "body type", "body types"},
        {s->breed_count, "breed", "breeds"},
        {s->relation_count, "relation", "relations"},
        {s->support_count, "support", "supports"},
        {s->support_rule_count, "support rule", "support rules"},
        {s->triage.rule_count, "triage rule", "triage rules"},
        {s->frame_count, "frame", "frames"},
        {s->checklist_count, "checklist", "checklists"},
        {s->handout_count, "handout", "handouts"},
        {s->energy_factor_count, "energy factor", "energy factors"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        say(out, "%s%zu %s", i == 0 ? "" : ", ", rows[i].count,
            rows[i].count == 1 ? rows[i].one : rows[i].many);
    say(out, "\n");
}

static int show_form(const struct template_set *set, const char *id, FILE *out, FILE *err)
{
    const struct form *form = template_form(set, id);
    if (form == NULL) {
        say(err, "amble template: there is no form \"%s\"; there are:", id);
        for (size_t i = 0; i < set->form_count; i++)
            say(err, " %s", set->forms[i].id);
        say(err, "\n");
        return COMMAND_FAILED;
    }
    say(out, "%s\n", form->title);
    for (size_t i = 0; i < form->item_count; i++) {
        const struct item *item = &form->items[i];
        say(out, "%s%s%-28s %-8s %s\n", item->heading, *item->heading == '\0' ? "" : "\n", item->id,
            item_kind_name(item->kind), item->label);
    }
    return COMMAND_DONE;
}

/* The dog of the shipped example, made larger or smaller for the frame. */
static struct fit_dog example_dog(const struct frame *frame)
{
    double kg = fmin(fmax(12, frame->mass_low_kg), frame->mass_high_kg);
    double size = cbrt(kg / 12);
    return (struct fit_dog){.kg = kg,
                            .stance_mm = 400 * size,
                            .withers_mm = 420 * size,
                            .hip_mm = 200 * size,
                            .fore_share = balance_defaults().fore_share,
                            .fore_share_from = "usual for dogs",
                            .cg_height_share = NAN};
}

static int draw_frame(const struct template_set *set, const char *id, FILE *out, FILE *err)
{
    const struct frame *frame = NULL;
    for (size_t i = 0; i < set->frame_count; i++)
        if (strcmp(set->frames[i].id, id) == 0)
            frame = &set->frames[i];
    if (frame == NULL) {
        say(err, "amble template: there is no frame \"%s\"; there are:", id);
        for (size_t i = 0; i < set->frame_count; i++)
            say(err, " %s", set->frames[i].id);
        say(err, "\n");
        return COMMAND_FAILED;
    }
    struct fit_dog dog = example_dog(frame);
    struct fit_setting s = {.frame = frame,
                            .axle_mm = fit_step(frame, &dog, fit_steps(frame, &dog) / 2),
                            .wheel_mm = frame->wheel_diameter_at * dog.withers_mm,
                            .track_mm = frame->track_at * dog.hip_mm};
    struct balance_in in = fit_balance(set, &dog, &s);
    struct balance_out balance;
    struct fault f = {0};
    if (!fit_solve(frame, &in, &balance, &f)) {
        say(err, "amble template: %s cannot stand: %s\n", id, f.text);
        return COMMAND_FAILED;
    }
    struct figure figure;
    struct text picture;
    figure_side(&(struct figure_in){.in = &in,
                                    .out = &balance,
                                    .withers_mm = dog.withers_mm,
                                    .normal_n = dog.fore_share * dog.kg * STANDARD_GRAVITY,
                                    .front = frame->model == FRAME_FRONT,
                                    .front_axle_mm = frame->model == FRAME_FOUR
                                                         ? frame->front_axle_at * dog.stance_mm
                                                         : NAN,
                                    .loads = true},
                &figure);
    text_init(&picture, 64 * 1024);
    picture_draw(&figure, &(struct picture_style){18, 76, false}, &picture);
    say(out, "%s, on a dog of %.0f kg\n%s", frame->label, dog.kg, picture.s);
    text_free(&picture);
    return COMMAND_DONE;
}

int command_template(int argc, char **argv, const char *shipped, const char *overlay, FILE *out,
                     FILE *err)
{
    const char *words[2] = {"", NULL}, *frame = NULL;
    const struct arg_flag flags[] = {{"--draw", .value = &frame}};
    struct args args = {.flags = flags,
                        .flag_count = 1,
                        .words = words,
                        .least = 1,
                        .most = 2,
                        .expected = "check [FOLDER] or show FORM"};
    struct fault f = {0};
    bool read = args_read(&args, argc, argv, &f);
    bool show = strcmp(words[0], "show") == 0;
    if (read && !show && strcmp(words[0], "check") != 0)
        read = fail(&f, FAULT_INPUT, "\"%s\" is neither check nor show", words[0]);
    if (read && show && words[1] == NULL)
        read = fail(&f, FAULT_INPUT, "show needs the name of a form");
    if (!read) {
        say(err, "amble template: %s\nMore: amble help template\n", f.text);
        return COMMAND_USAGE;
    }
    const char *laid = !show && words[1] != NULL ? words[1] : overlay;
    struct template_set *set = read_set(shipped, laid, err);
    if (set == NULL)
        return COMMAND_FAILED;
    int status = COMMAND_DONE;
    if (show)
        status = show_form(set, words[1], out, err);
    else
        say_counts(set, out);
    if (status == COMMAND_DONE && !show && frame != NULL)
        status = draw_frame(set, frame, out, err);
    template_free(set);
    return status;
}

int run_template(struct run *run, int argc, char **argv)
{
    return command_template(argc, argv, run->setting.shipped, run->setting.overlay, run->out,
                            run->err);
}
