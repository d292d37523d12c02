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

enum { CELL_BYTES = 14, LONGEST = 1 << 24, WAY_BYTES = 64 };

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
    char other[LOOK_COUNT][64];           /* to a look from any but plain */
    bool seen[LOOK_COUNT];                /* a blank in this look differs from a plain one */
    bool address, left, right;            /* the terminal moves its cursor as ECMA-48 says */
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

/* Sequences that only set looks, in one: "\033[m\033[1m" is "\033[;1m". */
static void join_looks(char *s)
{
    for (const char *at = s; *at; at++) {
        if (strncmp(at, "\033[", 2) != 0)
            return;
        at += 2 + strspn(at + 2, "0123456789;");
        if (*at != 'm')
            return;
    }
    for (char *at = s; (at = strstr(at, "m\033["));) {
        *at = ';';
        memmove(at + 1, at + 3, strlen(at + 3) + 1);
    }
}

void frame_look(enum look look, const struct frame_style *style)
{
    say(style->bold ? enter_bold_mode : NULL);
    say(style->dim ? enter_dim_mode : NULL);
    say(style->underline ? enter_underline_mode : NULL);
    say(style->reverse ? enter_reverse_mode : NULL);
    say(style->color && set_a_foreground ? tparm(set_a_foreground, style->color) : NULL);
    keep(frame.look[look], sizeof frame.look[look]);
    text_add(&frame.out, frame.plain);
    text_add(&frame.out, frame.look[look]);
    keep(frame.other[look], sizeof frame.other[look]);
    join_looks(frame.look[look]);
    join_looks(frame.other[look]);
    frame.seen[look] = style->underline || style->reverse;
}

static bool is(const char *capability, const char *text)
{
    return capability && strcmp(capability, text) == 0;
}

void frame_start(void)
{
    text_init(&frame.out, LONGEST);
    say(exit_attribute_mode);
    keep(frame.plain, sizeof frame.plain);
    frame.address = is(cursor_address, "\033[%i%p1%d;%p2%dH");
    frame.left = is(parm_left_cursor, "\033[%p1%dD");
    frame.right = is(parm_right_cursor, "\033[%p1%dC");
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

static void blank(struct cell *cells, int n, enum look look)
{
    for (int i = 0; i < n; i++)
        cells[i] = (struct cell){.text = " ", .look = (unsigned char)look};
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
    blank(frame.want, frame.wide, LOOK_PLAIN);
    for (int i = 1; i < frame.high; i++)
        memcpy(frame.want + i * frame.wide, frame.want, (size_t)frame.wide * sizeof *frame.want);
}

/* Where `width` columns are to be drawn over; NULL: not all of them are on the screen. Of a wide
 * cluster that is drawn over in part nothing is left. */
static struct cell *room_for(int row, int col, int width)
{
    if (row < 0 || row >= frame.high || col < 0 || width < 1 || col + width > frame.wide)
        return NULL;
    struct cell *c = &frame.want[row * frame.wide + col];
    if (c->text[0] == '\0' && col > 0)
        blank(c - 1, 1, LOOK_PLAIN);
    if (col + width < frame.wide && c[width].text[0] == '\0')
        blank(c + width, 1, LOOK_PLAIN);
    return c;
}

/* A blank that looks like a plain one is one. */
static enum look blank_look(enum look look)
{
    return frame.seen[look] ? look : LOOK_PLAIN;
}

void frame_put(int row, int col, enum look look, const char *s, size_t n, int width, bool odd)
{
    struct cell *c = n < CELL_BYTES ? room_for(row, col, width) : NULL;
    if (!c)
        return;
    look = n == 1 && *s == ' ' ? blank_look(look) : look;
    *c = (struct cell){.look = (unsigned char)look, .odd = odd};
    memcpy(c->text, s, n);
    if (width == 2)
        c[1] = (struct cell){.look = (unsigned char)look};
}

void frame_letters(int row, int col, enum look look, const char *ascii, int n)
{
    struct cell *c = room_for(row, col, n);
    enum look gap = blank_look(look);
    for (int i = 0; c && i < n; i++) {
        enum look this = ascii[i] == ' ' ? gap : look;
        c[i] = (struct cell){.text = {ascii[i]}, .look = (unsigned char)this};
    }
}

void frame_fill(int row, int col, enum look look, int n)
{
    struct cell *c = room_for(row, col, n);
    if (c)
        blank(c, n, blank_look(look));
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
    text_add(&frame.out, pen.look == LOOK_PLAIN ? frame.look[look]
                         : look == LOOK_PLAIN   ? frame.plain
                                                : frame.other[look]);
    pen.look = look;
}

/* Can the cell be sent without a change of look? A blank mostly can. */
static bool same_look(const struct cell *c)
{
    return c->look == pen.look || (is_blank(c) && !frame.seen[pen.look]);
}

static char *digits(char *to, int n)
{
    if (n >= 10)
        to = digits(to, n / 10);
    *to++ = (char)('0' + n % 10);
    return to;
}

/* As ECMA-48 writes it: a number that is 1 is left out. */
static const char *sequence(char *to, int first, int second, char last)
{
    const char *start = to;
    *to++ = '\033';
    *to++ = '[';
    if (first != 1)
        to = digits(to, first);
    if (second != 1) {
        *to++ = ';';
        to = digits(to, second);
    }
    *to++ = last;
    *to = '\0';
    return start;
}

/* The terminal's own way to any place, and along a row (NULL: it has none). Where it is the usual
 * one it is written into `by_hand`: tparm reads its little language anew for each of the twenty
 * moves of a frame. */
static const char *jump_to(int row, int col, char *by_hand)
{
    return frame.address ? sequence(by_hand, row + 1, col + 1, 'H')
                         : tparm(cursor_address, row, col);
}

static const char *glide_by(int by, char *by_hand)
{
    bool left = by < 0;
    const char *capability = left ? parm_left_cursor : parm_right_cursor;
    if (left ? frame.left : frame.right)
        return sequence(by_hand, abs(by), 1, left ? 'D' : 'C');
    const char *glide = capability ? tparm(capability, abs(by)) : NULL;
    return glide && !strchr(glide, '$') ? glide : NULL;
}

struct way {
    char s[WAY_BYTES];
    size_t n;
};

/* The shortest way found yet becomes `way` and on from there to `col`, when that is shorter: back
 * by backspaces, onward over what stands there already, or by what the terminal has for it. */
static bool shorten(struct way *best, struct way way, int row, int at, int col)
{
    size_t down = way.n, before = best->n;
    char by_hand[WAY_BYTES];
    const char *glide = at == col ? "" : glide_by(col - at, by_hand);
    if (glide && down + strlen(glide) < best->n) {
        *best = way;
        memcpy(best->s + down, glide, strlen(glide));
        best->n = down + strlen(glide);
    }
    for (; at > col && way.n < best->n; at--)
        way.s[way.n++] = '\b';
    for (; at < col; at++) {
        const struct cell *c = &frame.want[row * frame.wide + at];
        size_t bytes = strlen(c->text);
        if (!same_look(c) || c->odd || way.n + bytes >= best->n)
            break;
        memcpy(way.s + way.n, c->text, bytes);
        way.n += bytes;
    }
    if (at == col && way.n < best->n)
        *best = way;
    return best->n < before;
}

static void move_to(int row, int col)
{
    char by_hand[WAY_BYTES];
    if (pen.row == row && pen.col == col)
        return;
    struct way best = {.n = strlen(jump_to(row, col, by_hand))}, way = {.n = 0};
    bool near = false;
    if (pen.row >= 0 && pen.row <= row && (size_t)(row - pen.row) < best.n &&
        best.n < sizeof way.s) {
        for (int at = pen.row; at < row; at++)
            way.s[way.n++] = '\n'; /* straight down: curses has turned its translation off */
        near = shorten(&best, way, row, pen.col, col);
        way.s[way.n++] = '\r';
        near = shorten(&best, way, row, 0, col) || near;
    }
    if (near)
        text_addn(&frame.out, best.s, best.n);
    else if (frame.address)
        text_add(&frame.out, by_hand);
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
    if (c->text[1] == '\0')
        text_addc(&frame.out, c->text[0]);
    else
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

/* ---- rows that only moved -------------------------------------------------------------------- */

enum { SHIFT_MOST = 4, SHIFT_WORTH = 3 };

/* Rows top .. bottom are to show what stands `by` rows further down; by 0: none are. */
struct shift {
    int top, bottom, by;
};

static bool row_same(int want, int have)
{
    return memcmp(&frame.want[want * frame.wide], &frame.have[have * frame.wide],
                  (size_t)frame.wide * sizeof *frame.want) == 0;
}

/* The shift that spares the most rows, after what it costs: a list that is moved through by a few
 * rows sends the others anew otherwise. */
static struct shift best_shift(void)
{
    struct shift best = {0};
    int most = SHIFT_WORTH - 1, differing = 0;
    for (int row = 0; row < frame.high; row++)
        differing += !row_same(row, row);
    for (int by = -SHIFT_MOST; by <= SHIFT_MOST && differing > SHIFT_WORTH; by++) {
        int top = -1, spared = 0;
        for (int row = by < 0 ? -by : 0; by != 0 && row < frame.high && row + by < frame.high;
             row++) {
            if (!row_same(row, row + by)) {
                top = -1;
                continue;
            }
            if (top < 0) {
                top = row;
                spared = -abs(by); /* what is moved in is blank, and sent */
            }
            spared += !row_same(row, row);
            if (spared > most) {
                most = spared;
                best = (struct shift){top, row, by};
            }
        }
    }
    return best;
}

/* By the terminal's own scrolling, between margins that are taken off at once. */
static void send_shift(const struct shift *s)
{
    int by = abs(s->by), first = s->by > 0 ? s->top : s->top + s->by;
    int last = s->by > 0 ? s->bottom + s->by : s->bottom;
    struct cell *region = &frame.have[first * frame.wide];
    size_t wide = (size_t)frame.wide, moved = (size_t)by * wide;
    size_t kept = (size_t)(last - first + 1 - by) * wide;
    take_look(LOOK_PLAIN); /* in which what is moved in is blank */
    say(tparm(change_scroll_region, first, last));
    pen.row = -1;
    move_to(s->by > 0 ? last : first, 0);
    for (int i = 0; i < by; i++)
        say(s->by > 0 ? scroll_forward : scroll_reverse);
    say(tparm(change_scroll_region, 0, frame.high - 1));
    pen.row = -1;
    memmove(s->by > 0 ? region : region + moved, s->by > 0 ? region + moved : region,
            kept * sizeof *region);
    blank(s->by > 0 ? region + kept : region, (int)moved, LOOK_PLAIN);
}

void frame_send(int row, int col)
{
    text_clear(&frame.out);
    if (frame.unknown) {
        clearok(curscr, TRUE);
        wrefresh(curscr); /* curses takes the terminal, clears it and has nothing to add */
        blank(frame.have, frame.high * frame.wide, LOOK_PLAIN);
        pen.look = LOOK_PLAIN;
        pen.row = -1;
        frame.unknown = false;
    }
    struct shift shift = best_shift();
    if (shift.by != 0 && change_scroll_region && scroll_forward && scroll_reverse)
        send_shift(&shift);
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
