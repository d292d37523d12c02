/* Measures: two readings of each, a third if they part, and what the dog's own proportions say of
 * a number while the dog still stands there. */
#include "base/utf8.h"
#include "casebook/measuring.h"
#include "screens/kit/ask.h"
#include "screens/kit/editor.h"
#include "screens/kit/history.h"
#include "screens/visit.h"
#include <string.h>

struct measures_state {
    struct section_page at;
    struct measuring look;
    const struct item **ticks; /* the posture form's questions */
    size_t tick_count;
    size_t *shown; /* rows of look on the screen, folded ones left out */
    size_t shown_count;
    bool all;     /* unneeded ones too */
    bool posture; /* the cursor is on the posture line */
    size_t tick;  /* which tick */
    size_t row;   /* index into shown */
    int reading;  /* 1 to 3 */
    size_t top;
    struct editor editor;
    const char *refused; /* why what is typed cannot be kept, or NULL */
};

static const struct measure_row *focus_row(const struct measures_state *m)
{
    return m->shown_count == 0 ? NULL : &m->look.rows[m->shown[m->row]];
}

static const char *focus_item(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = focus_row(m);
    return r == NULL ? NULL : reading_item(m->at.page.data, r->measure, m->reading);
}

/* Put what is kept for the cell under the cursor into the editor. */
static void load_cell(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = focus_row(m);
    m->refused = NULL;
    s->typing = false;
    if (r == NULL || m->posture)
        return;
    bool have = m->reading <= READINGS_MOST && r->have[m->reading - 1];
    editor_set(&m->editor, have ? reading_show(s->app->cb->set, r->measure,
                                               r->readings[m->reading - 1], m->at.page.data)
                                : "");
}

static void look(struct measures_state *m)
{
    const struct measure *focus = focus_row(m) != NULL ? focus_row(m)->measure : NULL;
    measuring_look(&m->at.page.chart, &m->look);
    m->shown = arena_array(m->at.page.data, m->look.count, sizeof *m->shown);
    m->shown_count = 0;
    for (size_t i = 0; i < m->look.count; i++) {
        const struct measure_row *r = &m->look.rows[i];
        if (m->all || r->needed || r->count > 0) {
            if (r->measure == focus)
                m->row = m->shown_count;
            m->shown[m->shown_count++] = i;
        }
    }
    if (m->row >= m->shown_count)
        m->row = m->shown_count == 0 ? 0 : m->shown_count - 1;
}

static void reload(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure *focus = focus_row(m) != NULL ? focus_row(m)->measure : NULL;
    m->shown_count = 0;
    if (!page_reload(&m->at.page, s))
        return;
    look(m);
    for (size_t i = 0; i < m->shown_count; i++)
        if (m->look.rows[m->shown[i]].measure == focus)
            m->row = i;
}

/* The cursor to the cell of an item; false when no row shows it. */
static bool find_cell(struct screen *s, const char *item)
{
    struct measures_state *m = s->state;
    for (m->row = 0; m->row < m->shown_count; m->row++)
        for (m->reading = 1; m->reading <= READINGS_MOST; m->reading++)
            if (strcmp(focus_item(s), item) == 0)
                return true;
    m->row = 0;
    m->reading = 1;
    return false;
}

/* What was being typed when the program last ended is offered where it was typed. */
static void offer_draft(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct draft *drafts;
    size_t count;
    if (!journal_drafts(s->app->cb->journal, s->arena, &drafts, &count, NULL))
        return;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(drafts[i].entity, m->at.page.entity) != 0 || *drafts[i].typed == '\0' ||
            !find_cell(s, drafts[i].item))
            continue;
        m->posture = false;
        editor_set(&m->editor, drafts[i].typed);
        m->editor.touched = s->typing = true;
        m->editor.whole = false;
        app_say(s->app, LOOK_WARN, "Typed before, and not yet kept: Enter keeps it");
        return;
    }
}

static bool open_measures(struct screen *s, struct fault *f)
{
    struct measures_state *m = s->state;
    editor_init(&m->editor, 64);
    m->reading = 1;
    if (!page_load(&m->at.page, s, m->at.page.entity, f))
        return false;
    const struct template_set *set = s->app->cb->set;
    for (size_t i = 0; i < set->form_count; i++) {
        if (set->forms[i].place != PLACE_POSTURE)
            continue;
        m->ticks = arena_array(s->arena, set->forms[i].item_count, sizeof *m->ticks);
        for (size_t k = 0; k < set->forms[i].item_count; k++)
            m->ticks[m->tick_count++] = &set->forms[i].items[k];
        break;
    }
    look(m);
    m->posture = m->tick_count > 0 && !m->look.posture_done;
    load_cell(s);
    offer_draft(s);
    return true;
}

/* ---- drawing
 * --------------------------------------------------------------------------------------- */

/* Ticked: one calm line. Else a box for each tick. */
static void draw_posture(struct measures_state *m, int row)
{
    int col = 1;
    bool open = m->posture || !m->look.posture_done;
    col += draw_text(row, col, 9, LOOK_STRONG, "posture") + 1;
    if (!open)
        draw_right(row, term_columns() - 1, 12, LOOK_GOOD, "all ticked");
    for (size_t i = 0; i < m->tick_count; i++) {
        const char *value = record_text(&m->at.page.chart.visit, m->ticks[i]->id);
        bool yes = strcmp(value, "yes") == 0;
        bool focus = m->posture && m->tick == i;
        if (focus)
            draw_cursor(row, col);
        enum look tick_look = focus ? LOOK_FOCUS : yes ? LOOK_PLAIN : LOOK_DIM;
        const char *box = !open ? "" : yes ? "[x] " : strcmp(value, "no") == 0 ? "[-] " : "[ ] ";
        col += draw_textf(row, col, term_columns() - col - 1, tick_look, "%s%s", box,
                          m->ticks[i]->label) +
               2;
    }
}

static void draw_reading(struct screen *s, const struct measure_row *r, int row, int col, int i,
                         bool focus)
{
    struct measures_state *m = s->state;
    if (focus && m->reading == i + 1 && !m->posture) {
        int blank =
            m->editor.touched ? 0 : 6 - utf8_width(m->editor.text.s); /* under one another */
        blank = blank < 0 ? 0 : blank;
        editor_draw(&m->editor, row, col + blank, 8 - blank, true);
    } else if (r->have[i]) {
        draw_textf(row, col, 7, LOOK_PLAIN, "%6s",
                   reading_show(s->app->cb->set, r->measure, r->readings[i], m->at.page.data));
    } else if (i < 2 || r->third_wanted) {
        draw_text(row, col, 7, LOOK_DIM, r->needed ? "     _" : "     .");
    }
}

static const char *verdict_words(const struct measure_row *r)
{
    if (r->third_wanted)
        return "third?";
    if (r->verdict == BESIDE_HIGH || r->verdict == BESIDE_LOW)
        return r->accepted ? "so" : r->verdict == BESIDE_HIGH ? "high" : "low";
    return r->verdict == BESIDE_USUAL ? "ok" : "";
}

/* The check worth showing: the first that is out of its band, else the first. */
static const struct relation_check *main_check(const struct measure_row *r)
{
    for (size_t i = 0; i < r->check_count; i++)
        if (r->checks[i].verdict == BESIDE_HIGH || r->checks[i].verdict == BESIDE_LOW)
            return &r->checks[i];
    return r->check_count > 0 ? &r->checks[0] : NULL;
}

static void draw_row(struct screen *s, size_t i, int row)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = &m->look.rows[m->shown[i]];
    const struct template_set *set = s->app->cb->set;
    bool focus = i == m->row && !m->posture;
    bool suspect = m->look.suspect == m->shown[i];
    enum look look_row = focus ? LOOK_STRONG : LOOK_PLAIN;
    draw_text(row, 1, 1, LOOK_STRONG, focus ? ">" : suspect ? "!" : " ");
    draw_text(row, 3, 19, look_row, r->measure->label);
    for (int k = 0; k < READINGS_MOST; k++)
        draw_reading(s, r, row, 22 + 7 * k, k, focus);
    if (r->count > 0)
        draw_textf(row, 43, 7, look_row, "%6s",
                   reading_show(set, r->measure, r->used, m->at.page.data));
    if (r->count > 1)
        draw_textf(row, 50, 6, r->third_wanted ? LOOK_WARN : LOOK_DIM, "%5s",
                   reading_show(set, r->measure, r->spread, m->at.page.data));
    const struct relation_check *c = main_check(r);
    if (c != NULL) {
        int wide = term_columns() >= 110 ? 24 : 6;
        draw_textf(row, 57, wide, LOOK_PLAIN, wide > 6 ? "%.2f %s" : "%.2f", c->ratio,
                   c->relation->label);
        draw_textf(row, 58 + wide, 9, LOOK_DIM, "%.2f-%.2f", c->band->low, c->band->high);
    }
    enum look word =
        r->third_wanted || ((r->verdict == BESIDE_HIGH || r->verdict == BESIDE_LOW) && !r->accepted)
            ? LOOK_WARN
            : LOOK_DIM;
    draw_right(row, term_columns() >= 110 ? 100 : term_columns() - 1, 6, word, verdict_words(r));
}

/* The number most likely wrong in the row above, and what to do in two rows from `row`. */
static void draw_suspect(struct screen *s, int row)
{
    struct measures_state *m = s->state;
    int width = term_columns() - 4;
    if (m->refused != NULL) {
        draw_wrapped(row, 2, width, 2, LOOK_WARN, m->refused);
        return;
    }
    if (m->look.suspect < m->look.count && !m->look.rows[m->look.suspect].accepted) {
        const struct measure_row *r = &m->look.rows[m->look.suspect];
        int tenths = (int)(m->look.suspect_share * 10 + 0.5);
        draw_fill(row - 1, 0, term_columns(), LOOK_PLAIN);
        draw_textf(row - 1, 2, width, LOOK_STRONG,
                   "Look again at %s (%d in 10): the rest fit one another.", r->measure->label,
                   tenths > 9 ? 9 : tenths);
        if (m->look.cause != NULL)
            draw_wrapped(row, 2, width, 2, LOOK_PLAIN,
                         arena_printf(m->at.page.data, "Usually %s: %s.", m->look.cause->text,
                                      m->look.cause->remedy));
        return;
    }
    const struct measure_row *r = focus_row(m);
    if (m->posture)
        draw_text(row, 2, width, LOOK_PLAIN,
                  "Before the first number: set the dog up, tick each with y or the space bar.");
    else if (r != NULL)
        draw_wrapped(row, 2, width, 2, LOOK_DIM, r->measure->how);
}

static void draw(struct screen *s)
{
    struct measures_state *m = s->state;
    int last = term_rows() - 3, row = 1, columns = term_columns();
    if (m->tick_count > 0)
        draw_posture(m, row++);
    const char *unit = s->app->cb->set->practice.length_unit->name;
    draw_textf(row, 3, 18, LOOK_DIM, "%s", unit);
    draw_text(row, 25, 8, LOOK_DIM, "1st");
    draw_text(row, 32, 8, LOOK_DIM, "2nd");
    draw_text(row, 39, 5, LOOK_DIM, "3rd");
    draw_text(row, 45, 5, LOOK_DIM, "used");
    draw_text(row, 50, 6, LOOK_DIM, "apart");
    draw_text(row, 57, 9, LOOK_DIM, columns >= 110 ? "beside" : "ratio");
    draw_text(row, columns >= 110 ? 82 : 64, 9, LOOK_DIM, "usual");
    row++;
    int rows = last - 2 - row;
    if (m->row < m->top)
        m->top = m->row;
    if (m->row >= m->top + (size_t)rows)
        m->top = m->row - (size_t)rows + 1;
    size_t i = m->top;
    for (; i < m->shown_count && i < m->top + (size_t)rows; i++)
        draw_row(s, i, row + (int)(i - m->top));
    size_t folded = m->look.count - m->shown_count;
    if (i == m->shown_count && folded > 0 && row + (int)(i - m->top) < last - 1)
        draw_textf(row + (int)(i - m->top), 3, 70, LOOK_DIM,
                   "%zu more not needed for this support; a shows them", folded);
    draw_suspect(s, last - 1);
}

/* ---- keys
 * ------------------------------------------------------------------------------------------- */

/* Keep what is typed in the cell. False: it cannot be kept, and `refused` says why. */
static bool keep(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = focus_row(m);
    if (m->posture || r == NULL || !m->editor.touched)
        return true;
    struct fault f = {0};
    const char *canonical = "", *item = focus_item(s), *reason = "";
    struct record *visit = &m->at.page.chart.visit;
    if (m->editor.text.len > 0 && !reading_read(s->app->cb->set, r->measure, m->editor.text.s,
                                                m->at.page.data, &canonical, &f)) {
        m->refused = arena_str(m->at.page.data, f.text);
        return false;
    }
    if (record_signed(visit)) {
        reason = ask_line(s->app, m->at.page.data, "Signed already. Why is it changed?", "");
        if (reason == NULL)
            return false;
    }
    bool gone = *canonical == '\0';
    bool stood = *record_text(visit, item) != '\0';
    if (gone ? stood && !record_strike(s->app->cb, visit, item,
                                       *reason != '\0' ? reason : "cleared while measuring", &f)
             : !record_put(s->app->cb, visit, item, canonical, reason, &f)) {
        m->refused = arena_str(m->at.page.data, f.text);
        return false;
    }
    (void)journal_draft_drop(s->app->cb->journal, visit->entity, item, NULL);
    m->editor.touched = false;
    reload(s);
    return true;
}

/* Readings that can be gone to in a row: two, a third when it is wanted or there. */
static int readings_of(const struct measure_row *r)
{
    return r->third_wanted || r->have[2] ? 3 : 2;
}

static void go(struct screen *s, size_t row, int reading)
{
    struct measures_state *m = s->state;
    m->posture = false;
    m->row = row;
    m->reading = reading;
    load_cell(s);
}

/* After Enter: the next reading of the row, then the next row that lacks one. */
static void go_on(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = focus_row(m);
    if (r == NULL)
        return;
    if (m->reading < readings_of(r)) {
        go(s, m->row, m->reading + 1);
        return;
    }
    size_t next = m->row + 1 < m->shown_count ? m->row + 1 : m->row;
    go(s, next, next == m->row ? m->reading : 1);
}

static void tick(struct screen *s, const char *value)
{
    struct measures_state *m = s->state;
    struct fault f = {0};
    const char *id = m->ticks[m->tick]->id;
    if (!record_put(s->app->cb, &m->at.page.chart.visit, id, value, "", &f)) {
        app_fault(s->app, &f);
        return;
    }
    reload(s);
    if (m->tick + 1 < m->tick_count)
        m->tick++;
    else
        go(s, m->row, m->reading);
}

static bool press_posture(struct screen *s, const struct press *p)
{
    struct measures_state *m = s->state;
    if (p->kind == PRESS_CHAR && (p->text[0] == 'y' || p->text[0] == ' ' || p->text[0] == 'x')) {
        tick(s, "yes");
        return true;
    }
    if (p->kind == PRESS_CHAR && p->text[0] == 'n') {
        tick(s, "no");
        return true;
    }
    if (p->kind != PRESS_KEY)
        return false;
    if (p->code == PK_LEFT && m->tick > 0) {
        m->tick--;
    } else if (p->code == PK_RIGHT && m->tick + 1 < m->tick_count) {
        m->tick++;
    } else if (p->code == PK_DOWN || p->code == PK_ENTER || p->code == PK_TAB) {
        go(s, 0, 1);
    } else {
        return false;
    }
    return true;
}

/* "Checked, it is so": stands beside the number with who and when. */
static void accept(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = focus_row(m);
    struct fault f = {0};
    if (r == NULL || r->count == 0)
        return;
    const char *item = arena_printf(m->at.page.data, "%s.so", r->measure->id);
    if (!record_put(s->app->cb, &m->at.page.chart.visit, item, r->accepted ? "no" : "yes", "",
                    &f)) {
        app_fault(s->app, &f);
        return;
    }
    app_say(s->app, LOOK_PLAIN, r->accepted ? "To be looked at again" : "Checked: it is so");
    reload(s);
    load_cell(s);
}

/* Letters are commands until a number has been begun in the cell. */
static bool press_command(struct screen *s, const struct press *p)
{
    struct measures_state *m = s->state;
    if (p->kind != PRESS_CHAR || s->typing)
        return false;
    switch (p->text[0]) {
    case 'x':
        accept(s);
        return true;
    case 'a':
        m->all = !m->all;
        look(m);
        load_cell(s);
        return true;
    case 'h':
        history_show(s->app, m->at.page.chart.visit.entity, focus_item(s));
        return true;
    default:
        return false;
    }
}

static bool press_move(struct screen *s, const struct press *p)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = focus_row(m);
    if (p->kind != PRESS_KEY || r == NULL)
        return false;
    switch (p->code) {
    case PK_ENTER:
    case PK_TAB:
        if (keep(s))
            go_on(s);
        return true;
    case PK_UP:
        if (keep(s)) {
            if (m->row > 0) {
                go(s, m->row - 1, m->reading > 2 ? 1 : m->reading);
            } else if (m->tick_count > 0) {
                m->posture = true;
                load_cell(s);
            }
        }
        return true;
    case PK_DOWN:
        if (keep(s) && m->row + 1 < m->shown_count)
            go(s, m->row + 1, m->reading > 2 ? 1 : m->reading);
        return true;
    case PK_F2:
        history_show(s->app, m->at.page.chart.visit.entity, focus_item(s));
        return true;
    case PK_LEFT:
    case PK_BACK_TAB:
        if (s->typing && p->code == PK_LEFT)
            return false;
        if (keep(s) && m->reading > 1)
            go(s, m->row, m->reading - 1);
        return true;
    case PK_RIGHT:
        if (s->typing)
            return false;
        if (keep(s) && m->reading < readings_of(r))
            go(s, m->row, m->reading + 1);
        return true;
    default:
        return false;
    }
}

static bool press(struct screen *s, const struct press *p)
{
    struct measures_state *m = s->state;
    if (section_press(s, p))
        return true;
    if (m->posture)
        return press_posture(s, p);
    if (press_command(s, p) || press_move(s, p))
        return true;
    if (p->kind == PRESS_CHAR && !s->typing && strchr("0123456789.,", p->text[0]) == NULL)
        return false; /* help, back and the like */
    if (!editor_press(&m->editor, p))
        return false;
    m->refused = NULL;
    s->typing = m->editor.touched && m->editor.text.len > 0;
    return true;
}

static bool leave(struct screen *s, struct fault *f)
{
    struct measures_state *m = s->state;
    if (keep(s))
        return true;
    return fail(f, FAULT_INPUT, "%s", m->refused != NULL ? m->refused : "not kept");
}

static void draft(struct screen *s)
{
    struct measures_state *m = s->state;
    if (m->editor.touched && focus_row(m) != NULL && !m->posture)
        (void)journal_draft_put(s->app->cb->journal, m->at.page.chart.visit.entity, focus_item(s),
                                m->editor.text.s, NULL);
}

static void refresh(struct screen *s)
{
    reload(s);
    load_cell(s);
}

static void close_measures(struct screen *s)
{
    struct measures_state *m = s->state;
    editor_free(&m->editor);
    page_close(&m->at.page);
}

static const struct key_help keys[] = {
    {"Enter", "next", "Keep the reading and go to the next: second reading, then the next row.",
     true},
    {"Up Down", "row", "Keep the reading and move to another row; Left and Right between readings.",
     true},
    {"x", "it is so", "Checked: the number is right although it looks unusual.", true},
    {"h", "history", "Who entered this reading, when, and what it was before; F2 does the same.",
     true},
    {"a", "all", "Show the measurements this support does not need, too.", true},
    SECTION_KEYS,
    {0},
};

static const struct screen_class measures_class = {
    .name = "Measures",
    .help = "Tick the posture, then take each length twice; a third is asked for when two part. "
            "Write 9 1/4 in, 23,5 cm, 235mm or a bare number in the practice's unit. Nothing here "
            "stops you: a number that is unusual but right is marked with x.",
    .keys = keys,
    .open = open_measures,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .leave = leave,
    .draft = draft,
    .close = close_measures,
};

void measures_open(struct app *app, const char *visit, size_t index)
{
    section_screen(app, &measures_class, visit, index, sizeof(struct measures_state));
}
