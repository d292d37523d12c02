#include "output/sheet.h"
#include "base/arena.h"
#include "base/text.h"
#include "base/utf8.h"
#include "output/ascii.h"
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum {
    INDENT = 3,         /* of everything under a heading */
    COLUMNS_LEAST = 24, /* narrower pages are laid out as if this wide */
    BODY_LEAST = 4,     /* lines of a page that are not its footer */
    FOOTER_LINES = 2,   /* a blank line and the footer */
    SHEET_MAX = 4 << 20 /* bytes of one sheet */
};

struct part {
    enum sheet_line kind;
    const char *text;
};

struct sheet {
    struct arena *arena;
    const char *footer;
    const char *page, *of; /* "page 1 of 2" in its language */
    bool large;
    struct part *parts;
    size_t count, cap;
};

struct sheet *sheet_new(struct arena *a, const char *footer)
{
    struct sheet *s = arena_alloc(a, sizeof *s);
    *s = (struct sheet){.arena = a, .footer = arena_str(a, footer), .page = "page", .of = "of"};
    return s;
}

void sheet_add(struct sheet *s, enum sheet_line kind, const char *text)
{
    s->parts = arena_grow(s->arena, s->parts, s->count, &s->cap, sizeof *s->parts);
    s->parts[s->count++] = (struct part){.kind = kind, .text = arena_str(s->arena, text)};
}

void sheet_enlarge(struct sheet *s)
{
    s->large = true;
}

bool sheet_large(const struct sheet *s)
{
    return s->large;
}

void sheet_page_words(struct sheet *s, const char *page, const char *of)
{
    s->page = arena_str(s->arena, page);
    s->of = arena_str(s->arena, of);
}

void sheet_addf(struct sheet *s, enum sheet_line kind, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    sheet_add(s, kind, arena_vprintf(s->arena, format, args));
    va_end(args);
}

/* ---- from parts to rows ---------------------------------------------------------------------- */

struct row {
    const char *text;
    enum sheet_line kind;
    bool keep; /* the next row stands on the same page */
};

struct layout {
    struct arena *arena;
    const struct sheet_style *style;
    const char *page, *of;
    bool large; /* lines as they are would lose their ends: they are wrapped */
    int columns;
    struct row *rows;
    size_t count, cap;
    size_t unmapped;
};

static void row_add(struct layout *l, enum sheet_line kind, const char *text)
{
    l->rows = arena_grow(l->arena, l->rows, l->count, &l->cap, sizeof *l->rows);
    l->rows[l->count++] = (struct row){.kind = kind, .text = text};
}

/* Blank rows never come in pairs, and one under a heading does not part it from what follows. */
static void blank_add(struct layout *l)
{
    if (l->count == 0 || l->rows[l->count - 1].kind == SHEET_BLANK)
        return;
    bool keep = l->rows[l->count - 1].keep;
    row_add(l, SHEET_BLANK, "");
    l->rows[l->count - 1].keep = keep;
}

/* Whatever a record says, made harmless and, where the printer needs it, ASCII. */
static char *safe_text(struct layout *l, const char *s, bool lines)
{
    struct text shown, mapped;
    text_init(&shown, SHEET_MAX);
    text_init(&mapped, SHEET_MAX);
    utf8_show(&shown, s, lines);
    if (l->style->ascii)
        l->unmapped += ascii_map(&mapped, shown.s);
    char *out = arena_str(l->arena, l->style->ascii ? mapped.s : shown.s);
    text_free(&shown);
    text_free(&mapped);
    return out;
}

/* A box to tick stands on the line of its label. */
static bool after_box(const char *s, size_t at)
{
    static const char box[] = "[_]";
    return at >= sizeof box - 1 && memcmp(s + at - (sizeof box - 1), box, sizeof box - 1) == 0;
}

/* Bytes of `s` for one line of `width` columns: as many words as fit, or, of a word that is wider
 * than the line, as many characters; never none. */
static size_t line_bytes(const char *s, int width)
{
    size_t fits = utf8_fit(s, width);
    if (s[fits] == '\0')
        return fits;
    for (size_t at = fits; at > 0; at--)
        if (s[at] == ' ' && !after_box(s, at))
            return at;
    return fits > 0 ? fits : utf8_next(s, strlen(s), 0);
}

/* A line to write on is as long as the page is wide: it is never carried over. */
static char *write_on(struct arena *a, char *line, int width)
{
    size_t n = strlen(line);
    return n > 0 && strspn(line, "_") == n && n > (size_t)width ? arena_strn(a, line, (size_t)width)
                                                                : line;
}

/* One paragraph of text without newlines: the first row begins with `lead`, the others are
 * indented as far. */
static void wrap(struct layout *l, enum sheet_line kind, const char *lead, const char *s)
{
    int hang = (int)strlen(lead);
    bool first = true;
    s += strspn(s, " ");
    do {
        size_t n = line_bytes(s, l->columns - hang);
        size_t end = n;
        while (end > 0 && s[end - 1] == ' ')
            end--;
        int pad = kind == SHEET_TITLE ? (l->columns - utf8_width_n(s, end)) / 2 : hang;
        row_add(l, kind,
                arena_printf(l->arena, "%*s%.*s", first && *lead ? 0 : pad,
                             first && *lead ? lead : "", (int)end, s));
        first = false;
        s += n;
        s += strspn(s, " ");
    } while (*s);
}

/* Which rows of a part must not be parted: a heading from what follows, the first and the last
 * line of a paragraph from their neighbours, a drawing from itself. */
static void keep_rows(struct layout *l, size_t from, enum sheet_line kind)
{
    size_t n = l->count - from;
    for (size_t i = 0; i < n; i++) {
        bool last = i + 1 == n;
        l->rows[from + i].keep = kind == SHEET_HEADING || kind == SHEET_TITLE ||
                                 (!last && (kind == SHEET_PLAIN || i == 0 || i + 2 == n));
    }
    if (from > 0 &&
        (kind == SHEET_UNDER || (kind == SHEET_PLAIN && l->rows[from - 1].kind == SHEET_PLAIN)))
        l->rows[from - 1].keep = true;
}

static const char *plain_row(struct layout *l, const char *line)
{
    size_t n = utf8_fit(line, l->columns);
    while (n > 0 && line[n - 1] == ' ')
        n--;
    return arena_strn(l->arena, line, n);
}

static void lay_part(struct layout *l, const struct part *p)
{
    static const char *const leads[] = {
        [SHEET_TITLE] = "",        [SHEET_HEADING] = "",    [SHEET_TEXT] = "   ",
        [SHEET_BULLET] = "   - ",  [SHEET_BOX] = "   [ ] ", [SHEET_PLAIN] = "",
        [SHEET_UNDER] = "       ", [SHEET_BLANK] = "",
    };
    if (p->kind == SHEET_HEADING)
        blank_add(l);
    size_t from = l->count;
    const char *lead = leads[p->kind];
    char *rest = safe_text(l, p->text, true);
    for (char *line = strsep(&rest, "\n"); line; line = strsep(&rest, "\n")) {
        if (p->kind == SHEET_PLAIN && !l->large) {
            row_add(l, p->kind, plain_row(l, line));
        } else if (line[strspn(line, " ")] == '\0') {
            blank_add(l);
        } else {
            line = write_on(l->arena, line, l->columns - (int)strlen(lead));
            wrap(l, p->kind, lead, line);
            lead = arena_printf(l->arena, "%*s", (int)strlen(lead), "");
        }
    }
    keep_rows(l, from, p->kind);
}

/* ---- from rows to pages ---------------------------------------------------------------------- */

/* The first row after the page that begins with row `from` and has `room` lines. */
static size_t page_end(const struct layout *l, size_t from, size_t room)
{
    size_t end = from;
    while (end < l->count) {
        size_t run = end;
        while (run + 1 < l->count && l->rows[run].keep)
            run++;
        if (run + 1 - from > room)
            break;
        end = run + 1;
    }
    if (end == from) /* longer than a page: it has to be parted somewhere */
        end = from + room < l->count ? from + room : l->count;
    return end;
}

static size_t skip_blank(const struct layout *l, size_t row)
{
    while (row < l->count && l->rows[row].kind == SHEET_BLANK)
        row++;
    return row;
}

static size_t page_count(const struct layout *l, size_t room)
{
    size_t pages = 0;
    for (size_t row = skip_blank(l, 0); row < l->count; row = skip_blank(l, row)) {
        row = page_end(l, row, room);
        pages++;
    }
    return pages > 0 ? pages : 1;
}

static void rows_out(const struct layout *l, size_t from, size_t end, struct text *out)
{
    for (size_t i = from; i < end; i++) {
        text_add(out, l->rows[i].text);
        text_addc(out, '\n');
    }
}

/* Two rows: a blank one and footer with page number; where both do not fit beside each other the
 * footer takes the blank one, as many words as fit. */
static void footer_out(const struct layout *l, const char *footer, size_t page, size_t pages,
                       struct text *out)
{
    const char *number = arena_printf(l->arena, "%s %zu %s %zu", l->page, page, l->of, pages);
    int n = utf8_width_n(number, strlen(number));
    size_t fits = utf8_fit(footer, l->columns - n - 2), all = strlen(footer);
    if (fits < all && l->large)
        text_addn(out, footer, line_bytes(footer, l->columns));
    text_addc(out, '\n');
    if (fits < all && l->large)
        fits = 0;
    int blanks = l->columns - n - utf8_width_n(footer, fits);
    text_addn(out, footer, fits);
    text_addf(out, "%*s%s\n", blanks, "", number);
}

static void pages_out(const struct layout *l, const char *footer, size_t room, size_t pages,
                      struct text *out)
{
    size_t row = skip_blank(l, 0);
    for (size_t page = 1; page <= pages; page++) {
        size_t end = page_end(l, row, room);
        rows_out(l, row, end, out);
        for (size_t used = end - row; used < room; used++)
            text_addc(out, '\n');
        footer_out(l, footer, page, pages, out);
        if (l->style->form_feeds)
            text_addc(out, '\f');
        row = skip_blank(l, end);
    }
}

void sheet_render(const struct sheet *s, const struct sheet_style *style, struct text *out,
                  size_t *pages, size_t *unmapped)
{
    struct layout l = {
        .arena = arena_new(),
        .style = style,
    };
    l.large = s->large;
    int half = s->large ? 2 : 1;
    l.columns = style->columns / half > COLUMNS_LEAST ? style->columns / half : COLUMNS_LEAST;
    l.page = safe_text(&l, s->page, false);
    l.of = safe_text(&l, s->of, false);
    for (size_t i = 0; i < s->count; i++)
        if (s->parts[i].kind == SHEET_BLANK)
            blank_add(&l);
        else
            lay_part(&l, &s->parts[i]);
    size_t made = 1;
    if (style->lines > 0) {
        int body = style->lines / half - FOOTER_LINES;
        size_t room = (size_t)(body > BODY_LEAST ? body : BODY_LEAST);
        made = page_count(&l, room);
        char *footer = safe_text(&l, s->footer, false);
        pages_out(&l, footer, room, made, out);
    } else {
        rows_out(&l, skip_blank(&l, 0), l.count, out);
    }
    if (pages)
        *pages = made;
    if (unmapped)
        *unmapped = l.unmapped;
    arena_free(l.arena);
}
