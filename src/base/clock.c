#include "base/clock.h"
#include "base/text.h"
#include "base/units.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static const char *const weekdays[7] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                        "Friday", "Saturday", "Sunday"};
static const char *const months[12] = {"January",   "February", "March",    "April",
                                       "May",       "June",     "July",     "August",
                                       "September", "October",  "November", "December"};

/* Days from 1970-01-01 of a date in the proleptic Gregorian calendar, and back.
 * Source: the era method of Hinnant, "chrono-compatible low-level date algorithms" (from memory).
 */
static day_number from_civil(int y, int m, int d)
{
    y -= m <= 2;
    int era = (y >= 0 ? y : y - 399) / 400;
    int yoe = y - era * 400;
    int doy = (153 * (m > 2 ? m - 3 : m + 9) + 2) / 5 + d - 1;
    int doe = yoe * 365 + yoe / 4 - yoe / 100 + doy;
    return era * 146097 + doe - 719468;
}

static void to_civil(day_number n, int *y, int *m, int *d)
{
    int z = n + 719468;
    int era = (z >= 0 ? z : z - 146096) / 146097;
    int doe = z - era * 146097;
    int yoe = (doe - doe / 1460 + doe / 36524 - doe / 146096) / 365;
    int doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
    int mp = (5 * doy + 2) / 153;
    *d = doy - (153 * mp + 2) / 5 + 1;
    *m = mp < 10 ? mp + 3 : mp - 9;
    *y = yoe + era * 400 + (*m <= 2);
}

static int month_days(int y, int m)
{
    return from_civil(m == 12 ? y + 1 : y, m == 12 ? 1 : m + 1, 1) - from_civil(y, m, 1);
}

static int weekday(day_number d) /* 0: Monday */
{
    int w = (d + 3) % 7;
    return w < 0 ? w + 7 : w;
}

/* Local midnight and minutes to ms; the C library knows the practice's clock changes. */
static int64_t local_ms(day_number d, int minutes)
{
    struct tm tm = {.tm_isdst = -1};
    int y, m, day;
    to_civil(d, &y, &m, &day);
    tm.tm_year = y - 1900;
    tm.tm_mon = m - 1;
    tm.tm_mday = day;
    tm.tm_hour = minutes / 60;
    tm.tm_min = minutes % 60;
    return (int64_t)mktime(&tm) * 1000;
}

/* A time that another device claims may be any number; a day of it must be one we can count. The
 * ends lie a day inside the years 1 and 9999, so that no zone leads out of them. */
static time_t seconds_of(int64_t at)
{
    const int64_t first = INT64_C(-62135510400), last = INT64_C(253402214400);
    int64_t seconds = at / 1000 - (at % 1000 < 0);
    return (time_t)(seconds < first ? first : seconds > last ? last : seconds);
}

static struct tm local_tm(int64_t at)
{
    time_t seconds = seconds_of(at);
    struct tm tm = {.tm_mday = 1};
    (void)localtime_r(&seconds, &tm);
    return tm;
}

int64_t clock_now(void)
{
    const char *frozen = getenv("AMBLE_NOW");
    int y, m, d, hour = 0, minute = 0;
    if (frozen != NULL && sscanf(frozen, "%4d-%2d-%2dT%2d:%2d", &y, &m, &d, &hour, &minute) >= 3 &&
        m >= 1 && m <= 12 && d >= 1 && d <= 31)
        return local_ms(from_civil(y, m, d), hour * 60 + minute);
    struct timespec now;
    (void)clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

day_number clock_day(int64_t at)
{
    struct tm tm = local_tm(at);
    return from_civil(tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday);
}

day_number clock_today(void)
{
    return clock_day(clock_now());
}

char *clock_iso_day(day_number d, char *buf)
{
    int y, m, day;
    to_civil(d, &y, &m, &day);
    (void)snprintf(buf, CLOCK_ROOM, "%04d-%02d-%02d", y, m, day);
    return buf;
}

char *clock_iso_time(int64_t at, char *buf)
{
    struct tm tm = local_tm(at);
    (void)snprintf(buf, CLOCK_ROOM, "%04d-%02d-%02dT%02d:%02d", tm.tm_year + 1900, tm.tm_mon + 1,
                   tm.tm_mday, tm.tm_hour, tm.tm_min);
    return buf;
}

char *clock_utc(int64_t at, char *buf)
{
    time_t seconds = seconds_of(at);
    struct tm tm = {0};
    (void)gmtime_r(&seconds, &tm);
    (void)snprintf(buf, CLOCK_ROOM, "%04d-%02d-%02dT%02d:%02d:%02dZ", tm.tm_year + 1900,
                   tm.tm_mon + 1, tm.tm_mday, tm.tm_hour, tm.tm_min, tm.tm_sec);
    return buf;
}

char *clock_short(day_number d, char *buf)
{
    int y, m, day;
    to_civil(d, &y, &m, &day);
    (void)snprintf(buf, CLOCK_ROOM, "%.3s %d %.3s", weekdays[weekday(d)], day, months[m - 1]);
    return buf;
}

char *clock_dated(day_number d, char *buf)
{
    int y, m, day;
    to_civil(d, &y, &m, &day);
    (void)snprintf(buf, CLOCK_ROOM, "%.3s %d %.3s %d", weekdays[weekday(d)], day, months[m - 1], y);
    return buf;
}

char *clock_long(day_number d, char *buf)
{
    int y, m, day;
    to_civil(d, &y, &m, &day);
    (void)snprintf(buf, CLOCK_ROOM, "%s %d %s %d", weekdays[weekday(d)], day, months[m - 1], y);
    return buf;
}

char *clock_hour(int64_t at, char *buf)
{
    struct tm tm = local_tm(at);
    (void)snprintf(buf, CLOCK_ROOM, "%02d:%02d", tm.tm_hour, tm.tm_min);
    return buf;
}

/* ---- reading --------------------------------------------------------------------------------- */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Length of a word at s that is a start of `name` of three letters or more, else 0. */
static size_t names(const char *s, const char *name)
{
    size_t n = 0;
    while ((s[n] | 32) >= 'a' && (s[n] | 32) <= 'z')
        n++;
    if (n < 3 || n > strlen(name))
        return 0;
    for (size_t i = 0; i < n; i++)
        if ((s[i] | 32) != (name[i] | 32))
            return 0;
    return n;
}

static bool valid_day(int y, int m, int d, day_number *out)
{
    if (y < 1900 || y > 2199 || m < 1 || m > 12 || d < 1 || d > month_days(y, m))
        return false;
    *out = from_civil(y, m, d);
    return true;
}

/* "24 Nov", "24 November 2026": without a year, the nearest such day. */
static bool day_and_month(const char *s, day_number today, day_number *out, int *used)
{
    int d, n = 0;
    if (sscanf(s, "%2d%n", &d, &n) != 1)
        return false;
    while (s[n] == ' ' || s[n] == '.')
        n++;
    for (int m = 1; m <= 12; m++) {
        size_t word = names(s + n, months[m - 1]);
        if (word == 0)
            continue;
        n += (int)word;
        int y, more = 0, ty, tm, td;
        if (sscanf(s + n, " %4d%n", &y, &more) == 1 && y >= 1900) {
            *used = n + more;
            return valid_day(y, m, d, out);
        }
        *used = n;
        to_civil(today, &ty, &tm, &td);
        bool found = false;
        for (y = ty - 1; y <= ty + 1; y++) {
            day_number c;
            if (valid_day(y, m, d, &c) && (!found || abs(c - today) < abs(*out - today))) {
                *out = c;
                found = true;
            }
        }
        return found;
    }
    return false;
}

static bool relative_day(const char *s, day_number today, day_number *out, int *used)
{
    static const struct {
        const char *word;
        int days;
    } words[] = {{"today", 0}, {"yesterday", -1}, {"tomorrow", 1}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        size_t n = names(s, words[i].word);
        if (n > 0) {
            *out = today + words[i].days;
            *used = (int)n;
            return true;
        }
    }
    for (int w = 0; w < 7; w++) {
        size_t n = names(s, weekdays[w]);
        if (n > 0) {
            int ahead = (w - weekday(today) + 7) % 7;
            *out = today + (ahead == 0 ? 7 : ahead);
            *used = (int)n;
            return true;
        }
    }
    int days, n = 0;
    if ((*s == '+' || *s == '-') && is_digit(s[1]) && sscanf(s + 1, "%5d%n", &days, &n) == 1) {
        *out = today + (*s == '-' ? -days : days);
        *used = n + 1;
        return true;
    }
    return false;
}

/* A day at the start of s; *used bytes of it. */
static bool read_day(const char *s, day_number today, day_number *out, int *used)
{
    int a, b, c, n = 0;
    if (sscanf(s, "%4d-%2d-%2d%n", &a, &b, &c, &n) == 3 && n > 0) {
        *used = n;
        return valid_day(a, b, c, out);
    }
    char mark = '\0', again = '\0';
    if (sscanf(s, "%2d%c%2d%c%4d%n", &a, &mark, &b, &again, &c, &n) == 5 && mark == again &&
        (mark == '.' || mark == '/')) {
        *used = n;
        return valid_day(c < 100 ? c + 2000 : c, b, a, out);
    }
    return relative_day(s, today, out, used) || day_and_month(s, today, out, used);
}

bool clock_parse_day(const char *s, day_number today, day_number *out, struct fault *f)
{
    s += strspn(s, " ");
    int used = 0;
    if (!read_day(s, today, out, &used) || s[used + (int)strspn(s + used, " ")] != '\0')
        return fail(
            f, FAULT_INPUT,
            "\"%s\" is not a day; write 24 Nov, 24.11.2026, 2026-11-24, tomorrow, mon or +14", s);
    return true;
}

static int number_of(const char *digits, size_t n)
{
    int v = 0;
    for (size_t i = 0; i < n; i++)
        v = v * 10 + (digits[i] - '0');
    return v;
}

/* "9:30", "0930", "930", "9h", "9.30", "9": minutes of the day. */
static bool read_hour(const char *s, int *minutes)
{
    size_t n = strspn(s, "0123456789");
    if (n == 0 || n > 4)
        return false;
    size_t hours = n > 2 ? n - 2 : n;
    int h = number_of(s, hours), m = number_of(s + hours, n - hours);
    s += n;
    if (n <= 2 && (*s == ':' || *s == '.' || *s == 'h')) {
        n = strspn(s + 1, "0123456789");
        if (n != 2 && !(n == 0 && *s == 'h'))
            return false;
        m = number_of(s + 1, n);
        s += 1 + n;
    }
    if (s[strspn(s, " ")] != '\0' || h > 23 || m > 59)
        return false;
    *minutes = h * 60 + m;
    return true;
}

/* "3 h ago", "2 days ago", "1 h 30 min ago". */
static bool read_ago(const char *s, int64_t now, int64_t *out)
{
    size_t n = strlen(s);
    while (n > 0 && s[n - 1] == ' ')
        n--;
    char span[40];
    if (n < 4 || n - 4 >= sizeof span || strncmp(s + n - 4, " ago", 4) != 0)
        return false;
    memcpy(span, s, n - 4);
    span[n - 4] = '\0';
    double minutes;
    const struct unit *written;
    if (!quantity_parse(span, unit_base(DIM_TIME), &minutes, &written, NULL) || written == NULL ||
        minutes < 0 || minutes > 1e8)
        return false;
    *out = now - (int64_t)(minutes * 60e3);
    return true;
}

bool clock_parse_time(const char *s, int64_t now, int64_t *out, struct fault *f)
{
    s += strspn(s, " ");
    int used = 0, minutes = 0;
    day_number day = clock_day(now);
    if (read_ago(s, now, out))
        return true;
    if (read_hour(s, &minutes)) {
        *out = local_ms(day, minutes);
        return true;
    }
    if (text_same(s, "now")) {
        *out = now;
        return true;
    }
    if (read_day(s, day, &day, &used)) {
        const char *rest = s + used;
        rest += strspn(rest, " T,");
        if (*rest == '\0' || read_hour(rest, &minutes)) {
            *out = local_ms(day, minutes);
            return true;
        }
    }
    return fail(f, FAULT_INPUT,
                "\"%s\" is not a time; write 9:30, 24 Nov 9:30, tomorrow 14:00 or 3 h ago", s);
}

int clock_age_months(day_number born, day_number on)
{
    int by, bm, bd, y, m, d;
    to_civil(born, &by, &bm, &bd);
    to_civil(on, &y, &m, &d);
    return (y - by) * 12 + (m - bm) - (d < bd);
}
