#include "base/arena.h"
#include "base/text.h"
#include "casebook/ids.h"
#include "casebook/today.h"
#include "output/content_line.h"
#include "output/exports.h"
#include "output/letter.h"
#include <string.h>

enum { DAYS_MOST = 3660 };

static const char *words(enum due_kind kind)
{
    switch (kind) {
    case DUE_VISIT:
        return "Visit";
    case DUE_RING_BACK:
        return "Ring back";
    case DUE_REVIEW:
        return "Review due";
    case DUE_CULTURE:
        return "Urine culture due";
    case DUE_LOAN:
        return "Loan due back";
    default:
        return NULL; /* has no day */
    }
}

/* "2026-11-24T10:00" without its marks, ready for more digits. */
static const char *digits_of(struct arena *a, const char *iso)
{
    char *out = arena_str(a, iso);
    size_t n = 0;
    for (const char *p = iso; *p != '\0'; p++)
        if (*p != '-' && *p != ':')
            out[n++] = *p;
    out[n] = '\0';
    return out;
}

static void put_place(const struct chart *c, struct text *out)
{
    const struct finding *f = record_find(&c->caregiver, ID_CAREGIVER_ADDRESS);
    if (f != NULL && (*f->text != '\0' || f->other_count > 0))
        content_text(out, c->arena, "LOCATION", letter_answer(c, f));
}

static void put_event(struct casebook *cb, struct arena *a, const struct due *d, const char *stamp,
                      struct text *out)
{
    char uid[IDENT_ROOM];
    ident_of(arena_printf(a, "%s %s %s", due_word(d->kind), d->entity, d->at), uid);
    content_line(out, "BEGIN", "VEVENT");
    content_line(out, "UID", arena_printf(a, "urn:uuid:%s", uid));
    content_line(out, "DTSTAMP", stamp);
    const char *at = digits_of(a, d->at);
    if (strchr(at, 'T') != NULL) /* a time without a zone, as it was agreed */
        content_line(out, "DTSTART", arena_printf(a, "%s00", at));
    else
        content_line(out, "DTSTART;VALUE=DATE", at);
    content_text(out, a, "SUMMARY", arena_printf(a, "%s: %s", words(d->kind), d->who));
    content_text(out, a, "DESCRIPTION", d->what);
    struct chart c;
    struct fault unread = {0};
    if (d->kind == DUE_VISIT && chart_load(cb, a, d->entity, &c, &unread) && c.caregiver.entity)
        put_place(&c, out);
    content_line(out, "END", "VEVENT");
}

bool calendar_from(struct casebook *cb, struct arena *a, day_number from, struct text *out,
                   struct fault *f)
{
    char iso[CLOCK_ROOM];
    struct today today;
    if (!today_look_ahead(cb, a, DAYS_MOST, &today, f))
        return false;
    const char *stamp = digits_of(a, clock_utc(clock_now(), iso));
    clock_iso_day(from, iso);
    content_line(out, "BEGIN", "VCALENDAR");
    content_line(out, "VERSION", "2.0");
    content_line(out, "PRODID", "-//amble//EN");
    for (size_t i = 0; i < today.count; i++)
        if (words(today.rows[i].kind) != NULL && strcmp(today.rows[i].at, iso) >= 0)
            put_event(cb, a, &today.rows[i], stamp, out);
    content_line(out, "END", "VCALENDAR");
    return true;
}
