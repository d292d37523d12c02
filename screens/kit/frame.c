/* What should stand on the screen, what does, and the shortest way from one to the other.
 *
 * Curses keeps the terminal's modes and keys. It does not draw: it writes at every move of the
 * cursor, 45 pieces for one key on the fit bench, each of which wakes the terminal and travels by
 * itself over ssh, and it sets attributes anew for every digit. A frame here is one write.
 */
#include "screens/kit/frame.h"

#include "base/disk.h"
#include "base/text.h"

#include <curses.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <term.h>
#include <unistd.h>

enum { CELL_BYTES = 14, LONGEST = 1 << 24 };

struct cell {
    char text[CELL_BYTES]; /* one cluster; "" for the second column of a wide one */
    unsigned char look;
    unsigned char odd; /* terminals do not agree on how wide it is */
};

static struct {
    struct cell *want, *have; /* high * wide each */
    int high, wide;
    bool unknown; /* what stands on the terminal: clear it */
    struct text out;
    char look[LOOK_COUNT][48], plain[16]; /* to a look from plain, and back */
    bool seen[LOOK_COUNT];                /* a blank in this look differs from a plain one */
} frame;

static struct {
    int row, col; /* row -1: not known */
    enum look look;
} pen;

/* ---- what the terminal understands ----------------------------------------------------------- */

static int put_byte(int c)
{
    text_addc(&frame.out, (char)c);
    return c;
}

/* A capability with its padding; nothing where the terminal has none. */
static void say(const char *capability)
{
    if (capability)
        tputs(capability, 1, put_byte);
}

/* What `say` would send, without turning back an alternate character set that is never on. */
static void keep(char *to, size_t room)
{
    static const char *const ascii[] = {"\033(B", "\017"};
    for (size_t i = 0; i < sizeof ascii / sizeof *ascii; i++) {
        char *at = strstr(frame.out.s, ascii[i]);
        if (at)
            memmove(at, at + strlen(ascii[i]), strlen(at + strlen(ascii[i])) + 1);
    }
    snprintf(to, room, "%s", frame.out.s);
    text_clear(&frame.out);
}

void frame_look(enum look look, const struct frame_style *style)
{
    say(style->bold ? enter_bold_mode : NULL);
    say(style->dim ? enter_dim_mode : NULL);
    say(style->underline ? enter_underline_mode : NULL);
    say(style->reverse ? enter_reverse_mode : NULL);
    say(style->color && set_a_foreground ? tparm(set_a_foreground, style->color) : NULL);
    keep(frame.look[look], sizeof frame.look[look]);
    frame.seen[look] = style->underline || style->reverse;
}

void frame_start(void)
{
    text_init(&frame.out, LONGEST);
    say(exit_attribute_mode);
    keep(frame.plain, sizeof frame.plain);
    frame.unknown = true;
}

void frame_stop(void)
{
    free(frame.want);
    free(frame.have);
    text_free(&frame.out);
    frame.want = frame.have = NULL;
    frame.high = frame.wide = 0;
}

void frame_forget(void)
{
    frame.unknown = true;
}

/* ---- what should stand there ----------------------------------------------------------------- */

static void blank(struct cell *cells)
{
    for (size_t i = 0; i < (size_t)frame.high * (size_t)frame.wide; i++)
        cells[i] = (struct cell){.text = " "};
}

void frame_begin(int high, int wide)
{
    if (high != frame.high || wide != frame.wide) {
        size_t cells = (size_t)high * (size_t)wide;
        free(frame.want);
        free(frame.have);
        frame.want = calloc(cells, sizeof *frame.want);
        frame.have = calloc(cells, sizeof *frame.have);
        frame.high = high;
        frame.wide = wide;
        frame.unknown = true;
        if (!frame.want || !frame.have)
            frame.high = frame.wide = 0;
    }
    blank(frame.want);
}

void frame_put(int row, int col, enum look look, const char *s, size_t n, int width, bool odd)
{
    if (row < 0 || row >= frame.high || col < 0 || col + width > frame.wide || n >= CELL_BYTES)
        return;
    struct cell *c = &frame.want[row * frame.wide + col];
    bool nothing = n == 1 && *s == ' ' && !frame.seen[look];
    if (c->text[0] == '\0' && col > 0) /* over the second half of a wide one */
        c[-1] = (struct cell){.text = " "};
    *c = (struct cell){.look = nothing ? LOOK_PLAIN : (unsigned char)look, .odd = odd};
    memcpy(c->text, s, n);
    if (width == 2)
        c[1] = (struct cell){.look = c->look};
    if (col + width < frame.wide && c[width].text[0] == '\0') /* half of a wide one is left */
        c[width] = (struct cell){.text = " "};
}

/* ---- the way there --------------------------------------------------------------------------- */

static bool differ(const struct cell *a, const struct cell *b)
{
    return memcmp(a, b, sizeof *a) != 0;
}

static bool is_blank(const struct cell *c)
{
    return c->text[0] == ' ' && c->look == LOOK_PLAIN;
}

static void take_look(enum look look)
{
    if (look == pen.look)
        return;
    if (pen.look != LOOK_PLAIN)
        text_add(&frame.out, frame.plain);
    text_add(&frame.out, frame.look[look]);
    pen.look = look;
}

/* Can the cell be sent without a change of look? A blank mostly can. */
static bool same_look(const struct cell *c)
{
    return c->look == pen.look || (is_blank(c) && !frame.seen[pen.look]);
}

/* To another column of a row that the pen is in: back by backspaces, onward over what stands there
 * already. False when that takes more than `most` bytes. */
static bool walk(int row, int col, char *way, size_t most)
{
    size_t n = 0;
    for (int at = pen.col; at > col; at--) {
        if (n == most)
            return false;
        way[n++] = '\b';
    }
    for (int at = pen.col; at < col; at++) {
        const struct cell *c = &frame.want[row * frame.wide + at];
        size_t bytes = strlen(c->text);
        if (!same_look(c) || c->odd || n + bytes > most)
            return false;
        memcpy(way + n, c->text, bytes);
        n += bytes;
    }
    way[n] = '\0';
    return true;
}

/* The same by what the terminal has for it, if that is shorter. */
static bool glide(int col, char *way, size_t most)
{
    const char *capability = col < pen.col ? parm_left_cursor : parm_right_cursor;
    const char *jump = capability ? tparm(capability, abs(col - pen.col)) : NULL;
    if (!jump || strchr(jump, '$') || strlen(jump) > most)
        return false;
    memcpy(way, jump, strlen(jump) + 1);
    return true;
}

static void move_to(int row, int col)
{
    char way[64];
    if (pen.row == row && pen.col == col)
        return;
    size_t most = strlen(tparm(cursor_address, row, col));
    size_t down = pen.row >= 0 && pen.row <= row ? (size_t)(row - pen.row) : most;
    bool near = down < most && most < sizeof way;
    if (near) { /* a line feed goes straight down: curses has turned its translation off */
        memset(way, '\n', down);
        near = walk(row, col, way + down, most - down) || glide(col, way + down, most - down);
    }
    if (near)
        text_add(&frame.out, way);
    else
        say(tparm(cursor_address, row, col));
    pen.row = row;
    pen.col = col;
}

static void send_cell(int row, int col)
{
    const struct cell *c = &frame.want[row * frame.wide + col];
    if (c->text[0] == '\0') /* came with the column before */
        return;
    move_to(row, col);
    if (!same_look(c))
        take_look(c->look);
    text_add(&frame.out, c->text);
    pen.col += col + 1 < frame.wide && c[1].text[0] == '\0' ? 2 : 1;
    if (c->odd || pen.col >= frame.wide)
        pen.row = -1; /* who knows where the terminal is now */
}

/* The last column of the last row scrolls a terminal that knows no better. */
static bool would_scroll(int row, int col)
{
    return row == frame.high - 1 && col == frame.wide - 1 && auto_right_margin &&
           !eat_newline_glitch;
}

static void send_row(int row)
{
    const struct cell *want = &frame.want[row * frame.wide];
    struct cell *have = &frame.have[row * frame.wide];
    bool odd = false;
    int end = frame.wide; /* only blanks from here on */
    if (memcmp(want, have, (size_t)frame.wide * sizeof *want) == 0)
        return;
    for (int col = 0; col < frame.wide; col++)
        odd = odd || want[col].odd || have[col].odd;
    while (end > 0 && is_blank(&want[end - 1]))
        end--;
    for (int col = 0; col < frame.wide; col++) {
        if (!odd && !differ(&want[col], &have[col]))
            continue;
        if (col >= end && clr_eol) {
            move_to(row, col);
            take_look(LOOK_PLAIN);
            say(clr_eol);
            return;
        }
        if (!would_scroll(row, col))
            send_cell(row, col);
    }
}

void frame_send(int row, int col)
{
    text_clear(&frame.out);
    if (frame.unknown) {
        clearok(curscr, TRUE);
        wrefresh(curscr); /* curses takes the terminal, clears it and has nothing to add */
        blank(frame.have);
        pen.look = LOOK_PLAIN;
        pen.row = -1;
        frame.unknown = false;
    }
    for (int i = 0; i < frame.high; i++)
        send_row(i);
    move_to(row, col);
    take_look(LOOK_PLAIN);
    /* When the terminal went away the guard hears of it. */
    (void)disk_write(STDOUT_FILENO, frame.out.s, frame.out.len);
    struct cell *sent = frame.want;
    frame.want = frame.have;
    frame.have = sent;
}
