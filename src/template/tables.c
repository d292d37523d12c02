#include "template/tables.h"

struct mark mark_at(const struct node *n, const char *key)
{
    const struct node *value = node_get(n, key);
    return value != NULL ? value->mark : n->mark;
}

const struct file_kind *file_kinds(size_t *count)
{
    static const struct file_kind kinds[] = {
        {"practice.yaml", .required = true, .schema = &practice_schema,
         .offset = offsetof(struct template_set, practice),
         .help = "Who the practice is, its units and its printer"},
        {"forms/NAME.yaml", .folder = "forms", .schema = &form_schema, .help = "Questions"},
        {"measures.yaml", .schema = &measures_schema, .help = "What is measured, and how"},
        {"proportions.yaml", .schema = &proportions_schema,
         .help = "Body types, breeds, and what is usual between measures"},
        {"supports.yaml", .schema = &supports_schema, .help = "Kinds of support and rules"},
        {"triage.yaml", .required = true, .schema = &triage_schema,
         .offset = offsetof(struct template_set, triage), .help = "Emergency or not"},
        {"frames.yaml", .schema = &frames_schema,
         .help = "Frames, what they are cut to, and what is wanted of them"},
        {"checklists/NAME.yaml", .folder = "checklists", .schema = &checklist_schema,
         .help = "What is taught"},
        {"handouts/LANGUAGE/NAME.yaml", .folder = "handouts", .schema = &handout_schema,
         .help = "What is printed for the caregiver"},
        {"languages/NAME.yaml", .folder = "languages", .schema = &language_schema,
         .help = "What sheets say in another language"},
        {"scores.yaml", .schema = &scores_schema, .help = "Scales of which the total is kept"},
        {"reviews.yaml", .schema = &reviews_schema,
         .help = "When to look again, and what moves the ladder"},
        {"energy.yaml", .schema = &energy_schema, .help = "Factors for the food"},
    };
    *count = COUNT_OF(kinds);
    return kinds;
}

const struct schema *const *schemas(size_t *count)
{
    static const struct schema *const all[] = {
        &practice_schema,
        &form_schema,
        &item_schema,
        &choice_schema,
        &measures_schema,
        &measure_schema,
        &cause_schema,
        &proportions_schema,
        &body_type_schema,
        &breed_schema,
        &relation_schema,
        &band_schema,
        &supports_schema,
        &support_schema,
        &support_rule_schema,
        &accessory_rule_schema,
        &triage_schema,
        &triage_rule_schema,
        &frames_schema,
        &frame_schema,
        &frame_dimension_schema,
        &frame_term_schema,
        &frame_accessory_schema,
        &frame_contact_schema,
        &relief_rule_schema,
        &stage_schema,
        &checklist_schema,
        &teach_item_schema,
        &handout_schema,
        &handout_part_schema,
        &handout_line_schema,
        &language_schema,
        &phrase_schema,
        &scores_schema,
        &score_schema,
        &score_cut_schema,
        &reviews_schema,
        &review_step_schema,
        &ladder_step_schema,
        &ladder_rule_schema,
        &course_schema,
        &trend_schema,
        &culture_rule_schema,
        &energy_schema,
        &energy_factor_schema,
    };
    *count = sizeof all / sizeof(const struct schema *);
    return all;
}
