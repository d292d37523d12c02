/* Call: emergency or not, within a minute, and whatever is known so far already kept. */
#include "base/clock.h"
#include "casebook/merging.h"
#include "casebook/triage.h"
#include "output/care.h"
#include "screens/kit/ask.h"
#include "screens/kit/printing.h"
#include "screens/page.h"
#include "screens/screens.h"
#include <stdio.h>
#include <string.h>

struct call_state {
    struct page page;
    struct verdict verdict;
    struct form_view *form;
    const struct form **forms;
    size_t form_count;
};

static void judge(void *of)
{
    struct call_state *c = of;
    triage_judge(&c->page.chart, &c->verdict);
}

static bool open_call(struct screen *s, struct fault *f)
{
    struct call_state *c = s->state;
    const struct template_set *set = s->app->cb->set;
    if (c->page.entity == NULL) {
        c->page.data = arena_new();
        if (!call_new(s->app->cb, c->page.data, &c->page.chart, f))
            return false;
        c->page.entity = arena_str(s->arena, c->page.chart.call.entity);
        s->subject = "A new call";
    } else if (!page_load(&c->page, s, c->page.entity, f)) {
        return false;
    }
    c->forms = arena_array(s->arena, set->form_count, sizeof *c->forms);
    for (size_t i = 0; i < set->form_count; i++)
        if (set->forms[i].place == PLACE_CALL_FLAGS || set->forms[i].place == PLACE_CALL)
            c->forms[c->form_count++] = &set->forms[i];
    c->form = form_view_new(s->app, s->arena, &c->page.chart, c->forms, c->form_count);
    form_view_on_saved(c->form, judge, c);
    judge(c);
    return true;
}

static enum look urgency_look(enum urgency u)
{
    return u == URGENCY_EMERGENCY  ? LOOK_BAD
           : u == URGENCY_SAME_DAY ? LOOK_WARN
           : u == URGENCY_BOOK     ? LOOK_GOOD
                                   : LOOK_STRONG;
}

/* The verdict and why, in `most` rows at most; returns the rows used. */
static int draw_verdict(const struct verdict *v, int row, int col, int width, int most)
{
    int at = row;
    at += draw_wrapped(at, col, width, most, urgency_look(v->urgency), v->words);
    for (size_t i = 0; i < v->reason_count && at < row + most; i++) {
        const struct triage_reason *r = &v->reasons[i];
        if (i + 1 < v->reason_count && at + 1 >= row + most) {
            draw_textf(at++, col, width, LOOK_DIM, "and %zu more %s", v->reason_count - i,
                       v->reason_count - i == 1 ? "reason" : "reasons");
            break;
        }
        at += draw_wrapped(at, col, width, row + most - at, LOOK_PLAIN, r->rule->reason);
        if (*r->rule->advice != '\0' && at < row + most && i == 0)
            at += draw_wrapped(at, col, width, row + most - at - (v->reason_count > 1), LOOK_STRONG,
                               r->rule->advice);
    }
    if (v->urgency == URGENCY_UNKNOWN && at < row + most) {
        draw_textf(at++, col, width, LOOK_DIM, "still to ask: %zu, next: %s", v->open_count,
                   v->open_count > 0 ? v->open[0] : "");
    }
    return at - row;
}

static void draw(struct screen *s)
{
    struct call_state *c = s->state;
    int columns = term_columns(), last = term_rows() - 3;
    if (columns >= 120) {
        int side = columns - 46;
        draw_verdict(&c->verdict, 2, side + 2, 42, last - 3);
        form_view_draw(c->form, 2, 1, last - 1, side - 2);
    } else {
        int used = draw_verdict(&c->verdict, 1, 2, columns - 4, 5);
        used = used < 3 ? 3 : used;
        draw_rule(1 + used, 1, columns - 2);
        form_view_draw(c->form, 2 + used, 1, last - 1 - used, columns - 2);
    }
    s->typing = form_view_typing(c->form);
}

/* A dog that looks like this one is known: ask, before it is entered twice. False: given up. */
static bool known_already(struct screen *s)
{
    struct call_state *c = s->state;
    const struct lookalike *alike;
    size_t count;
    struct fault f = {0};
    if (*record_text(&c->page.chart.call, "call.dog") != '\0' ||
        !merge_lookalikes(s->app->cb, s->arena, c->page.chart.call.entity, &alike, &count, &f) ||
        count == 0)
        return true;
    const char **labels = arena_array(s->arena, count + 1, sizeof *labels);
    for (size_t i = 0; i < count; i++)
        labels[i] = arena_printf(s->arena, "%s (%s)", alike[i].text, alike[i].why);
    labels[count] = "another dog, not known yet";
    int at = ask_choice(s->app, "Is it a dog that is known?", labels, count + 1, 0);
    if (at < 0)
        return false;
    if ((size_t)at == count ||
        record_put(s->app->cb, &c->page.chart.call, "call.dog", alike[at].entity, "", &f))
        return true;
    app_fault(s->app, &f);
    return false;
}

static void book(struct screen *s)
{
    struct call_state *c = s->state;
    struct fault f = {0};
    if (!form_view_leave(c->form, &f)) {
        app_fault(s->app, &f);
        return;
    }
    if (c->verdict.urgency == URGENCY_EMERGENCY) {
        const char *why =
            ask_line(s->app, s->arena, "The rules say emergency. Why is a home visit right?", "");
        if (why == NULL || *why == '\0')
            return;
        if (!record_put(s->app->cb, &c->page.chart.call, "call.override", why, "", &f)) {
            app_fault(s->app, &f);
            return;
        }
    }
    if (!known_already(s))
        return;
    const char *day = ask_line(s->app, s->arena, "Visit on which day and time?", "tomorrow 10:00");
    if (day == NULL)
        return;
    int64_t at;
    char buf[CLOCK_ROOM];
    if (!clock_parse_time(day, c->page.chart.now, &at, &f) ||
        !call_book(&c->page.chart, clock_iso_time(at, buf), &f)) {
        app_fault(s->app, &f);
        return;
    }
    char visit[IDENT_ROOM];
    (void)snprintf(visit, sizeof visit, "%s", c->page.chart.visit.entity);
    struct app *app = s->app;
    screen_back(app); /* this screen is gone now */
    visit_open(app, visit);
}

/* Note how the call ended; it then leaves Today. */
static void end_call(struct screen *s)
{
    struct call_state *c = s->state;
    const char *about;
    const struct item *outcome = casebook_item(s->app->cb->set, "call.outcome", &about);
    const char *labels[12], *ids[12];
    size_t count = 0;
    for (size_t i = 0; i < outcome->choice_count && count < 12; i++)
        if (strcmp(outcome->choices[i].id, "booked") != 0) { /* ^V does that */
            labels[count] = outcome->choices[i].label;
            ids[count++] = outcome->choices[i].id;
        }
    int at = ask_choice(s->app, "How did the call end?", labels, count, 0);
    struct fault f = {0};
    if (at < 0)
        return;
    if (!form_view_leave(c->form, &f) ||
        !record_put(s->app->cb, &c->page.chart.call, "call.outcome", ids[at], "", &f)) {
        app_fault(s->app, &f);
        return;
    }
    screen_back(s->app);
}

/* The caller is known: link the call to a dog and its caregiver. */
static void link_dog(struct screen *s)
{
    struct call_state *c = s->state;
    struct fault f = {0};
    if (!form_view_leave(c->form, &f)) {
        app_fault(s->app, &f);
        return;
    }
    const char *dog = find_dog(s->app, s->arena);
    if (dog == NULL)
        return;
    if (!record_put(s->app->cb, &c->page.chart.call, "call.dog", dog, "", &f))
        app_fault(s->app, &f);
    else if (page_reload(&c->page, s))
        form_view_refresh(c->form);
}

static void refer(struct screen *s)
{
    struct call_state *c = s->state;
    struct fault f = {0};
    struct sheet *sheet;
    if (form_view_leave(c->form, &f) && referral_sheet(&c->page.chart, &sheet, &f))
        print_at_once(s->app, s->arena, sheet, "referral");
    else
        app_fault(s->app, &f);
}

static bool press(struct screen *s, const struct press *p)
{
    struct call_state *c = s->state;
    if (p->kind == PRESS_CTRL) {
        switch (p->code) {
        case 'v':
            book(s);
            return true;
        case 'o':
            end_call(s);
            return true;
        case 'f':
            link_dog(s);
            return true;
        case 'p':
            refer(s);
            return true;
        default:
            break;
        }
    }
    bool taken = form_view_press(c->form, p);
    s->typing = form_view_typing(c->form);
    return taken;
}

static void refresh(struct screen *s)
{
    struct call_state *c = s->state;
    if (page_reload(&c->page, s)) {
        form_view_refresh(c->form);
        judge(c);
    }
}

static bool leave(struct screen *s, struct fault *f)
{
    struct call_state *c = s->state;
    return form_view_leave(c->form, f);
}

static void draft(struct screen *s)
{
    struct call_state *c = s->state;
    form_view_draft(c->form);
}

static void close_call(struct screen *s)
{
    struct call_state *c = s->state;
    if (c->form != NULL)
        form_view_free(c->form);
    page_close(&c->page);
}

static const struct key_help keys[] = {
    {"y n u", "answer", "Yes, no, not known: one key answers a question and goes on.", true},
    {"Enter", "next", "Keep the field and go to the next one.", true},
    {"^V", "book visit", "Make the dog's and the caregiver's records and book a visit.", true},
    {"^O", "end", "Note how the call ended; it leaves Today.", true},
    {"^F", "known dog", "The dog is known: find it and link the call to it.", false},
    {"^P", "refer",
     "Print a referral note from what is known so far; without a printer it is saved.", true},
    FORM_KEYS,
    {0},
};

static const struct screen_class call_class = {
    .name = "Call",
    .help = "Red flags first. The verdict and its reasons stay in view while you ask; every answer "
            "is kept the moment it is given. The rules are the practice's and help; a veterinarian "
            "decides.",
    .keys = keys,
    .open = open_call,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .leave = leave,
    .draft = draft,
    .close = close_call,
};

void call_open(struct app *app, const char *call)
{
    struct arena *a = arena_new();
    struct call_state *c = arena_alloc(a, sizeof *c);
    if (call != NULL)
        c->page.entity = arena_str(a, call);
    screen_open(app, &call_class, a, c);
}
