/* Visit: the sections, each with how far it has come. */
#include "screens/visit.h"
#include "casebook/accessories.h"
#include "casebook/deciding.h"
#include "casebook/fitting.h"
#include "casebook/ids.h"
#include "casebook/measuring.h"
#include "casebook/review.h"
#include "casebook/teaching.h"
#include "output/letter.h"
#include "screens/kit/ask.h"
#include "screens/kit/findings.h"
#include "screens/kit/list.h"
#include "screens/screens.h"
#include "screens/visit_beside.h"
#include <string.h>

static struct section_state handout_state(const struct chart *c)
{
    const char *given = record_text(&c->visit, "handout.given");
    return (struct section_state){.progress = *given != '\0' ? PROGRESS_DONE : PROGRESS_NOT_ASKED,
                                  .summary = *given != '\0' ? "handed over" : "read it, print it"};
}

static const struct section fixed[] = {
    {"Measures", NULL, measuring_state, measures_open, NULL},
    {"Support", NULL, deciding_state, support_open, "support"},
    {"Accessories", NULL, accessories_state, accessories_open, "accessories"},
    {"Fit", NULL, fitting_state, fit_open, "fit."},
    {"Teaching", NULL, teaching_state, teaching_open, "teach."},
    {"Handout", NULL, handout_state, handout_open, NULL},
};
enum { FIXED_COUNT = sizeof fixed / sizeof *fixed };

static struct section_state review_state(const struct chart *c)
{
    struct ladder_view l;
    ladder_look(c, &l);
    return (struct section_state){
        .progress = l.judged ? PROGRESS_DONE : PROGRESS_NOT_ASKED,
        .summary = l.judged ? arena_printf(c->arena, "ladder %s", ladder_word(l.move))
                            : "what changed, what is next"};
}

/* History, examination and home before the dog is measured; what was decided on before support. */
struct section *visit_sections(const struct chart *c, struct arena *a, size_t *count)
{
    const struct template_set *set = c->cb->set;
    bool review = strcmp(record_text(&c->visit, "visit.kind"), "review") == 0;
    struct section *out = arena_array(a, set->form_count + FIXED_COUNT + 1, sizeof *out);
    size_t n = 0;
    for (size_t i = 0; review && i < set->form_count; i++)
        if (set->forms[i].place == PLACE_REVIEW)
            out[n++] = (struct section){set->forms[i].title, &set->forms[i], NULL,
                                        form_section_open, NULL};
    if (review)
        out[n++] = (struct section){"Review", NULL, review_state, review_open, NULL};
    for (size_t i = 0; i < set->form_count; i++)
        if (set->forms[i].place == PLACE_VISIT)
            out[n++] = (struct section){set->forms[i].title, &set->forms[i], NULL,
                                        form_section_open, NULL};
    out[n++] = fixed[0];
    for (size_t i = 0; i < set->form_count; i++)
        if (set->forms[i].place == PLACE_DECISION)
            out[n++] = (struct section){set->forms[i].title, &set->forms[i], NULL,
                                        form_section_open, NULL};
    for (size_t i = 1; i < FIXED_COUNT; i++) {
        out[n++] = fixed[i];
        for (size_t k = 0; fixed[i].open == fit_open && k < set->form_count; k++)
            if (set->forms[k].place == PLACE_FITTING && form_state(c, &set->forms[k]).shown > 0)
                out[n++] = (struct section){set->forms[k].title, &set->forms[k], NULL,
                                            form_section_open, NULL};
    }
    *count = n;
    return out;
}

/* ---- the visit's own page -------------------------------------------------------------------- */

struct visit_state {
    struct page page;
    struct section *sections;
    struct section_state *states;
    const char *standing;         /* whether it is signed, by whom and when */
    const char **changed;         /* of each section: "CONFLICT", "after signing" or "" */
    struct found_before **beside; /* of each that the cursor has been on: what was found before */
    struct list list;
};

static bool belongs(const struct chart *c, const struct section *s, const char *item)
{
    for (size_t i = 0; s->form != NULL && i < s->form->item_count; i++)
        if (strcmp(s->form->items[i].id, item) == 0)
            return true;
    const char *dot = strrchr(item, '.');
    if (s->open == measures_open && dot != NULL)
        return template_measure(c->cb->set, arena_strn(c->arena, item, (size_t)(dot - item)));
    return s->begins != NULL && strncmp(item, s->begins, strlen(s->begins)) == 0;
}

static const char *changed_in(const struct chart *c, const struct section *s)
{
    bool amended = false;
    for (size_t i = 0; i < c->visit.count; i++) {
        const struct finding *f = &c->visit.findings[i];
        if ((f->other_count == 0 && !f->amended) || !belongs(c, s, f->item))
            continue;
        if (f->other_count > 0)
            return "CONFLICT";
        amended = true;
    }
    return amended ? "after signing" : "";
}

/* At a review only what belongs to the review is asked for; all else may be looked at again. */
static void look(struct visit_state *v)
{
    struct chart known = v->page.chart; /* for three sections that hang on the support */
    const struct chart *c = &known;
    struct deciding deciding;
    deciding_look(c, &deciding);
    known.decided = &deciding;
    bool review = strcmp(record_text(&c->visit, "visit.kind"), "review") == 0;
    v->standing = record_signed(&c->visit)
                      ? arena_printf(v->page.data, "Signed by %s. A change asks for its reason.",
                                     letter_who(c, record_find(&c->visit, ID_SIGNED)))
                      : "Walk through with Enter and ^N; sign with s when the visit is over.";
    v->states = arena_array(v->page.data, v->list.count, sizeof *v->states);
    v->changed = arena_array(v->page.data, v->list.count, sizeof *v->changed);
    v->beside = arena_array(v->page.data, v->list.count, sizeof *v->beside);
    for (size_t i = 0; i < v->list.count; i++) {
        const struct form *form = v->sections[i].form;
        struct section_state *state = &v->states[i];
        *state = form != NULL ? form_state(c, form) : v->sections[i].state(c);
        bool told = state->summary != NULL && strstr(state->summary, "CONFLICT") != NULL;
        v->changed[i] = told ? "" : changed_in(c, &v->sections[i]);
        if (review && state->progress == PROGRESS_NEEDED &&
            (form == NULL || form->place != PLACE_REVIEW))
            state->progress = PROGRESS_BEGUN;
    }
}

/* A large window has room to tell what was found before; at a first visit there is nothing. */
static bool has_beside(const struct visit_state *v)
{
    return term_rows() >= 36 && term_columns() >= 120 && v->page.chart.earlier_count > 0;
}

/* Worked out once for each section, from what has been read. */
static const struct found_before *beside_of(struct visit_state *v)
{
    struct found_before **b = &v->beside[v->list.at];
    if (*b == NULL) {
        *b = arena_alloc(v->page.data, sizeof **b);
        beside_look(&v->page.chart, &v->sections[v->list.at], *b);
    }
    return *b;
}

static bool open_visit(struct screen *s, struct fault *f)
{
    struct visit_state *v = s->state;
    if (!page_load(&v->page, s, v->page.entity, f))
        return false;
    if (v->page.chart.visit.entity == NULL)
        return fail(f, FAULT_MISSING, "this visit has not been received yet");
    v->sections = visit_sections(&v->page.chart, s->arena, &v->list.count);
    look(v);
    while (v->list.at + 1 < v->list.count && v->states[v->list.at].progress == PROGRESS_DONE)
        v->list.at++;
    return true;
}

/* The section's title and how far it has come: what is behind keeps its looks under the cursor, and
 * below it much changes already. */
enum { BAR = 32 };

static void draw_section(void *of, size_t i, int row, bool focus)
{
    const struct visit_state *v = of;
    const struct section_state *state = &v->states[i];
    int width = term_columns() - 2;
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    enum look word = focus                                ? LOOK_FOCUS
                     : state->progress == PROGRESS_DONE   ? LOOK_GOOD
                     : state->progress == PROGRESS_NEEDED ? LOOK_WARN
                     : state->progress == PROGRESS_BEGUN  ? LOOK_PLAIN
                                                          : LOOK_DIM;
    draw_fill(row, 1, BAR, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_text(row, 4, 18, plain, v->sections[i].title);
    draw_text(row, 23, 10, word, progress_word(state->progress));
    int mark = draw_width(v->changed[i]);
    draw_text(row, 34, width - 35 - mark - (mark > 0), LOOK_DIM,
              state->summary != NULL ? state->summary : "");
    draw_right(row, width, mark, LOOK_WARN, v->changed[i]);
}

/* What the section under the cursor still lacks, the needed first. A line tells what to ask next, a
 * large window two; all of it would be a page to read, and to send, at every move of the cursor. */
static void draw_open(const struct visit_state *v, int row, int last)
{
    const struct section_state *state = &v->states[v->list.at];
    int lines = term_rows() / 16;
    if (state->open == NULL || row >= last)
        return;
    draw_textf(row, 4, term_columns() - 6, LOOK_DIM, "Open in %s", v->sections[v->list.at].title);
    draw_wrapped(row + 1, 4, term_columns() - 8, lines < last - row ? lines : last - row,
                 LOOK_PLAIN, state->open);
}

static void draw(struct screen *s)
{
    struct visit_state *v = s->state;
    int last = term_rows() - 3;
    const struct chart *c = &v->page.chart;
    draw_textf(1, 4, term_columns() - 6, LOOK_DIM, "%s  %s  %s",
               record_said(&c->caregiver, "caregiver.name"),
               record_said(&c->caregiver, "caregiver.phone"),
               record_said(&c->caregiver, "caregiver.address"));
    list_draw(&v->list, 3, last - 4, 2, draw_section, v);
    int below = 4 + (int)v->list.count;
    if (has_beside(v) && beside_of(v)->count > 0)
        beside_draw(beside_of(v), v->sections[v->list.at].title, below, last - 2);
    else
        draw_open(v, below, last - 2);
    draw_text(last, 4, term_columns() - 6, LOOK_DIM, v->standing);
}

static void sign(struct screen *s)
{
    struct visit_state *v = s->state;
    struct fault f = {0};
    if (*s->app->cb->author == '\0') {
        app_say(s->app, LOOK_WARN, "Nobody is at the keys yet: Practice, then n");
        return;
    }
    size_t open = 0;
    for (size_t i = 0; i < v->list.count; i++)
        open += v->states[i].progress == PROGRESS_NEEDED;
    if (ask_key(s->app,
                open > 0 ? "Something needed is still open. Sign all the same? y n"
                         : "Sign this visit? y n",
                "yn") != 'y')
        return;
    if (!visit_sign(&v->page.chart, &f))
        app_fault(s->app, &f);
    else if (page_reload(&v->page, s)) {
        look(v);
        app_say(s->app, LOOK_GOOD, "Signed by %s",
                author_initials(s->app->cb, v->page.data, s->app->cb->author));
    }
}

static bool press(struct screen *s, const struct press *p)
{
    struct visit_state *v = s->state;
    if (list_press(&v->list, p, term_rows() - 8))
        return true;
    if ((p->kind == PRESS_KEY && p->code == PK_ENTER) ||
        (p->kind == PRESS_CTRL && p->code == 'n')) {
        v->sections[v->list.at].open(s->app, v->page.entity, v->list.at);
        return true;
    }
    if (p->kind != PRESS_CHAR)
        return false;
    if (p->text[0] == 's') {
        sign(s);
        return true;
    }
    if (p->text[0] == 'd' && v->page.chart.dog.entity != NULL) {
        dog_open(s->app, v->page.chart.dog.entity);
        return true;
    }
    return false;
}

/* What was amended in a section may move what is due. */
static void refresh(struct screen *s)
{
    struct visit_state *v = s->state;
    struct fault f = {0};
    if (!page_reload(&v->page, s))
        return;
    look(v);
    if (!journal_read_only(s->app->cb->journal) && !visit_plan_again(&v->page.chart, &f))
        app_fault(s->app, &f);
}

static void close_visit(struct screen *s)
{
    struct visit_state *v = s->state;
    page_close(&v->page);
}

static const struct key_help visit_keys[] = {
    {"Enter", "open", "Open the section under the cursor.", true},
    {"d", "dog", "The dog's own page.", true},
    FINDINGS_KEY,
    {"s", "sign", "Sign the visit as it stands; later changes are amendments.", true},
    {0},
};

static const struct screen_class visit_class = {
    .name = "Visit",
    .help = "The sections of a visit in order: each says whether it is done, begun, not asked, or "
            "still needs something. What the one under the cursor lacks stands below; in a large "
            "window beside what was found before.",
    .keys = visit_keys,
    .open = open_visit,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .of_record = true,
    .close = close_visit,
};

void visit_open(struct app *app, const char *visit)
{
    struct arena *a = arena_new();
    struct visit_state *v = arena_alloc(a, sizeof *v);
    v->page.entity = arena_str(a, visit);
    screen_open(app, &visit_class, a, v);
}

/* ---- from section to section ----------------------------------------------------------------- */

void section_screen(struct app *app, const struct screen_class *class, const char *visit,
                    size_t index, size_t size)
{
    struct arena *a = arena_new();
    struct section_page *p = arena_alloc(a, size);
    p->page.entity = arena_str(a, visit);
    p->index = index;
    screen_open(app, class, a, p);
}

bool section_press(struct screen *s, const struct press *p)
{
    if (p->kind != PRESS_CTRL || (p->code != 'n' && p->code != 't'))
        return false;
    struct section_page *page = s->state;
    struct app *app = s->app;
    struct arena *a = arena_new();
    const char *visit = arena_str(a, page->page.entity);
    size_t count, index = page->index;
    struct section *sections = visit_sections(&page->page.chart, a, &count);
    int depth = app->depth;
    screen_back(app); /* on success the page is gone */
    if (app->depth < depth) {
        if (p->code == 'n' && index + 1 < count)
            sections[index + 1].open(app, visit, index + 1);
        else if (p->code == 't' && index > 0)
            sections[index - 1].open(app, visit, index - 1);
    }
    arena_free(a);
    return true;
}
