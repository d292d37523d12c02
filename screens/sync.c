/* Sync: how far the exchange with the others has come, and one key to exchange now. */
#include "base/clock.h"
#include "screens/kit/ask.h"
#include "screens/screens.h"
#include "share/share.h"
#include <string.h>

enum { REPORT_MOST = 32 * 1024, PHOTO_MOST = 2 << 20 };

struct sync_state {
    struct arena *data;
    const char *place;
    struct journal_counts counts;
    struct share *share; /* NULL: not enrolled; then `why` says so */
    struct fault why;
    struct text report; /* of the last exchange, or "" */
    bool failed;
};

static void refresh(struct screen *s)
{
    struct sync_state *y = s->state;
    struct fault f = {0};
    arena_reset(y->data);
    if (!journal_count(s->app->cb->journal, &y->counts, &f))
        app_fault(s->app, &f);
}

static bool open_sync(struct screen *s, struct fault *f)
{
    struct sync_state *y = s->state;
    (void)f;
    y->data = arena_new();
    y->place = s->app->cb->set->practice.sync;
    text_init(&y->report, REPORT_MOST);
    share_open(&y->share, s->app->cb->journal, &y->why);
    refresh(s);
    return true;
}

/* ---- drawing --------------------------------------------------------------------------------- */

static int draw_fact(int row, const char *label, enum look look, const char *value)
{
    draw_text(row, 2, 14, LOOK_DIM, label);
    int used = draw_wrapped(row, 17, term_columns() - 19, 3, look, value);
    return row + (used > 0 ? used : 1);
}

static const char *unsent(const struct sync_state *y)
{
    const struct journal_counts *n = &y->counts;
    if (n->unsent == 0)
        return "everything made here is known elsewhere";
    int old = n->oldest_unsent != 0 ? clock_today() - clock_day(n->oldest_unsent) : 0;
    return arena_printf(y->data, "%llu %s not yet known elsewhere, the oldest %s",
                        (unsigned long long)n->unsent, n->unsent == 1 ? "entry is" : "entries are",
                        old <= 0   ? "from today"
                        : old == 1 ? "1 day old"
                                   : arena_printf(y->data, "%d days old", old));
}

/* Lines that ask for a person stand out by their first words too. */
static void draw_report(const struct sync_state *y, int row, int last)
{
    for (const char *line = y->report.s; *line != '\0' && row < last;) {
        size_t n = strcspn(line, "\n");
        bool asks = strncmp(line, "look at:", 8) == 0 || strncmp(line, "missing:", 8) == 0;
        row += draw_wrapped(row, 4, term_columns() - 8, last - row, asks ? LOOK_WARN : LOOK_PLAIN,
                            arena_strn(y->data, line, n));
        line += n + (line[n] == '\n');
    }
}

static void draw(struct screen *s)
{
    struct sync_state *y = s->state;
    int row = 2, last = term_rows() - 3;
    row = draw_fact(row, "with", LOOK_STRONG,
                    *y->place != '\0' ? y->place
                                      : "no place yet: set sync: in practice.yaml, or press o");
    row = draw_fact(row, "to send", LOOK_PLAIN, unsent(y));
    row =
        draw_fact(row, "conflicts", LOOK_PLAIN,
                  y->counts.conflicts == 0 ? "none"
                                           : arena_printf(y->data, "%llu; x shows them",
                                                          (unsigned long long)y->counts.conflicts));
    if (y->share == NULL)
        row = draw_fact(row, "this device", LOOK_WARN, y->why.text);
    else
        row = draw_fact(row, "this device", LOOK_PLAIN, share_name(y->share, y->share->self));
    row = draw_fact(row, "devices", LOOK_PLAIN,
                    y->share == NULL
                        ? "none known"
                        : arena_printf(y->data, "%zu in the practice", y->share->devices.count));
    row++;
    if (y->report.len > 0) {
        draw_text(row++, 2, 40, y->failed ? LOOK_WARN : LOOK_STRONG,
                  y->failed ? "The exchange ended early" : "The last exchange");
        draw_report(y, row, last);
    }
    draw_cursor(2, 17);
}

/* ---- exchanging ------------------------------------------------------------------------------ */

struct watching {
    struct app *app;
    bool stop;
};

static void show_progress(void *of, const char *what, uint64_t done, uint64_t total)
{
    struct watching *w = of;
    int row = term_rows() - 2;
    draw_fill(row, 0, term_columns(), LOOK_PLAIN);
    if (total > 0)
        draw_textf(row, 1, term_columns() - 2, LOOK_STRONG, "%s, %llu of %llu; ^C stops", what,
                   (unsigned long long)done, (unsigned long long)total);
    else
        draw_textf(row, 1, term_columns() - 2, LOOK_STRONG, "%s; ^C stops", what);
    draw_end();
    (void)w;
}

/* A key may have been pressed meanwhile; only the one that stops means anything now. */
static bool stop_asked(void *of)
{
    struct watching *w = of;
    for (int most = 16; most > 0 && !w->stop; most--) {
        struct press p = term_press(0);
        if (p.kind == PRESS_NONE)
            break;
        w->stop = p.kind == PRESS_END || (p.kind == PRESS_CTRL && (p.code == 'c' || p.code == 'q'));
    }
    return w->stop;
}

static void exchange(struct screen *s)
{
    struct sync_state *y = s->state;
    struct fault f = {0};
    struct report r;
    struct watching w = {.app = s->app};
    const struct watch watch = {.progress = show_progress,
                                .stop = stop_asked,
                                .of = &w,
                                .quiet = true,
                                .photo_most = PHOTO_MOST};
    if (y->share == NULL) {
        app_fault(s->app, &y->why);
        return;
    }
    if (*y->place == '\0') {
        app_say(s->app, LOOK_WARN, "With what? o names another place for this once");
        return;
    }
    report_init(&r);
    bool ok = share_sync(y->share, y->place, &watch, &r, &f);
    text_clear(&y->report);
    report_say(&r, &y->report);
    y->failed = !ok || r.stopped;
    if (!ok)
        app_fault(s->app, &f);
    else
        app_say(s->app, LOOK_GOOD, "Exchanged: %llu entries came, %llu went",
                (unsigned long long)r.came, (unsigned long long)r.went);
    report_free(&r);
    refresh(s);
}

static bool press(struct screen *s, const struct press *p)
{
    struct sync_state *y = s->state;
    if (p->kind == PRESS_KEY && p->code == PK_ENTER) {
        exchange(s);
        return true;
    }
    if (p->kind != PRESS_CHAR)
        return false;
    if (p->text[0] == 's') {
        exchange(s);
    } else if (p->text[0] == 'x') {
        conflicts_open(s->app, NULL);
    } else if (p->text[0] == 'o') {
        const char *typed =
            ask_line(s->app, s->arena, "With which folder or ssh://user@host/ ?", y->place);
        if (typed != NULL && *typed != '\0')
            y->place = typed;
    } else {
        return false;
    }
    return true;
}

static void close_sync(struct screen *s)
{
    struct sync_state *y = s->state;
    share_close(y->share);
    text_free(&y->report);
    arena_free(y->data);
}

static const struct key_help keys[] = {
    {"s", "exchange", "Exchange with the place shown; Enter does the same.", true},
    {"o", "other place", "Name another folder or address for now.", true},
    {"x", "conflicts", "What two people answered differently.", true},
    {0},
};

static const struct screen_class sync_class = {
    .name = "Sync",
    .help = "Entries go to the practice's other devices and theirs come here, over a stick, a "
            "shared folder or ssh. Nothing is lost when it is cut: the next time goes on from "
            "there.",
    .keys = keys,
    .open = open_sync,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_sync,
};

void sync_open(struct app *app)
{
    struct arena *a = arena_new();
    screen_open(app, &sync_class, a, arena_alloc(a, sizeof(struct sync_state)));
}
