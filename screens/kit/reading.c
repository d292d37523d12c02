#include "screens/kit/reading.h"
#include "screens/kit/list.h"

enum { HEAD_INDENT = 2 };

void reading_row(struct reading *r, enum look look, int indent, const char *label, int beside,
                 const char *words)
{
    if (r->count < READING_MOST && *words != '\0')
        r->lines[r->count++] = (struct reading_line){look, indent, label, beside, words, false};
}

void reading_say(struct reading *r, enum look look, int indent, const char *words)
{
    reading_row(r, look, indent, "", 0, words);
}

void reading_head(struct reading *r, const char *words)
{
    size_t n = r->count;
    reading_say(r, LOOK_STRONG, HEAD_INDENT, words);
    if (r->count > n)
        r->lines[n].head = true;
}

void reading_draw(const struct reading *r, int row, int last)
{
    size_t i = r->top;
    draw_cursor(row, HEAD_INDENT);
    for (; i < r->count && row < last; i++) {
        const struct reading_line *l = &r->lines[i];
        int col = l->indent + l->beside;
        row += l->head && i > r->top;
        if (row >= last || (l->head && row + 1 >= last))
            break; /* a heading without its first line says nothing */
        if (*l->label != '\0')
            draw_text(row, l->indent, l->beside - 1, l->look, l->label);
        row += draw_wrapped(row, col, term_columns() - col - 2, last - row, l->look, l->words);
    }
    if (i < r->count)
        draw_text(last, HEAD_INDENT, 40, LOOK_DIM, r->more != NULL ? r->more : "Down for more");
    else if (r->top > 0)
        draw_text(last, HEAD_INDENT, 40, LOOK_DIM, "The end; Up goes back");
}

int reading_rows(const struct reading *r)
{
    int rows = 0;
    for (size_t i = 0; i < r->count; i++) {
        const struct reading_line *l = &r->lines[i];
        rows += l->head && i > 0;
        for (size_t at = 0; l->words[at] != '\0'; rows++)
            (void)draw_break(l->words, at, term_columns() - l->indent - l->beside - 2, &at);
    }
    return rows;
}

bool reading_press(struct reading *r, const struct press *p)
{
    struct list list = {.count = r->count, .at = r->top};
    bool taken = list_press(&list, p, term_rows() / 2);
    r->top = list.at;
    return taken;
}
