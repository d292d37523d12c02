/* Measurements: readings, the value used, and what the dog's own proportions say of it. */
#ifndef AMBLE_CASEBOOK_MEASURING_H
#define AMBLE_CASEBOOK_MEASURING_H

#include "casebook/observers.h"

enum { READINGS_MOST = 3 };

enum beside { BESIDE_NONE, BESIDE_USUAL, BESIDE_LOW, BESIDE_HIGH };

/* What a ratio is held against: the strongest there is. */
enum reference { BY_PUBLISHED, BY_PRACTICE, BY_DOG };

struct learned;

struct relation_check {
    const struct relation *relation;
    const struct band *band;       /* as published, NULL where there is none */
    const struct learned *learned; /* the practice's own dogs of this body type, or NULL */
    enum reference reference;      /* where low and high come from */
    double low, high;              /* the band in use */
    double ratio;
    enum beside verdict;
};

struct measure_row {
    const struct measure *measure;
    bool needed;                    /* for the support in mind */
    double readings[READINGS_MOST]; /* base unit (mm, kg, share) */
    bool have[READINGS_MOST];
    int count;
    bool third_wanted;                   /* two are in and part by more than the tolerance */
    double used;                         /* mean of two, median of three; valid when count > 0; not
                                            to be shown or compared while a third is wanted */
    double spread;                       /* greatest minus least */
    double limit;                        /* how far two readings may part */
    const struct relation_check *checks; /* relations in which it is `of`, both sides known */
    size_t check_count;
    enum beside verdict;      /* the worst of the checks */
    bool accepted;            /* "checked, it is so": item <id>.so of the visit */
    bool triple;              /* usually read three times: a third is offered, not demanded */
    bool has_before;          /* an earlier visit of this dog has it */
    double before;            /* the value used then */
    const char *before_day;   /* "2026-06-27", "" when not known */
    const char *by_before;    /* who read it then, "" when not known */
    struct credible credible; /* a change beyond this is real */
};

struct measuring {
    const struct body_type *body_type; /* NULL: not known */
    struct measure_row *rows;          /* in the set's order */
    size_t count;
    size_t suspect;            /* row most likely wrong, or `count` when none */
    double suspect_share;      /* 0 to 1 */
    size_t rival;              /* row it cannot be told from ("this or that"), or `count` */
    const char *slip;          /* "two digits swapped" when that explains it well, or "" */
    const struct cause *cause; /* what usually causes it, or NULL */
    bool posture_done;         /* every posture tick of the template is set */
    bool posture_again;        /* the suspect's cause is posture, not looked at again so far */
};
void measuring_look(const struct chart *c, struct measuring *out);
/* "withers_height.2": the item a reading is kept under; in `a`. reading is 1, 2 or 3. */
const char *reading_item(struct arena *a, const struct measure *m, int reading);
/* Read what was typed for a reading: canonical "<number> mm", in the practice's unit when none is
 * written. Refuses what no dog measures (measure.low, .high), and says if another unit would fit.
 */
bool reading_read(const struct template_set *set, const struct measure *m, const char *typed,
                  struct arena *a, const char **canonical, struct fault *f);
/* Why a number, read all right, looks like a slip of the hand beside the row's other reading, last
 * time or the other measures: "ten times ...", in words for the person; NULL when it does not.
 * `blind`: say no number of the row. */
const char *reading_slip(const struct chart *c, const struct measuring *m, size_t row, int reading,
                         double base, bool blind);
const char *reading_show(const struct template_set *set, const struct measure *m, double base,
                         struct arena *a); /* number only, in the practice's unit */
const struct unit *measure_unit(const struct template_set *set, const struct measure *m);
struct section_state measuring_state(const struct chart *c);
/* The suspect's posture was looked at again: item <id>.posture of the visit. */
const char *posture_item(struct arena *a, const struct measure *m);

/* ---- in words, "" when there is nothing to say; in the chart's arena ------------------------- */

/* "0.82 of withers height; yours: 0.66, n 41; usual 0.61 to 0.72" */
const char *measure_beside_words(const struct chart *c, const struct relation_check *check);
/* Is it beyond what is credible as noise since last time? */
bool measure_moved(const struct measure_row *row);
/* Who read a measure of a visit, "" when nobody did. */
const char *reading_author(const struct record *visit, const struct measure *m);
/* "12 mm more than last time (27 Jun), beyond what two readings differ (5 mm)" */
const char *measure_since_words(const struct chart *c, const struct measure_row *row);
/* "the program adds 10 mm for the inside width at the hips: do not add it yourself" */
const char *measure_ease_words(const struct chart *c, const struct measure *m);
/* What was changed after signing, entered in error or is disputed among a measure's readings: "2nd
 * after signing, by IV: read again" */
const char *measure_mark(const struct chart *c, const struct measure *m);
/* The same of whatever the visit was asked: measure_mark of a measure, finding_mark of an answer.
 */
const char *item_mark(const struct chart *c, const char *item);
/* "coat 16 mm deep at the hips: go in 8 mm" */
const char *measure_coat_words(const struct chart *c, const struct measure *m);
/* "fore share 62.8 %, CV 1.2 % of 3; usual 63 +- 3 % (low and long); sum 9.3 kg of 9.4 kg" */
const char *measure_share_words(const struct chart *c, const struct measuring *m);
/* The ids in words for a shell or a condition: the used value in mm or kg as text, or NULL. */
const char *measure_fact(const struct chart *c, const char *measure);

#endif
