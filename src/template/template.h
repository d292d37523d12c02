/* Everything a practice may change, as read from its YAML files: the shapes other rooms see.
 *
 * A set is loaded whole, checked whole and then only read. All of it lives in the set's own arena;
 * free it with template_free. Lists are arrays with a count beside them; text is never NULL where
 * the comment does not say so ("" when absent); references by name are resolved while loading.
 *
 * The YAML file that fills each structure is named above it. amble-templates(5) is the same story
 * for the people who write those files.
 */
#ifndef AMBLE_TEMPLATE_TEMPLATE_H
#define AMBLE_TEMPLATE_TEMPLATE_H

#include "base/fault.h"
#include "base/units.h"
#include <stdbool.h>
#include <stddef.h>

struct arena;
struct text;

/* Kinds of item: id in C, name in YAML, what a person is told when typing fails. */
#define ITEM_KINDS(X)                                                                              \
    X(TEXT, "text", "a line of text")                                                              \
    X(NOTE, "note", "text, as long as it must be")                                                 \
    X(NUMBER, "number", "a number such as 3 or 2.5")                                               \
    X(SCORE, "score", "the total of a scale such as 16 or 5/20")                                   \
    X(LENGTH, "length", "a length such as 235 mm, 23.5 cm or 9 1/4 in")                            \
    X(MASS, "mass", "a weight such as 9.4 kg or 20 lb 11 oz")                                      \
    X(CHOICE, "choice", "one of the choices")                                                      \
    X(MANY, "many", "any of the choices")                                                          \
    X(YESNO, "yesno", "yes, no or not known")                                                      \
    X(DATE, "date", "a day such as 24 Nov or 2026-11-24")                                          \
    X(TIME, "time", "a day and time such as 9:30, 24 Nov 9:30 or 3 h ago")

enum item_kind {
#define X(id, name, told) ITEM_##id,
    ITEM_KINDS(X)
#undef X
        ITEM_KIND_COUNT
};

/* Where in a file something was declared, for messages. Line and column start at 1. */
struct mark {
    const char *file; /* as the practice names it: "forms/history.yaml" */
    int line, column;
};

/* ---- conditions: small structures, not a language ----------------------------------------- */

enum condition_kind {
    WHEN_ALWAYS, /* no condition was given */
    WHEN_ALL,
    WHEN_ANY,
    WHEN_NOT,
    WHEN_IS,        /* item's value equals word */
    WHEN_IS_ONE_OF, /* item's value equals one of words */
    WHEN_HAS,       /* a `many` item holds word */
    WHEN_AT_LEAST,  /* item's number >= number */
    WHEN_AT_MOST,
    WHEN_ABOVE,
    WHEN_BELOW,
    WHEN_ANSWERED, /* item has any value (word "no": it has none) */
};

struct condition {
    enum condition_kind kind;
    const char *item;         /* an item, a measure or a derived fact (template/facts.h) */
    const char *const *words; /* WHEN_IS, WHEN_IS_ONE_OF, WHEN_HAS */
    size_t word_count;
    double number;                 /* in the item's base unit */
    bool answered;                 /* WHEN_ANSWERED: what is wanted */
    const struct condition *parts; /* WHEN_ALL, WHEN_ANY, WHEN_NOT (one part) */
    size_t part_count;
};

/* What is known: the canonical value of an item, or NULL when nothing was recorded. Canonical
 * values are what the journal holds: "235 mm", "yes", "knuckles scrapes", "2026-11-24". */
struct facts {
    const char *(*value)(const void *of, const char *item);
    const void *of;
};

/* True when the condition holds. A leaf about something not recorded is false (so its `not` is
 * true): rules say "answered" when they need to tell "no" from "not asked". NULL means always.
 * `used` (may be NULL) collects, in order and once, up to `room` item names the verdict rests on.
 */
struct condition_use {
    const char **items;
    size_t count, room;
};
bool condition_holds(const struct condition *c, const struct facts *facts,
                     struct condition_use *used);

/* ---- scores.yaml -------------------------------------------------------------------------- */

/* From this total on (or above it, until the next cut) the words hold. */
struct score_cut {
    int from;
    const char *words;
    bool alert; /* a person should look at it now */
};

/* A scale of which only the total is kept. Its wording may not be ours to print. */
struct score {
    const char *id, *label;
    const char *version; /* "2005": kept with every total, as is the denominator */
    int most;            /* totals run from 0 to this */
    bool less_is_better;
    double change; /* smallest change its source calls real; 0: none was found */
    const struct score_cut *cuts;
    size_t cut_count;
    const char *source;
    struct mark mark;
};

/* ---- forms/NAME.yaml ---------------------------------------------------------------------- */

struct choice {
    const char *id, *label;
    const char *help; /* one line or "" */
};

struct item {
    const char *id, *label;
    const char *help;   /* one line under the field, or "" */
    const char *source; /* where the question or its values come from, or "" */
    enum item_kind kind;
    const struct unit *unit; /* NUMBER with a unit, LENGTH, MASS; else NULL */
    int decimals;            /* shown for NUMBER, LENGTH, MASS in the unit above; -1 as typed */
    bool has_range;          /* outside is refused: a slip of the hand */
    double low, high;        /* base unit */
    const struct choice *choices;
    size_t choice_count;
    const struct score *const *scales; /* SCORE: one of these; their denominators tell them apart */
    size_t scale_count;
    const struct condition *shown_when;    /* NULL: always */
    const struct condition *required_when; /* NULL: never */
    const char *heading;                   /* starts a new group with this heading, or "" */
    bool on_sheet;                         /* its answer is printed on the care sheet */
    const char *sheet_label;               /* words for the caregiver, defaults to label */
    struct mark mark;
};

/* The entities a form can be about and the places it can be shown. */
#define FORM_PLACES(X)                                                                             \
    X(CALL_FLAGS, "call_flags", "call") /* red flags, one key a question */                        \
    X(CALL, "call", "call")                                                                        \
    X(CAREGIVER, "caregiver", "caregiver")                                                         \
    X(DOG, "dog", "dog")                                                                           \
    X(VISIT, "visit", "visit")             /* a section of the visit, in the order of `order` */   \
    X(POSTURE, "posture", "visit")         /* ticked before the first number of the measures */    \
    X(MEASURES, "measures", "visit")       /* beside the numbers, opened from the measures */      \
    X(DECISION, "decision", "visit")       /* under the proposals of Support */                    \
    X(FITTING, "fitting", "visit")         /* after the fit: the frame on the dog */               \
    X(REVIEW, "review", "visit")           /* the first section of a visit that is a review */     \
    X(CLOSING, "closing", "dog")           /* asked when a case is closed */                       \
    X(EQUIPMENT, "equipment", "equipment") /* a frame of the practice's own */                     \
    X(PRACTITIONER, "practitioner", "practitioner")

enum form_place {
#define X(id, name, about) PLACE_##id,
    FORM_PLACES(X)
#undef X
        FORM_PLACE_COUNT
};

struct form {
    const char *id, *title;
    const char *intro; /* shown above the first question, or "" */
    enum form_place place;
    const char *about; /* entity kind the answers belong to: from FORM_PLACES */
    double order;
    const struct item *items;
    size_t item_count;
    struct mark mark;
};

/* ---- measures.yaml ------------------------------------------------------------------------ */

/* A measurement. Readings are kept as items "<id>.1", "<id>.2", "<id>.3" of the visit, each
 * "<number> mm" (or kg). A measure never appears in a form. */
struct cause {
    const char *text;   /* "the hips were lifted" */
    const char *remedy; /* "let the hind feet stand, then take it once more" */
    int direction;      /* +1 reads high, -1 reads low, 0 either */
    bool posture;       /* ask the posture ticks again */
};

struct measure {
    const char *id, *label, *how; /* how: one or two lines, the posture and the landmarks */
    enum dimension dimension;     /* DIM_LENGTH, DIM_MASS, DIM_ANGLE or DIM_SHARE (girth level) */
    const struct unit *unit;      /* shown in this unless the practice says otherwise */
    int decimals;
    bool girth;   /* cloth tape round the dog; else straight rule or calliper */
    bool coat;    /* measured to half the coat's depth */
    bool fixed;   /* cannot be adjusted later: first, always twice */
    int readings; /* usual number: 2, or 3 where a third is always worth it */
    double order;
    double tolerance_share; /* two readings further apart than the larger of this share ... */
    double tolerance;       /* ... and this (base unit) ask for a third */
    double low, high;       /* outside is refused: no dog measures that */
    const char *const *needed_for; /* ids of supports */
    size_t needed_count;
    const struct cause *causes;
    size_t cause_count;
    const char *source;
    struct mark mark;
};

/* ---- proportions.yaml: body types, breeds, relations -------------------------------------- */

struct body_type {
    const char *id, *label, *note, *source;
    const char *picture; /* a few lines of plain text, or "" */
    bool has_fore_share; /* published standing share on the fore feet */
    double fore_share, fore_share_sd;
};

struct breed {
    const char *name;
    const struct body_type *body_type;
    const char *source;
};

struct band {
    const struct body_type *body_type; /* NULL: any dog for which no nearer band is given */
    double low, high;
    bool limits;        /* it only catches slips and says nothing of how dogs spread */
    const char *source; /* "common practice, no source" where that is so */
};

struct relation {           /* (of + plus) / (to, or the diagonal of to and across) */
    const char *id, *label; /* label: "of withers height" */
    const struct measure *of, *to;
    const struct measure *plus, *across; /* or NULL */
    const struct band *bands;
    size_t band_count;
    const char *note;
    struct mark mark;
};

/* ---- supports.yaml: kinds of support and the rules about them ----------------------------- */

struct support {
    const char *id, *label, *summary;
    bool fitted; /* built from measurements: needs the measures screen and the balance */
    struct mark mark;
};

enum effect { EFFECT_PROPOSES, EFFECT_WARNS, EFFECT_FORBIDS };

struct support_rule {
    const char *id;
    enum effect effect;
    const struct support *const *supports;
    size_t support_count;
    const struct condition *when;
    const char *reason; /* "Never load the shoulders of a dog with a neck lesion" */
    const char *source;
    struct mark mark;
};

/* Choices of the item `accessories` that a finding speaks for. */
struct accessory_rule {
    const char *id;
    const char *const *accessories; /* ids of its choices */
    size_t accessory_count;
    const struct condition *when;
    const char *reason, *source;
    struct mark mark;
};

/* ---- triage.yaml: emergency or not -------------------------------------------------------- */

enum urgency { URGENCY_UNKNOWN, URGENCY_BOOK, URGENCY_SAME_DAY, URGENCY_EMERGENCY };

struct triage_rule {
    const char *id;
    enum urgency urgency;
    const struct condition *when;
    const char *reason;
    const char *advice; /* what to say to the caller now, or "" */
    const char *source;
    struct mark mark;
};

struct triage {
    const char *const *asked_first; /* items that must be answered before "book a visit" is said */
    size_t asked_count;
    const struct triage_rule *rules;
    size_t rule_count;
    const char *emergency_words, *same_day_words, *book_words,
        *unknown_words; /* the verdict line */
};

/* ---- frames.yaml -------------------------------------------------------------------------- */

/* Which statics hold: two wheels behind, four wheels, two wheels in front. */
enum frame_model { FRAME_REAR, FRAME_FOUR, FRAME_FRONT };

/* A generic frame: numbers for the balance. Positions are shares of the dog's stance length,
 * heights of withers height, so that one frame serves all sizes; all are plain starting values a
 * vet confirms. Of a front frame `rest_at` is where the hips are held and `bar_at` where the chest
 * lies. */
struct frame {
    const char *id, *label;
    const struct support *support;
    enum frame_model model;
    double mass_low_kg, mass_high_kg; /* dogs it is meant for */
    double frame_mass_share;          /* of the dog's mass */
    double wheels_mass_share;
    double rest_at, bar_at, cg_at; /* share of stance length, rearward from the fore feet */
    double cg_height_at;           /* share of withers height */
    double dog_cg_height_at;       /* the dog's own centre of mass, share of withers height:
                                      assumed, no published value */
    double wheel_diameter_at;      /* share of withers height */
    double track_at;               /* wheel track as a share of hip width */
    double outside;                /* mm beyond the track, both sides together: hubs, half tyres */
    double axle_from, axle_to;     /* share of stance length */
    int axle_steps;                /* positions shown; 1 when it cannot be moved */
    double relief_most;            /* ceiling for relief, share */
    double front_axle_at;          /* four wheels: the front axle, share of stance length */
    double front_wheels_mass_share;
    const char *folds; /* how it goes into a car, or "" */
    const char *note, *source;
    struct mark mark;
};

/* A dimension of the build: factors times measures, and ease. */
struct frame_term {
    const struct measure *measure;
    double factor;
};
enum errs { ERRS_EITHER, ERRS_LONG, ERRS_SHORT };
struct frame_dimension {
    const char *id, *label;
    const struct support *const *supports; /* whose frames have it */
    size_t support_count;
    const struct frame_term *terms;
    size_t term_count;
    double ease, ease_some, ease_walks; /* mm: hind legs hang, move some, walk */
    double made_within;                 /* mm: the builder keeps it so exactly */
    double step;                        /* mm: comes in such steps, 0: any */
    enum errs errs;                     /* the side on which a mistake does no harm */
    bool fixed;                         /* cannot be adjusted later */
    const char *note, *source;
    struct mark mark;
};

struct frame_accessory {
    const char *id, *label; /* the id of a choice of the item "accessories" ticks it */
    const struct support *const *supports;
    size_t support_count;
    double mass_share;    /* of the dog's mass */
    double at, height_at; /* share of stance length, of withers height */
    double widens;        /* of the hip width: what it adds to the wheel track */
    const char *source;
    struct mark mark;
};

/* Where frame and skin meet: to be padded. */
struct frame_contact {
    const char *zone;
    const struct support *const *supports;
    size_t support_count;
};

/* How much relief is wanted, and whether the bar may press. Of those that hold the greatest counts;
 * when none does, the bar is to be neutral. */
struct relief_rule {
    const char *id;
    const struct condition *when;
    double relief;
    bool no_press; /* the bar must not press on the shoulders */
    const char *reason, *source;
    struct mark mark;
};

/* A stage to plan for: the second and the third after the present one. */
struct stage {
    const char *id, *label;
    double hind_kept; /* of what the hind feet carry now */
    double relief;    /* wanted then */
    const char *source;
};

/* What is assumed where nothing was measured, and the room wanted to the limits. */
struct bench_rules {
    double friction, friction_within; /* fore feet on the floor */
    double cg_height_within;          /* standard uncertainties: share of withers height */
    double mass_within;               /* of frame and wheels before they exist, share of it */
    double place_within;              /* of the places of a frame, share of stance length */
    double fore_share_within;         /* where nothing better is known */
    double rolling;                   /* rolling resistance, share of the load */
    double turn_radius_m;
    double tape_within_mm; /* of a way taken once with a tape, and of a frame as built */
    double tip_margin_deg, grip_margin_deg; /* to the home's steepest slope */
};

/* ---- checklists/NAME.yaml ----------------------------------------------------------------- */

struct teach_item {
    const char *id, *label; /* what to teach, in the vet's words */
    const char *why;        /* or "" */
    const char *sheet;      /* the line for the care sheet, or "": not printed */
    const struct condition *shown_when;
    bool danger; /* always printed, first */
    struct mark mark;
};

/* Answers are kept as visit items "teach.<checklist>.<item>": told, shown or done_back. */
struct checklist {
    const char *id, *title, *intro, *source;
    double order;
    const struct condition *shown_when;
    const struct teach_item *items;
    size_t item_count;
    struct mark mark;
};

/* ---- handouts/LANGUAGE/NAME.yaml ---------------------------------------------------------- */

enum part_kind {
    PART_TEXT,     /* lines as they are */
    PART_FINDINGS, /* every item with on_sheet that was answered */
    PART_TAUGHT,   /* sheet lines of what was taught, checklist by checklist */
    PART_DANGER,   /* sheet lines of danger items */
    PART_SUPPORT,  /* the support decided on, and its cautions */
};

struct handout_line {
    const char *text; /* with placeholders {dog.name}, {practice.phone}, {item:appetite} */
    bool bullet;
    const struct condition *when;
};

struct handout_part {
    enum part_kind kind;
    const char *heading;
    const struct condition *when;
    const struct handout_line *lines;
    size_t line_count;
    const char *const *only; /* PART_TAUGHT: these checklists; none: all */
    size_t only_count;
};

struct handout {
    const char *id, *language, *title;
    const struct handout_part *parts;
    size_t part_count;
    struct mark mark;
};

/* ---- languages/NAME.yaml ------------------------------------------------------------------ */

/* What a sheet says in another language: by what it is about ("bladder.find_it", "support.stepped",
 * "phrase.page"). What has no words here is said in English. */
struct phrase {
    const char *of, *text;
};
struct language {
    const char *id;   /* "es": also the folder of its handouts */
    const char *name; /* as its speakers write it; the choice of the caregiver */
    enum decimal_mark { DECIMAL_POINT, DECIMAL_COMMA } decimal_mark;
    const struct phrase *phrases;
    size_t phrase_count;
    struct mark mark;
};

/* ---- reviews.yaml ------------------------------------------------------------------------- */

/* When to look again. Days count from the day the frame was handed over, else from the first signed
 * visit; a step that repeats counts from the last visit. */
struct review_step {
    const char *id, *label;
    double days;
    bool again;                   /* from now on every so many days */
    const struct condition *when; /* repeating ones: the first that holds */
    const char *source;
    struct mark mark;
};

struct ladder_step {
    const char *id, *label;
    double minutes; /* of one walk */
};

enum ladder_move { LADDER_DOWN, LADDER_HOLD, LADDER_UP };
/* The gravest of those that hold decides: down before hold before up. */
struct ladder_rule {
    const char *id;
    enum ladder_move move;
    const struct condition *when;
    const char *reason, *source;
    struct mark mark;
};

/* A published range, shown with who and how many, never as a date. */
struct course {
    const char *id, *label; /* "from first signs to no longer walking" */
    const struct condition *when;
    const char *since;    /* item: the day it is counted from */
    double low, high;     /* days */
    const char *figure;   /* "median 10 months (95 % 9 to 12)" */
    const char *n, *plan; /* how many dogs; what to plan when the range opens */
    bool axle;            /* the plan is a step of the axle: it is worked out */
    const char *source;
    struct mark mark;
};

/* What of a trend opens the next stage. */
enum trend_opens { OPENS_NOTHING, OPENS_RISING, OPENS_FALLING, OPENS_MOVING, OPENS_PASSED };

/* What is followed over the months: an item or a measure. Numbers in base units (mm, kg). */
struct trend_of {
    const char *id, *label;
    const char *item;
    const struct score *scale; /* of a score: only its totals; NULL: the scale of the last one */
    double credible; /* least change that counts, whatever the readings say; 0: they alone do */
    bool has_threshold;
    double threshold;
    const char *threshold_words;
    enum trend_opens opens;
    const struct condition *when; /* the dogs whose next stage it opens */
    const char *plan;             /* that stage */
    bool axle;                    /* it is a step of the axle: it is worked out */
    const char *source;
    struct mark mark;
};

/* Urine cultures: so many days apart for the first few, then so many. */
struct culture_rule {
    const char *id;
    const struct condition *when;
    double first_days, then_days;
    int first_times;
    const char *source;
    struct mark mark;
};

/* ---- energy.yaml -------------------------------------------------------------------------- */

struct energy_factor {
    const char *id, *label;
    double factor; /* times resting energy */
    const char *source;
};

/* ---- practice.yaml ------------------------------------------------------------------------ */

struct practice {
    const char *name, *address, *phone, *emergency_phone, *email;
    const char *language;           /* "en" */
    const struct unit *length_unit; /* what lengths are shown in */
    const struct unit *mass_unit;
    const char *printer;    /* queue for lp, "" for the default one */
    bool ascii_sheets;      /* the printer knows ASCII only */
    int sheet_lines;        /* lines on a page, 60 */
    bool learn;             /* the practice's own dogs move the usual proportions */
    const char *sync;       /* folder or ssh://user@host/ to exchange with, "" when none */
    const char *scope_note; /* local rules: who may do what; printed where it matters */
};

/* ---- the set --------------------------------------------------------------------------------- */

struct template_set {
    struct arena *arena;
    struct practice practice;
    const struct form *forms; /* sorted by place, then order, then id */
    size_t form_count;
    const struct measure *measures; /* sorted: fixed first, then order */
    size_t measure_count;
    const struct body_type *body_types;
    size_t body_type_count;
    const struct breed *breeds; /* sorted by name */
    size_t breed_count;
    const struct relation *relations;
    size_t relation_count;
    const struct support *supports;
    size_t support_count;
    const struct support_rule *support_rules;
    size_t support_rule_count;
    struct triage triage;
    const struct frame *frames;
    size_t frame_count;
    const struct frame_dimension *frame_dimensions;
    size_t frame_dimension_count;
    const struct frame_accessory *frame_accessories;
    size_t frame_accessory_count;
    const struct frame_contact *frame_contacts;
    size_t frame_contact_count;
    const struct relief_rule *relief_rules;
    size_t relief_rule_count;
    const struct stage *stages;
    size_t stage_count;
    struct bench_rules bench;
    const struct checklist *checklists; /* sorted by order */
    size_t checklist_count;
    const struct handout *handouts;
    size_t handout_count;
    const struct energy_factor *energy_factors;
    size_t energy_factor_count;
    const struct accessory_rule *accessory_rules;
    size_t accessory_rule_count;
    const struct score *scores;
    size_t score_count;
    const struct review_step *review_steps; /* in the file's order */
    size_t review_step_count;
    const struct ladder_step *ladder_steps;
    size_t ladder_step_count;
    const struct ladder_rule *ladder_rules;
    size_t ladder_rule_count;
    const struct course *courses;
    size_t course_count;
    const struct trend_of *trends;
    size_t trend_count;
    const struct culture_rule *culture_rules;
    size_t culture_rule_count;
    const struct language *languages;
    size_t language_count;
};

/* Messages of one load, each "file:line:column: what was expected", at most 20 and then how many
 * more were left unsaid. */
struct template_report {
    struct text *lines; /* the caller's, one message a line */
    size_t count;
};

/* Load the shipped folder and lay the practice's folder over it, file by file (NULL or missing:
 * nothing to lay). A file of the same path replaces the shipped one; another file adds to it, and
 * a form that says `add_to: history` appends its items to that form.
 * Returns a set that the caller frees, or NULL with the report filled. Never a half-loaded set. */
struct template_set *template_load(const char *shipped, const char *overlay,
                                   struct template_report *report);
/* Who the practice is and nothing else, for a first paint that waits for nothing else: a set
 * without forms, measures and rules. NULL when practice.yaml cannot be used; template_load then
 * says why. */
struct template_set *template_load_practice(const char *shipped, const char *overlay);
void template_free(struct template_set *set);

const struct form *template_form(const struct template_set *set, const char *id);
const struct item *template_item(const struct template_set *set, const char *id);
const struct measure *template_measure(const struct template_set *set, const char *id);
const struct support *template_support(const struct template_set *set, const char *id);
const struct breed *template_breed(const struct template_set *set, const char *name); /* folded */
const struct body_type *template_body_type(const struct template_set *set, const char *id);
const struct checklist *template_checklist(const struct template_set *set, const char *id);
/* The handout in the wanted language, else in the practice's, else in English, else NULL. */
const struct handout *template_handout(const struct template_set *set, const char *id,
                                       const char *language);
const struct score *template_score(const struct template_set *set, const char *id);
/* The id of a language by its id or its name ("es", "español"); "en" when it is not known. */
const char *template_language(const struct template_set *set, const char *named);
/* What stands between the digits of 9.4 on its sheets: '.' or ','. */
char template_decimal(const struct template_set *set, const char *language);
/* What `of` is called on a sheet in that language, else `english`. */
const char *template_say(const struct template_set *set, const char *language, const char *of,
                         const char *english);
const char *item_kind_name(enum item_kind k);
const char *item_kind_told(enum item_kind k);

#endif
