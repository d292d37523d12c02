/* The build sheet as data: what a builder who has never seen the dog cuts metal from.
 *
 * It is made from the setting kept on the visit, frozen as one finding of it (item "build.sheet",
 * JSON), and read back from there: what was frozen never changes. Freezing again makes the next
 * version, which says what changed. */
#ifndef AMBLE_CASEBOOK_BUILD_H
#define AMBLE_CASEBOOK_BUILD_H

#include "casebook/bench.h"

struct text;

struct build_dimension {
    const char *id, *label;
    double build_mm;           /* cut to this: ease and the side that errs are in it */
    double snug_mm, ease_mm;   /* what was measured, what was added */
    double made_within_mm;     /* by the builder, each way */
    double measures_within_mm; /* what the measures may be off by, each way */
    const char *errs;          /* "long", "short", "either" */
    const char *from;          /* "Hip width 132 mm (MK, readings 1 mm apart)" */
    const char *note, *source;
    bool fixed; /* cannot be adjusted later */
};
struct build_number { /* loads and limits as the bench shows them */
    const char *label, *value, *within, *more;
};
struct build_lines {
    const char *const *lines;
    size_t count;
};

struct build {
    int version;
    const char *day, *by, *dog, *visit_day; /* ISO days; `by`: initials */
    const char *support, *frame_id, *frame, *model, *folds, *photo, *movement;
    double withers_mm, normal_n, axle_mm, ahead_mm, wheel_mm, track_mm, front_axle_mm;
    double width_mm, length_mm, height_mm, mass_kg; /* of the finished frame */
    struct balance_in in;
    struct balance_out out;
    const struct build_dimension *dimensions; /* what cannot be adjusted first */
    size_t dimension_count;
    const struct build_number *numbers;
    size_t number_count;
    struct build_lines accessories, contacts, overridden, ahead, changes;
};

/* From the visit as it stands. FAULT_MISSING names what is missing: no setting kept, a measure that
 * a dimension follows from, or the setting refused. */
bool build_make(const struct chart *c, struct build *out, struct fault *f);
/* Freeze it: one entry; *version is what it became. Refuses when nothing changed. */
bool build_freeze(struct chart *c, int *version, struct fault *f);
/* The newest frozen sheet of the dog up to this visit. FAULT_MISSING when there is none. */
bool build_frozen(const struct chart *c, struct build *out, struct fault *f);

/* One dimension of the frames of a support, for this dog. FAULT_MISSING when a measure is not
 * taken, FAULT_INPUT when frames of this support have no such dimension. */
bool build_dimension_of(const struct chart *c, const struct support *support, const char *id,
                        struct build_dimension *out, struct fault *f);

void build_json(const struct build *b, struct text *out);
bool build_read(const char *json, struct arena *a, struct build *out, struct fault *f);

#endif
