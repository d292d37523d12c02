#include "casebook/past.h"
#include "base/arena.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include <string.h>

static bool day_of(const struct record *visit, day_number *day)
{
    int64_t at;
    if (!clock_parse_time(record_text(visit, ID_VISIT_DAY), 0, &at, NULL))
        return false;
    *day = clock_day(at);
    return true;
}

bool past_load(const struct chart *c, struct past *out, struct fault *f)
{
    *out = (struct past){.chart = c};
    out->visits = arena_array(c->arena, c->visit_count, sizeof *out->visits);
    out->days = arena_array(c->arena, c->visit_count, sizeof *out->days);
    for (size_t i = 0; i < c->visit_count; i++) {
        const struct record *known = chart_visit(c, i);
        struct chart *one = &out->visits[out->count];
        struct fault why = {0};
        *one = (struct chart){.cb = c->cb, .arena = c->arena, .now = c->now};
        if (known != NULL)
            one->visit = *known;
        else if (!record_load(c->cb, c->arena, c->visits[i], &one->visit, &why)) {
            if (why.kind == FAULT_MISSING)
                continue;
            if (f != NULL)
                *f = why;
            return false;
        }
        out->count += day_of(&one->visit, &out->days[out->count]);
        if (known == &c->visit)
            break;
    }
    return true;
}

const struct chart *past_visit(const struct past *p, const char *item)
{
    for (size_t i = p->count; i-- > 0;)
        if (chart_fact(&p->visits[i], item) != NULL)
            return &p->visits[i];
    return NULL;
}

const char *past_value(const struct past *p, const char *item)
{
    const struct chart *visit = past_visit(p, item);
    return chart_fact(visit != NULL ? visit : p->chart, item);
}

const char *past_mark(const struct past *p, const char *item)
{
    const struct chart *visit = past_visit(p, item);
    return visit != NULL ? item_mark(visit, item) : "";
}

static const char *fact_of(const void *of, const char *item)
{
    return past_value(of, item);
}

struct facts past_facts(const struct past *p)
{
    return (struct facts){.value = fact_of, .of = p};
}
