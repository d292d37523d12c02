/* measures.yaml and proportions.yaml. */
#include "base/units.h"
#include "template/tables.h"

/* ---- measures.yaml ------------------------------------------------------------------------ */

static const struct word directions[] = {{"high", 1}, {"low", -1}, {"either", 0}, {NULL, 0}};

static const struct field cause_fields[] = {
    {"text", FIELD_LINE, AT(cause, text), .required = true,
     .help = "What usually went wrong, as the end of a sentence: the hips were lifted"},
    {"remedy", FIELD_LINE, AT(cause, remedy), .required = true,
     .help = "What to do now: let the hind feet stand, then take it once more"},
    {"direction", FIELD_WORD, AT(cause, direction), .words = directions,
     .help = "Which way it makes the measure read; either when left out"},
    {"posture", FIELD_YESNO, AT(cause, posture),
     .help = "Whether the posture ticks are asked again"},
};
const struct schema cause_schema = {"cause", ROWS(cause_fields), sizeof(struct cause)};

static const struct unit *measure_unit_of(const void *owner)
{
    const struct measure *m = owner;
    return m->unit != NULL ? m->unit : unit_base(m->dimension);
}

static void finish_measure(struct loading *l, const struct node *n, void *owner)
{
    struct measure *m = owner;
    if (m->readings == 0)
        m->readings = 2;
    if (m->unit == NULL)
        m->unit = unit_base(m->dimension);
    else if (m->dimension != DIM_NONE && m->unit->dimension != m->dimension)
        complain(&l->complaints, mark_at(n, "unit"), "unit: %s does not fit the dimension",
                 m->unit->name);
    if (node_get(n, "tolerance") == NULL && node_get(n, "tolerance_share") == NULL)
        complain(&l->complaints, n->mark,
                 "measure: one of the keys \"tolerance\" and \"tolerance_share\" is needed");
}

static const struct word dimensions[] = {{"length", DIM_LENGTH},
                                         {"mass", DIM_MASS},
                                         {"angle", DIM_ANGLE},
                                         {"share", DIM_SHARE},
                                         {NULL, 0}};

static const struct field measure_fields[] = {
    {"id", FIELD_ID, AT(measure, id), .required = true,
     .help = "Name under which the readings are kept"},
    {"label", FIELD_LINE, AT(measure, label), .required = true, .help = "What is shown"},
    {"how", FIELD_TEXT, AT(measure, how), .required = true,
     .help = "One or two lines: the posture and the landmarks"},
    {"dimension", FIELD_WORD, AT(measure, dimension), .required = true, .words = dimensions,
     .help = "What is measured"},
    {"unit", FIELD_UNIT, AT(measure, unit),
     .help = "Shown in this unless the practice says otherwise; also what a number without a unit "
             "means here"},
    {"decimals", FIELD_WHOLE, AT(measure, decimals), .low = 0, .high = 6,
     .help = "Places shown after the point"},
    {"girth", FIELD_YESNO, AT(measure, girth),
     .help = "Whether a cloth tape goes round the dog; all else is a straight line"},
    {"coat", FIELD_YESNO, AT(measure, coat),
     .help = "Whether it is measured to half the depth of the coat"},
    {"fixed", FIELD_YESNO, AT(measure, fixed),
     .help = "Whether it cannot be adjusted later: shown first, always taken twice"},
    {"readings", FIELD_WHOLE, AT(measure, readings), .low = 2, .high = 3,
     .help = "How often it is usually read; 2 when left out"},
    {"order", FIELD_NUMBER, AT(measure, order), .help = "Smaller numbers come first"},
    {"tolerance_share", FIELD_SHARE, AT(measure, tolerance_share), .low = 0, .high = 1,
     .help = "Two readings further apart than the larger of this share"},
    {"tolerance", FIELD_QUANTITY, AT(measure, tolerance), .help = "and this ask for a third"},
    {"range", FIELD_RANGE, AT(measure, low), .required = true,
     .help = "What is outside is refused: no dog measures that"},
    {"needed_for", FIELD_IDS, LISTED(measure, needed_for, needed_count), .checked = true,
     .to = TO_SUPPORT, .help = "Supports that cannot be built without it"},
    {"causes", FIELD_LIST, LISTED(measure, causes, cause_count), .of = &cause_schema,
     .help = "What usually makes it wrong, the likeliest first"},
    {"source", FIELD_LINE, AT(measure, source), .help = "Where the way of measuring comes from"},
};
const struct schema measure_schema = {"measure",
                                      ROWS(measure_fields),
                                      sizeof(struct measure),
                                      .mark_offset = offsetof(struct measure, mark),
                                      .unit_of = measure_unit_of,
                                      .finish = finish_measure};

static const struct field measures_fields[] = {
    {"measures", FIELD_LIST, LISTED(template_set, measures, measure_count), .required = true,
     .of = &measure_schema, .help = "The measures"},
};
const struct schema measures_schema = {"measures", ROWS(measures_fields),
                                       sizeof(struct template_set)};

/* ---- proportions.yaml --------------------------------------------------------------------- */

static void finish_body_type(struct loading *l, const struct node *n, void *owner)
{
    struct body_type *b = owner;
    b->has_fore_share = node_get(n, "fore_share") != NULL;
    if (b->has_fore_share && *b->source == '\0')
        complain(&l->complaints, mark_at(n, "fore_share"), "fore_share: needs a source beside it");
    if (!b->has_fore_share && node_get(n, "fore_share_sd") != NULL)
        complain(&l->complaints, mark_at(n, "fore_share_sd"),
                 "fore_share_sd: says nothing without fore_share");
}

static const struct field body_type_fields[] = {
    {"id", FIELD_ID, AT(body_type, id), .required = true, .help = "Name of the body type"},
    {"label", FIELD_LINE, AT(body_type, label), .required = true, .help = "What is shown"},
    {"note", FIELD_LINE, AT(body_type, note), .help = "How to tell it"},
    {"source", FIELD_LINE, AT(body_type, source), .help = "Where its figures come from"},
    {"picture", FIELD_TEXT, AT(body_type, picture), .help = "A few lines drawn with letters"},
    {"fore_share", FIELD_SHARE, AT(body_type, fore_share), .low = 0, .high = 1,
     .help = "Published share of the weight on the fore feet, standing"},
    {"fore_share_sd", FIELD_SHARE, AT(body_type, fore_share_sd), .low = 0, .high = 1,
     .help = "Its standard deviation between dogs"},
};
const struct schema body_type_schema = {"body type", ROWS(body_type_fields),
                                        sizeof(struct body_type), .finish = finish_body_type};

static const struct field breed_fields[] = {
    {"name", FIELD_LINE, AT(breed, name), .required = true, .help = "The breed as people write it"},
    {"body_type", FIELD_REF, AT(breed, body_type), .required = true, .to = TO_BODY_TYPE,
     .help = "Its body type"},
    {"source", FIELD_LINE, AT(breed, source), .help = "Where that stands"},
};
const struct schema breed_schema = {"breed", ROWS(breed_fields), sizeof(struct breed)};

static const struct field band_fields[] = {
    {"body_type", FIELD_REF, AT(band, body_type), .to = TO_BODY_TYPE,
     .help = "Whom it is for; left out: every dog for which no nearer band is given"},
    {"range", FIELD_RANGE, AT(band, low), .required = true, .help = "The usual band of the ratio"},
    {"limits", FIELD_YESNO, AT(band, limits),
     .help = "Yes for a band that only catches slips: your own dogs soon outweigh it"},
    {"source", FIELD_LINE, AT(band, source), .required = true,
     .help = "Where it comes from; common practice, no source, where that is so"},
};
const struct schema band_schema = {"band", ROWS(band_fields), sizeof(struct band)};

static const struct field relation_fields[] = {
    {"id", FIELD_ID, AT(relation, id), .required = true, .help = "Name of the relation"},
    {"label", FIELD_LINE, AT(relation, label), .required = true,
     .help = "What stands after the ratio: of withers height"},
    {"of", FIELD_REF, AT(relation, of), .required = true, .to = TO_MEASURE,
     .help = "The measure that is checked"},
    {"to", FIELD_REF, AT(relation, to), .required = true, .to = TO_MEASURE,
     .help = "The measure it is divided by"},
    {"plus", FIELD_REF, AT(relation, plus), .to = TO_MEASURE, .help = "A measure added to of"},
    {"across", FIELD_REF, AT(relation, across), .to = TO_MEASURE,
     .help = "A measure at right angles to to: the diagonal of both is divided by"},
    {"bands", FIELD_LIST, LISTED(relation, bands, band_count), .required = true, .of = &band_schema,
     .help = "What is usual"},
    {"note", FIELD_LINE, AT(relation, note), .help = "What else to know of it"},
};
const struct schema relation_schema = {"relation", ROWS(relation_fields), sizeof(struct relation),
                                       .mark_offset = offsetof(struct relation, mark)};

static const struct field proportions_fields[] = {
    {"body_types", FIELD_LIST, LISTED(template_set, body_types, body_type_count), .required = true,
     .of = &body_type_schema, .unique = "id", .help = "Body types"},
    {"breeds", FIELD_LIST, LISTED(template_set, breeds, breed_count), .of = &breed_schema,
     .unique = "name", .help = "Breeds and the body type each belongs to"},
    {"relations", FIELD_LIST, LISTED(template_set, relations, relation_count),
     .of = &relation_schema, .unique = "id", .help = "What one measure usually is beside another"},
};
const struct schema proportions_schema = {"proportions", ROWS(proportions_fields),
                                          sizeof(struct template_set)};
