/* What a person types against what is kept. One reader and one writer for each kind of item. */
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "base/utf8.h"
#include "casebook/casebook.h"
#include "casebook/quantity.h"
#include "casebook/scores.h"
#include "journal/journal.h"
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct asked {
    const struct template_set *set;
    const struct item *item;
    const char *typed; /* without blanks at its ends, not empty */
    int64_t now;
    struct arena *arena;
};
typedef bool reader(const struct asked *q, const char **canonical, struct fault *f);

static const char *trimmed(struct arena *a, const char *s)
{
    s += strspn(s, " \t\r\n");
    size_t n = strlen(s);
    while (n > 0 && strchr(" \t\r\n", s[n - 1]) != NULL)
        n--;
    return arena_strn(a, s, n);
}

static bool expected(const struct asked *q, struct fault *f)
{
    return fail(f, FAULT_INPUT, "\"%.60s\" is not %s", q->typed, item_kind_told(q->item->kind));
}

/* ---- texts, days, times --------------------------------------------------------------------- */

static bool read_note(const struct asked *q, const char **canonical, struct fault *f)
{
    if (!utf8_valid(q->typed, strlen(q->typed), NULL))
        return fail(f, FAULT_INPUT, "the text is not UTF-8");
    if (strlen(q->typed) > JOURNAL_VALUE_MAX)
        return fail(f, FAULT_LIMIT, "the text is longer than %d bytes", JOURNAL_VALUE_MAX);
    *canonical = q->typed;
    return true;
}

static bool read_text(const struct asked *q, const char **canonical, struct fault *f)
{
    if (!read_note(q, canonical, f))
        return false;
    char *line = arena_str(q->arena, *canonical);
    for (char *p = line; *p != '\0'; p++)
        if (*p == '\n' || *p == '\r' || *p == '\t')
            *p = ' ';
    *canonical = line;
    return true;
}

static bool read_date(const struct asked *q, const char **canonical, struct fault *f)
{
    char iso[CLOCK_ROOM];
    day_number day;
    if (!clock_parse_day(q->typed, clock_day(q->now), &day, f))
        return false;
    *canonical = arena_str(q->arena, clock_iso_day(day, iso));
    return true;
}

static bool read_time(const struct asked *q, const char **canonical, struct fault *f)
{
    char iso[CLOCK_ROOM];
    int64_t at;
    if (!clock_parse_time(q->typed, q->now, &at, f))
        return false;
    *canonical = arena_str(q->arena, clock_iso_time(at, iso));
    return true;
}

/* ---- quantities ----------------------------------------------------------------------------- */

static bool read_quantity(const struct asked *q, const char **canonical, struct fault *f)
{
    const struct item *i = q->item;
    const struct unit *kept = kept_unit(i), *shown = shown_unit(q->set, i);
    double base;
    if (!quantity_read(q->typed, shown, kept, q->arena, canonical, &base, f))
        return false;
    if (!i->has_range || (base >= i->low && base <= i->high))
        return true;
    char low[48], high[48];
    const char *name = shown == NULL ? "" : shown->name;
    const char *gap = shown == NULL ? "" : " ";
    number_format(shown == NULL ? i->low : unit_from_base(shown, i->low), 3, false, low,
                  sizeof low);
    number_format(shown == NULL ? i->high : unit_from_base(shown, i->high), 3, false, high,
                  sizeof high);
    return fail(f, FAULT_INPUT, "\"%.60s\" is out of range: %s to %s%s%s is expected", q->typed,
                low, high, gap, name);
}

/* ---- choices -------------------------------------------------------------------------------- */

/* A label that begins with the whole word typed: "2" for "2 knuckles over". */
static bool first_word_is(const char *label, const char *word)
{
    size_t n = strlen(word);
    return text_starts(label, word) && !isalnum((unsigned char)label[n]);
}

typedef bool matches(const struct choice *c, const char *typed);
static bool id_is(const struct choice *c, const char *typed)
{
    return text_same(c->id, typed);
}
static bool label_is(const struct choice *c, const char *typed)
{
    return text_same(c->label, typed);
}
static bool word_is(const struct choice *c, const char *typed)
{
    return first_word_is(c->label, typed);
}
static bool begins(const struct choice *c, const char *typed)
{
    size_t n = strlen(typed);
    char head[128];
    if (n >= sizeof head || isdigit((unsigned char)typed[0]))
        return false;
    (void)snprintf(head, sizeof head, "%.*s", (int)n, c->label);
    bool label = text_same(head, typed);
    (void)snprintf(head, sizeof head, "%.*s", (int)n, c->id);
    return label || text_same(head, typed);
}

/* How many choices match; *at is the first. */
static size_t count_matches(const struct item *i, const char *typed, matches *match, size_t *at)
{
    size_t n = 0;
    for (size_t k = 0; k < i->choice_count; k++)
        if (match(&i->choices[k], typed) && n++ == 0)
            *at = k;
    return n;
}

static bool no_choice(const struct item *i, const char *typed, struct arena *a, struct fault *f)
{
    const char **names = arena_array(a, i->choice_count * 2, sizeof *names);
    struct text list;
    text_init(&list, 300);
    for (size_t k = 0; k < i->choice_count; k++) {
        names[k] = i->choices[k].label;
        names[i->choice_count + k] = i->choices[k].id;
        text_addf(&list, "%s%s", k > 0 ? ", " : "", i->choices[k].label);
    }
    const char *near = text_nearest(typed, names, i->choice_count * 2);
    if (near != NULL)
        (void)fail(f, FAULT_INPUT, "\"%.60s\" is none of the choices; did you mean \"%s\"?", typed,
                   near);
    else
        (void)fail(f, FAULT_INPUT, "\"%.60s\" is none of the choices: %s%s", typed, list.s,
                   list.cut ? " ..." : "");
    text_free(&list);
    return false;
}

/* The choices are numbers themselves, as the grades of a scale are: no other number names one. */
static bool are_numbers(const struct item *i)
{
    for (size_t k = 0; k < i->choice_count; k++)
        if (isdigit((unsigned char)i->choices[k].label[0]))
            return true;
    return false;
}

/* Id, label, first word of the label, number from 1, unambiguous start: in that order. */
static bool find_choice(const struct item *i, const char *typed, struct arena *a, size_t *at,
                        struct fault *f)
{
    static matches *const exact[] = {id_is, label_is, word_is};
    for (size_t k = 0; k < sizeof exact / sizeof *exact; k++)
        if (count_matches(i, typed, exact[k], at) == 1)
            return true;
    if (!are_numbers(i) && strspn(typed, "0123456789") == strlen(typed) && strlen(typed) <= 3) {
        size_t number = strtoul(typed, NULL, 10);
        if (number >= 1 && number <= i->choice_count) {
            *at = number - 1;
            return true;
        }
    }
    size_t n = count_matches(i, typed, begins, at);
    if (n == 1)
        return true;
    if (n == 0)
        return no_choice(i, typed, a, f);
    size_t second = *at + 1;
    while (!begins(&i->choices[second], typed))
        second++;
    return fail(f, FAULT_INPUT, "\"%.60s\" could be \"%s\" or \"%s\"", typed, i->choices[*at].label,
                i->choices[second].label);
}

static bool read_choice(const struct asked *q, const char **canonical, struct fault *f)
{
    size_t at = 0;
    if (!find_choice(q->item, q->typed, q->arena, &at, f))
        return false;
    *canonical = q->item->choices[at].id;
    return true;
}

/* Tick the choices named between `marks`; false at the first that is none. */
static bool tick(const struct asked *q, const char *marks, bool *ticked, struct fault *f)
{
    const char *p = q->typed;
    while (p[strspn(p, marks)] != '\0') {
        p += strspn(p, marks);
        size_t n = strcspn(p, marks), at = 0;
        const char *one = trimmed(q->arena, arena_strn(q->arena, p, n));
        if (one[0] != '\0' && !find_choice(q->item, one, q->arena, &at, f))
            return false;
        if (one[0] != '\0')
            ticked[at] = true;
        p += n;
    }
    return true;
}

static bool read_many(const struct asked *q, const char **canonical, struct fault *f)
{
    const struct item *i = q->item;
    bool *ticked = arena_array(q->arena, i->choice_count, sizeof *ticked);
    if (!tick(q, ",;", ticked, f)) {
        /* ids are kept with blanks between them, and may be typed so */
        memset(ticked, 0, i->choice_count * sizeof *ticked);
        if (strpbrk(q->typed, ",;") != NULL || !tick(q, " ", ticked, NULL))
            return false;
    }
    struct text list;
    text_init(&list, JOURNAL_VALUE_MAX);
    for (size_t k = 0; k < i->choice_count; k++)
        if (ticked[k])
            text_addf(&list, "%s%s", list.len > 0 ? " " : "", i->choices[k].id);
    *canonical = arena_str(q->arena, list.s);
    text_free(&list);
    return true;
}

static bool read_yesno(const struct asked *q, const char **canonical, struct fault *f)
{
    static const struct {
        const char *typed, *canonical;
    } words[] = {{"y", "yes"},           {"yes", "yes"},          {"n", "no"},
                 {"no", "no"},           {"u", "unknown"},        {"?", "unknown"},
                 {"unknown", "unknown"}, {"not known", "unknown"}};
    for (size_t k = 0; k < sizeof words / sizeof *words; k++)
        if (text_same(q->typed, words[k].typed)) {
            *canonical = words[k].canonical;
            return true;
        }
    return expected(q, f);
}

static bool read_score(const struct asked *q, const char **canonical, struct fault *f)
{
    return score_read(q->item, q->typed, q->arena, canonical, f);
}

/* ---- reading: one reader for each kind ------------------------------------------------------ */

bool answer_read(const struct template_set *set, const struct item *item, const char *typed,
                 int64_t now, struct arena *a, const char **canonical, struct fault *f)
{
    static reader *const readers[ITEM_KIND_COUNT] = {
        [ITEM_TEXT] = read_text,       [ITEM_NOTE] = read_note,     [ITEM_NUMBER] = read_quantity,
        [ITEM_LENGTH] = read_quantity, [ITEM_MASS] = read_quantity, [ITEM_CHOICE] = read_choice,
        [ITEM_MANY] = read_many,       [ITEM_YESNO] = read_yesno,   [ITEM_DATE] = read_date,
        [ITEM_TIME] = read_time,       [ITEM_SCORE] = read_score,
    };
    struct asked q = {.set = set, .item = item, .typed = trimmed(a, typed), .now = now, .arena = a};
    *canonical = "";
    return q.typed[0] == '\0' || readers[item->kind](&q, canonical, f);
}

/* ---- showing -------------------------------------------------------------------------------- */

static const char *label_of(const struct item *i, const char *id, size_t n)
{
    for (size_t k = 0; k < i->choice_count; k++)
        if (strlen(i->choices[k].id) == n && strncmp(i->choices[k].id, id, n) == 0)
            return i->choices[k].label;
    return NULL; /* of an older template: its id must do */
}

static const char *labels(const struct item *i, const char *ids, struct arena *a)
{
    struct text list;
    text_init(&list, JOURNAL_VALUE_MAX);
    for (const char *p = ids; *p != '\0';) {
        size_t n = strcspn(p, " ");
        const char *label = label_of(i, p, n);
        if (list.len > 0)
            text_add(&list, ", ");
        if (label != NULL)
            text_add(&list, label);
        else
            text_addn(&list, p, n);
        p += n + strspn(p + n, " ");
    }
    const char *shown = arena_str(a, list.s);
    text_free(&list);
    return shown;
}

static const char *show_day(const char *canonical, struct arena *a)
{
    day_number day;
    char words[CLOCK_ROOM];
    if (!clock_parse_day(canonical, 0, &day, NULL))
        return canonical;
    return arena_str(a, clock_dated(day, words));
}

static const char *show_time(const char *canonical, struct arena *a)
{
    int64_t at;
    char day[CLOCK_ROOM], hour[CLOCK_ROOM];
    if (strchr(canonical, 'T') == NULL) /* a visit may have a day and no hour yet */
        return show_day(canonical, a);
    if (!clock_parse_time(canonical, 0, &at, NULL))
        return canonical;
    return arena_printf(a, "%s, %s", clock_dated(clock_day(at), day), clock_hour(at, hour));
}

const char *answer_show(const struct template_set *set, const struct item *item,
                        const char *canonical, struct arena *a)
{
    if (canonical[0] == '\0')
        return "";
    switch (item->kind) {
    case ITEM_NUMBER:
    case ITEM_LENGTH:
    case ITEM_MASS:
        return quantity_show(canonical, kept_unit(item), shown_unit(set, item), item->unit,
                             item->decimals, a);
    case ITEM_CHOICE:
    case ITEM_MANY:
        return labels(item, canonical, a);
    case ITEM_YESNO:
        return strcmp(canonical, "unknown") == 0 ? "not known" : canonical;
    case ITEM_DATE:
        return show_day(canonical, a);
    case ITEM_TIME:
        return show_time(canonical, a);
    case ITEM_SCORE:
        return score_show(set, canonical, a);
    case ITEM_TEXT:
    case ITEM_NOTE:
    case ITEM_KIND_COUNT:
        break;
    }
    return canonical;
}

/* ---- editing again -------------------------------------------------------------------------- */

const char *answer_edit(const struct template_set *set, const struct item *item,
                        const char *canonical, struct arena *a)
{
    const char *again;
    const char *shown = canonical;
    switch (item->kind) {
    case ITEM_NUMBER:
    case ITEM_LENGTH:
    case ITEM_MASS:
        return quantity_edit(canonical, kept_unit(item), shown_unit(set, item), a);
    case ITEM_TIME: {
        char *spaced = arena_str(a, canonical);
        char *mark = strchr(spaced, 'T');
        if (mark != NULL)
            *mark = ' ';
        shown = spaced;
        break;
    }
    case ITEM_SCORE:
        shown = score_edit(canonical, a);
        break;
    case ITEM_CHOICE:
    case ITEM_MANY:
    case ITEM_YESNO:
        shown = answer_show(set, item, canonical, a);
        break;
    default:
        break;
    }
    bool reads = answer_read(set, item, shown, 0, a, &again, NULL) && strcmp(again, canonical) == 0;
    return reads ? shown : canonical;
}
