/* How the Measures screen looks. */
#include "base/utf8.h"
#include "casebook/learning.h"
#include "screens/measures_inside.h"
#include <string.h>

/* Where the columns stand: more of them, not larger ones, on a wide terminal. */
struct columns {
    int label, readings, apart_of_readings, used, apart, ratio, ratio_width, usual, yours;
};

static struct columns columns(void)
{
    static const struct columns narrow = {19, 22, 7, 43, 50, 56, 5, 62, 0},
                                wide = {30, 34, 8, 58, 66, 73, 24, 99, 111};
    return term_columns() >= 132 ? wide : narrow;
}

enum { TALL = 34 }; /* rows from which on how to measure stands below all the time */

static void draw_body_type(struct measures_state *m, int row)
{
    const struct body_type *type = m->look.body_type;
    bool wide = term_columns() >= 110;
    if (type != NULL)
        draw_right(row, term_columns() - 1, wide ? 40 : 14, LOOK_DIM, type->label);
    else
        draw_right(row, term_columns() - 1, wide ? 40 : 14, LOOK_WARN,
                   wide ? "body type not known: t chooses it" : "body type? t");
}

static bool posture_open(const struct measures_state *m)
{
    return m->posture || !m->look.posture_done || measures_again(m);
}

/* Ticked: one calm line. Else a box for each tick. */
static void draw_posture(struct measures_state *m, int row)
{
    int col = 1;
    bool again = measures_again(m), open = posture_open(m);
    draw_text(row, col, 9, again ? LOOK_WARN : LOOK_STRONG, again ? "again?" : "posture");
    col += 8; /* four boxes and labels fill a line of 80 */
    for (size_t i = 0; i < m->tick_count; i++) {
        const char *value = record_text(&m->at.page.chart.visit, m->ticks[i]->id);
        bool yes = again ? (m->again >> i & 1) != 0 : strcmp(value, "yes") == 0;
        bool no = !again && strcmp(value, "no") == 0, focus = m->posture && m->tick == i;
        if (focus)
            draw_cursor(row, col);
        enum look tick_look = focus ? LOOK_FOCUS : yes ? LOOK_PLAIN : LOOK_DIM;
        const char *box = !open ? "" : yes ? "[x] " : no ? "[-] " : "[ ] ";
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
        int blank = m->editor.touched ? 1 : 6 - utf8_width(m->editor.text.s);
        blank = blank < 1 ? 1 : blank; /* apart from the label; kept ones under one another */
        editor_draw(&m->editor, row, col + blank, 8 - blank, true);
    } else if (i == 0 && measures_hidden(m, r)) {
        draw_text(row, col, 7, LOOK_DIM, "hidden");
    } else if (r->have[i]) {
        draw_textf(row, col, 7, LOOK_PLAIN, "%6s",
                   reading_show(s->app->cb->set, r->measure, r->readings[i], m->at.page.data));
    } else if (i < 2 || r->third_wanted || r->triple) {
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

static void draw_check(const struct relation_check *c, const struct columns *at, int row)
{
    bool wide = at->ratio_width > 5;
    draw_textf(row, at->ratio, at->ratio_width, LOOK_PLAIN, wide ? "%.2f %s" : "%.2f", c->ratio,
               c->relation->label);
    draw_textf(row, at->usual, 10, LOOK_DIM, "%.2f-%.2f%s", c->low, c->high,
               c->reference == BY_DOG        ? "*"
               : c->reference == BY_PRACTICE ? "+"
                                             : "");
    if (wide && c->learned != NULL)
        draw_textf(row, at->yours, 12, LOOK_DIM, "%.2f n %zu", c->learned->centre, c->learned->n);
}

/* Who changed a reading after signing and why stands under its row. */
static int row_height(const struct measures_state *m, size_t i)
{
    return *m->marks[i] != '\0' ? 2 : 1;
}

static int rows_height(const struct measures_state *m, size_t from, size_t until)
{
    int height = 0;
    for (size_t i = from; i < until; i++)
        height += row_height(m, i);
    return height;
}

static void draw_row(struct screen *s, size_t i, int row, const struct columns *at)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = &m->look.rows[m->shown[i]];
    const struct template_set *set = s->app->cb->set;
    bool focus = i == m->row && !m->posture, hidden = measures_hidden(m, r);
    bool suspect = m->look.suspect == m->shown[i];
    enum look look_row = focus ? LOOK_STRONG : LOOK_PLAIN;
    draw_text(row, 1, 1, LOOK_STRONG, focus ? ">" : suspect ? "!" : " ");
    draw_text(row, 3, at->label, look_row, r->measure->label);
    draw_text(row + 1, 5, term_columns() - 6, LOOK_WARN, m->marks[i]);
    for (int k = 0; k < READINGS_MOST; k++)
        draw_reading(s, r, row, at->readings + at->apart_of_readings * k, k, focus);
    if (hidden)
        return;
    if (r->third_wanted)
        draw_textf(row, at->used, 7, LOOK_WARN, "%6s", "waits");
    else if (r->count > 0)
        draw_textf(row, at->used, 7, look_row, "%6s",
                   reading_show(set, r->measure, r->used, m->at.page.data));
    if (r->count > 1)
        draw_textf(row, at->apart, 6, r->third_wanted ? LOOK_WARN : LOOK_DIM, "%5s",
                   reading_show(set, r->measure, r->spread, m->at.page.data));
    const struct relation_check *c = main_check(r);
    if (c != NULL)
        draw_check(c, at, row);
    else if (r->measure->dimension != DIM_LENGTH) /* the heading names the unit of lengths */
        draw_text(row, at->ratio, 5, LOOK_DIM, measure_unit(set, r->measure)->name);
    enum look word =
        r->third_wanted || ((r->verdict == BESIDE_HIGH || r->verdict == BESIDE_LOW) && !r->accepted)
            ? LOOK_WARN
            : LOOK_DIM;
    draw_right(row, term_columns() - 1, 6, word, verdict_words(r));
}

/* One line on the number most likely wrong, and one on what to do. Nothing is named while a first
 * reading is hidden: it would lead the second. False: there is nothing to say. */
static bool draw_suspect(struct screen *s, int row)
{
    struct measures_state *m = s->state;
    const struct measuring *l = &m->look;
    int width = term_columns() - 4;
    if (m->refused != NULL) {
        draw_wrapped(row, 2, width, 2, LOOK_WARN, m->refused);
        return true;
    }
    if (l->suspect >= l->count || l->rows[l->suspect].accepted || m->blind)
        return false;
    const char *rival = l->rival < l->count ? l->rows[l->rival].measure->label : NULL;
    int tenths = (int)(l->suspect_share * 10 + 0.5);
    tenths = tenths > 9 ? 9 : tenths;
    const char *label = l->rows[l->suspect].measure->label;
    if (rival != NULL)
        draw_textf(row, 2, width, LOOK_STRONG, "Look again at %s or %s: which, cannot be told.",
                   label, rival);
    else
        draw_textf(row, 2, width, LOOK_STRONG,
                   "Look again at %s (%d in 10): the rest fit one another.", label, tenths);
    const char *why = "";
    if (*l->slip != '\0')
        why = arena_printf(m->at.page.data, "It looks like %s. Read it once more.", l->slip);
    else if (l->cause != NULL)
        why = arena_printf(m->at.page.data, "Usually %s: %s.%s", l->cause->text, l->cause->remedy,
                           measures_again(m) ? " p: posture again." : "");
    draw_wrapped(row + 1, 2, width, 2, LOOK_PLAIN, why);
    return true;
}

static void add(struct arena *a, const char **line, const char *more)
{
    if (*more != '\0')
        *line = arena_printf(a, "%s%s%s", *line, **line == '\0' ? "" : " ", more);
}

/* What only one kind of measure has, and what is said of two numbers side by side. */
void measures_detail(struct measures_state *m)
{
    const struct measure_row *r = measures_focus(m);
    const struct chart *c = &m->at.page.chart;
    m->detail = "";
    if (r == NULL || measures_hidden(m, r))
        return;
    const struct relation_check *check = main_check(r);
    add(c->arena, &m->detail, measure_since_words(c, r));
    if (r->triple)
        add(c->arena, &m->detail, measure_share_words(c, &m->look));
    if (check != NULL && check->reference != BY_PUBLISHED)
        add(c->arena, &m->detail, arena_printf(c->arena, "%s.", measure_beside_words(c, check)));
    add(c->arena, &m->detail, measure_ease_words(c, r->measure));
    add(c->arena, &m->detail, measure_coat_words(c, r->measure));
}

/* The lines under the rows, the first of them at `row`; few rows leave `more` lines for words. */
static void draw_below(struct screen *s, int row, int more)
{
    struct measures_state *m = s->state;
    const struct measure_row *r = measures_focus(m);
    int width = term_columns() - 4;
    bool told = draw_suspect(s, row), tall = term_rows() >= TALL;
    int how = tall ? row + 4 : row;
    if (m->posture)
        draw_text(how, 2, width, LOOK_PLAIN,
                  measures_again(m) ? "Posture may be the cause: look at each again, tick with y."
                                    : "Before the first number: set the dog up, tick each with y.");
    else if (r != NULL && (tall || !told))
        draw_wrapped(how, 2, width, 2, LOOK_DIM, r->measure->how);
    if (!m->posture)
        draw_wrapped(tall ? how + 2 : row + (told ? 3 : 2), 2, width,
                     (tall   ? 3
                      : told ? 1
                             : 2) +
                         more,
                     LOOK_PLAIN, m->detail);
}

static void draw_headings(struct screen *s, int row, const struct columns *at)
{
    static const char *const nth[READINGS_MOST] = {"1st", "2nd", "3rd"};
    bool wide = at->ratio_width > 5;
    draw_text(row, 3, 18, LOOK_DIM, s->app->cb->set->practice.length_unit->name);
    for (int k = 0; k < READINGS_MOST; k++)
        draw_text(row, at->readings + 3 + at->apart_of_readings * k, 4, LOOK_DIM, nth[k]);
    draw_text(row, at->used + 2, 5, LOOK_DIM, "used");
    draw_text(row, at->apart, 6, LOOK_DIM, "apart");
    draw_text(row, at->ratio, 9, LOOK_DIM, wide ? "beside" : "ratio");
    draw_text(row, at->usual, 9, LOOK_DIM, "usual");
    if (wide)
        draw_text(row, at->yours, 9, LOOK_DIM, "yours");
}

void measures_draw(struct screen *s)
{
    struct measures_state *m = s->state;
    const struct columns at = columns();
    int row = 1, below = term_rows() - (term_rows() >= TALL ? 12 : 6);
    if (m->tick_count > 0)
        draw_posture(m, row);
    if (at.ratio_width > 5 || !posture_open(m)) /* else the boxes need the whole line */
        draw_body_type(m, row);
    row += m->tick_count > 0;
    draw_headings(s, row++, &at);
    int free_rows = below - row - rows_height(m, 0, m->shown_count) - 2,
        more = free_rows > 2 ? 2 : free_rows;
    more = more < 0 || term_rows() >= TALL ? 0 : more;
    below -= more;
    int rows = below - 1 - row;
    if (m->row < m->top)
        m->top = m->row;
    while (m->top < m->row && rows_height(m, m->top, m->row + 1) > rows)
        m->top++;
    size_t i = m->top;
    int after = row;
    for (; i < m->shown_count && after + row_height(m, i) <= row + rows; i++) {
        draw_row(s, i, after, &at);
        after += row_height(m, i);
    }
    size_t folded = m->look.count - m->shown_count;
    if (i < m->shown_count)
        draw_textf(after, 3, 70, LOOK_DIM, "%zu more below", m->shown_count - i);
    else if (folded > 0 && after < below)
        draw_textf(after, 3, 70, LOOK_DIM, "%zu more not needed for this support; a shows them",
                   folded);
    draw_below(s, below, more);
}
