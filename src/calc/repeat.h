/* How well an observer repeats a measurement, and what change is then real.
 *
 * TEM = sqrt(sum over subjects of (sum of squared deviations from the subject's mean) / sum(k -
 * 1)), which is sqrt(sum d^2 / 2n) for pairs; reliability = 1 - TEM^2 / SD^2 with the SD of all
 * readings; smallest credible change at 95 % = 1.96 * sqrt(2) * TEM. Source: Ulijaszek and Kerr
 * 1999, Br J Nutr 82:165-177.
 */
#ifndef AMBLE_CALC_REPEAT_H
#define AMBLE_CALC_REPEAT_H

#include "base/fault.h"
#include "calc/key.h"
#include <stdbool.h>
#include <stddef.h>

struct repeat_subject {
    const double *readings;
    size_t count; /* two or more */
};

struct repeat_out {
    double tem;             /* unit of the readings */
    double tem_percent;     /* of the grand mean */
    double reliability;     /* 0 to 1 for usual data; 0 when all readings are the same */
    double credible_change; /* unit of the readings */
};
bool repeat_solve(const struct repeat_subject *subjects, size_t count, struct repeat_out *out,
                  struct fault *f);

/* Intraclass correlations: how far readings of one subject agree beside how subjects differ. For
 * each subject one reading of every observer (or round), in the same order. 1: any observers; 2:
 * these stand for all; 3: these alone, a constant offset between them not counted. `_k`: of the
 * mean of all k readings. Below 0 it is no agreement. Source: Shrout and Fleiss 1979, Psychol Bull
 * 86:420 (from memory; formulas as in the R package DescTools). */
struct agreement_out {
    double icc_1, icc_2, icc_3, icc_1k, icc_2k, icc_3k;
};
/* Two subjects or more, the same two or more readings of each; refuses readings that leave nothing
 * to compare. */
bool agreement_solve(const struct repeat_subject *subjects, size_t count, struct agreement_out *out,
                     struct fault *f);

/* The value used from one to three readings: itself, mean of two, median of three. `spread` (may be
 * NULL) is greatest minus least. Source of the rule: mean of two, a third and the median when they
 * part (ISAK-style practice, as quoted in clinical texts). */
bool repeat_used(const double *readings, size_t count, double *used, double *spread,
                 struct fault *f);

/* Share of the weight on the fore feet from two bathroom scales, each read the same number of
 * times. `cv_percent` is the coefficient of variation of the shares (0 from a single pair). Normal:
 * 63 +- 3 % in 25 small chondrodystrophic dogs, two scales the most repeatable of four set-ups (BMC
 * Vet Res 2021, s12917-021-02808-x); 60.4 % over 123 breeds (Anat Rec 2021, 304:78-89). */
struct fore_share_out {
    double share, sd, cv_percent;
    double mass_kg; /* mean of the sums, beside the weight that was recorded */
};
bool fore_share_solve(const double *fore_kg, const double *hind_kg, size_t count,
                      struct fore_share_out *out, struct fault *f);

extern const struct calc_key repeat_keys_out[];
extern const size_t repeat_keys_out_count;
extern const struct calc_key agreement_keys_out[];
extern const size_t agreement_keys_out_count;

#endif
