/* The form widget over a real record: form_demo FOLDER [conflict|signed|loose]
 *
 * The first run makes a dog and a visit in FOLDER; later runs find them again. "conflict" adds a
 * second answer that had not seen the first, "signed" signs the visit. */
#include "screens/kit/form.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct demo {
    struct chart chart;
    struct form_view *view;
    const struct form *form;
    int saves;
};

static bool make_visit(struct casebook *cb, struct arena *a, struct chart *chart, struct fault *f)
{
    struct record dog, who;
    return record_new(cb, a, "practitioner", &who, f) &&
           record_put(cb, &who, "practitioner.name", "Ada Ash", "", f) &&
           record_put(cb, &who, "practitioner.initials", "AA", "", f) &&
           casebook_become(cb, who.entity, f) && record_new(cb, a, "dog", &dog, f) &&
           record_put(cb, &dog, "dog.name", "Biscuit", "", f) &&
           visit_new(cb, a, dog.entity, "2026-11-24", chart, f) &&
           journal_setting_put(cb->journal, "demo.visit", chart->visit.entity, f);
}

/* Two entries for one question, neither of which replaces the other. */
static bool make_conflict(struct casebook *cb, const struct chart *chart, struct fault *f)
{
    static const char *const values[] = {"better", "worse"};
    for (size_t i = 0; i < 2; i++) {
        struct edit e = {.kind = ENTRY_SET,
                         .entity = chart->visit.entity,
                         .item = "kit.course",
                         .value = values[i],
                         .author = cb->author,
                         .reason = ""};
        struct entry_id id;
        if (!journal_append(cb->journal, &e, &id, f))
            return false;
    }
    return true;
}

static bool prepare(struct casebook *cb, struct arena *a, const char *mode, struct chart *chart,
                    struct fault *f)
{
    casebook_wake(cb);
    const char *visit = journal_setting(cb->journal, a, "demo.visit");
    if (!visit && !make_visit(cb, a, chart, f))
        return false;
    if (!visit)
        visit = arena_str(a, chart->visit.entity);
    if (strcmp(mode, "conflict") == 0 && !make_conflict(cb, chart, f))
        return false;
    if (!chart_load(cb, a, visit, chart, f))
        return false;
    return strcmp(mode, "signed") != 0 || record_sign(cb, &chart->visit, f);
}

static void count_save(void *of)
{
    ((struct demo *)of)->saves++;
}

static bool demo_open(struct screen *s, struct fault *f)
{
    struct demo *d = s->state;
    d->form = template_form(s->app->cb->set, "kit");
    if (!d->form)
        return fail(f, FAULT_MISSING, "the form of the test is not there");
    d->view = form_view_new(s->app, s->arena, &d->chart, &d->form, 1);
    form_view_on_saved(d->view, count_save, d);
    s->subject = "Biscuit";
    return true;
}

static void demo_draw(struct screen *s)
{
    struct demo *d = s->state;
    s->typing = form_view_typing(d->view);
    s->middle = arena_printf(s->arena, "%d kept", d->saves);
    form_view_draw(d->view, 2, 1, term_rows() - 5, term_columns() - 2);
}

static bool demo_press(struct screen *s, const struct press *p)
{
    struct demo *d = s->state;
    return form_view_press(d->view, p);
}

static void demo_refresh(struct screen *s)
{
    form_view_refresh(((struct demo *)s->state)->view);
}

static bool demo_leave(struct screen *s, struct fault *f)
{
    return form_view_leave(((struct demo *)s->state)->view, f);
}

static void demo_draft(struct screen *s)
{
    form_view_draft(((struct demo *)s->state)->view);
}

static void demo_close(struct screen *s)
{
    form_view_free(((struct demo *)s->state)->view);
}

static const struct key_help demo_keys[] = {
    {"Enter", "next", "Keep the field and go to the next one.", true},
    {"F2", "history", "Who wrote what, when and why.", true},
    {"^R", "take back", "Take back the last change.", true},
    {"^E", "in error", "Say that an answer was entered in error.", true},
    {NULL, NULL, NULL, false},
};
static const struct screen_class demo_class = {
    .name = "Every kind",
    .help = "One question of every kind.",
    .keys = demo_keys,
    .open = demo_open,
    .draw = demo_draw,
    .press = demo_press,
    .refresh = demo_refresh,
    .leave = demo_leave,
    .draft = demo_draft,
    .close = demo_close,
};

static int run(struct casebook *cb, const char *mode)
{
    struct fault f = {0};
    struct arena *a = arena_new();
    struct demo d = {0};
    struct app app = {.cb = cb};
    bool ok = prepare(cb, a, mode, &d.chart, &f) && term_start(&f);
    if (ok && screen_open(&app, &demo_class, arena_new(), &d))
        app_run(&app);
    term_stop();
    if (!ok)
        fprintf(stderr, "form_demo: %s\n", f.text);
    for (size_t i = 0; ok && i < d.form->item_count; i++)
        printf("%s = %s\n", d.form->items[i].id, record_text(&d.chart.visit, d.form->items[i].id));
    printf("end of the record\n");
    arena_free(a);
    return ok ? 0 : 2;
}

int main(int argc, char **argv)
{
    struct fault f = {0};
    struct text lines;
    text_init(&lines, 65536);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load("config", "tests/screens/form_overlay", &report);
    struct casebook cb = {.set = set};
    int status = 2;
    if (!set)
        fprintf(stderr, "form_demo: %s\n", lines.s);
    else if (argc < 2 || !journal_open(&cb.journal, argv[1], JOURNAL_WRITE, &f))
        fprintf(stderr, "form_demo: %s\n", f.text);
    else
        status = run(&cb, argc > 2 ? argv[2] : "");
    journal_close(cb.journal);
    if (set)
        template_free(set);
    text_free(&lines);
    if (term_signal())
        raise(term_signal());
    return status;
}
