/* Shorthand for the rows of the tables, and the schemas that the files are read with. */
#ifndef AMBLE_TEMPLATE_TABLES_H
#define AMBLE_TEMPLATE_TABLES_H

#include "template/schema.h"

#define AT(s, m)        .offset = offsetof(struct s, m)
#define LISTED(s, m, n) .offset = offsetof(struct s, m), .count_offset = offsetof(struct s, n)
#define COUNT_OF(a)     (sizeof(a) / sizeof *(a))
#define ROWS(a)         .fields = (a), .field_count = COUNT_OF(a)

extern const struct schema practice_schema, form_schema, item_schema, choice_schema;
extern const struct schema measures_schema, measure_schema, cause_schema;
extern const struct schema proportions_schema, body_type_schema, breed_schema, relation_schema,
    band_schema;
extern const struct schema supports_schema, support_schema, support_rule_schema;
extern const struct schema triage_schema, triage_rule_schema;
extern const struct schema frames_schema, frame_schema, frame_term_schema, frame_dimension_schema,
    frame_accessory_schema, frame_contact_schema, relief_rule_schema, stage_schema;
extern const struct schema checklist_schema, teach_item_schema;
extern const struct schema handout_schema, handout_part_schema, handout_line_schema;
extern const struct schema accessory_rule_schema;
extern const struct schema scores_schema, score_schema, score_cut_schema;
extern const struct schema reviews_schema, review_step_schema, ladder_step_schema,
    ladder_rule_schema, course_schema, trend_schema, culture_rule_schema;
extern const struct schema language_schema, phrase_schema;
extern const struct schema energy_schema, energy_factor_schema;

/* A structure's own mark when a check fails in it: the value of `key`, or the whole of it. */
struct mark mark_at(const struct node *n, const char *key);

#endif
