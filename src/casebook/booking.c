#include "base/arena.h"
#include "base/clock.h"
#include "casebook/casebook.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include "casebook/triage.h"
#include <string.h>

enum { VISITS_MOST = 1000 };

/* What a call says of people and dogs, and where it goes when a visit is booked. */
struct carried {
    const char *from, *to;
};
static const struct carried to_caregiver[] = {{ID_CALL_NAME, ID_CAREGIVER_NAME},
                                              {ID_CALL_PHONE, ID_CAREGIVER_PHONE},
                                              {ID_CALL_ADDRESS, ID_CAREGIVER_ADDRESS}};
static const struct carried to_dog[] = {{ID_CALL_DOG_NAME, ID_DOG_NAME},
                                        {ID_CALL_BREED, ID_DOG_BREED}};
enum {
    TO_CAREGIVER = sizeof to_caregiver / sizeof *to_caregiver,
    TO_DOG = sizeof to_dog / sizeof *to_dog,
};

/* Write one value where the record has none: what a person wrote there is not overwritten. */
static bool fill(struct casebook *cb, struct record *r, const char *item, const char *value,
                 struct fault *f)
{
    return value[0] == '\0' || record_text(r, item)[0] != '\0' ||
           record_put(cb, r, item, value, "", f);
}

bool call_new(struct casebook *cb, struct arena *a, struct chart *out, struct fault *f)
{
    char at[CLOCK_ROOM];
    *out = (struct chart){.cb = cb, .arena = a, .now = journal_clock(cb->journal)};
    if (!casebook_begin(cb, f))
        return false;
    bool ok = record_new(cb, a, "call", &out->call, f) &&
              record_put(cb, &out->call, ID_CALL_AT, clock_iso_time(out->now, at), "", f) &&
              record_put(cb, &out->call, ID_OPEN, "yes", "", f);
    return casebook_end(cb, ok, f);
}

static bool make_visit(struct casebook *cb, struct arena *a, const char *dog, const char *day,
                       const char *call, struct record *visit, struct fault *f)
{
    return record_new(cb, a, "visit", visit, f) &&
           record_put(cb, visit, ID_VISIT_DOG, dog, "", f) &&
           record_put(cb, visit, ID_VISIT_DAY, day, "", f) &&
           fill(cb, visit, ID_VISIT_CALL, call, f) && record_put(cb, visit, ID_OPEN, "yes", "", f);
}

/* The record the call names already, or one made from its answers; none when it says nothing. */
static bool named_or_made(struct chart *c, const char *kind, const char *link,
                          const struct carried *carry, size_t n, struct record *out,
                          struct fault *f)
{
    const char *named = record_text(&c->call, link);
    if (named[0] != '\0') {
        if (!record_load(c->cb, c->arena, named, out, f))
            return false;
    } else {
        bool anything = false;
        for (size_t i = 0; i < n; i++)
            anything = anything || record_text(&c->call, carry[i].from)[0] != '\0';
        if (!anything)
            return true;
        if (!record_new(c->cb, c->arena, kind, out, f))
            return false;
    }
    for (size_t i = 0; i < n; i++)
        if (!fill(c->cb, out, carry[i].to, record_text(&c->call, carry[i].from), f))
            return false;
    return fill(c->cb, &c->call, link, out->entity, f);
}

static bool book(struct chart *c, const char *day, char visit_id[IDENT_ROOM], struct fault *f)
{
    struct record caregiver = {0}, dog = {0}, visit;
    if (!named_or_made(c, "dog", ID_CALL_DOG, to_dog, TO_DOG, &dog, f))
        return false;
    /* A dog that is known brings its caregiver along. */
    const char *known = dog.entity == NULL ? "" : record_text(&dog, ID_CAREGIVER);
    if (!fill(c->cb, &c->call, ID_CALL_CAREGIVER, known, f) ||
        !named_or_made(c, "caregiver", ID_CALL_CAREGIVER, to_caregiver, TO_CAREGIVER, &caregiver,
                       f))
        return false;
    if (caregiver.entity != NULL && !fill(c->cb, &dog, ID_CAREGIVER, caregiver.entity, f))
        return false;
    if (!make_visit(c->cb, c->arena, dog.entity, day, c->call.entity, &visit, f))
        return false;
    memcpy(visit_id, visit.entity, IDENT_ROOM);
    return record_put(c->cb, &c->call, ID_OUTCOME, "booked", "", f);
}

bool call_book(struct chart *c, const char *day, struct fault *f)
{
    struct verdict verdict;
    char visit[IDENT_ROOM];
    if (c->call.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no call to book a visit from");
    if (record_text(&c->call, ID_CALL_DOG)[0] == '\0' &&
        record_text(&c->call, ID_CALL_DOG_NAME)[0] == '\0')
        return fail(f, FAULT_INPUT, "a visit needs the dog's name");
    triage_judge(c, &verdict);
    if (verdict.urgency == URGENCY_EMERGENCY && record_text(&c->call, ID_CALL_OVERRIDE)[0] == '\0')
        return fail(f, FAULT_REFUSED,
                    "this call is an emergency (%s): refer it now, or say in %s why a visit is "
                    "booked all the same",
                    verdict.reasons[0].rule->reason, ID_CALL_OVERRIDE);
    if (!casebook_begin(c->cb, f))
        return false;
    if (!end_with(c->cb, book(c, day, visit, f), &c->call, f))
        return false;
    return chart_load(c->cb, c->arena, visit, c, f);
}

/* A dog that has a signed visit comes back: what follows is a review until somebody says other. */
static bool seen_before(struct casebook *cb, struct arena *a, const char *dog)
{
    struct ids visits;
    bool signed_one = false;
    if (!journal_by_value(cb->journal, a, ID_VISIT_DOG, dog, VISITS_MOST, &visits, NULL))
        return false;
    for (size_t i = 0; i < visits.count && !signed_one; i++)
        signed_one = strcmp(journal_value(cb->journal, a, visits.uuids[i], ID_OPEN), "yes") != 0;
    return signed_one;
}

bool visit_new(struct casebook *cb, struct arena *a, const char *dog, const char *day,
               struct chart *out, struct fault *f)
{
    struct record visit = {0};
    const char *kind = journal_kind(cb->journal, a, dog);
    if (kind == NULL || strcmp(kind, "dog") != 0)
        return fail(f, FAULT_MISSING, "there is no dog %s here", dog);
    if (!casebook_begin(cb, f))
        return false;
    bool ok = make_visit(cb, a, dog, day, "", &visit, f) &&
              (!seen_before(cb, a, dog) || record_put(cb, &visit, ID_VISIT_KIND, "review", "", f));
    return casebook_end(cb, ok, f) && chart_load(cb, a, visit.entity, out, f);
}
