#include "base/units.h"
#include "base/text.h"
#include "base/utf8.h"
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Base unit of each dimension first. Factors of in, ft, lb, oz, lbf, kgf are exact by definition
 * (international yard and pound, 1959; standard gravity, CGPM 1901); psi and mmHg follow from them
 * and from NIST SP 811. */
#define LB   0.45359237
#define GN   9.80665
#define INCH 25.4
static const struct unit units[] = {
    {"mm", "millimetre millimeter millimetres millimeters", "mm", DIM_LENGTH, 1.0, 0.0},
    {"cm", "centimetre centimeter centimetres centimeters", "cm", DIM_LENGTH, 10.0, 0.0},
    {"m", "metre meter metres meters", "m", DIM_LENGTH, 1000.0, 0.0},
    {"in", "inch inches \" \u201d \u2033 ''", "[in_i]", DIM_LENGTH, INCH, 0.0},
    {"ft", "foot feet ' \u2019 \u2032", "[ft_i]", DIM_LENGTH, 12 * INCH, 0.0},
    {"kg", "kilo kilos kilogram kilograms kgs", "kg", DIM_MASS, 1.0, 0.0},
    {"g", "gram grams", "g", DIM_MASS, 0.001, 0.0},
    {"lb", "lbs pound pounds", "[lb_av]", DIM_MASS, LB, 0.0},
    {"oz", "ounce ounces", "[oz_av]", DIM_MASS, LB / 16, 0.0},
    {"st", "stone", "[stone_av]", DIM_MASS, 14 * LB, 0.0},
    {"deg", "\u00b0 degree degrees", "deg", DIM_ANGLE, 1.0, 0.0},
    {"rad", "radian radians", "rad", DIM_ANGLE, 57.295779513082320877, 0.0},
    {"N", "newton newtons", "N", DIM_FORCE, 1.0, 0.0},
    {"kgf", "kp", "kgf", DIM_FORCE, GN, 0.0},
    {"lbf", "", "[lbf_av]", DIM_FORCE, LB *GN, 0.0},
    {"kPa", "", "kPa", DIM_PRESSURE, 1.0, 0.0},
    {"Pa", "", "Pa", DIM_PRESSURE, 0.001, 0.0},
    {"mmHg", "", "mm[Hg]", DIM_PRESSURE, 0.133322387415, 0.0},
    {"psi", "", "[psi]", DIM_PRESSURE, LB *GN / (INCH * INCH) * 1000, 0.0},
    {"ml", "mL millilitre milliliter millilitres milliliters", "mL", DIM_VOLUME, 1.0, 0.0},
    {"l", "L litre liter litres liters", "L", DIM_VOLUME, 1000.0, 0.0},
    {"cm2", "cm\u00b2", "cm2", DIM_AREA, 1.0, 0.0},
    {"in2", "in\u00b2", "[sin_i]", DIM_AREA, 6.4516, 0.0},
    {"min", "minute minutes", "min", DIM_TIME, 1.0, 0.0},
    {"s", "sec second seconds", "s", DIM_TIME, 1.0 / 60, 0.0},
    {"h", "hr hrs hour hours", "h", DIM_TIME, 60.0, 0.0},
    {"d", "day days", "d", DIM_TIME, 1440.0, 0.0},
    {"wk", "week weeks", "wk", DIM_TIME, 10080.0, 0.0},
    {"degC", "\u00b0C C celsius", "Cel", DIM_TEMPERATURE, 1.0, 0.0},
    {"degF", "\u00b0F F fahrenheit", "[degF]", DIM_TEMPERATURE, 5.0 / 9, -160.0 / 9},
    {"%", "percent", "%", DIM_SHARE, 1.0, 0.0},
    {"kcal", "", "kcal", DIM_ENERGY, 1.0, 0.0},
    {"kJ", "", "kJ", DIM_ENERGY, 1 / 4.184, 0.0},
};
enum { UNIT_COUNT = sizeof units / sizeof *units };

static const char *const dimension_words[DIM_COUNT] = {
    "a number", "a length", "a weight", "an angle",      "a force",      "a pressure",
    "a volume", "an area",  "a time",   "a temperature", "a percentage", "an energy",
};

static bool among(const char *word, size_t n, const char *list)
{
    for (const char *p = list; *p != '\0';) {
        size_t w = strcspn(p, " ");
        if (w == n && strncmp(p, word, n) == 0)
            return true;
        p += w + (p[w] == ' ');
    }
    return false;
}

/* Case counts first ("m" against "M"); else "MM" or "Kg" are understood when only one unit fits. */
static const struct unit *find_n(const char *name, size_t n)
{
    for (size_t i = 0; i < UNIT_COUNT; i++)
        if ((strlen(units[i].name) == n && strncmp(units[i].name, name, n) == 0) ||
            among(name, n, units[i].others))
            return &units[i];
    char low[24];
    if (n >= sizeof low || n < 2)
        return NULL;
    for (size_t i = 0; i < n; i++)
        low[i] = (char)tolower((unsigned char)name[i]);
    low[n] = '\0';
    for (size_t i = 0; i < UNIT_COUNT; i++)
        if (text_same(units[i].name, low) || among(low, n, units[i].others))
            return &units[i];
    return NULL;
}

const struct unit *unit_find(const char *name)
{
    return find_n(name, strlen(name));
}

const struct unit *unit_base(enum dimension d)
{
    for (size_t i = 0; i < UNIT_COUNT; i++)
        if (units[i].dimension == d)
            return &units[i];
    return NULL;
}

const struct unit *unit_all(size_t *count)
{
    *count = UNIT_COUNT;
    return units;
}

double unit_from_base(const struct unit *u, double base)
{
    return (base - u->offset) / u->factor;
}

double unit_to_base(const struct unit *u, double value)
{
    return value * u->factor + u->offset;
}

/* ---- reading --------------------------------------------------------------------------------- */

struct reader {
    const char *at;
    const char *whole;
    struct fault *f;
};

static void skip_blanks(struct reader *r)
{
    while (*r->at == ' ' || *r->at == '\t' || strncmp(r->at, "\u00a0", 2) == 0)
        r->at += *r->at == ' ' || *r->at == '\t' ? 1 : 2;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool digits(struct reader *r, double *value)
{
    if (!is_digit(*r->at))
        return false;
    *value = 0;
    for (; is_digit(*r->at); r->at++)
        *value = *value * 10 + (*r->at - '0');
    return true;
}

/* Half, quarters and eighths that a keyboard or another program may have typed as one character. */
static bool vulgar(struct reader *r, double *value)
{
    static const struct {
        const char *s;
        double v;
    } signs[] = {{"\u00bc", 0.25},  {"\u00bd", 0.5},   {"\u00be", 0.75}, {"\u215b", 0.125},
                 {"\u215c", 0.375}, {"\u215d", 0.625}, {"\u215e", 0.875}};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        if (text_starts(r->at, signs[i].s)) {
            *value = signs[i].v;
            r->at += strlen(signs[i].s);
            return true;
        }
    return false;
}

/* "n/d" at the reader; false and unmoved when it is something else. */
static bool fraction(struct reader *r, double *value)
{
    const char *start = r->at;
    double n, d;
    if (digits(r, &n)) {
        skip_blanks(r);
        if (*r->at == '/') {
            r->at++;
            skip_blanks(r);
            if (digits(r, &d) && d > 0) {
                *value = n / d;
                return true;
            }
        }
    }
    r->at = start;
    return vulgar(r, value);
}

static bool begins_amount(struct reader r)
{
    double unused;
    return is_digit(*r.at) || vulgar(&r, &unused);
}

/* A number without sign: 12, 12.5, 12,5, .5, 9 1/4, 1/2. */
static bool amount(struct reader *r, double *value)
{
    if (fraction(r, value))
        return true;
    const char *start = r->at;
    while (is_digit(*r->at))
        r->at++;
    if ((*r->at == '.' || *r->at == ',') && is_digit(r->at[1])) {
        r->at++;
        while (is_digit(*r->at))
            r->at++;
        if (*r->at == '.' || *r->at == ',')
            return fail(r->f, FAULT_INPUT,
                        "\"%s\" has two decimal marks; write one point or one comma", r->whole);
    } else if (r->at == start) {
        return fail(r->f, FAULT_INPUT, "\"%s\" is not a number with a unit", r->whole);
    }
    char plain[64];
    size_t n = (size_t)(r->at - start);
    if (n >= sizeof plain)
        return fail(r->f, FAULT_INPUT, "\"%.40s...\" has too many digits", r->whole);
    memcpy(plain, start, n);
    plain[n] = '\0';
    char *comma = strchr(plain, ',');
    if (comma != NULL)
        *comma = '.';
    *value = strtod(plain, NULL);
    const char *after = r->at;
    double part;
    if (*r->at == '-') /* 9-1/4, as carpenters write it */
        r->at++;
    else
        skip_blanks(r);
    if (strchr(plain, '.') == NULL && fraction(r, &part) && part < 1)
        *value += part;
    else
        r->at = after;
    return true;
}

/* The unit at the reader, or NULL when there is none; words and signs up to the next number. */
static bool unit_at(struct reader *r, const struct unit **unit)
{
    skip_blanks(r);
    size_t n = strcspn(r->at, " \t0123456789.,/-");
    *unit = NULL;
    if (n == 0)
        return true;
    if (r->at[n] == '2' && !is_digit(r->at[n + 1])) /* cm2, in2; not the 2 of 5ft2in */
        *unit = find_n(r->at, n + 1);
    if (*unit != NULL)
        n++;
    else
        *unit = find_n(r->at, n);
    if (*unit == NULL)
        return fail(r->f, FAULT_INPUT, "\"%.*s\" is not a unit this program knows", (int)n, r->at);
    r->at += n;
    if (*r->at == '.') /* "in." */
        r->at++;
    return true;
}

static bool fits(struct reader *r, const struct unit *u, const struct unit *assumed)
{
    enum dimension want = assumed == NULL ? DIM_NONE : assumed->dimension;
    if (u == NULL || u->dimension == want)
        return true;
    if (want == DIM_NONE)
        return fail(r->f, FAULT_INPUT, "\"%s\": a number without a unit is expected", r->whole);
    return fail(r->f, FAULT_INPUT, "\"%s\": %s is %s; %s is expected, for example in %s", r->whole,
                u->name, dimension_words[u->dimension], dimension_words[want], assumed->name);
}

bool quantity_parse(const char *s, const struct unit *assumed, double *value,
                    const struct unit **unit_out, struct fault *f)
{
    struct reader r = {.at = s, .whole = s, .f = f};
    skip_blanks(&r);
    bool minus = false;
    if (*r.at == '-' || *r.at == '+') {
        minus = *r.at == '-';
        r.at++;
    } else if (text_starts(r.at, "\u2212")) {
        minus = true;
        r.at += strlen("\u2212");
    }
    double first;
    const struct unit *unit;
    if (!amount(&r, &first) || !unit_at(&r, &unit) || !fits(&r, unit, assumed))
        return false;
    const struct unit *used = unit != NULL ? unit : assumed;
    double total = used == NULL ? first : unit_to_base(used, minus ? -first : first);
    if (used == NULL && minus)
        total = -total;
    skip_blanks(&r);
    if (unit != NULL && begins_amount(r)) { /* 1' 3 1/2", 12 lb 4 oz: the second unit is smaller */
        double second;
        const struct unit *smaller;
        if (!amount(&r, &second) || !unit_at(&r, &smaller))
            return false;
        if (smaller == NULL || smaller->dimension != unit->dimension ||
            smaller->factor >= unit->factor || unit->dimension == DIM_TEMPERATURE)
            return fail(f, FAULT_INPUT,
                        "\"%s\" does not end with a smaller unit, as 12 lb 4 oz does", s);
        total += (minus ? -1 : 1) * unit_to_base(smaller, second);
        skip_blanks(&r);
    }
    if (*r.at != '\0')
        return fail(f, FAULT_INPUT, "\"%s\": \"%s\" is left over after the quantity", s, r.at);
    if (!isfinite(total))
        return fail(f, FAULT_INPUT, "\"%s\" is too large a number", s);
    *value = total + 0.0; /* never -0 */
    if (unit_out != NULL)
        *unit_out = unit;
    return true;
}

/* ---- writing --------------------------------------------------------------------------------- */

char *number_format(double value, int decimals, bool fixed, char *buf, size_t room)
{
    int n = snprintf(buf, room, "%.*f", decimals, value);
    if (n < 0 || (size_t)n >= room) {
        (void)snprintf(buf, room, "%g", value);
        return buf;
    }
    if (!fixed && strchr(buf, '.') != NULL) {
        char *end = buf + n;
        while (end[-1] == '0')
            *--end = '\0';
        if (end[-1] == '.')
            end[-1] = '\0';
    }
    if (buf[0] == '-' && strspn(buf + 1, "0.") == strlen(buf + 1))
        memmove(buf, buf + 1, strlen(buf));
    return buf;
}

void number_mark(char *shown, char mark)
{
    static const char digits[] = "0123456789";
    for (char *p = shown; (p = strchr(p, '.')) != NULL; p++)
        if (p > shown && strchr(digits, p[-1]) != NULL && p[1] != '\0' &&
            strchr(digits, p[1]) != NULL)
            *p = mark;
}

bool number_lead(const char *canonical, double *value)
{
    size_t n = strspn(canonical, "-+.0123456789eE"); /* no hexadecimal, no "nan" */
    char *end;
    *value = strtod(canonical, &end);
    return n > 0 && end == canonical + n && isfinite(*value) && (*end == '\0' || *end == ' ');
}
