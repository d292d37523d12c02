/* amble bench: what a frame does to a dog in its home, as the bench shows it. */
#include "casebook/bench.h"
#include "base/json.h"
#include "base/text.h"
#include "command/args.h"
#include "command/run.h"
#include <math.h>

enum { OUTPUT_MAX = 1 << 20 };

struct shown {
    struct fitting fit;
    struct bench bench;
    struct bench_view view;
    struct bench_number numbers[BENCH_NUMBERS_MOST];
    size_t count;
};

static bool look(const struct chart *c, const char *axle, struct shown *s, struct fault *f)
{
    fitting_look(c, &s->fit);
    if (s->fit.count == 0)
        return fail(f, FAULT_MISSING, "%s", s->fit.why);
    if (axle != NULL && !quantity_parse(axle, unit_find("mm"), &s->fit.setting.axle_mm, NULL, f))
        return false;
    bench_open(c, &s->fit, &s->bench);
    bench_try(&s->bench, &s->fit.setting, &s->view);
    s->count = bench_numbers(&s->bench, &s->fit.setting, &s->view, s->numbers);
    return !s->view.refused || fail(f, FAULT_REFUSED, "%s", s->view.why);
}

/* ---- text ------------------------------------------------------------------------------------ */

static void say_text(const struct shown *s, FILE *out)
{
    const struct fit_setting *set = &s->fit.setting;
    say(out, "%s: axle %.0f mm, wheels %.0f mm, track %.0f mm\n", set->frame->label, set->axle_mm,
        set->wheel_mm, s->view.in.wheel_track_mm);
    for (size_t i = 0; i < s->count; i++)
        say(out, "  %-13s %10s%s%-5s %s%s\n", s->numbers[i].label, s->numbers[i].value,
            *s->numbers[i].within != '\0' ? " +- " : "    ", s->numbers[i].within,
            s->numbers[i].more, s->numbers[i].past ? "  past a limit" : "");
    for (size_t i = 0; i < s->view.answer_count; i++) {
        const struct bench_answer *a = &s->view.answers[i];
        say(out, "  %-13s %-5s %s%s%s\n", a->what, bench_word(a->verdict), a->says,
            *a->more != '\0' ? "; " : "", a->more);
    }
    for (size_t i = 0; i < s->view.warning_count; i++)
        say(out, "! %s\n", s->view.warnings[i]);
    if (s->fit.proposed < s->fit.count)
        say(out, "proposed %.0f mm: %s\n", s->fit.rows[s->fit.proposed].axle_mm,
            s->fit.why_proposed);
    else
        say(out, "nothing proposed: %s\n", s->fit.why_proposed);
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static void put_number(struct json *j, const char *key, double value)
{
    json_key(j, key);
    json_put_number(j, value);
}

static void put_keys(struct json *j, const char *name, const struct calc_key *keys, size_t count,
                     const void *of)
{
    json_key(j, name);
    json_open_object(j);
    for (size_t i = 0; i < count; i++)
        put_number(j, keys[i].name, calc_get(&keys[i], of));
    json_end(j);
}

static void put_shown(struct json *j, const struct shown *s)
{
    json_key(j, "shown");
    json_open_array(j);
    for (size_t i = 0; i < s->count; i++) {
        json_open_object(j);
        json_member(j, "label", s->numbers[i].label);
        json_member(j, "value", s->numbers[i].value);
        json_member(j, "within", s->numbers[i].within);
        json_member(j, "more", s->numbers[i].more);
        json_key(j, "past");
        json_put_bool(j, s->numbers[i].past);
        json_end(j);
    }
    json_end(j);
    json_key(j, "home");
    json_open_array(j);
    for (size_t i = 0; i < s->view.answer_count; i++) {
        json_open_object(j);
        json_member(j, "what", s->view.answers[i].what);
        json_member(j, "verdict", bench_word(s->view.answers[i].verdict));
        json_member(j, "says", s->view.answers[i].says);
        json_member(j, "more", s->view.answers[i].more);
        json_end(j);
    }
    json_end(j);
    json_key(j, "warnings");
    json_open_array(j);
    for (size_t i = 0; i < s->view.warning_count; i++)
        json_put_string(j, s->view.warnings[i]);
    json_end(j);
}

static int say_json(const struct run *run, const struct shown *s)
{
    struct json j;
    struct text out;
    const struct bench_view *v = &s->view;
    text_init(&out, OUTPUT_MAX);
    json_begin(&j, &out, 2);
    json_open_object(&j);
    json_member(&j, "frame", s->fit.setting.frame->id);
    put_keys(&j, "in", balance_keys_in, balance_keys_in_count, &v->in.balance);
    put_keys(&j, "in_within", balance_keys_in, balance_keys_in_count, &v->within);
    put_keys(&j, "out", balance_keys_out, balance_keys_out_count, &v->out.balance);
    put_keys(&j, "out_within", balance_keys_out, balance_keys_out_count, &v->spread.balance);
    put_number(&j, "wheel_track_mm", v->in.wheel_track_mm);
    put_number(&j, "fore_spacing_mm", v->in.fore_spacing_mm);
    put_number(&j, "turn_radius_m", v->in.turn_radius_m);
    put_keys(&j, "sideways", stability_keys_out, stability_keys_out_count, &v->out.side);
    put_number(&j, "step_mm", v->in.step_mm);
    put_number(&j, "step_push_n", v->out.step_push_n);
    put_number(&j, "step_plain_n", v->out.step_plain_n);
    put_number(&j, "step_grip_n", v->out.step_grip_n);
    put_number(&j, "ramp_deg", v->in.ramp_deg);
    put_number(&j, "ramp_pull_n", v->out.ramp_pull_n);
    put_shown(&j, s);
    put_number(&j, "proposed_mm",
               s->fit.proposed < s->fit.count ? s->fit.rows[s->fit.proposed].axle_mm : NAN);
    json_member(&j, "why_proposed", s->fit.why_proposed);
    json_end(&j);
    text_addc(&out, '\n');
    int status = say_bytes(run, out.s, out.len);
    text_free(&out);
    return status;
}

int run_bench(struct run *run, int argc, char **argv)
{
    const char *id = NULL, *axle = NULL;
    bool json = false;
    struct fault f = {0};
    struct chart chart;
    struct shown s;
    const struct arg_flag flags[] = {{"--axle", .value = &axle}, {"--json", .set = &json}};
    struct args args = {.flags = flags,
                        .flag_count = 2,
                        .words = &id,
                        .least = 1,
                        .most = 1,
                        .expected = "a dog or visit"};
    if (!args_read(&args, argc, argv, &f))
        return say_usage(run, &f);
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    if (!run_chart(run, id, &chart, &f) || !look(&chart, axle, &s, &f))
        return say_fault(run, &f);
    if (json)
        return say_json(run, &s);
    say_text(&s, run->out);
    return COMMAND_DONE;
}
