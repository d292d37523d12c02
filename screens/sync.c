/* Sync: how far the exchange with the others has come, and one key to exchange now. */
#include "base/clock.h"
#include "screens/kit/ask.h"
#include "screens/screens.h"
#include "screens/standby.h"
#include "share/exchange.h"
#include "share/share.h"
#include <string.h>

enum { REPORT_MOST = 32 * 1024 };

/* How large photographs may be that travel, to choose from. */
static const struct {
    uint64_t kib;
    const char *words;
} photo_sizes[] = {
    {0, "none travel"},     {1024, "up to 1 MB"},           {PHOTO_KIB_USUAL, "up to 4 MB"},
    {32768, "up to 32 MB"}, {PHOTO_KIB_MOST, "all travel"},
};
enum { PHOTO_SIZES = sizeof photo_sizes / sizeof photo_sizes[0] };

/* The place named last with o: used while the practice's templates name none. */
static const char place_setting[] = "sync.place";

struct sync_state {
    struct arena *data;
    const char *place;
    struct journal_counts counts;
    uint64_t photo_kib;
    struct share *share; /* NULL: not enrolled; then `why` says so */
    struct fault why;
    const char *held;   /* "3 of Jo's laptop (retired)", or "" */
    struct text report; /* of the last exchange, or "" */
    bool failed;
};

static bool held_words(void *of, const uint8_t device[UUID_BYTES], uint64_t first, uint64_t count,
                       const char *why)
{
    struct sync_state *y = of;
    (void)first;
    y->held = arena_printf(y->data, "%s%s%llu of %s (%s)", y->held, *y->held != '\0' ? ", " : "",
                           (unsigned long long)count, share_name(y->share, device), why);
    return true;
}

static void refresh(struct screen *s)
{
    struct sync_state *y = s->state;
    struct fault f = {0};
    arena_reset(y->data);
    share_close(y->share); /* the list of devices may have changed */
    share_open(&y->share, s->app->cb->journal, &y->why);
    y->photo_kib = share_photo_kib(s->app->cb->journal);
    y->held = "";
    if (!journal_count(s->app->cb->journal, &y->counts, &f) ||
        (y->share != NULL && !held_each(s->app->cb->journal, held_words, y, &f)))
        app_fault(s->app, &f);
}

static bool open_sync(struct screen *s, struct fault *f)
{
    struct sync_state *y = s->state;
    (void)f;
    y->data = arena_new();
    y->place = s->app->cb->set->practice.sync;
    const char *kept = journal_setting(s->app->cb->journal, s->arena, place_setting);
    if (*y->place == '\0' && kept != NULL)
        y->place = kept;
    text_init(&y->report, REPORT_MOST);
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
        return "nothing: another device has all that was made here";
    int old = n->oldest_unsent != 0 ? clock_today() - clock_day(n->oldest_unsent) : 0;
    const char *age = old <= 0   ? "from today"
                      : old == 1 ? "1 day old"
                                 : arena_printf(y->data, "%d days old", old);
    return n->unsent == 1 ? arena_printf(y->data, "1 entry, %s", age)
                          : arena_printf(y->data, "%llu entries, the oldest %s",
                                         (unsigned long long)n->unsent, age);
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

static const char *devices(const struct sync_state *y)
{
    const char *all = "";
    if (y->share == NULL)
        return "none known";
    for (size_t i = 0; i < y->share->devices.count; i++) {
        const struct device *d = &y->share->devices.list[i];
        all = arena_printf(y->data, "%s%s%s%s", all, i > 0 ? ", " : "", d->name,
                           d->retired ? " (retired)"
                           : d->base  ? " (base)"
                                      : "");
    }
    return all;
}

static const char *photo_words(const struct sync_state *y)
{
    for (size_t i = 0; i < PHOTO_SIZES; i++)
        if (photo_sizes[i].kib == y->photo_kib)
            return photo_sizes[i].words;
    return arena_printf(y->data, "up to %llu KiB", (unsigned long long)y->photo_kib);
}

static void draw(struct screen *s)
{
    struct sync_state *y = s->state;
    int row = 2, last = term_rows() - 3;
    row = draw_fact(row, "with", LOOK_STRONG,
                    *y->place != '\0'
                        ? y->place
                        : "no place yet: o names the stick's folder or ssh://user@host/");
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
    row = draw_fact(row, "devices", LOOK_PLAIN, devices(y));
    row = draw_fact(row, "photographs", LOOK_PLAIN, photo_words(y));
    if (*y->held != '\0')
        row = draw_fact(row, "held back", LOOK_WARN,
                        arena_printf(y->data, "%s; at the base: amble device accept", y->held));
    row++;
    if (y->report.len > 0) {
        draw_text(row++, 2, 60, y->failed ? LOOK_WARN : LOOK_STRONG,
                  y->failed ? "The exchange ended early; nothing is lost" : "The last exchange");
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
    (void)of;
    int row = term_rows() - 2;
    draw_fill(row, 0, term_columns(), LOOK_PLAIN);
    if (total > 0)
        draw_textf(row, 1, term_columns() - 2, LOOK_STRONG, "%s, %llu of %llu; ^C stops", what,
                   (unsigned long long)done, (unsigned long long)total);
    else
        draw_textf(row, 1, term_columns() - 2, LOOK_STRONG, "%s; ^C stops", what);
    draw_end();
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
                                .photo_most = y->photo_kib << 10};
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
    else if (r.stopped)
        app_say(s->app, LOOK_WARN, "Stopped; what came is kept, s goes on from here");
    else
        app_say(s->app, LOOK_GOOD, "Done: %llu came, %llu went%s", (unsigned long long)r.came,
                (unsigned long long)r.went,
                strncmp(y->place, "ssh://", 6) == 0 ? "" : "; the stick may be pulled");
    report_free(&r);
    refresh(s);
}

static void choose_photos(struct screen *s)
{
    struct sync_state *y = s->state;
    struct fault f = {0};
    const char *labels[PHOTO_SIZES];
    size_t at = 0;
    for (size_t i = 0; i < PHOTO_SIZES; i++) {
        labels[i] = photo_sizes[i].words;
        at = photo_sizes[i].kib <= y->photo_kib ? i : at;
    }
    int taken = ask_choice(s->app, "Which photographs travel?", labels, PHOTO_SIZES, at);
    if (taken >= 0 && !share_photo_kib_set(s->app->cb->journal, photo_sizes[taken].kib, &f))
        app_fault(s->app, &f);
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
    } else if (p->text[0] == 'p') {
        choose_photos(s);
    } else if (p->text[0] == 'w' && standby_may(s->app)) {
        standby(s->app);
    } else if (p->text[0] == 'o') {
        const char *typed =
            ask_line(s->app, s->arena, "With which folder or ssh://user@host/ ?", y->place);
        if (typed != NULL && *typed != '\0') {
            y->place = typed;
            (void)journal_setting_put(s->app->cb->journal, place_setting, typed, NULL);
        }
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
    {"o", "other place",
     "Name another folder or address; it is remembered while practice.yaml names none.", true},
    {"x", "conflicts", "What two people answered differently.", true},
    {"p", "photographs", "How large a photograph may be that travels.", true},
    {"w", "stand by",
     "At the base: let laptops come over ssh while nobody types here; any key ends it. It begins "
     "by "
     "itself after 5 minutes without a key.",
     false},
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
