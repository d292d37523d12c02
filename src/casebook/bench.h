/* The bench: everything a setting of a frame does to this dog in this home, and what to plan for.
 *
 * bench_open reads the chart once; bench_try only calculates, so that it can follow every key. */
#ifndef AMBLE_CASEBOOK_BENCH_H
#define AMBLE_CASEBOOK_BENCH_H

#include "calc/bench.h"
#include "calc/four.h"
#include "calc/slope.h"
#include "calc/track.h"
#include "casebook/fitting.h"

struct bench_house { /* from the home survey; NaN: not asked */
    double ramp_deg, step_mm, door_mm, corridor_in_mm, corridor_out_mm;
};

struct bench {
    const struct template_set *set;
    struct fit_dog dog;
    struct fit_want want;
    struct bench_house house;
    const struct support *decided; /* or proposed; NULL: none yet */
    double hind_later;             /* expected later; NaN: not said */
    bool progressive;
};
void bench_open(const struct chart *c, const struct fitting *fit, struct bench *b);

enum bench_verdict { BENCH_UNKNOWN, BENCH_YES, BENCH_CLOSE, BENCH_NO };
const char *bench_word(enum bench_verdict v); /* "?" (not asked), "ok", "close", "no" */

enum { BENCH_ANSWERS_MOST = 8, BENCH_WARNINGS_MOST = 8, BENCH_WORDS = 120 };
struct bench_answer {
    const char *what; /* "home ramp" */
    enum bench_verdict verdict;
    char says[BENCH_WORDS];
    char more[BENCH_WORDS]; /* for a line of its own, or "" */
};

struct bench_view {
    bool refused; /* it does not stand: `why`, and nothing below is filled */
    char why[sizeof((struct fault){0}.text)];
    struct bench_in in;
    struct balance_in within; /* standard uncertainties of in.balance */
    struct bench_out out, spread;
    double normal_n;                      /* on the fore feet, standing normally */
    double width_mm, length_mm;           /* overall, wheels and hubs included */
    double door_spare_mm, door_within_mm; /* NaN: not asked */
    double corner_mm; /* longest that turns the corner; NaN: not asked, 0: none */
    double corner_spare_mm, corner_within_mm; /* NaN: not asked */
    bool four;                                /* `range` is what the fore feet may carry */
    struct four_range range;
    struct bench_answer answers[BENCH_ANSWERS_MOST]; /* the house */
    size_t answer_count;
    char warnings[BENCH_WARNINGS_MOST][BENCH_WORDS]; /* limits of dog and frame that are passed */
    size_t warning_count;
};
void bench_try(const struct bench *b, const struct fit_setting *s, struct bench_view *out);

/* What is shown of a view, each number with its uncertainty: the same on the screen, in the shell
 * and on paper. */
enum { BENCH_NUMBERS_MOST = 10 };
struct bench_number {
    const char *label;
    char value[24];  /* "5.2 kg" */
    char within[16]; /* "0.2": standard uncertainty in the same unit; "" when there is none */
    char more[40];   /* what stands beside it, or "" */
    bool past;       /* a limit of dog or frame is passed */
};
size_t bench_numbers(const struct bench *b, const struct fit_setting *s, const struct bench_view *v,
                     struct bench_number *out);

/* The next place of the axle from `axle_mm` towards `way` (-1 forward, +1 rearward): a whole
 * millimetre count of `fine`, or the frame's own next step; within the frame's range. */
double bench_move(const struct bench *b, const struct fit_setting *s, int way, bool coarse);

/* ---- planning ahead -------------------------------------------------------------------------- */

enum { BENCH_STAGES = 3 };
struct bench_stage {
    const char *label; /* "now", then as the template says */
    double hind_support, wanted;
    bool found;         /* a step does it */
    bool short_of_it;   /* found, but the relief stays more than 5 points below what is wanted */
    bool front_wheels;  /* none does: a rear frame no longer suffices */
    size_t step, steps; /* from 1 */
    struct balance_out out;
    char why[sizeof((struct fault){0}.text)]; /* what forbids it, or "" */
};
void bench_plan(const struct bench *b, const struct fit_setting *s, struct bench_stage *out);

/* Keep what the hind feet carry (item "hind_support_share", not for a front frame) and what is
 * expected later (item "fit.hind_later"; NaN: nothing). */
bool bench_keep_residual(struct chart *c, const struct fit_setting *s, double later,
                         struct fault *f);

/* ---- how near the model came ----------------------------------------------------------------- */

/* Fore load measured in the frame (item "fit.fore_scale") against that of the build sheet, over the
 * practice's last fittings, kg. False with FAULT_MISSING when there is none. */
bool bench_track(struct casebook *cb, struct arena *a, struct track_out *out, struct fault *f);
/* The prediction for one visit: fore load of the newest build sheet up to it; *kg NaN when none. */
bool bench_predicted(struct casebook *cb, struct arena *a, const struct record *visit, double *kg,
                     struct fault *f);

#endif
