#include "casebook/quantity.h"
#include "base/arena.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { NUMBER_ROOM = 64, EDIT_DECIMALS = 9 };

const struct unit *kept_unit(const struct item *item)
{
    switch (item->kind) {
    case ITEM_LENGTH:
        return unit_base(DIM_LENGTH);
    case ITEM_MASS:
        return unit_base(DIM_MASS);
    default:
        return item->unit;
    }
}

const struct unit *shown_unit(const struct template_set *set, const struct item *item)
{
    const struct unit *wanted = item->kind == ITEM_LENGTH ? set->practice.length_unit
                                : item->kind == ITEM_MASS ? set->practice.mass_unit
                                                          : item->unit;
    if (wanted != NULL)
        return wanted;
    return item->unit != NULL ? item->unit : kept_unit(item);
}

/* Powers of ten between two units (cm to mm: 1); false when the factor is none. */
static bool tens_between(const struct unit *from, const struct unit *to, int *tens)
{
    *tens = 0;
    if (from == NULL || to == NULL || from == to)
        return true;
    if (from->offset != 0 || to->offset != 0)
        return false;
    double power = log10(from->factor / to->factor);
    *tens = (int)lround(power);
    return fabs(power - *tens) < 1e-9;
}

/* Places after the decimal mark of the first number in a text. */
static int places(const char *typed)
{
    const char *p = typed + strcspn(typed, "0123456789.,");
    p += strspn(p, "0123456789");
    return *p == '.' || *p == ',' ? (int)strspn(p + 1, "0123456789") : 0;
}

static double in_unit(const struct unit *u, double base)
{
    return u == NULL ? base : unit_from_base(u, base);
}

static const char *with_unit(const char *number, const struct unit *u, struct arena *a)
{
    return u == NULL ? arena_str(a, number) : arena_printf(a, "%s %s", number, u->name);
}

bool quantity_read(const char *typed, const struct unit *shown, const struct unit *kept,
                   struct arena *a, const char **canonical, double *base, struct fault *f)
{
    const struct unit *written = NULL;
    if (!quantity_parse(typed, shown, base, &written, f))
        return false;
    double value = in_unit(kept, *base), kept_value;
    char number[NUMBER_ROOM];
    int tens;
    bool plain = tens_between(written != NULL ? written : shown, kept, &tens);
    int n = plain ? places(typed) - tens : 0;
    number_format(value, n > 0 ? n : 0, true, number, sizeof number);
    bool whole = plain && number_lead(number, &kept_value) &&
                 fabs(kept_value - value) <= 1e-9 * fmax(1, fabs(value));
    if (!whole) /* "9 1/4 in", "12 lb 4 oz" */
        number_format(value, QUANTITY_DECIMALS, false, number, sizeof number);
    *canonical = with_unit(number, kept, a);
    return true;
}

const char *quantity_text(double base, const struct unit *kept, struct arena *a)
{
    char number[NUMBER_ROOM];
    number_format(in_unit(kept, base), QUANTITY_DECIMALS, false, number, sizeof number);
    return with_unit(number, kept, a);
}

int decimals_in(const struct unit *to, const struct unit *from, int decimals)
{
    if (to == NULL || from == NULL || to == from)
        return decimals;
    int n = decimals + (int)ceil(log10(to->factor / from->factor) - 1e-9);
    return n < 0 ? 0 : n > 6 ? 6 : n;
}

const char *quantity_show(const char *canonical, const struct unit *kept, const struct unit *shown,
                          const struct unit *declared, int decimals, struct arena *a)
{
    double value;
    char number[NUMBER_ROOM];
    if (!number_lead(canonical, &value))
        return canonical;
    if (kept == shown && decimals < 0)
        return canonical;
    int n = decimals >= 0 ? decimals_in(shown, declared, decimals)
                          : decimals_in(shown, kept, places(canonical));
    double base = kept == NULL ? value : unit_to_base(kept, value);
    number_format(in_unit(shown, base), n, decimals >= 0, number, sizeof number);
    return with_unit(number, shown, a);
}

const char *quantity_edit(const char *canonical, const struct unit *kept, const struct unit *shown,
                          struct arena *a)
{
    double value, base;
    char number[NUMBER_ROOM];
    const char *again;
    if (!number_lead(canonical, &value))
        return canonical;
    for (int n = 0; n <= EDIT_DECIMALS; n++) {
        number_format(in_unit(shown, kept == NULL ? value : unit_to_base(kept, value)), n, true,
                      number, sizeof number);
        if (quantity_read(number, shown, kept, a, &again, &base, NULL) &&
            strcmp(again, canonical) == 0)
            return arena_str(a, number);
    }
    return canonical; /* with its unit, which reads as it stands */
}

/* Bytes of the JSON number, without exponent, that `s` starts with; 0 when it starts with none. */
static size_t number_bytes(const char *s)
{
    static const char digits[] = "0123456789";
    size_t sign = *s == '-';
    size_t whole = strspn(s + sign, digits);
    size_t n = sign + whole;
    if (whole == 0 || (whole > 1 && s[sign] == '0'))
        return 0;
    size_t places = s[n] == '.' ? strspn(s + n + 1, digits) : 0;
    return places > 0 ? n + 1 + places : n;
}

bool quantity_parts(const char *canonical, struct arena *a, const char **digits,
                    const struct unit **unit)
{
    size_t n = number_bytes(canonical);
    *unit = n > 0 && canonical[n] == ' ' ? unit_find(canonical + n + 1) : NULL;
    if (n == 0 || (canonical[n] != '\0' && *unit == NULL))
        return false;
    *digits = arena_strn(a, canonical, n);
    return true;
}
