/* frames.yaml: frames, the dimensions that follow from measures, accessories, relief and stages. */
#include "template/tables.h"
#include <string.h>

static void finish_frame(struct loading *l, const struct node *n, void *owner)
{
    struct frame *f = owner;
    if (node_get(n, "axle_steps") == NULL)
        f->axle_steps = 1;
    if (f->mass_low_kg > f->mass_high_kg)
        complain(&l->complaints, mark_at(n, "mass_low_kg"),
                 "mass_low_kg: %g is above mass_high_kg, %g", f->mass_low_kg, f->mass_high_kg);
    if (f->axle_from > f->axle_to)
        complain(&l->complaints, mark_at(n, "axle_from"), "axle_from: %g is above axle_to, %g",
                 f->axle_from, f->axle_to);
    if ((f->model == FRAME_FOUR) != (node_get(n, "front_axle_at") != NULL))
        complain(&l->complaints, mark_at(n, "front_axle_at"),
                 "front_axle_at: a frame of four wheels needs it, and no other has it");
}

/* A share of something of the dog; generous, only slips of the hand are refused. */
#define SHARE_OF(m, most) #m, FIELD_SHARE, AT(frame, m), .required = true, .low = 0, .high = (most)

static const struct word models[] = {
    {"rear", FRAME_REAR}, {"four", FRAME_FOUR}, {"front", FRAME_FRONT}, {NULL, 0}};

static const struct unit *millimetres(const void *owner)
{
    (void)owner;
    return unit_find("mm");
}

static const struct field frame_fields[] = {
    {"id", FIELD_ID, AT(frame, id), .required = true, .help = "Name of the frame"},
    {"label", FIELD_LINE, AT(frame, label), .required = true, .help = "What is shown"},
    {"support", FIELD_REF, AT(frame, support), .required = true, .to = TO_SUPPORT,
     .help = "The kind of support it is"},
    {"model", FIELD_WORD, AT(frame, model), .words = models,
     .help = "Where the wheels are; rear when left out"},
    {"mass_low_kg", FIELD_NUMBER, AT(frame, mass_low_kg), .required = true, .low = 0, .high = 150,
     .help = "Lightest dog it is meant for"},
    {"mass_high_kg", FIELD_NUMBER, AT(frame, mass_high_kg), .required = true, .low = 0, .high = 150,
     .help = "Heaviest dog it is meant for"},
    {SHARE_OF(frame_mass_share, 1), .help = "Mass of the frame without wheels, of the dog's mass"},
    {SHARE_OF(wheels_mass_share, 1), .help = "Mass of the wheels and the axle, of the dog's mass"},
    {SHARE_OF(rest_at, 3),
     .help = "Pelvic rest, of the stance length, rearward from the fore feet"},
    {SHARE_OF(bar_at, 3), .help = "Shoulder bar, likewise"},
    {SHARE_OF(cg_at, 3), .help = "The frame's centre of mass, likewise"},
    {SHARE_OF(cg_height_at, 3), .help = "Its height, of the withers height"},
    {SHARE_OF(dog_cg_height_at, 3),
     .help = "Height of the dog's own centre of mass, likewise; assumed"},
    {SHARE_OF(wheel_diameter_at, 3), .help = "Diameter of the wheels, of the withers height"},
    {SHARE_OF(track_at, 10), .help = "Distance between the wheels, of the hip width"},
    {"outside", FIELD_QUANTITY, AT(frame, outside),
     .help = "Beyond the track, both sides together: hubs and half the tyres"},
    {SHARE_OF(axle_from, 3), .help = "Foremost place of the axle, of the stance length"},
    {SHARE_OF(axle_to, 3), .help = "Rearmost place of the axle, likewise"},
    {"axle_steps", FIELD_WHOLE, AT(frame, axle_steps), .low = 1, .high = 50,
     .help = "Places of the axle from the foremost to the rearmost; 1 when left out"},
    {SHARE_OF(relief_most, 1), .help = "The most that may be taken off the fore feet"},
    {"front_axle_at", FIELD_SHARE, AT(frame, front_axle_at), .low = 0, .high = 3,
     .help = "Four wheels: the front axle, of the stance length"},
    {"front_wheels_mass_share", FIELD_SHARE, AT(frame, front_wheels_mass_share), .low = 0,
     .high = 1, .help = "Four wheels: mass of the front pair, of the dog's mass"},
    {"folds", FIELD_LINE, AT(frame, folds), .help = "How it goes into a car or a parcel"},
    {"note", FIELD_TEXT, AT(frame, note), .help = "What else to know of it"},
    {"source", FIELD_LINE, AT(frame, source), .required = true,
     .help = "Where the figures come from; common practice, no source, where that is so"},
};
const struct schema frame_schema = {"frame",
                                    ROWS(frame_fields),
                                    sizeof(struct frame),
                                    .mark_offset = offsetof(struct frame, mark),
                                    .unit_of = millimetres,
                                    .finish = finish_frame};

/* ---- dimensions --------------------------------------------------------------------------- */

static const struct field frame_term_fields[] = {
    {"measure", FIELD_REF, AT(frame_term, measure), .required = true, .to = TO_MEASURE,
     .help = "A measure"},
    {"factor", FIELD_NUMBER, AT(frame_term, factor), .low = -10, .high = 10,
     .help = "Times this; 1 when left out"},
};

static void finish_term(struct loading *l, const struct node *n, void *owner)
{
    (void)l;
    if (node_get(n, "factor") == NULL)
        ((struct frame_term *)owner)->factor = 1;
}

const struct schema frame_term_schema = {"term", ROWS(frame_term_fields), sizeof(struct frame_term),
                                         .short_key = "measure", .finish = finish_term};

static const struct word sides[] = {
    {"either", ERRS_EITHER}, {"long", ERRS_LONG}, {"short", ERRS_SHORT}, {NULL, 0}};

/* More ease than is said is never given by leaving a line out: what moves has at least the same. */
static void finish_dimension(struct loading *l, const struct node *n, void *owner)
{
    struct frame_dimension *d = owner;
    (void)l;
    if (node_get(n, "ease_some") == NULL)
        d->ease_some = d->ease;
    if (node_get(n, "ease_walks") == NULL)
        d->ease_walks = d->ease_some;
}

#define FOR_SUPPORTS(s)                                                                            \
    "supports", FIELD_REFS, LISTED(s, supports, support_count),                                    \
        .required = true, .to = TO_SUPPORT, .help = "The kinds of support whose frames have it"

static const struct field frame_dimension_fields[] = {
    {"id", FIELD_ID, AT(frame_dimension, id), .required = true, .help = "Name of the dimension"},
    {"label", FIELD_LINE, AT(frame_dimension, label), .required = true, .help = "What is shown"},
    {FOR_SUPPORTS(frame_dimension)},
    {"from", FIELD_LIST, LISTED(frame_dimension, terms, term_count), .required = true,
     .of = &frame_term_schema, .help = "The measures it is the sum of, each with its factor"},
    {"ease", FIELD_QUANTITY, AT(frame_dimension, ease),
     .help = "Room added when the hind legs hang; readings are snug"},
    {"ease_some", FIELD_QUANTITY, AT(frame_dimension, ease_some),
     .help = "Room added when they move but do not carry; as ease when left out"},
    {"ease_walks", FIELD_QUANTITY, AT(frame_dimension, ease_walks),
     .help = "Room added when they walk; as ease_some when left out"},
    {"made_within", FIELD_QUANTITY, AT(frame_dimension, made_within), .required = true,
     .help = "How exactly the builder keeps it, each way"},
    {"step", FIELD_QUANTITY, AT(frame_dimension, step), .help = "It comes in such steps"},
    {"errs", FIELD_WORD, AT(frame_dimension, errs), .words = sides,
     .help = "The side on which a mistake does no harm; either when left out"},
    {"fixed", FIELD_YESNO, AT(frame_dimension, fixed),
     .help = "Whether it cannot be adjusted later"},
    {"note", FIELD_LINE, AT(frame_dimension, note), .help = "A word for the builder"},
    {"source", FIELD_LINE, AT(frame_dimension, source), .required = true,
     .help = "Where ease and factors come from"},
};
const struct schema frame_dimension_schema = {"dimension",
                                              ROWS(frame_dimension_fields),
                                              sizeof(struct frame_dimension),
                                              .mark_offset = offsetof(struct frame_dimension, mark),
                                              .unit_of = millimetres,
                                              .finish = finish_dimension};

/* ---- what hangs on it --------------------------------------------------------------------- */

static const struct field frame_accessory_fields[] = {
    {"id", FIELD_ID, AT(frame_accessory, id), .required = true,
     .help = "Name; that of a choice of the question after accessories, so that ticking it there "
             "puts it on the bench"},
    {"label", FIELD_LINE, AT(frame_accessory, label), .required = true, .help = "What is shown"},
    {FOR_SUPPORTS(frame_accessory)},
    {"mass_share", FIELD_SHARE, AT(frame_accessory, mass_share), .required = true, .low = 0,
     .high = 1, .help = "Its mass, of the dog's"},
    {"at", FIELD_SHARE, AT(frame_accessory, at), .required = true, .low = 0, .high = 3,
     .help = "Its place, of the stance length, rearward from the fore feet"},
    {"height_at", FIELD_SHARE, AT(frame_accessory, height_at), .required = true, .low = 0,
     .high = 3, .help = "Its height, of the withers height"},
    {"widens", FIELD_SHARE, AT(frame_accessory, widens), .low = 0, .high = 10,
     .help = "What it adds to the distance between the wheels, of the hip width"},
    {"source", FIELD_LINE, AT(frame_accessory, source), .required = true,
     .help = "Where the figures come from"},
};
const struct schema frame_accessory_schema = {
    "accessory", ROWS(frame_accessory_fields), sizeof(struct frame_accessory),
    .mark_offset = offsetof(struct frame_accessory, mark)};

static const struct field frame_contact_fields[] = {
    {"zone", FIELD_LINE, AT(frame_contact, zone), .required = true,
     .help = "Where frame and skin meet, and with what it is padded"},
    {FOR_SUPPORTS(frame_contact)},
};
const struct schema frame_contact_schema = {"contact", ROWS(frame_contact_fields),
                                            sizeof(struct frame_contact)};

/* ---- relief now and later ----------------------------------------------------------------- */

static const struct field relief_rule_fields[] = {
    {"id", FIELD_ID, AT(relief_rule, id), .required = true, .help = "Name of the rule"},
    {"when", FIELD_CONDITION, AT(relief_rule, when), .required = true, .help = "When it holds"},
    {"relief", FIELD_SHARE, AT(relief_rule, relief), .required = true, .low = 0, .high = 1,
     .help = "Relief of the fore feet that is wanted then; the frame's ceiling still holds"},
    {"no_press", FIELD_YESNO, AT(relief_rule, no_press),
     .help = "Whether the bar must not press on the shoulders then"},
    {"reason", FIELD_LINE, AT(relief_rule, reason), .required = true, .help = "Why"},
    {"source", FIELD_LINE, AT(relief_rule, source), .required = true, .help = "Who says so"},
};
const struct schema relief_rule_schema = {"relief rule", ROWS(relief_rule_fields),
                                          sizeof(struct relief_rule),
                                          .mark_offset = offsetof(struct relief_rule, mark)};

static const struct field stage_fields[] = {
    {"id", FIELD_ID, AT(stage, id), .required = true, .help = "Name of the stage"},
    {"label", FIELD_LINE, AT(stage, label), .required = true, .help = "What is shown"},
    {"hind_kept", FIELD_SHARE, AT(stage, hind_kept), .required = true, .low = 0, .high = 1,
     .help = "What the hind feet then still carry, of what they carry now"},
    {"relief", FIELD_SHARE, AT(stage, relief), .required = true, .low = 0, .high = 1,
     .help = "Relief of the fore feet wanted then"},
    {"source", FIELD_LINE, AT(stage, source), .required = true, .help = "Who says so"},
};
const struct schema stage_schema = {"stage", ROWS(stage_fields), sizeof(struct stage)};

/* ---- the file ----------------------------------------------------------------------------- */

#define RULE(key, low_, high_, words)                                                              \
    {                                                                                              \
#key, FIELD_NUMBER, AT(template_set, bench.key), .low = (low_), .high = (high_),           \
                                                         .help = (words)                           \
    }

static const struct field frames_fields[] = {
    {"frames", FIELD_LIST, LISTED(template_set, frames, frame_count), .required = true,
     .of = &frame_schema, .unique = "id", .help = "The frames"},
    {"dimensions", FIELD_LIST, LISTED(template_set, frame_dimensions, frame_dimension_count),
     .of = &frame_dimension_schema, .unique = "id",
     .help = "What is cut, and the measures it follows from"},
    {"accessories", FIELD_LIST, LISTED(template_set, frame_accessories, frame_accessory_count),
     .of = &frame_accessory_schema, .unique = "id", .help = "What can hang on a frame"},
    {"contacts", FIELD_LIST, LISTED(template_set, frame_contacts, frame_contact_count),
     .of = &frame_contact_schema, .help = "Where frame and skin meet"},
    {"relief_rules", FIELD_LIST, LISTED(template_set, relief_rules, relief_rule_count),
     .of = &relief_rule_schema, .unique = "id", .help = "How much relief is wanted, and why"},
    {"stages", FIELD_LIST, LISTED(template_set, stages, stage_count), .of = &stage_schema,
     .unique = "id", .help = "The stages after the present one, to plan for"},
    RULE(friction, 0.01, 2, "Friction of the fore feet on the floor; assumed, 0.5 when left out"),
    RULE(friction_within, 0, 1, "Its standard uncertainty; 0.1 when left out"),
    RULE(cg_height_within, 0, 1,
         "Standard uncertainty of the height of the dog's centre of mass, of the withers height; "
         "0.05 when left out"),
    RULE(mass_within, 0, 1,
         "Standard uncertainty of the mass of a frame not built yet, of it; 0.1 when left out"),
    RULE(place_within, 0, 1,
         "Standard uncertainty of where its mass lies, of the stance length; 0.02 when left out"),
    RULE(fore_share_within, 0, 0.5,
         "Standard uncertainty of the share on the fore feet where it is only the usual one; 0.03 "
         "when left out"),
    RULE(rolling, 0, 1, "Rolling resistance of the wheels, of the load; 0.02 when left out"),
    RULE(turn_radius_m, 0.1, 100, "Radius of the turns that are looked at, m; 2 when left out"),
    RULE(tape_within_mm, 0, 100,
         "Standard uncertainty of a door or corner taken once with a tape, and of the frame as it "
         "will be built, mm; 5 when left out"),
    RULE(tip_margin_deg, 0, 45, "Room wanted between the home's slope and tipping, degrees"),
    RULE(grip_margin_deg, 0, 45, "Room wanted between the home's slope and slipping, degrees"),
};

/* 0.03: mechanics of published stance splits, SD over dogs; the others are plain assumptions. */
static void finish_frames(struct loading *l, const struct node *n, void *owner)
{
    struct bench_rules *b = &((struct template_set *)owner)->bench;
    const struct {
        const char *key;
        double *at, fallback;
    } defaults[] = {
        {"friction", &b->friction, 0.5},
        {"friction_within", &b->friction_within, 0.1},
        {"cg_height_within", &b->cg_height_within, 0.05},
        {"mass_within", &b->mass_within, 0.1},
        {"place_within", &b->place_within, 0.02},
        {"fore_share_within", &b->fore_share_within, 0.03},
        {"rolling", &b->rolling, 0.02},
        {"turn_radius_m", &b->turn_radius_m, 2},
        {"tape_within_mm", &b->tape_within_mm, 5},
    };
    (void)l;
    for (size_t i = 0; i < COUNT_OF(defaults); i++)
        if (node_get(n, defaults[i].key) == NULL)
            *defaults[i].at = defaults[i].fallback;
}

const struct schema frames_schema = {"frames", ROWS(frames_fields), sizeof(struct template_set),
                                     .finish = finish_frames};
