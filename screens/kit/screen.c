#include "screens/kit/screen.h"

#include "base/utf8.h"
#include "screens/kit/findings.h"
#include "screens/kit/inside.h"
#include "screens/kit/past.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { MESSAGE_LINES = 4, NOTICED_MS = 50 };

static const struct key_help common_keys[] = {
    {"?", "keys", "Show the keys of this screen; F1 does so while letters are text.", true},
    {"^Q", "back",
     "Save the field and go back; from the first screen, leave the program. q does the same where "
     "letters are not text.",
     false},
    {"F2", "history",
     "Who entered it, when, what it was before and why; h does the same where letters are not "
     "text.",
     false},
    {"^Y", "who", "Say who is at the keys: ^Y and a number. The field is kept first.", false},
    {"^L", "repaint", "Draw the whole screen again.", false},
    {"^Z", "aside", "Put the program aside; fg in the shell brings it back.", false},
    {NULL, NULL, NULL, false},
};

const struct key_help *screen_common_keys(void)
{
    return common_keys;
}

static struct screen *top_screen(const struct app *a)
{
    return a->depth > 0 ? a->stack[a->depth - 1] : NULL;
}

/* Opening, refreshing and drawing a screen read the record in one view each. Programs over the kit
 * alone have none. */
static bool look_begin(struct app *a)
{
    return a->cb && journal_look_begin(a->cb->journal);
}

static void look_end(struct app *a, bool looking)
{
    if (looking)
        journal_look_end(a->cb->journal, looking);
}

/* ---- messages -------------------------------------------------------------------------------- */

void app_say(struct app *a, enum look look, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(a->message, sizeof a->message, format, args);
    va_end(args);
    size_t bad;
    if (!utf8_valid(a->message, strlen(a->message), &bad))
        a->message[bad] = '\0';
    a->message_look = look;
}

void app_fault(struct app *a, const struct fault *f)
{
    app_say(a, LOOK_BAD, "%s", f->text);
}

/* ---- the frame ------------------------------------------------------------------------------- */

static void draw_context(const struct screen *s)
{
    int columns = term_columns();
    const char *title = s->title ? s->title : s->class->name;
    int name = draw_width(title);
    int used = 1 + draw_text(0, 1, columns - name - 4, LOOK_BAR, s->subject);
    int middle = (columns - draw_width(s->middle)) / 2;
    if (middle < used + 3)
        middle = used + 3;
    draw_text(0, middle, columns - name - 3 - middle, LOOK_PLAIN, s->middle);
    draw_right(0, columns - 1, name, LOOK_BAR, title);
}

/* The message stands on the row above the keys and grows upwards when it is long. */
static void draw_message(const struct app *a)
{
    const char *text = a->message;
    enum look look = a->message_look;
    if (!*text && a->broken_templates && *a->broken_templates) {
        text = "The templates have mistakes, so the last good ones are in use: Practice lists them";
        look = LOOK_WARN;
    }
    int width = term_columns() - 2, lines = 0;
    for (size_t at = 0; text[at] && lines < MESSAGE_LINES; lines++)
        draw_break(text, at, width, &at);
    int row = term_rows() - 1 - lines;
    for (int i = 0; i < lines; i++)
        draw_fill(row + i, 0, term_columns(), LOOK_PLAIN);
    draw_wrapped(row, 1, width, lines, look, text);
}

/* A key that is a letter is no command while letters are text. */
static bool works(const struct key_help *k, bool typing)
{
    return !typing || strcspn(k->key, " /,") > 1;
}

static int draw_key(int row, int col, int right, const char *key, const char *name)
{
    int width = draw_width(key) + 1 + draw_width(name);
    if (col + width > right)
        return col;
    int used = draw_text(row, col, width, LOOK_STRONG, key);
    draw_text(row, col + used + 1, width, LOOK_KEYS, name);
    return col + width + 3;
}

void app_draw_keys(const struct app *a, const struct key_help *keys, bool typing)
{
    int row = term_rows() - 1, right = term_columns() - 1, col = 1;
    draw_fill(row, 0, term_columns(), LOOK_PLAIN);
    const char *status = a->late ? "STILL WRITING" : a->unkept ? "NOT ON THE DISK" : a->status;
    if (*status) {
        draw_right(row, right, 47, LOOK_WARN, status);
        right -= draw_width(status) + 2;
    }
    const char *help = typing ? "F1" : " ?"; /* where one stands the other will */
    int kept = draw_width(help) + 6;         /* the way to all the others is always there */
    for (const struct key_help *k = keys; k && k->key; k++)
        if (k->footer && works(k, typing))
            col = draw_key(row, col, right - kept - 2, k->key, k->short_name);
    draw_key(row, col, right, help, "keys");
}

static void draw_too_small(void)
{
    draw_textf(0, 0, term_columns(), LOOK_STRONG, "needs 80 x 24");
    draw_textf(1, 0, term_columns(), LOOK_PLAIN, "this window is %d x %d", term_columns(),
               term_rows());
    draw_text(2, 0, term_columns(), LOOK_PLAIN, "nothing is lost");
    draw_cursor(0, 0);
}

void app_draw(struct app *a)
{
    struct screen *s = top_screen(a);
    draw_begin();
    if (term_too_small() || !s) {
        draw_too_small();
        return;
    }
    bool looking = look_begin(a);
    s->class->draw(s); /* first: it also says what the context line tells */
    look_end(a, looking);
    draw_context(s);
    draw_message(a);
    app_draw_keys(a, s->class->keys, s->typing);
}

void app_paint(struct app *a)
{
    app_draw(a);
    draw_end();
}

/* ---- the stack ------------------------------------------------------------------------------- */

/* Has anything changed that a screen of the record shows? Remembers what there is now. */
static bool another(struct screen *s)
{
    const struct casebook *cb = s->app->cb;
    struct seen now = s->seen;
    if (!cb)
        return true;
    bool changed = journal_changed(cb->journal, &now.record);
    now.set = cb->set;
    now.day = clock_day(clock_now());
    snprintf(now.author, sizeof now.author, "%s", cb->author);
    changed = changed || now.set != s->seen.set || now.day != s->seen.day ||
              strcmp(now.author, s->seen.author) != 0;
    s->seen = now;
    return changed;
}

bool screen_open(struct app *a, const struct screen_class *c, struct arena *arena, void *state)
{
    struct screen *s = arena_alloc(arena, sizeof *s);
    *s = (struct screen){
        .class = c, .app = a, .arena = arena, .subject = "", .middle = "", .state = state};
    struct fault f = {0};
    bool room = a->depth < APP_SCREENS;
    if (!room)
        fail(&f, FAULT_LIMIT, "too many screens are open: go back with ^Q first");
    bool looking = look_begin(a);
    (void)another(s);
    bool opened = room && (!c->open || c->open(s, &f));
    look_end(a, looking);
    if (!opened) {
        app_fault(a, &f);
        if (room && c->close)
            c->close(s);
        arena_free(arena);
        return false;
    }
    a->stack[a->depth++] = s;
    return true;
}

static void close_top(struct app *a)
{
    struct screen *s = a->stack[--a->depth];
    if (s->class->close)
        s->class->close(s);
    arena_free(s->arena);
}

static void refresh(struct app *a, bool always)
{
    struct screen *s = top_screen(a);
    if (!s || !s->class->refresh)
        return;
    bool looking = look_begin(a);
    if (another(s) || always || !s->class->of_record)
        s->class->refresh(s);
    look_end(a, looking);
}

void app_refresh(struct app *a)
{
    refresh(a, true);
}

void screen_back(struct app *a)
{
    struct screen *s = top_screen(a);
    struct fault f = {0};
    if (!s)
        return;
    if (s->class->leave && !s->class->leave(s, &f)) {
        if (f.kind != FAULT_NONE)
            app_fault(a, &f);
        return;
    }
    close_top(a);
    a->quit = a->quit || a->depth == 0;
    refresh(a, false);
}

/* ---- running --------------------------------------------------------------------------------- */

void app_save_drafts(struct app *a)
{
    for (int i = 0; i < a->depth; i++)
        if (a->stack[i]->class->draft)
            a->stack[i]->class->draft(a->stack[i]);
}

static bool changes_text(const struct press *p)
{
    return p->kind == PRESS_CHAR || p->kind == PRESS_PASTE || p->kind == PRESS_CTRL ||
           (p->kind == PRESS_KEY && (p->code == PK_BACKSPACE || p->code == PK_DELETE));
}

/* What is left to the kit when the screen did not want the press. */
static void common_press(struct app *a, const struct screen *s, const struct press *p)
{
    bool letter = p->kind == PRESS_CHAR && !s->typing;
    if ((p->kind == PRESS_KEY && p->code == PK_F1) || (letter && strcmp(p->text, "?") == 0))
        help_open(a);
    else if ((p->kind == PRESS_CTRL && p->code == 'q') || (letter && strcmp(p->text, "q") == 0))
        screen_back(a);
    else if (s->about && history_key(p) && (p->kind == PRESS_KEY || letter))
        findings_open(a, s->about);
    else if (p->kind == PRESS_CTRL && p->code == 'y' && a->who)
        a->who(a);
    else if (p->kind == PRESS_CTRL && p->code == 'l')
        term_repaint();
    else if (p->kind == PRESS_CTRL && p->code == 'c')
        app_say(a, LOOK_PLAIN, "^Q goes back, ? shows the keys");
}

static void dispatch(struct app *a, struct screen *s, const struct press *p)
{
    if (p->kind == PRESS_SIZE)
        return;
    a->message[0] = '\0';
    if (term_too_small()) { /* nobody types blindly */
        if (p->kind == PRESS_CTRL)
            common_press(a, s, p);
        return;
    }
    if (!s->class->press || !s->class->press(s, p))
        common_press(a, s, p);
}

/* What was entered reaches the disk while keys are taken (journal_flush_beside). That it is not
 * there yet is told once that takes as long as a person would notice; that it cannot get there, at
 * once. True with a press that came meanwhile, or with none when the screen has something to tell.
 */
static bool press_while_flushing(struct app *a, struct press *p)
{
    struct journal *j = a->cb->journal;
    struct fault f = {0};
    bool was_late = a->late, was_unkept = a->unkept;
    *p = (struct press){.kind = PRESS_NONE, .text = ""};
    if (journal_flushing(j) == FLUSH_RUNS) {
        *p = term_press(NOTICED_MS);
        a->late = p->kind == PRESS_NONE && journal_flushing(j) == FLUSH_RUNS;
        if (p->kind != PRESS_NONE || a->late)
            return true;
    }
    a->late = false;
    if (journal_flushing(j) != FLUSH_FAILED) {
        a->unkept = false;
    } else if (!was_unkept) {
        a->unkept = !journal_flush(j, &f);
        if (a->unkept)
            app_fault(a, &f);
        else
            app_say(a, LOOK_WARN,
                    "The disk reported an error. What was entered is kept, at a second try: copy "
                    "the record to another disk soon (amble backup)");
        return true;
    }
    return was_late || a->unkept != was_unkept;
}

struct press app_press(struct app *a)
{
    struct press p;
    if (a->cb) {
        journal_look_stop(a->cb->journal);
        if (press_while_flushing(a, &p))
            return p;
    }
    p = term_press(a->idle_ms > 0 ? a->idle_ms : -1);
    if (p.kind == PRESS_NONE && a->idle_ms > 0) {
        app_save_drafts(a);
        a->idle(a);
        if (a->quit)
            p.kind = PRESS_END;
    }
    return p;
}

/* Draw, wait, dispatch until fewer than `depth` screens are open. Drafts are kept after the paint
 * and before the next wait, so that a key is never late and nothing typed is ever only in memory.
 */
static void run_while(struct app *a, int depth)
{
    bool unsaved = false;
    while (!a->quit && a->depth >= depth) {
        if (a->standing)
            a->standing(a);
        app_paint(a);
        if (unsaved)
            app_save_drafts(a);
        struct press p = app_press(a);
        if (p.kind == PRESS_END)
            a->quit = true;
        else if (p.kind != PRESS_NONE)
            dispatch(a, a->stack[a->depth - 1], &p);
        unsaved = changes_text(&p);
    }
}

void screen_run_top(struct app *a)
{
    run_while(a, a->depth);
}

void app_run(struct app *a)
{
    if (!term_utf8() && !*a->message)
        app_say(a, LOOK_WARN,
                "This terminal is set to plain ASCII: other letters are kept, and "
                "shown as ?");
    run_while(a, 1);
    app_save_drafts(a);
    while (a->depth > 0)
        close_top(a);
}
