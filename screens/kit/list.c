#include "screens/kit/list.h"

static size_t last(const struct list *l)
{
    return l->count > 0 ? l->count - 1 : 0;
}

bool list_press(struct list *l, const struct press *p, int page)
{
    if (p->kind != PRESS_KEY)
        return false;
    size_t step = page > 1 ? (size_t)page - 1 : 1;
    switch (p->code) {
    case PK_UP:
        l->at -= l->at > 0;
        break;
    case PK_DOWN:
        l->at += l->at < last(l);
        break;
    case PK_PAGE_UP:
        l->at -= l->at < step ? l->at : step;
        break;
    case PK_PAGE_DOWN:
        l->at += last(l) - l->at < step ? last(l) - l->at : step;
        break;
    case PK_HOME:
        l->at = 0;
        break;
    case PK_END:
        l->at = last(l);
        break;
    default:
        return false;
    }
    return true;
}

bool list_read_on(size_t *top, size_t lines, const struct press *p, int page)
{
    size_t rows = page > 0 ? (size_t)page : 1;
    struct list tops = {.count = lines > rows ? lines - rows + 1 : 1, .at = *top};
    struct press down = {.kind = PRESS_KEY, .code = PK_DOWN};
    bool enter = p->kind == PRESS_KEY && p->code == PK_ENTER;
    bool taken = list_press(&tops, enter ? &down : p, page);
    *top = tops.at > last(&tops) ? last(&tops) : tops.at;
    return taken;
}

void list_draw(struct list *l, int row, int rows, int col,
               void (*draw)(void *of, size_t index, int row, bool focus), void *of)
{
    size_t room = rows > 0 ? (size_t)rows : 1;
    if (l->at > last(l))
        l->at = last(l);
    if (l->top > l->at)
        l->top = l->at;
    if (l->at >= l->top + room)
        l->top = l->at - room + 1;
    if (l->count <= room)
        l->top = 0;
    for (size_t i = l->top; i < l->count && i < l->top + room; i++)
        draw(of, i, row + (int)(i - l->top), i == l->at);
    draw_cursor(row + (int)(l->at - l->top), col);
}
