/* Days and times. The device's clock is a claim: it is recorded and shown, and decides nothing. */
#ifndef AMBLE_BASE_CLOCK_H
#define AMBLE_BASE_CLOCK_H

#include "base/fault.h"
#include <stdbool.h>
#include <stdint.h>

/* Milliseconds since 1970-01-01T00:00Z. With AMBLE_NOW=2026-11-24T09:30 in the environment that
 * moment stands still (tests, demo); times are local time. */
int64_t clock_now(void);

/* Days and texts of a time are those of the years 1 to 9999: beyond, the first or the last day. */
typedef int32_t day_number; /* days since 1970-01-01, local calendar */
day_number clock_day(int64_t at);
day_number clock_today(void);

/* ISO texts. `buf` holds at least CLOCK_ROOM bytes; returned. */
enum { CLOCK_ROOM = 40 };
char *clock_iso_day(day_number d, char *buf); /* 2026-11-24 */
char *clock_iso_time(int64_t at, char *buf);  /* 2026-11-24T09:30 local */
char *clock_utc(int64_t at, char *buf);       /* 2026-11-24T09:30:00Z */
char *clock_short(day_number d, char *buf);   /* Tue 24 Nov */
char *clock_dated(day_number d, char *buf);   /* Tue 24 Nov 2026 */
char *clock_long(day_number d, char *buf);    /* Tuesday 24 November 2026 */
char *clock_hour(int64_t at, char *buf);      /* 09:30 */

/* What a person types for a day: "2026-11-24", "24.11.2026", "24/11/2026" (day first), "24 Nov",
 * "today", "yesterday", "tomorrow", "mon".."sun" (the next one), "+14", "-3". */
bool clock_parse_day(const char *s, day_number today, day_number *out, struct fault *f);
/* A day and a time: any day form, a blank or T, then "9:30", "0930", "9h"; or a time alone (today),
 * or "3 h ago", "2 days ago". Gives local time in ms. */
bool clock_parse_time(const char *s, int64_t now, int64_t *out, struct fault *f);

/* Whole months from one day to another; negative when the first is the later. */
int clock_age_months(day_number born, day_number on);

#endif
