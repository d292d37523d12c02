/* Words for what a record holds: which question an id is, and how any finding is shown. */
#include "base/arena.h"
#include "casebook/casebook.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/teaching.h"
#include <stdlib.h>
#include <string.h>

/* How a call can end. */
static const struct choice outcomes[] = {
    {"booked", "visit booked", ""},
    {"emergency", "sent to an emergency clinic", ""},
    {"same_day", "seen the same day by a vet", ""},
    {"advice", "advice given, no visit", ""},
    {"will_ring", "caller will ring again", ""},
};

static const struct choice visit_kinds[] = {
    {"first", "first visit", ""},
    {"review", "review", ""},
};

/* What holds a record together is readable in every practice, whether or not a form asks for it. */
static const struct {
    const char *about;
    struct item item;
} built_in[] = {
    {"dog", {.id = ID_DOG_NAME, .label = "Name", .kind = ITEM_TEXT}},
    {"dog", {.id = ID_DOG_BREED, .label = "Breed", .kind = ITEM_TEXT}},
    {"dog", {.id = ID_DOG_BODY, .label = "Body type", .kind = ITEM_TEXT}},
    {"dog", {.id = ID_DOG_BORN, .label = "Born", .kind = ITEM_DATE}},
    {"dog", {.id = ID_DOG_MASS, .label = "Last known weight", .kind = ITEM_MASS}},
    {"dog", {.id = ID_CAREGIVER, .label = "Caregiver", .kind = ITEM_TEXT}},
    {"caregiver", {.id = ID_CAREGIVER_NAME, .label = "Name", .kind = ITEM_TEXT}},
    {"caregiver", {.id = ID_CAREGIVER_PHONE, .label = "Phone number", .kind = ITEM_TEXT}},
    {"caregiver", {.id = ID_CAREGIVER_ADDRESS, .label = "Address", .kind = ITEM_TEXT}},
    {"call", {.id = ID_CALL_AT, .label = "Call at", .kind = ITEM_TIME}},
    {"call", {.id = ID_CALL_NAME, .label = "Caller's name", .kind = ITEM_TEXT}},
    {"call", {.id = ID_CALL_PHONE, .label = "Phone number", .kind = ITEM_TEXT}},
    {"call", {.id = ID_CALL_ADDRESS, .label = "Address", .kind = ITEM_TEXT}},
    {"call", {.id = ID_CALL_DOG_NAME, .label = "Dog's name", .kind = ITEM_TEXT}},
    {"call", {.id = ID_CALL_BREED, .label = "Breed", .kind = ITEM_TEXT}},
    {"call", {.id = ID_CALL_AGE, .label = "Age in years", .kind = ITEM_NUMBER, .decimals = -1}},
    {"call", {.id = ID_CALL_MASS, .label = "Weight", .kind = ITEM_MASS, .decimals = -1}},
    {"call", {.id = ID_CALL_ONSET, .label = "Onset", .kind = ITEM_TIME}},
    {"call",
     {.id = ID_CALL_OVERRIDE, .label = "Booked in spite of red flags because", .kind = ITEM_TEXT}},
    {"call", {.id = ID_RING_BACK, .label = "Ring back at", .kind = ITEM_TIME}},
    {"call",
     {.id = ID_OUTCOME,
      .label = "How the call ended",
      .kind = ITEM_CHOICE,
      .choices = outcomes,
      .choice_count = sizeof outcomes / sizeof *outcomes}},
    {"visit", {.id = ID_SIGNED, .label = "Signature", .kind = ITEM_TEXT}},
    {"visit", {.id = ID_VISIT_DAY, .label = "Day of the visit", .kind = ITEM_TIME}},
    {"visit", {.id = ID_SUPPORT, .label = "Support", .kind = ITEM_TEXT}},
    {"visit", {.id = ID_SUPPORT_REASON, .label = "Reason for the support", .kind = ITEM_TEXT}},
    {"visit", {.id = ID_FIT_AXLE, .label = "Axle position", .kind = ITEM_LENGTH, .decimals = -1}},
    {"visit", {.id = ID_FIT_FRAME, .label = "Frame", .kind = ITEM_TEXT}},
    {"visit", {.id = ID_PHOTO_OF, .label = "Photograph recorded", .kind = ITEM_TEXT}},
    {"visit", {.id = ID_PHOTO_SHA, .label = "SHA-256 of the photograph", .kind = ITEM_TEXT}},
    {"visit",
     {.id = ID_PHOTO_BYTES,
      .label = "Bytes of the photograph",
      .kind = ITEM_NUMBER,
      .decimals = -1}},
    {"visit", {.id = ID_PHOTO_TAKEN, .label = "Photograph taken", .kind = ITEM_TIME}},
    {"visit", {.id = ID_FIT_WHEEL, .label = "Wheels", .kind = ITEM_LENGTH, .decimals = -1}},
    {"visit", {.id = ID_FIT_TRACK, .label = "Track", .kind = ITEM_LENGTH, .decimals = -1}},
    {"visit", {.id = ID_FIT_PARTS, .label = "On the frame", .kind = ITEM_TEXT}},
    {"visit", {.id = ID_FIT_LATER, .label = "Hind feet carry later", .kind = ITEM_TEXT}},
    {"visit", {.id = ID_BUILD, .label = "Build sheet", .kind = ITEM_TEXT}},
    {"visit",
     {.id = ID_BUILD_LOAD, .label = "Fore load predicted", .kind = ITEM_MASS, .decimals = -1}},
    {"visit",
     {.id = ID_VISIT_KIND,
      .label = "Kind of visit",
      .kind = ITEM_CHOICE,
      .choices = visit_kinds,
      .choice_count = sizeof visit_kinds / sizeof *visit_kinds}},
    {"visit", {.id = ID_HANDOUT, .label = "Handed over", .kind = ITEM_NOTE}},
    {"dog", {.id = ID_REVIEW_DUE, .label = "Review due", .kind = ITEM_DATE}},
    {"dog", {.id = ID_CULTURE_DUE, .label = "Urine culture due", .kind = ITEM_DATE}},
    {"dog", {.id = ID_DOG_CLOSED, .label = "Case closed", .kind = ITEM_DATE}},
    {"equipment", {.id = ID_FRAME_DOG, .label = "Dog it is with", .kind = ITEM_TEXT}},
    {"practitioner", {.id = ID_PRACTITIONER_NAME, .label = "Name", .kind = ITEM_TEXT}},
    {"practitioner", {.id = ID_PRACTITIONER_INITIALS, .label = "Initials", .kind = ITEM_TEXT}},
};

static const struct item *in_forms(const struct template_set *set, const char *id,
                                   const char **about)
{
    for (size_t i = 0; i < set->form_count; i++)
        for (size_t k = 0; k < set->forms[i].item_count; k++)
            if (strcmp(set->forms[i].items[k].id, id) == 0) {
                *about = set->forms[i].about;
                return &set->forms[i].items[k];
            }
    return NULL;
}

const struct item *casebook_item(const struct template_set *set, const char *id, const char **about)
{
    const struct item *asked = in_forms(set, id, about);
    for (size_t i = 0; asked == NULL && i < sizeof built_in / sizeof *built_in; i++)
        if (strcmp(built_in[i].item.id, id) == 0) {
            *about = built_in[i].about;
            asked = &built_in[i].item;
        }
    return asked;
}

/* "hip_width.2" -> the measure and ".2"; NULL when it is no reading. */
static const struct measure *reading_of(const struct template_set *set, const char *item,
                                        struct arena *a, const char **tail)
{
    const char *dot = strrchr(item, '.');
    if (dot == NULL || (strcmp(dot, ".so") != 0 && strcmp(dot, ".posture") != 0 &&
                        !(dot[1] >= '1' && dot[1] <= '3' && !dot[2])))
        return NULL;
    *tail = dot;
    return template_measure(set, arena_strn(a, item, (size_t)(dot - item)));
}

/* "teach.bladder.blood" -> that point of that checklist. */
static const struct teach_item *taught_point(const struct template_set *set, const char *item)
{
    static const char prefix[] = "teach.";
    if (strncmp(item, prefix, sizeof prefix - 1) != 0)
        return NULL;
    const char *list = item + sizeof prefix - 1;
    for (size_t i = 0; i < set->checklist_count; i++) {
        const struct checklist *l = &set->checklists[i];
        size_t n = strlen(l->id);
        if (strncmp(list, l->id, n) != 0 || list[n] != '.')
            continue;
        for (size_t k = 0; k < l->item_count; k++)
            if (strcmp(l->items[k].id, list + n + 1) == 0)
                return &l->items[k];
    }
    return NULL;
}

bool finding_binds(const char *item)
{
    static const char *const ids[] = {ID_OPEN,      ID_CAREGIVER,  ID_CALL_DOG,
                                      ID_VISIT_DOG, ID_VISIT_CALL, ID_CALL_CAREGIVER};
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++)
        if (strcmp(ids[i], item) == 0)
            return true;
    return false;
}

const char *finding_label(const struct template_set *set, const char *item, struct arena *a)
{
    const char *about, *tail;
    const struct item *asked = casebook_item(set, item, &about);
    if (asked != NULL)
        return asked->label;
    const struct measure *m = template_measure(set, item);
    if (m != NULL)
        return m->label;
    m = reading_of(set, item, a, &tail);
    if (m != NULL)
        return strcmp(tail, ".so") == 0 ? arena_printf(a, "%s, looked at again", m->label)
               : strcmp(tail, ".posture") == 0
                   ? arena_printf(a, "%s, posture again", m->label)
                   : arena_printf(a, "%s, reading %s", m->label, tail + 1);
    const struct teach_item *point = taught_point(set, item);
    return point != NULL ? point->label : item;
}

static const char *choice_of_set(const struct template_set *set, const char *item, const char *id)
{
    if (strcmp(item, ID_SUPPORT) == 0) {
        const struct support *s = template_support(set, id);
        return s != NULL ? s->label : id;
    }
    if (strcmp(item, ID_BUILD) == 0)
        return "frozen; amble build reads it";
    if (strcmp(item, ID_SIGNED) == 0)
        return *id != '\0' ? "signed" : "";
    for (size_t i = 0; strcmp(item, ID_FIT_FRAME) == 0 && i < set->frame_count; i++)
        if (strcmp(set->frames[i].id, id) == 0)
            return set->frames[i].label;
    return NULL;
}

const char *finding_show(const struct template_set *set, const char *item, const char *canonical,
                         struct arena *a)
{
    const char *about, *tail;
    double base;
    if (strcmp(item, ID_HANDOUT) ==
        0) { /* name and the start of the hash: the text is pages long */
        enum { HASH_SHOWN = 1 + 12 };
        size_t n = strcspn(canonical, " ");
        return arena_printf(a, "%.*s sheet, kept as%.*s", (int)n, canonical,
                            (int)strnlen(canonical + n, HASH_SHOWN), canonical + n);
    }
    const char *named = choice_of_set(set, item, canonical);
    if (named != NULL)
        return named;
    const struct item *asked = casebook_item(set, item, &about);
    if (asked != NULL)
        return answer_show(set, asked, canonical, a);
    const struct measure *m = reading_of(set, item, a, &tail);
    if (m == NULL)
        m = template_measure(set, item);
    if (m != NULL && number_lead(canonical, &base))
        return arena_printf(a, "%s %s", reading_show(set, m, base, a), measure_unit(set, m)->name);
    return taught_point(set, item) != NULL ? taught_word(taught_read(canonical)) : canonical;
}
