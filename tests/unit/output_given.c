/* What was handed over is kept whole; the care sheet speaks the caregiver's language, and large. */
#include "base/arena.h"
#include "base/text.h"
#include "casebook_practice.h"
#include "output/care.h"
#include "output/given.h"

static void the_text_is_frozen_with_its_hash(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct given given;
    struct sheet *sheet;
    fed(w, &c, slurped(w, "contrib/demo/7-bruno.txt"));
    assert_false(given_look(&c, &given));
    OK(care_sheet(&c, "", &sheet, f));
    OK(given_put(&c, "care", sheet, f));
    uint64_t before = entries(w);
    OK(given_put(&c, "care", sheet, f)); /* printed once more: the same text is the same entry */
    assert_int_equal(entries(w), before);
    look_again(w, &c);
    assert_true(given_look(&c, &given));
    assert_string_equal(given.name, "care");
    assert_true(given.whole);
    assert_non_null(strstr(given.text, "Hoja de cuidados para Bruno"));
    assert_int_equal(strlen(given.hash), 64);
    assert_true(record_find(&c.visit, ID_HANDOUT)->amended); /* the visit was signed before */
    assert_string_equal(
        finding_show(w->set, ID_HANDOUT, record_text(&c.visit, ID_HANDOUT), w->arena),
        arena_printf(w->arena, "care sheet, kept as %.12s", given.hash));
    OK(record_put(&w->cb, &c.visit, ID_HANDOUT,
                  arena_printf(w->arena, "care %s\nother words", given.hash), "a test", f));
    assert_true(given_look(&c, &given));
    assert_false(given.whole);
}

static const char *rendered(struct world *w, const struct sheet *s, struct sheet_style style,
                            size_t *unmapped)
{
    struct text out;
    text_init(&out, 1 << 20);
    sheet_render(s, &style, &out, NULL, unmapped);
    const char *text = arena_str(w->arena, out.s);
    text_free(&out);
    return text;
}

static void no_english_is_left_in_another_language(void **state)
{
    static const char *const english[] = {"telephone", "Take care", "ring",
                                          "EMERGENCY", "October",   "STOP",
                                          "page ",     "Whom",      "does not replace the vet",
                                          " y, ",      "the dog"};
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    size_t unmapped;
    fed(w, &c, slurped(w, "contrib/demo/7-bruno.txt"));
    OK(care_sheet(&c, "", &sheet, f));
    const char *text =
        rendered(w, sheet, (struct sheet_style){.columns = 80, .lines = 60}, &unmapped);
    assert_int_equal(unmapped, 0);
    for (size_t i = 0; i < sizeof english / sizeof *english; i++)
        if (strstr(text, english[i]) != NULL)
            fail_msg("\"%s\" is English", english[i]);
    assert_non_null(strstr(text, "01632 960155"));
    text = rendered(w, sheet, (struct sheet_style){.columns = 80, .ascii = true}, &unmapped);
    assert_int_equal(unmapped, 0);
    assert_non_null(strstr(text, "?Tiene dudas? Llame."));
}

/* Large type: 40 columns, nothing cut, the number to ring on every page. */
static void large_type_loses_nothing(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c, slurped(w, "contrib/demo/7-bruno.txt"));
    OK(care_sheet(&c, "", &sheet, f));
    assert_true(sheet_large(sheet));
    const char *text = rendered(
        w, sheet, (struct sheet_style){.columns = 80, .lines = 60, .form_feeds = true}, NULL);
    size_t pages = 0, numbers = 0, lines = 0;
    for (const char *p = text; *p != '\0'; p++) {
        lines += *p == '\n';
        if (*p == '\f') {
            pages++;
            assert_int_equal(lines, 30);
            lines = 0;
        }
        if (strncmp(p, "llame al 01632 960155", 21) == 0)
            numbers++;
    }
    assert_true(pages > 2);
    assert_int_equal(numbers, pages);
    assert_non_null(strstr(text, "desk@fernhill.example"));
}

/* What the vet wrote is not translated: the sheet says which language it is in. */
static void own_words_say_their_language(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c, slurped(w, "contrib/demo/7-bruno.txt"));
    put(w, &c.caregiver, "caregiver.large_type", "no");
    OK(care_sheet(&c, "", &sheet, f));
    const char *text = rendered(w, sheet, (struct sheet_style){.columns = 80}, NULL);
    assert_non_null(strstr(text, "Su plan (en ingl\xc3\xa9s): Half an hour in two walks."));
    put(w, &c.caregiver, "caregiver.language", "English");
    OK(care_sheet(&c, "", &sheet, f));
    text = rendered(w, sheet, (struct sheet_style){.columns = 80}, NULL);
    assert_non_null(strstr(text, "Your plan: Half an hour in two walks."));
}

/* One to three pages, whatever was found; a review's sheet has the support decided on before. */
static void every_sheet_fits_three_pages(void **state)
{
    static const char *const dogs[] = {"e-biscuit", "3-rolf", "4-tansy", "6-moss",
                                       "7-bruno",   "8-juno", "9-pip",   "a-hazel"};
    struct world *w = *state;
    struct sheet *sheet;
    fed(w, NULL, slurped(w, "contrib/demo/0-frames.txt"));
    for (size_t i = 0; i < sizeof dogs / sizeof *dogs; i++) {
        struct chart c;
        struct text out;
        size_t pages = 0;
        fed(w, &c, slurped(w, arena_printf(w->arena, "contrib/demo/%s.txt", dogs[i])));
        if (strcmp(record_text(&c.caregiver, "caregiver.large_type"), "yes") == 0)
            put(w, &c.caregiver, "caregiver.large_type", "no");
        OK(care_sheet(&c, "", &sheet, f));
        text_init(&out, 1 << 20);
        sheet_render(sheet, &(struct sheet_style){.columns = 80, .lines = 60}, &out, &pages, NULL);
        if (pages < 1 || pages > 3)
            fail_msg("the sheet of %s has %zu pages", dogs[i], pages);
        if (strcmp(dogs[i], "9-pip") == 0) { /* decided, taught and worn since earlier visits */
            assert_non_null(strstr(out.s, "four-wheel frame: Four wheels."));
            assert_non_null(strstr(out.s, "Start with 5 to 10 minutes"));
            assert_non_null(strstr(out.s, "You are on step 2 now."));
        }
        text_free(&out);
    }
}

/* A line to write on is never carried over to a second one. */
static void lines_to_write_on_fit_large_type(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct sheet *sheet;
    fed(w, &c, slurped(w, "contrib/demo/7-bruno.txt"));
    OK(care_sheet(&c, "", &sheet, f));
    const char *text = rendered(w, sheet, (struct sheet_style){.columns = 80}, NULL);
    size_t lines = 0;
    for (const char *p = text; (p = strstr(p, "\n   ____")) != NULL; p++)
        lines++;
    assert_int_equal(lines, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHIPPED(the_text_is_frozen_with_its_hash), SHIPPED(no_english_is_left_in_another_language),
        SHIPPED(large_type_loses_nothing),         SHIPPED(own_words_say_their_language),
        SHIPPED(every_sheet_fits_three_pages),     SHIPPED(lines_to_write_on_fit_large_type),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
