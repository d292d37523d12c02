/* Totals of scales. A bare number is never kept: the value says total, what it is out of, scale and
 * version, as in "5 of 20 glasgow_still short_form". */
#ifndef AMBLE_CASEBOOK_SCORES_H
#define AMBLE_CASEBOOK_SCORES_H

#include "base/fault.h"
#include "template/template.h"

struct arena;

struct score_kept {
    int total, most;
    const struct score *scale; /* NULL: no longer in the practice's scores, or with another most */
};
/* False when it is no score, or names a scale or a version that this practice does not have. */
bool score_parse(const struct template_set *set, const char *canonical, struct score_kept *out);

/* "16" where there is one scale or where "16/72" tells which; a whole number within the scale. */
bool score_read(const struct item *item, const char *typed, struct arena *a, const char **canonical,
                struct fault *f);
const char *score_edit(const char *canonical, struct arena *a); /* "5/20" */
/* "5 of 20, Glasgow short-form pain score, dog not walked: at or above the published alert". A
 * total of a scale or version that is not here is shown as it was kept and judged by nobody. */
const char *score_show(const struct template_set *set, const char *canonical, struct arena *a);
const char *score_words(const struct score_kept *kept, struct arena *a); /* the same */
/* The published cut the total lies in; NULL where there is none. */
const struct score_cut *score_cut_of(const struct score_kept *kept);

#endif
