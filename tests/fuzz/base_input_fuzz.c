/* Any bytes as what a person typed: quantities, days, names; shown, folded, and written as JSON
 * that is whole and acts on nothing. And as a line of the table of mounts. */
#include "base/clock.h"
#include "base/json.h"
#include "base/mounts.h"
#include "base/text.h"
#include "base/units.h"
#include "kit.h"
#include <math.h>

static void read_it(const char *s)
{
    size_t count;
    const struct unit *units = unit_all(&count);
    struct fault f = {0};
    for (size_t i = 0; i <= count; i += 5) {
        double v;
        if (quantity_parse(s, i < count ? &units[i] : NULL, &v, NULL, &f))
            must(isfinite(v) && !(v == 0 && signbit(v)));
        else
            must(utf8_plain(f.text, false) && f.text[0] != '\0');
    }
    double lead;
    if (number_lead(s, &lead))
        must(isfinite(lead));
    day_number day;
    int64_t at;
    if (!clock_parse_day(s, 20000, &day, &f))
        must(utf8_plain(f.text, false));
    if (!clock_parse_time(s, INT64_C(1795509000000), &at, &f))
        must(utf8_plain(f.text, false));
}

static void show_it(const char *s, size_t n)
{
    struct text shown, folded, again;
    text_init(&shown, 1 << 20);
    text_init(&folded, 1 << 20);
    text_init(&again, 1 << 20);
    utf8_show(&shown, s, false);
    must(utf8_plain(shown.s, false) && utf8_valid(shown.s, shown.len, NULL));
    utf8_fold(&folded, shown.s);
    utf8_fold(&again, folded.s);
    must(strcmp(folded.s, again.s) == 0);
    size_t at = 0;
    while (at < n) {
        size_t next = utf8_next(s, n, at);
        must(next > at && next <= n);
        at = next;
    }
    must(utf8_fit(s, 10) <= n && utf8_width_n(s, utf8_fit(s, 10)) <= 10);
    (void)text_distance(s, shown.s, 2);

    struct json j;
    text_clear(&again);
    json_begin(&j, &again, 2);
    json_open_object(&j);
    json_member(&j, s, s);
    json_end(&j);
    must(json_done(&j) && utf8_valid(again.s, again.len, NULL) && strchr(again.s, '\033') == NULL);
    text_free(&shown);
    text_free(&folded);
    text_free(&again);
}

static void mount_it(const char *s)
{
    struct mount m;
    char value[16];
    snprintf(m.line, sizeof m.line, "%s", s);
    if (mount_parse(m.line, &m) && mount_option(&m, "upperdir", value, sizeof value))
        must(strlen(value) < sizeof value && strlen(m.root) + strlen(m.point) < sizeof m.line);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size > 4096)
        return 0;
    char *s = malloc(size + 1);
    if (s == NULL)
        return 0;
    memcpy(s, data, size);
    s[size] = '\0';
    read_it(s);
    show_it(s, strlen(s));
    mount_it(s);
    free(s);
    return 0;
}
