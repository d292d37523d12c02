/* Practice: its name and rules, who is at the keys, the templates, the record as a whole. */
#include "base/clock.h"
#include "casebook/sheltering.h"
#include "screens/kit/ask.h"
#include "screens/kit/list.h"
#include "screens/lock.h"
#include "screens/screens.h"
#include <string.h>

enum { FACT_ROWS = 6 }; /* of one fact, such as a report of mistakes */

struct practice_state {
    struct arena *data;
    const struct practitioner *people;
    struct journal_counts counts;
    struct sheltering shelter;
    const char *disk;
    struct list list;
};

/* What protects the records from a thief, who answered for it when nothing does, and what to do. */
static const char *disk_words(struct screen *s)
{
    struct practice_state *p = s->state;
    const struct sheltering *h = &p->shelter;
    const char *words = shelter_words(h->kind);
    if (*h->because != '\0')
        words =
            arena_printf(p->data, "%s. Kept so by %s on %s: %s", words, h->by, h->on, h->because);
    if (!shelter_safe(h->kind))
        words = arena_printf(p->data, "%s. amble verify says what to run", words);
    return shelter_swaps_open("/proc/swaps", s->app->sysfs)
               ? arena_printf(p->data,
                              "%s. The swap is NOT ENCRYPTED: what is in memory may be "
                              "left on the disk",
                              words)
               : words;
}

static void refresh(struct screen *s)
{
    struct practice_state *p = s->state;
    struct fault f = {0};
    arena_reset(p->data);
    p->people = NULL;
    p->list.count = 0;
    p->shelter =
        (struct sheltering){.kind = SHELTER_UNKNOWN, .because = "", .by = "", .on = "", .line = ""};
    if (!practitioners(s->app->cb, p->data, &p->people, &p->list.count, &f) ||
        !journal_count(s->app->cb->journal, &p->counts, &f) ||
        !sheltering_look(s->app->cb, p->data, s->app->sysfs, &p->shelter, &f))
        app_fault(s->app, &f);
    p->disk = disk_words(s);
    for (size_t i = 0; i < p->list.count && p->list.at == 0; i++)
        if (strcmp(p->people[i].entity, s->app->cb->author) == 0)
            p->list.at = i;
    s->subject = s->app->cb->set->practice.name;
}

static bool open_practice(struct screen *s, struct fault *f)
{
    (void)f;
    struct practice_state *p = s->state;
    p->data = arena_new();
    refresh(s);
    return true;
}

static void draw_person(void *of, size_t i, int row, bool focus)
{
    struct screen *s = of;
    const struct practice_state *p = s->state;
    bool here = strcmp(p->people[i].entity, s->app->cb->author) == 0;
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    draw_fill(row, 1, 60, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_text(row, 4, 6, plain, p->people[i].initials);
    draw_text(row, 11, 32, plain, p->people[i].name);
    draw_text(row, 44, 16, plain, here ? "at the keys" : "");
}

static int draw_fact(int row, const char *label, const char *value)
{
    draw_text(row, 4, 16, LOOK_DIM, label);
    int used = draw_wrapped(row, 21, term_columns() - 23, FACT_ROWS, LOOK_PLAIN, value);
    return row + (used > 0 ? used : 1);
}

static void draw(struct screen *s)
{
    struct practice_state *p = s->state;
    const struct practice *practice = &s->app->cb->set->practice;
    const struct template_set *set = s->app->cb->set;
    int row = 1, last = term_rows() - 3;
    row = draw_fact(row, "address", practice->address);
    row = draw_fact(
        row, "phone",
        arena_printf(p->data, "%s, out of hours %s", practice->phone, practice->emergency_phone));
    row = draw_fact(row, "local rules", practice->scope_note);
    row = draw_fact(row, "units",
                    arena_printf(p->data, "lengths in %s, weights in %s",
                                 practice->length_unit->name, practice->mass_unit->name));
    row = draw_fact(row, "printer",
                    *practice->printer != '\0' ? practice->printer : "the computer's default one");
    row = draw_fact(row, "record",
                    arena_printf(p->data, "%llu entries, %llu dogs, in %s",
                                 (unsigned long long)p->counts.entries,
                                 (unsigned long long)p->counts.dogs, s->app->data_folder));
    row = draw_fact(row, "disk", p->disk);
    row = draw_fact(row, "templates",
                    s->app->broken_templates != NULL
                        ? arena_printf(p->data, "MISTAKES, the last good set is in use: %s",
                                       s->app->broken_templates)
                        : arena_printf(p->data, "%zu forms, %zu measures, %zu rules; yours in %s",
                                       set->form_count, set->measure_count,
                                       set->support_rule_count + set->triage.rule_count,
                                       s->app->overlay_templates));
    row++;
    draw_text(row++, 2, 60, LOOK_STRONG, "Who is at the keys");
    s->about = p->list.count > 0 ? p->people[p->list.at].entity : NULL;
    if (p->list.count == 0) {
        draw_text(row, 4, 60, LOOK_PLAIN, "Nobody yet: n enters the first practitioner.");
        draw_cursor(row, 4);
    }
    list_draw(&p->list, row, last - row, 2, draw_person, s);
}

bool practitioner_ask(struct app *app, struct arena *a)
{
    struct record r;
    struct fault f = {0};
    const char *name = ask_line(app, a, "Name of the practitioner?", "");
    if (name == NULL || *name == '\0')
        return false;
    const char *initials = ask_line(app, a, "Initials, as they stand beside every entry?", "");
    if (initials == NULL || *initials == '\0')
        return false;
    if (!record_new(app->cb, a, "practitioner", &r, &f) ||
        !record_put(app->cb, &r, "practitioner.name", name, "", &f) ||
        !record_put(app->cb, &r, "practitioner.initials", initials, "", &f) ||
        !casebook_become(app->cb, r.entity, &f)) {
        app_fault(app, &f);
        return false;
    }
    return true;
}

void shelter_ask(struct app *app, struct arena *a)
{
    struct sheltering h;
    struct fault f = {0};
    if (!sheltering_look(app->cb, a, app->sysfs, &h, &f)) {
        app_fault(app, &f);
        return;
    }
    if (shelter_safe(h.kind)) {
        app_say(app, LOOK_GOOD, "The records are kept %s", shelter_words(h.kind));
        return;
    }
    const char *words =
        ask_line(app, a, "Why keep records here all the same? (^Q: not answered)", h.because);
    if (words == NULL || *words == '\0')
        app_say(app, LOOK_WARN, "Nobody has answered for it: Today goes on saying so");
    else if (!sheltering_answer(app->cb, a, app->sysfs, words, &f))
        app_fault(app, &f);
    else
        app_say(app, LOOK_WARN, "Kept on record: who, when and why");
}

static bool press(struct screen *s, const struct press *p)
{
    struct practice_state *st = s->state;
    struct fault f = {0};
    if (list_press(&st->list, p, 8))
        return true;
    if (p->kind == PRESS_KEY && p->code == PK_ENTER && st->list.count > 0) {
        const struct practitioner *who = &st->people[st->list.at];
        if (!casebook_become(s->app->cb, who->entity, &f))
            app_fault(s->app, &f);
        else
            app_say(s->app, LOOK_GOOD, "%s is at the keys", who->name);
        return true;
    }
    if (p->kind == PRESS_CHAR && p->text[0] == 'o') {
        observers_open(s->app);
        return true;
    }
    if (p->kind == PRESS_CHAR && p->text[0] == 'e') {
        equipment_open(s->app, NULL);
        return true;
    }
    if (p->kind == PRESS_CHAR && p->text[0] == 'n') {
        practitioner_ask(s->app, s->arena);
        refresh(s);
        return true;
    }
    if (p->kind == PRESS_CHAR && p->text[0] == 'd') {
        shelter_ask(s->app, s->arena);
        refresh(s);
        return true;
    }
    if (p->kind == PRESS_CHAR && p->text[0] == 'l') {
        lock_ask(s->app);
        return true;
    }
    return false;
}

static void close_practice(struct screen *s)
{
    struct practice_state *p = s->state;
    arena_free(p->data);
}

static const struct key_help keys[] = {
    {"Enter", "be this one", "The practitioner under the cursor is at the keys from now on.", true},
    {"n", "new", "Enter another practitioner.", true},
    {"o", "observers", "How well each person repeats each measurement.", true},
    {"e", "equipment", "The practice's own frames, for trial and loan.", true},
    {"l", "lock", "Set, change or take away the passphrase that comes after some idle minutes.",
     true},
    {"d", "disk", "Say why the records stay where a thief could read them; it goes on record.",
     true},
    {0},
};

static const struct screen_class practice_class = {
    .name = "Practice",
    .help = "What the practice's own files say, and who is at the keys. Names, forms, measures and "
            "rules are changed in the templates; amble template check tells of mistakes.",
    .keys = keys,
    .open = open_practice,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_practice,
};

void practice_open(struct app *app)
{
    struct arena *a = arena_new();
    screen_open(app, &practice_class, a, arena_alloc(a, sizeof(struct practice_state)));
}
