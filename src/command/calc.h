/* amble calc: the calculations as the shell reaches them.
 *
 * One row of calc_table.c declares a calculation: its name, the keys it takes, the results it
 * gives, and what runs it. The parser, --help and the test of amble-calc(1) read the same row.
 * Numbers are declared in calc/ (struct calc_key); keys whose value is text are declared here.
 */
#ifndef AMBLE_COMMAND_CALC_H
#define AMBLE_COMMAND_CALC_H

#include "base/fault.h"
#include "calc/balance.h"
#include "calc/care.h"
#include "calc/dimension.h"
#include "calc/energy.h"
#include "calc/four.h"
#include "calc/interval.h"
#include "calc/parallax.h"
#include "calc/proportion.h"
#include "calc/repeat.h"
#include "calc/slope.h"
#include "calc/stability.h"
#include "calc/trend.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

struct arena;
struct template_set;

/* Where relations between measures come from. `list` has room for PROPORTION_RELATIONS_MOST; the
 * fault names body_type when there is no such type. */
struct calc_relations {
    bool (*read)(const void *of, const char *body_type, struct arena *a,
                 struct proportion_relation *list, size_t *count, struct fault *f);
    const void *of;
};

/* argv[0] is the NAME, then key=value ... and --json. Results go to `out`, complaints to `err`.
 * Returns COMMAND_DONE, COMMAND_FAILED or COMMAND_USAGE. Without a NAME it lists the names. */
int calc_run(int argc, char **argv, const struct calc_relations *relations, FILE *out, FILE *err);

/* calc_run with the relations of the templates: those the environment names. */
int command_calc(int argc, char **argv, FILE *out, FILE *err);

/* Relations of a template set, for calc_run: the band of the body type, else the one for any dog.
 */
bool calc_relations_of_set(const struct template_set *set, const char *body_type,
                           struct proportion_relation *list, size_t *count, struct fault *f);

/* ---- between the files of this command ------------------------------------------------------- */

enum { CALC_WORDS_MOST = 3 };

struct calc_word {
    const char *name;
    const char *fallback; /* NULL: must be given */
    const char *help;
};

/* One result: a number with its unit, or a word. */
struct calc_answer {
    const char *key;
    const char *unit; /* "-" for a bare number and for a word */
    const char *word; /* NULL: a number */
    double value;     /* NaN: there is none */
    double spread;    /* standard uncertainty; NaN: not asked for */
};

/* What a relation says, for proportion only: an array of its own in JSON. */
struct calc_relation_answer {
    struct proportion_relation relation;
    struct proportion_check check;
};

struct calc_call {
    const struct calculation *calc;
    const struct calc_relations *relations;
    struct arena *arena;
    const char *words[CALC_WORDS_MOST]; /* in the order of the row */
    bool spread, json, help;
    union calc_numbers {
        struct balance_in balance;
        struct stability_in stability;
        struct obstacle_in obstacle;
        struct ramp_in ramp;
        struct corridor_in corridor;
        struct proportion_lengths proportion;
        struct interval_in interval;
        struct energy_in energy;
        struct bladder_in bladder;
        struct contact_in contact;
        struct trend_in {
            double threshold, credible_change;
        } trend;
        struct axle_in {
            struct balance_in balance; /* axle_mm is the foremost position */
            double last_mm, steps, within, uphill_deg, tip_margin_deg, grip_margin_deg;
        } axle;
        struct four_call {
            struct four_in frame;
            struct four_stiffness stiffness;
            double fore_load_n, sling_share;
        } four;
        struct front_in front;
        struct dimension_in {
            double ease_mm, step_mm;
        } dimension;
        struct parallax_in parallax;
        struct weeks_in {
            double mass_kg, target_kg, share_a_week;
        } weeks;
    } in, u; /* what was given, and the standard uncertainty of it ("key=value~u") */
    struct proportion_measure *others; /* proportion: measures a practice added to its templates */
    size_t other_count;

    struct calc_answer *answers;
    size_t answer_count, answer_room;
    struct calc_relation_answer *checks;
    size_t check_count;
};

struct calculation {
    const char *name, *help;
    const struct calc_word *words;
    size_t word_count;
    const struct calc_key *in;
    const size_t *in_count;
    const struct calc_key *also; /* keys of another calculation that it takes as well */
    const size_t *also_count;
    const struct calc_key *out; /* results that are always there; words are told in `more` */
    const size_t *out_count;
    const char *more; /* further results and remarks, a sentence or two, or "" */
    bool spread;      /* takes --spread and key=value~u */
    bool (*run)(struct calc_call *c, struct fault *f);
};
/* The keys with a number, its own and those it takes as well; NULL after the last. */
const struct calc_key *calc_key_at(const struct calculation *calc, size_t i);

extern const struct calculation calculations[];
extern const size_t calculation_count;

/* Those that do more than solve and show, in calc_frames.c. */
extern const struct calc_key axle_keys_in[], four_call_keys_in[], dimension_keys_in[],
    dimension_keys_out[], weeks_keys_in[], weeks_keys_out[];
extern const size_t axle_keys_in_count, four_call_keys_in_count, dimension_keys_in_count,
    dimension_keys_out_count, weeks_keys_in_count, weeks_keys_out_count;
bool run_axle(struct calc_call *c, struct fault *f);
bool run_four(struct calc_call *c, struct fault *f);
bool run_dimension(struct calc_call *c, struct fault *f);
bool run_weeks(struct calc_call *c, struct fault *f);

void answer_number(struct calc_call *c, const char *key, double value, const char *unit);
void answer_word(struct calc_call *c, const char *key, const char *word);
void answer_keys(struct calc_call *c, const struct calc_key *keys, size_t count, const void *out,
                 const void *spread);

/* "a,b;c,d;..." into subjects, "day,value;..." into points; in the call's arena. */
bool calc_read_subjects(struct arena *a, const char *key, const char *text,
                        struct repeat_subject **subjects, size_t *count, struct fault *f);
/* Which of `count` words the text is; the fault names the key and them. */
bool calc_read_choice(const char *key, const char *text, const char *const *words, size_t count,
                      size_t *chosen, struct fault *f);
/* A whole plain decimal number; the fault names the key. */
bool calc_read_number(const char *key, const char *text, size_t n, double *value, struct fault *f);

#endif
