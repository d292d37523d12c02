#include "base/text.h"
#include "base/units.h"
#include "base/utf8.h"
#include "casebook/quantity.h"
#include "output/exports.h"
#include "output/standing.h"
#include <string.h>

enum { CELL_MAX = 1 << 20 };

/* Spreadsheets calculate what starts like this; a leading apostrophe makes it text. A number is
 * left alone: it is harmless, and somebody will want to add it up. */
static bool would_calculate(const char *s)
{
    double v;
    return *s != '\0' && strchr("=+-@", *s) != NULL && !(*s == '-' && number_lead(s, &v));
}

static void put_cell(struct text *out, const char *s, bool last)
{
    struct text safe;
    text_init(&safe, CELL_MAX);
    utf8_show(&safe, s, true);
    bool quoted = strpbrk(safe.s, "\",\r\n") != NULL || *safe.s == ' ';
    if (quoted)
        text_addc(out, '"');
    if (would_calculate(safe.s))
        text_addc(out, '\'');
    for (const char *p = safe.s; *p != '\0'; p++) {
        if (*p == '"')
            text_addc(out, '"');
        text_addc(out, *p);
    }
    text_add(out, quoted ? "\"" : "");
    text_add(out, last ? "\r\n" : ",");
    text_free(&safe);
}

void csv_heading(struct text *out)
{
    text_add(out, "record,id,item,label,value,number,unit,shown,state,amended,by,at,reason\r\n");
}

static void put_value(struct casebook *cb, struct arena *a, const struct record *r,
                      const struct standing *s, size_t k, struct text *out)
{
    const struct entry *e = &s->heads[k];
    char at[CLOCK_ROOM];
    const char *digits = "";
    const struct unit *unit = NULL;
    bool error = e->kind == ENTRY_ERROR;
    (void)quantity_parts(e->value, a, &digits, &unit);
    const char *const cells[] = {
        r->kind,
        r->entity,
        e->item,
        finding_label(cb->set, e->item, a),
        e->value,
        digits,
        unit != NULL ? unit->name : "",
        error ? "" : finding_show(cb->set, e->item, e->value, a),
        s->conflict ? "not settled"
        : error     ? "entered in error"
                    : "",
        s->after[k] ? "amended" : "",
        author_initials(cb, a, e->author),
        clock_iso_time(e->claimed_at, at),
        reason_words(e->reason),
    };
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++)
        put_cell(out, cells[i], i + 1 == sizeof cells / sizeof *cells);
}

bool csv_record(struct casebook *cb, struct arena *a, const char *entity, struct text *out,
                struct fault *f)
{
    struct record r;
    const struct standing *all;
    size_t count;
    if (!record_load(cb, a, entity, &r, f) || !standing_look(cb, a, &r, &all, &count, f))
        return false;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < all[i].count; k++)
            put_value(cb, a, &r, &all[i], k, out);
    return true;
}
