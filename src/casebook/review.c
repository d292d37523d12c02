#include "casebook/review.h"
#include "base/arena.h"
#include "base/units.h"
#include "casebook/because.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include "casebook/lending.h"
#include <math.h>
#include <string.h>

static const char done[] = "done";

/* ---- when to look again --------------------------------------------------------------------- */

/* The last day something of the frame happened that starts the reviews again. */
static bool last_day_of(const struct past *p, const char *item, day_number *day)
{
    for (size_t i = p->count; i-- > 0;)
        if (strcmp(record_text(&p->visits[i].visit, item), "yes") == 0) {
            *day = p->days[i];
            return true;
        }
    return false;
}

static void find_start(const struct past *p, struct review_plan *out)
{
    static const struct {
        const char *item, *words;
    } starts[] = {{ID_HANDED_OVER, "the day the frame was handed over"},
                  {ID_FIT_TRIED, "the day the frame was fitted"}};
    out->start = p->days[0];
    out->counted_from = "the first visit";
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++)
        if (last_day_of(p, starts[i].item, &out->start)) {
            out->counted_from = starts[i].words;
            return;
        }
}

static void find_step(const struct past *p, struct review_plan *out)
{
    const struct template_set *set = p->chart->cb->set;
    struct facts facts = past_facts(p);
    day_number last = p->days[p->count - 1];
    for (size_t again = 0; again < 2; again++) /* counted from the start; then those that repeat */
        for (size_t i = 0; i < set->review_step_count && !out->planned; i++) {
            const struct review_step *s = &set->review_steps[i];
            day_number due = (again ? last : out->start) + (day_number)lround(s->days);
            if (s->again != (again == 1) || due <= last || !condition_holds(s->when, &facts, NULL))
                continue;
            out->planned = true;
            out->step = s;
            out->due = due;
        }
}

/* Different days of a culture that the visits name. */
static size_t cultures_taken(const struct past *p, day_number *last)
{
    size_t n = 0;
    for (size_t i = 0; i < p->count; i++) {
        day_number day;
        if (clock_parse_day(record_text(&p->visits[i].visit, "culture_date"), 0, &day, NULL) &&
            (n == 0 || day != *last)) {
            *last = day;
            n++;
        }
    }
    return n;
}

static void find_culture(const struct past *p, struct review_plan *out)
{
    const struct template_set *set = p->chart->cb->set;
    struct facts facts = past_facts(p);
    for (size_t i = 0; i < set->culture_rule_count && !out->culture; i++) {
        const struct culture_rule *rule = &set->culture_rules[i];
        if (!condition_holds(rule->when, &facts, NULL))
            continue;
        day_number last = p->days[p->count - 1];
        size_t taken = cultures_taken(p, &last);
        double days = taken < (size_t)rule->first_times ? rule->first_days : rule->then_days;
        out->culture = true;
        out->rule = rule;
        out->culture_due = last + (day_number)lround(days);
    }
}

void review_plan(const struct past *p, struct review_plan *out)
{
    *out = (struct review_plan){0};
    if (p->count == 0 || case_closed(p->chart))
        return;
    find_start(p, out);
    find_step(p, out);
    find_culture(p, out);
}

/* A day, or "done" where something stood; nothing where nothing did. */
static bool put_due(struct chart *c, const char *item, bool due, day_number day, struct fault *f)
{
    char iso[CLOCK_ROOM];
    if (!due && record_text(&c->dog, item)[0] == '\0')
        return true;
    return record_put(c->cb, &c->dog, item, due ? clock_iso_day(day, iso) : done, "", f);
}

/* A visit that was signed late plans nothing when a later one has been signed meanwhile; one that
 * is only booked says nothing yet. */
static bool is_latest_signed(const struct chart *c)
{
    for (size_t i = c->visit_count; i-- > 0 && strcmp(c->visits[i], c->visit.entity) != 0;)
        if (strcmp(journal_value(c->cb->journal, c->arena, c->visits[i], ID_OPEN), "yes") != 0)
            return false;
    return true;
}

/* Write down on the dog what is due after the visit. */
static bool keep_plan(struct chart *c, struct fault *f)
{
    struct past past;
    struct review_plan plan;
    if (c->dog.entity == NULL || !is_latest_signed(c))
        return true;
    if (!past_load(c, &past, f))
        return false;
    review_plan(&past, &plan);
    return put_due(c, ID_REVIEW_DUE, plan.planned, plan.due, f) &&
           put_due(c, ID_CULTURE_DUE, plan.culture, plan.culture_due, f);
}

bool visit_plan_again(struct chart *c, struct fault *f)
{
    if (c->visit.entity == NULL || !record_signed(&c->visit))
        return true;
    return casebook_begin(c->cb, f) && end_with(c->cb, keep_plan(c, f), &c->dog, f);
}

bool visit_sign(struct chart *c, struct fault *f)
{
    if (!casebook_begin(c->cb, f))
        return false;
    bool ok = record_sign(c->cb, &c->visit, f) && keep_plan(c, f);
    if (end_with(c->cb, ok, &c->visit, f))
        return true;
    if (c->dog.entity != NULL)
        (void)record_load(c->cb, c->arena, c->dog.entity, &c->dog, NULL);
    return false;
}

/* ---- the ladder ----------------------------------------------------------------------------- */

const char *ladder_word(enum ladder_move m)
{
    static const char *const words[] = {
        [LADDER_DOWN] = "down", [LADDER_HOLD] = "hold", [LADDER_UP] = "up"};
    return words[m];
}

void ladder_look(const struct chart *c, struct ladder_view *out)
{
    const struct template_set *set = c->cb->set;
    double step;
    *out = (struct ladder_view){.now = -1, .next = -1};
    for (int move = LADDER_DOWN; move <= LADDER_UP && !out->judged; move++)
        for (size_t i = 0; i < set->ladder_rule_count && !out->judged; i++) {
            const struct ladder_rule *rule = &set->ladder_rules[i];
            if ((int)rule->move != move ||
                !rule_holds(c, rule->when, move != LADDER_UP, &out->because))
                continue;
            out->judged = true;
            out->move = rule->move;
            out->rule = rule;
        }
    const char *now = record_text(&c->visit, "review.step");
    int last = (int)set->ladder_step_count - 1;
    if (!number_lead(now, &step) || last < 0)
        return;
    out->now = (int)fmin(fmax(step, 0), last);
    int to = out->now + (!out->judged               ? 0
                         : out->move == LADDER_UP   ? 1
                         : out->move == LADDER_DOWN ? -1
                                                    : 0);
    out->next = to < 0 ? 0 : to > last ? last : to;
}

/* ---- published ranges ----------------------------------------------------------------------- */

size_t courses_look(const struct past *p, const struct course_view **out)
{
    const struct template_set *set = p->chart->cb->set;
    struct facts facts = past_facts(p);
    struct course_view *views = arena_array(p->chart->arena, set->course_count, sizeof *views);
    size_t n = 0;
    for (size_t i = 0; i < set->course_count; i++) {
        const struct course *course = &set->courses[i];
        day_number from;
        if (!condition_holds(course->when, &facts, NULL))
            continue;
        const char *since = past_value(p, course->since);
        views[n] = (struct course_view){.course = course};
        if (since != NULL && clock_parse_day(since, 0, &from, NULL)) {
            views[n].since_known = true;
            views[n].days = clock_day(p->chart->now) - from;
            views[n].open = views[n].days >= course->low && !case_closed(p->chart);
        }
        n++;
    }
    *out = views;
    return n;
}

/* ---- closing -------------------------------------------------------------------------------- */

bool case_closed(const struct chart *c)
{
    return c->dog.entity != NULL && record_text(&c->dog, ID_DOG_CLOSED)[0] != '\0';
}

bool case_close(struct chart *c, struct fault *f)
{
    char iso[CLOCK_ROOM];
    if (c->dog.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no dog whose case could be closed");
    if (case_closed(c))
        return true;
    if (!casebook_begin(c->cb, f))
        return false;
    bool ok = record_put(c->cb, &c->dog, ID_DOG_CLOSED,
                         clock_iso_day(clock_day(journal_clock(c->cb->journal)), iso), "", f) &&
              put_due(c, ID_REVIEW_DUE, false, 0, f) && put_due(c, ID_CULTURE_DUE, false, 0, f) &&
              frames_follow_closing(c, f);
    return end_with(c->cb, ok, &c->dog, f);
}

bool case_open_again(struct chart *c, struct fault *f)
{
    if (!case_closed(c))
        return true;
    return record_put(c->cb, &c->dog, ID_DOG_CLOSED, "", "opened again", f);
}
