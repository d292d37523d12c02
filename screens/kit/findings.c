#include "screens/kit/findings.h"
#include "casebook/ids.h"
#include "output/letter.h"
#include "output/papers.h"
#include "screens/kit/history.h"
#include "screens/kit/list.h"
#include "screens/kit/past.h"
#include "screens/kit/printing.h"
#include <string.h>

struct row {
    struct record *record;
    const struct finding *finding;
    const char *label, *value, *who;
    const char *past;  /* "CONFLICT", "entered in error", "after signing", "changed", or "" */
    const char *words; /* all of it, for the row under the cursor */
};

struct findings {
    struct casebook *cb;
    const char *entity;
    struct arena *data;
    struct chart chart;
    struct row *rows; /* those that are listed */
    bool changed;     /* only what was ever changed is */
    struct list list;
};

/* ---- reading --------------------------------------------------------------------------------- */

static const char *past_word(const struct findings *l, const struct record *r,
                             const struct finding *f)
{
    struct heads all;
    if (f->other_count > 0)
        return "CONFLICT";
    if (f->in_error)
        return "entered in error";
    if (f->amended)
        return "after signing";
    bool replaced =
        journal_history(l->cb->journal, l->data, r->entity, f->item, &all, NULL) && all.count > 1;
    return replaced ? "changed" : "";
}

/* Many findings have one author, who is looked up once. */
static const char *who_wrote(struct findings *l, const struct finding *f)
{
    const struct row *before = l->list.count > 0 ? &l->rows[l->list.count - 1] : NULL;
    return before != NULL && strcmp(before->finding->author, f->author) == 0
               ? before->who
               : author_initials(l->cb, l->data, f->author);
}

/* "visit: Support: four-wheel frame (after signing, by IV: her front end fails)"; of a conflict the
 * mark names every answer already. */
static const char *all_words(struct findings *l, const struct row *r)
{
    const char *mark = finding_mark(l->cb, l->data, r->finding), *why = r->finding->reason;
    if (r->finding->other_count > 0)
        return arena_printf(l->data, "%s: %s: %s", r->record->kind, r->label, mark);
    return *mark != '\0'
               ? arena_printf(l->data, "%s: %s: %s (%s)", r->record->kind, r->label, r->value, mark)
               : arena_printf(l->data, "%s: %s: %s%s%s", r->record->kind, r->label, r->value,
                              *why != '\0' ? "  because: " : "", why);
}

static void add_record(struct findings *l, struct record *r)
{
    for (size_t i = 0; r->entity != NULL && i < r->count; i++) {
        const struct finding *f = &r->findings[i];
        const char *past = finding_binds(f->item) ? "" : past_word(l, r, f);
        if (finding_binds(f->item) || (l->changed && *past == '\0'))
            continue;
        struct row row = {.record = r,
                          .finding = f,
                          .label = finding_label(l->cb->set, f->item, l->data),
                          .value =
                              f->in_error && f->other_count == 0 ? "" : letter_answer(&l->chart, f),
                          .who = who_wrote(l, f),
                          .past = past};
        row.words = all_words(l, &row);
        l->rows[l->list.count++] = row;
    }
}

static bool look(struct screen *s, struct fault *f)
{
    struct findings *l = s->state;
    struct chart fresh, *c = &l->chart;
    struct arena *data = arena_new();
    if (!chart_load(l->cb, data, l->entity, &fresh, f)) { /* what was read before stays */
        arena_free(data);
        return false;
    }
    arena_free(l->data);
    l->data = data;
    *c = fresh;
    l->list.count = 0;
    struct record *const order[] = {&c->visit,     &c->call,      &c->dog,
                                    &c->caregiver, &c->equipment, &c->practitioner};
    enum { RECORDS = sizeof order / sizeof *order };
    size_t most = 0;
    for (size_t i = 0; i < RECORDS; i++)
        most += order[i]->count;
    l->rows = arena_array(l->data, most, sizeof *l->rows);
    for (int own = 1; own >= 0; own--) /* what it was opened for comes first */
        for (size_t i = 0; i < RECORDS; i++)
            if (order[i]->entity != NULL && (strcmp(order[i]->entity, l->entity) == 0) == own)
                add_record(l, order[i]);
    if (l->list.at >= l->list.count)
        l->list.at = l->list.count > 0 ? l->list.count - 1 : 0;
    const char *name = record_said(&c->dog, ID_DOG_NAME);
    s->subject = *name != '\0' ? name : record_said(&c->caregiver, ID_CAREGIVER_NAME);
    s->middle = l->changed ? "what was changed" : "all that was entered";
    return true;
}

static void refresh(struct screen *s)
{
    struct fault f = {0};
    if (!look(s, &f))
        app_fault(s->app, &f);
}

/* ---- drawing --------------------------------------------------------------------------------- */

static void draw_row(void *of, size_t i, int row, bool focus)
{
    enum { PAST = 17, WHO = 5 };
    const struct findings *l = of;
    const struct row *r = &l->rows[i];
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    int width = term_columns() - 2, label = width >= 110 ? 48 : 30, who = width - PAST - WHO;
    draw_fill(row, 1, width, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_text(row, 4, label, plain, r->label);
    draw_text(row, 5 + label, who - label - 6, plain, r->value);
    draw_text(row, who, WHO - 1, plain, r->who);
    draw_text(row, who + WHO, PAST, focus ? LOOK_FOCUS : LOOK_WARN, r->past);
}

static void draw(struct screen *s)
{
    struct findings *l = s->state;
    int last = term_rows() - 3, columns = term_columns();
    if (l->list.count == 0) {
        draw_text(2, 4, columns - 8, LOOK_DIM,
                  l->changed ? "Nothing was ever changed here." : "Nothing has been entered here.");
        draw_cursor(2, 4);
        return;
    }
    list_draw(&l->list, 1, last - 4, 2, draw_row, l);
    const struct row *r = &l->rows[l->list.at];
    draw_rule(last - 2, 1, columns - 2);
    draw_wrapped(last - 1, 2, columns - 4, 2, LOOK_PLAIN, r->words);
}

/* ---- keys ------------------------------------------------------------------------------------ */

static void print_changes(struct screen *s)
{
    struct findings *l = s->state;
    struct sheet *sheet;
    struct fault f = {0};
    if (changes_sheet(&l->chart, &sheet, &f))
        print_ask(s->app, s->arena, sheet, "changes");
    else
        app_fault(s->app, &f);
}

static bool press(struct screen *s, const struct press *p)
{
    struct findings *l = s->state;
    if (list_press(&l->list, p, term_rows() - 7))
        return true;
    if (l->list.count > 0) {
        const struct row *r = &l->rows[l->list.at];
        if (p->kind == PRESS_KEY && p->code == PK_ENTER) {
            history_show(s->app, r->record->entity, r->finding->item);
            return true;
        }
        if (past_press(s, p, r->record, r->finding->item))
            return true;
    }
    if (p->kind != PRESS_CHAR || (p->text[0] != 'c' && p->text[0] != 'p'))
        return false;
    if (p->text[0] == 'p') {
        print_changes(s);
    } else {
        l->changed = !l->changed;
        refresh(s);
    }
    return true;
}

static void close_findings(struct screen *s)
{
    struct findings *l = s->state;
    arena_free(l->data);
}

static const struct key_help keys[] = {
    {"Enter", "history", "Who entered it, when, what it was before and why; h and F2 too.", true},
    {"c", "changed", "Only what was ever changed, or everything again.", true},
    {"p", "paper", "Print what was ever changed of this dog, save it, or look at the sheet.", true},
    {"^R", "take back", "Take back the last entry made here.", false},
    {"^E", "in error", "Say that it was entered in error, and why.", true},
    {"q", "back", "Go back; ^Q does the same.", true},
    {0},
};

static const struct screen_class findings_class = {
    .name = "Findings",
    .help = "All that was entered here and in the records it belongs to, each with who wrote it "
            "and whether it was changed. Nothing is ever taken out.",
    .keys = keys,
    .open = look,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_findings,
};

void findings_open(struct app *app, const char *entity)
{
    struct arena *a = arena_new();
    struct findings *l = arena_alloc(a, sizeof *l);
    l->cb = app->cb;
    l->entity = arena_str(a, entity);
    screen_open(app, &findings_class, a, l);
}
