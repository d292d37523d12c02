/* Measurements: readings, the value used, and what the dog's own proportions say of it. */
#ifndef AMBLE_CASEBOOK_MEASURING_H
#define AMBLE_CASEBOOK_MEASURING_H

#include "casebook/casebook.h"

enum { READINGS_MOST = 3 };

enum beside { BESIDE_NONE, BESIDE_USUAL, BESIDE_LOW, BESIDE_HIGH };

struct relation_check {
    const struct relation *relation;
    const struct band *band;
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
    double used;                         /* mean of two, median of three; valid when count > 0 */
    double spread;                       /* greatest minus least */
    double limit;                        /* how far two readings may part */
    const struct relation_check *checks; /* relations in which it is `of`, both sides known */
    size_t check_count;
    enum beside verdict; /* the worst of the checks */
    bool accepted;       /* "checked, it is so": item <id>.so of the visit */
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
};
void measuring_look(const struct chart *c, struct measuring *out);
/* "withers_height.2": the item a reading is kept under; in `a`. reading is 1, 2 or 3. */
const char *reading_item(struct arena *a, const struct measure *m, int reading);
/* Read what was typed for a reading: canonical "<number> mm", in the practice's unit when none is
 * written. Refuses what no dog measures (measure.low, .high), and says if another unit would fit.
 */
bool reading_read(const struct template_set *set, const struct measure *m, const char *typed,
                  struct arena *a, const char **canonical, struct fault *f);
const char *reading_show(const struct template_set *set, const struct measure *m, double base,
                         struct arena *a); /* number only, in the practice's unit */
const struct unit *measure_unit(const struct template_set *set, const struct measure *m);
struct section_state measuring_state(const struct chart *c);
/* The ids in words for a shell or a condition: the used value in mm or kg as text, or NULL. */
const char *measure_fact(const struct chart *c, const char *measure);

#endif
