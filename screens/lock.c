#include "screens/lock.h"
#include "base/clock.h"
#include "base/locked.h"
#include "base/utf8.h"
#include "journal/passphrase.h"
#include "screens/kit/ask.h"
#include "screens/kit/editor.h"
#include "screens/screens.h"
#include "screens/standby.h"
#include <stdlib.h>
#include <string.h>

enum { PEOPLE_MOST = 60 };

/* Nothing of the record is on this screen, not even whose it is. */
static void draw_locked(const struct editor *typed, const char *why)
{
    int row = term_rows() / 2 - 2, shown = utf8_width(typed->text.s);
    draw_begin();
    draw_text(row, 4, 60, LOOK_STRONG, "Locked");
    draw_text(row + 1, 4, term_columns() - 8, LOOK_PLAIN,
              "Everything entered is kept, what was being typed too.");
    int col = 4 + draw_text(row + 3, 4, 20, LOOK_PLAIN, "Passphrase") + 2;
    int room = term_columns() - col - 4;
    draw_fill(row + 3, col, room, LOOK_FIELD);
    for (int i = 0; i < shown && i < room - 1; i++)
        draw_text(row + 3, col + i, 1, LOOK_FIELD, "*");
    draw_text(row + 5, 4, term_columns() - 8, LOOK_WARN, why);
    draw_text(term_rows() - 1, 1, term_columns() - 2, LOOK_KEYS,
              "Enter unlock   ^Q leave the program");
    draw_cursor(row + 3, col + (shown < room - 1 ? shown : room - 1));
    draw_end();
}

/* True when unlocked; false when the program is to end. */
static bool unlock(struct app *app)
{
    struct editor typed;
    struct fault f = {0};
    bool open = false, leave = false;
    editor_init(&typed, PASSPHRASE_MAX);
    typed.text.locked = true;
    while (!open && !leave) {
        draw_locked(&typed, f.text);
        struct press p = term_press(-1);
        if (p.kind == PRESS_END || (p.kind == PRESS_CTRL && p.code == 'q')) {
            leave = true;
        } else if (p.kind == PRESS_KEY && p.code == PK_ENTER) {
            open = journal_take_back(app->cb->journal, &f) &&
                   lock_try(app->cb->journal, typed.text.s, clock_now(), &f);
            editor_set(&typed, "");
            term_forget();
        } else if (editor_press(&typed, &p)) {
            f.text[0] = '\0';
        }
    }
    editor_free(&typed);
    return open;
}

static void lock_now(struct app *app)
{
    app->message[0] = '\0';
    if (lock_minutes(app->cb->journal) > 0 && !unlock(app))
        app->quit = true;
}

/* Nobody is at the keys. The base then lets the laptops come, behind the lock where there is one.
 */
static void idle(struct app *app)
{
    if (lock_minutes(app->cb->journal) == 0) {
        standby(app);
        return;
    }
    bool lent = standby_may(app) && standby_begin(app);
    lock_now(app);
    if (lent)
        standby_end(app);
}

static void set_timer(struct app *app)
{
    app->idle_ms = lock_minutes(app->cb->journal) * app->minute_ms;
    if (app->idle_ms == 0 && standby_may(app))
        app->idle_ms = STANDBY_MS;
}

/* Two keys: ^Y and a number. The field that is being typed belongs to who typed it. */
static void who(struct app *app)
{
    struct arena *a = arena_new();
    struct screen *top = app->stack[app->depth - 1];
    const struct practitioner *people;
    const char *labels[PEOPLE_MOST + 1];
    struct fault f = {0};
    size_t count = 0, at_keys = 0;
    bool locks = lock_minutes(app->cb->journal) > 0;
    if ((top->class->leave && !top->class->leave(top, &f)) ||
        !practitioners(app->cb, a, &people, &count, &f)) {
        app_fault(app, &f);
        arena_free(a);
        return;
    }
    count = count > PEOPLE_MOST ? PEOPLE_MOST : count;
    for (size_t i = 0; i < count; i++) {
        labels[i] = arena_printf(a, "%s  %s", people[i].initials, people[i].name);
        at_keys = strcmp(people[i].entity, app->cb->author) == 0 ? i : at_keys;
    }
    labels[count] = "lock the screen now";
    int taken = ask_choice(app, "Who is at the keys?", labels, count + locks, at_keys);
    if (taken >= 0 && (size_t)taken == count)
        lock_now(app);
    else if (taken >= 0 && !casebook_become(app->cb, people[taken].entity, &f))
        app_fault(app, &f);
    else if (taken >= 0)
        app_say(app, LOOK_GOOD, "%s is at the keys", people[taken].name);
    if (!app->quit)
        app_refresh(app);
    arena_free(a);
}

bool lock_start(struct app *app)
{
    app->idle = idle;
    app->who = who;
    set_timer(app);
    return lock_minutes(app->cb->journal) == 0 || unlock(app);
}

void lock_ask(struct app *app)
{
    struct arena *a = arena_new();
    struct fault f = {0};
    const char *minutes = "0";
    char *phrase = ask_hidden(app, "New passphrase of the lock (empty: no lock)?");
    if (phrase != NULL && *phrase != '\0')
        minutes = ask_line(app, a, "Lock after how many minutes without a key?", "10");
    if (phrase != NULL && minutes != NULL) {
        if (!lock_set(app->cb->journal, phrase, (int)strtol(minutes, NULL, 10), &f))
            app_fault(app, &f);
        else if (*phrase == '\0')
            app_say(app, LOOK_GOOD, "There is no lock now");
        else
            app_say(app, LOOK_GOOD, "Locks after %s minutes; ^Y locks at once", minutes);
        set_timer(app);
    }
    locked_free(phrase);
    arena_free(a);
}
