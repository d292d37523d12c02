/* Any bytes as what a person typed: quantities, days, names; shown, folded, and written as JSON
 * that is whole and acts on nothing. And as a line of the table of mounts. What begins with a line
 * end is keys pressed one after the other in the field where it is typed (screens/kit/editor.c,
 * which needs a terminal only to draw on). What makes presses of a terminal's bytes (press.c) reads
 * them through curses and cannot be had without one: what it lets through, and nothing else, is
 * pressed here. */
#include "base/clock.h"
#include "base/json.h"
#include "base/mounts.h"
#include "base/text.h"
#include "base/units.h"
#include "kit.h"
#include "screens/kit/editor.c"
#include "screens/kit/wrap.c"
#include <math.h>

static void read_it(const char *s)
{
    size_t count;
    const struct unit *units = unit_all(&count);
    struct fault f = {0};
    for (size_t i = 0; i <= count; i += 5) {
        double v;
        if (quantity_parse(s, i < count ? &units[i] : NULL, &v, NULL, &f))
            must(isfinite(v) && !(v == 0 && signbit(v)));
        else
            must(utf8_plain(f.text, false) && f.text[0] != '\0');
    }
    double lead;
    if (number_lead(s, &lead))
        must(isfinite(lead));
    day_number day;
    int64_t at;
    if (!clock_parse_day(s, 20000, &day, &f))
        must(utf8_plain(f.text, false));
    if (!clock_parse_time(s, INT64_C(1795509000000), &at, &f))
        must(utf8_plain(f.text, false));
}

static void show_it(const char *s, size_t n)
{
    struct text shown, folded, again;
    text_init(&shown, 1 << 20);
    text_init(&folded, 1 << 20);
    text_init(&again, 1 << 20);
    utf8_show(&shown, s, false);
    must(utf8_plain(shown.s, false) && utf8_valid(shown.s, shown.len, NULL));
    utf8_fold(&folded, shown.s);
    utf8_fold(&again, folded.s);
    must(strcmp(folded.s, again.s) == 0);
    size_t at = 0;
    while (at < n) {
        size_t next = utf8_next(s, n, at);
        must(next > at && next <= n);
        at = next;
    }
    must(utf8_fit(s, 10) <= n && utf8_width_n(s, utf8_fit(s, 10)) <= 10);
    (void)text_distance(s, shown.s, 2);

    struct json j;
    text_clear(&again);
    json_begin(&j, &again, 2);
    json_open_object(&j);
    json_member(&j, s, s);
    json_end(&j);
    must(json_done(&j) && utf8_valid(again.s, again.len, NULL) && strchr(again.s, '\033') == NULL);
    text_free(&shown);
    text_free(&folded);
    text_free(&again);
}

static void mount_it(const char *s)
{
    struct mount m;
    char value[16];
    snprintf(m.line, sizeof m.line, "%s", s);
    if (mount_parse(m.line, &m) && mount_option(&m, "upperdir", value, sizeof value))
        must(strlen(value) < sizeof value && strlen(m.root) + strlen(m.point) < sizeof m.line);
}

/* ---- a field --------------------------------------------------------------------------------- */

enum { FIELD_BYTES = 60, PRESSES_MOST = 100, WIDTH = 12, NARROW = 2 };

int draw_text(int row, int col, int width, enum look look, const char *text)
{
    (void)row, (void)col, (void)width, (void)look;
    must(utf8_valid(text, strlen(text), NULL));
    return 0;
}

void draw_fill(int row, int col, int width, enum look look)
{
    (void)row, (void)col, (void)look;
    must(width > 0);
}

void draw_cursor(int row, int col)
{
    must(row >= 0 && row < PRESSES_MOST && col >= 0 && col < WIDTH);
}

/* Whole text, the cursor between two characters; what is shown of it is whole as well. */
static void must_be_field(struct editor *e)
{
    const struct text *t = &e->text;
    must(t->len <= FIELD_BYTES && t->s[t->len] == '\0' && utf8_valid(t->s, t->len, NULL));
    must(e->at <= t->len);
    must(e->at == 0 || e->at == t->len ||
         utf8_next(t->s, t->len, utf8_prev(t->s, t->len, e->at)) == e->at);
    editor_draw(e, 0, 0, WIDTH, true);
    must(editor_lines(e, WIDTH) >= 1 && editor_lines(e, NARROW) >= 1);
    editor_draw_lines(e, 0, 0, WIDTH, 3, true);
}

static bool printable(const char *s, size_t n, int *bytes)
{
    uint32_t cp;
    *bytes = utf8_decode(s, n, &cp);
    return *bytes > 0 && cp >= 0x20 && !(cp >= 0x7F && cp < 0xA0);
}

/* From one escape to the next: characters and line ends, as press.c leaves them. */
static size_t paste(struct editor *e, const char *s, size_t n)
{
    struct text pasted;
    size_t at = 0;
    int bytes;
    text_init(&pasted, PRESSES_MOST);
    for (; at < n && s[at] != '\033'; at += bytes > 0 ? (size_t)bytes : 1)
        if (printable(s + at, n - at, &bytes) || s[at] == '\n')
            text_addn(&pasted, s + at, (size_t)bytes);
    must(editor_press(e, &(struct press){.kind = PRESS_PASTE, .text = pasted.s}));
    text_free(&pasted);
    return at < n ? at + 1 : at;
}

/* One press; how many bytes it took. */
static size_t press_it(struct editor *e, const char *s, size_t n)
{
    static const int keys[] = {PK_LEFT, PK_RIGHT, PK_HOME, PK_END, PK_BACKSPACE, PK_DELETE};
    char typed[8] = "";
    int bytes;
    if (*s == '\033')
        return 1 + paste(e, s + 1, n - 1);
    if (*s == '\001' || *s == '\002')
        (void)editor_line_move(e, WIDTH, *s == '\001' ? -1 : 1);
    else if (*s > '\002' && *s < '\011')
        must(editor_press(e, &(struct press){.kind = PRESS_KEY, .code = keys[*s - 3], .text = ""}));
    else if (*s >= 0 && *s < ' ')
        (void)editor_press(
            e, &(struct press){.kind = PRESS_CTRL, .code = "aekuwz"[*s % 6], .text = ""});
    if (!printable(s, n, &bytes))
        return bytes > 0 ? (size_t)bytes : 1;
    memcpy(typed, s, (size_t)bytes);
    must(editor_press(e, &(struct press){.kind = PRESS_CHAR, .text = typed}));
    return (size_t)bytes;
}

/* The first line is what stood there, the others are pressed. */
static void type_it(const char *s, size_t n)
{
    struct editor e;
    char stood[FIELD_BYTES + 1] = "";
    size_t first = strcspn(s, "\n");
    editor_init(&e, FIELD_BYTES);
    if (first < n && first <= FIELD_BYTES && utf8_valid(s, first, NULL)) {
        memcpy(stood, s, first);
        editor_set(&e, stood);
        s += first;
        n -= first;
    }
    must_be_field(&e);
    n = n < PRESSES_MOST ? n : PRESSES_MOST;
    for (size_t at = 0; at < n;) {
        at += press_it(&e, s + at, n - at);
        must_be_field(&e);
    }
    editor_free(&e);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size > 4096)
        return 0;
    char *s = malloc(size + 1);
    if (s == NULL)
        return 0;
    memcpy(s, data, size);
    s[size] = '\0';
    if (*s == '\n') {
        type_it(s + 1, strlen(s + 1));
    } else {
        read_it(s);
        show_it(s, strlen(s));
        mount_it(s);
    }
    free(s);
    return 0;
}
