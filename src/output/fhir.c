/* FHIR R4: what is written here follows hl7.org/fhir/R4 (Bundle, Patient, extension patient-animal,
 * Encounter, Observation, Practitioner). */
#include "base/arena.h"
#include "base/json.h"
#include "base/text.h"
#include "base/units.h"
#include "casebook/ids.h"
#include "casebook/quantity.h"
#include "output/exports.h"
#include "output/letter.h"
#include "output/standing.h"
#include <string.h>

#define URL_ANIMAL  "http://hl7.org/fhir/StructureDefinition/patient-animal"
#define SYS_SPECIES "http://hl7.org/fhir/animal-species"
#define SYS_GENDER  "http://hl7.org/fhir/animal-genderstatus"
#define SYS_CLASS   "http://terminology.hl7.org/CodeSystem/v3-ActCode"
#define SYS_ABSENT  "http://terminology.hl7.org/CodeSystem/data-absent-reason"
#define SYS_UNITS   "http://unitsofmeasure.org"
#define SYS_ITEM    "urn:x-amble:item" /* ours: the id of a question or measure */

/* Findings that are said otherwise: as references, as parts of Patient, or that only hold the
 * record together. */
static const char *const said_otherwise[] = {
    ID_OPEN,       ID_SIGNED,     ID_CAREGIVER,   ID_CALL_DOG,  ID_CALL_CAREGIVER, ID_VISIT_DOG,
    ID_VISIT_CALL, ID_VISIT_KIND, ID_DOG_NAME,    ID_DOG_BREED, ID_DOG_BORN,       "dog.microchip",
    "dog.sex",     ID_REVIEW_DUE, ID_CULTURE_DUE, ID_BUILD,     "merged.into",
};

/* One bundle while it is written. */
struct making {
    struct json *json;
    const struct chart *chart;
    struct arena *arena;
    const char *encounter, *when; /* of what is written now; NULL: of no encounter */
};

/* ---- small parts ----------------------------------------------------------------------------- */

static void put(struct json *j, const char *key, const char *s)
{
    if (*s != '\0') /* FHIR knows no empty text */
        json_member(j, key, s);
}

static const char *urn(const struct making *m, const char *uuid)
{
    return arena_printf(m->arena, "urn:uuid:%s", uuid);
}

static void put_reference(struct making *m, const char *key, const char *uuid)
{
    json_key(m->json, key);
    json_open_object(m->json);
    json_member(m->json, "reference", urn(m, uuid));
    json_end(m->json);
}

/* {"coding": [{system, code, display}], "text": words}; no coding when system is NULL. */
static void put_concept(struct json *j, const char *key, const char *system, const char *code,
                        const char *words)
{
    json_key(j, key);
    json_open_object(j);
    if (system != NULL) {
        json_key(j, "coding");
        json_open_array(j);
        json_open_object(j);
        json_member(j, "system", system);
        json_member(j, "code", code);
        json_end(j);
        json_end(j);
    }
    put(j, "text", words);
    json_end(j);
}

static void open_resource(struct making *m, const char *type, const char *uuid)
{
    struct json *j = m->json;
    json_open_object(j);
    json_member(j, "fullUrl", urn(m, uuid));
    json_key(j, "resource");
    json_open_object(j);
    json_member(j, "resourceType", type);
    json_member(j, "id", uuid);
}

static void close_resource(struct making *m)
{
    json_end(m->json);
    json_end(m->json);
}

/* A day as it is; a local time as the same moment in UTC, as FHIR wants it. "" when unreadable. */
static const char *moment(const struct making *m, const char *canonical)
{
    int64_t at;
    char buf[CLOCK_ROOM];
    if (strchr(canonical, 'T') == NULL) {
        day_number day;
        return clock_parse_day(canonical, 0, &day, NULL)
                   ? arena_str(m->arena, clock_iso_day(day, buf))
                   : "";
    }
    return clock_parse_time(canonical, 0, &at, NULL) ? arena_str(m->arena, clock_utc(at, buf)) : "";
}

/* ---- the dog --------------------------------------------------------------------------------- */

static void put_extension_part(struct json *j, const char *url, const char *system,
                               const char *code, const char *words)
{
    json_open_object(j);
    json_member(j, "url", url);
    put_concept(j, "valueCodeableConcept", system, code, words);
    json_end(j);
}

static void put_animal(struct making *m, const char *sex)
{
    struct json *j = m->json;
    const char *breed = record_text(&m->chart->dog, ID_DOG_BREED);
    const char *state = *sex == '\0'                      ? "unknown"
                        : strstr(sex, "neutered") != NULL ? "neutered"
                                                          : "intact";
    json_key(j, "extension");
    json_open_array(j);
    json_open_object(j);
    json_member(j, "url", URL_ANIMAL);
    json_key(j, "extension");
    json_open_array(j);
    put_extension_part(j, "species", SYS_SPECIES, "canislf", "Dog");
    if (*breed)
        put_extension_part(j, "breed", NULL, NULL, breed);
    put_extension_part(j, "genderStatus", SYS_GENDER, state, state);
    json_end(j);
    json_end(j);
    json_end(j);
}

static void put_phone(struct json *j, const char *system, const char *value)
{
    if (*value == '\0')
        return;
    json_open_object(j);
    json_member(j, "system", system);
    json_member(j, "value", value);
    json_end(j);
}

static void put_contact(struct making *m)
{
    struct json *j = m->json;
    const struct record *who = &m->chart->caregiver;
    const char *name = record_text(who, ID_CAREGIVER_NAME),
               *address = record_text(who, ID_CAREGIVER_ADDRESS);
    if (who->entity == NULL || *name == '\0')
        return;
    json_key(j, "contact");
    json_open_array(j);
    json_open_object(j);
    json_key(j, "relationship");
    json_open_array(j);
    json_open_object(j);
    json_member(j, "text", "caregiver");
    json_end(j);
    json_end(j);
    json_key(j, "name");
    json_open_object(j);
    json_member(j, "text", name);
    json_end(j);
    const char *phone = record_text(who, ID_CAREGIVER_PHONE),
               *mail = record_text(who, "caregiver.email");
    if (*phone || *mail) {
        json_key(j, "telecom");
        json_open_array(j);
        put_phone(j, "phone", phone);
        put_phone(j, "email", mail);
        json_end(j);
    }
    if (*address) {
        json_key(j, "address");
        json_open_object(j);
        json_member(j, "text", address);
        json_end(j);
    }
    json_end(j);
    json_end(j);
}

static void put_patient(struct making *m)
{
    struct json *j = m->json;
    const struct record *dog = &m->chart->dog;
    const char *sex = record_text(dog, "dog.sex"), *chip = record_text(dog, "dog.microchip");
    open_resource(m, "Patient", dog->entity);
    put_animal(m, sex);
    if (*chip) {
        json_key(j, "identifier");
        json_open_array(j);
        json_open_object(j);
        put_concept(j, "type", NULL, NULL, "microchip");
        json_member(j, "value", chip);
        json_end(j);
        json_end(j);
    }
    json_key(j, "name");
    json_open_array(j);
    json_open_object(j);
    json_member(j, "text", letter_dog(m->chart));
    json_end(j);
    json_end(j);
    json_member(j, "gender",
                *sex == '\0'                     ? "unknown"
                : strncmp(sex, "female", 6) == 0 ? "female"
                                                 : "male");
    put(j, "birthDate", moment(m, record_text(dog, ID_DOG_BORN)));
    put_contact(m);
    close_resource(m);
}

/* ---- findings -------------------------------------------------------------------------------- */

static bool otherwise(const char *item)
{
    for (size_t i = 0; i < sizeof said_otherwise / sizeof *said_otherwise; i++)
        if (strcmp(said_otherwise[i], item) == 0)
            return true;
    return false;
}

static void put_quantity(struct json *j, const char *digits, const struct unit *unit)
{
    json_key(j, "valueQuantity");
    json_open_object(j);
    json_key(j, "value");
    json_put_decimal(j, digits);
    if (unit != NULL) {
        json_member(j, "unit", unit->name);
        json_member(j, "system", SYS_UNITS);
        json_member(j, "code", unit->ucum);
    }
    json_end(j);
}

static void put_value(struct making *m, const struct entry *e)
{
    struct json *j = m->json;
    const struct template_set *set = m->chart->cb->set;
    const char *about, *digits, *when;
    const struct unit *unit;
    const struct item *asked = casebook_item(set, e->item, &about);
    enum item_kind kind = asked != NULL ? asked->kind : ITEM_TEXT;
    bool number = quantity_parts(e->value, m->arena, &digits, &unit);
    if (number && (unit != NULL || kind == ITEM_NUMBER)) {
        put_quantity(j, digits, unit);
    } else if (kind == ITEM_YESNO && strcmp(e->value, "unknown") == 0) {
        put_concept(j, "dataAbsentReason", SYS_ABSENT, "asked-unknown", "not known");
    } else if (kind == ITEM_YESNO) {
        json_key(j, "valueBoolean");
        json_put_bool(j, strcmp(e->value, "yes") == 0);
    } else if ((kind == ITEM_DATE || kind == ITEM_TIME) && *(when = moment(m, e->value))) {
        json_member(j, "valueDateTime", when);
    } else {
        put(j, "valueString", finding_show(set, e->item, e->value, m->arena));
    }
}

static const char *status_of(const struct standing *s, size_t k)
{
    return s->heads[k].kind == ENTRY_ERROR ? "entered-in-error"
           : s->conflict                   ? "preliminary"
           : s->after[k]                   ? "amended"
                                           : "final";
}

/* What the status has no room for: why it was written, that it was after signing, that it is
 * disputed. */
static void put_notes(struct json *j, const struct standing *s, size_t k)
{
    const char *const notes[] = {
        s->conflict ? "Another answer stands beside this one; nobody has settled which." : "",
        s->after[k] ? "Written after the record was signed." : "",
        reason_words(s->heads[k].reason),
    };
    bool any = false;
    for (size_t i = 0; i < sizeof notes / sizeof *notes; i++) {
        if (*notes[i] == '\0')
            continue;
        if (!any) {
            json_key(j, "note");
            json_open_array(j);
        }
        any = true;
        json_open_object(j);
        json_member(j, "text", notes[i]);
        json_end(j);
    }
    if (any)
        json_end(j);
}

static void put_observation(struct making *m, const struct standing *s, size_t k)
{
    const struct entry *e = &s->heads[k];
    struct json *j = m->json;
    char uuid[IDENT_ROOM], at[CLOCK_ROOM];
    ident_of(arena_printf(m->arena, "%s %s %s %lld %s", e->entity, e->item, e->author,
                          (long long)e->claimed_at, e->value),
             uuid);
    open_resource(m, "Observation", uuid);
    json_member(j, "status", status_of(s, k));
    put_concept(j, "code", SYS_ITEM, e->item, finding_label(m->chart->cb->set, e->item, m->arena));
    put_reference(m, "subject", m->chart->dog.entity);
    if (m->encounter != NULL)
        put_reference(m, "encounter", m->encounter);
    put(j, "effectiveDateTime", m->when);
    json_member(j, "issued", clock_utc(e->claimed_at, at));
    if (*e->author) {
        json_key(j, "performer");
        json_open_array(j);
        json_open_object(j);
        json_member(j, "reference", urn(m, e->author));
        json_end(j);
        json_end(j);
    }
    if (e->kind == ENTRY_SET && *e->value)
        put_value(m, e);
    put_notes(j, s, k);
    close_resource(m);
}

static bool put_findings(struct making *m, const struct record *r, struct fault *f)
{
    const struct standing *all;
    size_t count;
    if (!standing_look(m->chart->cb, m->arena, r, &all, &count, f))
        return false;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < all[i].count && !otherwise(all[i].heads[k].item); k++)
            put_observation(m, &all[i], k);
    return true;
}

/* ---- encounters ------------------------------------------------------------------------------ */

/* A call ("VR", virtual) or a visit at home ("HH", home health), and what was found then. */
static bool put_encounter(struct making *m, const struct record *r, const char *class,
                          const char *words, const char *when, bool over, struct fault *f)
{
    struct json *j = m->json;
    m->encounter = r->entity;
    m->when = moment(m, when);
    open_resource(m, "Encounter", r->entity);
    json_member(j, "status", over ? "finished" : "in-progress");
    json_key(j, "class");
    json_open_object(j);
    json_member(j, "system", SYS_CLASS);
    json_member(j, "code", class);
    json_end(j);
    json_key(j, "type");
    json_open_array(j);
    json_open_object(j);
    json_member(j, "text", words);
    json_end(j);
    json_end(j);
    put_reference(m, "subject", m->chart->dog.entity);
    if (*m->when) {
        json_key(j, "period");
        json_open_object(j);
        json_member(j, "start", m->when);
        json_end(j);
    }
    close_resource(m);
    return put_findings(m, r, f);
}

static bool put_visits(struct making *m, struct fault *f)
{
    const struct chart *c = m->chart;
    for (size_t i = 0; i < c->visit_count; i++) {
        struct record visit;
        if (!record_load(c->cb, m->arena, c->visits[i], &visit, f))
            return false;
        bool review = strcmp(record_text(&visit, ID_VISIT_KIND), "review") == 0;
        if (!put_encounter(m, &visit, "HH", review ? "review" : "visit",
                           record_text(&visit, ID_VISIT_DAY), record_signed(&visit), f))
            return false;
    }
    return true;
}

static bool put_practitioners(struct making *m, struct fault *f)
{
    const struct practitioner *all;
    size_t count;
    if (!practitioners(m->chart->cb, m->arena, &all, &count, f))
        return false;
    for (size_t i = 0; i < count; i++) {
        open_resource(m, "Practitioner", all[i].entity);
        json_key(m->json, "name");
        json_open_array(m->json);
        json_open_object(m->json);
        json_member(m->json, "text", *all[i].name ? all[i].name : all[i].initials);
        json_end(m->json);
        json_end(m->json);
        close_resource(m);
    }
    return true;
}

bool fhir_bundle(const struct chart *c, struct text *out, struct fault *f)
{
    struct json j;
    struct making m = {.json = &j, .chart = c, .arena = c->arena, .when = ""};
    char at[CLOCK_ROOM];
    if (c->dog.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no dog to export");
    json_begin(&j, out, 1);
    json_open_object(&j);
    json_member(&j, "resourceType", "Bundle");
    json_member(&j, "type", "collection");
    json_member(&j, "timestamp", clock_utc(clock_now(), at));
    json_key(&j, "entry");
    json_open_array(&j);
    put_patient(&m);
    bool open = c->call.entity && strcmp(record_text(&c->call, ID_OPEN), "yes") == 0;
    if (!put_practitioners(&m, f) || !put_findings(&m, &c->dog, f) ||
        (c->call.entity != NULL &&
         !put_encounter(&m, &c->call, "VR", "call", record_text(&c->call, ID_CALL_AT), !open, f)) ||
        !put_visits(&m, f))
        return false;
    json_end(&j);
    json_end(&j);
    text_addc(out, '\n');
    return (json_done(&j) && !out->cut) ||
           fail(f, FAULT_LIMIT, "the record is too large for one bundle");
}
