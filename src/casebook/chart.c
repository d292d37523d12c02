#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "casebook/casebook.h"
#include "casebook/derived.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/merging.h"
#include "template/phrases.h"
#include <stdlib.h>
#include <string.h>

enum { VISITS_MOST = 1000, CALLS_MOST = 200 };

/* ---- loading -------------------------------------------------------------------------------- */

/* What is referred to may not have arrived here yet: then it is left out. What the chart began with
 * is not read twice. */
static bool follow(struct chart *c, const char *uuid, struct record *out, struct fault *f)
{
    struct fault why = {0};
    if (out->entity != NULL && strcmp(out->entity, uuid) == 0)
        return true;
    *out = (struct record){0};
    if (uuid[0] == '\0' || record_load(c->cb, c->arena, uuid, out, &why))
        return true;
    *out = (struct record){0};
    if (why.kind == FAULT_MISSING)
        return true;
    if (f != NULL)
        *f = why;
    return false;
}

struct dated {
    const char *uuid, *day;
    size_t age; /* order in which they were made */
};

static int by_day(const void *x, const void *y)
{
    const struct dated *a = x, *b = y;
    int days = strcmp(a->day, b->day);
    return days != 0 ? days : (a->age > b->age) - (a->age < b->age);
}

/* The record that stands for what is referred to, when two were found to be one. */
static bool follow_survivor(struct chart *c, const char *uuid, struct record *out, struct fault *f)
{
    return follow(c, *uuid != '\0' ? merge_survivor(c->cb, c->arena, uuid) : "", out, f);
}

/* Entities whose `item` names this dog, in the order of `day_item`. */
static bool of_dog(struct chart *c, const char *item, const char *day_item, size_t limit,
                   struct ids *out, struct fault *f)
{
    *out = (struct ids){0};
    if (c->dog.entity == NULL)
        return true;
    if (!merge_by_family(c->cb, c->arena, item, &c->family, limit, out, f))
        return false;
    struct dated *list = arena_array(c->arena, out->count, sizeof *list);
    for (size_t i = 0; i < out->count; i++) {
        list[i] = (struct dated){.uuid = out->uuids[i], .age = i};
        if (!journal_last(c->cb->journal, c->arena, list[i].uuid, day_item, &list[i].day, f))
            return false;
    }
    if (out->count > 0)
        qsort(list, out->count, sizeof *list, by_day);
    const char **sorted = arena_array(c->arena, out->count, sizeof *sorted);
    for (size_t i = 0; i < out->count; i++)
        sorted[i] = list[i].uuid;
    out->uuids = sorted;
    return true;
}

/* Visits that have not arrived here are left out. */
static bool load_earlier(struct chart *c, size_t count, struct fault *f)
{
    struct record *earlier = arena_array(c->arena, count, sizeof *earlier);
    for (size_t i = 0; i < count; i++) {
        if (!follow(c, c->visits[i], &earlier[c->earlier_count], f))
            return false;
        c->earlier_count += earlier[c->earlier_count].entity != NULL;
    }
    c->earlier = earlier;
    if (c->earlier_count > 0)
        c->before = earlier[c->earlier_count - 1];
    return true;
}

static bool find_visits(struct chart *c, struct fault *f)
{
    struct ids found;
    if (!of_dog(c, ID_VISIT_DOG, ID_VISIT_DAY, VISITS_MOST, &found, f))
        return false;
    c->visits = found.uuids;
    c->visit_count = found.count;
    return true;
}

/* The dog's visits, and those before this one. */
static bool load_visits(struct chart *c, struct fault *f)
{
    if (!find_visits(c, f))
        return false;
    for (size_t i = 1; i < c->visit_count; i++)
        if (strcmp(c->visits[i], c->visit.entity) == 0)
            return load_earlier(c, i, f);
    return true;
}

const struct record *chart_visit(const struct chart *c, size_t i)
{
    const char *wanted = c->visits[i];
    if (c->visit.entity != NULL && strcmp(wanted, c->visit.entity) == 0)
        return &c->visit;
    for (size_t k = i < c->earlier_count ? i + 1 : c->earlier_count; k-- > 0;)
        if (strcmp(wanted, c->earlier[k].entity) == 0)
            return &c->earlier[k];
    return NULL;
}

static bool load_dog(struct chart *c, const char *dog, struct fault *f)
{
    if (*dog == '\0')
        return true;
    return merge_family(c->cb, c->arena, dog, &c->family, f) &&
           follow(c, c->family.uuids[0], &c->dog, f) &&
           (c->dog.entity == NULL || c->caregiver.entity != NULL ||
            follow_survivor(c, record_text(&c->dog, ID_CAREGIVER), &c->caregiver, f));
}

static bool load_latest_call(struct chart *c, struct fault *f)
{
    struct ids calls;
    return of_dog(c, ID_CALL_DOG, ID_CALL_AT, CALLS_MOST, &calls, f) &&
           (calls.count == 0 || follow(c, calls.uuids[calls.count - 1], &c->call, f));
}

static bool around_visit(struct chart *c, struct fault *f)
{
    if (!load_dog(c, record_text(&c->visit, ID_VISIT_DOG), f) || !load_visits(c, f) ||
        !follow(c, record_text(&c->visit, ID_VISIT_CALL), &c->call, f))
        return false;
    return c->call.entity != NULL || load_latest_call(c, f);
}

static bool around_dog(struct chart *c, struct fault *f)
{
    if (!load_dog(c, c->dog.entity, f) || !find_visits(c, f) || !load_latest_call(c, f))
        return false;
    size_t last = c->visit_count - 1;
    return c->visit_count == 0 || (follow(c, c->visits[last], &c->visit, f) &&
                                   (c->visit.entity == NULL || load_earlier(c, last, f)));
}

static bool around_call(struct chart *c, struct fault *f)
{
    return follow_survivor(c, record_text(&c->call, ID_CALL_CAREGIVER), &c->caregiver, f) &&
           load_dog(c, record_text(&c->call, ID_CALL_DOG), f) && find_visits(c, f);
}

static bool around_caregiver(struct chart *c, struct fault *f)
{
    struct ids dogs;
    if (!follow_survivor(c, c->caregiver.entity, &c->caregiver, f) ||
        !dogs_of(c->cb, c->arena, c->caregiver.entity, &dogs, f))
        return false;
    if (dogs.count != 1)
        return true;
    return follow(c, dogs.uuids[0], &c->dog, f) && (c->dog.entity == NULL || around_dog(c, f));
}

static bool around_nobody(struct chart *c, struct fault *f)
{
    (void)c;
    (void)f;
    return true;
}

/* Which record of the chart a kind of entity is, and what to load around it. */
static const struct {
    const char *kind;
    size_t at; /* offset of the record in struct chart */
    bool (*around)(struct chart *c, struct fault *f);
} places[] = {
    {"visit", offsetof(struct chart, visit), around_visit},
    {"dog", offsetof(struct chart, dog), around_dog},
    {"call", offsetof(struct chart, call), around_call},
    {"caregiver", offsetof(struct chart, caregiver), around_caregiver},
    {"practitioner", offsetof(struct chart, practitioner), around_nobody},
    {"equipment", offsetof(struct chart, equipment), around_nobody},
};
enum { PLACES = sizeof places / sizeof *places };

bool chart_load(struct casebook *cb, struct arena *a, const char *entity, struct chart *out,
                struct fault *f)
{
    struct record r;
    if (!record_load(cb, a, entity, &r, f))
        return false;
    *out = (struct chart){.cb = cb, .arena = a, .now = clock_now()};
    for (size_t i = 0; i < PLACES; i++)
        if (strcmp(places[i].kind, r.kind) == 0) {
            *(struct record *)((char *)out + places[i].at) = r;
            return places[i].around(out, f);
        }
    return fail(f, FAULT_INPUT, "a record of kind \"%s\" cannot be shown", r.kind);
}

struct record *chart_record(struct chart *c, const char *about)
{
    for (size_t i = 0; i < PLACES; i++)
        if (strcmp(places[i].kind, about) == 0) {
            struct record *r = (struct record *)((char *)c + places[i].at);
            return r->entity != NULL ? r : NULL;
        }
    return NULL;
}

const struct record *chart_holder(const struct chart *c, const char *item)
{
    for (size_t i = 0; i < PLACES; i++) {
        const struct record *r = (const struct record *)((const char *)c + places[i].at);
        if (r->entity != NULL && record_find(r, item) != NULL)
            return r;
    }
    return NULL;
}

/* ---- facts ---------------------------------------------------------------------------------- */

const struct finding *chart_finding(const struct chart *c, const char *item)
{
    const struct record *const order[PLACES] = {&c->visit, &c->dog,          &c->caregiver,
                                                &c->call,  &c->practitioner, &c->equipment};
    const struct finding *found = NULL;
    for (size_t i = 0; i < PLACES; i++) {
        const struct finding *here = record_find(order[i], item);
        if (here != NULL && !here->in_error && here->text[0] != '\0')
            return here;
        if (here != NULL && found == NULL && here->other_count > 0)
            found = here; /* emptied here, but somebody else's value stands against that */
    }
    return found;
}

const char *chart_fact(const struct chart *c, const char *item)
{
    const struct finding *found = chart_finding(c, item);
    if (found != NULL && found->text[0] != '\0')
        return found->text;
    const char *measured = measure_fact(c, item);
    return measured != NULL ? measured : derived_value(c, item);
}

static const char *fact_of(const void *of, const char *item)
{
    return chart_fact(of, item);
}

struct facts chart_facts(const struct chart *c)
{
    return (struct facts){.value = fact_of, .of = c};
}

/* ---- who it is ------------------------------------------------------------------------------ */

enum { AGE_IN_MONTHS = 24 }; /* up to here a dog's age is told in months */

static const char *phrase(const struct chart *c, const char *language, enum phrase_id id)
{
    return template_phrase(c->cb->set, language, id);
}

/* "1 mo", "5 mo": the words after one, and after more. */
static const char *counted(const struct chart *c, const char *language, int n, enum phrase_id one)
{
    return arena_printf(c->arena, "%d %s", n,
                        phrase(c, language, n == 1 ? one : (enum phrase_id)(one + 1)));
}

typedef const char *saying(const struct chart *c, const char *language, const char *value);

/* What stands for a finding: "4.5 kg or 4.7 kg" where two were written apart and nobody decided. */
static const char *all_said(const struct chart *c, const char *language, const struct finding *f,
                            saying *say)
{
    const char *words = f == NULL ? "" : say(c, language, f->text);
    for (size_t i = 0; f != NULL && i < f->other_count; i++) {
        const char *other = f->others[i][0] != '\0' ? say(c, language, f->others[i])
                                                    : phrase(c, language, PHRASE_NONE);
        words = words[0] == '\0' ? other
                                 : arena_printf(c->arena, "%s %s %s", words,
                                                phrase(c, language, PHRASE_OR), other);
    }
    return words;
}

static const char *say_itself(const struct chart *c, const char *language, const char *value)
{
    (void)c;
    (void)language;
    return value;
}

static const char *say_age(const struct chart *c, const char *language, const char *value)
{
    day_number born;
    if (value[0] == '\0' || !clock_parse_day(value, 0, &born, NULL))
        return "";
    int months = clock_age_months(born, clock_day(c->now));
    return months < 0               ? phrase(c, language, PHRASE_AGE_UNBORN)
           : months < AGE_IN_MONTHS ? counted(c, language, months, PHRASE_AGE_MONTH)
                                    : counted(c, language, months / 12, PHRASE_AGE_YEAR);
}

static const char *say_weight(const struct chart *c, const char *language, const char *value)
{
    double kg;
    char number[32];
    const struct unit *wanted = c->cb->set->practice.mass_unit;
    const struct unit *u = wanted != NULL ? wanted : unit_base(DIM_MASS);
    if (!number_lead(value, &kg))
        return "";
    number_format(unit_from_base(u, kg), 1, false, number, sizeof number);
    number_mark(number, template_decimal(c->cb->set, language));
    return arena_printf(c->arena, "%s %s", number, u->name);
}

static const char *age(const struct chart *c, const char *language)
{
    const char *words = all_said(c, language, record_find(&c->dog, ID_DOG_BORN), say_age);
    const char *years = words[0] != '\0' ? NULL : chart_fact(c, "age_years");
    return years == NULL ? words
                         : counted(c, language, (int)strtol(years, NULL, 10), PHRASE_AGE_YEAR);
}

static const char *breed(const struct chart *c, const char *language)
{
    const char *words = all_said(c, language, record_find(&c->dog, ID_DOG_BREED), say_itself);
    return words[0] != '\0'
               ? words
               : all_said(c, language, record_find(&c->call, ID_CALL_BREED), say_itself);
}

/* The weight in conflict among those that the fact would be taken from, NULL when it is not. */
static const struct finding *disputed_weight(const struct chart *c)
{
    const struct {
        const struct record *in;
        const char *item;
    } from[] = {{&c->visit, "body_mass.1"},  {&c->visit, "body_mass.2"}, {&c->visit, "body_mass.3"},
                {&c->before, "body_mass.1"}, {&c->dog, ID_DOG_MASS},     {&c->call, ID_CALL_MASS}};
    const struct record *found_in = NULL;
    for (size_t i = 0; i < sizeof from / sizeof *from; i++) {
        const struct finding *f = record_find(from[i].in, from[i].item);
        if (found_in != NULL && from[i].in != found_in)
            return NULL;
        if (f != NULL && f->other_count > 0)
            return f;
        if (f != NULL && f->text[0] != '\0')
            found_in = from[i].in;
    }
    return NULL;
}

static const char *weight(const struct chart *c, const char *language)
{
    const struct finding *two = disputed_weight(c);
    const char *mass = two != NULL ? NULL : chart_fact(c, "mass_kg");
    return two != NULL    ? all_said(c, language, two, say_weight)
           : mass != NULL ? say_weight(c, language, mass)
                          : "";
}

const char *chart_signalment_in(const struct chart *c, const char *language)
{
    const char *const parts[] = {breed(c, language), age(c, language), weight(c, language)};
    struct text line;
    text_init(&line, 400);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (parts[i][0] != '\0')
            text_addf(&line, "%s%s", line.len > 0 ? ", " : "", parts[i]);
    const char *shown = arena_str(c->arena, line.s);
    text_free(&line);
    return shown;
}

const char *chart_signalment(const struct chart *c)
{
    return chart_signalment_in(c, ""); /* no language: whatever a practice words anew for paper */
}
