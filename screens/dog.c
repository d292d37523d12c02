/* Dog: who, with whom, cautions, the visits, and what changed between the last two. */
#include "base/clock.h"
#include "casebook/deciding.h"
#include "casebook/ids.h"
#include "casebook/review.h"
#include "output/papers.h"
#include "screens/kit/ask.h"
#include "screens/kit/list.h"
#include "screens/page.h"
#include "screens/printing.h"
#include "screens/screens.h"
#include <string.h>

enum { CHANGES_MOST = 12, CAUTIONS_MOST = 3 };

struct change {
    const char *label, *before, *now;
};

struct dog_state {
    struct page page;
    struct list list;   /* visits, newest first, then the pages of dog and caregiver */
    const char **lines; /* one for each row of the list */
    struct change changes[CHANGES_MOST];
    size_t change_count;
    const char *cautions[CAUTIONS_MOST];
    size_t caution_count;
    const char *due; /* the line above all: what is due, or that the case is closed */
};

enum { ROW_DETAILS, ROW_CAREGIVER, ROW_CALL, ROW_EXTRA };

/* "Tue 24 Nov 2026  signed  stepped rear frame" */
static const char *visit_line(struct dog_state *d, struct casebook *cb, const char *visit)
{
    struct record r;
    int64_t at;
    char day[CLOCK_ROOM];
    struct arena *a = d->page.data;
    if (!record_load(cb, a, visit, &r, NULL))
        return "not yet received";
    const struct support *support = template_support(cb->set, record_text(&r, "support"));
    const char *when = clock_parse_time(record_text(&r, "visit.day"), d->page.chart.now, &at, NULL)
                           ? clock_iso_day(clock_day(at), day)
                           : "no day";
    return arena_printf(a, "%-12s %-8s %s", when, record_signed(&r) ? "signed" : "open",
                        support != NULL ? support->label : "");
}

/* Answers that are not what they were at the visit before. */
static void find_changes(struct dog_state *d, const struct template_set *set)
{
    struct chart *c = &d->page.chart;
    d->change_count = 0;
    if (c->before.entity == NULL || c->visit.entity == NULL)
        return;
    for (size_t i = 0; i < set->form_count; i++) {
        if (set->forms[i].place != PLACE_VISIT)
            continue;
        for (size_t k = 0; k < set->forms[i].item_count; k++) {
            const struct item *item = &set->forms[i].items[k];
            const char *before = record_text(&c->before, item->id);
            const char *now = record_text(&c->visit, item->id);
            if (*before == '\0' || *now == '\0' || strcmp(before, now) == 0 ||
                item->kind == ITEM_NOTE || d->change_count == CHANGES_MOST)
                continue;
            d->changes[d->change_count++] =
                (struct change){item->label, answer_show(set, item, before, d->page.data),
                                answer_show(set, item, now, d->page.data)};
        }
    }
}

/* What must not be done with this dog, from the latest visit. */
static void find_cautions(struct dog_state *d)
{
    struct deciding deciding;
    d->caution_count = 0;
    if (d->page.chart.visit.entity == NULL)
        return;
    deciding_look(&d->page.chart, &deciding);
    for (size_t i = 0; i < deciding.count; i++)
        for (size_t k = 0; k < deciding.views[i].reason_count; k++) {
            const struct support_rule *rule = deciding.views[i].reasons[k].rule;
            bool known = rule->effect != EFFECT_FORBIDS || d->caution_count == CAUTIONS_MOST;
            for (size_t j = 0; j < d->caution_count; j++)
                known |= strcmp(d->cautions[j], rule->reason) == 0;
            if (!known)
                d->cautions[d->caution_count++] = rule->reason;
        }
}

static const char *due_words(struct dog_state *d)
{
    const struct record *dog = &d->page.chart.dog;
    const char *closed = record_text(dog, ID_DOG_CLOSED), *line = "";
    if (*closed != '\0')
        return arena_printf(d->page.data, "Case closed on %s. Nothing is due.", closed);
    static const char *const items[][2] = {{ID_REVIEW_DUE, "review"},
                                           {ID_CULTURE_DUE, "urine culture"}};
    for (size_t i = 0; i < sizeof items / sizeof *items; i++) {
        const char *day = record_text(dog, items[i][0]);
        if (*day >= '0' && *day <= '9')
            line = arena_printf(d->page.data, "%s%s%s on %s", line, *line == '\0' ? "Due: " : ", ",
                                items[i][1], day);
    }
    return line;
}

static void look(struct screen *s)
{
    struct dog_state *d = s->state;
    const struct chart *c = &d->page.chart;
    s->middle = record_text(&c->caregiver, "caregiver.name");
    d->list.count = c->visit_count + ROW_EXTRA - (c->call.entity == NULL);
    d->lines = arena_array(d->page.data, d->list.count, sizeof *d->lines);
    for (size_t i = 0; i < c->visit_count; i++)
        d->lines[i] = visit_line(d, s->app->cb, c->visits[c->visit_count - 1 - i]);
    d->lines[c->visit_count + ROW_DETAILS] = "the dog's details";
    d->lines[c->visit_count + ROW_CAREGIVER] =
        c->caregiver.entity == NULL
            ? "no caregiver recorded yet"
            : arena_printf(d->page.data, "%s, %s", record_text(&c->caregiver, "caregiver.name"),
                           record_text(&c->caregiver, "caregiver.phone"));
    if (c->call.entity != NULL)
        d->lines[c->visit_count + ROW_CALL] = "the call";
    if (d->list.at >= d->list.count)
        d->list.at = 0;
    find_changes(d, s->app->cb->set);
    find_cautions(d);
    d->due = due_words(d);
}

static bool open_dog(struct screen *s, struct fault *f)
{
    struct dog_state *d = s->state;
    if (!page_load(&d->page, s, d->page.entity, f))
        return false;
    look(s);
    return true;
}

static void draw_line(void *of, size_t i, int row, bool focus)
{
    const struct dog_state *d = of;
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    size_t visits = d->page.chart.visit_count;
    draw_fill(row, 1, term_columns() - 2, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    if (i < visits)
        draw_textf(row, 4, 10, plain, "visit %zu", visits - i);
    else
        draw_text(row, 4, 10, plain,
                  i - visits == ROW_DETAILS     ? "dog"
                  : i - visits == ROW_CAREGIVER ? "caregiver"
                                                : "call");
    draw_text(row, 15, term_columns() - 17, plain, d->lines[i]);
}

static void draw(struct screen *s)
{
    struct dog_state *d = s->state;
    (void)s;
    int row = 1, last = term_rows() - 3, columns = term_columns();
    if (*d->due != '\0')
        draw_text(row++, 4, columns - 8, LOOK_STRONG, d->due);
    for (size_t i = 0; i < d->caution_count; i++)
        row += draw_wrapped(row, 4, columns - 8, 2, LOOK_WARN,
                            arena_printf(d->page.data, "Caution: %s", d->cautions[i]));
    row += d->caution_count > 0;
    int changes = d->change_count > 0 ? (int)d->change_count + 2 : 0;
    int room = last - row - changes;
    int rows = (int)d->list.count < room ? (int)d->list.count : room > 4 ? room : 4;
    int list_row = row;
    row += rows + 1;
    if (d->change_count > 0 && row < last) {
        draw_text(row++, 2, columns - 4, LOOK_STRONG, "Changed since the visit before");
        for (size_t i = 0; i < d->change_count && row <= last; i++, row++) {
            draw_text(row, 4, 28, LOOK_PLAIN, d->changes[i].label);
            draw_textf(row, 33, columns - 34, LOOK_PLAIN, "%s -> %s", d->changes[i].before,
                       d->changes[i].now);
        }
    } else if (d->page.chart.visit_count == 0) {
        draw_text(row, 4, columns - 8, LOOK_DIM, "No visit yet; v books one.");
    }
    list_draw(&d->list, list_row, rows, 2, draw_line, d);
}

/* ---- the forms of dog and caregiver
 * -------------------------------------------------------------------- */

struct details {
    struct page page;
    enum form_place place;
    const struct form **forms;
    size_t form_count;
    struct form_view *view;
};

static bool open_details(struct screen *s, struct fault *f)
{
    struct details *d = s->state;
    const struct template_set *set = s->app->cb->set;
    if (!page_load(&d->page, s, d->page.entity, f))
        return false;
    d->forms = arena_array(s->arena, set->form_count, sizeof *d->forms);
    for (size_t i = 0; i < set->form_count; i++)
        if (set->forms[i].place == d->place)
            d->forms[d->form_count++] = &set->forms[i];
    s->title = d->form_count > 0 ? d->forms[0]->title : NULL;
    d->view = form_view_new(s->app, s->arena, &d->page.chart, d->forms, d->form_count);
    s->typing = form_view_typing(d->view);
    return true;
}

static void draw_details(struct screen *s)
{
    struct details *d = s->state;
    form_view_draw(d->view, 2, 1, term_rows() - 4, term_columns() - 2);
}

static bool press_details(struct screen *s, const struct press *p)
{
    struct details *d = s->state;
    bool taken = form_view_press(d->view, p);
    s->typing = form_view_typing(d->view);
    return taken;
}

static void refresh_details(struct screen *s)
{
    struct details *d = s->state;
    if (page_reload(&d->page, s))
        form_view_refresh(d->view);
}

static bool leave_details(struct screen *s, struct fault *f)
{
    struct details *d = s->state;
    return form_view_leave(d->view, f);
}

static void draft_details(struct screen *s)
{
    struct details *d = s->state;
    form_view_draft(d->view);
}

static void close_details(struct screen *s)
{
    struct details *d = s->state;
    if (d->view != NULL)
        form_view_free(d->view);
    page_close(&d->page);
}

static const struct key_help details_keys[] = {
    {"Enter", "next", "Keep the field and go to the next one.", true},
    {"Up Down", "move", "Keep the field and move.", true},
    {0},
};

static const struct screen_class details_class = {
    .name = "Details",
    .help = "Who the dog is, and who cares for it. Leaving a field keeps it.",
    .keys = details_keys,
    .open = open_details,
    .draw = draw_details,
    .press = press_details,
    .refresh = refresh_details,
    .leave = leave_details,
    .draft = draft_details,
    .close = close_details,
};

static void details_open(struct app *app, const char *entity, enum form_place place)
{
    struct arena *a = arena_new();
    struct details *d = arena_alloc(a, sizeof *d);
    d->page.entity = arena_str(a, entity);
    d->place = place;
    screen_open(app, &details_class, a, d);
}

/* ---- keys
 * ------------------------------------------------------------------------------------------------
 */

static void open_line(struct screen *s)
{
    struct dog_state *d = s->state;
    const struct chart *c = &d->page.chart;
    size_t i = d->list.at;
    if (i < c->visit_count)
        visit_open(s->app, c->visits[c->visit_count - 1 - i]);
    else if (i - c->visit_count == ROW_DETAILS)
        details_open(s->app, d->page.entity, PLACE_DOG);
    else if (i - c->visit_count == ROW_CAREGIVER && c->caregiver.entity != NULL)
        details_open(s->app, d->page.entity, PLACE_CAREGIVER);
    else if (i - c->visit_count == ROW_CALL)
        call_open(s->app, c->call.entity);
}

static void print_paper(struct screen *s)
{
    struct dog_state *d = s->state;
    struct sheet *sheet = NULL;
    struct fault f = {0};
    int key = ask_key(s->app, "r report to the vet of record, w whole record", "rw");
    if (key == 0)
        return;
    bool report = key == 'r';
    if (report ? report_sheet(&d->page.chart, &sheet, &f) : whole_sheet(&d->page.chart, &sheet, &f))
        print_ask(s->app, s->arena, sheet, report ? "report" : "record");
    else
        app_fault(s->app, &f);
}

/* Reminders stop with the one key; whatever else is asked can wait. */
static void close_case(struct screen *s)
{
    struct dog_state *d = s->state;
    struct chart *c = &d->page.chart;
    struct fault f = {0};
    bool closed = case_closed(c);
    if (ask_key(s->app,
                closed ? "Open this case again? y n"
                       : "Close this case? Its reminders stop at once. y n",
                "yn") != 'y')
        return;
    if (!(closed ? case_open_again(c, &f) : case_close(c, &f)))
        app_fault(s->app, &f);
    else if (!closed)
        details_open(s->app, d->page.entity, PLACE_CLOSING);
    if (closed && page_reload(&d->page, s))
        look(s);
}

static bool press(struct screen *s, const struct press *p)
{
    struct dog_state *d = s->state;
    if (list_press(&d->list, p, 10))
        return true;
    if (p->kind == PRESS_KEY && p->code == PK_ENTER) {
        open_line(s);
        return true;
    }
    if (p->kind != PRESS_CHAR)
        return false;
    switch (p->text[0]) {
    case 'v':
        visit_open_new(s->app, d->page.entity);
        return true;
    case 't':
        trends_open(s->app, d->page.entity);
        return true;
    case 'p':
        print_paper(s);
        return true;
    case 'x':
        close_case(s);
        return true;
    default:
        return false;
    }
}

static void refresh(struct screen *s)
{
    struct dog_state *d = s->state;
    if (page_reload(&d->page, s))
        look(s);
}

static void close_dog(struct screen *s)
{
    struct dog_state *d = s->state;
    page_close(&d->page);
}

static const struct key_help keys[] = {
    {"Enter", "open", "Open the visit, the details or the call under the cursor.", true},
    {"v", "new visit", "Book another visit for this dog.", true},
    {"t", "trends", "What moved over the months, and whether that is real.", true},
    {"p", "paper", "A report for the vet of record, or the whole record for an owner who moves.",
     true},
    {"x", "close", "Close the case, or open it again: while closed nothing is due.", false},
    {0},
};

static const struct screen_class dog_class = {
    .name = "Dog",
    .help = "Cautions first, then the visits, newest first, and what changed since the one before.",
    .keys = keys,
    .open = open_dog,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_dog,
};

void dog_open(struct app *app, const char *dog)
{
    struct arena *a = arena_new();
    struct dog_state *d = arena_alloc(a, sizeof *d);
    d->page.entity = arena_str(a, dog);
    screen_open(app, &dog_class, a, d);
}

void visit_open_new(struct app *app, const char *dog)
{
    struct arena *a = arena_new();
    struct fault f = {0};
    struct chart chart;
    char buf[CLOCK_ROOM];
    int64_t at;
    const char *day = ask_line(app, a, "Visit on which day and time?", "today");
    if (day != NULL) {
        if (!clock_parse_time(day, clock_now(), &at, &f) ||
            !visit_new(app->cb, a, dog, clock_iso_time(at, buf), &chart, &f))
            app_fault(app, &f);
        else
            visit_open(app, chart.visit.entity);
    }
    arena_free(a);
}
