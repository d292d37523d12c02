#include "output/letter.h"
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "casebook/ids.h"
#include "casebook/story.h"
#include "output/tongue.h"
#include <string.h>

const char *letter_dog_in(const struct chart *c, const char *language)
{
    const char *name = c->dog.entity ? record_said(&c->dog, ID_DOG_NAME) : "";
    if (*name == '\0' && c->call.entity)
        name = record_text(&c->call, ID_CALL_DOG_NAME);
    return *name ? name : tongue_phrase(&(struct tongue){c, language}, PHRASE_THE_DOG);
}

const char *letter_dog(const struct chart *c)
{
    return letter_dog_in(c, "en");
}

/* The day of the visit, else of the call. */
static const char *chart_moment(const struct chart *c)
{
    return c->visit.entity  ? record_text(&c->visit, ID_VISIT_DAY)
           : c->call.entity ? record_text(&c->call, ID_CALL_AT)
                            : "";
}

/* Of "2026-11-24" or "2026-11-24T09:30". */
static bool day_of(struct arena *a, const char *moment, day_number *day)
{
    const char *date = arena_strn(a, moment, strnlen(moment, strlen("2026-11-24")));
    return clock_parse_day(date, 0, day, NULL);
}

static bool english(const char *language)
{
    return strcmp(language, "en") == 0;
}

const char *letter_day_in(const struct chart *c, const char *language)
{
    day_number day;
    return day_of(c->arena, chart_moment(c), &day) ? tongue_day(&(struct tongue){c, language}, day)
                                                   : "";
}

const char *letter_day(const struct chart *c)
{
    return letter_day_in(c, "en");
}

const char *letter_iso_day(struct arena *a, const char *iso)
{
    char buf[CLOCK_ROOM];
    day_number day;
    return day_of(a, iso, &day) ? arena_str(a, clock_long(day, buf)) : iso;
}

/* The number to ring comes first: what does not fit is cut at the end of a footer. */
static const char *footer(const struct tongue *t, const day_number *on)
{
    const struct practice *p = &t->c->cb->set->practice;
    char buf[CLOCK_ROOM];
    const char *day = on == NULL             ? ""
                      : english(t->language) ? clock_dated(*on, buf)
                                             : tongue_day(t, *on);
    return arena_printf(t->c->arena, "%s %s. %s%s%s", tongue_phrase(t, PHRASE_FOOTER),
                        *p->emergency_phone ? p->emergency_phone : p->phone,
                        letter_dog_in(t->c, t->language), *day ? ", " : "", day);
}

static const char *whom(const struct chart *c, const char *language)
{
    const char *rest = chart_signalment_in(c, language);
    return arena_printf(c->arena, "%s%s%s", letter_dog_in(c, language), *rest ? ", " : "", rest);
}

static struct sheet *begin(const struct tongue *t, const char *title, const char *moment)
{
    const struct chart *c = t->c;
    const struct practice *p = &c->cb->set->practice;
    day_number day;
    bool dated = day_of(c->arena, moment, &day);
    struct sheet *s = sheet_new(c->arena, footer(t, dated ? &day : NULL));
    sheet_page_words(s, tongue_phrase(t, PHRASE_PAGE), tongue_phrase(t, PHRASE_OF));
    sheet_add(s, SHEET_PLAIN, p->name);
    if (*p->address)
        sheet_add(s, SHEET_PLAIN, p->address);
    sheet_addf(s, SHEET_PLAIN, "%s %s%s%s", tongue_phrase(t, PHRASE_PHONE), p->phone,
               *p->email ? ", " : "", p->email);
    sheet_add(s, SHEET_BLANK, "");
    sheet_add(s, SHEET_TITLE, title);
    sheet_add(s, SHEET_TITLE, whom(c, t->language));
    if (dated)
        sheet_add(s, SHEET_TITLE, tongue_day(t, day));
    sheet_add(s, SHEET_BLANK, "");
    return s;
}

struct sheet *letter_begin_in(const struct chart *c, const char *language, const char *title)
{
    return begin(&(struct tongue){c, language}, title, chart_moment(c));
}

struct sheet *letter_begin(const struct chart *c, const char *title)
{
    return letter_begin_in(c, "en", title);
}

struct sheet *letter_begin_on(const struct chart *c, const char *title, const char *iso)
{
    return begin(&(struct tongue){c, "en"}, title, iso);
}

/* Who signed the visit, else who wrote in it last; without a visit, in the call. */
static const char *author_of(const struct chart *c)
{
    const struct finding *best = NULL;
    const struct record *r = c->visit.entity ? &c->visit : &c->call;
    for (size_t i = 0; r->entity && i < r->count; i++) {
        const struct finding *f = &r->findings[i];
        if (strcmp(f->item, ID_SIGNED) == 0)
            return f->author;
        if (!best || f->claimed_at > best->claimed_at)
            best = f;
    }
    return best ? best->author : "";
}

const char *letter_author(const struct chart *c)
{
    const struct practitioner *all = NULL;
    size_t count = 0;
    const char *author = author_of(c);
    if (practitioners(c->cb, c->arena, &all, &count, NULL))
        for (size_t i = 0; i < count; i++)
            if (strcmp(all[i].entity, author) == 0)
                return all[i].name;
    return "";
}

void letter_end(const struct chart *c, struct sheet *s)
{
    const struct practice *p = &c->cb->set->practice;
    const char *author = letter_author(c);
    sheet_add(s, SHEET_BLANK, "");
    sheet_addf(s, SHEET_TEXT, "%s%s%s, telephone %s", author, *author ? ", " : "", p->name,
               p->phone);
    if (*p->scope_note)
        sheet_add(s, SHEET_TEXT, p->scope_note);
}

static const char *value_words(const struct chart *c, const char *item, const char *value)
{
    return *value ? finding_show(c->cb->set, item, value, c->arena) : "no value";
}

const char *letter_answer(const struct chart *c, const struct finding *f)
{
    const char *words = value_words(c, f->item, f->text);
    for (size_t i = 0; i < f->other_count; i++)
        words = arena_printf(c->arena, "%s or %s", words, value_words(c, f->item, f->others[i]));
    if (f->other_count > 0)
        words = arena_printf(c->arena, "%s (%zu answers, not settled)", words, f->other_count + 1);
    return words;
}

const char *letter_who(const struct chart *c, const struct finding *f)
{
    return who_when(c->arena, author_initials(c->cb, c->arena, f->author), f->claimed_at);
}

const char *letter_signed(const struct chart *c)
{
    return record_signed(&c->visit) ? arena_printf(c->arena, "signed by %s",
                                                   letter_who(c, record_find(&c->visit, ID_SIGNED)))
                                    : "not signed";
}

const struct record *letter_record(const struct chart *c, const struct form *form)
{
    const struct record *all[] = {&c->visit, &c->call, &c->dog, &c->caregiver};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        if (all[i]->entity && strcmp(all[i]->kind, form->about) == 0)
            return all[i];
    return NULL;
}
