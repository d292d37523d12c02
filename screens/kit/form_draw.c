/* How a form looks: rows of mark, label and field, and the words about the focused one below, or
 * beside it where there is room. */
#include "base/utf8.h"
#include "screens/kit/ask.h"
#include "screens/kit/form_inside.h"

#include <string.h>

enum {
    LABEL_COLUMN = 3, /* behind the focus and the mark */
    GAP = 2,
    LEAST_LABEL = 12,
    LEAST_FIELD = 30,
    YESNO_WIDTH = 22,
    NUMBER_LINE = 16,
    WRITING_ROWS = 6,
    AT_REST_ROWS = 3,
    WORDS_ROWS = 3,    /* a blank, the help, the source */
    BESIDE_FROM = 112, /* columns from which the words stand beside */
    MAIN_MOST = 88,
};

/* A question as this frame shows it: looked up once. */
struct asked {
    const struct field *field;
    const struct finding *found; /* NULL: never asked */
    const char *answer;          /* canonical, or "" */
    const char *shown;           /* that for a person, or what waits to be kept */
    const char *text;            /* what stands in a choice, in many, or in text at rest */
    size_t choice;               /* taken or picked, by its place; else how many there are */
    bool focus;
    int rows; /* of the value alone */
};

enum line_kind { LINE_TITLE, LINE_INTRO, LINE_HEADING, LINE_FIELD };
struct line {
    enum line_kind kind;
    const struct form *form;
    const char *text;   /* of a heading */
    struct asked asked; /* of a field */
    int start, height;
};
struct page {
    struct form_view *v;
    struct line *lines; /* v->lines */
    size_t count;
    int total;                 /* rows all lines take */
    int row, col, rows, width; /* of the questions */
    const struct form *form;   /* what follows is that of this form */
    int label_width, field_col, field_width;
    const struct record *record; /* its answers; NULL: there are none yet */
};

static int wrapped_rows(const char *text, int width)
{
    int rows = 0;
    for (size_t at = 0; text[at]; rows++)
        draw_break(text, at, width, &at);
    return rows > 0 ? rows : 1;
}

static bool numbered(const struct item *item)
{
    for (size_t i = 0; i < item->choice_count; i++)
        if (!ask_numbered(&item->choices[i].label, 1))
            return false;
    return true;
}

/* ---- layout ---------------------------------------------------------------------------------- */

/* Each form has columns of its own: questions of yes and no leave more room for their words. */
static void set_columns(struct page *p, const struct form *form)
{
    if (p->form == form)
        return;
    p->form = form;
    p->record = chart_record(p->v->chart, form->about);
    int widest = LEAST_LABEL;
    bool only_yesno = true;
    for (size_t i = 0; i < p->v->count; i++) {
        const struct field *field = &p->v->fields[i];
        if (!field->shown || field->form != form)
            continue;
        widest = field->label_width > widest ? field->label_width : widest;
        only_yesno = only_yesno && field->item->kind == ITEM_YESNO;
    }
    int field = p->width / 2 > LEAST_FIELD ? p->width / 2 : LEAST_FIELD;
    int most = p->width - LABEL_COLUMN - GAP - (only_yesno ? YESNO_WIDTH : field);
    if (most < LEAST_LABEL)
        most = LEAST_LABEL;
    p->label_width = widest < most ? widest : most;
    int from = LABEL_COLUMN + p->label_width + GAP;
    p->field_col = p->col + from;
    p->field_width = p->width > from ? p->width - from : 1;
}

/* Where in its list a choice stands, unless the labels count for themselves. */
static const char *choice_place(const struct page *p, const struct asked *a)
{
    const struct item *item = a->field->item;
    if (a->choice < item->choice_count && numbered(item))
        return arena_printf(p->v->paper, "%zu of %zu", a->choice + 1, item->choice_count);
    return arena_printf(p->v->paper, "%zu choices", item->choice_count);
}

static int text_width(const struct page *p, const struct asked *a)
{
    if (a->focus && a->field->item->kind == ITEM_CHOICE)
        return p->field_width - draw_width(choice_place(p, a)) - 2;
    return p->field_width - 1;
}

static size_t choice_of(const struct item *item, const char *answer)
{
    size_t i = *answer ? 0 : item->choice_count;
    while (i < item->choice_count && strcmp(item->choices[i].id, answer) != 0)
        i++;
    return i;
}

static const char *text_of(const struct page *p, const struct asked *a)
{
    const struct item *item = a->field->item;
    if (a->focus && item->kind == ITEM_CHOICE && a->choice < item->choice_count)
        return item->choices[a->choice].label;
    if (*a->shown)
        return a->shown;
    if (a->focus && item->kind == ITEM_MANY)
        return arena_printf(p->v->paper, "any of %zu: Space", item->choice_count);
    return a->found && a->found->in_error && !a->field->pending ? "entered in error" : "";
}

static int rows_of(const struct page *p, const struct asked *a)
{
    const struct item *item = a->field->item;
    if (item->kind == ITEM_YESNO || (a->focus && form_edited(item) && !form_prose(item)))
        return 1;
    int rows, most = AT_REST_ROWS;
    if (a->focus && form_prose(item)) {
        rows = editor_lines(&p->v->editor, p->field_width);
        rows += rows < 2 && item->kind == ITEM_NOTE; /* an invitation to write */
        most = WRITING_ROWS;
    } else {
        rows = wrapped_rows(a->text, text_width(p, a));
    }
    return rows < most ? rows : most;
}

/* Of a question of p->form. */
static struct asked look_up(const struct page *p, const struct field *field)
{
    const struct form_view *v = p->v;
    const struct item *item = field->item;
    struct asked a = {.field = field, .focus = field == form_focused(p->v), .answer = ""};
    a.found = p->record ? record_find(p->record, item->id) : NULL;
    if (a.found)
        a.answer = record_text(p->record, item->id);
    a.choice = a.focus && v->pick >= 0 ? (size_t)v->pick : choice_of(item, a.answer);
    a.shown =
        field->pending ? field->pending : answer_show(v->chart->cb->set, item, a.answer, v->paper);
    a.text = text_of(p, &a);
    a.rows = rows_of(p, &a);
    return a;
}

static bool in_conflict(const struct asked *a)
{
    return a->found && a->found->other_count > 0;
}

static int field_rows(const struct page *p, const struct asked *a)
{
    int rows = a->rows;
    if (a->found)
        rows += in_conflict(a) ? (int)a->found->other_count : a->found->amended;
    int label = wrapped_rows(a->field->item->label, p->label_width);
    return rows > label ? rows : label;
}

static struct line *add_line(struct page *p, enum line_kind kind, int height, int gap)
{
    if (p->count > 0)
        p->total += gap;
    p->lines[p->count++] =
        (struct line){.kind = kind, .form = p->form, .start = p->total, .height = height};
    p->total += height;
    return &p->lines[p->count - 1];
}

static void add_lines(struct page *p)
{
    const struct form_view *v = p->v;
    const struct form *last = NULL;
    const char *heading = "";
    bool several = v->count > 0 && v->fields[0].form != v->fields[v->count - 1].form;
    for (size_t i = 0; i < v->count; i++) {
        const struct field *field = &v->fields[i];
        if (*field->item->heading)
            heading = field->item->heading; /* also of a hidden first question of its group */
        if (!field->shown)
            continue;
        set_columns(p, field->form);
        if (several && field->form != last) {
            add_line(p, LINE_TITLE, 1, 1);
            if (*field->form->intro)
                add_line(p, LINE_INTRO, wrapped_rows(field->form->intro, p->width - 4), 0);
        }
        last = field->form;
        if (*heading)
            add_line(p, LINE_HEADING, 1, 1)->text = heading;
        heading = "";
        struct asked asked = look_up(p, field);
        add_line(p, LINE_FIELD, field_rows(p, &asked), 0)->asked = asked;
    }
}

/* Scroll as little as needed to have the focused field in view, with the heading it may have. */
static void scroll(struct page *p)
{
    struct form_view *v = p->v;
    for (size_t i = 0; i < p->count; i++) {
        const struct line *l = &p->lines[i];
        if (l->kind != LINE_FIELD || !l->asked.focus)
            continue;
        int from = l->start;
        for (size_t k = i; k > 0 && p->lines[k - 1].kind != LINE_FIELD; k--)
            from = p->lines[k - 1].start;
        if (v->top + p->rows < l->start + l->height)
            v->top = l->start + l->height - p->rows;
        if (v->top > from)
            v->top = from;
    }
    if (v->top + p->rows > p->total)
        v->top = p->total - p->rows;
    if (v->top < 0)
        v->top = 0;
}

/* ---- fields ---------------------------------------------------------------------------------- */

/* The three answers side by side; brackets mark the one given, not colour. Once one is, the others
 * step back. */
static void draw_yesno(const struct page *p, const struct asked *a, int row)
{
    static const struct {
        const char *canonical, *words;
    } answers[] = {{"yes", "yes"}, {"no", "no"}, {"unknown", "not known"}};
    int col = p->field_col;
    if (a->focus)
        draw_cursor(row, col + 1);
    for (size_t i = 0; i < sizeof answers / sizeof *answers; i++) {
        bool this = strcmp(answers[i].canonical, a->answer) == 0;
        enum look look = this ? LOOK_STRONG : *a->answer ? LOOK_DIM : LOOK_PLAIN;
        if (a->focus && this)
            draw_cursor(row, col + 1);
        const char *pieces[] = {this ? "[" : " ", answers[i].words, this ? "]" : " "};
        for (size_t k = 0; k < sizeof pieces / sizeof *pieces; k++)
            col += draw_text(row, col, p->field_col + p->field_width - col, look, pieces[k]);
        col++;
    }
}

static void draw_choice(const struct page *p, const struct asked *a, int row)
{
    int width = text_width(p, a);
    for (int i = 0; i < a->rows; i++)
        draw_fill(row + i, p->field_col, width, LOOK_FIELD);
    draw_wrapped(row, p->field_col, width, a->rows, LOOK_FIELD, a->text);
    if (a->field->item->kind == ITEM_CHOICE)
        draw_right(row, p->field_col + p->field_width, p->field_width - width, LOOK_DIM,
                   choice_place(p, a));
    int typed = utf8_width(p->v->typed);
    draw_cursor(row, p->field_col + (typed < width ? typed : width - 1));
}

/* The answers of a conflict stand under one another, and what was changed after signing says so. */
static void draw_others(const struct page *p, const struct asked *a, int row)
{
    const struct finding *found = a->found;
    struct casebook *cb = p->v->chart->cb;
    if (found && found->amended && found->other_count == 0)
        draw_text(row, p->field_col, p->field_width, LOOK_WARN,
                  finding_mark(cb, p->v->paper, found));
    for (size_t i = 0; found && i < found->other_count; i++) {
        const char *other =
            *found->others[i] ? answer_show(cb->set, a->field->item, found->others[i], p->v->paper)
                              : "entered in error";
        draw_textf(row + (int)i, p->field_col, p->field_width, LOOK_WARN, "or %s, by %s", other,
                   author_initials(cb, p->v->paper, found->other_authors[i]));
    }
}

/* Read from its beginning: only a key puts the cursor behind the last word. */
static void draw_unread(const struct page *p, int row, int rows)
{
    struct editor *e = &p->v->editor;
    size_t at = e->at;
    e->at = 0;
    editor_draw_lines(e, row, p->field_col, p->field_width, rows, true);
    e->at = at;
}

/* A number is short, and so is the line it is typed on; it grows when more is typed. */
static int line_width(const struct page *p, const struct item *item)
{
    int typed = draw_width(p->v->editor.text.s) + 2; /* and the cursor */
    bool number = item->kind == ITEM_NUMBER || item->kind == ITEM_LENGTH || item->kind == ITEM_MASS;
    int width = !number ? p->field_width : typed > NUMBER_LINE ? typed : NUMBER_LINE;
    return width < p->field_width ? width : p->field_width;
}

static void draw_field(const struct page *p, const struct asked *a, int row)
{
    const struct item *item = a->field->item;
    struct editor *e = &p->v->editor;
    if (item->kind == ITEM_YESNO)
        draw_yesno(p, a, row);
    else if (!a->focus)
        draw_wrapped(row, p->field_col, p->field_width - 1, a->rows,
                     *a->shown ? LOOK_PLAIN : LOOK_DIM, a->text);
    else if (!form_edited(item))
        draw_choice(p, a, row);
    else if (form_prose(item) && p->v->unread && a->rows < editor_lines(e, p->field_width))
        draw_unread(p, row, a->rows);
    else if (form_prose(item))
        editor_draw_lines(e, row, p->field_col, p->field_width, a->rows, true);
    else
        editor_draw(e, row, p->field_col, line_width(p, item), true);
    draw_others(p, a, row + a->rows);
}

static const char *mark_of(const struct asked *a)
{
    if (a->field->pending)
        return "!";
    if (in_conflict(a))
        return "#";
    return a->field->required && !*a->answer ? "*" : " ";
}

static void draw_line(const struct page *p, const struct line *l)
{
    const struct asked *a = &l->asked;
    int row = p->row + l->start - p->v->top;
    switch (l->kind) {
    case LINE_TITLE:
        draw_text(row, p->col + 1, p->width - 1, LOOK_STRONG, l->form->title);
        break;
    case LINE_INTRO:
        draw_wrapped(row, p->col + LABEL_COLUMN, p->width - 4, l->height, LOOK_DIM, l->form->intro);
        break;
    case LINE_HEADING:
        draw_text(row, p->col + 1, p->width - 1, LOOK_STRONG, l->text);
        break;
    case LINE_FIELD:
        draw_text(row, p->col, 1, LOOK_STRONG, a->focus ? ">" : " ");
        draw_text(row, p->col + 1, 1, LOOK_WARN, mark_of(a));
        draw_wrapped(row, p->col + LABEL_COLUMN, p->label_width, l->height,
                     a->focus ? LOOK_STRONG : LOOK_PLAIN, a->field->item->label);
        draw_field(p, a, row);
        break;
    }
}

/* ---- the words about the focused field ------------------------------------------------------- */

/* The same for every question, or the page would jump. */
static int words_rows(const struct form_view *v)
{
    return WORDS_ROWS + (v->before != NULL);
}

static const char *words_for(const struct page *p, const struct asked *a, enum look *look)
{
    const struct field *field = a->field;
    *look = LOOK_WARN;
    if (field->pending)
        return arena_printf(p->v->paper, "! %s", field->why);
    if (in_conflict(a))
        return arena_printf(
            p->v->paper,
            "# two answers, written apart, the first by %s: Enter chooses which one stands, F2 "
            "tells their history",
            author_initials(p->v->chart->cb, p->v->paper, a->found->author));
    *look = LOOK_PLAIN;
    if (field->item->kind == ITEM_CHOICE && a->choice < field->item->choice_count &&
        *field->item->choices[a->choice].help)
        return field->item->choices[a->choice].help;
    return field->item->help;
}

static const char *source_of(const struct page *p, const struct field *field)
{
    return *field->item->source ? arena_printf(p->v->paper, "source: %s", field->item->source) : "";
}

/* One line: a long answer gives way to where it is from, and shares the rest with its mark. */
static void draw_before(const struct page *p, const struct form_before *b, int row)
{
    int col = p->col + LABEL_COLUMN, right = p->col + p->width;
    int rest = right - col - draw_width(b->where) - 5, whole = draw_width(b->text);
    int least = whole < rest / 2 ? whole : rest / 2, text = rest - draw_width(b->mark);
    col += draw_text(row, col, text > least ? text : least, LOOK_PLAIN, b->text);
    col += draw_textf(row, col, right - col, LOOK_PLAIN, " (%s)  ", b->where);
    draw_text(row, col, right - col, LOOK_WARN, b->mark);
}

static void draw_words_below(const struct page *p, const struct asked *a, int row)
{
    enum look look;
    const struct field *field = a->field;
    const char *words = words_for(p, a, &look);
    int used =
        *words ? draw_wrapped(row, p->col + LABEL_COLUMN, p->width - LABEL_COLUMN, 2, look, words)
               : 0;
    if (field->before.text)
        draw_before(p, &field->before, row + used++);
    if (used < words_rows(p->v) - 1)
        draw_text(row + used, p->col + LABEL_COLUMN, p->width - LABEL_COLUMN, LOOK_DIM,
                  source_of(p, field));
}

/* With room beside: the whole help, every choice with its number, the source. */
static void draw_words_beside(const struct page *p, const struct asked *a, int col, int width)
{
    int row = p->row, last = p->row + p->rows;
    enum look look;
    const struct field *field = a->field;
    const struct item *item = field->item;
    row += draw_wrapped(row, col, width, 3, LOOK_STRONG, item->label) + 1;
    const char *words = words_for(p, a, &look);
    row += draw_wrapped(row, col, width, 6, look, words) + (*words != '\0');
    if (field->before.text) {
        const struct form_before *b = &field->before;
        row += draw_wrapped(row, col, width, 3, LOOK_PLAIN, b->text);
        row += draw_textf(row, col, width, LOOK_PLAIN, "(%s)", b->where) > 0;
        row += draw_wrapped(row, col, width, 3, LOOK_WARN, b->mark) + 1;
    }
    for (size_t i = 0; i < item->choice_count && row < last - 2; i++) {
        if (numbered(item))
            draw_textf(row, col, 4, LOOK_DIM, "%2zu", i + 1);
        row += draw_wrapped(row, col + 4, width - 4, 2, LOOK_PLAIN, item->choices[i].label);
    }
    row += item->choice_count > 0;
    if (row < last)
        draw_wrapped(row, col, width, last - row, LOOK_DIM, source_of(p, field));
}

static void tell_more(const struct page *p)
{
    int hidden = p->total - p->v->top - p->rows;
    if (hidden > 0)
        draw_right(p->row + p->rows, p->col + p->width, 20, LOOK_DIM, "more below");
}

/* Beside from `col` on; 0: below. */
static void draw_words(struct page *p, int col, int width)
{
    struct form_view *v = p->v;
    const struct field *field = form_focused(v);
    if (!field) {
        draw_text(p->row, p->col + LABEL_COLUMN, p->width, LOOK_DIM, "Nothing is asked here now");
        return;
    }
    set_columns(p, field->form);
    v->field_width = p->field_width;
    struct asked a = look_up(p, field);
    if (col > 0)
        draw_words_beside(p, &a, col, width);
    else
        draw_words_below(p, &a, p->row + p->rows + 1);
}

void form_view_draw(struct form_view *v, int row, int col, int rows, int width)
{
    arena_reset(v->paper);
    bool beside = width >= BESIDE_FROM;
    int main_width = beside ? MAIN_MOST : width;
    if (main_width > width - LEAST_FIELD && beside)
        main_width = width - LEAST_FIELD;
    if (!v->lines) /* each question has one of each at most */
        v->lines = arena_array(v->arena, v->count * (LINE_FIELD + 1), sizeof *v->lines);
    struct page p = {.v = v,
                     .lines = v->lines,
                     .row = row,
                     .col = col,
                     .rows = rows - (beside ? 1 : words_rows(v)),
                     .width = main_width};
    if (p.rows < 1)
        p.rows = 1;
    draw_cursor(row, col);
    add_lines(&p);
    scroll(&p);
    for (size_t i = 0; i < p.count; i++) {
        const struct line *l = &p.lines[i];
        set_columns(&p, l->form);
        if (l->start >= v->top && l->start + l->height <= v->top + p.rows)
            draw_line(&p, l);
    }
    draw_words(&p, beside ? col + main_width + GAP : 0, width - main_width - GAP);
    tell_more(&p);
}
