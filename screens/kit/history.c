#include "screens/kit/history.h"
#include "base/clock.h"
#include "screens/kit/list.h"

struct history {
    const char *entity, *item;
    struct heads entries; /* oldest first */
    uint64_t signed_at;   /* of the last sign-off, in the order of entries; 0: none */
    const char **initials, **values;
    struct list list;
};

/* What comes after the last sign-off is an amendment, whatever the clocks claimed. */
static bool signed_last(struct history *h, struct casebook *cb, struct arena *a, struct fault *f)
{
    struct heads now;
    if (!journal_heads(cb->journal, a, h->entity, &now, f))
        return false;
    for (size_t i = 0; i < now.count; i++)
        if (now.entries[i].kind == ENTRY_SIGN && now.entries[i].lamport > h->signed_at)
            h->signed_at = now.entries[i].lamport;
    return true;
}

static bool open_history(struct screen *s, struct fault *f)
{
    struct history *h = s->state;
    struct casebook *cb = s->app->cb;
    if (!journal_history(cb->journal, s->arena, h->entity, h->item, &h->entries, f))
        return false;
    if (h->entries.count == 0)
        return fail(f, FAULT_MISSING, "nothing has been entered here yet");
    s->subject = finding_label(cb->set, h->item, s->arena);
    h->list.count = h->entries.count;
    h->list.at = h->entries.count - 1;
    h->initials = arena_array(s->arena, h->entries.count, sizeof *h->initials);
    h->values = arena_array(s->arena, h->entries.count, sizeof *h->values);
    for (size_t i = 0; i < h->entries.count; i++) {
        const struct entry *e = &h->entries.entries[i];
        h->initials[i] = author_initials(cb, s->arena, e->author);
        h->values[i] = e->kind == ENTRY_ERROR ? "entered in error"
                                              : finding_show(cb->set, h->item, e->value, s->arena);
    }
    return signed_last(h, cb, s->arena, f);
}

static void draw_entry(void *of, size_t i, int row, bool focus)
{
    const struct history *h = of;
    const struct entry *e = &h->entries.entries[i];
    enum look look = focus ? LOOK_FOCUS : LOOK_PLAIN;
    char day[CLOCK_ROOM], hour[CLOCK_ROOM];
    draw_fill(row, 1, term_columns() - 2, look);
    draw_text(row, 2, 1, look, focus ? ">" : " ");
    draw_textf(row, 4, 17, look, "%s %s", clock_iso_day(clock_day(e->claimed_at), day),
               clock_hour(e->claimed_at, hour));
    draw_text(row, 22, 6, look, h->initials[i]);
    int col = 29 + draw_text(row, 29, 26, look, h->values[i]);
    bool after = h->signed_at > 0 && e->lamport > h->signed_at;
    col = col < 46 ? 46 : col + 2;
    if (after || *e->reason != '\0')
        draw_textf(row, col, term_columns() - 2 - col, focus ? LOOK_FOCUS : LOOK_DIM, "%s%s",
                   after ? "after signing: " : "", e->reason);
}

static void draw(struct screen *s)
{
    struct history *h = s->state;
    int last = term_rows() - 4;
    draw_text(1, 4, 17, LOOK_DIM, "when");
    draw_text(1, 22, 6, LOOK_DIM, "who");
    draw_text(1, 29, 16, LOOK_DIM, "value");
    draw_text(1, 46, 20, LOOK_DIM, "why");
    list_draw(&h->list, 2, last - 4, 2, draw_entry, h);
    const struct entry *e = &h->entries.entries[h->list.at];
    draw_wrapped(last - 1, 4, term_columns() - 8, 2, LOOK_PLAIN,
                 *e->reason != '\0' ? e->reason
                                    : "Times are what the clock of the entering laptop claimed.");
}

static bool press(struct screen *s, const struct press *p)
{
    struct history *h = s->state;
    return list_press(&h->list, p, term_rows() - 8);
}

static const struct key_help keys[] = {
    {"Up Down", "move", "Move through what was entered, oldest first.", true},
    {"q", "back", "Go back; ^Q does the same.", true},
    {0},
};

static const struct screen_class history_class = {
    .name = "History",
    .help = "Every entry ever made for this finding, oldest first. Nothing is ever taken out.",
    .keys = keys,
    .open = open_history,
    .draw = draw,
    .press = press,
};

void history_show(struct app *app, const char *entity, const char *item)
{
    struct arena *a = arena_new();
    struct history *h = arena_alloc(a, sizeof *h);
    h->entity = arena_str(a, entity);
    h->item = arena_str(a, item);
    screen_open(app, &history_class, a, h);
}

bool history_key(const struct press *p)
{
    return (p->kind == PRESS_KEY && p->code == PK_F2) ||
           (p->kind == PRESS_CHAR && p->text[0] == 'h');
}
