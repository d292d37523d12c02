#include "output/tongue.h"
#include "base/arena.h"
#include "base/text.h"
#include "base/units.h"
#include "output/letter.h"
#include <stdlib.h>
#include <string.h>

enum { ANSWER_MOST = 64 * 1024 };

static bool english(const struct tongue *t)
{
    return strcmp(t->language, "en") == 0;
}

/* The language the practice's own forms are written in. */
static bool practice_speaks(const struct tongue *t)
{
    return strcmp(t->language, t->c->cb->set->practice.language) == 0;
}

const char *tongue_phrase(const struct tongue *t, enum phrase_id phrase)
{
    return template_phrase(t->c->cb->set, t->language, phrase);
}

/* ---- days ------------------------------------------------------------------------------------ */

const char *tongue_day(const struct tongue *t, day_number day)
{
    char buf[CLOCK_ROOM];
    struct arena *a = t->c->arena;
    if (english(t))
        return arena_str(a, clock_long(day, buf));
    const char *iso = clock_iso_day(day, buf);
    long month = strtol(iso + strlen("2026-"), NULL, 10);
    const struct {
        const char *mark, *value;
    } parts[] = {
        {"{day}", arena_printf(a, "%ld", strtol(iso + strlen("2026-11-"), NULL, 10))},
        {"{month}", tongue_phrase(t, (enum phrase_id)(PHRASE_MONTH_1 + month - 1))},
        {"{year}", arena_strn(a, iso, strlen("2026"))},
    };
    const char *pattern = tongue_phrase(t, PHRASE_DATE);
    if (*pattern == '\0' || *parts[1].value == '\0')
        return arena_str(a, iso);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        const char *at = strstr(pattern, parts[i].mark);
        if (at != NULL)
            pattern = arena_printf(a, "%.*s%s%s", (int)(at - pattern), pattern, parts[i].value,
                                   at + strlen(parts[i].mark));
    }
    return pattern;
}

/* "2026-11-24" or "2026-11-24T14:00" */
static const char *moment(const struct tongue *t, const char *value)
{
    day_number day;
    const char *hour = strchr(value, 'T');
    const char *date = arena_strn(t->c->arena, value, strcspn(value, "T"));
    if (!clock_parse_day(date, 0, &day, NULL))
        return value;
    return hour == NULL ? tongue_day(t, day)
                        : arena_printf(t->c->arena, "%s, %s", tongue_day(t, day), hour + 1);
}

/* ---- answers --------------------------------------------------------------------------------- */

static const char *one_choice(const struct tongue *t, const struct item *item, const char *id,
                              bool *own)
{
    const char *of = arena_printf(t->c->arena, "choice.%s.%s", item->id, id);
    const char *words = template_say(t->c->cb->set, t->language, of, "");
    if (*words != '\0')
        return words;
    *own = true;
    return answer_show(t->c->cb->set, item, id, t->c->arena);
}

static const char *choices(const struct tongue *t, const struct item *item, const char *ids,
                           bool *own)
{
    struct text out;
    text_init(&out, ANSWER_MOST);
    for (const char *p = ids; *p != '\0';) {
        size_t n = strcspn(p, " ");
        text_addf(&out, "%s%s", out.len > 0 ? ", " : "",
                  one_choice(t, item, arena_strn(t->c->arena, p, n), own));
        p += n + strspn(p + n, " ");
    }
    const char *list = arena_str(t->c->arena, out.s);
    text_free(&out);
    return list;
}

/* A number as the language writes it. */
static const char *marked(const struct tongue *t, const char *shown)
{
    char *number = arena_str(t->c->arena, shown);
    number_mark(number, template_decimal(t->c->cb->set, t->language));
    return number;
}

const char *tongue_value(const struct tongue *t, const struct item *item, const char *value,
                         bool *own)
{
    const char *shown = answer_show(t->c->cb->set, item, value, t->c->arena);
    if (item->kind == ITEM_NUMBER || item->kind == ITEM_LENGTH || item->kind == ITEM_MASS)
        return marked(t, shown);
    if (practice_speaks(t) && english(t))
        return shown;
    switch (item->kind) {
    case ITEM_CHOICE:
    case ITEM_MANY:
        return practice_speaks(t) ? shown : choices(t, item, value, own);
    case ITEM_YESNO:
        return tongue_phrase(t, strcmp(value, "yes") == 0  ? PHRASE_YES
                                : strcmp(value, "no") == 0 ? PHRASE_NO
                                                           : PHRASE_UNKNOWN);
    case ITEM_DATE:
    case ITEM_TIME:
        return moment(t, value);
    case ITEM_TEXT:
    case ITEM_NOTE:
        *own = *own || !practice_speaks(t);
        return value;
    default:
        return shown;
    }
}

static const char *value_or_none(const struct tongue *t, const struct item *item, const char *value,
                                 bool *own)
{
    return *value != '\0' ? tongue_value(t, item, value, own) : tongue_phrase(t, PHRASE_NO_VALUE);
}

const char *tongue_answer(const struct tongue *t, const struct item *item, const struct finding *f,
                          bool *own)
{
    struct arena *a = t->c->arena;
    *own = false;
    if (practice_speaks(t) && english(t))
        return letter_answer(t->c, f);
    const char *words = value_or_none(t, item, f->text, own);
    for (size_t i = 0; i < f->other_count; i++)
        words = arena_printf(a, "%s %s %s", words, tongue_phrase(t, PHRASE_OR),
                             value_or_none(t, item, f->others[i], own));
    return f->other_count == 0
               ? words
               : arena_printf(a, "%s (%s)", words, tongue_phrase(t, PHRASE_NOT_SETTLED));
}
