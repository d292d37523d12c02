/* From bytes to presses. Bytes come through curses one at a time, which knows the terminal's own
 * keys; UTF-8 is put together here, so that input does not depend on the locale. */
#include "base/locked.h"
#include "base/text.h"
#include "base/utf8.h"
#include "screens/kit/guard.h"
#include "screens/kit/inside.h"
#include "screens/kit/term.h"

#include <curses.h>
#include <poll.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum {
    PASTE_MAX = 65536,
    PASTE_PATIENCE_MS = 2000, /* a paste whose end got lost on the line */
    REST_MS = 100,            /* the rest of a character or a sequence */
    BYTE_COUNT = 256,         /* curses' codes for keys lie above */
    CTRL_Z = 26,
    ESCAPE = 27,
};

static struct {
    WINDOW *pad;   /* reads keys; a pad, because reading from a window would redraw it */
    char typed[8]; /* the character of the last press */
    struct text paste;
} input;

static const struct {
    int curses, key;
} keys[] = {
    {KEY_UP, PK_UP},
    {KEY_DOWN, PK_DOWN},
    {KEY_LEFT, PK_LEFT},
    {KEY_RIGHT, PK_RIGHT},
    {KEY_HOME, PK_HOME},
    {KEY_END, PK_END},
    {KEY_PPAGE, PK_PAGE_UP},
    {KEY_NPAGE, PK_PAGE_DOWN},
    {KEY_ENTER, PK_ENTER},
    {'\r', PK_ENTER},
    {'\n', PK_ENTER},
    {'\t', PK_TAB},
    {KEY_BTAB, PK_BACK_TAB},
    {KEY_BACKSPACE, PK_BACKSPACE},
    {'\b', PK_BACKSPACE},
    {127, PK_BACKSPACE},
    {KEY_DC, PK_DELETE},
    {KEY_IC, PK_INSERT},
    {KEY_F(1), PK_F1},
    {KEY_F(2), PK_F2},
    {KEY_F(3), PK_F3},
    {KEY_F(4), PK_F4},
    {KEY_SLEFT, PK_SHIFT_LEFT},
    {KEY_SRIGHT, PK_SHIFT_RIGHT},
};

static long long now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (long long)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

/* Wait for input, for `fd` (-1: for nothing else) or for the time. True when a read from the
 * terminal would not wait: bytes, or the end of the line. */
static bool wait_input(int fd, int ms)
{
    struct pollfd on[] = {{.fd = STDIN_FILENO, .events = POLLIN}, {.fd = fd, .events = POLLIN}};
    return poll(on, 2, ms) > 0 && on[0].revents != 0;
}

static int next_code(int ms)
{
    int c = wgetch(input.pad);
    if (c == ERR && wait_input(-1, ms))
        c = wgetch(input.pad);
    return c;
}

/* ---- characters, sequences, pastes ---------------------------------------------------------- */

/* The rest of a UTF-8 character that began with `first`; false for what is no printable one. */
static bool read_character(int first)
{
    int len = first < 0x80 ? 1 : first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : first >= 0xC2 ? 2 : 0;
    if (len == 0)
        return false;
    input.typed[0] = (char)first;
    for (int i = 1; i < len; i++) {
        int c = next_code(REST_MS);
        if (c < 0x80 || c > 0xBF)
            return false;
        input.typed[i] = (char)c;
    }
    input.typed[len] = '\0';
    uint32_t cp;
    return utf8_decode(input.typed, (size_t)len, &cp) == len && cp >= 0x20 &&
           !(cp >= 0x7F && cp < 0xA0);
}

/* An escape nobody knows: swallow its whole sequence, or its tail would be typed into a field. */
static void swallow_sequence(void)
{
    int c = wgetch(input.pad);
    if (c == 'O') {
        next_code(REST_MS);
    } else if (c == '[') {
        do
            c = next_code(REST_MS);
        while (c >= 0x20 && c < 0x40);
    }
}

static bool paste_byte(char *c)
{
    return wait_input(-1, PASTE_PATIENCE_MS) && read(STDIN_FILENO, c, 1) == 1;
}

/* Everything up to the end mark, read past curses: nothing in a paste is a key. */
static void read_paste(void)
{
    static const char end[] = "\033[201~";
    struct text raw;
    text_init(&raw, PASTE_MAX);
    raw.locked = true;
    size_t matched = 0;
    char c;
    while (matched < sizeof end - 1 && paste_byte(&c)) {
        if (c == end[matched]) {
            matched++;
            continue;
        }
        text_addn(&raw, end, matched);
        matched = c == end[0];
        if (!matched)
            text_addc(&raw, c);
    }
    text_clear(&input.paste);
    for (size_t i = 0; i < raw.len;) {
        uint32_t cp = 0;
        int n = utf8_decode(raw.s + i, raw.len - i, &cp);
        bool again = n == 1 && cp == '\n' && i > 0 && raw.s[i - 1] == '\r';
        if (n > 0 && (cp == '\r' || (cp == '\n' && !again)))
            text_addc(&input.paste, '\n');
        else if (n > 0 && cp == '\t')
            text_addc(&input.paste, ' ');
        else if (n > 0 && cp >= 0x20 && !(cp >= 0x7F && cp < 0xA0))
            text_addn(&input.paste, raw.s + i, (size_t)n);
        i += n > 0 ? (size_t)n : 1;
    }
    text_free(&raw);
}

/* ---- one press ------------------------------------------------------------------------------- */

static struct press from_code(int code)
{
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (code == keys[i].curses)
            return (struct press){.kind = PRESS_KEY, .code = keys[i].key, .text = ""};
    if (code == term_paste_begin()) {
        read_paste();
        return (struct press){.kind = PRESS_PASTE, .text = input.paste.s};
    }
    if (code == ESCAPE)
        swallow_sequence();
    else if (code > 0 && code < ESCAPE)
        return (struct press){.kind = PRESS_CTRL, .code = 'a' + code - 1, .text = ""};
    else if (code >= 0x20 && code < BYTE_COUNT && read_character(code))
        return (struct press){.kind = PRESS_CHAR, .text = input.typed};
    return (struct press){.kind = PRESS_NONE, .text = ""};
}

static struct press from_guard(enum guard_event event)
{
    if (event == GUARD_END)
        return (struct press){.kind = PRESS_END, .text = ""};
    if (event == GUARD_STOP) {
        term_suspend();
    } else {
        if (event == GUARD_CONT)
            reset_prog_mode();
        term_resized();
    }
    return (struct press){.kind = PRESS_SIZE, .text = ""};
}

void press_start(void)
{
    input.pad = newpad(1, 1);
    keypad(input.pad, TRUE);
    nodelay(input.pad, TRUE);
    text_init(&input.paste, PASTE_MAX);
    input.paste.locked = true; /* a passphrase may be pasted, and nothing here knows */
    int early = wgetch(input.pad);
    if (early != ERR)
        ungetch(early);
}

void press_stop(void)
{
    delwin(input.pad);
    text_free(&input.paste);
    input.pad = NULL;
}

/* The ring of codes in curses needs no wiping: each key that was taken makes place for the next. */
void term_forget(void)
{
    text_free(&input.paste);
    locked_wipe(input.typed, sizeof input.typed);
}

struct press term_press(int wait_ms)
{
    long long until = now_ms() + wait_ms;
    bool ready = false; /* there should be a key */
    for (;;) {
        enum guard_event event = guard_next();
        if (event != GUARD_NONE)
            return from_guard(event);
        int code = wgetch(input.pad);
        if (code == CTRL_Z)
            return from_guard(GUARD_STOP);
        if (code == ERR && ready) /* ready, and yet nothing: the line is gone */
            return from_guard(GUARD_END);
        if (code != ERR) {
            struct press p = from_code(code);
            if (p.kind != PRESS_NONE)
                return p;
            ready = false;
            continue;
        }
        long long left = wait_ms < 0 ? -1 : until - now_ms();
        if (wait_ms >= 0 && left <= 0)
            return (struct press){.kind = PRESS_NONE, .text = ""};
        ready = wait_input(guard_fd(), (int)left);
    }
}
