/* The calculations of the shell, one row each. */
#include "base/arena.h"
#include "base/units.h"
#include "command/calc.h"
#include <math.h>
#include <string.h>

void answer_number(struct calc_call *c, const char *key, double value, const char *unit)
{
    c->answers =
        arena_grow(c->arena, c->answers, c->answer_count, &c->answer_room, sizeof *c->answers);
    c->answers[c->answer_count++] =
        (struct calc_answer){.key = key, .unit = unit, .value = value, .spread = NAN};
}

void answer_word(struct calc_call *c, const char *key, const char *word)
{
    answer_number(c, key, NAN, "-");
    c->answers[c->answer_count - 1].word = word;
}

void answer_keys(struct calc_call *c, const struct calc_key *keys, size_t count, const void *out,
                 const void *spread)
{
    for (size_t i = 0; i < count; i++) {
        double value = calc_get(&keys[i], out);
        if (isnan(value) && keys[i].need == KEY_OPTIONAL)
            continue;
        answer_number(c, keys[i].name, value, keys[i].unit);
        if (spread)
            c->answers[c->answer_count - 1].spread = calc_get(&keys[i], spread);
    }
}

/* Those that only solve and show. */
#define PLAIN(name)                                                                                \
    static bool run_##name(struct calc_call *c, struct fault *f)                                   \
    {                                                                                              \
        struct name##_out out;                                                                     \
        if (!name##_solve(&c->in.name, &out, f))                                                   \
            return false;                                                                          \
        answer_keys(c, name##_keys_out, name##_keys_out_count, &out, NULL);                        \
        return true;                                                                               \
    }
PLAIN(stability)
PLAIN(obstacle)
PLAIN(ramp)
PLAIN(corridor)
PLAIN(interval)
PLAIN(bladder)
PLAIN(contact)
PLAIN(front)
PLAIN(parallax)

static bool run_units(struct calc_call *c, struct fault *f)
{
    const struct unit *to = unit_find(c->words[1]);
    double base;
    if (!to)
        return fail(f, FAULT_INPUT, "to: \"%s\" is no unit known here", c->words[1]);
    if (!quantity_parse(c->words[0], to, &base, NULL, f))
        return fail_within(f, "text: ");
    answer_number(c, "value", unit_from_base(to, base), to->name);
    return true;
}

static bool run_balance(struct calc_call *c, struct fault *f)
{
    struct balance_in *in = &c->in.balance;
    struct balance_out out, spread;
    if (!isnan(in->axle_mm) && !isnan(in->relief))
        return fail(f, FAULT_INPUT, "axle_mm and relief cannot both be given");
    in->from_relief = !isnan(in->relief);
    if (c->spread ? !balance_spread(in, &c->u.balance, &out, &spread, f)
                  : !balance_solve(in, &out, f))
        return false;
    answer_keys(c, balance_keys_out, balance_keys_out_count, &out, c->spread ? &spread : NULL);
    return true;
}

static bool run_energy(struct calc_call *c, struct fault *f)
{
    struct energy_out out;
    if (!energy_method_named(c->words[0], &c->in.energy.method))
        return fail(f, FAULT_INPUT,
                    "method must be both, division, subtraction, power or linear, not \"%s\"",
                    c->words[0]);
    if (!energy_solve(&c->in.energy, &out, f))
        return false;
    if (!out.has_ideal)
        out.ideal_low_kg = out.ideal_high_kg = NAN;
    answer_keys(c, energy_keys_out, energy_keys_out_count, &out, NULL);
    return true;
}

static bool run_repeat(struct calc_call *c, struct fault *f)
{
    struct repeat_subject *subjects;
    struct repeat_out out;
    size_t count;
    if (!calc_read_subjects(c->arena, "readings", c->words[0], &subjects, &count, f) ||
        !repeat_solve(subjects, count, &out, f))
        return false;
    answer_keys(c, repeat_keys_out, repeat_keys_out_count, &out, NULL);
    return true;
}

static bool run_agreement(struct calc_call *c, struct fault *f)
{
    struct repeat_subject *subjects;
    struct agreement_out out;
    size_t count;
    if (!calc_read_subjects(c->arena, "readings", c->words[0], &subjects, &count, f) ||
        !agreement_solve(subjects, count, &out, f))
        return false;
    answer_keys(c, agreement_keys_out, agreement_keys_out_count, &out, NULL);
    return true;
}

static const struct calc_key trend_keys_in[] = {
    KEY(trend_in, threshold, .unit = "-", .need = KEY_OPTIONAL, .low = -1e9, .high = 1e9,
        .help = "value whose crossing is asked for"),
    KEY(trend_in, credible_change, .unit = "-", .need = KEY_DEFAULT, .fallback = 0, .low = 0,
        .high = 1e9, .help = "smallest change that is real for this observer, as repeat gives it"),
};
static const size_t trend_keys_in_count = KEY_COUNT(trend_keys_in);

static bool run_trend(struct calc_call *c, struct fault *f)
{
    static const char *const verdicts[] = {
        [TREND_NO_REAL_CHANGE] = "none", [TREND_RISES] = "rises", [TREND_FALLS] = "falls"};
    const struct trend_in *in = &c->in.trend;
    struct repeat_subject *pairs;
    struct trend_out out;
    size_t count;
    if (!calc_read_subjects(c->arena, "points", c->words[0], &pairs, &count, f) ||
        !calc_check(trend_keys_in, trend_keys_in_count, in, f))
        return false;
    struct trend_point *points = arena_array(c->arena, count, sizeof *points);
    for (size_t i = 0; i < count; i++) {
        const double *r = pairs[i].readings;
        if (pairs[i].count != pairs[0].count || pairs[i].count < 2 || pairs[i].count > 3)
            return fail(f, FAULT_INPUT,
                        "points: number %zu is not a day and a value, nor are all of them with an "
                        "uncertainty",
                        i + 1);
        points[i] = (struct trend_point){r[0], r[1], pairs[i].count == 3 ? r[2] : 0};
        if (pairs[i].count == 3 && r[2] == 0)
            return fail(f, FAULT_INPUT, "points: number %zu has an uncertainty of 0", i + 1);
    }
    if (!trend_solve(points, count, in->threshold, &out, f))
        return false;
    answer_keys(c, trend_keys_out, trend_keys_out_count, &out, NULL);
    answer_word(c, "real_change", verdicts[trend_judge(&out, in->credible_change)]);
    if (!isnan(out.misfit))
        answer_word(c, "fit", out.bad_fit ? "bad" : "good");
    return true;
}

/* ---- proportion ------------------------------------------------------------------------------ */

/* The measures given, by id: the key without its "_mm". */
static bool gather(struct calc_call *c, struct proportion_measure *m, size_t *count,
                   struct fault *f)
{
    if (!calc_check(proportion_keys_in, proportion_keys_in_count, &c->in.proportion, f))
        return false;
    for (size_t i = 0; i < proportion_keys_in_count; i++) {
        const struct calc_key *key = &proportion_keys_in[i];
        double value = calc_get(key, &c->in.proportion);
        if (!isnan(value))
            m[(*count)++] = (struct proportion_measure){
                arena_strn(c->arena, key->name, strlen(key->name) - strlen("_mm")), value};
    }
    for (size_t i = 0; i < c->other_count && *count < PROPORTION_MOST; i++)
        m[(*count)++] = c->others[i];
    return true;
}

static bool known_to(const struct proportion_relation *r, size_t count, const char *id)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(r[i].of, id) == 0 || strcmp(r[i].to, id) == 0 ||
            (r[i].plus != NULL && strcmp(r[i].plus, id) == 0) ||
            (r[i].across != NULL && strcmp(r[i].across, id) == 0))
            return true;
    return false;
}

static void answer_suspects(struct calc_call *c, const struct proportion_measure *m,
                            const struct proportion_out *out)
{
    const struct proportion_suspect *s = out->ranked;
    answer_number(c, "misfit", out->misfit, "-");
    answer_word(c, "suspect", out->misfits ? m[s->measure].id : NULL);
    answer_number(c, "suspect_share", out->misfits ? s->share : 0, "-");
    if (!out->misfits)
        return;
    answer_number(c, "suspect_corrected_mm", s->corrected, "mm");
    if (!out->apart)
        answer_word(c, "suspect_or", m[s[1].measure].id);
    if (s->slip != SLIP_NONE)
        answer_word(c, "slip", proportion_slip_words(s->slip));
    if (s->slip == SLIP_EXCHANGED)
        answer_word(c, "slip_with", m[s->other].id);
    if (out->more)
        answer_word(c, "more_than_one", "yes");
}

static bool run_proportion(struct calc_call *c, struct fault *f)
{
    struct proportion_measure measures[PROPORTION_MOST];
    struct proportion_relation relations[PROPORTION_RELATIONS_MOST];
    struct proportion_check checks[PROPORTION_RELATIONS_MOST];
    struct proportion_out out;
    size_t count = 0, relation_count = 0;
    if (!gather(c, measures, &count, f) ||
        !c->relations->read(c->relations->of, c->words[0], c->arena, relations, &relation_count, f))
        return false;
    for (size_t i = 0; i < c->other_count; i++)
        if (!known_to(relations, relation_count, c->others[i].id))
            return fail(f, FAULT_INPUT, "there is no key \"%s_mm\"", c->others[i].id);
    if (count == 0)
        return fail(f, FAULT_MISSING,
                    "measures are missing: give two or more, withers_height_mm "
                    "and pelvic_floor_height_mm, say");
    if (!proportion_solve(measures, count, relations, relation_count, checks, &out, f))
        return false;
    c->checks = arena_array(c->arena, relation_count, sizeof *c->checks);
    for (size_t i = 0; i < relation_count; i++)
        if (checks[i].verdict != PROPORTION_ABSENT)
            c->checks[c->check_count++] = (struct calc_relation_answer){relations[i], checks[i]};
    answer_suspects(c, measures, &out);
    return true;
}

/* ---- the table ------------------------------------------------------------------------------- */

static const struct calc_word units_words[] = {
    {"text", NULL, "a quantity as people write it: \"9 1/4 in\", \"23,5 cm\""},
    {"to", "mm", "unit of the answer"},
};
static const struct calc_word repeat_words[] = {
    {"readings", NULL,
     "subjects apart by ; and the readings of each by , : \"15.9,16.0;14.2,14.3\""},
};
static const struct calc_word proportion_words[] = {
    {"body_type", "", "id of a body type in the templates; without it the bands for any dog"},
};
static const struct calc_word energy_words[] = {
    {"method", "both",
     "ideal weight by both readings of 10 % a point, or by division or subtraction at 10 to 15 %; "
     "power (as both) or linear for the resting energy"},
};
static const struct calc_word trend_words[] = {
    {"points", NULL,
     "points apart by ; each a day and a value: \"0,36.1;14,35.8;30,35.2\"; a third number is the "
     "value's standard uncertainty, for all points or none"},
};
static const struct calc_word agreement_words[] = {
    {"readings", NULL,
     "subjects apart by ; and their readings by , : one of each observer, in the same order"},
};
static const struct calc_word axle_words[] = {
    {"press", "yes", "may the bar press on the shoulders: yes or no"},
    {"lift", "yes", "may a chest sling lift: yes or no"},
};
static const struct calc_word four_words[] = {
    {"press", "no", "can a bar press on the shoulders: yes or no; a sling alone cannot"},
};
static const struct calc_word dimension_words[] = {
    {"measures", NULL,
     "measures apart by ; each a factor, millimetres and their tolerance: \"1,300,4;0.5,70,6\""},
    {"errs", "either", "side that does no harm: either, long or short"},
};
static const struct calc_key units_out[] = {
    {.name = "value", .unit = "-", .help = "in the unit asked for"},
};
static const struct calc_key proportion_out_keys[] = {
    {.name = "misfit", .unit = "-", .help = "chi-square of the relations, 0 when they fit exactly"},
    {.name = "suspect", .unit = "-", .help = "measure most likely wrong; - when all fits"},
    {.name = "suspect_share", .unit = "-", .help = "probability that it is this one"},
};
static const struct calc_key four_range_keys_out[] = {
    KEY(four_range, fore_low_n, .unit = "N", .help = "least the fore feet can carry"),
    KEY(four_range, fore_high_n, .unit = "N", .help = "most the fore feet can carry"),
};
static const size_t none = 0, one = 1, two = 2, three = 3;

#define WORDS(name) .words = name##_words, .word_count = KEY_COUNT(name##_words)
#define IN(name)    .in = name##_keys_in, .in_count = &name##_keys_in_count
#define OUT(name)   .out = name##_keys_out, .out_count = &name##_keys_out_count
#define ROW(id, ...)                                                                               \
    {                                                                                              \
        .name = #id, .run = run_##id, __VA_ARGS__                                                  \
    }

const struct calculation calculations[] = {
    ROW(units, .help = "read a quantity and give it in another unit", WORDS(units),
        .in_count = &none, .out = units_out, .out_count = &one, .more = ""),
    ROW(balance, .help = "loads, relief and limits of a rear frame with two wheels", IN(balance),
        OUT(balance), .spread = true,
        .more = "With --spread, key=value~u gives a number's standard uncertainty, and every "
                "result is shown with its own."),
    ROW(stability, .help = "how far a frame leans and how fast it turns", IN(stability),
        OUT(stability), .more = ""),
    ROW(obstacle, .help = "push that gets a wheel over an edge", IN(obstacle), OUT(obstacle),
        .more = ""),
    ROW(ramp, .help = "slope of a ramp and the pull it asks for", IN(ramp), OUT(ramp), .more = ""),
    ROW(corridor, .help = "longest frame that turns a right-angled corner", IN(corridor),
        OUT(corridor), .more = ""),
    ROW(repeat, .help = "how well readings repeat, and what change is then real", WORDS(repeat),
        .in_count = &none, OUT(repeat), .more = ""),
    ROW(proportion, .help = "which measurement does not fit the others", WORDS(proportion),
        IN(proportion), .out = proportion_out_keys, .out_count = &three,
        .more = "For each relation with both sides given: OF/TO.ratio, .low, .high and .verdict "
                "(usual, low, high); in JSON the array \"relations\". Where something does not "
                "fit also suspect_corrected_mm, suspect_or when two cannot be told apart, slip "
                "and slip_with when a usual slip explains it, more_than_one."),
    ROW(interval, .help = "95 % interval of a share", IN(interval), OUT(interval), .more = ""),
    ROW(energy, .help = "resting energy and ideal weight", WORDS(energy), IN(energy), OUT(energy),
        .more = "A starting point only: need varies about threefold between dogs of one weight."),
    ROW(bladder, .help = "what a bladder holds when it is emptied by hand", IN(bladder),
        OUT(bladder), .more = "An illustration of the steady state, not a forecast."),
    ROW(contact, .help = "mean pressure under a pad", IN(contact), OUT(contact),
        .more = "No limit for dogs is known: for comparing pads, never pass or fail."),
    ROW(trend, .help = "slope of a value over time and when it crosses a threshold", WORDS(trend),
        IN(trend), OUT(trend),
        .more = "Also real_change: rises, falls or none (within the observer's own noise); with "
                "uncertainties fit: good or bad (a misfit of less than one chance in a hundred)."),
    ROW(agreement, .help = "how well observers agree on subjects that differ", WORDS(agreement),
        .in_count = &none, OUT(agreement), .more = ""),
    ROW(axle, .help = "what each position of a stepped axle does, and which to take", WORDS(axle),
        IN(axle), .also = balance_keys_in, .also_count = &balance_keys_in_count, .out = NULL,
        .out_count = &none,
        .more =
            "Takes every key of balance: axle_mm is the foremost position and relief the "
            "relief wanted. For each position N it gives, after position_N and a dot, axle_mm, "
            "stands and, where it stands, fore_load_n, relief, bar_load_n, uphill_limit_deg and "
            "traction_limit_deg. With a relief also position, the one to take; where none "
            "does all that is asked it is refused, with the reason."),
    ROW(four, .help = "what four wheels leave open, and the rest once that is chosen", WORDS(four),
        .in = four_call_keys_in, .in_count = &four_call_keys_in_count, .also = four_keys_in,
        .also_count = &four_keys_in_count, .out = four_range_keys_out, .out_count = &two,
        .more = "Also fore_low_because and fore_high_because, what ends the range. With "
                "fore_load_n, sling_share or all stiffnesses: fore_load_n, rest_load_n, "
                "sling_load_n, front_wheels_n and rear_wheels_n."),
    ROW(front, .help = "loads, relief and limits of a front frame with two wheels", IN(front),
        OUT(front), .more = ""),
    ROW(dimension, .help = "what to build a part to, from measures and their tolerances",
        WORDS(dimension), IN(dimension), OUT(dimension), .more = ""),
    ROW(parallax, .help = "how wrong a height read in a photograph is", IN(parallax), OUT(parallax),
        .more = ""),
    ROW(weeks, .help = "weeks to a lower weight at a steady share a week", IN(weeks), OUT(weeks),
        .more = "No forecast: a veterinarian decides on the pace."),
};
const size_t calculation_count = KEY_COUNT(calculations);
