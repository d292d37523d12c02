/* Measures: two readings of each, a third if they part, and what the dog's own proportions say of
 * a number while the dog still stands there. */
#include "casebook/experience.h"
#include "screens/kit/past.h"
#include "screens/measures_inside.h"
#include <string.h>

const struct measure_row *measures_focus(const struct measures_state *m)
{
    return m->shown_count == 0 ? NULL : &m->look.rows[m->shown[m->row]];
}

static const char *focus_item(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = measures_focus(m);
    return r == NULL ? NULL : reading_item(m->at.page.data, r->measure, m->reading);
}

/* Put what is kept for the cell under the cursor into the editor. */
static void load_cell(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = measures_focus(m);
    m->refused = NULL;
    m->warned = m->insisted = false;
    s->typing = false;
    measures_detail(m);
    if (r == NULL || m->posture)
        return;
    bool have = m->reading <= READINGS_MOST && r->have[m->reading - 1] &&
                !(m->reading == 1 && measures_hidden(m, r));
    editor_set(&m->editor, have ? reading_show(s->app->cb->set, r->measure,
                                               r->readings[m->reading - 1], m->at.page.data)
                                : "");
}

bool measures_hidden(const struct measures_state *m, const struct measure_row *r)
{
    return m->blind && r->have[0] && !r->have[1];
}

static void look(struct measures_state *m)
{
    const struct measure *focus = measures_focus(m) != NULL ? measures_focus(m)->measure : NULL;
    measuring_look(&m->at.page.chart, &m->look);
    m->shown = arena_array(m->at.page.data, m->look.count, sizeof *m->shown);
    m->marks = arena_array(m->at.page.data, m->look.count, sizeof *m->marks);
    m->shown_count = 0;
    for (size_t i = 0; i < m->look.count; i++) {
        const struct measure_row *r = &m->look.rows[i];
        if (m->all || r->needed || r->count > 0) {
            if (r->measure == focus)
                m->row = m->shown_count;
            m->marks[m->shown_count] = measure_mark(&m->at.page.chart, r->measure);
            m->shown[m->shown_count++] = i;
        }
    }
    if (m->row >= m->shown_count)
        m->row = m->shown_count == 0 ? 0 : m->shown_count - 1;
}

void measures_reload(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure *focus = measures_focus(m) != NULL ? measures_focus(m)->measure : NULL;
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

/* What the practice's own dogs teach, read once a day; without it the published bands stand alone.
 */
static void learn(struct screen *s)
{
    struct experience known;
    struct fault f = {0};
    struct arena *a = arena_new();
    if (!experience_fresh(s->app->cb, a, &known, &f))
        app_fault(s->app, &f);
    arena_free(a);
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
    learn(s);
    look(m);
    m->posture = m->tick_count > 0 && !m->look.posture_done;
    load_cell(s);
    offer_draft(s);
    return true;
}

/* ---- keys ------------------------------------------------------------------------------------ */

/* A number that looks like a slip is asked about once: the next key that ends it keeps it. */
static bool slip(struct measures_state *m, const char *canonical)
{
    double base;
    if (m->warned || !number_lead(canonical, &base))
        return false;
    m->refused =
        reading_slip(&m->at.page.chart, &m->look, m->shown[m->row], m->reading, base, m->blind);
    m->warned = m->refused != NULL;
    return m->warned;
}

const char *measures_reason(struct screen *s, const char *item)
{
    struct measures_state *m = s->state;
    struct arena *a = m->at.page.data;
    return past_reason(s->app, a, &m->at.page.chart.visit, finding_label(s->app->cb->set, item, a));
}

/* Write the cell, or strike it out when it was emptied. False with a fault, or without one when no
 * reason was given for a change to what is signed. */
static bool write_cell(struct screen *s, const char *item, const char *canonical, struct fault *f)
{
    struct measures_state *m = s->state;
    struct record *visit = &m->at.page.chart.visit;
    const char *reason = measures_reason(s, item);
    if (reason == NULL)
        return false;
    if (*canonical != '\0')
        return record_put(s->app->cb, visit, item, canonical, reason, f);
    return *record_text(visit, item) == '\0' ||
           record_strike(s->app->cb, visit, item,
                         *reason != '\0' ? reason : "cleared while measuring", f);
}

/* Keep what is typed in the cell. False: it cannot be kept, and `refused` says why; the next figure
 * typed begins anew. */
static bool keep(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = measures_focus(m);
    if (m->posture || r == NULL || !m->editor.touched)
        return true;
    struct fault f = {0};
    const char *canonical = "", *item = focus_item(s);
    if (m->editor.text.len > 0 && !reading_read(s->app->cb->set, r->measure, m->editor.text.s,
                                                m->at.page.data, &canonical, &f)) {
        m->refused = arena_str(m->at.page.data, f.text);
        m->editor.whole = true;
        return false;
    }
    if (slip(m, canonical)) {
        m->editor.whole = true;
        return false;
    }
    if (!write_cell(s, item, canonical, &f)) {
        if (f.kind != FAULT_NONE)
            m->refused = arena_str(m->at.page.data, f.text);
        return false;
    }
    (void)journal_draft_drop(s->app->cb->journal, m->at.page.chart.visit.entity, item, NULL);
    m->editor.touched = false;
    measures_reload(s);
    return true;
}

/* Readings that can be gone to in a row: two, a third when it is usual, wanted or there. */
static int readings_of(const struct measure_row *r)
{
    return r->triple || r->third_wanted || r->have[2] ? 3 : 2;
}

void measures_go(struct screen *s, size_t row, int reading)
{
    struct measures_state *m = s->state;
    m->posture = false;
    m->row = row;
    m->reading = reading;
    load_cell(s);
}

static bool triple(const struct measures_state *m, size_t row)
{
    return row < m->shown_count && m->look.rows[m->shown[row]].triple;
}

/* Rows read three times that stand together are read together, in one moment: first reading of all,
 * second of all, third of all. False when that is over, or never was. */
static bool go_on_together(struct screen *s)
{
    struct measures_state *m = s->state;
    size_t first = m->row;
    if (!triple(m, m->row))
        return false;
    if (triple(m, m->row + 1)) {
        measures_go(s, m->row + 1, m->reading);
        return true;
    }
    while (first > 0 && triple(m, first - 1))
        first--;
    if (m->reading == READINGS_MOST)
        return false;
    measures_go(s, first, m->reading + 1);
    return true;
}

/* The next row after `from` whose first reading waits for the second; shown_count when none does.
 */
static size_t next_hidden(const struct measures_state *m, size_t from)
{
    while (from < m->shown_count && !measures_hidden(m, &m->look.rows[m->shown[from]]))
        from++;
    return from;
}

/* The second pass goes from row to row and ends by itself. */
static void go_on_blind(struct screen *s)
{
    struct measures_state *m = s->state;
    size_t next = next_hidden(m, m->row + 1);
    if (next == m->shown_count)
        next = next_hidden(m, 0);
    if (next < m->shown_count) {
        measures_go(s, next, 2);
        return;
    }
    m->blind = false;
    app_say(s->app, LOOK_GOOD, "Every first reading has its second: both are shown");
    load_cell(s);
}

/* After Enter: the next reading of the row, then the next row. */
static void go_on(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = measures_focus(m);
    if (r == NULL || go_on_together(s))
        return;
    if (m->reading < readings_of(r) && !(m->blind && m->reading == 1 && !r->have[0])) {
        measures_go(s, m->row, m->reading + 1);
    } else if (m->blind) {
        go_on_blind(s);
    } else {
        size_t next = m->row + 1 < m->shown_count ? m->row + 1 : m->row;
        measures_go(s, next, next == m->row ? m->reading : 1);
    }
}

/* ---- commands ------------------------------------------------------------------------------- */

/* "Checked, it is so": stands beside the number with who and when. */
static void accept(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = measures_focus(m);
    if (r == NULL || r->count == 0)
        return;
    const char *item = arena_printf(m->at.page.data, "%s.so", r->measure->id);
    if (!measures_put(s, item, r->accepted ? "no" : "yes"))
        return;
    app_say(s->app, LOOK_PLAIN, r->accepted ? "To be looked at again" : "Checked: it is so");
    measures_reload(s);
    load_cell(s);
}

/* Hide the first readings while the second is taken, or show them again. */
static void turn_blind(struct screen *s)
{
    struct measures_state *m = s->state;
    m->blind = !m->blind;
    size_t first = m->blind ? next_hidden(m, 0) : m->shown_count;
    if (first < m->shown_count)
        measures_go(s, first, 2);
    else
        load_cell(s);
    app_say(s->app, LOOK_PLAIN,
            m->blind ? "First readings are hidden until the second is in; b shows them"
                     : "First readings are shown");
}

static void go_posture(struct screen *s)
{
    struct measures_state *m = s->state;
    m->posture = m->tick_count > 0;
    m->tick = 0;
    m->again = 0;
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
    case 'b':
        turn_blind(s);
        return true;
    case 'p':
        go_posture(s);
        return true;
    case 't':
        body_type_open(s->app, m->at.page.entity);
        return true;
    case 'n':
        beside_open(s->app, m->at.page.entity);
        return true;
    default:
        return false;
    }
}

static bool press_move(struct screen *s, const struct press *p)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = measures_focus(m);
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
                measures_go(s, m->row - 1, m->reading > 2 ? 1 : m->reading);
            } else {
                go_posture(s);
            }
        }
        return true;
    case PK_DOWN:
        if (keep(s) && m->row + 1 < m->shown_count)
            measures_go(s, m->row + 1, m->reading > 2 ? 1 : m->reading);
        return true;
    case PK_LEFT:
    case PK_BACK_TAB:
        if (s->typing && p->code == PK_LEFT)
            return false;
        if (keep(s) && m->reading > 1)
            measures_go(s, m->row, m->reading - 1);
        return true;
    case PK_RIGHT:
        if (s->typing)
            return false;
        if (keep(s) && m->reading < readings_of(r))
            measures_go(s, m->row, m->reading + 1);
        return true;
    default:
        return false;
    }
}

/* The past of the tick or the reading under the cursor; what is typed is taken back first. */
static bool press_past(struct screen *s, const struct press *p)
{
    struct measures_state *m = s->state;
    const char *item = m->posture ? m->ticks[m->tick]->id : focus_item(s);
    bool text = p->kind == PRESS_CHAR && s->typing;
    if (item == NULL || text)
        return false;
    if (p->kind != PRESS_CTRL || p->code != 'r' || !m->editor.touched || m->posture)
        return past_press(s, p, &m->at.page.chart.visit, item);
    (void)journal_draft_drop(s->app->cb->journal, m->at.page.chart.visit.entity, item, NULL);
    load_cell(s);
    app_say(s->app, LOOK_PLAIN, "What was typed is taken back");
    return true;
}

static bool press(struct screen *s, const struct press *p)
{
    struct measures_state *m = s->state;
    if (section_press(s, p) || press_past(s, p))
        return true;
    if (m->posture)
        return measures_press_posture(s, p);
    if (press_command(s, p) || press_move(s, p))
        return true;
    if (p->kind == PRESS_CHAR && !s->typing && strchr("0123456789.,", p->text[0]) == NULL)
        return false; /* help, back and the like */
    if (!editor_press(&m->editor, p))
        return false;
    m->refused = NULL;
    m->warned = m->insisted = false;
    s->typing = m->editor.touched && m->editor.text.len > 0;
    return true;
}

static void draft(struct screen *s)
{
    struct measures_state *m = s->state;
    if (m->editor.touched && measures_focus(m) != NULL && !m->posture)
        (void)journal_draft_put(s->app->cb->journal, m->at.page.chart.visit.entity, focus_item(s),
                                m->editor.text.s, NULL);
}

static bool leave(struct screen *s, struct fault *f)
{
    struct measures_state *m = s->state;
    if (keep(s) || (m->warned && keep(s))) /* leaving ends the number for good */
        return true;
    if (m->insisted) { /* said once: what is typed stays as a draft and is offered again */
        draft(s);
        return true;
    }
    m->insisted = true;
    return fail(f, FAULT_INPUT, "Not kept yet: %s. Once more leaves it as it is typed",
                measures_focus(m)->measure->label);
}

static void refresh(struct screen *s)
{
    measures_reload(s);
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
    PAST_KEYS,
    {"b", "blind", "Second pass: the first readings are hidden until both are in.", true},
    {"p", "posture", "To the posture ticks; they are asked again when posture is the likely cause.",
     false},
    {"t", "body type", "Choose the dog's body type by its picture.", false},
    {"n", "photo, angles", "What is noted beside the numbers: photograph, how angles were taken.",
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
    .draw = measures_draw,
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
