#include "screens/kit/term.h"

#include "screens/kit/frame.h"
#include "screens/kit/guard.h"
#include "screens/kit/inside.h"

#include <curses.h>
#include <langinfo.h>
#include <locale.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <term.h>
#include <unistd.h>

enum { ESC_WAIT_MS = 100, LEAST_ROWS = 24, LEAST_COLUMNS = 80 };
enum { PASTE_BEGIN = KEY_MAX + 1 };

static struct {
    SCREEN *screen;
    bool utf8, color;
    const char *paste_on, *paste_off; /* NULL: this terminal has no bracketed paste */
} term;

/* The locale of the environment; C.UTF-8 where none is named or the named one is not installed.
 * Only LC_CTYPE: numbers keep their point. */
static bool utf8_locale(void)
{
    const char *named = getenv("LC_ALL");
    if (!named || !*named)
        named = getenv("LC_CTYPE");
    if (!named || !*named)
        named = getenv("LANG");
    if (!named || !*named || !setlocale(LC_CTYPE, ""))
        setlocale(LC_CTYPE, "C.UTF-8");
    return strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
}

/* What the terminal description says, or NULL. */
static const char *capability(const char *name)
{
    const char *s = tigetstr(name);
    return s && s != (const char *)-1 ? s : NULL;
}

static bool known_terminal(struct fault *f)
{
    const char *name = getenv("TERM");
    if (!name || !*name)
        return fail(f, FAULT_REFUSED,
                    "the type of this terminal is not set: try TERM=xterm-256color amble");
    int found = 0;
    if (setupterm(name, STDOUT_FILENO, &found) != OK)
        return fail(f, FAULT_REFUSED,
                    "the terminal \"%s\" is not known here: try TERM=xterm-256color amble", name);
    bool able = capability("cup") != NULL;
    del_curterm(cur_term);
    if (!able)
        return fail(f, FAULT_REFUSED,
                    "the terminal \"%s\" cannot place the cursor: open a terminal window or a text "
                    "console",
                    name);
    return true;
}

/* Sequences that terminals send for keys their description does not always name. A description
 * that knows better keeps its say. */
static const struct {
    const char *sequence;
    int key;
} more_keys[] = {
    {"\033[A", KEY_UP},         {"\033OA", KEY_UP},        {"\033[B", KEY_DOWN},
    {"\033OB", KEY_DOWN},       {"\033[C", KEY_RIGHT},     {"\033OC", KEY_RIGHT},
    {"\033[D", KEY_LEFT},       {"\033OD", KEY_LEFT},      {"\033[H", KEY_HOME},
    {"\033OH", KEY_HOME},       {"\033[1~", KEY_HOME},     {"\033[7~", KEY_HOME},
    {"\033[F", KEY_END},        {"\033OF", KEY_END},       {"\033[4~", KEY_END},
    {"\033[8~", KEY_END},       {"\033[2~", KEY_IC},       {"\033[3~", KEY_DC},
    {"\033[5~", KEY_PPAGE},     {"\033[6~", KEY_NPAGE},    {"\033[Z", KEY_BTAB},
    {"\033[1;2D", KEY_SLEFT},   {"\033[1;2C", KEY_SRIGHT}, {"\033OP", KEY_F(1)},
    {"\033OQ", KEY_F(2)},       {"\033OR", KEY_F(3)},      {"\033OS", KEY_F(4)},
    {"\033[11~", KEY_F(1)},     {"\033[12~", KEY_F(2)},    {"\033[13~", KEY_F(3)},
    {"\033[14~", KEY_F(4)},     {"\033[[A", KEY_F(1)},     {"\033[[B", KEY_F(2)},
    {"\033[[C", KEY_F(3)},      {"\033[[D", KEY_F(4)},     {"\033OM", KEY_ENTER},
    {"\033[200~", PASTE_BEGIN},
};

/* Descriptions older than bracketed paste do not name it, though the terminal has it. */
static void find_paste(void)
{
    static const char *const families[] = {"xterm", "screen", "tmux", "rxvt", "alacritty", "foot"};
    term.paste_on = capability("BE");
    term.paste_off = capability("BD");
    const char *name = getenv("TERM");
    for (size_t i = 0; i < sizeof families / sizeof *families && name; i++) {
        if (!term.paste_on && strncmp(name, families[i], strlen(families[i])) == 0) {
            term.paste_on = "\033[?2004h";
            term.paste_off = "\033[?2004l";
        }
    }
}

static void emit(const char *s)
{
    if (!s)
        return;
    fputs(s, stdout);
    fflush(stdout);
}

static void set_modes(void)
{
    raw();
    noecho();
    nonl();
    if (!getenv("ESCDELAY"))
        set_escdelay(ESC_WAIT_MS);
    for (size_t i = 0; i < sizeof more_keys / sizeof *more_keys; i++)
        if (key_defined(more_keys[i].sequence) == 0)
            define_key(more_keys[i].sequence, more_keys[i].key);
}

bool term_start(struct fault *f)
{
    if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO))
        return fail(f, FAULT_REFUSED,
                    "the screens need a terminal: input or output goes to a file or a pipe");
    if (!known_terminal(f))
        return false;
    term.utf8 = utf8_locale();
    if (!guard_start(STDOUT_FILENO, f)) /* before curses, which keeps handlers it finds */
        return false;
    term.screen = newterm(NULL, stdout, stdin);
    if (!term.screen) {
        guard_stop();
        return fail(f, FAULT_REFUSED, "the terminal \"%s\" could not be opened", getenv("TERM"));
    }
    set_modes();
    const char *plain = getenv("NO_COLOR");
    term.color = has_colors() && !(plain && *plain);
    draw_start();
    find_paste();
    press_start();
    term_resized();
    emit(term.paste_on);
    return true;
}

static void give_back(void)
{
    endwin();
    emit(term.paste_off);
}

void term_stop(void)
{
    if (!term.screen)
        return;
    press_stop();
    frame_stop();
    give_back();
    guard_stop();
    delscreen(term.screen);
    term.screen = NULL;
}

void term_suspend(void)
{
    give_back();
    guard_suspend();
    term_resized();
    emit(term.paste_on);
}

void term_resized(void)
{
    struct winsize size;
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_row > 0 && size.ws_col > 0)
        resize_term(size.ws_row, size.ws_col);
    guard_capture(term.paste_off, term_rows());
    term_repaint();
}

void term_repaint(void)
{
    frame_forget();
}

int term_paste_begin(void)
{
    return PASTE_BEGIN;
}

bool term_utf8(void)
{
    return term.utf8;
}

bool term_color(void)
{
    return term.color;
}

int term_signal(void)
{
    return guard_signal();
}

int term_rows(void)
{
    return getmaxy(stdscr);
}

int term_columns(void)
{
    return getmaxx(stdscr);
}

bool term_too_small(void)
{
    return term_rows() < LEAST_ROWS || term_columns() < LEAST_COLUMNS;
}
