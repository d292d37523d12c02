/* amble equipment: the practice's own frames, and which of them fits a dog. */
#include "casebook/equipment.h"
#include "base/json.h"
#include "base/text.h"
#include "command/args.h"
#include "command/run.h"
#include <string.h>

enum { OUTPUT_MAX = 1 << 20 };

static const char *fits_word(enum equipment_fits f)
{
    static const char *const words[] = {
        [FITS_NOT_ASKED] = "", [FITS_YES] = "fits", [FITS_PADDED] = "with pads", [FITS_NO] = "no"};
    return words[f];
}

static void say_row(const struct equipment *e, FILE *out)
{
    say(out, "%-20s %-34s %s%s%s%s%s\n", e->name,
        e->frame != NULL ? e->frame->label : "unknown frame", e->where,
        *e->due != '\0' ? ", due " : "", e->due, e->late ? " LATE" : "",
        *e->cleaned == '\0' ? ", never cleaned" : "");
    if (e->fits == FITS_NOT_ASKED && *e->why == '\0')
        return;
    say(out, "    %s", fits_word(e->fits));
    if (e->fits != FITS_NO && e->steps > 0)
        say(out, ": step %zu of %zu, axle %.0f mm", e->step, e->steps, e->axle_mm);
    say(out, "%s%s\n", *e->why != '\0' ? "; " : "", e->why);
}

static int say_json(const struct run *run, const struct equipment *rows, size_t count)
{
    struct json j;
    struct text out;
    text_init(&out, OUTPUT_MAX);
    json_begin(&j, &out, 2);
    json_open_array(&j);
    for (size_t i = 0; i < count; i++) {
        const struct equipment *e = &rows[i];
        json_open_object(&j);
        json_member(&j, "id", e->entity);
        json_member(&j, "name", e->name);
        json_member(&j, "frame", e->frame != NULL ? e->frame->id : "");
        json_member(&j, "state", e->state);
        json_member(&j, "due", e->due);
        json_key(&j, "late");
        json_put_bool(&j, e->late);
        json_member(&j, "fits", fits_word(e->fits));
        json_member(&j, "why", e->why);
        json_key(&j, "axle_mm");
        json_put_number(&j, e->axle_mm);
        json_end(&j);
    }
    json_end(&j);
    text_addc(&out, '\n');
    int status = say_bytes(run, out.s, out.len);
    text_free(&out);
    return status;
}

static int execute(struct run *run, const char *dog, bool json)
{
    struct fault f = {0};
    struct chart chart;
    const struct equipment *rows = NULL;
    size_t count = 0;
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    if ((dog != NULL && !run_chart(run, dog, &chart, &f)) ||
        !equipment_look(&run->cb, run->arena, dog != NULL ? &chart : NULL, &rows, &count, &f))
        return say_fault(run, &f);
    if (json)
        return say_json(run, rows, count);
    for (size_t i = 0; i < count; i++)
        say_row(&rows[i], run->out);
    if (count == 0)
        say(run->out, "no frames of the practice's own are on record\n");
    return COMMAND_DONE;
}

int run_equipment(struct run *run, int argc, char **argv)
{
    const char *words[2] = {"", NULL};
    bool json = false;
    struct fault f = {0};
    const struct arg_flag flags[] = {{"--json", .set = &json}};
    struct args args = {.flags = flags,
                        .flag_count = 1,
                        .words = words,
                        .least = 0,
                        .most = 2,
                        .expected = "nothing, or fit and a dog"};
    bool read = args_read(&args, argc, argv, &f);
    if (read && args.count > 0 && strcmp(words[0], "fit") != 0)
        read = fail(&f, FAULT_INPUT, "\"%s\" is not fit", words[0]);
    if (read && args.count == 1)
        read = fail(&f, FAULT_MISSING, "fit needs a dog");
    return read ? execute(run, words[1], json) : say_usage(run, &f);
}
