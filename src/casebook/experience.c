#include "casebook/experience.h"
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "casebook/ids.h"
#include <string.h>

#define SETTING "experience"
enum { WINDOW = 32, WINDOW_MOST = 8192, SETTING_MOST = 60000 }; /* days; bytes */

/* ---- the latest visits ---------------------------------------------------------------------- */

struct latest {
    const char **uuids; /* newest first */
    size_t count;
};

/* Add those of the days [from, to), newest first. When there are more than are wanted, the later
 * half of the days goes first: the journal hands out the oldest. */
static bool visits_between(struct casebook *cb, struct arena *a, day_number from, day_number to,
                           struct latest *out, struct fault *f)
{
    char low[CLOCK_ROOM], high[CLOCK_ROOM];
    struct ids found;
    size_t wanted = EXPERIENCE_VISITS - out->count;
    if (wanted == 0 || from >= to)
        return true;
    if (!journal_by_range(cb->journal, a, ID_VISIT_DAY, clock_iso_day(from, low),
                          clock_iso_day(to, high), wanted + 1, &found, f))
        return false;
    if (found.count > wanted && to - from > 1) {
        day_number half = from + (to - from) / 2;
        return visits_between(cb, a, half, to, out, f) && visits_between(cb, a, from, half, out, f);
    }
    for (size_t i = found.count; i-- > 0 && out->count < EXPERIENCE_VISITS;)
        out->uuids[out->count++] = found.uuids[i];
    return true;
}

static bool latest_visits(struct casebook *cb, struct arena *a, struct latest *out, struct fault *f)
{
    day_number to = clock_day(clock_now()) + 1;
    out->uuids = arena_array(a, EXPERIENCE_VISITS, sizeof *out->uuids);
    out->count = 0;
    for (day_number days = WINDOW; days <= WINDOW_MOST && out->count < EXPERIENCE_VISITS;
         days *= 2) {
        if (!visits_between(cb, a, to - days, to, out, f))
            return false;
        to -= days;
    }
    return true;
}

/* ---- kept as a setting: one line each, words parted by one blank ----------------------------- */

static void add_number(struct text *t, double value)
{
    char number[48];
    text_addf(t, " %s", number_format(value, 9, false, number, sizeof number));
}

static void keep(struct casebook *cb, const struct experience *p)
{
    struct text t;
    text_init(&t, SETTING_MOST);
    text_addf(&t, "made %s %zu\n", p->day, p->visits);
    for (size_t i = 0; i < p->ratio_count; i++) {
        text_addf(&t, "ratio %s %s %zu", p->ratios[i].body_type, p->ratios[i].relation,
                  p->ratios[i].n);
        add_number(&t, p->ratios[i].centre);
        add_number(&t, p->ratios[i].spread);
        text_addc(&t, '\n');
    }
    for (size_t i = 0; i < p->observer_count; i++) {
        const struct observed *o = &p->observers[i];
        text_addf(&t, "observer %s %s %zu", o->author, o->measure, o->n);
        add_number(&t, o->mean);
        add_number(&t, o->tem);
        add_number(&t, o->credible);
        text_addc(&t, '\n');
    }
    /* only a shortcut: where nothing can be written it is made again next time */
    (void)journal_setting_put(cb->journal, SETTING, t.s, NULL);
    text_free(&t);
}

enum { WORDS_MOST = 7 };

/* The next line's words, in place; false at the end. */
static bool next_line(char **at, const char *words[WORDS_MOST], size_t *count)
{
    char *line = *at, *end = strchr(line, '\n');
    if (end == NULL)
        return false;
    *end = '\0';
    *at = end + 1;
    for (*count = 0; *count < WORDS_MOST; line++) {
        words[(*count)++] = line;
        line = strchr(line, ' ');
        if (line == NULL)
            break;
        *line = '\0';
    }
    return true;
}

static bool numbers(const char *const *words, double *out, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!number_lead(words[i], &out[i]))
            return false;
    return true;
}

void experience_read(struct casebook *cb, struct arena *a, struct experience *out)
{
    const char *kept = journal_setting(cb->journal, a, SETTING), *words[WORDS_MOST];
    *out = (struct experience){.day = ""};
    if (kept == NULL)
        return;
    size_t lines = 0, count;
    for (const char *p = kept; *p != '\0'; p++)
        lines += *p == '\n';
    struct learned *ratios = arena_array(a, lines, sizeof *ratios);
    struct observed *observers = arena_array(a, lines, sizeof *observers);
    double v[4];
    for (char *at = arena_str(a, kept); next_line(&at, words, &count);) {
        if (count == 3 && strcmp(words[0], "made") == 0 && numbers(&words[2], v, 1)) {
            out->day = words[1];
            out->visits = (size_t)v[0];
        } else if (count == 6 && strcmp(words[0], "ratio") == 0 && numbers(&words[3], v, 3)) {
            ratios[out->ratio_count++] =
                (struct learned){words[1], words[2], v[1], v[2], (size_t)v[0]};
        } else if (count == 7 && strcmp(words[0], "observer") == 0 && numbers(&words[3], v, 4)) {
            observers[out->observer_count++] =
                (struct observed){words[1], words[2], (size_t)v[0], v[1], v[2], v[3]};
        }
    }
    out->ratios = ratios;
    out->observers = observers;
}

/* ---- made ----------------------------------------------------------------------------------- */

bool experience_renew(struct casebook *cb, struct arena *a, struct experience *out, struct fault *f)
{
    char today[CLOCK_ROOM];
    struct latest visits;
    if (!latest_visits(cb, a, &visits, f))
        return false;
    struct learning *ratios = learning_new(cb, a);
    struct observing *doubles = observing_new(cb, a);
    struct arena *one = arena_new();
    bool ok = true;
    for (size_t i = 0; i < visits.count && ok; i++) {
        struct record visit;
        arena_reset(one);
        ok = record_load(cb, one, visits.uuids[i], &visit, f);
        if (ok) {
            learning_add(ratios, &visit);
            observing_add(doubles, &visit);
        }
    }
    arena_free(one);
    if (!ok)
        return false;
    *out = (struct experience){.visits = visits.count,
                               .day = arena_str(a, clock_iso_day(clock_day(clock_now()), today))};
    out->ratios = learning_end(ratios, &out->ratio_count);
    out->observers = observing_end(doubles, &out->observer_count);
    keep(cb, out);
    return true;
}

bool experience_fresh(struct casebook *cb, struct arena *a, struct experience *out, struct fault *f)
{
    char today[CLOCK_ROOM];
    experience_read(cb, a, out);
    if (strcmp(out->day, clock_iso_day(clock_day(clock_now()), today)) == 0)
        return true;
    return experience_renew(cb, a, out, f);
}
