#include "screens/standby.h"
#include "share/keys.h"

enum { TRY_AGAIN_MS = 500 };

bool standby_may(const struct app *app)
{
    struct journal *j = app->cb->journal;
    return !journal_read_only(j) && keys_of_base(journal_folder(j));
}

bool standby_begin(struct app *app)
{
    struct screen *top = app->stack[app->depth - 1];
    struct fault f = {0};
    if (top->class->leave && !top->class->leave(top, &f))
        return false;
    return journal_lend(app->cb->journal, &f);
}

static void draw_standby(const char *now, const char *keys)
{
    int row = term_rows() / 2 - 2;
    draw_begin();
    draw_text(row, 4, term_columns() - 8, LOOK_STRONG, "Standing by for the laptops");
    draw_wrapped(row + 1, 4, term_columns() - 8, 3, LOOK_PLAIN, now);
    draw_text(term_rows() - 1, 1, term_columns() - 2, LOOK_KEYS, keys);
    draw_cursor(row, 4);
    draw_end();
}

void standby_end(struct app *app)
{
    struct screen *top = app->stack[app->depth - 1];
    struct fault f = {0};
    while (!app->quit && !journal_take_back(app->cb->journal, &f)) {
        draw_standby(f.kind == FAULT_BUSY
                         ? "A laptop is exchanging with this computer; the screens "
                           "come back when it is through."
                         : f.text,
                     "^Q leave the program");
        struct press p = term_press(TRY_AGAIN_MS);
        if (p.kind == PRESS_END || (p.kind == PRESS_CTRL && p.code == 'q'))
            app->quit = true;
    }
    if (!app->quit && top->class->refresh)
        top->class->refresh(top);
}

void standby(struct app *app)
{
    struct press p = {.kind = PRESS_NONE};
    if (!standby_begin(app))
        return;
    app->message[0] = '\0';
    while (p.kind == PRESS_NONE || p.kind == PRESS_SIZE) {
        draw_standby("They may come over ssh now, as many as want to, one after the other. "
                     "Everything typed here is kept.",
                     "any key goes on here");
        p = term_press(-1);
    }
    app->quit = app->quit || p.kind == PRESS_END;
    standby_end(app);
}
