/* Any text as the value of any finding, as another device's entries bring it past what is checked
 * while one types: every page and export is made all the same, or refused with words, and nothing
 * in them acts on who reads it.
 *
 * Each line of input: two bytes choose the item, the rest is its value. */
#include "base/arena.h"
#include "base/text.h"
#include "casebook/ids.h"
#include "kit.h"
#include "output/care.h"
#include "output/exports.h"
#include "output/papers.h"
#include "output/record_json.h"

enum { ITEMS_MOST = 1000, OUT_MOST = 16 << 20, VALUE_MOST = 4000 };

struct asked {
    struct casebook cb;
    const char *items[ITEMS_MOST], *about[ITEMS_MOST];
    size_t count;
};

static void know(struct asked *p, const char *item, const char *about)
{
    must(p->count < ITEMS_MOST);
    p->items[p->count] = item;
    p->about[p->count++] = about;
}

/* What the shipped templates ask, each measure's readings, and what holds a record together. */
static void know_items(struct asked *p)
{
    static const char *const more[][2] = {
        {ID_SUPPORT, "visit"},    {ID_FIT_AXLE, "visit"},    {ID_FIT_FRAME, "visit"},
        {ID_FIT_WHEEL, "visit"},  {ID_FIT_PARTS, "visit"},   {ID_FIT_LATER, "visit"},
        {ID_BUILD, "visit"},      {ID_BUILD_LOAD, "visit"},  {ID_PHOTO, "visit"},
        {ID_PHOTO_SHA, "visit"},  {ID_HANDED_OVER, "visit"}, {ID_VISIT_DAY, "visit"},
        {ID_VISIT_KIND, "visit"}, {ID_VISIT_CALL, "visit"},  {ID_REVIEW_DUE, "dog"},
        {ID_CULTURE_DUE, "dog"},  {ID_DOG_CLOSED, "dog"},    {ID_CLOSED_CALL, "dog"},
        {ID_CAREGIVER, "dog"},    {ID_CLOSED_FRAMES, "dog"}, {ID_SIGNED, "visit"},
        {ID_OPEN, "visit"},       {"no.such.item", "visit"},
    };
    const struct template_set *set = p->cb.set;
    for (size_t i = 0; i < sizeof more / sizeof more[0]; i++)
        know(p, more[i][0], more[i][1]);
    for (size_t i = 0; i < set->form_count; i++)
        for (size_t k = 0; k < set->forms[i].item_count; k++)
            know(p, set->forms[i].items[k].id, set->forms[i].about);
    for (size_t i = 0; i < set->measure_count; i++)
        for (int reading = 1; reading <= 2; reading++)
            know(p, arena_printf(set->arena, "%s.%d", set->measures[i].id, reading), "visit");
}

static struct asked *asked(void)
{
    static struct asked p;
    struct fault f = {0};
    struct text lines;
    if (p.cb.set != NULL)
        return &p;
    must(setenv("AMBLE_NOW", "2026-11-24T09:30", 1) == 0);
    text_init(&lines, 1 << 16);
    struct template_report report = {.lines = &lines};
    p.cb.set = template_load("config", NULL, &report);
    text_free(&lines);
    must(p.cb.set != NULL && journal_open(&p.cb.journal, scratch_folder(), JOURNAL_WRITE, &f));
    know_items(&p);
    return &p;
}

/* ---- in -------------------------------------------------------------------------------------- */

static void dog_and_visit(struct casebook *cb, struct arena *a, struct chart *c)
{
    struct fault f = {0};
    struct record caregiver, dog;
    must(record_new(cb, a, "caregiver", &caregiver, &f) &&
         record_put(cb, &caregiver, ID_CAREGIVER_NAME, "Ann Petrie", "", &f) &&
         record_new(cb, a, "dog", &dog, &f) &&
         record_put(cb, &dog, ID_DOG_NAME, "Biscuit", "", &f) &&
         record_put(cb, &dog, ID_CAREGIVER, caregiver.entity, "", &f) &&
         visit_new(cb, a, dog.entity, "2026-11-24T10:00", c, &f));
}

/* What the journal itself refuses (no UTF-8) never gets this far on any way. */
static void put_line(struct asked *p, struct chart *c, const uint8_t *line, size_t size)
{
    char value[VALUE_MOST + 1];
    if (size < 3 || size - 2 > VALUE_MOST)
        return;
    size_t at = (size_t)(line[0] << 8 | line[1]) % p->count;
    memcpy(value, line + 2, size - 2);
    value[size - 2] = '\0';
    struct record *r = chart_record(c, p->about[at]);
    if (r != NULL && r->entity != NULL)
        (void)record_put(c->cb, r, p->items[at], value, "", NULL);
}

static void put_lines(struct asked *p, struct chart *c, const uint8_t *data, size_t size)
{
    while (size > 0) {
        const uint8_t *end = memchr(data, '\n', size);
        size_t n = end != NULL ? (size_t)(end - data) : size;
        put_line(p, c, data, n);
        n += end != NULL;
        data += n;
        size -= n;
    }
}

/* ---- out ------------------------------------------------------------------------------------- */

/* Text, and between its lines nothing that steers. */
static void only_text(struct text *out)
{
    for (size_t i = 0; i < out->len; i++)
        if (strchr("\n\r\t\f", out->s[i]) != NULL)
            out->s[i] = ' ';
    must(utf8_valid(out->s, out->len, NULL) && utf8_plain(out->s, false));
    text_clear(out);
}

static void sheets(const struct chart *c, struct text *out)
{
    static bool (*const made[])(const struct chart *c, struct sheet **out, struct fault *f) = {
        visit_sheet, report_sheet, whole_sheet, changes_sheet, referral_sheet};
    static const struct sheet_style style = {.columns = 80, .lines = 60, .form_feeds = true};
    struct sheet *s;
    struct fault f = {0};
    for (size_t i = 0; i < sizeof made / sizeof made[0]; i++) {
        f = (struct fault){0};
        if (made[i](c, &s, &f))
            sheet_render(s, &style, out, NULL, NULL);
        else
            must_say_why(&f);
        only_text(out);
    }
    if (care_sheet(c, "", &s, &f))
        sheet_render(s, &style, out, NULL, NULL);
    only_text(out);
    if (day_sheet(c->cb, c->arena, clock_today(), &s, &f))
        sheet_render(s, &style, out, NULL, NULL);
    only_text(out);
}

static void exports(const struct chart *c, struct text *out)
{
    struct fault f = {0};
    static bool (*const made[])(const struct chart *c, struct text *out,
                                struct fault *f) = {chart_json, fhir_bundle, address_card};
    for (size_t i = 0; i < sizeof made / sizeof made[0]; i++) {
        f = (struct fault){0};
        must(made[i](c, out, &f) || f.text[0] != '\0');
        only_text(out);
    }
    must(csv_record(c->cb, c->arena, c->visit.entity, out, &f));
    only_text(out);
    must(csv_record(c->cb, c->arena, c->dog.entity, out, &f));
    only_text(out);
    must(calendar_from(c->cb, c->arena, clock_today(), out, &f));
    only_text(out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct asked *p = asked();
    struct fault f = {0};
    struct arena *a = arena_new();
    struct chart c;
    struct text out;
    text_init(&out, OUT_MOST);
    must(casebook_begin(&p->cb, &f));
    dog_and_visit(&p->cb, a, &c);
    put_lines(p, &c, data, size);
    if (chart_load(&p->cb, a, c.visit.entity, &c, &f)) {
        sheets(&c, &out);
        exports(&c, &out);
    } else {
        must_say_why(&f);
    }
    casebook_rollback(&p->cb);
    p->cb.spoilt = false;
    text_free(&out);
    arena_free(a);
    return 0;
}
