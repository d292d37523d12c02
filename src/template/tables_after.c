/* scores.yaml, reviews.yaml, languages/NAME.yaml: what the months after a visit are read by. */
#include "template/tables.h"

/* ---- scores.yaml -------------------------------------------------------------------------- */

static const struct field score_cut_fields[] = {
    {"from", FIELD_WHOLE, AT(score_cut, from), .required = true, .low = 0, .high = 1000,
     .help = "The least total that the words hold for"},
    {"words", FIELD_LINE, AT(score_cut, words), .required = true, .help = "What it is called"},
    {"alert", FIELD_YESNO, AT(score_cut, alert), .help = "Whether a person should look at it now"},
};
const struct schema score_cut_schema = {"cut", ROWS(score_cut_fields), sizeof(struct score_cut)};

static void finish_score(struct loading *l, const struct node *n, void *owner)
{
    const struct score *s = owner;
    for (size_t i = 1; i < s->cut_count; i++)
        if (!(s->cuts[i].from > s->cuts[i - 1].from))
            complain(&l->complaints, mark_at(n, "cuts"), "cuts: from must rise from cut to cut");
    if (s->cut_count > 0 && s->cuts[s->cut_count - 1].from > s->most)
        complain(&l->complaints, mark_at(n, "cuts"), "cuts: the last is above the greatest total");
}

static const struct field score_fields[] = {
    {"id", FIELD_ID, AT(score, id), .required = true,
     .help = "Name of the scale, kept with every total"},
    {"label", FIELD_LINE, AT(score, label), .required = true, .help = "What is shown"},
    {"version", FIELD_LINE, AT(score, version), .required = true,
     .help = "Which version, in one word; kept with every total"},
    {"most", FIELD_WHOLE, AT(score, most), .required = true, .low = 1, .high = 1000,
     .help = "The greatest total: what it is out of"},
    {"less_is_better", FIELD_YESNO, AT(score, less_is_better),
     .help = "Whether a smaller total is the better one"},
    {"change", FIELD_NUMBER, AT(score, change), .low = 0, .high = 1000,
     .help = "The smallest change that its source calls real; left out where none was found"},
    {"cuts", FIELD_LIST, LISTED(score, cuts, cut_count), .of = &score_cut_schema,
     .help = "Published cut-offs, rising"},
    {"source", FIELD_LINE, AT(score, source), .required = true, .help = "Who says so"},
};
const struct schema score_schema = {"score", ROWS(score_fields), sizeof(struct score),
                                    .mark_offset = offsetof(struct score, mark),
                                    .finish = finish_score};

static const struct field scores_fields[] = {
    {"scores", FIELD_LIST, LISTED(template_set, scores, score_count), .required = true,
     .of = &score_schema, .unique = "id", .help = "The scales"},
};
const struct schema scores_schema = {"scores", ROWS(scores_fields), sizeof(struct template_set)};

/* ---- reviews.yaml ------------------------------------------------------------------------- */

static const struct field review_step_fields[] = {
    {"id", FIELD_ID, AT(review_step, id), .required = true, .help = "Name of the step"},
    {"label", FIELD_LINE, AT(review_step, label), .required = true, .help = "What is shown"},
    {"days", FIELD_NUMBER, AT(review_step, days), .required = true, .low = 1, .high = 1000,
     .help = "Days after the frame was handed over, else after the first visit"},
    {"again", FIELD_YESNO, AT(review_step, again),
     .help = "Whether it comes back every so many days once the others are over"},
    {"when", FIELD_CONDITION, AT(review_step, when),
     .help = "When it holds; of those that come back the first that does"},
    {"source", FIELD_LINE, AT(review_step, source), .required = true, .help = "Who says so"},
};
const struct schema review_step_schema = {"review", ROWS(review_step_fields),
                                          sizeof(struct review_step),
                                          .mark_offset = offsetof(struct review_step, mark)};

static const struct field ladder_step_fields[] = {
    {"id", FIELD_ID, AT(ladder_step, id), .required = true, .help = "Name of the step"},
    {"label", FIELD_LINE, AT(ladder_step, label), .required = true, .help = "What is shown"},
    {"minutes", FIELD_NUMBER, AT(ladder_step, minutes), .low = 0, .high = 1440,
     .help = "Minutes of one walk"},
};
const struct schema ladder_step_schema = {"ladder step", ROWS(ladder_step_fields),
                                          sizeof(struct ladder_step)};

static const struct word moves[] = {
    {"down", LADDER_DOWN}, {"hold", LADDER_HOLD}, {"up", LADDER_UP}, {NULL, 0}};

static const struct field ladder_rule_fields[] = {
    {"id", FIELD_ID, AT(ladder_rule, id), .required = true, .help = "Name of the rule"},
    {"move", FIELD_WORD, AT(ladder_rule, move), .required = true, .words = moves,
     .help = "What it does to the ladder; down is graver than hold, and hold than up"},
    {"when", FIELD_CONDITION, AT(ladder_rule, when), .required = true, .help = "When it holds"},
    {"reason", FIELD_LINE, AT(ladder_rule, reason), .required = true, .help = "Why"},
    {"source", FIELD_LINE, AT(ladder_rule, source), .required = true, .help = "Who says so"},
};
const struct schema ladder_rule_schema = {"ladder rule", ROWS(ladder_rule_fields),
                                          sizeof(struct ladder_rule),
                                          .mark_offset = offsetof(struct ladder_rule, mark)};

static void finish_course(struct loading *l, const struct node *n, void *owner)
{
    const struct course *c = owner;
    if (c->low > c->high)
        complain(&l->complaints, mark_at(n, "high_days"), "high_days: must not be below low_days");
}

static const struct field course_fields[] = {
    {"id", FIELD_ID, AT(course, id), .required = true, .help = "Name of the range"},
    {"label", FIELD_LINE, AT(course, label), .required = true, .help = "From what to what"},
    {"when", FIELD_CONDITION, AT(course, when), .required = true, .help = "Which dogs it is about"},
    {"since", FIELD_DOTTED, AT(course, since), .required = true,
     .help = "The item whose day it is counted from"},
    {"low_days", FIELD_NUMBER, AT(course, low), .required = true, .low = 0, .high = 10000,
     .help = "Where the range opens"},
    {"high_days", FIELD_NUMBER, AT(course, high), .required = true, .low = 0, .high = 10000,
     .help = "Where it ends"},
    {"figure", FIELD_LINE, AT(course, figure), .required = true, .help = "The figure as published"},
    {"n", FIELD_LINE, AT(course, n), .required = true, .help = "How many dogs it rests on"},
    {"plan", FIELD_LINE, AT(course, plan), .help = "What to plan when the range opens"},
    {"axle", FIELD_YESNO, AT(course, axle),
     .help = "Whether the plan is a step of the axle, which is then worked out"},
    {"source", FIELD_LINE, AT(course, source), .required = true, .help = "Who says so"},
};
const struct schema course_schema = {"course", ROWS(course_fields), sizeof(struct course),
                                     .mark_offset = offsetof(struct course, mark),
                                     .finish = finish_course};

static void finish_trend(struct loading *l, const struct node *n, void *owner)
{
    struct trend_of *t = owner;
    t->has_threshold = node_get(n, "threshold") != NULL;
    if (t->opens == OPENS_PASSED && !t->has_threshold)
        complain(&l->complaints, mark_at(n, "opens"), "opens: passed needs a threshold");
    if ((t->opens != OPENS_NOTHING) != (*t->plan != '\0'))
        complain(&l->complaints, n->mark, "opens and plan belong together");
}

static const struct word openings[] = {{"rises", OPENS_RISING},
                                       {"falls", OPENS_FALLING},
                                       {"moves", OPENS_MOVING},
                                       {"passed", OPENS_PASSED},
                                       {NULL, 0}};

static const struct field trend_fields[] = {
    {"id", FIELD_ID, AT(trend_of, id), .required = true, .help = "Name of the trend"},
    {"label", FIELD_LINE, AT(trend_of, label), .required = true, .help = "What is shown"},
    {"item", FIELD_DOTTED, AT(trend_of, item), .required = true,
     .help = "The item, measure or score that is followed, or fore_share"},
    {"scale", FIELD_REF, AT(trend_of, scale), .to = TO_SCORE,
     .help = "Of a score: the scale whose totals are followed; left out: that of the last total"},
    {"credible", FIELD_NUMBER, AT(trend_of, credible), .low = 0, .high = 100000,
     .help = "The least change that counts as real, in mm, kg or the item's own unit; what the "
             "readings themselves show is added to it"},
    {"threshold", FIELD_NUMBER, AT(trend_of, threshold), .low = 0, .high = 100000,
     .help = "The value that is waited for, in the same unit"},
    {"threshold_words", FIELD_LINE, AT(trend_of, threshold_words), .help = "What it means"},
    {"opens", FIELD_WORD, AT(trend_of, opens), .words = openings,
     .help = "What opens the next stage: the value really rises, falls or moves, or has passed the "
             "threshold"},
    {"when", FIELD_CONDITION, AT(trend_of, when), .help = "The dogs whose next stage that is"},
    {"plan", FIELD_LINE, AT(trend_of, plan), .help = "What to plan then"},
    {"axle", FIELD_YESNO, AT(trend_of, axle),
     .help = "Whether the plan is a step of the axle, which is then worked out"},
    {"source", FIELD_LINE, AT(trend_of, source), .required = true, .help = "Who says so"},
};
const struct schema trend_schema = {"trend", ROWS(trend_fields), sizeof(struct trend_of),
                                    .mark_offset = offsetof(struct trend_of, mark),
                                    .finish = finish_trend};

static const struct field culture_rule_fields[] = {
    {"id", FIELD_ID, AT(culture_rule, id), .required = true, .help = "Name of the rule"},
    {"when", FIELD_CONDITION, AT(culture_rule, when), .required = true,
     .help = "Which dogs it is about; the first rule that holds counts"},
    {"first_days", FIELD_NUMBER, AT(culture_rule, first_days), .required = true, .low = 1,
     .high = 1000, .help = "Days from one urine culture to the next, at first"},
    {"first_times", FIELD_WHOLE, AT(culture_rule, first_times), .required = true, .low = 0,
     .high = 100, .help = "How many are at first"},
    {"then_days", FIELD_NUMBER, AT(culture_rule, then_days), .required = true, .low = 1,
     .high = 1000, .help = "Days from one to the next, later"},
    {"source", FIELD_LINE, AT(culture_rule, source), .required = true, .help = "Who says so"},
};
const struct schema culture_rule_schema = {"culture rule", ROWS(culture_rule_fields),
                                           sizeof(struct culture_rule),
                                           .mark_offset = offsetof(struct culture_rule, mark)};

static const struct field reviews_fields[] = {
    {"reviews", FIELD_LIST, LISTED(template_set, review_steps, review_step_count), .required = true,
     .of = &review_step_schema, .unique = "id", .help = "When to look again"},
    {"ladder", FIELD_LIST, LISTED(template_set, ladder_steps, ladder_step_count),
     .of = &ladder_step_schema, .unique = "id", .help = "The steps of wearing a frame, rising"},
    {"ladder_rules", FIELD_LIST, LISTED(template_set, ladder_rules, ladder_rule_count),
     .of = &ladder_rule_schema, .unique = "id", .help = "What moves a dog on the ladder"},
    {"courses", FIELD_LIST, LISTED(template_set, courses, course_count), .of = &course_schema,
     .unique = "id", .help = "Published ranges"},
    {"trends", FIELD_LIST, LISTED(template_set, trends, trend_count), .of = &trend_schema,
     .unique = "id", .help = "What is followed over the months"},
    {"cultures", FIELD_LIST, LISTED(template_set, culture_rules, culture_rule_count),
     .of = &culture_rule_schema, .unique = "id", .help = "When urine is to be cultured"},
};
const struct schema reviews_schema = {"reviews", ROWS(reviews_fields), sizeof(struct template_set)};

/* ---- languages/NAME.yaml ------------------------------------------------------------------ */

static void finish_language(struct loading *l, const struct node *n, void *owner)
{
    (void)n;
    struct language *one = growing_add(l->arena, &l->languages, sizeof *one);
    *one = *(const struct language *)owner;
}

static const struct field phrase_fields[] = {
    {"of", FIELD_DOTTED, AT(phrase, of), .required = true,
     .help = "What it is about: CHECKLIST.POINT or CHECKLIST for its title, item.ID, support.ID, "
             "choice.ITEM.CHOICE, summary.SUPPORT, rule.ID, phrase.NAME"},
    {"text", FIELD_TEXT, AT(phrase, text), .required = true, .help = "What the sheet says"},
};
const struct schema phrase_schema = {"phrase", ROWS(phrase_fields), sizeof(struct phrase)};

static const struct word decimal_marks[] = {
    {"point", DECIMAL_POINT}, {"comma", DECIMAL_COMMA}, {NULL, 0}};

static const struct field language_fields[] = {
    {"language", FIELD_ID, AT(language, id), .required = true,
     .help = "Name of the language, and of the folder of its handouts"},
    {"name", FIELD_LINE, AT(language, name), .required = true,
     .help = "What the language calls itself; a caregiver's language may be written so"},
    {"decimal_mark", FIELD_WORD, AT(language, decimal_mark), .words = decimal_marks,
     .help = "What stands in 9.4 kg on its sheets; a point when left out"},
    {"phrases", FIELD_LIST, LISTED(language, phrases, phrase_count), .required = true,
     .of = &phrase_schema, .unique = "of", .help = "Its words; what is missing is said in English"},
};
const struct schema language_schema = {"language", ROWS(language_fields), sizeof(struct language),
                                       .mark_offset = offsetof(struct language, mark),
                                       .finish = finish_language};
