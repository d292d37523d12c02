/* Days and times: the calendar, clock changes, and all the ways a person types a day. The time zone
 * is Central Europe, written out as a rule so that no zone files are needed. */
#include "base/clock.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

static int central_europe(void **state)
{
    (void)state;
    (void)setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);
    tzset();
    return unsetenv("AMBLE_NOW");
}

static day_number day(const char *iso)
{
    day_number d = 0;
    struct fault f = {0};
    if (!clock_parse_day(iso, 0, &d, &f))
        fail_msg("%s", f.text);
    return d;
}

static int64_t moment(const char *iso)
{
    int64_t at = 0;
    struct fault f = {0};
    if (!clock_parse_time(iso, 0, &at, &f))
        fail_msg("%s", f.text);
    return at;
}

static void counts_days(void **state)
{
    (void)state;
    char buf[CLOCK_ROOM];
    assert_int_equal(day("1970-01-01"), 0);
    assert_int_equal(day("1970-01-02"), 1);
    assert_int_equal(day("2000-03-01"), 11017);
    assert_int_equal(day("1900-03-01") - day("1900-02-28"), 1); /* no leap year */
    assert_int_equal(day("2000-03-01") - day("2000-02-28"), 2); /* a leap year */
    assert_int_equal(day("2100-03-01") - day("2100-02-28"), 1);
    assert_string_equal(clock_iso_day(day("2024-02-28") + 1, buf), "2024-02-29");
    for (day_number d = day("1900-01-01"); d <= day("2199-12-31"); d++) { /* there and back */
        day_number back;
        (void)clock_iso_day(d, buf);
        if (!clock_parse_day(buf, 0, &back, NULL) || back != d)
            fail_msg("%s", buf);
    }
}

/* The C library's calendar as a second opinion. */
static void agrees_with_the_library(void **state)
{
    (void)state;
    for (int64_t seconds = -2208988800; seconds < 7258118400; seconds += 12345678) {
        time_t t = (time_t)seconds;
        struct tm tm;
        char want[CLOCK_ROOM], buf[CLOCK_ROOM];
        assert_non_null(localtime_r(&t, &tm));
        (void)strftime(want, sizeof want, "%Y-%m-%d", &tm);
        assert_string_equal(clock_iso_day(clock_day(seconds * 1000), buf), want);
        (void)strftime(want, sizeof want, "%Y-%m-%dT%H:%M", &tm);
        assert_string_equal(clock_iso_time(seconds * 1000, buf), want);
        assert_non_null(gmtime_r(&t, &tm));
        (void)strftime(want, sizeof want, "%Y-%m-%dT%H:%M:%SZ", &tm);
        assert_string_equal(clock_utc(seconds * 1000, buf), want);
    }
    char buf[CLOCK_ROOM];
    assert_string_equal(clock_iso_time(-1, buf), "1970-01-01T00:59"); /* before 1970: rounds down */
    assert_string_equal(clock_utc(-1, buf), "1969-12-31T23:59:59Z");
}

static void writes_days(void **state)
{
    (void)state;
    char buf[CLOCK_ROOM];
    assert_string_equal(clock_short(day("2026-11-24"), buf), "Tue 24 Nov");
    assert_string_equal(clock_dated(day("2026-11-24"), buf), "Tue 24 Nov 2026");
    assert_string_equal(clock_long(day("2026-11-24"), buf), "Tuesday 24 November 2026");
    assert_string_equal(clock_short(day("2026-03-01"), buf), "Sun 1 Mar");
    assert_string_equal(clock_long(day("1969-12-31"), buf), "Wednesday 31 December 1969");
    assert_string_equal(clock_hour(moment("2026-11-24 09:05"), buf), "09:05");
}

static void stands_still_when_told(void **state)
{
    (void)state;
    char buf[CLOCK_ROOM];
    (void)setenv("AMBLE_NOW", "2026-11-24T09:30", 1);
    assert_int_equal(clock_now(), INT64_C(1795509000000)); /* 08:30 UTC */
    assert_string_equal(clock_iso_time(clock_now(), buf), "2026-11-24T09:30");
    assert_int_equal(clock_today(), day("2026-11-24"));
    (void)setenv("AMBLE_NOW", "2026-07-01", 1);
    assert_string_equal(clock_iso_time(clock_now(), buf), "2026-07-01T00:00");
    (void)setenv("AMBLE_NOW", "nonsense", 1); /* then the real clock, not 1970 */
    assert_true(clock_now() > moment("2024-01-01 00:00"));
    (void)unsetenv("AMBLE_NOW");
    int64_t before = (int64_t)time(NULL) * 1000;
    assert_true(clock_now() >= before && clock_now() < before + 60000);
}

static const char today_iso[] = "2026-11-24"; /* a Tuesday */

static void reads_day(const char *s, const char *want)
{
    day_number d = -1;
    struct fault f = {0};
    char buf[CLOCK_ROOM];
    if (!clock_parse_day(s, day(today_iso), &d, &f))
        fail_msg("\"%s\" was refused: %s", s, f.text);
    if (strcmp(clock_iso_day(d, buf), want) != 0)
        fail_msg("\"%s\" was taken as %s, not %s", s, buf, want);
}

static void reads_days(void **state)
{
    (void)state;
    reads_day("2026-11-24", "2026-11-24");
    reads_day("  2026-11-24  ", "2026-11-24");
    reads_day("24.11.2026", "2026-11-24");
    reads_day("24/11/2026", "2026-11-24");
    reads_day("1.2.2026", "2026-02-01");
    reads_day("3/4/2026", "2026-04-03"); /* the day comes first, always */
    reads_day("24.11.26", "2026-11-24");
    reads_day("24 Nov", "2026-11-24");
    reads_day("24nov", "2026-11-24");
    reads_day("24. November", "2026-11-24");
    reads_day("24 november 2025", "2025-11-24");
    reads_day("1 sept 2026", "2026-09-01");
    reads_day("3 Jan", "2027-01-03"); /* the nearest one */
    reads_day("30 Jun", "2026-06-30");
    reads_day("29 Feb 2028", "2028-02-29");
    reads_day("today", "2026-11-24");
    reads_day("Tomorrow", "2026-11-25");
    reads_day("yesterday", "2026-11-23");
    reads_day("wed", "2026-11-25");
    reads_day("Monday", "2026-11-30");
    reads_day("tue", "2026-12-01"); /* the next one, not today */
    reads_day("+14", "2026-12-08");
    reads_day("-3", "2026-11-21");
    reads_day("+0", "2026-11-24");
}

static void refuses_what_is_no_day(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "soon",
        "24",
        "2026",
        "2026-13-01",
        "2026-00-10",
        "2026-02-29",
        "2100-02-29",
        "29 Feb",
        "31.4.2026",
        "11/24/2026",
        "24.11/2026",
        "24.11",
        "0 Nov",
        "32 Nov",
        "24 Nox",
        "24 no",
        "1850-01-01",
        "2200-01-01",
        "26-11-24",
        "2026-11-241",
        "24 Nov 9:30",
        "+",
        "+-3",
        "--3",
        "+ 3",
        "+3x",
        "mo",
        "mondays",
        "todayish",
        "24.11.2026 or so",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        day_number d;
        struct fault f = {0};
        if (clock_parse_day(bad[i], day(today_iso), &d, &f))
            fail_msg("\"%s\" was taken", bad[i]);
        assert_int_equal(f.kind, FAULT_INPUT);
    }
    day_number d;
    struct fault f;
    assert_false(clock_parse_day(" soon", 0, &d, &f));
    assert_string_equal(f.text, "\"soon\" is not a day; write 24 Nov, 24.11.2026, 2026-11-24, "
                                "tomorrow, mon or +14");
}

static void reads_time(const char *s, const char *want)
{
    int64_t at = -1;
    struct fault f = {0};
    char buf[CLOCK_ROOM];
    if (!clock_parse_time(s, moment("2026-11-24 15:20"), &at, &f))
        fail_msg("\"%s\" was refused: %s", s, f.text);
    if (strcmp(clock_iso_time(at, buf), want) != 0)
        fail_msg("\"%s\" was taken as %s, not %s", s, buf, want);
}

static void reads_times(void **state)
{
    (void)state;
    reads_time("9:30", "2026-11-24T09:30");
    reads_time("09:30", "2026-11-24T09:30");
    reads_time(" 9.30 ", "2026-11-24T09:30");
    reads_time("9h30", "2026-11-24T09:30");
    reads_time("9h", "2026-11-24T09:00");
    reads_time("9", "2026-11-24T09:00");
    reads_time("930", "2026-11-24T09:30");
    reads_time("0930", "2026-11-24T09:30");
    reads_time("2359", "2026-11-24T23:59");
    reads_time("0:00", "2026-11-24T00:00");
    reads_time("now", "2026-11-24T15:20");
    reads_time("2026-11-25T09:30", "2026-11-25T09:30");
    reads_time("2026-11-25 9:30", "2026-11-25T09:30");
    reads_time("24.11.2026 9.30", "2026-11-24T09:30");
    reads_time("24 Nov 9:30", "2026-11-24T09:30");
    reads_time("24 Nov 0930", "2026-11-24T09:30");
    reads_time("24 Nov, 9h", "2026-11-24T09:00");
    reads_time("24 Nov 2027", "2027-11-24T00:00"); /* a year, not 20:27 */
    reads_time("24 Nov 2027 2027", "2027-11-24T20:27");
    reads_time("tomorrow 14:00", "2026-11-25T14:00");
    reads_time("mon 8", "2026-11-30T08:00");
    reads_time("tomorrow", "2026-11-25T00:00");
    reads_time("+14", "2026-12-08T00:00");
    reads_time("+5", "2026-11-29T00:00"); /* days, as in every day field; not five o'clock */
    reads_time("+1 9:30", "2026-11-25T09:30");
    reads_time("3 h ago", "2026-11-24T12:20");
    reads_time("3h ago", "2026-11-24T12:20");
    reads_time("1.5 hours ago", "2026-11-24T13:50");
    reads_time("1,5 h ago ", "2026-11-24T13:50");
    reads_time("1 h 30 min ago", "2026-11-24T13:50");
    reads_time("20 minutes ago", "2026-11-24T15:00");
    reads_time("2 days ago", "2026-11-22T15:20");
    reads_time("1 week ago", "2026-11-17T15:20");
}

static void refuses_what_is_no_time(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "noon",
        "24:00",
        "9:60",
        "9:5",
        "9:",
        "9:300",
        "12345",
        "-5:00",
        "9:30 pm",
        "x 9:30",
        "ago",
        "3 ago",
        "h ago",
        "-3 h ago",
        "3 kg ago",
        "nan h ago",
        "inf h ago",
        "24 Nov 25:00",
        "24 Nov 24",
        "2026-11-24T9:3",
        "1e9 h ago",
        "99999999999 h ago",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        int64_t at;
        struct fault f = {0};
        if (clock_parse_time(bad[i], moment("2026-11-24 15:20"), &at, &f))
            fail_msg("\"%s\" was taken", bad[i]);
        assert_int_equal(f.kind, FAULT_INPUT);
    }
    int64_t at;
    struct fault f;
    assert_false(clock_parse_time("noon", 0, &at, &f));
    assert_string_equal(f.text,
                        "\"noon\" is not a time; write 9:30, 24 Nov 9:30, tomorrow 14:00 or 3 h "
                        "ago");
}

/* Summer time began on 29 March 2026 at 2:00 and ended on 25 October at 3:00. */
static void lives_with_clock_changes(void **state)
{
    (void)state;
    enum { HOUR = 3600000 };
    char buf[CLOCK_ROOM];
    assert_int_equal(moment("2026-03-30 00:00") - moment("2026-03-29 00:00"), 23 * HOUR);
    assert_int_equal(moment("2026-10-26 00:00") - moment("2026-10-25 00:00"), 25 * HOUR);
    assert_int_equal(moment("2026-07-01 12:00") % (24 * HOUR), 10 * HOUR); /* UTC + 2 */
    assert_int_equal(moment("2026-12-01 12:00") % (24 * HOUR), 11 * HOUR); /* UTC + 1 */
    for (const char *const *iso =
             (const char *const[]){"2026-03-29", "2026-10-25", "2026-03-30", NULL};
         *iso != NULL; iso++)
        for (int h = 0; h < 24; h++) /* no hour of such a day falls on another day */
            assert_int_equal(clock_day(moment(*iso) + (int64_t)h * HOUR) - day(*iso),
                             h == 23 && strcmp(*iso, "2026-03-29") == 0);
    /* An hour that is left out means one beside it, on the same day. */
    assert_string_equal(clock_iso_day(clock_day(moment("2026-03-29 02:30")), buf), "2026-03-29");
}

static void tells_age(void **state)
{
    (void)state;
    static const struct {
        const char *born, *on;
        int months;
    } rows[] = {
        {"2020-11-24", "2026-11-24", 72}, {"2020-11-25", "2026-11-24", 71},
        {"2026-04-24", "2026-11-24", 7},  {"2026-04-25", "2026-11-24", 6},
        {"2026-11-24", "2026-11-24", 0},  {"2024-11-24", "2026-11-24", 24},
        {"2024-11-25", "2026-11-24", 23}, {"2024-02-29", "2026-02-28", 23},
        {"2024-02-29", "2026-03-01", 24}, {"2026-11-25", "2026-11-24", -1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(clock_age_months(day(rows[i].born), day(rows[i].on)), rows[i].months);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(counts_days),
        cmocka_unit_test(agrees_with_the_library),
        cmocka_unit_test(writes_days),
        cmocka_unit_test(stands_still_when_told),
        cmocka_unit_test(reads_days),
        cmocka_unit_test(refuses_what_is_no_day),
        cmocka_unit_test(reads_times),
        cmocka_unit_test(refuses_what_is_no_time),
        cmocka_unit_test(lives_with_clock_changes),
        cmocka_unit_test(tells_age),
    };
    return cmocka_run_group_tests_name("clock", tests, central_europe, NULL);
}
