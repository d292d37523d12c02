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
        arena_printf(w->arena, "care %.12s", given.hash));
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHIPPED(the_text_is_frozen_with_its_hash),
        SHIPPED(no_english_is_left_in_another_language),
        SHIPPED(large_type_loses_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
