#include "screens/page.h"
#include "base/clock.h"
#include <string.h>

const char *page_subject(struct page *p)
{
    const char *name = record_said(&p->chart.dog, "dog.name");
    if (*name == '\0')
        name = record_text(&p->chart.call, "call.dog_name");
    const char *rest = chart_signalment(&p->chart);
    if (*name == '\0')
        return p->chart.dog.entity != NULL ? "A dog without a name yet" : rest;
    return *rest == '\0' ? name : arena_printf(p->data, "%s  %s", name, rest);
}

const char *page_visit(struct page *p)
{
    if (p->chart.visit.entity == NULL)
        return "";
    size_t number = 0;
    while (number < p->chart.visit_count &&
           strcmp(p->chart.visits[number], p->chart.visit.entity) != 0)
        number++;
    day_number day;
    char buf[CLOCK_ROOM];
    int64_t at;
    const char *when = record_text(&p->chart.visit, "visit.day");
    if (!clock_parse_time(when, p->chart.now, &at, NULL))
        return arena_printf(p->data, "visit %zu", number + 1);
    day = clock_day(at);
    return arena_printf(p->data, "visit %zu, %s%s", number + 1, clock_short(day, buf),
                        record_signed(&p->chart.visit) ? ", signed" : "");
}

bool page_load(struct page *p, struct screen *s, const char *entity, struct fault *f)
{
    if (p->data == NULL)
        p->data = arena_new();
    p->entity = arena_str(s->arena, entity);
    if (!chart_load(s->app->cb, p->data, p->entity, &p->chart, f))
        return false;
    s->about = p->entity;
    s->subject = page_subject(p);
    s->middle = page_visit(p);
    return true;
}

bool page_reload(struct page *p, struct screen *s)
{
    struct fault f = {0};
    struct chart chart;
    struct arena *data = arena_new();
    if (!chart_load(s->app->cb, data, p->entity, &chart, &f)) {
        app_fault(s->app, &f);
        arena_free(data);
        return false;
    }
    arena_free(p->data);
    p->data = data;
    p->chart = chart;
    s->subject = page_subject(p);
    s->middle = page_visit(p);
    return true;
}

void page_close(struct page *p)
{
    arena_free(p->data);
    p->data = NULL;
}
