/* Dog: who, with whom, cautions, the visits, and what changed between the last two. */
#include "base/clock.h"
#include "casebook/cautions.h"
#include "casebook/ids.h"
#include "casebook/review.h"
#include "casebook/scores.h"
#include "output/papers.h"
#include "screens/kit/ask.h"
#include "screens/kit/findings.h"
#include "screens/kit/history.h"
#include "screens/kit/list.h"
#include "screens/kit/past.h"
#include "screens/kit/printing.h"
#include "screens/page.h"
#include "screens/screens.h"
#include "screens/trends_panel.h"
#include <math.h>
#include <string.h>

enum { CHANGES_MOST = 12, CAUTIONS_SHOWN = 3, DUE_MOST = 2 };
/* Where there is room, the page keeps to the left and the trends stand beside it: with less than
 * PANEL_LEAST the two days below a picture would run into one another. */
enum { PAGE_WIDE = 80, PANEL_COLUMN = 82, PANEL_LEAST = 44, PANEL_WIDE = 64 };

struct change {
    const char *item, *label, *before, *now,
        *mark; /* now: "" where two stand; the mark says them */
};

/* Rows below the visits. */
enum row { ROW_DETAILS, ROW_CAREGIVER, ROW_CALL, ROW_CLOSING, ROW_KINDS };
static const char *const row_names[] = {[ROW_DETAILS] = "dog",
                                        [ROW_CAREGIVER] = "caregiver",
                                        [ROW_CALL] = "call",
                                        [ROW_CLOSING] = "closing"};

struct dog_state {
    struct page page;
    struct list list;         /* visits, newest first, then the pages of dog and caregiver */
    const char **lines;       /* one for each row of the list */
    enum row rows[ROW_KINDS]; /* what those below the visits are */
    struct change changes[CHANGES_MOST];
    size_t change_count; /* all of them; those past the last row are only counted */
    struct list changed; /* those kept, below the list: the cursor goes on into them */
    bool in_changes;
    size_t changed_to;              /* visit from 1; they are since the one before it */
    const struct caution *cautions; /* those that forbid are shown, all can be opened */
    size_t caution_count, forbidden;
    struct trends_panel trends; /* of no use to a small window, and then not looked at */
    bool trends_looked;
    const char *due[DUE_MOST]; /* what is due, or that the case is closed */
    size_t due_count;
};

/* Handing over and building come after signing in the usual course: they change no answer. */
static bool changed_since(const struct record *r)
{
    for (size_t i = 0; i < r->count; i++) {
        const struct finding *f = &r->findings[i];
        if (f->amended && strcmp(f->item, ID_HANDOUT) != 0 && !text_starts(f->item, "build."))
            return true;
    }
    return false;
}

/* "Tue 24 Nov 2026  signed  stepped rear frame" */
static const char *visit_line(struct dog_state *d, size_t visit)
{
    const struct chart *c = &d->page.chart;
    const struct record *r = chart_visit(c, visit);
    struct record read;
    int64_t at;
    char day[CLOCK_ROOM];
    if (r == NULL && record_load(c->cb, d->page.data, c->visits[visit], &read, NULL))
        r = &read;
    if (r == NULL)
        return "not yet received";
    const struct support *support = template_support(c->cb->set, record_text(r, "support"));
    const char *when = clock_parse_time(record_text(r, "visit.day"), c->now, &at, NULL)
                           ? clock_dated(clock_day(at), day)
                           : "no day";
    return arena_printf(d->page.data, "%-16s %-8s %s%s", when, record_signed(r) ? "signed" : "open",
                        changed_since(r) ? "changed after signing  " : "",
                        support != NULL ? support->label : "");
}

/* Of a score the total is enough: "18/72". */
static const char *answer_short(const struct template_set *set, const struct item *item,
                                const char *value, struct arena *a)
{
    return item->kind == ITEM_SCORE ? score_edit(value, a) : answer_show(set, item, value, a);
}

/* Of the later answer, else of the earlier. */
static const char *mark_of(const struct dog_state *d, const struct record *before,
                           const struct record *now, const char *item)
{
    const struct chart *c = &d->page.chart;
    const char *mark = finding_mark(c->cb, d->page.data, record_find(now, item));
    return *mark != '\0' ? mark : finding_mark(c->cb, d->page.data, record_find(before, item));
}

static void compare(struct dog_state *d, const struct template_set *set,
                    const struct record *before, const struct record *now)
{
    for (size_t i = 0; i < set->form_count; i++) {
        if (set->forms[i].place != PLACE_VISIT && set->forms[i].place != PLACE_REVIEW)
            continue;
        for (size_t k = 0; k < set->forms[i].item_count; k++) {
            const struct item *item = &set->forms[i].items[k];
            const char *then = record_text(before, item->id), *since = record_text(now, item->id);
            const struct finding *f = record_find(now, item->id);
            bool two = f != NULL && f->other_count > 0;
            if (*then == '\0' || *since == '\0' || (strcmp(then, since) == 0 && !two) ||
                item->kind == ITEM_NOTE)
                continue;
            if (d->change_count < CHANGES_MOST)
                d->changes[d->change_count] = (struct change){
                    item->id, item->label, answer_short(set, item, then, d->page.data),
                    two ? "" : answer_short(set, item, since, d->page.data),
                    mark_of(d, before, now, item->id)};
            d->change_count++;
        }
    }
}

/* Answers that are not what they were at the visit before; of a visit that is only booked, between
 * the two before it. */
static void find_changes(struct dog_state *d, const struct template_set *set)
{
    const struct chart *c = &d->page.chart;
    size_t n = c->earlier_count;
    d->change_count = 0;
    d->changed_to = n + 1;
    if (n > 0)
        compare(d, set, &c->earlier[n - 1], &c->visit);
    if (d->change_count == 0 && n > 1 && !record_signed(&c->visit)) {
        compare(d, set, &c->earlier[n - 2], &c->earlier[n - 1]);
        d->changed_to = n;
    }
}

/* "Wed 25 Nov 2026", "3 days late" */
static const char *day_words(struct dog_state *d, const char *canonical)
{
    day_number day, today = clock_day(d->page.chart.now);
    char words[CLOCK_ROOM];
    if (!clock_parse_day(canonical, 0, &day, NULL))
        return canonical;
    clock_dated(day, words);
    return day == today  ? "today"
           : day > today ? arena_str(d->page.data, words)
                         : arena_printf(d->page.data, "%s, %d %s late", words, today - day,
                                        today - day == 1 ? "day" : "days");
}

/* The day of the call that was agreed with the owner and is still to be made, or "". */
static const char *closed_call(const struct record *dog)
{
    return strcmp(record_text(dog, ID_CLOSED_RUNG), "yes") == 0 ? ""
                                                                : record_text(dog, ID_CLOSED_CALL);
}

static void find_due(struct dog_state *d)
{
    static const char *const items[DUE_MOST][2] = {{ID_REVIEW_DUE, "review"},
                                                   {ID_CULTURE_DUE, "urine culture"}};
    const struct record *dog = &d->page.chart.dog;
    char words[CLOCK_ROOM];
    day_number day;
    d->due_count = 0;
    if (clock_parse_day(record_text(dog, ID_DOG_CLOSED), 0, &day, NULL)) {
        const char *call = closed_call(dog);
        const char *on = arena_str(d->page.data, clock_dated(day, words));
        d->due[d->due_count++] =
            *call == '\0'
                ? arena_printf(d->page.data, "Case closed on %s. Nothing is due.", on)
                : arena_printf(
                      d->page.data, "Case closed on %s. A call was agreed for %s.", on,
                      finding_show(d->page.chart.cb->set, ID_CLOSED_CALL, call, d->page.data));
        return;
    }
    for (size_t i = 0; i < DUE_MOST; i++) {
        const char *due = record_text(dog, items[i][0]);
        if (*due >= '0' && *due <= '9')
            d->due[d->due_count++] =
                arena_printf(d->page.data, "Due: %s %s", items[i][1], day_words(d, due));
    }
}

static void add_row(struct dog_state *d, enum row row, const char *line)
{
    d->rows[d->list.count - d->page.chart.visit_count] = row;
    d->lines[d->list.count++] = line;
}

/* "put to sleep; still there, fetched when they are ready" */
static const char *closing_line(struct dog_state *d, const struct template_set *set)
{
    static const char *const items[] = {"dog.closed_how", ID_CLOSED_FRAMES};
    struct arena *a = d->page.data;
    const char *line = "";
    for (size_t i = 0; i < sizeof items / sizeof *items; i++) {
        const char *kept = record_text(&d->page.chart.dog, items[i]);
        if (*kept != '\0')
            line = arena_printf(a, "%s%s%s", line, *line != '\0' ? "; " : "",
                                finding_show(set, items[i], kept, a));
    }
    return *line != '\0' ? line : "how it ended is not written down yet";
}

static int panel_columns(void)
{
    int left = term_columns() - 2 - PANEL_COLUMN;
    return left < PANEL_WIDE ? left : PANEL_WIDE;
}

/* Columns of the visits and what changed. */
static int page_columns(const struct dog_state *d)
{
    return d->trends.count > 0 && panel_columns() >= PANEL_LEAST ? PAGE_WIDE : term_columns();
}

static void look_trends(struct screen *s)
{
    struct dog_state *d = s->state;
    struct fault f = {0};
    if (d->trends_looked || panel_columns() < PANEL_LEAST)
        return;
    d->trends_looked = true;
    if (!trends_panel_look(&d->trends, &d->page.chart, &f))
        app_fault(s->app, &f);
}

static void look(struct screen *s)
{
    struct dog_state *d = s->state;
    const struct chart *c = &d->page.chart;
    s->middle = record_said(&c->caregiver, "caregiver.name");
    d->list.count = c->visit_count;
    d->lines = arena_array(d->page.data, c->visit_count + ROW_KINDS, sizeof *d->lines);
    for (size_t i = 0; i < c->visit_count; i++)
        d->lines[i] = visit_line(d, c->visit_count - 1 - i);
    add_row(d, ROW_DETAILS, "the dog's details");
    add_row(d, ROW_CAREGIVER,
            c->caregiver.entity == NULL
                ? "no caregiver recorded yet"
                : arena_printf(d->page.data, "%s, %s", record_said(&c->caregiver, "caregiver.name"),
                               record_said(&c->caregiver, "caregiver.phone")));
    if (c->call.entity != NULL)
        add_row(d, ROW_CALL, "the call");
    if (case_closed(c))
        add_row(d, ROW_CLOSING, closing_line(d, s->app->cb->set));
    if (d->list.at >= d->list.count)
        d->list.at = 0;
    find_changes(d, s->app->cb->set);
    d->changed.count = d->change_count < CHANGES_MOST ? d->change_count : CHANGES_MOST;
    d->in_changes = d->in_changes && d->change_count > 0;
    d->caution_count = case_closed(c) ? 0 : cautions_look(c, &d->cautions);
    for (d->forbidden = 0; d->forbidden < d->caution_count; d->forbidden++)
        if (!d->cautions[d->forbidden].forbids)
            break;
    find_due(d);
    d->trends_looked = false;
    d->trends.count = 0;
    look_trends(s);
}

static bool open_dog(struct screen *s, struct fault *f)
{
    struct dog_state *d = s->state;
    if (!page_load(&d->page, s, d->page.entity, f))
        return false;
    look(s);
    return true;
}

/* The record of the row under the cursor; else the dog itself. */
static const char *under_cursor(const struct dog_state *d)
{
    const struct chart *c = &d->page.chart;
    size_t i = d->list.at;
    enum row row = i < c->visit_count ? ROW_KINDS : d->rows[i - c->visit_count];
    return i < c->visit_count                                    ? c->visits[c->visit_count - 1 - i]
           : row == ROW_CAREGIVER && c->caregiver.entity != NULL ? c->caregiver.entity
           : row == ROW_CALL                                     ? c->call.entity
                                                                 : d->page.entity;
}

static void draw_line(void *of, size_t i, int row, bool focus)
{
    const struct dog_state *d = of;
    focus = focus && !d->in_changes;
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    size_t visits = d->page.chart.visit_count;
    draw_fill(row, 1, page_columns(d) - 2, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    if (i < visits)
        draw_textf(row, 4, 10, plain, "visit %zu", visits - i);
    else
        draw_text(row, 4, 10, plain, row_names[d->rows[i - visits]]);
    draw_text(row, 15, page_columns(d) - 17, plain, d->lines[i]);
}

/* What is due, what must not be done: in that order, never silently fewer. Returns the next row. */
static int draw_head(const struct dog_state *d, int row)
{
    int columns = term_columns();
    size_t shown = d->forbidden < CAUTIONS_SHOWN ? d->forbidden : CAUTIONS_SHOWN;
    for (size_t i = 0; i < d->due_count; i++)
        draw_text(row++, 4, columns - 8, LOOK_STRONG, d->due[i]);
    for (size_t i = 0; i < shown; i++) {
        draw_text(row, 4, 9, LOOK_BAD, "Caution:");
        row += draw_wrapped(row, 13, columns - 17, 2, LOOK_WARN, d->cautions[i].reason);
    }
    size_t more = d->caution_count - shown;
    if (more > 0)
        draw_textf(row++, 4, columns - 8, LOOK_DIM, "%s%zu %s: c opens them",
                   shown > 0 ? "and " : "", more,
                   shown > 0   ? "more"
                   : more == 1 ? "thing to take care of"
                               : "things to take care of");
    return row + (row > 1);
}

static void draw_change(void *of, size_t i, int row, bool focus)
{
    const struct dog_state *d = of;
    const struct change *c = &d->changes[i];
    focus = focus && d->in_changes;
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    draw_fill(row, 1, page_columns(d) - 2, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_text(row, 4, 32, plain, c->label);
    int col = (*c->now != '\0' ? 39 : 37) +
              draw_textf(row, 37, page_columns(d) - 38, plain, "%s -> %s", c->before, c->now);
    draw_text(row, col, page_columns(d) - 1 - col, focus ? LOOK_FOCUS : LOOK_WARN, c->mark);
}

static void draw_changes(struct dog_state *d, int row, int last)
{
    int room = last + 1 - row;
    bool all = d->change_count <= (size_t)room;
    int rows = all ? (int)d->change_count : room - 1;
    draw_textf(row - 1, 2, page_columns(d) - 4, LOOK_STRONG, "Changed from visit %zu to visit %zu",
               d->changed_to - 1, d->changed_to);
    list_draw(&d->changed, row, rows, 2, draw_change, d);
    size_t below = d->change_count - d->changed.top - (size_t)rows;
    if (!all && below > 0)
        draw_textf(last, 4, 40, LOOK_DIM, "and %zu more", below);
}

static void draw(struct screen *s)
{
    struct dog_state *d = s->state;
    look_trends(s); /* nothing more to do, unless the window has grown since */
    int row = draw_head(d, 1), last = term_rows() - 3;
    int changes = d->change_count > 0 ? 2 + (int)fmin((double)d->change_count, 4) : 0;
    int room = last - row - changes;
    int rows = (int)d->list.count < room ? (int)d->list.count : room > 4 ? room : 4;
    int below = row + rows + 1;
    bool changed = d->change_count > 0 && below < last;
    s->about = under_cursor(d);
    if (changed && !d->in_changes)
        draw_changes(d, below + 1, last);
    else if (d->page.chart.visit_count == 0)
        draw_text(below, 4, page_columns(d) - 8, LOOK_DIM, "No visit yet; v books one.");
    list_draw(&d->list, row, rows, 2, draw_line, d);
    if (page_columns(d) < term_columns())
        trends_panel_draw(&d->trends, row, last, PANEL_COLUMN, panel_columns());
    if (changed && d->in_changes) /* last: it has the cursor */
        draw_changes(d, below + 1, last);
}

/* ---- keys ----------------------------------------------------------------------------------- */

/* Of a change, the later of the two visits. */
static const char *changed_visit(const struct dog_state *d)
{
    return d->page.chart.visits[d->changed_to - 1];
}

static void open_line(struct screen *s)
{
    struct dog_state *d = s->state;
    const struct chart *c = &d->page.chart;
    size_t i = d->list.at;
    if (d->in_changes) {
        visit_open(s->app, changed_visit(d));
        return;
    }
    if (i < c->visit_count) {
        visit_open(s->app, c->visits[c->visit_count - 1 - i]);
        return;
    }
    enum row row = d->rows[i - c->visit_count];
    if (row == ROW_DETAILS)
        details_open(s->app, d->page.entity, PLACE_DOG);
    else if (row == ROW_CAREGIVER && c->caregiver.entity != NULL)
        details_open(s->app, d->page.entity, PLACE_CAREGIVER);
    else if (row == ROW_CALL)
        call_open(s->app, c->call.entity);
    else if (row == ROW_CLOSING)
        details_open(s->app, d->page.entity, PLACE_CLOSING);
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

/* Down goes on from the list into the changes, Up back. */
static bool press_move(struct dog_state *d, const struct press *p)
{
    bool up = p->kind == PRESS_KEY && p->code == PK_UP;
    bool down = p->kind == PRESS_KEY && p->code == PK_DOWN;
    bool over = d->in_changes ? up && d->changed.at == 0
                              : down && d->change_count > 0 && d->list.at + 1 >= d->list.count;
    if (over)
        d->in_changes = !d->in_changes;
    return over || list_press(d->in_changes ? &d->changed : &d->list, p, 10);
}

static bool press(struct screen *s, const struct press *p)
{
    struct dog_state *d = s->state;
    if (press_move(d, p))
        return true;
    if (d->in_changes && history_key(p)) {
        history_show(s->app, changed_visit(d), d->changes[d->changed.at].item);
        return true;
    }
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
    case 'c':
        cautions_open(s->app, d->page.entity);
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
    {"c", "cautions", "All that the rules forbid or warn of, with findings and sources.", true},
    {"p", "paper", "A report for the vet of record, or the whole record for an owner who moves.",
     true},
    FINDINGS_KEY,
    {"x", "close", "Close the case, or open it again: while closed nothing is due.", false},
    {0},
};

static const struct screen_class dog_class = {
    .name = "Dog",
    .help = "Cautions first, then the visits, newest first, and what changed since the one before. "
            "In a large window the trends stand beside them.",
    .keys = keys,
    .open = open_dog,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .of_record = true,
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
