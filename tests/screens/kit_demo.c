/* The kit without a casebook: a field, a list and the questions, for the tests to play with.
 * Prints on leaving what was typed, so that a test can see that nothing was lost or changed. */
#include "base/utf8.h"
#include "screens/kit/ask.h"
#include "screens/kit/editor.h"
#include "screens/kit/list.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

enum { TEXT_ROOM = 65536, ROW_COUNT = 40, LIST_ROW = 5 };

struct demo {
    struct editor editor;
    struct list list;
    bool in_list;
    int drafts;
};

static const char *const choices[] = {"sound", "lame in front", "lame behind", "paralysed"};

static bool demo_open(struct screen *s, struct fault *f)
{
    (void)f;
    s->subject = "Biscuit  Dachshund, 6 y, 9.4 kg";
    s->middle = "visit 1, Tue 24 Nov";
    return true;
}

static void draw_row(void *of, size_t i, int row, bool focus)
{
    const struct demo *d = of;
    draw_text(row, 1, 1, LOOK_PLAIN, focus ? ">" : " ");
    draw_textf(row, 3, 30, focus && d->in_list ? LOOK_FOCUS : LOOK_PLAIN, "row %zu", i + 1);
}

static void demo_draw(struct screen *s)
{
    struct demo *d = s->state;
    s->typing = !d->in_list;
    draw_text(2, 1, 10, LOOK_STRONG, "name");
    draw_text(3, 1, 40, LOOK_DIM, "as the caregiver says it");
    draw_text(4, 1, 10, LOOK_GOOD, "good");
    draw_text(4, 12, 10, LOOK_WARN, "close");
    draw_text(4, 24, 10, LOOK_BAD, "stop");
    list_draw(&d->list, LIST_ROW, term_rows() - 8, 1, draw_row, d);
    editor_draw(&d->editor, 2, 12, 30, !d->in_list);
}

static void ask_something(struct app *a, int key)
{
    struct arena *arena = arena_new();
    bool ticked[4] = {false, true, false, false};
    if (key == 'l') {
        const char *answer = ask_line(a, arena, "Reason", "as seen");
        app_say(a, LOOK_PLAIN, "reason: %s", answer ? answer : "none");
    } else if (key == 'c') {
        app_say(a, LOOK_PLAIN, "chosen: %d", ask_choice(a, "Gait", choices, 4, 1));
    } else if (key == 'm') {
        bool taken = ask_many(a, "Gaits", choices, 4, ticked);
        app_say(a, LOOK_PLAIN, "ticked: %d %d%d%d%d", taken, ticked[0], ticked[1], ticked[2],
                ticked[3]);
    } else {
        int c = ask_key(a, "Is it so? y yes  n no", "yn");
        app_say(a, LOOK_PLAIN, "key: %c", c ? c : '-');
    }
    arena_free(arena);
}

/* A real SIGSEGV, which no sanitizer meets first. */
static void crash(void)
{
    volatile char *nowhere = mmap(NULL, 1, PROT_NONE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    *nowhere = 1;
}

static void stop_listening(void)
{
    draw_begin();
    draw_text(0, 0, 10, LOOK_PLAIN, "deaf");
    draw_end();
    for (volatile bool deaf = true; deaf;)
        continue;
}

static bool demo_press(struct screen *s, const struct press *p)
{
    struct demo *d = s->state;
    if (p->kind == PRESS_CTRL && p->code == 'x')
        crash();
    if (p->kind == PRESS_CTRL && p->code == 't')
        stop_listening();
    if (p->kind == PRESS_KEY && p->code == PK_TAB) {
        d->in_list = !d->in_list;
        return true;
    }
    if (!d->in_list)
        return editor_press(&d->editor, p);
    if (p->kind == PRESS_CHAR && strchr("lcmk", p->text[0])) {
        ask_something(s->app, p->text[0]);
        return true;
    }
    return list_press(&d->list, p, term_rows() - 8);
}

static void demo_draft(struct screen *s)
{
    ((struct demo *)s->state)->drafts++;
}

static const struct key_help demo_keys[] = {
    {"Tab", "field or list", "From the field to the list and back.", true},
    {"l", "line", "Ask for a line of text.", true},
    {"c", "choice", "Ask for one of a few.", true},
    {"m", "many", "Ask for any of a few.", true},
    {"k", "key", "Ask for a key.", true},
    {NULL, NULL, NULL, false},
};
static const struct screen_class demo_class = {
    .name = "Demo",
    .help = "A field, a list and the questions. Nothing here is a record.",
    .keys = demo_keys,
    .open = demo_open,
    .draw = demo_draw,
    .press = demo_press,
    .draft = demo_draft,
};

int main(void)
{
    struct fault f = {0};
    if (!term_start(&f)) {
        fprintf(stderr, "kit_demo: %s\n", f.text);
        return 2;
    }
    struct app app = {.status = "3 unsent"};
    struct demo d = {.list = {.count = ROW_COUNT}};
    editor_init(&d.editor, TEXT_ROOM);
    if (screen_open(&app, &demo_class, arena_new(), &d))
        app_run(&app);
    bool color = term_color(), utf8 = term_utf8();
    term_stop();
    struct text shown;
    text_init(&shown, TEXT_ROOM);
    for (size_t i = 0; i < d.editor.text.len && d.editor.text.len < 200; i++)
        text_addf(&shown, "%02x", (unsigned char)d.editor.text.s[i]);
    printf("left with %zu bytes %s drafts %d %s %s\n", d.editor.text.len, shown.s, d.drafts,
           color ? "color" : "plain", utf8 ? "utf8" : "ascii");
    fflush(stdout);
    text_free(&shown);
    editor_free(&d.editor);
    if (term_signal())
        raise(term_signal());
    return 0;
}
