/* Review: what changed beyond noise, where the ladder goes and why, what is due and what to plan.
 */
#include "casebook/review.h"
#include "casebook/axle_plan.h"
#include "casebook/measuring.h"
#include "casebook/scores.h"
#include "casebook/trends.h"
#include "screens/kit/findings.h"
#include "screens/kit/reading.h"
#include "screens/screens.h"
#include "screens/visit.h"
#include <string.h>

enum { LABELS = 25 }; /* columns of what stands before the words */

struct review_page {
    struct section_page at;
    struct reading text;
};

static void say(struct review_page *r, enum look look, int indent, const char *words)
{
    reading_say(&r->text, look, indent, words);
}

static void say_of(struct review_page *r, enum look look, const char *label, const char *words)
{
    reading_row(&r->text, look, 4, label, LABELS, words);
}

/* What is shown above it was changed after signing, struck or is disputed: who and why. */
static void say_mark(struct review_page *r, const char *mark)
{
    say_of(r, LOOK_WARN, "", mark);
}

static void say_ladder(struct review_page *r)
{
    const struct chart *c = &r->at.page.chart;
    const struct template_set *set = c->cb->set;
    struct arena *a = r->at.page.data;
    struct ladder_view l;
    ladder_look(c, &l);
    reading_head(&r->text, "The ladder");
    if (!l.judged) {
        say(r, LOOK_DIM, 4,
            "No rule speaks yet: answer skin and willingness under Since last time.");
    } else {
        say(r,
            l.move == LADDER_UP     ? LOOK_GOOD
            : l.move == LADDER_HOLD ? LOOK_PLAIN
                                    : LOOK_WARN,
            4, arena_printf(a, "%s: %s.", ladder_word(l.move), l.rule->reason));
        say(r, LOOK_DIM, 6, arena_printf(a, "%s  (%s)", l.because, l.rule->source));
    }
    if (l.now < 0)
        return;
    say_of(r, LOOK_PLAIN, "now",
           arena_printf(a, "step %d, %s", l.now, set->ladder_steps[l.now].label));
    if (l.judged)
        say_of(r, LOOK_PLAIN, "next",
               arena_printf(a, "step %d, %s", l.next, set->ladder_steps[l.next].label));
}

/* The grades of the skin form, in its own order, as the letters of the drawing. */
static const struct {
    const char *id;
    char letter;
} grades[] = {
    {"clear", '.'}, {"red_fades", 'r'}, {"red_stays", 'R'}, {"broken", 'B'}, {"deep", 'D'}};

static char grade_letter(const char *id)
{
    for (size_t i = 0; i < sizeof grades / sizeof *grades; i++)
        if (strcmp(grades[i].id, id) == 0)
            return grades[i].letter;
    return '?';
}

static bool has_zone(const char *zones, const char *zone)
{
    size_t n = strlen(zone);
    for (const char *p = zones; *p != '\0'; p += strcspn(p, " "), p += strspn(p, " "))
        if (strncmp(p, zone, n) == 0 && (p[n] == ' ' || p[n] == '\0'))
            return true;
    return false;
}

/* The dog from the side; where a zone was graded last stands its letter. */
static void say_zones(struct review_page *r, const struct past *past)
{
    static const char *const dog[] = {
        "         shoulder  ribs     hip seat",  "  ___.-------o-------o-------o---o.",
        " (o  |       |                 |   \\", "  `--'breast o  belly o  groin o",
        "      armpit o             hock o",     "             |         genitals o",
        "             |             toes o",
    };
    static const struct {
        const char *zone;
        int row, column;
    } places[] = {{"shoulder", 1, 13}, {"ribs", 1, 21},     {"hip", 1, 29},   {"seat", 1, 33},
                  {"breast", 3, 13},   {"belly", 3, 22},    {"groin", 3, 31}, {"armpit", 4, 13},
                  {"hock", 4, 32},     {"genitals", 5, 32}, {"toes", 6, 32}};
    char *rows[sizeof dog / sizeof *dog];
    for (size_t i = 0; i < sizeof dog / sizeof *dog; i++)
        rows[i] = arena_str(r->at.page.data, dog[i]);
    for (size_t v = 0; v < past->count; v++) /* later visits write over earlier ones */
        for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
            const struct record *visit = &past->visits[v].visit;
            const char *grade = record_text(visit, "review.skin_worst");
            char *cell = &rows[places[i].row][places[i].column];
            if (has_zone(record_text(visit, "review.skin_zone"), places[i].zone))
                *cell = grade_letter(grade);
            else if (*grade != '\0')
                *cell = 'o';
        }
    for (size_t i = 0; i < sizeof dog / sizeof *dog; i++)
        say(r, LOOK_PLAIN, 4, rows[i]);
    say(r, LOOK_DIM, 4,
        "r red, fades   R red, stays   B broken   D deep   o not graded at the last look");
}

static void say_skin(struct review_page *r, const struct past *past)
{
    const struct chart *c = &r->at.page.chart;
    struct arena *a = r->at.page.data;
    reading_head(&r->text, "Skin");
    say_zones(r, past);
    for (size_t i = past->count; i-- > 0;) {
        char day[CLOCK_ROOM];
        const struct record *v = &past->visits[i].visit;
        const char *grade = record_text(v, "review.skin_worst");
        if (*grade == '\0')
            continue;
        const char *zone = record_text(v, "review.skin_zone");
        say_of(r, strcmp(grade, "clear") == 0 ? LOOK_PLAIN : LOOK_WARN,
               arena_str(a, clock_dated(past->days[i], day)),
               arena_printf(a, "%s%s%s", finding_show(c->cb->set, "review.skin_worst", grade, a),
                            *zone != '\0' ? ": " : "",
                            finding_show(c->cb->set, "review.skin_zone", zone, a)));
        say_mark(r, item_mark(&past->visits[i], "review.skin_worst"));
        say_mark(r, item_mark(&past->visits[i], "review.skin_zone"));
    }
}

static bool is_a_trend(const struct template_set *set, const char *item)
{
    bool found = false;
    for (size_t i = 0; i < set->trend_count; i++)
        found = found || strcmp(set->trends[i].item, item) == 0;
    return found;
}

/* Measurements no trend follows, beside the visit before: what moved in words, the rest counted. */
static void say_since(struct review_page *r)
{
    const struct chart *c = &r->at.page.chart;
    struct measuring m;
    size_t still = 0;
    measuring_look(c, &m);
    for (size_t i = 0; i < m.count; i++) {
        const struct measure_row *row = &m.rows[i];
        if (is_a_trend(c->cb->set, row->measure->id))
            continue;
        still += *measure_since_words(c, row) != '\0' && !measure_moved(row);
        if (!measure_moved(row))
            continue;
        say_of(r, LOOK_STRONG, row->measure->label, measure_since_words(c, row));
        say_mark(r, measure_mark(c, row->measure));
    }
    if (still > 0)
        say(r, LOOK_PLAIN, 4,
            arena_printf(r->at.page.data,
                         "%zu measurement%s as last time, within what readings differ", still,
                         still == 1 ? "" : "s"));
}

static void say_trends(struct review_page *r, const struct past *past)
{
    const struct trend_view *views;
    size_t n = trends_look(past, &views);
    reading_head(&r->text, "Changed beyond noise?");
    for (size_t i = 0; i < n; i++) {
        bool real = views[i].solved && views[i].verdict != TREND_NO_REAL_CHANGE;
        say_of(r, real ? LOOK_STRONG : LOOK_PLAIN, views[i].of->label, views[i].words);
        say_mark(r, views[i].marks);
    }
    say_since(r);
    if (n == 0)
        say(r, LOOK_DIM, 4, "Nothing measured yet.");
}

/* The next stages that a value of this dog, or a published range, has opened; and why. */
static void say_stages(struct review_page *r, const struct past *past)
{
    struct arena *a = r->at.page.data;
    const struct trend_view *views;
    const struct course_view *courses;
    size_t n = trends_look(past, &views);
    for (size_t i = 0; i < n; i++)
        if (*views[i].plan != '\0') {
            say_of(r, LOOK_STRONG, "plan", arena_printf(a, "%s.", views[i].plan));
            say_of(r, LOOK_DIM, "", trend_opened(&views[i], a));
        }
    n = courses_look(past, &courses);
    for (size_t i = 0; i < n; i++)
        if (courses[i].open && *courses[i].course->plan != '\0') {
            const struct course *of = courses[i].course;
            say_of(r, LOOK_STRONG, "plan", arena_printf(a, "%s.", of->plan));
            say_of(r, LOOK_DIM, "",
                   arena_printf(a, "the published range has opened: %s, %s; %s", of->figure, of->n,
                                of->source));
        }
}

static void say_axle(struct review_page *r, const struct past *past)
{
    struct axle_plan plan;
    if (!axle_plan_look(past, &plan))
        return;
    say_of(r, LOOK_STRONG, "axle", arena_printf(r->at.page.data, "%s.", plan.step));
    say_of(r, LOOK_PLAIN, "", plan.leads_to);
    say_of(r, LOOK_DIM, "", plan.because);
}

static void say_plan(struct review_page *r, const struct past *past)
{
    struct arena *a = r->at.page.data;
    struct review_plan plan;
    char day[CLOCK_ROOM];
    review_plan(past, &plan);
    reading_head(&r->text, "Next");
    if (case_closed(past->chart))
        say(r, LOOK_DIM, 4, "The case is closed: nothing is planned.");
    if (plan.planned)
        say_of(r, LOOK_PLAIN, "review",
               arena_printf(a, "%s: %s, counted from %s%s", clock_short(plan.due, day),
                            plan.step->label, plan.step->again ? "this visit" : plan.counted_from,
                            record_signed(&past->chart->visit) ? "" : "; kept once you sign"));
    if (plan.culture)
        say_of(r, LOOK_PLAIN, "urine culture", arena_str(a, clock_short(plan.culture_due, day)));
    say_stages(r, past);
    say_axle(r, past);
    const char *planned = past_value(past, "next_stage");
    if (planned != NULL)
        say_of(r, LOOK_PLAIN, "planned before", planned);
    say_mark(r, past_mark(past, "next_stage"));
}

/* The owner's words, with the day they were said first: they are not what the scores make of them.
 */
static void say_words(struct review_page *r, const struct past *past, const char *label,
                      const char *item)
{
    struct arena *a = r->at.page.data;
    char day[CLOCK_ROOM];
    const char *words = past_value(past, item);
    if (words == NULL)
        return;
    say_of(r, LOOK_PLAIN, label, arena_printf(a, "\"%s\"", words));
    size_t i = 0;
    while (i < past->count && strcmp(record_text(&past->visits[i].visit, item), words) != 0)
        i++;
    if (i < past->count)
        say_of(r, LOOK_DIM, "", arena_printf(a, "on %s", clock_long(past->days[i], day)));
    say_mark(r, past_mark(past, item));
}

/* Scores, days and the owner's own early words side by side; no advice. */
static void say_life(struct review_page *r, const struct past *past)
{
    struct arena *a = r->at.page.data;
    const struct template_set *set = past->chart->cb->set;
    static const char *const items[][2] = {{"life_quality", "quality of life"},
                                           {"burden", "caregiver burden"}};
    reading_head(&r->text, "Life, and the limits the owner set");
    for (size_t i = 0; i < sizeof items / sizeof *items; i++) {
        const char *kept = past_value(past, items[i][0]);
        if (kept == NULL)
            continue;
        say_of(r, LOOK_PLAIN, items[i][1], score_show(set, kept, a));
        say_mark(r, past_mark(past, items[i][0]));
    }
    const char *good = past_value(past, "good_days"), *bad = past_value(past, "bad_days");
    if (good != NULL || bad != NULL)
        say_of(
            r, LOOK_PLAIN, "of the last 14 days",
            arena_printf(a, "%s good, %s bad", good != NULL ? good : "?", bad != NULL ? bad : "?"));
    say_mark(r, past_mark(past, "good_days"));
    say_mark(r, past_mark(past, "bad_days"));
    say_words(r, past, "said early", "limits");
    if (past_value(past, "limits") == NULL)
        say_of(r, LOOK_DIM, "said early", "no limits have been written down yet");
    say_words(r, past, "hoped for", "goals");
}

static void look(struct review_page *r)
{
    struct past past;
    r->text.count = 0;
    say_ladder(r);
    if (past_load(&r->at.page.chart, &past, NULL)) {
        say_trends(r, &past);
        say_plan(r, &past);
        say_life(r, &past);
        say_skin(r, &past);
    }
}

static bool open_review(struct screen *s, struct fault *f)
{
    struct review_page *r = s->state;
    if (!page_load(&r->at.page, s, r->at.page.entity, f))
        return false;
    look(r);
    return true;
}

static void draw(struct screen *s)
{
    struct review_page *r = s->state;
    reading_draw(&r->text, 1, term_rows() - 3);
}

static bool press(struct screen *s, const struct press *p)
{
    struct review_page *r = s->state;
    if (section_press(s, p))
        return true;
    if (p->kind == PRESS_CHAR && p->text[0] == 't' && r->at.page.chart.dog.entity != NULL) {
        trends_open(s->app, r->at.page.chart.dog.entity);
        return true;
    }
    return reading_press(&r->text, p);
}

static void refresh(struct screen *s)
{
    struct review_page *r = s->state;
    if (page_reload(&r->at.page, s))
        look(r);
}

static void close_review(struct screen *s)
{
    struct review_page *r = s->state;
    page_close(&r->at.page);
}

static const struct key_help keys[] = {
    {"Up Down", "read", "Move through the page.", true},
    {"t", "trends", "The trends of this dog, drawn.", true},
    FINDINGS_KEY,
    SECTION_KEYS,
    {0},
};

static const struct screen_class review_class = {
    .name = "Review",
    .help = "What changed beyond noise, where the wear ladder goes and by which rule, what is due "
            "next, and the scores beside the owner's own early limits. The program gives no advice "
            "on the end of a life.",
    .keys = keys,
    .open = open_review,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_review,
};

void review_open(struct app *app, const char *visit, size_t index)
{
    section_screen(app, &review_class, visit, index, sizeof(struct review_page));
}
