#include "output/record_json.h"
#include "base/arena.h"
#include "base/clock.h"
#include "base/json.h"
#include "base/text.h"
#include "base/units.h"
#include "casebook/quantity.h"
#include "casebook/triage.h"
#include "output/standing.h"
#include <stdio.h>
#include <string.h>

static void put_id(struct json *j, struct entry_id id)
{
    json_open_object(j);
    json_key(j, "device");
    json_put_number(j, id.device);
    json_key(j, "number");
    json_put_number(j, (double)id.number);
    json_end(j);
}

static void put_ids(struct json *j, const char *key, const struct entry_id *ids, size_t n)
{
    json_key(j, key);
    json_open_array(j);
    for (size_t i = 0; i < n; i++)
        put_id(j, ids[i]);
    json_end(j);
}

/* "23.50 cm" is also said as the number 23.50, digit for digit, and its unit. */
static void put_quantity(struct json *j, struct arena *a, const char *value)
{
    const char *digits;
    const struct unit *unit;
    if (!quantity_parts(value, a, &digits, &unit) || unit == NULL)
        return;
    json_key(j, "number");
    json_put_decimal(j, digits);
    json_member(j, "unit", unit->name);
}

static void put_entry(struct json *j, const struct chart *c, const struct entry *e, bool after)
{
    const struct template_set *set = c->cb->set;
    char at[CLOCK_ROOM];
    json_open_object(j);
    if (e->kind == ENTRY_ERROR) {
        json_key(j, "entered_in_error");
        json_put_bool(j, true);
    } else {
        json_member(j, "value", e->value);
    }
    if (e->kind == ENTRY_SET) {
        put_quantity(j, c->arena, e->value);
        json_member(j, "shown", finding_show(set, e->item, e->value, c->arena));
    }
    json_member(j, "by", author_initials(c->cb, c->arena, e->author));
    json_member(j, "author", e->author);
    json_member(j, "at", clock_iso_time(e->claimed_at, at));
    json_key(j, "after_signing");
    json_put_bool(j, after);
    if (*e->reason)
        json_member(j, "reason", e->reason);
    json_key(j, "entry");
    put_id(j, e->id);
    put_ids(j, "replaces", e->replaces, e->replaces_count);
    json_end(j);
}

static void put_item(struct json *j, const struct chart *c, const struct standing *s)
{
    json_open_object(j);
    json_member(j, "item", s->heads[0].item);
    json_member(j, "label", finding_label(c->cb->set, s->heads[0].item, c->arena));
    json_key(j, "conflict");
    json_put_bool(j, s->conflict);
    json_key(j, "amended");
    json_put_bool(j, s->amended);
    json_key(j, "values");
    json_open_array(j);
    for (size_t i = 0; i < s->count; i++)
        put_entry(j, c, &s->heads[i], s->after[i]);
    json_end(j);
    json_end(j);
}

static bool put_record(struct json *j, const struct chart *c, const char *key,
                       const struct record *r, struct fault *f)
{
    json_key(j, key);
    if (r->entity == NULL) {
        json_put_null(j);
        return true;
    }
    const struct standing *all;
    size_t count;
    if (!standing_look(c->cb, c->arena, r, &all, &count, f))
        return false;
    json_open_object(j);
    json_member(j, "id", r->entity);
    json_member(j, "kind", r->kind);
    json_key(j, "signed");
    json_put_bool(j, record_signed(r));
    json_key(j, "findings");
    json_open_array(j);
    for (size_t i = 0; i < count; i++)
        put_item(j, c, &all[i]);
    json_end(j);
    json_end(j);
    return true;
}

static void put_verdict(struct json *j, const struct chart *c)
{
    struct verdict v;
    triage_judge(c, &v);
    json_key(j, "verdict");
    json_open_object(j);
    json_member(j, "urgency", urgency_word(v.urgency));
    json_key(j, "reasons");
    json_open_array(j);
    for (size_t i = 0; i < v.reason_count; i++)
        json_put_string(j, v.reasons[i].rule->reason);
    json_end(j);
    json_end(j);
}

bool chart_json(const struct chart *c, struct text *out, struct fault *f)
{
    const struct {
        const char *key;
        const struct record *record;
    } all[] = {
        {"dog", &c->dog}, {"caregiver", &c->caregiver}, {"call", &c->call}, {"visit", &c->visit}};
    struct json j;
    json_begin(&j, out, 2);
    json_open_object(&j);
    json_member(&j, "practice", c->cb->set->practice.name);
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        if (!put_record(&j, c, all[i].key, all[i].record, f))
            return false;
    json_key(&j, "visits");
    json_open_array(&j);
    for (size_t i = 0; i < c->visit_count; i++)
        json_put_string(&j, c->visits[i]);
    json_end(&j);
    if (c->call.entity)
        put_verdict(&j, c);
    json_end(&j);
    text_addc(out, '\n');
    return (json_done(&j) && !out->cut) ||
           fail(f, FAULT_LIMIT, "the record is too large to be written as JSON");
}
